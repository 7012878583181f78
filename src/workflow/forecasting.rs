//! Carrying a table of calls forward, with dates.

pub use crate::workflow::dated::DatedForecast;
pub use crate::workflow::dated::DatedNight;
pub use crate::workflow::dated::DatedSpan;
pub use crate::workflow::dated::Harvest;

use crate::cycle::Assumed;
use crate::cycle::arcs::StageArcs;
use crate::cycle::length::Conditions;
use crate::cycle::length::CycleLength;
use crate::cycle::length::LengthError;
use crate::cycle::length::LengthRefusal;
use crate::cycle::length::Q10;
use crate::cycle::length::cycle_length;
use crate::cycle::species::Species;
use crate::decision::verdict::judge;
use crate::decision::verdict::worst_soft_by_day;
use crate::decision::waiting::NightWorth;
use crate::decision::waiting::Worth;
use crate::decision::waiting::WorthError;
use crate::forecast::ClockError;
use crate::forecast::Drain;
use crate::forecast::ForecastError;
use crate::forecast::MOULT_HOUR;
use crate::forecast::NightClock;
use crate::forecast::Spreads;
use crate::forecast::Start;
use crate::forecast::forecast;
use crate::forecast::moult_hour_assumed;
use crate::tally::RigidAfter;
use crate::tally::Settings;
use crate::tally::SettingsError;
use crate::tally::Tally;
use crate::units::Days;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::dated::Parts;
use crate::workflow::dated::dated;
use crate::workflow::moments::Moment;
use crate::workflow::moments::PondClock;
use crate::workflow::tallying::TallyOptions;
use crate::workflow::tallying::TallyingError;
use crate::workflow::tallying::own_arcs;
use crate::workflow::tallying::tally_calls_with;
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
    /// The pond's own numbers beyond these; all absent for the usual ones.
    pub own: OwnNumbers,
}

/// What a pond may set for itself.
#[derive(Debug, Clone, Default)]
pub struct OwnNumbers {
    /// The clock of the pond; absent for that of the netting.
    pub clock: Option<PondClock>,
    /// Arcs of the stages; absent for those of the species.
    pub arcs: Option<StageArcs>,
    /// Hour of the night at which moults stand; absent for the usual.
    pub moult_hour: Option<f64>,
    /// Days from the moult until a shell is rigid, in place of the soft stages.
    pub rigid_after: Option<Days>,
    /// CSV file of slides of known truth, for the reader's errors.
    pub reader_slides: Option<PathBuf>,
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
    /// The settings allow no answer.
    #[error(transparent)]
    Settings(#[from] SettingsError),
    /// The science gives no length of the cycle, and so no date.
    #[error(transparent)]
    Refused(#[from] RefusedError),
}

/// The science gives no date.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{0}")]
pub struct RefusedError(pub LengthRefusal);

/// Carries the calls of a file forward.
///
/// # Errors
/// [`ForecastingError`]; [`ForecastingError::Refused`] is the answer that no date can be given.
pub fn forecast_calls_file(request: &ForecastRequest) -> Result<DatedForecast, ForecastingError> {
    let settings = settings_of(request)?;
    let options = TallyOptions {
        arcs: request.own.arcs.clone(),
        reader_slides: request.own.reader_slides.clone(),
    };
    let tally = tally_calls_with(&request.calls, settings, &options)?;
    forecast_tally(&tally, request)
}

/// The settings of a request, with days until a shell is rigid set against its cycle.
///
/// # Errors
/// [`ForecastingError`] when no length of the cycle can be given or the settings allow no answer.
pub fn settings_of(request: &ForecastRequest) -> Result<Settings, ForecastingError> {
    let mut settings = request.settings.clone();
    if let Some(days) = request.own.rigid_after {
        let cycle = lengths(request)?.0.days;
        settings.rigid_after = Some(RigidAfter { days, cycle });
    }
    Ok(settings.checked()?)
}

/// Carries a tally forward that was made with [`settings_of`] the request; its file of calls is not
/// looked at.
///
/// # Errors
/// [`ForecastingError`]; [`ForecastingError::Refused`] is the answer that no date can be given.
pub fn forecast_tally(
    tally: &Tally,
    request: &ForecastRequest,
) -> Result<DatedForecast, ForecastingError> {
    let settings = settings_of(request)?;
    let (length, paces, q10) = lengths(request)?;
    let netted = request.netted.unwrap_or_else(Moment::now);
    let clock = match &request.own.clock {
        Some(clock) => clock.clone(),
        None => PondClock::of_moment(netted),
    };
    let netted = clock.see(netted);
    let hours = request.drain_hours.unwrap_or(USUAL_DRAIN_HOURS);
    let opens = request
        .drain_start
        .map_or(0.0, |start| clock.days_between(netted, start));
    let arcs = match &request.own.arcs {
        Some(own) => own.clone(),
        None => request.species.arcs(),
    };
    let warmer = DegreesCelsius::new(1.0);
    let moult_hour = request.own.moult_hour.unwrap_or(MOULT_HOUR);
    let start = Start {
        tally,
        settings: &settings,
        arcs: &arcs,
        cycle: length.days,
        stretch_per_degree: q10.stretch(DegreesCelsius::new(0.0), warmer),
        spreads: request.spreads,
        clock: NightClock::with_moults_at(moult_hour, netted.hour(), paces)?,
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
    let assumed = assumed(request, &settings, tally, &length);
    let parts = Parts {
        start: &start,
        found: &found,
        verdict,
        waiting,
        length: &length,
        netted,
        clock: &clock,
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

/// The length of the cycle of a species at a weight and temperature, by a pond's own effect of the
/// temperature and length where it has them; absent where the science names none.
pub fn noted_cycle(
    species: Species,
    weight: Grams,
    water: DegreesCelsius,
    (q10, own): (Option<f64>, Option<Days>),
) -> Option<Days> {
    let q10 = q10.map_or_else(|| Ok(Q10::published()), Q10::new).ok()?;
    let found = cycle_length(Conditions {
        species,
        weight,
        water,
        q10,
        own,
    });
    Some(found.ok()?.ok()?.days)
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

fn assumed(
    request: &ForecastRequest,
    settings: &Settings,
    tally: &Tally,
    length: &CycleLength,
) -> Vec<Assumed> {
    let mut assumed = length.assumed.clone();
    assumed.extend(request.spreads.assumed());
    if request.own.moult_hour.is_none() {
        assumed.push(moult_hour_assumed());
    }
    if request.drain_hours.is_none() {
        assumed.push(Assumed::new(
            "length of the drain",
            USUAL_DRAIN_HOURS,
            "h",
            DRAIN_SOURCE,
        ));
    }
    assumed.extend(settings.assumed());
    let groups = tally
        .assumed
        .iter()
        .filter(|a| a.name.contains("even pond"));
    assumed.extend(groups.cloned());
    if let Some(own) = &request.own.arcs {
        assumed.extend(own_arcs(own));
    } else if request.species.arcs().assumed().is_empty() {
        assumed.extend(request.species.assumed_arcs());
    } else {
        assumed.extend(request.species.arcs().assumed());
    }
    assumed
}
