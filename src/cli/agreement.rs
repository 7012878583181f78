//! `tailfan agreement`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::texts;
use crate::workflow::agreeing::Agreement;
use crate::workflow::agreeing::Part;
use crate::workflow::agreeing::agree;
use clap::Args;
use std::path::PathBuf;

/// How far readers agree who called the same animals
#[derive(Debug, Args)]
pub(in crate::cli) struct AgreementArgs {
    /// A CSV file with the columns animal,stage for each reader, two or more
    #[arg(required = true, num_args = 2.., value_name = "CALLS")]
    calls: Vec<PathBuf>,
    /// Print one JSON object instead of a page
    #[arg(long)]
    json: bool,
}

/// Compares and prints.
pub(in crate::cli) fn run(args: &AgreementArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let found = agree(&args.calls)?;
    if args.json {
        output.json(&found)?;
    } else {
        output.line(&page(&found))?;
    }
    Ok(Outcome::Done)
}

fn page(found: &Agreement) -> String {
    let part = |name, p: Part| {
        format!(
            "  {}",
            texts::agreement::part(name, (p.part, p.low, p.high))
        )
    };
    let mut lines = vec![format!(
        "{} animals called by all, {} left out",
        found.animals, found.left_out
    )];
    for pair in &found.pairs {
        lines.push(format!("\n{} and {}", pair.readers[0], pair.readers[1]));
        lines.push(part("same stage", pair.exact));
        lines.push(part("within one stage", pair.within_one_stage));
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
    }
    if let Some(all) = found.all {
        let fleiss = texts::agreement::fleiss(all.fleiss, all.low, all.high);
        lines.push(format!("\n{fleiss}"));
    }
    lines.push(format!("\n{}", texts::agreement::NOTE));
    lines.join("\n")
}
