//! `tailfan model`: the farm's models in the logbook.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::logbook::LogbookArg;
use crate::cli::output::Output;
use crate::texts;
use crate::workflow::drift::Changed;
use crate::workflow::drift::drift;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::models::model_id;
use crate::workflow::own_scores::ENOUGH_TO_REPLACE;
use crate::workflow::own_scores::own_scores;
use crate::workflow::reading_again::read_again;
use clap::Subcommand;
use std::path::PathBuf;

/// The farm's models: list them, put one into use, go back, export, import, read a sample again
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// List the models, and which one is in use
    List {
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Put a model into use: the beginning of its name, or "shipped"
    Use {
        /// The model
        model: String,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Put the model into use again that was in use before
    Back {
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Write a model file and its card
    Export {
        /// The model: the beginning of its name, or "shipped"
        model: String,
        /// The file
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Take in a model file
    Import {
        /// The file
        file: PathBuf,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Read a sample again with the model in use; calls stay as they are
    ReadAgain {
        /// The sample: the beginning of its id, or POND@DATE
        sample: String,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// How the model in use does on the farm's own slides, and how often readers change its proposals
    Watch {
        #[command(flatten)]
        logbook: LogbookArg,
    },
}

/// Says that the shipped model is meant.
const SHIPPED: &str = "shipped";

/// Does it and says what was done.
pub(in crate::cli) fn run(args: Args, output: &mut Output) -> Result<Outcome, Failure> {
    match args.command {
        Command::List { logbook } => list(&logbook.session()?, output)?,
        Command::Use { model, logbook } => {
            let mut session = logbook.session()?;
            let id = match model.as_str() {
                SHIPPED => None,
                name => Some(session.find_model(name)?.thing()),
            };
            session.use_model(id, Some(texts::labels::ADOPTED))?;
            output.line(&texts::labels::in_use(&session.model_now()?.id()))?;
        }
        Command::Back { logbook } => {
            let mut session = logbook.session()?;
            session.go_back_to_model_before()?;
            output.line(&texts::labels::in_use(&session.model_now()?.id()))?;
        }
        Command::Export {
            model,
            out,
            logbook,
        } => {
            let session = logbook.session()?;
            let id = match model.as_str() {
                SHIPPED => None,
                name => Some(session.find_model(name)?.thing()),
            };
            let card = session.export_model(id, &out)?;
            output.line(&texts::labels::model_written(&out, &card))?;
        }
        Command::Import { file, logbook } => {
            let mut session = logbook.session()?;
            let id = session.take_model(&file)?;
            let models = session.models()?;
            let kept = models.iter().find(|kept| kept.thing() == id);
            output.line(&kept.map_or_else(String::new, |kept| model_id(&kept.body)))?;
        }
        Command::ReadAgain { sample, logbook } => {
            let mut session = logbook.session()?;
            let sample = session.find_sample(&sample)?.thing();
            let (written, changed) = read_again(&mut session, sample, &output.watch())?;
            output.clear();
            output.line(&texts::labels::read_again(written, changed))?;
        }
        Command::Watch { logbook } => watch(&logbook.session()?, output)?,
    }
    Ok(Outcome::Done)
}

fn list(session: &Session, output: &mut Output) -> Result<(), Failure> {
    let now = session.model_now()?.id();
    for kept in session.models()? {
        let written = kept.head.written_at.date_and_hour();
        output.line(&format!("{}\t{written}", model_id(&kept.body)))?;
    }
    if let Some(why) = session.outdated_model()? {
        output.say(&why)?;
    }
    output.line(&texts::labels::in_use(&now))
}

fn watch(session: &Session, output: &mut Output) -> Result<(), Failure> {
    let own = own_scores(session)?;
    output.line(&texts::training::own_slides(
        own.photos,
        own.exact,
        own.soft_errors,
        own.due_errors,
    ))?;
    if !own.enough {
        let words = texts::training::own_slides_so_far(own.photos, ENOUGH_TO_REPLACE);
        output.line(&words)?;
    }
    let drift = drift(session, Session::now())?;
    output.line(texts::training::DRIFT)?;
    let mut line = |name: &str, of: Changed| {
        let share = of.share();
        let share = share.map(|(share, around)| (share, around.low.get(), around.high.get()));
        output.line(&texts::training::changed(name, of.calls, share))
    };
    let [all, earlier, nameless] = texts::training::DRIFT_NAMES;
    line(all, drift.recent)?;
    line(earlier, drift.earlier)?;
    for (stage, of) in &drift.by_stage {
        line(stage.code(), *of)?;
    }
    for (name, of) in &drift.by_microscope {
        line(if name.is_empty() { nameless } else { name }, *of)?;
    }
    Ok(())
}
