//! `tailfan forecast`.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::limits::LimitArgs;
use crate::cli::output::Output;
use crate::cli::own::OwnArgs;
use crate::cycle::species::Species;
use crate::decision::waiting::Worth;
use crate::forecast::Spreads;
use crate::texts;
use crate::units::Days;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::ForecastRequest;
use crate::workflow::forecasting::ForecastingError;
use crate::workflow::forecasting::Harvest;
use crate::workflow::forecasting::OwnNumbers;
use crate::workflow::forecasting::forecast_calls_file;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// Carry the calls of a sample forward night by night
#[derive(Debug, Args)]
pub(in crate::cli) struct ForecastArgs {
    /// CSV file with the columns animal,stage and optional shell,station,throw; a stage may be "unread"
    calls: PathBuf,
    /// The species: vannamei, monodon, stylirostris, setiferus or japonicus
    #[arg(long)]
    species: Species,
    /// Mean weight of an animal
    #[arg(long, value_name = "GRAMS", allow_negative_numbers = true)]
    weight: f64,
    /// Daily mean of the water; more, separated by commas, are the days after the netting
    #[arg(
        long,
        value_name = "CELSIUS",
        value_delimiter = ',',
        required = true,
        allow_negative_numbers = true
    )]
    water: Vec<f64>,
    /// When the gates are to open, for a verdict on the harvest
    #[arg(long, value_name = "MOMENT")]
    drain_start: Option<String>,
    /// How long the drain lasts
    #[arg(long, value_name = "HOURS", allow_negative_numbers = true)]
    drain_hours: Option<f64>,
    /// The pond's own length of the cycle at this weight and temperature
    #[arg(long, value_name = "DAYS")]
    cycle_days: Option<f64>,
    /// Spread of the cycle between animals, as a coefficient of variation: 0.07 to 0.20
    #[arg(long, value_name = "CV")]
    cycle_cv: Option<f64>,
    /// How far the mean cycle may be off, to both sides; 15 if not given
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
    cycle_range: Option<f64>,
    /// How far the mean water temperature may be off, to both sides; 0.5 if not given
    #[arg(long, value_name = "CELSIUS", allow_negative_numbers = true)]
    water_range: Option<f64>,
    /// Hour of the night at which moults stand; 22.5 if not given
    #[arg(long, value_name = "HOUR", allow_negative_numbers = true)]
    moult_hour: Option<f64>,
    /// How much faster the cycle runs 10 degrees warmer: 1 to 3
    #[arg(long, value_name = "FACTOR")]
    q10: Option<f64>,
    /// Nights to forecast; one cycle if not given
    #[arg(long, value_name = "NIGHTS")]
    nights: Option<usize>,
    /// Print one JSON object instead of a page
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    own: OwnArgs,
    #[command(flatten)]
    limits: LimitArgs,
    #[command(flatten)]
    worth: WorthArgs,
}

/// The farm's own numbers, all or none, for the value of waiting; any currency
#[derive(Debug, Args)]
#[group(requires_all = ["biomass", "survival", "growth", "price", "soft_discount", "feed", "other"])]
struct WorthArgs {
    /// Live weight in the pond at the netting
    #[arg(long, value_name = "WEIGHT")]
    biomass: Option<f64>,
    /// Part of the animals that live through a day
    #[arg(long, value_name = "PERCENT")]
    survival: Option<f64>,
    /// Growth of a day, as a part of the weight
    #[arg(long, value_name = "PERCENT")]
    growth: Option<f64>,
    /// Price of a unit of weight
    #[arg(long, value_name = "PRICE")]
    price: Option<f64>,
    /// Part of the price that a soft animal loses
    #[arg(long, value_name = "PERCENT")]
    soft_discount: Option<f64>,
    /// Feed of a day
    #[arg(long, value_name = "COST")]
    feed: Option<f64>,
    /// Other costs of a day
    #[arg(long, value_name = "COST")]
    other: Option<f64>,
}

impl WorthArgs {
    /// The numbers when all are given.
    fn worth(&self) -> Option<Worth> {
        Some(Worth {
            biomass: self.biomass?,
            survival_per_day: self.survival? / 100.0,
            growth_per_day: self.growth? / 100.0,
            price: self.price?,
            soft_discount: self.soft_discount? / 100.0,
            feed_per_day: self.feed?,
            other_per_day: self.other?,
        })
    }
}

/// Forecasts and prints.
///
/// Where the science gives no date, that is an answer: it is said, and the command ends as refused.
pub(in crate::cli) fn run(args: ForecastArgs, output: &mut Output) -> Result<Outcome, Failure> {
    let usual = Spreads::default();
    let netted = args.own.moment(args.own.netted.as_ref())?;
    let drain_start = args.own.moment(args.drain_start.as_ref())?;
    let request = ForecastRequest {
        calls: args.calls,
        settings: args.limits.settings(),
        species: args.species,
        weight: Grams::new(args.weight),
        water: args.water.into_iter().map(DegreesCelsius::new).collect(),
        q10: args.q10,
        cycle_days: args.cycle_days.map(Days::new),
        spreads: Spreads {
            animals: args.cycle_cv.unwrap_or(usual.animals),
            mean_cycle: args.cycle_range.map_or(usual.mean_cycle, |p| p / 100.0),
            water_celsius: args.water_range.unwrap_or(usual.water_celsius),
        },
        netted,
        drain_start,
        drain_hours: args.drain_hours,
        nights: args.nights,
        worth: args.worth.worth(),
        own: OwnNumbers {
            clock: args.own.zone,
            arcs: args.own.arcs,
            moult_hour: args.moult_hour,
            rigid_after: args.own.rigid_after.map(Days::new),
            reader_slides: args.own.reader_slides,
        },
    };
    let found = match forecast_calls_file(&request) {
        Ok(found) => found,
        Err(ForecastingError::Refused(why)) => {
            output.say(&ForecastingError::Refused(why).to_string())?;
            return Ok(Outcome::Refused);
        }
        Err(error) => return Err(error.into()),
    };
    if args.json {
        output.json(&found)?;
    } else {
        output.page(|out| page(&found, out))?;
    }
    Ok(Outcome::Done)
}

fn page(found: &DatedForecast, out: &mut impl Write) -> std::io::Result<()> {
    let netted = texts::tally::netted(&found.tally);
    let when = texts::forecast::moment(&found.netted.to_string());
    writeln!(out, "{netted}, {when}")?;
    writeln!(
        out,
        "{}",
        texts::forecast::cycle(found.cycle_days, found.cycle_cv)
    )?;
    writeln!(out)?;
    if let Some(harvest) = &found.harvest {
        answer(harvest, out)?;
        writeln!(out)?;
    }
    spans(found, out)?;
    if let Some(reader) = &found.reader {
        let known = texts::forecast::reader(reader.slides, reader.draws);
        writeln!(out, "{known}")?;
    }
    for warning in &found.warnings {
        writeln!(out, "Careful: {warning}.")?;
    }
    writeln!(out)?;
    nights(found, out)?;
    if let Some(waiting) = &found.waiting {
        writeln!(out)?;
        writeln!(out, "{}", texts::forecast::WAITING_HEAD)?;
        for at in waiting {
            writeln!(out, "{:>5} {:>22.0} {:>14.0}", at.night, at.value, at.gain)?;
        }
        writeln!(out, "{}", texts::forecast::STEPWISE)?;
    }
    writeln!(out)?;
    write!(out, "{}", texts::tally::assumptions(&found.assumed))?;
    writeln!(out, "{}", texts::forecast::NOT_IN_IT)?;
    writeln!(out, "{}", texts::forecast::LAST_SENTENCE)
}

/// The verdict on the planned harvest.
fn answer(harvest: &Harvest, out: &mut impl Write) -> std::io::Result<()> {
    let moment = |text: &str| texts::forecast::moment(text);
    writeln!(
        out,
        "Harvest {} to {}: {}.",
        moment(&harvest.start),
        moment(&harvest.end),
        texts::tally::answer(harvest.verdict)
    )?;
    for because in &harvest.because {
        writeln!(out, "  {because}")?;
    }
    let worst = texts::forecast::worst(harvest.worst_soft, harvest.worst_pessimistic_soft);
    writeln!(out, "  {worst}")?;
    writeln!(out, "  This expires at {}.", moment(&harvest.expires))
}

fn spans(found: &DatedForecast, out: &mut impl Write) -> std::io::Result<()> {
    for (name, span) in [
        ("Expected", &found.expected_span),
        ("Confident", &found.confident_span),
    ] {
        match span {
            Some(s) => writeln!(
                out,
                "{name} span: open gates from {}, drained by {}.",
                texts::forecast::moment(&s.open_gates_from),
                texts::forecast::moment(&s.drained_by)
            )?,
            None => writeln!(out, "{name} span: none.")?,
        }
    }
    if let Some(why) = &found.no_span_because {
        writeln!(out, "Because: {why}.")?;
    }
    Ok(())
}

fn nights(found: &DatedForecast, out: &mut impl Write) -> std::io::Result<()> {
    writeln!(out, "{}", texts::forecast::NIGHTS_HEAD)?;
    let tally = &found.tally;
    for night in &found.nights {
        let percent = |share: f64| format!("{:.1} %", 100.0 * share);
        let band = format!(
            "({:.0} to {:.0} %)",
            100.0 * night.soft.low,
            100.0 * night.soft.high
        );
        let groups = [
            ("soft", Some(night.soft), tally.soft.limit),
            ("moulting", Some(night.moulting), tally.moulting.limit),
            ("due", Some(night.due), tally.due.limit),
            ("soft in hand", night.soft_in_hand, tally.soft.limit),
        ];
        let over = groups
            .iter()
            .filter(|(_, band, limit)| band.is_some_and(|band| band.expected >= *limit));
        let over: Vec<&str> = over.map(|(name, ..)| *name).collect();
        let stands =
            texts::forecast::stands((night.within_confident, night.within_expected), &over);
        let moon = texts::forecast::moon(night.moon_lit, night.moon_waxing);
        writeln!(
            out,
            "{:>5}  {:<10} {:>8}  {band:<14} {:>9} {:>9} {:>23}  {moon:<11}  {stands}",
            night.night,
            night.morning,
            percent(night.soft.expected),
            percent(night.moulting.expected),
            percent(night.due.expected),
            percent(night.pessimistic_soft),
        )?;
    }
    Ok(())
}
