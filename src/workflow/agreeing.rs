//! How far readers agree who called the same animals: from two or more tables of calls.

use crate::exchange::calls::CallsError;
use crate::exchange::calls::read_calls;
use crate::moult::Stage;
use crate::statistics::Interval;
use crate::statistics::agreement::Kappa;
use crate::statistics::agreement::PairTable;
use crate::statistics::agreement::TableError;
use crate::statistics::agreement::Weighting;
use crate::statistics::agreement::fleiss;
use crate::statistics::agreement::fleiss_interval;
use crate::tally::Settings;
use crate::units::Probability;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::PathBuf;
use thiserror::Error;

/// Stages that stay in the table, used or not: D4 is folded into D3, which the reading by eye cannot
/// part from it for certain.
pub const CLASSES: [Stage; 8] = [
    Stage::A,
    Stage::B,
    Stage::C,
    Stage::D0,
    Stage::D1,
    Stage::D2,
    Stage::D3,
    Stage::E,
];
/// Confidence of all intervals.
const CONFIDENCE: f64 = 0.95;
/// Draws behind the interval of Fleiss' kappa, and their seed.
const RESAMPLES: usize = 2_000;
const SEED: u64 = 11;

/// Why there is no agreement to speak of.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum AgreeingError {
    /// A table of calls cannot be used.
    #[error(transparent)]
    Calls(#[from] CallsError),
    /// Fewer than two tables.
    #[error("{0} table of calls shows no agreement: give one table for each reader, two or more")]
    Tables(usize),
    /// No animal was called by every reader.
    #[error(
        "no animal was called by all of them: use the same names for the same animals in every table"
    )]
    NothingShared,
    /// Counts that are no table.
    #[error(transparent)]
    Table(#[from] TableError),
}

/// A part with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Part {
    /// The part, 0..1.
    pub part: f64,
    /// Lower end of its Wilson 95 % interval.
    pub low: f64,
    /// Upper end of its Wilson 95 % interval.
    pub high: f64,
}

/// How far two readers agree.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairAgreement {
    /// First and second reader, by their tables.
    pub readers: [String; 2],
    /// Calls of the first (rows) and of the second (columns) by stage, in the order of `stages`.
    pub table: Vec<Vec<u64>>,
    /// Called alike.
    pub exact: Part,
    /// At most one stage apart.
    pub within_one_stage: Part,
    /// Cohen's kappa: plain, linear and quadratic; those that chance leaves undefined are left out.
    pub kappas: Vec<Kappa>,
    /// Animals that one called soft and the other not.
    pub soft_apart: u64,
    /// Animals that one called due and the other not.
    pub due_apart: u64,
}

/// How far three or more readers agree.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ManyAgreement {
    /// Fleiss' kappa, unweighted.
    pub fleiss: f64,
    /// Lower end of its 95 % interval, by drawing animals anew.
    pub low: f64,
    /// Upper end of its 95 % interval.
    pub high: f64,
    /// Draws behind the interval.
    pub draws: usize,
}

/// How far readers agree: the object that `tailfan agreement --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Agreement {
    /// Animals that every reader called.
    pub animals: u64,
    /// Animals that some reader called and another left out or unread.
    pub left_out: u64,
    /// Stages of the tables, in their order.
    pub stages: [Stage; 8],
    /// Every pair of readers.
    pub pairs: Vec<PairAgreement>,
    /// All readers together; absent for two, and where chance leaves it undefined.
    pub all: Option<ManyAgreement>,
}

/// Compares tables of calls, one per reader, animal by animal.
///
/// # Errors
/// [`AgreeingError`] for tables that cannot be used or share no animal.
pub fn agree(files: &[PathBuf]) -> Result<Agreement, AgreeingError> {
    if files.len() < 2 {
        return Err(AgreeingError::Tables(files.len()));
    }
    let mut by_animal: BTreeMap<String, Vec<Option<Stage>>> = BTreeMap::new();
    for (reader, file) in files.iter().enumerate() {
        for line in read_calls(file)? {
            let calls = by_animal
                .entry(line.animal)
                .or_insert_with(|| vec![None; files.len()]);
            calls[reader] = line.stage;
        }
    }
    let shared: Vec<Vec<Stage>> = by_animal
        .values()
        .filter_map(|calls| calls.iter().copied().collect::<Option<Vec<Stage>>>())
        .collect();
    if shared.is_empty() {
        return Err(AgreeingError::NothingShared);
    }
    let names: Vec<String> = files.iter().map(|f| f.display().to_string()).collect();
    let mut pairs = Vec::new();
    for first in 0..files.len() {
        for second in first + 1..files.len() {
            let readers = [names[first].clone(), names[second].clone()];
            let calls = shared.iter().map(|calls| (calls[first], calls[second]));
            pairs.push(pair_agreement(readers, &calls.collect::<Vec<_>>()));
        }
    }
    let all = if files.len() > 2 {
        many(&shared)?
    } else {
        None
    };
    Ok(Agreement {
        animals: shared.len() as u64,
        left_out: (by_animal.len() - shared.len()) as u64,
        stages: CLASSES,
        pairs,
        all,
    })
}

fn class_of(stage: Stage) -> usize {
    let folded = if stage == Stage::D4 { Stage::D3 } else { stage };
    CLASSES.iter().position(|s| *s == folded).unwrap_or(0)
}

/// How far two readers agree who called the same animals.
pub fn pair_agreement(readers: [String; 2], calls: &[(Stage, Stage)]) -> PairAgreement {
    let mut table = [[0; CLASSES.len()]; CLASSES.len()];
    for (first, second) in calls {
        table[class_of(*first)][class_of(*second)] += 1;
    }
    let confidence = Probability::clamped(CONFIDENCE);
    let pairs = PairTable::square(&table);
    let groups = Settings::default();
    let apart = |group: &std::collections::BTreeSet<Stage>| {
        let differ = |(a, b): &&(Stage, Stage)| group.contains(a) != group.contains(b);
        calls.iter().filter(differ).count() as u64
    };
    let weightings = [Weighting::Plain, Weighting::Linear, Weighting::Quadratic];
    let kappas = weightings.map(|weighting| pairs.kappa(weighting, confidence));
    PairAgreement {
        readers,
        table: table.iter().map(|row| row.to_vec()).collect(),
        exact: part(pairs.agreement(), pairs.agreement_interval(confidence)),
        within_one_stage: part(
            pairs.agreement_within_one(),
            pairs.within_one_interval(confidence),
        ),
        kappas: kappas.into_iter().flatten().collect(),
        soft_apart: apart(&groups.soft),
        due_apart: apart(&groups.due),
    }
}

fn part(share: Option<Probability>, interval: Interval) -> Part {
    Part {
        part: share.map_or(0.0, Probability::get),
        low: interval.low.get(),
        high: interval.high.get(),
    }
}

fn many(shared: &[Vec<Stage>]) -> Result<Option<ManyAgreement>, AgreeingError> {
    let rows: Vec<Vec<u64>> = shared
        .iter()
        .map(|calls| {
            let mut row = vec![0; CLASSES.len()];
            for call in calls {
                row[class_of(*call)] += 1;
            }
            row
        })
        .collect();
    let confidence = Probability::clamped(CONFIDENCE);
    let interval = fleiss_interval(&rows, confidence, RESAMPLES, SEED)?;
    Ok(fleiss(&rows)?
        .zip(interval)
        .map(|(fleiss, (low, high))| ManyAgreement {
            fleiss,
            low,
            high,
            draws: RESAMPLES,
        }))
}
