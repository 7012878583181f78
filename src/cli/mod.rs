//! The command line: arguments to workflow to output.
//!
//! Data go to standard output, words to standard error. Each command has its file with an `Args`
//! and a `run`; what it may end with is in [`exit`].

pub mod exit;

pub mod output;

mod agreement;

mod call;

mod cycle;

mod demo;

mod forecast;

mod key;

mod label;

mod limits;

mod logbook;

mod model;

mod own;

mod paint;

mod plan;

mod practice;

mod read;

mod report;

mod scale;

mod score;

mod second;

mod tally;

mod train;

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::texts;
use crate::workflow::opening::Opening;
use clap::CommandFactory as _;
use clap::Parser;
use clap::Subcommand;
use std::ffi::OsString;
use std::process::ExitCode;

/// Reads micrographs of shrimp uropod tips and proposes a moult stage for each animal.
///
/// A person decides; only what a person called is ever tallied. Without a command the window opens.
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
    Agreement(agreement::AgreementArgs),
    Call(call::Args),
    Cycle(cycle::CycleArgs),
    Demo(demo::Args),
    Forecast(Box<forecast::ForecastArgs>),
    Key(key::KeyArgs),
    Label(label::Args),
    Logbook(logbook::Args),
    Model(model::Args),
    Paint(paint::PaintArgs),
    Plan(plan::PlanArgs),
    Practice(practice::Args),
    Read(read::Args),
    Report(Box<report::ReportArgs>),
    Scale(scale::Args),
    Score(score::Args),
    Second(second::Args),
    Tally(Box<tally::TallyArgs>),
    Train(train::Args),
}

/// How a run of the command line ends.
#[derive(Debug)]
pub enum Ending {
    /// The program is done.
    Exit(ExitCode),
    /// The window is asked for.
    Window(Opening),
    /// All is done; the window is to be opened where that can be.
    AndWindow(Opening),
}

/// Runs the program with these arguments, the first being its own name. Without a command the
/// window is asked for.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Ending {
    let done = match Arguments::try_parse_from(arguments) {
        Ok(Arguments {
            command: Some(command),
        }) => {
            let opens = matches!(&command, Command::Demo(args) if args.opens_window());
            let mut output = Output::new();
            let done = dispatch(command, &mut output);
            let done = done.and_then(|outcome| output.finish(outcome));
            if opens && done.is_ok() {
                return Ending::AndWindow(Opening {
                    made_up: true,
                    ..Opening::default()
                });
            }
            done
        }
        Ok(Arguments { command: None }) => return Ending::Window(Opening::default()),
        Err(error) => exit::of_arguments(&error),
    };
    Ending::Exit(exit::code(done))
}

/// The exit code when the window could not be opened, which is told on standard error.
pub fn no_window(error: impl std::error::Error + Send + Sync + 'static) -> ExitCode {
    let hint = texts::window::NO_DISPLAY_HINT;
    exit::code(Err(Failure::from(error).hint(hint)))
}

/// The exit code of a program that was built without its window.
pub fn built_without_window() -> ExitCode {
    let hint = texts::window::NO_DISPLAY_HINT;
    exit::code(Err(Failure::misuse(texts::window::BUILT_WITHOUT, hint)))
}

fn dispatch(command: Command, output: &mut Output) -> Result<Outcome, Failure> {
    match command {
        Command::Agreement(args) => agreement::run(&args, output),
        Command::Call(args) => call::run(&args, output),
        Command::Cycle(args) => cycle::run(args, output),
        Command::Demo(args) => demo::run(&args, output),
        Command::Forecast(args) => forecast::run(*args, output),
        Command::Key(args) => key::run(&args, output),
        Command::Label(args) => label::run(args, output),
        Command::Logbook(args) => logbook::run(args, output),
        Command::Model(args) => model::run(args, output),
        Command::Paint(args) => paint::run(&args, output),
        Command::Plan(args) => plan::run(args, output),
        Command::Practice(args) => practice::run(&args, output),
        Command::Read(args) => read::run(&args, output),
        Command::Report(args) => report::run(*args, output),
        Command::Scale(args) => scale::run(&args, output),
        Command::Score(args) => score::run(&args, output),
        Command::Second(args) => second::run(args, output),
        Command::Tally(args) => tally::run(*args, output),
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
