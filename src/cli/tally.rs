//! `tailfan tally`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::moult::Stage;
use crate::moult::UnknownStage;
use crate::tally::Intervals;
use crate::tally::Settings;
use crate::texts;
use crate::units::Probability;
use crate::units::UnitError;
use crate::workflow::tallying::tally_calls_file;
use clap::Args;
use clap::ValueEnum;
use std::collections::BTreeSet;
use std::path::PathBuf;
use thiserror::Error;

/// Count the calls of a sample and set them against the limits
#[derive(Debug, Args)]
pub(in crate::cli) struct TallyArgs {
    /// CSV file with the columns animal,stage and optional shell,station; a stage may be "unread"
    calls: PathBuf,
    /// Print one JSON object instead of a table
    #[arg(long)]
    json: bool,
    /// The soft share must stay below this
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    soft_limit: Option<Probability>,
    /// The moulting share must stay below this
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    moulting_limit: Option<Probability>,
    /// The share about to moult must stay below this
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    due_limit: Option<Probability>,
    /// How sure an answer must be
    #[arg(long, value_name = "PERCENT", value_parser = confidence)]
    confidence: Option<Probability>,
    /// Stages that count as soft
    #[arg(long, value_name = "STAGES", value_delimiter = ',', value_parser = stage)]
    soft_stages: Option<Vec<Stage>>,
    /// Stages that count as moulting
    #[arg(long, value_name = "STAGES", value_delimiter = ',', value_parser = stage)]
    moulting_stages: Option<Vec<Stage>>,
    /// Stages that count as due to moult
    #[arg(long, value_name = "STAGES", value_delimiter = ',', value_parser = stage)]
    due_stages: Option<Vec<Stage>>,
    /// Simultaneous intervals of the stage table
    #[arg(long, value_enum, default_value = "goodman")]
    intervals: IntervalsArg,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum IntervalsArg {
    Goodman,
    SisonGlaz,
}

/// Tallies and prints.
pub(in crate::cli) fn run(args: TallyArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let (file, json) = (args.calls.clone(), args.json);
    let tally = tally_calls_file(&file, settings(args))?;
    if json {
        output.json(&tally)?;
    } else {
        output.line(texts::tally::page(&tally).trim_end())?;
    }
    Ok(Outcome::Done)
}

fn settings(args: TallyArgs) -> Settings {
    let usual = Settings::default();
    let group = |given: Option<Vec<Stage>>, usual: BTreeSet<Stage>| {
        given.map_or(usual, |stages| stages.into_iter().collect())
    };
    Settings {
        soft: group(args.soft_stages, usual.soft),
        moulting: group(args.moulting_stages, usual.moulting),
        due: group(args.due_stages, usual.due),
        soft_limit: args.soft_limit.unwrap_or(usual.soft_limit),
        moulting_limit: args.moulting_limit.unwrap_or(usual.moulting_limit),
        due_limit: args.due_limit.unwrap_or(usual.due_limit),
        confidence: args.confidence.unwrap_or(usual.confidence),
        intervals: match args.intervals {
            IntervalsArg::Goodman => Intervals::Goodman,
            IntervalsArg::SisonGlaz => Intervals::SisonGlaz,
        },
    }
}

#[derive(Debug, Error)]
enum PercentError {
    #[error("\"{given}\" is no number of percent: write 10 for 10 %")]
    NoNumber {
        given: String,
        source: std::num::ParseFloatError,
    },
    #[error("{value} % is no share: use 0 to 100")]
    OutOfRange { value: f64, source: UnitError },
    #[error("{0} % is no confidence to test at: use 50 or more and less than 100, such as 90")]
    Confidence(f64),
}

fn percent(text: &str) -> Result<Probability, PercentError> {
    let bare = text.trim().trim_end_matches('%').trim_end();
    let value: f64 = bare.parse().map_err(|source| PercentError::NoNumber {
        given: text.to_owned(),
        source,
    })?;
    Probability::new(value / 100.0).map_err(|source| PercentError::OutOfRange { value, source })
}

/// A confidence in percent, or as the share it is in JSON: 90 and 0.9 are the same.
fn confidence(text: &str) -> Result<Probability, PercentError> {
    let given = percent(text)?.get();
    let share = if (0.005..0.01).contains(&given) {
        given * 100.0
    } else {
        given
    };
    if (0.5..1.0).contains(&share) {
        Ok(Probability::clamped(share))
    } else {
        Err(PercentError::Confidence(given * 100.0))
    }
}

fn stage(text: &str) -> Result<Stage, UnknownStage> {
    text.parse()
}
