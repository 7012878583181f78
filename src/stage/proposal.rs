//! What a model proposes for one photo, and why.

use crate::measure::Measurements;
use crate::moult::Stage;
use crate::stage::features;
use crate::stage::features::FEATURES;
use crate::stage::limits::Judgement;
use crate::stage::model::Model;
use std::collections::BTreeMap;

/// Reasons that are named at most.
const MOST_REASONS: usize = 3;

/// Least part of the evidence for a third reason to be named.
const LEAST_THIRD: f64 = 0.12;

/// A measure that moved the proposal.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// Name of the measure, as in [`crate::measure::MEASURES`].
    pub measure: &'static str,
    /// Its value over the setae.
    pub value: f64,
    /// The stage it speaks for: the most probable one or the next.
    pub toward: Stage,
    /// Its part of all evidence between the two, 0 to 1.
    pub weight: f64,
}

/// What the model makes of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Probability of each stage from A to D3; they sum to 1.
    pub probabilities: BTreeMap<Stage, f64>,
    /// The stage proposed; `None` is "cannot tell".
    pub proposal: Option<Stage>,
    /// Distance from what the model was fitted on over its limit; above 1 it cannot tell.
    pub novelty: f64,
    /// Whether a second reader should look.
    pub second_reader: bool,
    /// The two or three measures that moved it most.
    pub because: Vec<Reason>,
    /// The stage of each seta by itself, in the order of [`Measurements::setae`]; not calibrated.
    pub setae: Vec<Option<Stage>>,
    /// Share of the staged setae at each stage that any has.
    pub seta_stages: BTreeMap<Stage, f64>,
}

/// Proposes a stage for a photo.
pub fn propose(model: &Model, measurements: &Measurements) -> Proposal {
    let row = features::of_photo(measurements);
    let of_setae: Vec<Option<Vec<f64>>> = measurements
        .setae
        .iter()
        .map(|seta| features::of_seta(&seta.measures))
        .collect();
    let opinion = model.core.opinion(&model.stages, &row, &of_setae);
    let judged = model.limits.judge(&model.stages, &opinion);
    let setae: Vec<Option<Stage>> = opinion
        .setae
        .iter()
        .map(|at| at.map(|at| model.stages[at]))
        .collect();
    let mut probabilities: BTreeMap<Stage, f64> =
        Stage::PROPOSED.iter().map(|stage| (*stage, 0.0)).collect();
    for (stage, p) in model.stages.iter().zip(&judged.probabilities) {
        probabilities.insert(*stage, *p);
    }
    Proposal {
        probabilities,
        proposal: judged.told.then(|| model.stages[judged.best]),
        novelty: judged.novelty,
        second_reader: judged.second_reader,
        because: reasons(model, measurements, &row, &judged),
        seta_stages: shares(&setae),
        setae,
    }
}

fn shares(setae: &[Option<Stage>]) -> BTreeMap<Stage, f64> {
    let of = setae.iter().flatten().count() as f64;
    let mut shares = BTreeMap::new();
    for stage in setae.iter().flatten() {
        *shares.entry(*stage).or_insert(0.0) += 1.0 / of;
    }
    shares
}

/// The measure under whose name several ones of the same thing are added up: the one that a reading
/// shows.
fn heading(measure: &'static str) -> &'static str {
    match measure {
        "base_fill" | "base_pigment_od" | "base_hue" => "base_pigment",
        "lumen_fill" | "lumen_pigment_od" | "lumen_hue" => "lumen_pigment",
        "cones" => "base_line",
        "new_tips" => "new_setae",
        other => other,
    }
}

/// The measures by their part in the log-odds of the best stage against the next.
///
/// # Formula
/// A feature speaks with (w_best - w_next) (z - (c_best + c_next) / 2): z the standardised feature, w
/// the coefficients, c the centres of the two stages. What lies midway between them says nothing.
fn reasons(
    model: &Model,
    measurements: &Measurements,
    row: &[f64],
    judged: &Judgement,
) -> Vec<Reason> {
    let (best, next) = (judged.best, judged.runner_up);
    let z = model.core.logistic.standardised(row);
    let weights = &model.core.logistic.coefficients;
    let centre = |at: usize| {
        let raw = &model.core.novelty.centres[at];
        model.core.logistic.standardised(raw)
    };
    let centres = [centre(best), centre(next)];
    let mut spoken: BTreeMap<&'static str, f64> = BTreeMap::new();
    for (j, feature) in FEATURES.iter().enumerate() {
        let middle = 0.5 * (centres[0][j] + centres[1][j]);
        let speaks = (weights[best][j] - weights[next][j]) * (z[j] - middle);
        for measure in feature.measures {
            *spoken.entry(heading(measure)).or_insert(0.0) +=
                speaks / feature.measures.len() as f64;
        }
    }
    let all: f64 = spoken.values().map(|v| v.abs()).sum();
    let mut reasons: Vec<Reason> = spoken
        .into_iter()
        .filter_map(|(measure, speaks)| {
            Some(Reason {
                measure,
                value: measurements.measure(measure)?.value,
                toward: model.stages[if speaks >= 0.0 { best } else { next }],
                weight: speaks.abs() / all.max(1e-12),
            })
        })
        .collect();
    reasons.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.measure.cmp(b.measure)));
    reasons.truncate(MOST_REASONS);
    if reasons.get(2).is_some_and(|r| r.weight < LEAST_THIRD) {
        reasons.truncate(2);
    }
    reasons
}
