//! `tailfan tally`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::limits::LimitArgs;
use crate::cli::output::Output;
use crate::tally::Intervals;
use crate::tally::Settings;
use crate::texts;
use crate::workflow::tallying::tally_calls_file;
use clap::Args;
use clap::ValueEnum;
use std::path::PathBuf;

/// Count the calls of a sample and set them against the limits
#[derive(Debug, Args)]
pub(in crate::cli) struct TallyArgs {
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

/// Tallies and prints.
pub(in crate::cli) fn run(args: TallyArgs, output: &mut Output) -> Result<Outcome, Failure> {
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
        output.json(&tally)?;
    } else {
        output.line(texts::tally::page(&tally).trim_end())?;
    }
    Ok(Outcome::Done)
}
