//! What single criteria say by themselves, to see when they contradict each other.
//!
//! Each witness is a logistic fit on the features of one criterion. Two of them are asked the same
//! question: pigment and base line whether the animal is still soft, gap and new setae whether it
//! is due. Their answers are no proposal; a contradiction calls for a second reader.

use crate::moult::Hardness;
use crate::moult::Stage;
use crate::stage::features::FEATURES;
use crate::stage::logistic::FitError;
use crate::stage::logistic::Logistic;
use crate::stage::weighted::Weighted;
use serde::Deserialize;
use serde::Serialize;

/// A criterion: the measures it rests on.
struct Criterion {
    name: &'static str,
    measures: &'static [&'static str],
}

/// The criteria, in the order of the pairs below.
const CRITERIA: [Criterion; 4] = [
    Criterion {
        name: "pigment",
        measures: &[
            "base_fill",
            "lumen_fill",
            "base_pigment_od",
            "lumen_pigment_od",
            "base_pigment",
            "lumen_pigment",
            "base_hue",
            "lumen_hue",
        ],
    },
    Criterion {
        name: "base line",
        measures: &["base_line", "cones"],
    },
    Criterion {
        name: "gap",
        measures: &["gap_base_widths"],
    },
    Criterion {
        name: "scallops and new setae",
        measures: &["scallop_base_widths", "new_setae", "new_tips"],
    },
];

/// Which two witnesses are asked about which group.
pub const QUESTIONS: [(usize, usize, Hardness); 2] =
    [(0, 1, Hardness::Soft), (2, 3, Hardness::Due)];

/// A fit on the features of one criterion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Witness {
    /// The criterion.
    pub name: String,
    /// Which features it sees, by position.
    pub features: Vec<usize>,
    /// The fit on them.
    pub fit: Logistic,
}

impl Witness {
    /// Fits the witnesses, in the order that [`QUESTIONS`] count in.
    ///
    /// # Errors
    /// [`FitError`] of the first that cannot be fitted.
    pub fn fit_all(
        rows: &[&[f64]],
        classes: &[usize],
        of: usize,
        penalty: f64,
    ) -> Result<Vec<Self>, FitError> {
        CRITERIA
            .iter()
            .map(|criterion| {
                let features = seen_by(criterion);
                let seen: Vec<Vec<f64>> = rows.iter().map(|row| pick(row, &features)).collect();
                let seen: Vec<&[f64]> = seen.iter().map(Vec::as_slice).collect();
                Ok(Self {
                    name: criterion.name.to_owned(),
                    fit: Logistic::fit(&seen, classes, of, penalty)?,
                    features,
                })
            })
            .collect()
    }

    /// The same with a weight for each row.
    ///
    /// # Errors
    /// [`FitError`] of the first that cannot be fitted.
    pub fn fit_all_weighted(
        (rows, classes, weights): (&[&[f64]], &[usize], &[f64]),
        of: usize,
        (penalty, tolerance): (f64, f64),
    ) -> Result<Vec<Self>, FitError> {
        CRITERIA
            .iter()
            .map(|criterion| {
                let features = seen_by(criterion);
                let seen: Vec<Vec<f64>> = rows.iter().map(|row| pick(row, &features)).collect();
                let seen: Vec<&[f64]> = seen.iter().map(Vec::as_slice).collect();
                let ready = Weighted::new(&seen, classes, weights, of)?;
                Ok(Self {
                    name: criterion.name.to_owned(),
                    fit: ready.logistic(&ready.fit(penalty, None, tolerance)?),
                    features,
                })
            })
            .collect()
    }

    /// Probability of each class by this criterion alone; not calibrated.
    pub fn probabilities(&self, row: &[f64]) -> Vec<f64> {
        self.fit.probabilities(&pick(row, &self.features))
    }
}

/// How far the two witnesses of each question are apart, 0 to 1.
pub fn contradictions(witnesses: &[Witness], stages: &[Stage], row: &[f64]) -> Vec<f64> {
    QUESTIONS
        .iter()
        .map(|(a, b, group)| {
            let says = |at: usize| {
                witnesses
                    .get(at)
                    .map_or(0.0, |w| group_share(&w.probabilities(row), stages, *group))
            };
            (says(*a) - says(*b)).abs()
        })
        .collect()
}

/// Probability that the stage belongs to a group.
pub fn group_share(probabilities: &[f64], stages: &[Stage], group: Hardness) -> f64 {
    probabilities
        .iter()
        .zip(stages)
        .filter(|(_, stage)| stage.hardness() == group)
        .map(|(p, _)| p)
        .sum()
}

/// The features that rest on the measures of a criterion alone, by position.
fn seen_by(criterion: &Criterion) -> Vec<usize> {
    FEATURES
        .iter()
        .enumerate()
        .filter(|(_, f)| f.measures.iter().all(|m| criterion.measures.contains(m)))
        .map(|(at, _)| at)
        .collect()
}

fn pick(row: &[f64], features: &[usize]) -> Vec<f64> {
    features
        .iter()
        .map(|at| row.get(*at).copied().unwrap_or(0.0))
        .collect()
}
