//! `tailfan tally`.

use crate::cli::limits::LimitArgs;
use crate::tally::Intervals;
use crate::tally::Settings;
use crate::texts;
use crate::workflow::tallying::TallyingError;
use crate::workflow::tallying::tally_calls_file;
use clap::Args;
use clap::ValueEnum;
use std::io::Write;
use std::path::PathBuf;
use thiserror::Error;

/// Count the calls of a sample and set them against the limits
#[derive(Debug, Args)]
pub(crate) struct TallyArgs {
    /// CSV file with the columns animal,stage and optional shell,station; a stage may be "unread"
    calls: PathBuf,
    /// Print one JSON object instead of a table
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    limits: LimitArgs,
    /// Simultaneous intervals of the stage table
    #[arg(long, value_enum, default_value = "goodman")]
    intervals: IntervalsArg,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum IntervalsArg {
    Goodman,
    SisonGlaz,
}

/// Why `tailfan tally` printed no tally.
#[derive(Debug, Error)]
pub(crate) enum TallyCommandError {
    #[error(transparent)]
    Tallying(#[from] TallyingError),
    #[error("the tally could not be written: {0}")]
    Json(#[from] serde_json::Error),
    #[error("the tally could not be written: {0}")]
    Output(#[from] std::io::Error),
}

/// Tallies and prints.
pub(crate) fn run(args: TallyArgs, out: &mut impl Write) -> Result<(), TallyCommandError> {
    let intervals = match args.intervals {
        IntervalsArg::Goodman => Intervals::Goodman,
        IntervalsArg::SisonGlaz => Intervals::SisonGlaz,
    };
    let settings = Settings {
        intervals,
        ..args.limits.settings()
    };
    let tally = tally_calls_file(&args.calls, settings)?;
    if args.json {
        writeln!(out, "{}", serde_json::to_string(&tally)?)?;
    } else {
        write!(out, "{}", texts::tally::page(&tally))?;
    }
    Ok(())
}
