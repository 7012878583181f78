//! `tailfan plan`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::limits::LimitArgs;
use crate::cli::output::Output;
use crate::texts;
use crate::workflow::planning::LimitPlan;
use crate::workflow::planning::NettingPlan;
use crate::workflow::planning::plan_netting;
use clap::Args;
use std::io::Write;

/// Before netting: how many animals, and what they can and cannot show
#[derive(Debug, Args)]
pub(in crate::cli) struct PlanArgs {
    /// Animals of the netting; 30 if not given
    #[arg(long, value_name = "ANIMALS")]
    animals: Option<u64>,
    /// Print one JSON object instead of a page
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    limits: LimitArgs,
}

/// Plans and prints.
pub(in crate::cli) fn run(args: PlanArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let plan = plan_netting(args.animals, args.limits.settings())?;
    if args.json {
        output.json(&plan)?;
    } else {
        output.page(|out| page(&plan, out))?;
    }
    Ok(Outcome::Done)
}

fn page(plan: &NettingPlan, out: &mut impl Write) -> std::io::Result<()> {
    let confidence = 100.0 * plan.confidence;
    writeln!(
        out,
        "{} animals, tested at {confidence:.0} % confidence",
        plan.animals
    )?;
    if plan.design_effect > 1.0 {
        let clustered = texts::plan::clustered(plan.animals, plan.design_effect);
        writeln!(out, "{clustered}")?;
    }
    writeln!(
        out,
        "{}",
        texts::plan::for_all(plan.animals, plan.fewest_for_all)
    )?;
    for limit in &plan.limits {
        writeln!(out)?;
        one_limit(limit, plan.animals, out)?;
    }
    writeln!(out)?;
    writeln!(out, "{}", texts::plan::SECOND_NETTING)?;
    writeln!(
        out,
        "{}",
        texts::plan::spread_the_net(plan.animals, plan.stations, plan.animals_per_station)
    )?;
    writeln!(out)?;
    write!(out, "{}", texts::tally::assumptions(&plan.assumed))
}

fn one_limit(plan: &LimitPlan, animals: u64, out: &mut impl Write) -> std::io::Result<()> {
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    let limit = percent(plan.limit);
    writeln!(
        out,
        "{} under {limit}",
        texts::forecast::group_name(plan.group)
    )?;
    if let Some(fewest) = plan.fewest_to_clear {
        let word = if fewest > animals {
            "more than planned"
        } else {
            "as planned"
        };
        writeln!(
            out,
            "  It takes {fewest} animals with none in it to show this ({word})."
        )?;
    }
    if let Some(needed) = plan.animals_for_good {
        let good = percent(plan.good_share);
        writeln!(
            out,
            "  A pond of {good} is cleared four times out of five with {needed}."
        )?;
    }
    let (within, over) = (plan.single.within_up_to, plan.single.over_from);
    let (within, over) = (texts::plan::up_to(within), texts::plan::from(over));
    writeln!(
        out,
        "  One netting of {animals}: within {within}, over {over}."
    )?;
    writeln!(out, "    true share   within     over     open")?;
    for at in &plan.chances {
        writeln!(
            out,
            "    {:>10} {:>8} {:>8} {:>8}",
            percent(at.share),
            percent(at.within),
            percent(at.over),
            percent(at.open)
        )?;
    }
    if plan.single.within_up_to.is_some() {
        writeln!(out, "  Chance of within against the true share:")?;
        write!(out, "{}", texts::plan::curve(&plan.curve))?;
        for bias in plan.catch_bias.iter().filter(|b| b.catchability < 1.0) {
            writeln!(out, "  If {}.", texts::plan::catch_bias(bias))?;
        }
    }
    let two = &plan.two_stage;
    writeln!(
        out,
        "  Two nettings of {animals}: after the first within {}, over {}; after both within {}, over {}.",
        texts::plan::up_to(two.first_within_up_to),
        texts::plan::from(two.first_over_from),
        texts::plan::up_to(two.both_within_up_to),
        texts::plan::from(two.both_over_from)
    )?;
    writeln!(
        out,
        "    true share   within     over     open   animals on average"
    )?;
    for at in &plan.two_stage_chances {
        writeln!(
            out,
            "    {:>10} {:>8} {:>8} {:>8}   {:.0}",
            percent(at.share),
            percent(at.within),
            percent(at.over),
            percent(at.open),
            at.animals
        )?;
    }
    if let Some(sequence) = &plan.sequential {
        writeln!(
            out,
            "  One by one (good pond {}):",
            percent(plan.good_share)
        )?;
        for step in &sequence.steps {
            writeln!(
                out,
                "    from animal {:>3}: within {}, over {}",
                step.animals,
                texts::plan::up_to(step.within_up_to),
                texts::plan::from(step.over_from)
            )?;
        }
    }
    Ok(())
}
