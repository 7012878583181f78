//! `tailfan train`: labelled photos to a model file.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::progress::Progress;
use crate::stage::fitting::Settings;
use crate::texts;
use crate::workflow::labelled::Slide;
use crate::workflow::labelled::collect_slides;
use crate::workflow::labelled::painted_slides;
use crate::workflow::training::DEFAULT_PENALTY;
use crate::workflow::training::train;
use std::path::Path;
use std::path::PathBuf;

/// Train a model on photos whose stage is known
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Folders with truth.jsonl, or tables with the columns photo,stage,animal,pond,reader,evidence
    #[arg(required_unless_present = "paint", value_name = "DIR|LABELS.csv")]
    labelled: Vec<PathBuf>,
    /// Paint the photos instead: so many of each stage under every condition
    #[arg(long, value_name = "N", conflicts_with = "labelled")]
    paint: Option<usize>,
    /// The model file to write
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Seed: the same photos and seed give the same bytes
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Penalty of the fit: larger is smoother
    #[arg(long, default_value_t = DEFAULT_PENALTY)]
    penalty: f64,
}

/// Trains, writes the model, and says how it does on conditions it has not seen.
pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let slides: Vec<Slide> = match args.paint {
        Some(per_stage) => painted_slides(per_stage, args.seed),
        None => collect_slides(&args.labelled)?,
    };
    output.begin(slides.len());
    let settings = Settings {
        name: name_of(&args.out),
        penalty: args.penalty,
        seed: args.seed,
        command: command(args),
    };
    let fitted = train(&slides, &settings, &args.out, &Progress::silent(), || {
        output.step();
    })?;
    let model = &fitted.model;
    let of = &model.training;
    output.line(&format!(
        "{} photos of {} animals; scores on what was left out by {}:",
        of.counts.values().sum::<usize>() + of.between,
        of.animals,
        of.left_out_by
    ))?;
    output.line(texts::scores::page(&of.left_out).trim_end())?;
    output.say(&format!("{} in {}", model.id(), args.out.display()))?;
    Ok(Outcome::Done)
}

/// The file's name without its ending.
fn name_of(out: &Path) -> String {
    out.file_stem()
        .map_or_else(String::new, |stem| stem.to_string_lossy().into_owned())
}

/// The command that makes the model again.
fn command(args: &Args) -> String {
    let mut words = vec!["tailfan train".to_owned()];
    for labelled in &args.labelled {
        words.push(labelled.display().to_string());
    }
    if let Some(per_stage) = args.paint {
        words.push(format!("--paint {per_stage}"));
    }
    words.push(format!(
        "--seed {} --penalty {} --out {}",
        args.seed,
        args.penalty,
        args.out.display()
    ));
    words.join(" ")
}
