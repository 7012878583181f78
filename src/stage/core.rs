//! The fitted part of a model, and what it says of one photo before any limit is applied.

use crate::measure::MEASURES;
use crate::moult::Hardness;
use crate::moult::Stage;
use crate::stage::features::FEATURES;
use crate::stage::limits::Known;
use crate::stage::logistic::FitError;
use crate::stage::logistic::Logistic;
use crate::stage::logistic::balanced;
use crate::stage::novelty::Novelty;
use crate::stage::weighted::Weighted;
use crate::stage::witness::Witness;
use crate::stage::witness::contradictions;
use crate::stage::witness::group_share;
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use serde::Deserialize;
use serde::Serialize;

/// What is fitted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Core {
    /// The fit on all features.
    pub logistic: Logistic,
    /// Where the fitted rows lay.
    pub novelty: Novelty,
    /// The fits on single criteria.
    pub witnesses: Vec<Witness>,
    /// The fit that tells photos between a stage and the next from clear ones: the stages, then the
    /// borders after each but the last. Absent where no photo between stages was given.
    pub borders: Option<Logistic>,
}

/// A row of known class for a fit.
#[derive(Debug, Clone, Copy)]
pub struct Example<'a> {
    /// The features.
    pub row: &'a [f64],
    /// What it is.
    pub known: Known,
}

/// What a core says of one photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Opinion {
    /// Log-odds of each stage.
    pub logits: Vec<f64>,
    /// Distance from what was fitted.
    pub distance: f64,
    /// Probability that the photo lies at the border after each stage but the last; not calibrated.
    pub borders: Vec<f64>,
    /// How far the criteria contradict each other, one number for each question.
    pub contradictions: Vec<f64>,
    /// The stage of each seta by itself, as a position in the list of stages.
    pub setae: Vec<Option<usize>>,
}

impl Core {
    /// Fits everything to examples of `of` stages.
    ///
    /// # Errors
    /// [`FitError`] when there is too little to fit or a fit fails.
    pub fn fit(
        examples: &[Example<'_>],
        of: usize,
        (penalty, seed): (f64, u64),
    ) -> Result<Self, FitError> {
        let mut rows: Vec<&[f64]> = Vec::new();
        let mut classes = Vec::new();
        for example in examples {
            if let Known::Stage { class, .. } = example.known {
                rows.push(example.row);
                classes.push(class);
            }
        }
        let (rows, classes) = (&rows[..], &classes[..]);
        let picked = balanced(classes, seed);
        let even: Vec<&[f64]> = picked.iter().map(|i| judged(rows[*i])).collect();
        let even_classes: Vec<usize> = picked.iter().map(|i| classes[*i]).collect();
        let (veiled, veiled_classes) = veiled(&even, &even_classes, seed, COPIES);
        let veiled: Vec<&[f64]> = veiled.iter().map(Vec::as_slice).collect();
        let logistic = Logistic::fit(&veiled, &veiled_classes, of, penalty)?;
        let witnesses = Witness::fit_all(&even, &even_classes, of, penalty)?;
        Ok(Self {
            novelty: novelty(&logistic, rows, classes, of)?,
            logistic,
            witnesses,
            borders: borders(examples, of, seed)?,
        })
    }

    /// Fits everything to examples of `of` stages that weigh differently; `weights` are one for each
    /// example, and those of photos between stages count for the borders only.
    ///
    /// # Errors
    /// [`FitError`] when there is too little to fit or a fit fails.
    pub fn fit_weighted(
        examples: &[Example<'_>],
        weights: &[f64],
        of: usize,
        (penalty, seed, tolerance): (f64, u64, f64),
    ) -> Result<Self, FitError> {
        let mut rows: Vec<&[f64]> = Vec::new();
        let mut classes = Vec::new();
        let mut own = Vec::new();
        for (example, weight) in examples.iter().zip(weights) {
            if let Known::Stage { class, .. } = example.known {
                rows.push(example.row);
                classes.push(class);
                own.push(*weight);
            }
        }
        let judged: Vec<&[f64]> = rows.iter().map(|row| judged(row)).collect();
        let copies = if judged.len() > MANY { 1 } else { COPIES };
        let (hidden, hidden_classes) = veiled(&judged, &classes, seed, copies);
        let hidden: Vec<&[f64]> = hidden.iter().map(Vec::as_slice).collect();
        let of_copy = COPIES as f64 / copies as f64;
        let spread: Vec<f64> = own
            .iter()
            .flat_map(|w| std::iter::once(*w).chain(std::iter::repeat_n(w * of_copy, copies)))
            .collect();
        let ready = Weighted::new(&hidden, &hidden_classes, &spread, of)?;
        let logistic = ready.logistic(&ready.fit(penalty, None, tolerance)?);
        let witnesses =
            Witness::fit_all_weighted((&judged, &classes, &own), of, (penalty, tolerance))?;
        Ok(Self {
            novelty: novelty(&logistic, &rows, &classes, of)?,
            logistic,
            witnesses,
            borders: weighted_borders(examples, of, tolerance)?,
        })
    }

    /// What the core says of a photo's features and those of its setae.
    pub fn opinion(&self, stages: &[Stage], row: &[f64], setae: &[Option<Vec<f64>>]) -> Opinion {
        Opinion {
            logits: self.logistic.logits(row),
            distance: self.novelty.distance(row),
            borders: self.borders.as_ref().map_or_else(Vec::new, |fit| {
                fit.probabilities(row).split_off(stages.len())
            }),
            contradictions: contradictions(&self.witnesses, stages, row),
            setae: setae
                .iter()
                .map(|seta| top(&self.logistic.logits(seta.as_ref()?)))
                .collect(),
        }
    }
}

impl Opinion {
    /// Smaller share of the setae on the two sides of a group's border, 0 to 0.5.
    pub fn split(&self, stages: &[Stage], group: Hardness) -> f64 {
        let known: Vec<usize> = self.setae.iter().flatten().copied().collect();
        if known.is_empty() {
            return 0.0;
        }
        let votes: Vec<f64> = (0..stages.len())
            .map(|at| known.iter().filter(|seta| **seta == at).count() as f64)
            .collect();
        let inside = group_share(&votes, stages, group) / known.len() as f64;
        inside.min(1.0 - inside)
    }
}

/// Where the fitted rows lay. Photos that are read wrongly would stretch the spread until nothing is
/// far.
fn novelty(
    logistic: &Logistic,
    rows: &[&[f64]],
    classes: &[usize],
    of: usize,
) -> Result<Novelty, FitError> {
    let mut right = Vec::new();
    let mut right_classes = Vec::new();
    for (row, class) in rows.iter().zip(classes) {
        if top(&logistic.logits(row)) == Some(*class) {
            right.push(*row);
            right_classes.push(*class);
        }
    }
    Novelty::fit(&right, &right_classes, of).ok_or(FitError::NoSpread)
}

/// The part of a row that tells stages apart.
fn judged(row: &[f64]) -> &[f64] {
    &row[..row.len().min(FEATURES.len())]
}

/// Clear photos and those between stages, with the stages and then the borders as classes;
/// misleading ones of both kinds are left out.
fn at_borders<'a>(examples: &[Example<'a>], of: usize) -> (Vec<&'a [f64]>, Vec<usize>) {
    let mut rows: Vec<&[f64]> = Vec::new();
    let mut classes = Vec::new();
    for example in examples {
        let class = match example.known {
            Known::Stage { class, clear: true } => class,
            Known::Stage { clear: false, .. } => continue,
            Known::Between { after } => of + after,
        };
        rows.push(judged(example.row));
        classes.push(class);
    }
    (rows, classes)
}

/// Penalty of the fit on borders: those between two firm stages are narrow in one measure, the gap, and
/// a fit that is held back does not follow them. Our choice: on left-out conditions, with one clear
/// photo in ten marked by it alone, 34 in 100 photos between stages are marked at 1 and 56 at 0.03;
/// 0.01 does as well within what so few photos can show.
const BORDER_PENALTY: f64 = 0.01;

/// The fit on clear photos and those between stages, every class with the same weight.
fn weighted_borders(
    examples: &[Example<'_>],
    of: usize,
    tolerance: f64,
) -> Result<Option<Logistic>, FitError> {
    let (rows, classes) = at_borders(examples, of);
    if classes.iter().all(|class| *class < of) {
        return Ok(None);
    }
    let all = 2 * of - 1;
    let mut counts = vec![0_usize; all];
    for class in &classes {
        counts[*class] += 1;
    }
    let most = counts.iter().copied().max().unwrap_or(0) as f64;
    let weights: Vec<f64> = classes.iter().map(|c| most / counts[*c] as f64).collect();
    let ready = Weighted::new(&rows, &classes, &weights, all)?;
    let solution = ready.fit(BORDER_PENALTY, None, tolerance)?;
    Ok(Some(ready.logistic(&solution)))
}

/// The fit on clear photos and those between stages.
fn borders(examples: &[Example<'_>], of: usize, seed: u64) -> Result<Option<Logistic>, FitError> {
    let (rows, classes) = at_borders(examples, of);
    if classes.iter().all(|class| *class < of) {
        return Ok(None);
    }
    let picked = balanced(&classes, seed);
    let rows: Vec<&[f64]> = picked.iter().map(|i| rows[*i]).collect();
    let classes: Vec<usize> = picked.iter().map(|i| classes[*i]).collect();
    Logistic::fit(&rows, &classes, 2 * of - 1, BORDER_PENALTY).map(Some)
}

/// Copies of each row that are fitted on besides the row itself.
const COPIES: usize = 3;

/// Rows from which on one copy that weighs as much as [`COPIES`] says the same.
const MANY: usize = 1_000;

/// Part of the measures that are hidden in a copy.
const HIDDEN: f64 = 0.35;

/// The rows, and copies of them in which some measures are hidden behind their mean, so that the fit
/// rests on no single measure: what one painter or one microscope shows plainly, another may not.
fn veiled(
    rows: &[&[f64]],
    classes: &[usize],
    seed: u64,
    copies: usize,
) -> (Vec<Vec<f64>>, Vec<usize>) {
    let mean: Vec<f64> = (0..rows.first().map_or(0, |row| row.len()))
        .map(|j| rows.iter().map(|row| row[j]).sum::<f64>() / rows.len() as f64)
        .collect();
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut all = Vec::with_capacity(rows.len() * (copies + 1));
    let mut all_classes = Vec::with_capacity(all.capacity());
    for (row, class) in rows.iter().zip(classes) {
        all.push(row.to_vec());
        all_classes.push(*class);
        for _ in 0..copies {
            let hidden = MEASURES.map(|_| dice.random_bool(HIDDEN));
            let hides = |at: usize| {
                let measures = FEATURES.get(at).map_or(&[][..], |f| f.measures);
                measures.iter().any(|name| {
                    let place = MEASURES.iter().position(|m| m == name);
                    place.is_some_and(|place| hidden[place])
                })
            };
            let copy = row.iter().enumerate();
            all.push(
                copy.map(|(at, x)| if hides(at) { mean[at] } else { *x })
                    .collect(),
            );
            all_classes.push(*class);
        }
    }
    (all, all_classes)
}

/// The position of the largest value.
pub fn top(values: &[f64]) -> Option<usize> {
    (0..values.len()).max_by(|a, b| values[*a].total_cmp(&values[*b]).then(b.cmp(a)))
}
