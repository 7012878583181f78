//! `tailfan call`: calls made by eye, line by line.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::logbook::LogbookArg;
use crate::cli::output::Output;
use crate::texts;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::calls::CallLinesError;
use std::io;

/// Write calls into the logbook: lines of animal,stage on standard input
///
/// After them a line may have the shell as felt and the station. Each call is on the disk before its
/// id is printed. An animal that is not there yet is added; one that was called is called anew, and
/// its old call is kept.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// The sample: the beginning of its id, or POND@DATE
    #[arg(value_name = "SAMPLE")]
    sample: String,
    /// Who calls
    #[arg(long, value_name = "NAME")]
    reader: String,
    #[command(flatten)]
    logbook: LogbookArg,
}

/// Takes the lines; a refused one is told and makes the exit 1.
pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let mut session = Session::open_or_last(args.logbook.file(), &args.reader)?;
    if let Some(warning) = session.warning() {
        output.say(&warning)?;
    }
    let sample = session.find_sample(&args.sample)?.thing();
    let mut outcome = Outcome::Done;
    let lines = io::stdin().lock();
    session.call_lines(sample, lines, |line| -> Result<(), Stopped> {
        match line.written {
            Ok(row) => output.line(&row.to_string()).map_err(Stopped::Output),
            Err(refused) => {
                outcome = Outcome::Refused;
                let text = texts::logbook::refused(&refused.to_string());
                output.say(&text).map_err(Stopped::Output)
            }
        }
    })?;
    Ok(outcome)
}

/// Why lines stopped.
enum Stopped {
    Output(Failure),
    Lines(Box<CallLinesError>),
}

impl From<CallLinesError> for Stopped {
    fn from(error: CallLinesError) -> Self {
        Self::Lines(Box::new(error))
    }
}

impl From<Stopped> for Failure {
    fn from(stopped: Stopped) -> Self {
        match stopped {
            Stopped::Output(failure) => failure,
            Stopped::Lines(error) => Self::from(*error),
        }
    }
}
