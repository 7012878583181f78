//! `tailfan report`: the page for the manager, the pond report, the table.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::limits::LimitArgs;
use crate::cli::output::Output;
use crate::cycle::species::Species;
use crate::report::Paper;
use crate::report::SamplePage;
use crate::report::UnknownPaper;
use crate::texts;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::logbook::Session;
use crate::workflow::moments::Moment;
use crate::workflow::report::CallsPage;
use crate::workflow::report::page_of_calls;
use crate::workflow::report::page_of_sample;
use crate::workflow::report::season_named;
use crate::workflow::report::write_page;
use crate::workflow::report::write_season;
use crate::workflow::report::write_shares;
use clap::Args;
use std::path::PathBuf;

/// Write the page for the manager as a PDF file: verdict, tally, nights ahead, cautions
///
/// Of a sample of the logbook, or of a table of calls. Without species, weight and water there is
/// no forecast on it, and the verdict speaks of the hour of netting.
#[derive(Debug, Args)]
pub(in crate::cli) struct ReportArgs {
    /// The sample: the beginning of its id, or POND@DATE
    #[arg(
        value_name = "SAMPLE",
        conflicts_with_all = ["calls", "season"],
        required_unless_present_any = ["calls", "season"]
    )]
    sample: Option<String>,
    /// The file to write
    #[arg(long, value_name = "PDF")]
    out: PathBuf,
    /// The logbook; the one used last if not given
    #[arg(long, value_name = "FILE")]
    logbook: Option<PathBuf>,
    /// All samples of this pond in the logbook, and what the harvests showed, instead of one sample
    #[arg(long, value_name = "POND", conflicts_with = "calls")]
    season: Option<String>,
    /// Also write the tally as a tidy table
    #[arg(long, value_name = "CSV", conflicts_with = "season")]
    table: Option<PathBuf>,
    /// Paper: A4 or Letter
    #[arg(long, default_value = "A4", value_parser = paper)]
    paper: Paper,
    #[command(flatten)]
    of_calls: CallsArgs,
    #[command(flatten)]
    limits: LimitArgs,
}

/// A table of calls in place of a sample of the logbook, and what has to be said with it
#[derive(Debug, Args)]
#[command(next_help_heading = "Without a logbook")]
struct CallsArgs {
    /// CSV file with the columns animal,stage and optional shell,station; a stage may be "unread"
    #[arg(long, value_name = "CSV", requires_all = ["pond", "netted"])]
    calls: Option<PathBuf>,
    /// Name of the pond
    #[arg(long, value_name = "NAME", requires = "calls")]
    pond: Option<String>,
    /// When it was netted, such as 2026-11-26T06:00+07:00
    #[arg(long, value_name = "MOMENT", requires = "calls")]
    netted: Option<Moment>,
    /// The species: vannamei, monodon, stylirostris, setiferus or japonicus
    #[arg(long, requires_all = ["calls", "weight", "water"])]
    species: Option<Species>,
    /// Mean weight of an animal
    #[arg(
        long,
        value_name = "GRAMS",
        requires = "calls",
        allow_negative_numbers = true
    )]
    weight: Option<f64>,
    /// Daily mean of the water; more, separated by commas, are the days after the netting
    #[arg(
        long,
        value_name = "CELSIUS",
        value_delimiter = ',',
        requires = "calls",
        allow_negative_numbers = true
    )]
    water: Vec<f64>,
    /// When the gates are to open, for a verdict on the harvest
    #[arg(long, value_name = "MOMENT", requires = "species")]
    drain_start: Option<Moment>,
    /// How long the drain lasts
    #[arg(
        long,
        value_name = "HOURS",
        requires = "calls",
        allow_negative_numbers = true
    )]
    drain_hours: Option<f64>,
    /// Who read, once for each reader
    #[arg(long, value_name = "NAME", requires = "calls")]
    reader: Vec<String>,
}

/// Reads the name of a paper.
pub(in crate::cli) fn paper(text: &str) -> Result<Paper, UnknownPaper> {
    text.parse()
}

/// Writes the files and says where.
pub(in crate::cli) fn run(args: ReportArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let session = || Session::open_or_last(args.logbook.as_deref(), texts::page::OPENED_BY);
    if let Some(pond) = &args.season {
        write_season(&season_named(&session()?, pond)?, args.paper, &args.out)?;
        output.line(&args.out.display().to_string())?;
        return Ok(Outcome::Done);
    }
    let page = if let Some(sample) = &args.sample {
        let session = session()?;
        page_of_sample(&session, session.find_sample(sample)?.thing())?
    } else {
        of_calls(args.of_calls, args.limits)?
    };
    write_page(&page, args.paper, &args.out)?;
    output.line(&args.out.display().to_string())?;
    if let Some(table) = &args.table {
        write_shares(&page.tally, table)?;
        output.line(&table.display().to_string())?;
    }
    Ok(Outcome::Done)
}

fn of_calls(args: CallsArgs, limits: LimitArgs) -> Result<SamplePage, Failure> {
    let (Some(calls), Some(pond), Some(netted)) = (args.calls, args.pond, args.netted) else {
        return Err(Failure::misuse(
            "neither a sample nor a table of calls was given",
            "name a SAMPLE of the logbook, or --calls with --pond and --netted",
        ));
    };
    let request = CallsPage {
        calls,
        settings: limits.settings(),
        pond,
        netted,
        species: args.species,
        weight: args.weight.map(Grams::new),
        water: args.water.into_iter().map(DegreesCelsius::new).collect(),
        drain_start: args.drain_start,
        drain_hours: args.drain_hours,
        readers: args.reader,
        made_up: false,
    };
    Ok(page_of_calls(&request)?)
}
