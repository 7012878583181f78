//! `tailfan practice`: slides of settled stage, read without hints and timed.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::logbook::LogbookArg;
use crate::cli::output::Output;
use crate::cli::second::SlideCall;
use crate::records::rounds::PracticeRound;
use crate::statistics::agreement::Weighting;
use crate::texts;
use crate::texts::practice as words;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::practice::PracticeCall;
use crate::workflow::practice::PracticeInHand;
use crate::workflow::practice::USUAL_SLIDES;
use crate::workflow::practice::paint_practice;
use crate::workflow::practice::score::PracticeScore;
use crate::workflow::practice::score::Standard;
use crate::workflow::practice::score::score;
use crate::workflow::second::away::slides_folder;
use serde::Serialize;
use std::io;
use std::io::BufRead as _;
use std::path::PathBuf;
use std::time::Instant;

/// Read slides of settled stage without hints, timed, and learn from the mistakes
///
/// Each slide is named on standard error; its stage is one line on standard input.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Who practises
    #[arg(long, value_name = "NAME")]
    reader: String,
    /// Slides of the round
    #[arg(long, default_value_t = USUAL_SLIDES)]
    slides: usize,
    /// Painted slides with known truth, for a farm without settled ones
    #[arg(long)]
    painted: bool,
    /// Seed of the draw; of the clock if not given
    #[arg(long)]
    seed: Option<u64>,
    /// Lay the photos into this folder, under their numbers
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Show the rounds of this reader so far instead
    #[arg(long)]
    history: bool,
    /// Print one JSON object instead of a page
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    logbook: LogbookArg,
}

#[derive(Serialize)]
struct Ended<'a> {
    reader: &'a str,
    painted: bool,
    kept: bool,
    certificate: Option<&'a str>,
    #[serde(flatten)]
    score: &'a PracticeScore,
}

/// Reads a round and prints what came of it.
pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let mut session = match args.logbook.session() {
        Ok(session) => Some(session),
        Err(SessionError::NoLast | SessionError::NoConfig) if args.painted => None,
        Err(error) => return Err(error.into()),
    };
    let standard = match &session {
        Some(session) => session.practice_standard()?,
        None => Standard::default(),
    };
    if args.history {
        return history(args, session.as_ref(), output);
    }
    let seed = args
        .seed
        .unwrap_or_else(|| Session::now().utc_ms().unsigned_abs());
    let hand = match &session {
        Some(session) if !args.painted => {
            session.begin_practice(&args.reader, args.slides, seed)?
        }
        _ => {
            let progress = output.watch();
            let (reader, folder) = (&args.reader, slides_folder());
            let hand = paint_practice(reader, args.slides, seed, &folder, &progress)?;
            output.clear();
            hand
        }
    };
    let calls = read(&hand, args, output)?;
    if calls.is_empty() {
        output.say(&words::ended_early(0, hand.slides.len()))?;
        return Ok(Outcome::Refused);
    }
    if calls.len() < hand.slides.len() {
        output.say(&words::ended_early(calls.len(), hand.slides.len()))?;
    }
    let round = hand.ended(&calls, &standard);
    match &mut session {
        Some(session) => drop(session.keep_practice(&round)?),
        None => output.say(words::NOT_KEPT)?,
    }
    let found = score(&round, &standard);
    if args.json {
        output.json(&Ended {
            reader: &round.reader,
            painted: round.painted,
            kept: session.is_some(),
            certificate: round.certificate.as_deref(),
            score: &found,
        })?;
    } else {
        output.line(&page(&round, &found, &standard).join("\n"))?;
    }
    Ok(Outcome::Done)
}

/// One line a slide; a line that is no stage is asked for again.
fn read(hand: &PracticeInHand, args: &Args, output: &Output) -> Result<Vec<PracticeCall>, Failure> {
    output.say(&words::begins(hand.slides.len(), hand.painted))?;
    let mut lines = io::stdin().lock().lines();
    let mut calls = Vec::with_capacity(hand.slides.len());
    for (number, slide) in (1..).zip(&hand.slides) {
        for (at, photo) in (1..).zip(&slide.photos) {
            let place = match &args.out {
                Some(folder) => photo.lay_into(folder, number, at)?,
                None => photo.path.clone(),
            };
            let photo = place.display().to_string();
            output.say(&words::turn(number as usize, hand.slides.len(), &photo))?;
        }
        let begun = Instant::now();
        let call = loop {
            let Some(line) = lines.next() else {
                return Ok(calls);
            };
            let line = line?;
            match SlideCall::of(line.trim()) {
                Some(call) => break call.stage(),
                None => output.say(&words::not_a_stage(line.trim()))?,
            }
        };
        calls.push(PracticeCall {
            call,
            seconds: begun.elapsed().as_secs_f64(),
        });
    }
    Ok(calls)
}

fn page(round: &PracticeRound, found: &PracticeScore, standard: &Standard) -> Vec<String> {
    let mut lines = vec![words::head(
        &round.reader,
        found.slides,
        found.not_told,
        found.seconds,
        round.painted,
    )];
    let exact = found.agreement.exact;
    let exact = (exact.part, exact.low, exact.high);
    lines.push(texts::agreement::part(words::SAME_STAGE, exact));
    lines.extend(found.agreement.kappas.iter().map(|k| {
        let name = k.weighting.name();
        texts::agreement::kappa(name, k.value, k.low, k.high)
    }));
    for (name, of) in [
        (words::SOFT, found.soft_errors),
        (words::DUE, found.due_errors),
    ] {
        lines.push(words::errors(name, (of.part, of.low, of.high)));
    }
    if found.mistakes.is_empty() {
        lines.push(words::NO_MISTAKES.to_owned());
    }
    for of in &found.mistakes {
        let border = (of.soft_error, of.due_error);
        lines.push(words::mistake(of.number, of.truth, of.call, border));
        let key = words::criteria(of.truth);
        let called = of.call.map(words::criteria).unwrap_or_default();
        lines.extend(
            key.into_iter()
                .chain(called)
                .map(|line| format!("    {line}")),
        );
    }
    let of = standard;
    lines.push(words::standard(
        [of.slides, of.stages],
        [
            of.quadratic_kappa,
            of.soft_errors,
            of.due_errors,
            of.not_told,
        ],
    ));
    lines.extend(round.certificate.clone());
    lines
}

fn history(
    args: &Args,
    session: Option<&Session>,
    output: &mut Output,
) -> Result<Outcome, Failure> {
    let past = match session {
        Some(session) => session.practice_history(&args.reader)?,
        None => Vec::new(),
    };
    if past.is_empty() {
        output.say(words::NO_HISTORY)?;
    }
    for of in &past {
        let (round, found) = (&of.round.body, &of.score);
        let head = words::head(
            &round.reader,
            found.slides,
            found.not_told,
            found.seconds,
            round.painted,
        );
        let kappa = found.kappa(Weighting::Quadratic).map(|kappa| kappa.value);
        let reached = round.certificate.is_some();
        output.line(&words::past(&round.ended.date(), &head, kappa, reached))?;
    }
    Ok(Outcome::Done)
}
