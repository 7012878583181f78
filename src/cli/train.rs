//! `tailfan train`: labelled photos to a model file.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::logbook::LogbookArg;
use crate::cli::output::Output;
use crate::moult::Stage;
use crate::progress::Progress;
use crate::stage::fitting::Settings;
use crate::stage::fitting::Source;
use crate::stage::model::shipped;
use crate::texts;
use crate::workflow::farm_training::DEFAULT_SHARE;
use crate::workflow::farm_training::FarmTraining;
use crate::workflow::farm_training::Wishes;
use crate::workflow::farm_training::painted_beside;
use crate::workflow::farm_training::train_and_compare;
use crate::workflow::farm_training::train_on_labels;
use crate::workflow::labelled::collect_slides;
use crate::workflow::labelled::measure_slides;
use crate::workflow::labelled::painted_slides;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::holders::user;
use crate::workflow::logbook::models::save_with_card;
use crate::workflow::painted_rows::PaintedStore;
use crate::workflow::training::DEFAULT_PENALTY;
use crate::workflow::training::rows;
use crate::workflow::training::train;
use std::path::Path;
use std::path::PathBuf;

/// Train a model on photos whose stage is known
///
/// Photos come from folders and tables, or from the labels of the logbook. Whole animals, and whole
/// ponds where there are three or more, are left out in turn to judge the model; then it is compared
/// with the model in use on the same animals.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Folders with truth.jsonl, or tables with the columns photo,stage,animal,pond,reader,evidence
    #[arg(required_unless_present_any = ["paint", "labels"], value_name = "DIR|LABELS.csv")]
    labelled: Vec<PathBuf>,
    /// Take the labels of the logbook; the model is kept there too
    #[arg(long, conflicts_with = "labelled")]
    labels: bool,
    /// Paint photos: so many of each stage under every condition, alone or beside labelled ones
    #[arg(long, value_name = "N")]
    paint: Option<usize>,
    /// Part of a stage's weight that labelled photos carry beside painted ones, 0 to 1
    #[arg(long, value_name = "SHARE", default_value_t = DEFAULT_SHARE, value_parser = share)]
    own_share: f64,
    /// The model file to write; its card is written beside it
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Seed: the same photos and seed give the same bytes
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Penalty of the fit: larger is smoother; chosen within the training parts unless given
    #[arg(long)]
    penalty: Option<f64>,
    #[command(flatten)]
    logbook: LogbookArg,
}

/// Trains, writes the model, and says how it does on what it has not seen.
pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    match (args.labels, args.labelled.is_empty(), args.paint) {
        (false, true, Some(per_stage)) => train_on_painted(args, per_stage, output),
        (true, ..) => train_on_logbook(args, output),
        _ => train_on_files(args, output),
    }
}

fn train_on_painted(
    args: &Args,
    per_stage: usize,
    output: &mut Output,
) -> Result<Outcome, Failure> {
    let slides = painted_slides(per_stage, args.seed);
    output.begin(slides.len());
    let settings = Settings {
        name: name_of(&args.out),
        penalty: args.penalty.unwrap_or(DEFAULT_PENALTY),
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

fn train_on_logbook(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let mut session = Session::open_or_last(args.logbook.file(), &user())?;
    let store = PaintedStore::of_user();
    let progress = output.watch();
    let (trained, own) = train_on_labels(&mut session, &wishes(args), &store, &progress, || {})?;
    output.clear();
    if !own.refused.is_empty() {
        output.say(&texts::training::refused(own.refused.len()))?;
    }
    if !own.missing.is_empty() {
        output.say(&texts::training::missing(own.missing.len()))?;
    }
    tell(args, &trained, output)
}

fn train_on_files(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let slides = collect_slides(&args.labelled)?;
    let progress = output.watch();
    let measured = measure_slides(&slides, &progress, || {})?;
    let painted = painted_beside(&wishes(args), &PaintedStore::of_user(), &progress, || {})?;
    let (rows, refused) = rows(&measured, Source::Own);
    let in_use = shipped()?;
    let trained = train_and_compare(&rows, &refused, painted, &in_use, &wishes(args), &progress)?;
    output.clear();
    if !refused.is_empty() {
        output.say(&texts::training::refused(refused.len()))?;
    }
    tell(args, &trained, output)
}

fn wishes(args: &Args) -> Wishes {
    Wishes {
        name: name_of(&args.out),
        seed: args.seed,
        share: args.own_share,
        penalty: args.penalty,
        painted: args.paint.unwrap_or(0),
        command: command(args),
    }
}

/// Writes the model and its card, and says what came of it.
fn tell(args: &Args, trained: &FarmTraining, output: &mut Output) -> Result<Outcome, Failure> {
    let model = &trained.fitted.model;
    let card = save_with_card(model, &args.out)?;
    let of = &model.training;
    if let Some(own) = &of.own {
        let by = &of.left_out_by;
        let basis = texts::training::rests_on(own.photos, own.animals, own.ponds, by);
        output.line(&basis)?;
    }
    let lacking: Vec<Stage> = Stage::PROPOSED
        .into_iter()
        .filter(|stage| !model.stages.contains(stage))
        .collect();
    if !lacking.is_empty() {
        output.line(&texts::training::without_labels(&lacking))?;
    }
    output.line(texts::scores::page(&of.left_out).trim_end())?;
    output.line("")?;
    for gain in &trained.fitted.gains {
        output.line(&texts::training::gain(gain))?;
    }
    output.line(&texts::training::most_helpful(&trained.fitted.gains))?;
    output.line("")?;
    let id = model.id();
    let names = [trained.in_use.as_str(), &id];
    let page = texts::training::page(&trained.comparison, names, trained.seen_before);
    output.line(page.trim_end())?;
    output.say(&texts::labels::model_written(&args.out, &card))?;
    Ok(Outcome::Done)
}

/// A share between 0 and 1.
fn share(text: &str) -> Result<f64, String> {
    let share = text.parse().ok();
    share
        .filter(|share| (0.0..=1.0).contains(share))
        .ok_or_else(|| texts::training::NO_SHARE.to_owned())
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
    if args.labels {
        words.push("--labels".to_owned());
    }
    if let Some(per_stage) = args.paint {
        words.push(format!("--paint {per_stage}"));
    }
    let alone = args.labelled.is_empty() && !args.labels;
    if !alone && args.paint.is_some() {
        words.push(format!("--own-share {}", args.own_share));
    }
    words.push(format!("--seed {}", args.seed));
    let penalty = args.penalty.or_else(|| alone.then_some(DEFAULT_PENALTY));
    if let Some(penalty) = penalty {
        words.push(format!("--penalty {penalty}"));
    }
    words.push(format!("--out {}", args.out.display()));
    words.join(" ")
}
