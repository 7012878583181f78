//! `tailfan second`: slides read again by somebody who has not seen the first call.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::logbook::LogbookArg;
use crate::cli::output::Output;
use crate::moult::Stage;
use crate::records::rounds::BlindCall;
use crate::records::words::Unread;
use crate::texts;
use crate::units::Probability;
use crate::workflow::logbook::Session;
use crate::workflow::second::away::BlindPhotoInHand;
use crate::workflow::second::away::open_blind;
use crate::workflow::second::rounds::RoundPlan;
use crate::workflow::second::rounds::TakenCalls;
use crate::workflow::second::rounds::seed_of;
use clap::Subcommand;
use std::io;
use std::io::BufRead as _;
use std::path::Path;
use std::path::PathBuf;

/// Have slides read again, blind, by a second reader: here or by a file that is sent away
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Draw the marked slides and a share of the clear ones for a reader, here or into a file
    Send {
        /// The samples: the beginning of an id, or POND@DATE
        #[arg(required = true, value_name = "SAMPLE")]
        samples: Vec<String>,
        /// Who is to read; not who called first
        #[arg(long, value_name = "NAME")]
        to: String,
        /// The file to send, such as heron-4.zip; without it the round is read at this desk
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
        /// Share of the clear slides to be mixed in, per cent
        #[arg(long, value_name = "PERCENT", default_value_t = 10.0)]
        clear: f64,
        /// Seed of the draw and of the order; of the samples and the reader if not given
        #[arg(long)]
        seed: Option<u64>,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Call the slides of a file or of a round, as lines of number,stage on standard input
    Read {
        /// The file that was sent, or the beginning of the id of a round at this desk
        #[arg(value_name = "FILE|ROUND")]
        what: PathBuf,
        /// Lay the photos into this folder, under their shuffled numbers
        #[arg(long, value_name = "DIR")]
        photos: Option<PathBuf>,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// Take the answer of a reader elsewhere into the logbook; twice does no harm
    Take {
        /// The answer
        answer: PathBuf,
        #[command(flatten)]
        logbook: LogbookArg,
    },
    /// List the slides on which two readers differ, or settle one
    Settle {
        /// The animal, by the beginning of its id
        #[arg(requires = "stage")]
        animal: Option<String>,
        /// The stage that stands, or unread
        #[arg(requires = "because")]
        stage: Option<String>,
        /// Why it stands
        #[arg(long, value_name = "WORDS")]
        because: Option<String>,
        #[command(flatten)]
        logbook: LogbookArg,
    },
}

/// Does it and says what was done.
pub(in crate::cli) fn run(args: Args, output: &mut Output) -> Result<Outcome, Failure> {
    match args.command {
        Command::Send {
            samples,
            to,
            out,
            clear,
            seed,
            logbook,
        } => {
            let share = Probability::new(clear / 100.0)?;
            let mut session = logbook.session()?;
            let plan = plan(&session, &samples, &to, share, seed)?;
            send(&mut session, &plan, out.as_deref(), output)
        }
        Command::Read {
            what,
            photos,
            logbook,
        } if what.is_file() => {
            drop(logbook);
            read_file(&what, photos.as_deref(), output)
        }
        Command::Read {
            what,
            photos,
            logbook,
        } => {
            let mut session = logbook.session()?;
            read_round(
                &mut session,
                &what.to_string_lossy(),
                photos.as_deref(),
                output,
            )
        }
        Command::Take { answer, logbook } => {
            let mut session = logbook.session()?;
            let (_, taken) = session.take_answer(&answer)?;
            tell(&taken, &session, output)
        }
        Command::Settle {
            animal,
            stage,
            because,
            logbook,
        } => settle(&mut logbook.session()?, animal.zip(stage), because, output),
    }
}

fn plan(
    session: &Session,
    samples: &[String],
    to: &str,
    clear_share: Probability,
    seed: Option<u64>,
) -> Result<RoundPlan, Failure> {
    let mut ids = Vec::with_capacity(samples.len());
    for sample in samples {
        ids.push(session.find_sample(sample)?.thing());
    }
    let own = ids.first().map_or(0, |sample| seed_of(*sample, to));
    Ok(RoundPlan {
        samples: ids,
        reader: to.to_owned(),
        clear_share,
        seed: seed.unwrap_or(own),
    })
}

fn send(
    session: &mut Session,
    plan: &RoundPlan,
    out: Option<&Path>,
    output: &mut Output,
) -> Result<Outcome, Failure> {
    let reader = plan.reader.trim();
    if let Some(file) = out {
        let sent = session.send_round(plan, file, &output.watch())?;
        output.clear();
        output.line(&file.display().to_string())?;
        output.say(&texts::second::drawn(reader, sent.slides, sent.marked))?;
        output.say(texts::second::SEND_IT)?;
    } else {
        let id = session.begin_round(plan)?;
        let round = session.round_in_hand(id)?.round.body;
        output.line(&id.to_string())?;
        let (slides, marked) = (round.slides.len(), round.marked as usize);
        output.say(&texts::second::drawn(reader, slides, marked))?;
        output.say(&texts::second::read_here(&id.to_string()))?;
    }
    Ok(Outcome::Done)
}

fn read_file(file: &Path, photos: Option<&Path>, output: &mut Output) -> Result<Outcome, Failure> {
    let folder = crate::workflow::second::away::slides_folder();
    let mut hand = open_blind(file, &folder)?;
    for slide in &hand.slides {
        show(slide.number, &slide.photos, photos, output)?;
    }
    output.say(texts::second::HOW_TO_CALL)?;
    let outcome = each_call(output, |call| Ok(hand.call(call)?))?;
    output.say(&texts::second::so_far(
        hand.calls().len(),
        hand.slides.len(),
    ))?;
    if !hand.calls().is_empty() {
        output.say(&texts::second::answer_lies(
            &hand.answer.display().to_string(),
        ))?;
    }
    Ok(outcome)
}

fn read_round(
    session: &mut Session,
    given: &str,
    photos: Option<&Path>,
    output: &mut Output,
) -> Result<Outcome, Failure> {
    let round = session.find_round(given)?;
    let id = round.thing();
    for slide in session.round_slides(&round.body)? {
        show(slide.number, &slide.photos, photos, output)?;
    }
    output.say(texts::second::HOW_TO_CALL)?;
    let outcome = each_call(output, |call| {
        session.take_second_calls(id, &[call])?;
        Ok(())
    })?;
    let called = session.round_in_hand(id)?.called.len();
    output.say(&texts::second::so_far(called, round.body.slides.len()))?;
    Ok(outcome)
}

/// Prints where the photos of a slide lie, copied under their numbers where a folder is named.
fn show(
    number: u32,
    photos: &[BlindPhotoInHand],
    folder: Option<&Path>,
    output: &mut Output,
) -> Result<(), Failure> {
    for (at, photo) in (1..).zip(photos) {
        let Some(folder) = folder else { continue };
        let place = photo.lay_into(folder, number, at)?;
        output.line(&texts::second::slide(number, &place.display().to_string()))?;
    }
    Ok(())
}

/// Takes lines of number,stage; one that cannot be used is told and makes the exit 1.
fn each_call(
    output: &Output,
    mut take: impl FnMut(BlindCall) -> Result<(), Failure>,
) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::Done;
    for (number, line) in (1..).zip(io::stdin().lock().lines()) {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        if let Some(call) = call_of(&line) {
            take(call)?;
        } else {
            outcome = Outcome::Refused;
            let said = texts::second::bad_line(number, line.trim());
            output.say(&texts::logbook::refused(&said))?;
        }
    }
    Ok(outcome)
}

fn call_of(line: &str) -> Option<BlindCall> {
    let mut parts = line.splitn(3, ',').map(str::trim);
    let number = parts.next()?.parse().ok()?;
    let stage = SlideCall::of(parts.next()?)?.stage();
    let note = parts.next().filter(|note| !note.is_empty());
    Some(BlindCall {
        number,
        stage,
        unread_because: stage.is_none().then_some(Unread::Refused),
        called: Session::now(),
        note: note.map(str::to_owned),
    })
}

/// What a line says of a slide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::cli) enum SlideCall {
    /// It is in this stage.
    Stage(Stage),
    /// It cannot be read, or told.
    Unread,
}

impl SlideCall {
    /// A stage or `unread`; absent for anything else.
    pub(in crate::cli) fn of(text: &str) -> Option<Self> {
        if text.eq_ignore_ascii_case("unread") {
            return Some(Self::Unread);
        }
        text.parse().ok().map(Self::Stage)
    }

    /// The stage; absent when unread.
    pub(in crate::cli) const fn stage(self) -> Option<Stage> {
        match self {
            Self::Stage(stage) => Some(stage),
            Self::Unread => None,
        }
    }
}

fn tell(taken: &TakenCalls, session: &Session, output: &mut Output) -> Result<Outcome, Failure> {
    output.line(&texts::second::taken(taken.new, taken.changed, taken.known))?;
    let open = session.disagreements()?.len();
    output.say(&texts::second::waiting(open))?;
    Ok(Outcome::Done)
}

fn settle(
    session: &mut Session,
    which: Option<(String, String)>,
    because: Option<String>,
    output: &mut Output,
) -> Result<Outcome, Failure> {
    let open = session.disagreements()?;
    let Some((animal, stage)) = which else {
        for of in &open {
            let (animal, place) = session.animal_in_words(of.pair.animal)?;
            let id = of.pair.animal.to_string();
            output.line(&texts::second::disagreement(
                [&id, &place, &animal.body.name],
                [
                    (&of.pair.first_reader, of.pair.first),
                    (&of.pair.second_reader, of.pair.second),
                ],
                (of.on_soft, of.on_due),
            ))?;
        }
        output.say(&texts::second::waiting(open.len()))?;
        return Ok(Outcome::Done);
    };
    let wanted = animal.trim().to_ascii_lowercase();
    let mut named = open
        .iter()
        .filter(|of| of.pair.animal.to_string().starts_with(&wanted));
    let (Some(of), None) = (named.next(), named.next()) else {
        return Err(Failure::misuse(
            texts::second::NOT_ONE_ANIMAL,
            texts::second::NAME_ONE,
        ));
    };
    let Some(stage) = SlideCall::of(&stage).map(SlideCall::stage) else {
        return Err(Failure::misuse(
            texts::second::NO_STAGE,
            texts::second::NAME_STAGE,
        ));
    };
    session.settle_second(&of.pair, stage, &because.unwrap_or_default())?;
    let name = session.animal(of.pair.animal)?.body.name;
    output.line(&texts::second::settled(&name, stage))?;
    Ok(Outcome::Done)
}
