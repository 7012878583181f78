//! `tailfan score`: how a model does on photos whose stage is known.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::progress::Progress;
use crate::texts;
use crate::workflow::labelled::collect_slides;
use crate::workflow::reading::load_model;
use crate::workflow::scoring::score;
use std::path::PathBuf;

/// Score a model on photos whose stage is known
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Folders with truth.jsonl, or tables with the columns photo,stage,animal,pond,reader,evidence
    #[arg(required = true, value_name = "DIR|LABELS.csv")]
    labelled: Vec<PathBuf>,
    /// The model file; else the shipped model
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
    /// Also score each condition by itself
    #[arg(long, value_name = "WHAT")]
    by: Option<By>,
    /// Print one JSON object instead of lines
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum By {
    /// The condition, look or pond
    Condition,
}

/// Scores and prints.
pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let model = load_model(args.model.as_deref())?;
    let slides = collect_slides(&args.labelled)?;
    output.begin(slides.len());
    let split = args.by.is_some();
    let scores = score(&slides, &model, split, &Progress::silent(), || {
        output.step();
    })?;
    if args.json {
        output.json(&scores)?;
        return Ok(Outcome::Done);
    }
    output.line(&format!("{:44} {}", "model", scores.model))?;
    output.line(texts::scores::page(&scores.all).trim_end())?;
    for (condition, figures) in scores.by_condition.iter().flatten() {
        output.line(&format!("\n{condition}"))?;
        output.line(texts::scores::page(figures).trim_end())?;
    }
    Ok(Outcome::Done)
}
