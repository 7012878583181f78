//! `tailfan key`: the stage key for the wall.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::cli::report::paper;
use crate::report::Paper;
use crate::workflow::report::write_wall_chart;
use clap::Args;
use std::path::PathBuf;

/// Write the illustrated stage key for the wall as a PDF file
#[derive(Debug, Args)]
pub(in crate::cli) struct KeyArgs {
    /// The file to write
    #[arg(long, value_name = "PDF")]
    out: PathBuf,
    /// Paper: A3, A4 or Letter
    #[arg(long, default_value = "A3", value_parser = paper)]
    paper: Paper,
}

/// Writes the chart and says where.
pub(in crate::cli) fn run(args: &KeyArgs, output: &mut Output) -> Result<Outcome, Failure> {
    write_wall_chart(args.paper, &args.out)?;
    output.line(&args.out.display().to_string())?;
    Ok(Outcome::Done)
}
