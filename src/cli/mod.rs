//! The command line: arguments to workflow to output.

mod paint;

use clap::Parser;
use clap::Subcommand;
use std::process::ExitCode;

/// Reads micrographs of shrimp uropod tips and tallies moult stages.
#[derive(Debug, Parser)]
#[command(name = "tailfan", version)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Paint synthetic micrographs with known truth
    Paint(paint::PaintArgs),
}

/// Runs the program with the arguments of the process.
pub fn run() -> ExitCode {
    match Arguments::parse().command {
        Command::Paint(arguments) => paint::run(&arguments),
    }
}
