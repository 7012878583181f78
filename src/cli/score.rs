//! `tailfan score`: how a model does on photos whose stage is known.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::progress::Progress;
use crate::texts;
use crate::workflow::labelled::collect_slides;
use crate::workflow::labelled::painted_slides;
use crate::workflow::reading::load_model;
use crate::workflow::scoring::Asked;
use crate::workflow::scoring::score;
use std::path::PathBuf;

/// Score a model on photos whose stage is known
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Folders with truth.jsonl, or tables with the columns photo,stage,animal,pond,reader,evidence
    #[arg(required_unless_present = "paint", value_name = "DIR|LABELS.csv")]
    labelled: Vec<PathBuf>,
    /// Paint the photos instead: so many of each stage under every condition
    #[arg(long, value_name = "N", conflicts_with = "labelled")]
    paint: Option<usize>,
    /// Seed of the painted photos; another one than that of the model's own
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Leave out tips near the border of their stage or with criteria that disagree
    #[arg(long)]
    clear: bool,
    /// The model file; else the shipped model
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
    /// Also a row for each condition
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
    let slides = match args.paint {
        Some(per_stage) => painted_slides(per_stage, args.seed),
        None => collect_slides(&args.labelled)?,
    };
    output.begin(slides.len());
    let asked = Asked {
        by_condition: args.by.is_some(),
        clear_only: args.clear,
    };
    let scores = score(&slides, &model, asked, &Progress::silent(), || {
        output.step();
    })?;
    if args.json {
        output.json(&scores)?;
        return Ok(Outcome::Done);
    }
    output.line(&format!("{:44} {}", "model", scores.model))?;
    output.line(texts::scores::page(&scores.all).trim_end())?;
    if let Some(conditions) = &scores.by_condition {
        output.line("")?;
        output.line(texts::scores::table(conditions).trim_end())?;
    }
    Ok(Outcome::Done)
}
