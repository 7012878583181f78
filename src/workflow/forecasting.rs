//! Carrying a table of calls forward, with dates.

use crate::cycle::Assumed;
use crate::cycle::length::Conditions;
use crate::cycle::length::CycleLength;
use crate::cycle::length::LengthError;
use crate::cycle::length::LengthRefusal;
use crate::cycle::length::Q10;
use crate::cycle::length::cycle_length;
use crate::cycle::moon::lit;
use crate::cycle::species::Species;
use crate::decision::verdict::Verdict;
use crate::decision::verdict::judge;
use crate::decision::verdict::worst_soft_by_day;
use crate::decision::waiting::NightWorth;
use crate::decision::waiting::Worth;
use crate::decision::waiting::WorthError;
use crate::forecast::Band;
use crate::forecast::ClockError;
use crate::forecast::Drain;
use crate::forecast::Forecast;
use crate::forecast::ForecastError;
use crate::forecast::Night;
use crate::forecast::NightClock;
use crate::forecast::Span;
use crate::forecast::Spreads;
use crate::forecast::Start;
use crate::forecast::forecast;
use crate::tally::Answer;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::texts;
use crate::units::Days;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::moments::Moment;
use crate::workflow::tallying::TallyingError;
use crate::workflow::tallying::tally_calls_file;
use serde::Serialize;
use std::path::PathBuf;
use thiserror::Error;

/// Hours that a drain lasts when nobody says.
pub const USUAL_DRAIN_HOURS: f64 = 24.0;

const DRAIN_SOURCE: &str = "our choice; trade articles name 4-6 hours to 3-4 days";

/// What a forecast is made from.
#[derive(Debug, Clone)]
pub struct ForecastRequest {
    /// CSV file of calls.
    pub calls: PathBuf,
    /// Groups, limits, confidence.
    pub settings: Settings,
    /// The species.
    pub species: Species,
    /// Mean weight.
    pub weight: Grams,
    /// Daily mean of the water: at the netting, then of the days after it; the last holds on.
    pub water: Vec<DegreesCelsius>,
    /// Effect of the temperature; absent for the published one.
    pub q10: Option<f64>,
    /// The farm's own length of the cycle.
    pub cycle_days: Option<Days>,
    /// Spreads.
    pub spreads: Spreads,
    /// When it was netted; absent for now.
    pub netted: Option<Moment>,
    /// When the gates open, for a verdict.
    pub drain_start: Option<Moment>,
    /// How many hours the drain lasts; absent for the usual.
    pub drain_hours: Option<f64>,
    /// Nights to forecast; absent for one cycle.
    pub nights: Option<usize>,
    /// The farm's own numbers, for the value of waiting.
    pub worth: Option<Worth>,
}

/// Why there is no forecast.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ForecastingError {
    /// No tally.
    #[error(transparent)]
    Tallying(#[from] TallyingError),
    /// Numbers that are no conditions.
    #[error(transparent)]
    Length(#[from] LengthError),
    /// Nothing to carry forward, or a drain that cannot be.
    #[error(transparent)]
    Forecast(#[from] ForecastError),
    /// Numbers that are no pond's.
    #[error(transparent)]
    Worth(#[from] WorthError),
    /// An hour or pace that cannot be.
    #[error(transparent)]
    Clock(#[from] ClockError),
    /// No temperature.
    #[error("no water temperature was given: give the daily mean in degrees Celsius")]
    NoWater,
    /// The science gives no length of the cycle, and so no date.
    #[error(transparent)]
    Refused(#[from] RefusedError),
}

/// The science gives no date.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{0}")]
pub struct RefusedError(pub LengthRefusal);

/// A forecast with its dates: the object that `tailfan forecast --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DatedForecast {
    /// Mean length of the cycle in days, the wait for the night included.
    pub cycle_days: f64,
    /// Its coefficient of variation between animals.
    pub cycle_cv: f64,
    /// The nights.
    pub nights: Vec<DatedNight>,
    /// When gates may open and the drain be over, by the expected shares.
    pub expected_span: Option<DatedSpan>,
    /// The same, with every limit shown to be kept.
    pub confident_span: Option<DatedSpan>,
    /// Why a span is missing.
    pub no_span_because: Option<String>,
    /// The verdict for the planned harvest.
    pub harvest: Option<Harvest>,
    /// The value of waiting, by night; only where the farm gave its numbers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waiting: Option<Vec<NightWorth>>,
    /// What to be careful about.
    pub warnings: Vec<String>,
    /// The defaults that went in, with their sources.
    pub assumed: Vec<Assumed>,
    /// The tally it starts from.
    #[serde(skip)]
    pub tally: Tally,
    /// When it was netted.
    #[serde(skip)]
    pub netted: Moment,
}

/// One night.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DatedNight {
    /// 1 is the night that follows the netting.
    pub night: usize,
    /// Date of the morning after it.
    pub morning: String,
    /// Soft animals.
    pub soft: Band,
    /// Moulting animals.
    pub moulting: Band,
    /// Animals about to moult.
    pub due: Band,
    /// Expected soft share if falling water set off every animal about to moult.
    pub pessimistic_soft: f64,
    /// Lit part of the moon; shown, never used. Absent outside 1900-2100.
    pub moon_lit: Option<f64>,
    /// All expected shares lie below their limits.
    pub within_expected: bool,
    /// Every limit is shown to be kept.
    pub within_confident: bool,
}

/// A span with dates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DatedSpan {
    /// Gates may open from here on.
    pub open_gates_from: String,
    /// The pond must be drained by here.
    pub drained_by: String,
}

/// The verdict for a planned harvest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Harvest {
    /// Gates open.
    pub start: String,
    /// Pond drained.
    pub end: String,
    /// The verdict.
    pub verdict: Answer,
    /// It expires here.
    pub expires: String,
    /// Why.
    pub because: Vec<String>,
}

/// Carries the calls of a file forward.
///
/// # Errors
/// [`ForecastingError`]; [`ForecastingError::Refused`] is the answer that no date can be given.
pub fn forecast_calls_file(request: &ForecastRequest) -> Result<DatedForecast, ForecastingError> {
    let tally = tally_calls_file(&request.calls, request.settings.clone())?;
    let (length, paces, q10) = lengths(request)?;
    let netted = request.netted.unwrap_or_else(Moment::now);
    let hours = request.drain_hours.unwrap_or(USUAL_DRAIN_HOURS);
    let opens = request
        .drain_start
        .map_or(0.0, |start| start.days_since(netted));
    let arcs = request.species.arcs();
    let warmer = DegreesCelsius::new(1.0);
    let start = Start {
        tally: &tally,
        settings: &request.settings,
        arcs: &arcs,
        cycle: length.days,
        stretch_per_degree: q10.stretch(DegreesCelsius::new(0.0), warmer),
        spreads: request.spreads,
        clock: NightClock::new(netted.hour(), paces)?,
        nights: request
            .nights
            .unwrap_or_else(|| length.days.get().ceil() as usize),
        drain: Drain {
            opens: Days::new(opens),
            lasts: Days::new(hours / 24.0),
        },
    };
    let found = forecast(&start)?;
    let verdict = request.drain_start.map(|_| judge(&start)).transpose()?;
    let waiting = request
        .worth
        .map(|worth| waiting(worth, &start, found.nights.len()))
        .transpose()?;
    let assumed = assumed(request, &tally, &length);
    let parts = Parts {
        start: &start,
        found: &found,
        verdict,
        waiting,
        length: &length,
        netted,
    };
    Ok(dated(parts, assumed))
}

/// The value of waiting for each night that is forecast, and of not waiting.
fn waiting(
    worth: Worth,
    start: &Start<'_>,
    nights: usize,
) -> Result<Vec<NightWorth>, ForecastingError> {
    Ok(worth
        .checked()?
        .by_night(&worst_soft_by_day(start, nights)?))
}

/// The length of the cycle at the netting, and how fast it runs on the days after it.
fn lengths(request: &ForecastRequest) -> Result<(CycleLength, Vec<f64>, Q10), ForecastingError> {
    let q10 = request.q10.map_or_else(|| Ok(Q10::published()), Q10::new)?;
    let first = *request.water.first().ok_or(ForecastingError::NoWater)?;
    let at = |water: DegreesCelsius| {
        let (species, weight) = (request.species, request.weight);
        let own = request.cycle_days;
        let length = cycle_length(Conditions {
            species,
            weight,
            water,
            q10,
            own,
        })?;
        length.map_err(|refusal| ForecastingError::from(RefusedError(refusal)))
    };
    let mut length = at(first)?;
    let mut paces = Vec::new();
    for water in request.water.iter().skip(1) {
        let there = at(*water)?;
        // An own length holds at the netting; the days after it run by the temperature alone.
        let pace = match request.cycle_days {
            Some(_) => 1.0 / q10.stretch(first, *water),
            None => length.days.get() / there.days.get(),
        };
        paces.push(pace);
        for warning in there.warnings {
            if !length.warnings.contains(&warning) {
                length.warnings.push(warning);
            }
        }
    }
    Ok((length, paces, q10))
}

fn assumed(request: &ForecastRequest, tally: &Tally, length: &CycleLength) -> Vec<Assumed> {
    let mut assumed = length.assumed.clone();
    assumed.extend(request.spreads.assumed());
    if request.drain_hours.is_none() {
        assumed.push(Assumed::new(
            "length of the drain",
            USUAL_DRAIN_HOURS,
            "h",
            DRAIN_SOURCE,
        ));
    }
    assumed.extend(request.settings.assumed());
    if request.species.arcs().assumed().is_empty() {
        assumed.extend(request.species.assumed_arcs());
    } else {
        assumed.extend(
            tally
                .assumed
                .iter()
                .filter(|a| a.name.starts_with("share"))
                .cloned(),
        );
    }
    assumed
}

/// What is given dates.
struct Parts<'a> {
    start: &'a Start<'a>,
    found: &'a Forecast,
    verdict: Option<Verdict>,
    waiting: Option<Vec<NightWorth>>,
    length: &'a CycleLength,
    netted: Moment,
}

fn dated(parts: Parts<'_>, assumed: Vec<Assumed>) -> DatedForecast {
    let Parts {
        start,
        found,
        verdict,
        waiting,
        length,
        netted,
    } = parts;
    let when = |days: Days| {
        netted
            .later(days.get())
            .map_or_else(String::new, |m| m.to_string())
    };
    let span = |span: Span| DatedSpan {
        open_gates_from: when(span.opens),
        drained_by: when(span.drained_by),
    };
    let ends = Days::new(start.drain.opens.get() + start.drain.lasts.get());
    let mut warnings: Vec<String> = length
        .warnings
        .iter()
        .map(texts::forecast::length_warning)
        .collect();
    warnings.extend(found.warnings.iter().map(texts::forecast::warning));
    DatedForecast {
        cycle_days: start.cycle.get(),
        cycle_cv: start.spreads.animals,
        nights: found
            .nights
            .iter()
            .map(|night| dated_night(night, netted))
            .collect(),
        expected_span: found.expected_span.map(span),
        confident_span: found.confident_span.map(span),
        no_span_because: found.no_span.as_ref().map(texts::forecast::no_span),
        harvest: verdict.map(|verdict| Harvest {
            start: when(start.drain.opens),
            end: when(ends),
            verdict: verdict.answer,
            expires: when(verdict.expires),
            because: verdict
                .because
                .iter()
                .map(|r| texts::forecast::reason(r, when))
                .collect(),
        }),
        waiting,
        warnings,
        assumed,
        tally: start.tally.clone(),
        netted,
    }
}

fn dated_night(night: &Night, netted: Moment) -> DatedNight {
    let morning = netted.later(night.elapsed.get());
    DatedNight {
        night: night.night,
        morning: morning.map_or_else(String::new, Moment::date),
        soft: night.soft,
        moulting: night.moulting,
        due: night.due,
        pessimistic_soft: night.pessimistic_soft,
        moon_lit: morning.and_then(|m| lit(m.julian_day()).ok()),
        within_expected: night.within_expected,
        within_confident: night.within_confident,
    }
}
