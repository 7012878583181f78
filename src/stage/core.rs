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
    /// For the border after each stage but the last, the fit that tells photos between the two stages
    /// from clear ones of either. Absent where not all three kinds were given.
    pub borders: Vec<Option<Logistic>>,
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
    /// Probability that the photo lies at the border after each stage but the last; not calibrated, and
    /// 0 but for the border between the likeliest stage and the likelier of its neighbours.
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
        let logits = self.logistic.logits(row);
        Opinion {
            distance: self.novelty.distance(row),
            borders: self.at_borders(&logits, row),
            contradictions: contradictions(&self.witnesses, stages, row),
            setae: setae
                .iter()
                .map(|seta| top(&self.logistic.logits(seta.as_ref()?)))
                .collect(),
            logits,
        }
    }

    /// What the fit on the likeliest border says, as in [`Opinion::borders`].
    fn at_borders(&self, logits: &[f64], row: &[f64]) -> Vec<f64> {
        let mut at = vec![0.0; self.borders.len()];
        let likeliest = likeliest_border(logits);
        if let Some(border) = likeliest
            && let Some(Some(fit)) = self.borders.get(border)
        {
            at[border] = fit.probabilities(row)[BETWEEN];
        }
        at
    }
}

/// The border between the likeliest stage and the likelier of its neighbours, as the position of the
/// earlier of the two.
fn likeliest_border(logits: &[f64]) -> Option<usize> {
    let best = top(logits)?;
    let before = best.checked_sub(1).map(|before| logits[before]);
    let after = logits.get(best + 1).copied();
    match (before, after) {
        (Some(before), after) if after.is_none_or(|after| before > after) => Some(best - 1),
        (_, Some(_)) => Some(best),
        _ => None,
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

/// Photos of two neighbouring stages and those between them, as the fit on their border knows them.
const BETWEEN: usize = 1;
pub(in crate::stage) const KINDS: usize = 3;

/// The rows of a border, with 0 for a clear photo of the stage before it, [`BETWEEN`] and 2 for a clear one
/// of the stage after it; misleading ones are left out. `None` where not all three are there.
fn at_border<'a>(examples: &[Example<'a>], border: usize) -> Option<(Vec<&'a [f64]>, Vec<usize>)> {
    let mut rows: Vec<&[f64]> = Vec::new();
    let mut kinds = Vec::new();
    for example in examples {
        let kind = match example.known {
            Known::Stage { class, clear: true } if class == border => 0,
            Known::Stage { class, clear: true } if class == border + 1 => 2,
            Known::Between { after } if after == border => BETWEEN,
            _ => continue,
        };
        rows.push(judged(example.row));
        kinds.push(kind);
    }
    (0..KINDS)
        .all(|kind| kinds.contains(&kind))
        .then_some((rows, kinds))
}

/// Penalty of the fits on borders. Our choice: on left-out conditions, with one clear photo in ten marked
/// by them alone, 39 in 100 photos between stages are marked at 10, 48 at 1 and 47 at 0.1.
const BORDER_PENALTY: f64 = 1.0;

/// A fit for each border that has rows of all kinds, made by `fit` from rows and kinds.
fn each_border(
    examples: &[Example<'_>],
    of: usize,
    fit: impl Fn(&[&[f64]], &[usize]) -> Result<Logistic, FitError>,
) -> Result<Vec<Option<Logistic>>, FitError> {
    (0..of.saturating_sub(1))
        .map(|border| {
            at_border(examples, border)
                .map(|(rows, kinds)| fit(&rows, &kinds))
                .transpose()
        })
        .collect()
}

/// The fits on borders, each kind of photo with the same weight.
fn weighted_borders(
    examples: &[Example<'_>],
    of: usize,
    tolerance: f64,
) -> Result<Vec<Option<Logistic>>, FitError> {
    each_border(examples, of, |rows, kinds| {
        let mut counts = [0_usize; KINDS];
        for kind in kinds {
            counts[*kind] += 1;
        }
        let most = counts.iter().copied().max().unwrap_or(0) as f64;
        let weights: Vec<f64> = kinds.iter().map(|k| most / counts[*k] as f64).collect();
        let ready = Weighted::new(rows, kinds, &weights, KINDS)?;
        let solution = ready.fit(BORDER_PENALTY, None, tolerance)?;
        Ok(ready.logistic(&solution))
    })
}

/// The fits on borders, from as many photos of each kind.
fn borders(
    examples: &[Example<'_>],
    of: usize,
    seed: u64,
) -> Result<Vec<Option<Logistic>>, FitError> {
    each_border(examples, of, |rows, kinds| {
        let picked = balanced(kinds, seed);
        let rows: Vec<&[f64]> = picked.iter().map(|i| rows[*i]).collect();
        let kinds: Vec<usize> = picked.iter().map(|i| kinds[*i]).collect();
        Logistic::fit(&rows, &kinds, KINDS, BORDER_PENALTY)
    })
}

/// Copies of each row that are fitted on besides the row itself.
const COPIES: usize = 3;

/// Rows from which on one copy that weighs as much as [`COPIES`] says the same.
const MANY: usize = 1_000;

/// Part of the measures that are hidden in a copy.
const HIDDEN: f64 = 0.2;

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_likeliest_border_lies_beside_the_likeliest_stage() {
        assert_eq!(likeliest_border(&[3.0, 1.0, 2.0, 0.0]), Some(0));
        assert_eq!(likeliest_border(&[0.0, 3.0, 1.0, 2.0]), Some(1));
        assert_eq!(likeliest_border(&[2.0, 3.0, 1.0, 2.5]), Some(0));
        assert_eq!(likeliest_border(&[2.5, 0.0, 1.0, 3.0]), Some(2));
        assert_eq!(likeliest_border(&[1.0]), None);
        assert_eq!(likeliest_border(&[]), None);
    }

    #[test]
    fn photos_between_two_stages_are_told_from_clear_ones_of_either() {
        // one measure says all: stages at 0, 1 and 2, what lies between them halfway
        let rows: Vec<(Vec<f64>, Known)> = (0..240)
            .map(|i| {
                let class = i % 3;
                let off = f64::from(i as u32 / 3 % 9) * 0.02 - 0.08;
                let between = i % 5 == 0 && class < 2;
                let known = if between {
                    Known::Between { after: class }
                } else {
                    Known::Stage { class, clear: true }
                };
                let at = class as f64 + if between { 0.5 } else { 0.0 } + off;
                (vec![at, libm::sin(f64::from(i as u32))], known)
            })
            .collect();
        let examples: Vec<Example<'_>> = rows
            .iter()
            .map(|(row, known)| Example { row, known: *known })
            .collect();
        let fits = borders(&examples, 3, 1).unwrap();
        assert_eq!(fits.len(), 2);
        for (after, fit) in fits.iter().enumerate() {
            let fit = fit.as_ref().unwrap();
            let between = |at: f64| fit.probabilities(&[at, 0.0])[BETWEEN];
            let border = after as f64 + 0.5;
            assert!(between(border) > 0.6);
            assert!(between(border - 0.5) < 0.3 && between(border + 0.5) < 0.3);
        }
        // with a kind that is lacking there is nothing to fit
        let clear: Vec<Example<'_>> = examples
            .iter()
            .filter(|example| !matches!(example.known, Known::Between { after: 1 }))
            .copied()
            .collect();
        let fits = borders(&clear, 3, 1).unwrap();
        assert!(fits[0].is_some() && fits[1].is_none());
    }
}
