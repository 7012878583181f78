//! Arguments in, workflow, output.

mod forecast;
mod limits;
mod plan;
mod tally;

use clap::Parser;
use clap::Subcommand;
use std::fmt::Display;
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
    Forecast(Box<forecast::ForecastArgs>),
    Plan(plan::PlanArgs),
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
    match arguments.command {
        Command::Tally(args) => finish(tally::run(args, &mut out), |_| false),
        Command::Plan(args) => finish(plan::run(args, &mut out), |_| false),
        Command::Forecast(args) => finish(
            forecast::run(*args, &mut out),
            forecast::ForecastCommandError::is_refusal,
        ),
    }
}

/// Says on stderr why nothing was printed; 1 for a refusal, 2 for a failure.
fn finish<E: Display>(done: Result<(), E>, is_refusal: impl Fn(&E) -> bool) -> ExitCode {
    let Err(error) = done else {
        return ExitCode::SUCCESS;
    };
    let code = ExitCode::from(if is_refusal(&error) { 1 } else { 2 });
    let said = writeln!(std::io::stderr().lock(), "tailfan: {error}");
    said.map_or(ExitCode::FAILURE, |()| code)
}
