//! `tailfan cycle`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::cli::own::arcs;
use crate::cli::own::zone;
use crate::cycle::arcs::StageArcs;
use crate::cycle::length::Conditions;
use crate::cycle::length::Q10;
use crate::cycle::species::Species;
use crate::texts;
use crate::units::Days;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::moments::PondClock;
use crate::workflow::own_cycle::OwnLength;
use crate::workflow::own_cycle::PublishedLength;
use crate::workflow::own_cycle::own_length;
use crate::workflow::own_cycle::published_length;
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

/// How long the cycle lasts: from published lengths carried to a pond's conditions, and by its own dated samples
#[derive(Debug, Args)]
pub(in crate::cli) struct CycleArgs {
    /// CSV file of a pond's earlier calls, with the columns netted,stage: one line an animal
    #[arg(long, value_name = "FILE")]
    samples: Option<PathBuf>,
    /// The species: vannamei, monodon, stylirostris, setiferus or japonicus
    #[arg(long, requires = "weight")]
    species: Option<Species>,
    /// Mean weight of an animal
    #[arg(
        long,
        value_name = "GRAMS",
        allow_negative_numbers = true,
        requires = "water"
    )]
    weight: Option<f64>,
    /// Daily mean of the water
    #[arg(
        long,
        value_name = "CELSIUS",
        allow_negative_numbers = true,
        requires = "species"
    )]
    water: Option<f64>,
    /// How much faster the cycle runs 10 degrees warmer: 1 to 3
    #[arg(long, value_name = "FACTOR")]
    q10: Option<f64>,
    /// Time zone of the pond, such as Asia/Ho_Chi_Minh
    #[arg(long, value_name = "ZONE", value_parser = zone)]
    zone: Option<PondClock>,
    /// How long A, B, C, D0, D1, D2, D3 and D4 last in this pond: eight numbers, in any unit
    #[arg(long, value_name = "A,B,C,D0,D1,D2,D3,D4", value_parser = arcs)]
    arcs: Option<StageArcs>,
    /// Print one JSON object instead of a page
    #[arg(long)]
    json: bool,
}

/// What was found.
#[derive(Debug, Serialize)]
struct Found {
    from_published: Option<PublishedLength>,
    own: Option<OwnLength>,
}

/// Looks up and estimates; where no length can be given that is an answer, and the command ends as
/// refused.
pub(in crate::cli) fn run(args: CycleArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let q10 = args.q10.map_or_else(|| Ok(Q10::published()), Q10::new)?;
    let conditions = args.species.zip(args.weight).zip(args.water);
    let published = conditions
        .map(|((species, weight), water)| {
            published_length(Conditions {
                species,
                weight: Grams::new(weight),
                water: DegreesCelsius::new(water),
                q10,
                own: None,
            })
        })
        .transpose()?;
    if published.is_none() && args.samples.is_none() {
        return Err(Failure::misuse(
            "nothing to go by",
            "give --species, --weight and --water, or --samples FILE, or both",
        ));
    }
    let expected = published.as_ref().and_then(|p| p.days).map(Days::new);
    let usual = args
        .species
        .map_or_else(StageArcs::published, Species::arcs);
    let arcs = args.arcs.unwrap_or(usual);
    let own = args
        .samples
        .as_deref()
        .map(|file| own_length(file, args.zone.as_ref(), &arcs, expected))
        .transpose()?;
    let refused = |found: Option<&Option<String>>| found.is_some_and(Option::is_some);
    let outcome = if refused(published.as_ref().map(|p| &p.refused))
        || refused(own.as_ref().map(|o| &o.refused))
    {
        Outcome::Refused
    } else {
        Outcome::Done
    };
    let found = Found {
        from_published: published,
        own,
    };
    if args.json {
        output.json(&found)?;
    } else {
        output.line(page(&found).trim_end())?;
    }
    Ok(outcome)
}

fn page(found: &Found) -> String {
    let mut lines = Vec::new();
    if let Some(published) = &found.from_published {
        lines.push(texts::cycle::published(
            published.days,
            published.refused.as_deref(),
        ));
        lines.extend(published.warnings.iter().map(|w| texts::cycle::careful(w)));
    }
    if let Some(own) = &found.own {
        let range = own.days.zip(own.low.zip(own.high));
        let range = range.map(|(days, (low, high))| (days, low, high));
        let from = (own.samples, own.animals);
        lines.push(texts::cycle::own(range, from, own.refused.as_deref()));
    }
    if let Some(published) = &found.from_published {
        lines.push(texts::tally::assumptions(&published.assumed));
    }
    lines.join("\n")
}
