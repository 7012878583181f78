//! `tailfan report`: the page for the manager.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::limits::LimitArgs;
use crate::cli::output::Output;
use crate::cycle::species::Species;
use crate::report::Paper;
use crate::report::UnknownPaper;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::moments::Moment;
use crate::workflow::report::CallsPage;
use crate::workflow::report::page_of_calls;
use crate::workflow::report::write_page;
use clap::Args;
use std::path::PathBuf;

/// Write the page for the manager as a PDF file: verdict, tally, nights ahead, cautions
///
/// Without species, weight and water there is no forecast on it, and the verdict speaks of the
/// hour of netting.
#[derive(Debug, Args)]
pub(in crate::cli) struct ReportArgs {
    /// CSV file with the columns animal,stage and optional shell,station; a stage may be "unread"
    #[arg(long, value_name = "CSV")]
    calls: PathBuf,
    /// The file to write
    #[arg(long, value_name = "PDF")]
    out: PathBuf,
    /// Name of the pond
    #[arg(long, value_name = "NAME")]
    pond: String,
    /// When it was netted, such as 2026-11-26T06:00+07:00
    #[arg(long, value_name = "MOMENT")]
    netted: Moment,
    /// The species: vannamei, monodon, stylirostris, setiferus or japonicus
    #[arg(long, requires_all = ["weight", "water"])]
    species: Option<Species>,
    /// Mean weight of an animal
    #[arg(long, value_name = "GRAMS", allow_negative_numbers = true)]
    weight: Option<f64>,
    /// Daily mean of the water; more, separated by commas, are the days after the netting
    #[arg(
        long,
        value_name = "CELSIUS",
        value_delimiter = ',',
        allow_negative_numbers = true
    )]
    water: Vec<f64>,
    /// When the gates are to open, for a verdict on the harvest
    #[arg(long, value_name = "MOMENT", requires = "species")]
    drain_start: Option<Moment>,
    /// How long the drain lasts
    #[arg(long, value_name = "HOURS", allow_negative_numbers = true)]
    drain_hours: Option<f64>,
    /// Who read, once for each reader
    #[arg(long, value_name = "NAME")]
    reader: Vec<String>,
    /// Paper: A4 or Letter
    #[arg(long, default_value = "A4", value_parser = paper)]
    paper: Paper,
    #[command(flatten)]
    limits: LimitArgs,
}

/// Reads the name of a paper.
pub(in crate::cli) fn paper(text: &str) -> Result<Paper, UnknownPaper> {
    text.parse()
}

/// Writes the page and says where.
pub(in crate::cli) fn run(args: ReportArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let request = CallsPage {
        calls: args.calls,
        settings: args.limits.settings(),
        pond: args.pond,
        netted: args.netted,
        species: args.species,
        weight: args.weight.map(Grams::new),
        water: args.water.into_iter().map(DegreesCelsius::new).collect(),
        drain_start: args.drain_start,
        drain_hours: args.drain_hours,
        readers: args.reader,
        made_up: false,
    };
    let page = page_of_calls(&request)?;
    write_page(&page, args.paper, &args.out)?;
    output.line(&args.out.display().to_string())?;
    Ok(Outcome::Done)
}
