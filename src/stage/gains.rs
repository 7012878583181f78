//! Which stage's further labels would help most: a learning curve, stage by stage.

use crate::moult::Stage;
use crate::progress::Progress;
use crate::stage::logistic::FitError;
use crate::stage::own::Slides;
use crate::stage::own::surprise;
use crate::stage::splits::Member;
use crate::stage::splits::deal;
use rayon::prelude::*;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// Parts of animals that are left out in turn.
const PARTS: usize = 3;

/// Animals of a stage below which nothing is said of its curve, and more are asked for.
pub const FEW_ANIMALS: usize = 10;

/// What is known of one stage, and what further labels of it promise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gain {
    /// The stage.
    pub stage: Stage,
    /// Own animals of it.
    pub animals: usize,
    /// Own photos of it.
    pub photos: usize,
    /// Log-loss over all stages with every label, each stage with the same weight.
    pub with_all: Option<f64>,
    /// The same with half of the animals of this stage left out of the fit.
    pub with_half: Option<f64>,
    /// By how much the loss should fall with twice as many animals of this stage.
    pub if_doubled: Option<f64>,
}

/// The curve of each stage that the model may propose.
///
/// # Formula
/// Loss as a + b / n in the animals n of a stage: then doubling them gains half of what halving them
/// lost, and no less than nothing.
///
/// # Source
/// Our choice: the first term of a learning curve.
pub(in crate::stage) fn gains(
    slides: &Slides<'_>,
    own: &[usize],
    (penalty, seed): (f64, u64),
    tolerance: f64,
    progress: &Progress,
) -> Result<Vec<Gain>, FitError> {
    let members: Vec<Member<'_>> = own
        .iter()
        .map(|at| Member {
            group: &slides.rows[*at].animal,
            class: slides.class(*at).unwrap_or(0),
        })
        .collect();
    let dealt = deal(&members, PARTS, seed);
    let mut parts: Vec<Option<usize>> = vec![None; slides.rows.len()];
    for (at, part) in own.iter().zip(dealt) {
        parts[*at] = Some(part);
    }
    let without = |dropped: &BTreeSet<&str>| -> Result<Option<f64>, FitError> {
        let mut sums = vec![(0.0, 0.0); slides.stages.len()];
        for part in 0..PARTS {
            let kept = |at: usize| {
                parts[at] != Some(part)
                    && !(slides.is_own(at) && dropped.contains(slides.rows[at].animal.as_str()))
            };
            let ready = match slides.ready(kept) {
                Err(FitError::TooFewClasses(_)) => return Ok(None),
                other => other?,
            };
            let fit = ready.logistic(&ready.fit(penalty, None, tolerance)?);
            for at in own.iter().filter(|at| parts[**at] == Some(part)) {
                if let Some(class) = slides.class(*at) {
                    let p = fit.probabilities(slides.judged(*at));
                    sums[class].0 += surprise(&p, class);
                    sums[class].1 += 1.0;
                }
            }
        }
        let means: Vec<f64> = sums
            .iter()
            .filter(|(_, of)| *of > 0.0)
            .map(|(sum, of)| sum / of)
            .collect();
        Ok(Some(means.iter().sum::<f64>() / means.len().max(1) as f64))
    };
    let with_all = without(&BTreeSet::new())?;
    Stage::PROPOSED
        .into_par_iter()
        .map(|stage| {
            progress.step()?;
            let class = slides.stages.iter().position(|s| *s == stage);
            let of_stage: Vec<usize> = own
                .iter()
                .copied()
                .filter(|at| class.is_some() && slides.class(*at) == class)
                .collect();
            let animals: BTreeMap<&str, usize> = of_stage
                .iter()
                .map(|at| slides.rows[*at].animal.as_str())
                .zip(0..)
                .collect();
            let enough = animals.len() >= FEW_ANIMALS;
            // Every second animal by name: their names say nothing of them.
            let half: BTreeSet<&str> = animals.keys().copied().step_by(2).collect();
            let with_half = if enough { without(&half)? } else { None };
            let lost = with_half.zip(with_all).map(|(half, all)| half - all);
            Ok(Gain {
                stage,
                animals: animals.len(),
                photos: of_stage.len(),
                with_all,
                with_half,
                if_doubled: lost.map(|lost| (0.5 * lost).max(0.0)),
            })
        })
        .collect()
}
