//! A sample of the logbook carried forward: what the window and the page show of the nights ahead.

use crate::cycle::species::Species;
use crate::forecast::Spreads;
use crate::units::Days;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::ForecastRequest;
use crate::workflow::forecasting::ForecastingError;
use crate::workflow::forecasting::OwnNumbers;
use crate::workflow::forecasting::forecast_tally;
use crate::workflow::logbook::counting::Counted;
use crate::workflow::moments::Moment;
use crate::workflow::moments::MomentError;
use crate::workflow::moments::PondClock;
use crate::workflow::moments::ZoneError;
use std::path::PathBuf;
use thiserror::Error;

/// What is tried out, beside what was noted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Trial {
    /// Daily mean of the water in degrees Celsius; absent for what was noted.
    pub water_c: Option<f64>,
    /// The drain, so many nights later than planned.
    pub drain_later: i32,
}

/// Why nothing can be carried forward.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CarryError {
    /// Something was not noted.
    #[error("no {0} was noted for this sample: note it to carry the tally forward")]
    NotNoted(&'static str),
    /// A species that the program does not know.
    #[error("the species \"{0}\" is not known: choose one of the list in the pond")]
    Species(String),
    /// A moment that cannot be read.
    #[error(transparent)]
    Moment(#[from] MomentError),
    /// A time zone that is not known.
    #[error(transparent)]
    Zone(#[from] ZoneError),
    /// No forecast.
    #[error(transparent)]
    Forecast(#[from] ForecastingError),
}

/// Carries a sample forward, with its pond's own numbers.
///
/// # Errors
/// [`CarryError`] when something is missing or the science gives no date.
pub fn carry_forward(counted: &Counted, trial: Trial) -> Result<DatedForecast, CarryError> {
    let (pond, sample) = (&counted.pond, &counted.sample);
    let named = pond
        .species
        .as_ref()
        .ok_or(CarryError::NotNoted("species"))?;
    let species: Option<Species> = named.parse().ok();
    let species = species.ok_or_else(|| CarryError::Species(named.clone()))?;
    let weight = sample
        .mean_weight_g
        .ok_or(CarryError::NotNoted("mean weight"))?;
    let water = trial.water_c.or(sample.water_c);
    let water = water.ok_or(CarryError::NotNoted("water temperature"))?;
    let start: Option<Moment> = sample.harvest_start.map(Moment::try_from).transpose()?;
    let later = |start: Moment| start.later(f64::from(trial.drain_later)).unwrap_or(start);
    let usual = Spreads::default();
    let zone = pond.time_zone.as_deref();
    let request = ForecastRequest {
        calls: PathBuf::new(),
        settings: counted.settings.clone(),
        species,
        weight: Grams::new(weight),
        water: vec![DegreesCelsius::new(water)],
        q10: pond.q10,
        cycle_days: pond.cycle_days.map(Days::new),
        spreads: Spreads {
            animals: pond.cycle_cv.unwrap_or(usual.animals),
            ..usual
        },
        netted: Some(Moment::try_from(sample.netted)?),
        drain_start: start.map(later),
        drain_hours: sample.drain_hours,
        nights: None,
        worth: counted.worth,
        own: OwnNumbers {
            clock: zone.map(PondClock::of_zone).transpose()?,
            ..OwnNumbers::default()
        },
    };
    Ok(forecast_tally(&counted.tally, &request)?)
}
