//! `tailfan agreement`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::logbook::LogbookArg;
use crate::cli::output::Output;
use crate::texts;
use crate::workflow::agreeing::Agreement;
use crate::workflow::agreeing::PairAgreement;
use crate::workflow::agreeing::Part;
use crate::workflow::agreeing::agree;
use clap::Args;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// How far readers agree who called the same animals
#[derive(Debug, Args)]
pub(in crate::cli) struct AgreementArgs {
    /// A CSV file with the columns animal,stage for each reader, two or more; without one the second
    /// calls of the logbook are compared with the first
    #[arg(num_args = 2.., value_name = "CALLS")]
    calls: Vec<PathBuf>,
    /// Print one JSON object instead of a page
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    logbook: LogbookArg,
}

/// Compares and prints.
pub(in crate::cli) fn run(args: &AgreementArgs, output: &mut Output) -> Result<Outcome, Failure> {
    if args.calls.is_empty() {
        return of_logbook(args, output);
    }
    let found = agree(&args.calls)?;
    if args.json {
        output.json(&found)?;
    } else {
        output.line(&page(&found))?;
    }
    Ok(Outcome::Done)
}

/// The readers of a logbook: first calls against second ones that were blind to them.
fn of_logbook(args: &AgreementArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let session = args.logbook.session()?;
    let pairs = session.readers_agreement()?;
    if args.json {
        output.json(&pairs)?;
        return Ok(Outcome::Done);
    }
    if pairs.is_empty() {
        output.say(texts::second::NO_PAIRS)?;
        return Ok(Outcome::Done);
    }
    let mut lines = Vec::new();
    let mut names = BTreeSet::new();
    for pair in &pairs {
        lines.extend(pair_lines(&pair.agreement));
        lines.push(texts::second::unread_apart(pair.unread_apart));
        lines.extend(pair.alike_in_daily_work.map(texts::second::daily_work));
        for of in &pair.months {
            let counts = [of.slides, of.alike, of.soft_apart, of.due_apart];
            lines.push(texts::second::month(&of.month, counts));
        }
        names.extend(pair.agreement.readers.iter().cloned());
    }
    lines.push(String::new());
    let settings = session.farm_limits()?.settings();
    for name in names {
        let known = session.known_truth(&[name.clone()].into())?;
        let counts = [known.by_days, known.by_settling, known.by_agreeing];
        lines.push(texts::second::known(
            &name,
            counts,
            known.is_enough(&settings),
        ));
    }
    lines.push(format!("\n{}", texts::agreement::NOTE));
    output.line(lines.join("\n").trim_start())?;
    Ok(Outcome::Done)
}

fn page(found: &Agreement) -> String {
    let mut lines = vec![format!(
        "{} animals called by all, {} left out",
        found.animals, found.left_out
    )];
    lines.extend(found.pairs.iter().flat_map(pair_lines));
    if let Some(all) = found.all {
        let fleiss = texts::agreement::fleiss(all.fleiss, all.low, all.high);
        lines.push(format!("\n{fleiss}"));
    }
    lines.push(format!("\n{}", texts::agreement::NOTE));
    lines.join("\n")
}

/// The figures of a pair of readers.
fn pair_lines(pair: &PairAgreement) -> Vec<String> {
    let part = |name, p: Part| {
        format!(
            "  {}",
            texts::agreement::part(name, (p.part, p.low, p.high))
        )
    };
    let mut lines = vec![
        format!("\n{} and {}", pair.readers[0], pair.readers[1]),
        part("same stage", pair.exact),
        part("within one stage", pair.within_one_stage),
    ];
    lines.extend(pair.kappas.iter().map(|k| {
        let name = k.weighting.name();
        format!(
            "  {}",
            texts::agreement::kappa(name, k.value, k.low, k.high)
        )
    }));
    lines.push(format!(
        "  apart on soft: {}, on due: {}",
        pair.soft_apart, pair.due_apart
    ));
    lines
}
