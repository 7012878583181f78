//! What came of a practice round.

use crate::moult::Stage;
use crate::records::rounds::PracticeRound;
use crate::records::rounds::PractisedSlide;
use crate::statistics::agreement::Kappa;
use crate::statistics::agreement::Weighting;
use crate::statistics::binomial::Count;
use crate::statistics::binomial::wilson;
use crate::statistics::robust::median;
use crate::tally::Settings;
use crate::texts;
use crate::units::Probability;
use crate::workflow::agreeing::PairAgreement;
use crate::workflow::agreeing::Part;
use crate::workflow::agreeing::pair_agreement;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeSet;

/// What a round must reach to earn its line in the farm's records.
///
/// # Source
/// The default values are our choice; no published standard for readers of uropods was found.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Standard {
    /// Least slides.
    pub slides: usize,
    /// Least stages among them.
    pub stages: usize,
    /// Least quadratic kappa.
    pub quadratic_kappa: f64,
    /// Largest share of soft errors.
    pub soft_errors: f64,
    /// Largest share of due errors.
    pub due_errors: f64,
    /// Largest share that the reader could not tell.
    pub not_told: f64,
}

impl Default for Standard {
    fn default() -> Self {
        Self {
            slides: 20,
            stages: 5,
            quadratic_kappa: 0.9,
            soft_errors: 0.05,
            due_errors: 0.10,
            not_told: 0.10,
        }
    }
}

/// A slide that was called otherwise than it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Mistake {
    /// Its place in the round, from 1.
    pub number: usize,
    /// What it is.
    pub truth: Stage,
    /// What it was called; absent when the reader could not tell.
    pub call: Option<Stage>,
    /// Whether it changes what counts as soft.
    pub soft_error: bool,
    /// Whether it changes what counts as due.
    pub due_error: bool,
}

/// The figures of a round.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PracticeScore {
    /// Slides of the round.
    pub slides: u64,
    /// Slides that the reader could not tell.
    pub not_told: u64,
    /// Truth (rows) against calls (columns), with kappas by weighting, of the slides called.
    pub agreement: PairAgreement,
    /// Soft errors among the slides called.
    pub soft_errors: Part,
    /// Due errors among the slides called.
    pub due_errors: Part,
    /// Median time of a slide, seconds.
    pub seconds: f64,
    /// Time of the round, seconds.
    pub seconds_in_all: f64,
    /// The mistakes, in the order of reading.
    pub mistakes: Vec<Mistake>,
    /// Whether the standard is reached.
    pub reached: bool,
}

/// Scores a round; D4 counts with D3.
pub fn score(round: &PracticeRound, standard: &Standard) -> PracticeScore {
    let groups = Settings::default();
    let called: Vec<(Stage, Stage)> = round
        .slides
        .iter()
        .filter_map(|slide| Some((slide.truth, slide.call?)))
        .collect();
    let reader = round.reader.clone();
    let agreement = pair_agreement([texts::practice::TRUTH.to_owned(), reader], &called);
    let wrong = |group: &BTreeSet<Stage>| {
        let differ =
            |(truth, call): &&(Stage, Stage)| group.contains(truth) != group.contains(call);
        part(called.iter().filter(differ).count(), called.len())
    };
    let seconds: Vec<f64> = round.slides.iter().map(|slide| slide.seconds).collect();
    let in_all: f64 = seconds.iter().sum();
    let not_told = round.slides.iter().filter(|slide| slide.call.is_none());
    let mut found = PracticeScore {
        slides: round.slides.len() as u64,
        not_told: not_told.count() as u64,
        agreement,
        soft_errors: wrong(&groups.soft),
        due_errors: wrong(&groups.due),
        seconds: median(&seconds).unwrap_or(0.0),
        seconds_in_all: in_all,
        mistakes: mistakes(&round.slides, &groups),
        reached: false,
    };
    found.reached = found.reaches(round, standard);
    found
}

fn mistakes(slides: &[PractisedSlide], groups: &Settings) -> Vec<Mistake> {
    let folded = |stage: Stage| if stage == Stage::D4 { Stage::D3 } else { stage };
    let wrong =
        |slide: &&(usize, &PractisedSlide)| slide.1.call.map(folded) != Some(folded(slide.1.truth));
    let slides: Vec<(usize, &PractisedSlide)> = (1..).zip(slides).collect();
    let of = |(number, slide): &(usize, &PractisedSlide)| {
        let differs = |group: &BTreeSet<Stage>| {
            slide
                .call
                .is_some_and(|call| group.contains(&call) != group.contains(&slide.truth))
        };
        Mistake {
            number: *number,
            truth: slide.truth,
            call: slide.call,
            soft_error: differs(&groups.soft),
            due_error: differs(&groups.due),
        }
    };
    slides.iter().filter(wrong).map(of).collect()
}

fn part(count: usize, of: usize) -> Part {
    let count = Count::capped(count as u64, of as u64);
    let interval = wilson(count, Probability::clamped(0.95));
    Part {
        part: count.share().map_or(0.0, Probability::get),
        low: interval.low.get(),
        high: interval.high.get(),
    }
}

impl PracticeScore {
    /// The kappa of a weighting; absent where chance leaves it undefined.
    pub fn kappa(&self, weighting: Weighting) -> Option<&Kappa> {
        let kappas = &self.agreement.kappas;
        kappas.iter().find(|kappa| kappa.weighting == weighting)
    }

    fn reaches(&self, round: &PracticeRound, standard: &Standard) -> bool {
        let stages: BTreeSet<Stage> = round.slides.iter().map(|slide| slide.truth).collect();
        let kappa = self.kappa(Weighting::Quadratic);
        let slides = self.slides as usize;
        slides >= standard.slides
            && stages.len() >= standard.stages
            && kappa.is_some_and(|kappa| kappa.value >= standard.quadratic_kappa)
            && self.soft_errors.part <= standard.soft_errors
            && self.due_errors.part <= standard.due_errors
            && self.not_told as f64 <= standard.not_told * self.slides as f64
    }

    /// The line for the farm's records; absent when the standard is not reached.
    pub fn certificate(&self, round: &PracticeRound, standard: &Standard) -> Option<String> {
        let kappa = self.kappa(Weighting::Quadratic).filter(|_| self.reached)?;
        let errors = |part: Part| (part.part * (self.slides - self.not_told) as f64).round() as u64;
        Some(texts::practice::certificate(
            [&round.ended.date(), &round.reader],
            [
                self.slides,
                errors(self.soft_errors),
                errors(self.due_errors),
            ],
            (kappa.value, kappa.low, kappa.high),
            standard.quadratic_kappa,
            round.painted,
        ))
    }
}
