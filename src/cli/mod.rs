//! Arguments in, workflow, output.

mod tally;

use clap::Parser;
use clap::Subcommand;
use std::io::Write as _;
use std::process::ExitCode;

/// Reads micrographs of shrimp uropod tips, proposes a moult stage, tallies what a person decided.
#[derive(Debug, Parser)]
#[command(name = "tailfan", version)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Tally(tally::TallyArgs),
}

/// Runs the command line; exit code 0 when done, 2 when misused or failed.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(asked) => {
            let code = if asked.use_stderr() { 2 } else { 0 };
            return asked
                .print()
                .map_or_else(|_closed| ExitCode::from(2), |()| ExitCode::from(code));
        }
    };
    let mut out = std::io::stdout().lock();
    let done = match arguments.command {
        Command::Tally(args) => tally::run(args, &mut out),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            let said = writeln!(std::io::stderr().lock(), "tailfan: {error}");
            said.map_or(ExitCode::FAILURE, |()| ExitCode::from(2))
        }
    }
}
