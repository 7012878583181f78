//! The command line: arguments to workflow to output.
//!
//! Data go to standard output, words to standard error. Each command has its file with an `Args`
//! and a `run`; what it may end with is in [`exit`].

pub mod exit;

pub mod output;

mod demo;

mod forecast;

mod limits;

mod paint;

mod plan;

mod read;

mod scale;

mod score;

mod tally;

mod train;

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use clap::CommandFactory as _;
use clap::Parser;
use clap::Subcommand;
use std::ffi::OsString;
use std::process::ExitCode;

/// Reads micrographs of shrimp uropod tips and proposes a moult stage for each animal.
///
/// A person decides; only what a person called is ever tallied.
#[derive(Debug, Parser)]
#[command(
    name = "tailfan",
    version,
    after_help = "Exit: 0 done, 1 done but something was refused, 2 misused or failed.",
    max_term_width = 100
)]
pub struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::Args),
    Forecast(Box<forecast::ForecastArgs>),
    Paint(paint::PaintArgs),
    Plan(plan::PlanArgs),
    Read(read::Args),
    Scale(scale::Args),
    Score(score::Args),
    Tally(tally::TallyArgs),
    Train(train::Args),
}

/// Runs the program with these arguments, the first being its own name.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let mut output = Output::new();
    let done = match Arguments::try_parse_from(arguments) {
        Ok(Arguments {
            command: Some(command),
        }) => dispatch(command, &mut output),
        Ok(Arguments { command: None }) => Err(Failure::misuse(
            "no command given",
            "`tailfan --help` lists the commands",
        )),
        Err(error) => exit::of_arguments(&error),
    };
    exit::code(done.and_then(|outcome| output.finish(outcome)))
}

fn dispatch(command: Command, output: &mut Output) -> Result<Outcome, Failure> {
    match command {
        Command::Demo(args) => demo::run(&args, output),
        Command::Forecast(args) => forecast::run(*args, output),
        Command::Paint(args) => paint::run(&args, output),
        Command::Plan(args) => plan::run(args, output),
        Command::Read(args) => read::run(&args, output),
        Command::Scale(args) => scale::run(&args, output),
        Command::Score(args) => score::run(&args, output),
        Command::Tally(args) => tally::run(args, output),
        Command::Train(args) => train::run(&args, output),
    }
}

/// The help of the program and of every command, for the test that watches it.
pub fn help() -> String {
    let mut program = Arguments::command().term_width(100);
    program.build();
    let mut text = program.render_long_help().to_string();
    for command in program.get_subcommands_mut() {
        if command.get_name() != "help" {
            text.push_str("\n----\n\n");
            text.push_str(&command.render_long_help().to_string());
        }
    }
    text
}
