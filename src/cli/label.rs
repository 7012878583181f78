//! `tailfan label`: the labelled slides of the logbook.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::logbook::LogbookArg;
use crate::cli::output::Output;
use crate::moult::Stage;
use crate::records::words::Evidence;
use crate::records::words::Keeping;
use crate::texts;
use crate::workflow::farm_training::LabelOpinion;
use crate::workflow::farm_training::opinions_of_labels;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::holders::user;
use crate::workflow::logbook::labels::Known;
use crate::workflow::logbook::labels::LabelledSlide;
use crate::workflow::logbook::samples::AnimalInHand;
use clap::Subcommand;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Label slides for training, list the labels, withdraw one
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum EvidenceArg {
    /// The reader's own call
    OwnCall,
    /// A second call that agreed or was settled
    Settled,
    /// Known days since a seen moult, with --days
    KnownDays,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Order {
    /// As they were given
    Oldest,
    /// Those first that the program, trained without them, believes least
    Surprising,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Make labels of the called animals of a sample
    Add {
        /// The sample: the beginning of its id, or POND@DATE
        sample: String,
        /// Only these animals
        #[arg(long, value_name = "NAME")]
        animal: Vec<String>,
        /// How the stage is known
        #[arg(long, value_enum, default_value = "own-call")]
        evidence: EvidenceArg,
        /// Days since the moult that was seen
        #[arg(long, value_name = "DAYS")]
        days: Option<f64>,
        /// Who says so
        #[arg(long, value_name = "NAME")]
        reader: Option<String>,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Take in a table of labels (photo,stage,animal,pond,reader,evidence) with its photos
    Import {
        /// The table; photos are named relative to its folder
        table: PathBuf,
        /// Leave the photos where they lie
        #[arg(long)]
        link: bool,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// List the labels
    List {
        /// Only those of this stage
        #[arg(long)]
        stage: Option<Stage>,
        /// Only those of this pond
        #[arg(long)]
        pond: Option<String>,
        /// Only those by this reader
        #[arg(long)]
        reader: Option<String>,
        /// What comes first
        #[arg(long, value_enum, default_value = "oldest")]
        first: Order,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Withdraw a label; it stays in the logbook with the reason
    Withdraw {
        /// The label: the beginning of its id
        label: String,
        /// Why
        #[arg(long, value_name = "REASON")]
        because: String,
        #[command(flatten)]
        logbook: LogbookArg,
    },
}

/// Does it and says what was done.
pub(in crate::cli) fn run(args: Args, output: &mut Output) -> Result<Outcome, Failure> {
    match args.command {
        Command::Add {
            sample,
            animal,
            evidence,
            days,
            reader,
            logbook,
        } => {
            let known = match (evidence, days) {
                (EvidenceArg::OwnCall, _) => Known::OwnCall,
                (EvidenceArg::Settled, _) => Known::Settled,
                (EvidenceArg::KnownDays, Some(days)) => Known::DaysSinceMoult(days),
                (EvidenceArg::KnownDays, None) => {
                    return Err(Failure::misuse(NO_DAYS, DAYS_HINT));
                }
            };
            let mut session = Session::open_or_last(logbook.file(), &reader.unwrap_or_else(user))?;
            let sample = session.find_sample(&sample)?.thing();
            add(&mut session, sample, &animal, known, output)
        }
        Command::Import {
            table,
            link,
            logbook,
        } => {
            let keeping = if link {
                Keeping::Linked
            } else {
                Keeping::Copied
            };
            let taken = logbook.session()?.import_labels(&table, keeping)?;
            let words = texts::labels::taken(taken.labels, taken.photos, taken.already);
            output.line(&words)?;
            Ok(Outcome::Done)
        }
        Command::List {
            stage,
            pond,
            reader,
            first,
            logbook,
        } => {
            let mut session = logbook.session()?;
            let mut slides = session.labelled_slides()?;
            slides.retain(|slide| {
                let body = &slide.label.body;
                stage.is_none_or(|stage| stage == body.stage)
                    && pond.as_ref().is_none_or(|pond| *pond == slide.pond)
                    && reader.as_ref().is_none_or(|reader| *reader == body.reader)
            });
            list(&mut session, slides, first, output)
        }
        Command::Withdraw {
            label,
            because,
            logbook,
        } => {
            let mut session = logbook.session()?;
            let label = session.find_label(&label)?;
            session.withdraw_label(label, &because)?;
            output.line(&label.to_string())?;
            Ok(Outcome::Done)
        }
    }
}

const NO_DAYS: &str = "no days since the moult";
const DAYS_HINT: &str = "say how many days ago the moult was seen, such as --days 2.5";

fn add(
    session: &mut Session,
    sample: crate::records::ids::SampleId,
    only: &[String],
    known: Known,
    output: &mut Output,
) -> Result<Outcome, Failure> {
    let (written, refused) = if only.is_empty() {
        session.label_sample(sample, known)?
    } else {
        let hand = session.sample_in_hand(sample)?;
        let named = |of: &&AnimalInHand| only.contains(&of.animal.body.name);
        let animals: Vec<_> = hand
            .animals
            .iter()
            .filter(named)
            .map(AnimalInHand::id)
            .collect();
        session.label_called(&animals, known)?
    };
    for (animal, why) in &refused {
        let why = texts::labels::NO_LABEL[*why as usize];
        output.say(&texts::labels::not_labelled(animal, why))?;
    }
    output.line(&texts::labels::labelled(written, refused.len()))?;
    Ok(if refused.is_empty() {
        Outcome::Done
    } else {
        Outcome::Refused
    })
}

fn list(
    session: &mut Session,
    mut slides: Vec<LabelledSlide>,
    first: Order,
    output: &mut Output,
) -> Result<Outcome, Failure> {
    let mut opinions = BTreeMap::new();
    if matches!(first, Order::Surprising) {
        opinions = opinions_of_labels(session, &output.watch())?;
        output.clear();
        let of = |slide: &LabelledSlide| {
            let known: Option<&LabelOpinion> = opinions.get(&slide.label.thing());
            known.map_or(2.0, |opinion| opinion.of_label)
        };
        slides.sort_by(|a, b| of(a).total_cmp(&of(b)));
    }
    for slide in &slides {
        let body = &slide.label.body;
        let opinion = opinions.get(&slide.label.thing());
        let opinion = opinion.map_or_else(String::new, |o: &LabelOpinion| {
            texts::labels::opinion(o.of_label, o.likeliest.code(), o.of_likeliest)
        });
        let photo = slide.photos.first();
        let cells = [
            slide.label.thing().to_string(),
            body.stage.code().to_owned(),
            slide.pond.clone(),
            slide.animal.clone(),
            photo.map_or_else(String::new, |photo| photo.body.name.clone()),
            body.reader.clone(),
            evidence(body.evidence).to_owned(),
            opinion,
        ];
        output.line(cells.join("\t").trim_end())?;
    }
    Ok(Outcome::Done)
}

const fn evidence(evidence: Evidence) -> &'static str {
    texts::labels::evidence(evidence)
}
