//! `tailfan paint`: synthetic micrographs with known truth.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::workflow::painting::Order;
use crate::workflow::painting::paint_folder;
use crate::workflow::painting::paint_sample;
use crate::workflow::painting::parse_condition;
use clap::Args;
use std::path::PathBuf;

/// Paint made-up micrographs with known truth, or the made-up sample
#[derive(Debug, Args)]
pub(in crate::cli) struct PaintArgs {
    /// Folder for the pictures and truth.jsonl
    folder: PathBuf,
    /// Tips of each stage from A to D3
    #[arg(long, default_value_t = 0)]
    per_stage: usize,
    /// Tips between each stage and the next
    #[arg(long, default_value_t = 0)]
    between: usize,
    /// Pictures without a readable tip
    #[arg(long, default_value_t = 0)]
    negatives: usize,
    /// Seed: the same seed paints the same bytes
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Paint the made-up pond sample instead: photos, list of animals and calls
    #[arg(long, conflicts_with_all = ["per_stage", "between", "negatives", "condition"])]
    sample: bool,
    /// What is special about the pictures, such as standard, any, eyepiece or scale-1.6
    #[arg(long, default_value = "standard")]
    condition: String,
}

/// Paints, and says what was painted.
pub(in crate::cli) fn run(arguments: &PaintArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let progress = output.watch();
    let truths = if arguments.sample {
        paint_sample(&arguments.folder, arguments.seed, &progress)?
    } else {
        let order = Order {
            per_stage: arguments.per_stage,
            between: arguments.between,
            negatives: arguments.negatives,
            condition: parse_condition(&arguments.condition)?,
            seed: arguments.seed,
        };
        paint_folder(&arguments.folder, &order, &progress)?
    };
    output.clear();
    output.say(&format!(
        "{} pictures and truth.jsonl in {}",
        truths.len(),
        arguments.folder.display()
    ))?;
    Ok(Outcome::Done)
}
