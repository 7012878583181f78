//! Two models on the same animals, which neither has seen: which is better, and is it chance?

use crate::moult::Hardness;
use crate::stage::evaluation::Figures;
use crate::stage::evaluation::Judged;
use crate::stage::evaluation::Outcome;
use crate::stage::evaluation::Truth;
use crate::stage::evaluation::figures;
use crate::stage::evaluation::reliability_of;
use crate::statistics::binomial::Count;
use crate::statistics::binomial::wilson;
use crate::statistics::calibration::Bin;
use crate::statistics::paired::McNemar;
use crate::units::Probability;
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use serde::Serialize;
use std::collections::BTreeMap;

/// Resamples of the animals.
const RESAMPLES: usize = 1_000;

/// Confidence of the intervals.
const CONFIDENCE: f64 = 0.95;

/// Below this probability a difference is more than chance.
const SIGNIFICANT: f64 = 0.05;

/// Fewest held-back animals from which anything is recommended.
///
/// # Source
/// Our choice: six animals that only one of two models reads rightly are the fewest that an exact
/// test of McNemar tells from chance; with one animal in five read differently that takes thirty.
pub const FEWEST_ANIMALS: usize = 30;

/// Least exact share of a model that is recommended: below it the labels and what is measured do not
/// belong together, and "better" only says that the model in use fits such labels worse still. Our
/// choice.
const LEAST_EXACT: f64 = 0.5;

/// One photo as both models judged it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The animal.
    pub animal: String,
    /// By the model in use.
    pub in_use: Judged,
    /// By the new one.
    pub new: Judged,
}

/// A figure with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Between {
    /// The figure.
    pub value: f64,
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
}

/// How one of the two did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Side {
    /// Over all photos.
    pub figures: Figures,
    /// Share of the photos with the right stage proposed.
    pub exact: Option<Between>,
    /// Share with the right or a neighbouring stage proposed.
    pub within_one: Option<Between>,
    /// Share of the animals with a soft error in any photo.
    pub soft_errors: Between,
    /// Share of the animals with a due error in any photo.
    pub due_errors: Between,
    /// Brier score over the read photos.
    pub brier: Option<Between>,
    /// The reliability plot.
    pub reliability: Vec<ReliabilityBin>,
}

/// One bin of a reliability plot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ReliabilityBin {
    /// Photos in it.
    pub photos: usize,
    /// Mean probability stated for the most probable stage.
    pub stated: f64,
    /// How often it was the true one.
    pub came_true: f64,
    /// Wilson interval of that, lower bound.
    pub low: f64,
    /// Wilson interval of that, upper bound.
    pub high: f64,
}

/// What the comparison says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Advice {
    /// The new one is better by more than chance, and no worse where it matters.
    Adopt,
    /// They are no more than chance apart.
    NoMoreThanChance,
    /// The new one makes more soft or due errors.
    MoreErrorsThatMatter,
    /// The new one is better, but reads fewer than half of the photos as they are labelled.
    LabelsInDoubt,
    /// The new one is worse by more than chance.
    Worse,
    /// Too few animals were held back.
    TooFewAnimals,
}

/// Two models on the same held-back animals.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Animals.
    pub animals: usize,
    /// Photos.
    pub photos: usize,
    /// The model in use.
    pub in_use: Side,
    /// The new one.
    pub new: Side,
    /// Animals read rightly by one of the two alone: first the one in use, then the new one.
    pub mcnemar: McNemar,
    /// Exact share of the new one less that of the one in use.
    pub exact_gain: Option<Between>,
    /// Brier score of the one in use less that of the new one: above 0 the new one is better.
    pub brier_gain: Option<Between>,
    /// What follows.
    pub advice: Advice,
}

impl Comparison {
    /// Compares; animals are drawn anew with the seed for the intervals.
    pub fn of(pairs: &[Pair], seed: u64) -> Self {
        let mut animals: BTreeMap<&str, Vec<Counted>> = BTreeMap::new();
        for pair in pairs {
            let counted = Counted([Photo::of(&pair.in_use), Photo::of(&pair.new)]);
            animals.entry(&pair.animal).or_default().push(counted);
        }
        let animals: Vec<Vec<Counted>> = animals.into_values().collect();
        let drawn = Drawn::of(&animals, seed);
        let judged = |which: fn(&Pair) -> &Judged| -> Vec<Judged> {
            pairs.iter().map(|pair| which(pair).clone()).collect()
        };
        let in_use = side(&judged(|pair| &pair.in_use), &animals, &drawn, 0);
        let new = side(&judged(|pair| &pair.new), &animals, &drawn, 1);
        let right = |animal: &[Counted], model: usize| {
            2 * animal.iter().filter(|c| c.0[model].off == Some(0)).count() > animal.len()
        };
        let alone = |model: usize| {
            let only = |animal: &&Vec<Counted>| right(animal, model) && !right(animal, 1 - model);
            animals.iter().filter(only).count() as u64
        };
        let mut comparison = Self {
            animals: animals.len(),
            photos: pairs.len(),
            mcnemar: McNemar::of(alone(0), alone(1)),
            exact_gain: drawn.gain(&animals, Figure::Exact, 1),
            brier_gain: drawn.gain(&animals, Figure::Brier, 0),
            in_use,
            new,
            advice: Advice::TooFewAnimals,
        };
        comparison.advice = comparison.judge();
        comparison
    }

    /// Adopted should be only what is better by more than chance, in McNemar's test or by the drawn
    /// Brier scores, without contradiction between the two, and without more errors that matter.
    fn judge(&self) -> Advice {
        if self.animals < FEWEST_ANIMALS {
            return Advice::TooFewAnimals;
        }
        let tested = self.mcnemar.p < SIGNIFICANT;
        let more_right = self.mcnemar.second_only > self.mcnemar.first_only;
        let brier = self.brier_gain;
        let better = (tested && more_right) || brier.is_some_and(|gain| gain.low > 0.0);
        let worse = (tested && !more_right) || brier.is_some_and(|gain| gain.high < 0.0);
        let errors = |side: &Side| [side.figures.soft_errors, side.figures.due_errors];
        let (before, after) = (errors(&self.in_use), errors(&self.new));
        let more_errors = before
            .iter()
            .zip(after)
            .any(|(before, after)| after > *before);
        match (better, worse) {
            (_, true) => Advice::Worse,
            (true, false)
                if self
                    .new
                    .figures
                    .exact
                    .is_none_or(|exact| exact < LEAST_EXACT) =>
            {
                Advice::LabelsInDoubt
            }
            (true, false) if more_errors => Advice::MoreErrorsThatMatter,
            (true, false) => Advice::Adopt,
            (false, false) => Advice::NoMoreThanChance,
        }
    }
}

/// What one model made of one photo, as far as it is counted.
#[derive(Debug, Clone, Copy)]
struct Photo {
    /// How many stages the proposal is off; absent without one.
    off: Option<usize>,
    /// A soft and a due error.
    errors: [bool; 2],
    brier: Option<f64>,
}

/// One photo by both models.
#[derive(Debug, Clone, Copy)]
struct Counted([Photo; 2]);

impl Photo {
    fn of(judged: &Judged) -> Self {
        let nothing = Self {
            off: None,
            errors: [false; 2],
            brier: None,
        };
        let Truth::Stage { stage, .. } = judged.truth else {
            return nothing;
        };
        let (
            Outcome::Read {
                probabilities,
                proposal,
                ..
            },
            Some(stage),
        ) = (&judged.outcome, stage.as_proposed())
        else {
            return nothing;
        };
        let square = |(class, p): (usize, &f64)| {
            let hit = if class == stage.index() { 1.0 } else { 0.0 };
            (p - hit).powi(2)
        };
        let across = |group: Hardness| {
            proposal.is_some_and(|p| (p.hardness() == group) != (stage.hardness() == group))
        };
        Self {
            off: proposal.map(|p| p.index().abs_diff(stage.index())),
            errors: [across(Hardness::Soft), across(Hardness::Due)],
            brier: Some(probabilities.iter().enumerate().map(square).sum()),
        }
    }
}

/// A figure over animals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Figure {
    Exact,
    WithinOne,
    Brier,
}

impl Figure {
    fn over<'a>(
        self,
        animals: impl Iterator<Item = &'a Vec<Counted>>,
        model: usize,
    ) -> Option<f64> {
        let (mut sum, mut of) = (0.0, 0.0);
        for counted in animals.flatten() {
            let photo = &counted.0[model];
            let value = match self {
                Self::Exact => Some(f64::from(u8::from(photo.off == Some(0)))),
                Self::WithinOne => Some(f64::from(u8::from(photo.off.is_some_and(|off| off <= 1)))),
                Self::Brier => photo.brier,
            };
            if let Some(value) = value {
                sum += value;
                of += 1.0;
            }
        }
        (of > 0.0).then_some(sum / of)
    }
}

/// Animals drawn with replacement, the same for every figure.
struct Drawn(Vec<Vec<usize>>);

impl Drawn {
    fn of(animals: &[Vec<Counted>], seed: u64) -> Self {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let of = animals.len();
        let draw = |_| (0..of).map(|_| dice.random_range(0..of)).collect();
        Self((0..if of > 0 { RESAMPLES } else { 0 }).map(draw).collect())
    }

    fn between(
        &self,
        animals: &[Vec<Counted>],
        figure: impl Fn(&mut dyn Iterator<Item = &Vec<Counted>>) -> Option<f64>,
    ) -> Option<Between> {
        let value = figure(&mut animals.iter())?;
        let mut figures: Vec<f64> = self
            .0
            .iter()
            .filter_map(|drawn| figure(&mut drawn.iter().map(|at| &animals[*at])))
            .collect();
        figures.sort_by(f64::total_cmp);
        let tail = 0.5 * (1.0 - CONFIDENCE);
        let at = |share: f64| crate::statistics::robust::sorted_quantile(&figures, share);
        Some(Between {
            value,
            low: at(tail)?,
            high: at(1.0 - tail)?,
        })
    }

    fn figure(&self, animals: &[Vec<Counted>], what: Figure, model: usize) -> Option<Between> {
        self.between(animals, |animals| what.over(animals, model))
    }

    /// The figure of `model` less that of the other.
    fn gain(&self, animals: &[Vec<Counted>], what: Figure, model: usize) -> Option<Between> {
        self.between(animals, |animals| {
            let animals: Vec<&Vec<Counted>> = animals.collect();
            let of = |model| what.over(animals.iter().copied(), model);
            Some(of(model)? - of(1 - model)?)
        })
    }
}

fn side(judged: &[Judged], animals: &[Vec<Counted>], drawn: &Drawn, model: usize) -> Side {
    let errors = |is: fn(&Photo) -> bool| {
        let with = |animal: &&Vec<Counted>| animal.iter().any(|c| is(&c.0[model]));
        wilson_between(animals.iter().filter(with).count(), animals.len())
    };
    Side {
        figures: figures(judged),
        exact: drawn.figure(animals, Figure::Exact, model),
        within_one: drawn.figure(animals, Figure::WithinOne, model),
        soft_errors: errors(|photo| photo.errors[0]),
        due_errors: errors(|photo| photo.errors[1]),
        brier: drawn.figure(animals, Figure::Brier, model),
        reliability: reliability_of(judged).iter().map(bin).collect(),
    }
}

fn bin(of: &Bin) -> ReliabilityBin {
    let hits = (of.accuracy * of.of as f64).round() as usize;
    let around = wilson_between(hits, of.of);
    ReliabilityBin {
        photos: of.of,
        stated: of.confidence,
        came_true: of.accuracy,
        low: around.low,
        high: around.high,
    }
}

fn wilson_between(hits: usize, of: usize) -> Between {
    let count = Count::capped(hits as u64, of as u64);
    let around = wilson(count, Probability::clamped(CONFIDENCE));
    Between {
        value: count.share().map_or(0.0, Probability::get),
        low: around.low.get(),
        high: around.high.get(),
    }
}
