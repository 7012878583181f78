//! What the program proposes for an animal, from the readings of its photos.

use crate::moult::Hardness;
use crate::moult::Stage;
use crate::records::Because;
use crate::records::Reading;
use std::collections::BTreeMap;

/// Least probability that enters a mean of logarithms.
///
/// # Source
/// Our choice: one photo alone cannot rule a stage out.
const LEAST: f64 = 1e-4;

/// The proposal for one animal.
#[derive(Debug, Clone, PartialEq)]
pub struct AnimalProposal {
    /// Probability of each stage, over the readable photos.
    pub probabilities: BTreeMap<Stage, f64>,
    /// The stage; absent when no photo can tell.
    pub stage: Option<Stage>,
    /// Whether another reader should look.
    pub second_reader: bool,
    /// The largest distance from what the model was trained on, over its limit.
    pub novelty: f64,
    /// What moved the proposal, of the photo that is surest of it.
    pub because: Vec<Because>,
    /// Readable photos.
    pub photos: usize,
}

impl AnimalProposal {
    /// Whether a person may agree with one key: not where the program cannot tell, is ambiguous or
    /// far from its training.
    pub fn may_be_agreed(&self) -> bool {
        self.stage.is_some() && !self.second_reader && self.novelty <= 1.0
    }
}

/// Puts the readings of one animal's photos together; absent when none is readable.
///
/// # Formula
/// p(stage) is proportional to exp(mean over photos of ln max(p, 0.0001)). One photo keeps its own
/// proposal; of several, the likeliest stage is proposed when a photo can tell. They are marked for a
/// second reader when one of them is or when they disagree on soft or due.
pub fn animal_proposal<'a>(
    readings: impl IntoIterator<Item = &'a Reading>,
) -> Option<AnimalProposal> {
    let readable: Vec<&Reading> = readings
        .into_iter()
        .filter(|reading| reading.usable && reading.probabilities.is_some())
        .collect();
    let first = readable.first()?;
    let mut logs: BTreeMap<Stage, f64> = BTreeMap::new();
    for probabilities in readable.iter().filter_map(|r| r.probabilities.as_ref()) {
        for (stage, p) in probabilities {
            *logs.entry(*stage).or_default() += libm::log(p.max(LEAST)) / readable.len() as f64;
        }
    }
    let mut probabilities: BTreeMap<Stage, f64> = if readable.len() == 1 {
        first.probabilities.clone()?
    } else {
        logs.into_iter()
            .map(|(stage, log)| (stage, libm::exp(log)))
            .collect()
    };
    let sum: f64 = probabilities.values().sum();
    for p in probabilities.values_mut() {
        *p /= sum;
    }
    let told = readable.iter().any(|reading| reading.proposal.is_some());
    let stage = if readable.len() == 1 {
        first.proposal
    } else {
        let best = probabilities.iter().max_by(|a, b| a.1.total_cmp(b.1));
        best.map(|(stage, _)| *stage).filter(|_| told)
    };
    let groups: Vec<Hardness> = readable
        .iter()
        .filter_map(|reading| reading.proposal.map(Stage::hardness))
        .collect();
    let disagree = groups.windows(2).any(|pair| pair[0] != pair[1]);
    let surest = readable.iter().max_by(|a, b| {
        let of = |r: &Reading| {
            let p = r.probabilities.as_ref().zip(stage);
            p.and_then(|(p, stage)| p.get(&stage).copied())
                .unwrap_or(0.0)
        };
        of(a).total_cmp(&of(b))
    });
    Some(AnimalProposal {
        probabilities,
        stage,
        second_reader: disagree || readable.iter().any(|reading| reading.second_reader),
        novelty: readable
            .iter()
            .filter_map(|r| r.novelty)
            .fold(0.0, f64::max),
        because: surest
            .map(|reading| reading.because.clone())
            .unwrap_or_default(),
        photos: readable.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(stages: &[(Stage, f64)], proposal: Option<Stage>) -> Reading {
        Reading {
            usable: true,
            probabilities: Some(stages.iter().copied().collect()),
            proposal,
            novelty: Some(0.5),
            ..Reading::refused("tip.jpg".to_owned(), Vec::new())
        }
    }

    #[test]
    fn one_photo_keeps_its_proposal_and_a_refused_one_is_left_out() {
        let one = reading(&[(Stage::C, 0.8), (Stage::D0, 0.2)], Some(Stage::C));
        let refused = Reading::refused("other.jpg".to_owned(), Vec::new());
        let found = animal_proposal([&refused, &one]).unwrap();
        assert_eq!(found.stage, Some(Stage::C));
        assert_eq!(found.photos, 1);
        assert!((found.probabilities[&Stage::C] - 0.8).abs() < 1e-12);
        assert!(found.may_be_agreed());
        assert!(animal_proposal([&refused]).is_none());
    }

    /// Worked by hand: sqrt(0.9 x 0.4) = 0.6 against sqrt(0.1 x 0.6) = 0.24495, so 0.71010 of 1.
    #[test]
    fn several_photos_are_averaged_in_logarithms() {
        let a = reading(&[(Stage::D1, 0.9), (Stage::D2, 0.1)], Some(Stage::D1));
        let b = reading(&[(Stage::D1, 0.4), (Stage::D2, 0.6)], Some(Stage::D2));
        let found = animal_proposal([&a, &b]).unwrap();
        assert_eq!(found.stage, Some(Stage::D1));
        assert!((found.probabilities[&Stage::D1] - 0.710_10).abs() < 1e-4);
        // they disagree on due
        assert!(found.second_reader && !found.may_be_agreed());
    }

    #[test]
    fn photos_that_cannot_tell_propose_nothing() {
        let a = reading(&[(Stage::A, 0.5), (Stage::B, 0.5)], None);
        let found = animal_proposal([&a, &a.clone()]).unwrap();
        assert_eq!(found.stage, None);
        assert!(!found.may_be_agreed());
    }
}
