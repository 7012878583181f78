//! From labelled rows to a model: left-out fits first, then limits, then the fit on everything.

use crate::moult::Stage;
use crate::stage::core::Core;
use crate::stage::core::Example;
use crate::stage::core::Opinion;
use crate::stage::evaluation::Figures;
use crate::stage::evaluation::Judged;
use crate::stage::evaluation::Lengths;
use crate::stage::evaluation::Outcome;
use crate::stage::evaluation::Truth;
use crate::stage::evaluation::figures;
use crate::stage::limits::Judgement;
use crate::stage::limits::Known;
use crate::stage::limits::LeftOut;
use crate::stage::limits::Limits;
use crate::stage::logistic::FitError;
use crate::stage::model::Model;
use crate::stage::model::Training;
use rand::SeedableRng as _;
use rand::seq::SliceRandom as _;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// Fewest conditions for leaving out whole ones.
const FEWEST_CONDITIONS: usize = 3;

/// Parts that animals are split into where there are too few conditions.
const PARTS: usize = 10;

/// Where a row comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Painted by the program.
    Painted,
    /// Photographed and labelled.
    Own,
}

/// A measured photo whose truth is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Its features.
    pub features: Vec<f64>,
    /// Those of its setae.
    pub setae: Vec<Option<Vec<f64>>>,
    /// What is true.
    pub truth: Truth,
    /// The condition, look or pond it belongs to.
    pub condition: String,
    /// The animal.
    pub animal: String,
    /// Where it comes from.
    pub source: Source,
    /// How bases and lengths compare with the true ones, where known: a misread row is not fitted
    /// on, but counts where limits are set and in the scores.
    pub lengths: Option<Lengths>,
}

/// How to fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Name of the model.
    pub name: String,
    /// Penalty of the logistic fits.
    pub penalty: f64,
    /// Seed of everything that is drawn.
    pub seed: u64,
    /// The command that makes this model.
    pub command: String,
}

/// What fitting gave.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// The model.
    pub model: Model,
    /// Every row as a model that had not seen its condition judged it.
    pub left_out: Vec<Judged>,
}

/// Fits a model; `refused` photos of known stage count in its figures.
///
/// # Errors
/// [`FitError`] when there is too little to fit or a fit fails.
pub fn fit(rows: &[Row], refused: &[Judged], settings: &Settings) -> Result<Fitted, FitError> {
    let stages = stages(rows);
    let (parts, split) = parts(rows, settings.seed);
    let opinions = left_out(rows, &stages, &parts, settings)?;
    let of_known: Vec<LeftOut> = rows
        .iter()
        .zip(&opinions)
        .filter_map(|(row, opinion)| {
            Some(LeftOut {
                known: known(row, &stages)?,
                opinion: opinion.clone(),
            })
        })
        .collect();
    let limits = Limits::choose(&stages, &of_known);
    let core = core(rows, &stages, |_| true, settings)?;
    let mut judged: Vec<Judged> = rows
        .iter()
        .zip(&opinions)
        .filter(|(row, _)| row.truth == Truth::NoTip || known(row, &stages).is_some())
        .map(|(row, opinion)| as_judged(row, &limits.judge(&stages, opinion), &stages))
        .collect();
    judged.extend_from_slice(refused);
    let model = Model::new(
        settings.name.clone(),
        stages,
        core,
        limits,
        training(
            rows,
            refused,
            split,
            &figures(&judged),
            (settings.command.clone(), settings.seed, settings.penalty),
        ),
    );
    Ok(Fitted {
        model,
        left_out: judged,
    })
}

pub(in crate::stage) fn stages(rows: &[Row]) -> Vec<Stage> {
    let present: BTreeSet<Stage> = rows
        .iter()
        .filter_map(|row| match row.truth {
            Truth::Stage { stage, .. } => stage.as_proposed(),
            _ => None,
        })
        .collect();
    present.into_iter().collect()
}

/// What of a row the fit can use: its place in the list of stages.
pub(in crate::stage) fn known(row: &Row, stages: &[Stage]) -> Option<Known> {
    match row.truth {
        Truth::Stage { stage, clear } => {
            let proposed = stage.as_proposed()?;
            let class = stages.iter().position(|s| *s == proposed)?;
            Some(Known::Stage { class, clear })
        }
        Truth::Between { stage } => {
            let after = stages.iter().position(|s| *s == stage)?;
            (after + 1 < stages.len()).then_some(Known::Between { after })
        }
        Truth::NoTip => None,
    }
}

fn core(
    rows: &[Row],
    stages: &[Stage],
    kept: impl Fn(usize) -> bool,
    settings: &Settings,
) -> Result<Core, FitError> {
    let examples: Vec<Example<'_>> = rows
        .iter()
        .enumerate()
        .filter(|(i, row)| kept(*i) && !row.lengths.is_some_and(|l| l.misread))
        .filter_map(|(_, row)| {
            Some(Example {
                row: &row.features,
                known: known(row, stages)?,
            })
        })
        .collect();
    Core::fit(&examples, stages.len(), (settings.penalty, settings.seed))
}

/// The part each row is left out with, and by what rows were put together.
fn parts(rows: &[Row], seed: u64) -> (Vec<usize>, &'static str) {
    let conditions: BTreeSet<&str> = rows.iter().map(|row| row.condition.as_str()).collect();
    if conditions.len() >= FEWEST_CONDITIONS {
        let at: BTreeMap<&str, usize> = conditions.into_iter().zip(0..).collect();
        let parts = rows.iter().map(|row| at[row.condition.as_str()]).collect();
        return (parts, "condition");
    }
    let animals: BTreeSet<&str> = rows.iter().map(|row| row.animal.as_str()).collect();
    let mut animals: Vec<&str> = animals.into_iter().collect();
    animals.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
    let at: BTreeMap<&str, usize> = animals
        .into_iter()
        .enumerate()
        .map(|(i, animal)| (animal, i % PARTS))
        .collect();
    let parts = rows.iter().map(|row| at[row.animal.as_str()]).collect();
    (parts, "animal")
}

/// What a fit without the row's part says of each row.
fn left_out(
    rows: &[Row],
    stages: &[Stage],
    parts: &[usize],
    settings: &Settings,
) -> Result<Vec<Opinion>, FitError> {
    let of = parts.iter().max().map_or(0, |most| most + 1);
    let cores: Vec<Core> = (0..of)
        .into_par_iter()
        .map(|part| core(rows, stages, |i| parts[i] != part, settings))
        .collect::<Result<_, _>>()?;
    let opinion =
        |(row, part): (&Row, &usize)| cores[*part].opinion(stages, &row.features, &row.setae);
    Ok(rows.iter().zip(parts).map(opinion).collect())
}

pub(in crate::stage) fn as_judged(row: &Row, judgement: &Judgement, stages: &[Stage]) -> Judged {
    let mut probabilities = vec![0.0; Stage::PROPOSED.len()];
    for (stage, p) in stages.iter().zip(&judgement.probabilities) {
        probabilities[stage.index()] = *p;
    }
    Judged {
        truth: row.truth,
        condition: row.condition.clone(),
        outcome: Outcome::Read {
            probabilities,
            proposal: judgement.told.then(|| stages[judgement.best]),
            second_reader: judgement.second_reader,
            novelty: judgement.novelty,
        },
        lengths: row.lengths,
    }
}

pub(in crate::stage) fn training(
    rows: &[Row],
    refused: &[Judged],
    split: &str,
    scores: &Figures,
    (command, seed, penalty): (String, u64, f64),
) -> Training {
    let mut counts = BTreeMap::new();
    let mut conditions = BTreeMap::new();
    let mut between = 0;
    for row in rows {
        match row.truth {
            Truth::Stage { stage, .. } => *counts.entry(stage).or_insert(0) += 1,
            Truth::Between { .. } => between += 1,
            Truth::NoTip => continue,
        }
        *conditions.entry(row.condition.clone()).or_insert(0) += 1;
    }
    let animals: BTreeSet<&str> = rows.iter().map(|row| row.animal.as_str()).collect();
    Training {
        command,
        seed,
        penalty,
        animals: animals.len(),
        counts,
        conditions,
        between,
        refused: refused.len(),
        left_out_by: split.to_owned(),
        left_out: scores.clone(),
        own: None,
    }
}
