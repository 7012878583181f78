//! `tailfan tally`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::limits::LimitArgs;
use crate::cli::output::Output;
use crate::cli::own::OwnArgs;
use crate::tally::Intervals;
use crate::tally::RigidAfter;
use crate::tally::Settings;
use crate::texts;
use crate::units::Days;
use crate::workflow::moments::Moment;
use crate::workflow::moments::PondClock;
use crate::workflow::tallying::TallyOptions;
use crate::workflow::tallying::tally_calls_with;
use crate::workflow::tallying::timed;
use clap::Args;
use clap::ValueEnum;
use std::path::PathBuf;

/// Count the calls of a sample and set them against the limits
#[derive(Debug, Args)]
pub(in crate::cli) struct TallyArgs {
    /// CSV file with the columns animal,stage and optional shell,station,throw; a stage may be "unread"
    calls: PathBuf,
    /// Print one JSON object instead of a table
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    limits: LimitArgs,
    /// Simultaneous intervals of the stage table
    #[arg(long, value_enum, default_value = "goodman")]
    intervals: IntervalsArg,
    #[command(flatten)]
    own: OwnArgs,
    /// Length of the cycle, which --rigid-after needs; `tailfan forecast` and `tailfan cycle` print it
    #[arg(long, value_name = "DAYS")]
    cycle_days: Option<f64>,
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
    let rigid_after = match (args.own.rigid_after, args.cycle_days) {
        (None, _) => None,
        (Some(days), Some(cycle)) => Some(RigidAfter {
            days: Days::new(days),
            cycle: Days::new(cycle),
        }),
        (Some(_), None) => {
            return Err(Failure::misuse(
                "--rigid-after needs the length of the cycle",
                "give --cycle-days; `tailfan cycle --species NAME --weight G --water C` prints it",
            ));
        }
    };
    let settings = Settings {
        rigid_after,
        intervals,
        ..args.limits.settings()
    };
    let netted = args.own.moment(args.own.netted.as_ref())?;
    let options = TallyOptions {
        arcs: args.own.arcs,
        reader_slides: args.own.reader_slides,
    };
    let tally = tally_calls_with(&args.calls, settings, &options)?;
    let clock = args.own.zone.or_else(|| netted.map(PondClock::of_moment));
    let found = timed(tally, netted.zip(clock.as_ref()), Moment::now());
    if args.json {
        output.json(&found)?;
    } else {
        let until = found.expires.as_deref().zip(found.expired);
        output.line(texts::tally::page_until(&found.tally, until).trim_end())?;
    }
    Ok(Outcome::Done)
}
