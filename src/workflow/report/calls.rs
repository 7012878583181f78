//! The page of a table of calls.

use crate::cycle::arcs::StageArcs;
use crate::cycle::species::Species;
use crate::exchange::calls::read_calls;
use crate::forecast::ForecastError;
use crate::forecast::Spreads;
use crate::report::SamplePage;
use crate::report::Slide;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::texts;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::ForecastRequest;
use crate::workflow::forecasting::ForecastingError;
use crate::workflow::forecasting::OwnNumbers;
use crate::workflow::forecasting::forecast_calls_file;
use crate::workflow::moments::Moment;
use crate::workflow::report::PageError;
use crate::workflow::report::SampleFacts;
use crate::workflow::report::page_of;
use crate::workflow::report::refused_by_reason;
use crate::workflow::tallying::TallyingError;
use crate::workflow::tallying::tally_calls_file;
use std::path::PathBuf;

/// A page made from a table of calls.
#[derive(Debug, Clone)]
pub struct CallsPage {
    /// CSV file of calls.
    pub calls: PathBuf,
    /// Groups, limits, confidence.
    pub settings: Settings,
    /// Name of the pond.
    pub pond: String,
    /// When it was netted.
    pub netted: Moment,
    /// The species; without it there is no forecast.
    pub species: Option<Species>,
    /// Mean weight; without it there is no forecast.
    pub weight: Option<Grams>,
    /// Daily mean of the water, of the netting and the days after it; empty for no forecast.
    pub water: Vec<DegreesCelsius>,
    /// When the gates open, for a verdict over a drain.
    pub drain_start: Option<Moment>,
    /// How many hours the drain lasts; absent for the usual.
    pub drain_hours: Option<f64>,
    /// Names of the readers.
    pub readers: Vec<String>,
    /// Says whether the data are made up.
    pub made_up: bool,
}

/// Puts the page of a table of calls together.
///
/// # Errors
/// [`PageError`] for a table, setting or drain that cannot be used.
pub fn page_of_calls(request: &CallsPage) -> Result<SamplePage, PageError> {
    page_of_calls_with(request, None, |_| Vec::new())
}

/// The same with a model and slides, which are chosen when the tally is known.
pub(crate) fn page_of_calls_with(
    request: &CallsPage,
    model: Option<String>,
    slides: impl FnOnce(&Tally) -> Vec<Slide>,
) -> Result<SamplePage, PageError> {
    let calls = read_calls(&request.calls).map_err(TallyingError::from)?;
    let tally = tally_calls_file(&request.calls, request.settings.clone())?;
    let unread = calls.iter().filter(|call| call.stage.is_none());
    let arcs = request
        .species
        .map_or_else(StageArcs::published, Species::arcs);
    let facts = SampleFacts {
        pond: request.pond.clone(),
        netted: request.netted,
        facts: facts_of(request),
        made_up: request.made_up,
        readers: request.readers.clone(),
        refused: refused_by_reason(unread.map(|call| (call.animal.clone(), texts::page::UNREAD))),
        slides: slides(&tally),
        model,
    };
    let ahead = forecast_of(request)?;
    Ok(page_of(
        facts,
        &tally,
        &arcs,
        ahead.as_ref().map_err(Clone::clone),
    ))
}

fn facts_of(request: &CallsPage) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    facts.extend(request.species.map(texts::page::species));
    facts.extend(request.weight.map(texts::page::weight));
    facts.extend(
        request
            .water
            .first()
            .map(|water| texts::page::water(*water)),
    );
    facts
}

/// The forecast of a table of calls, or in words why there is none.
///
/// # Errors
/// [`PageError`] for a table, setting or drain that cannot be used.
pub fn forecast_of(request: &CallsPage) -> Result<Result<DatedForecast, String>, PageError> {
    let (Some(species), Some(weight)) = (request.species, request.weight) else {
        return Ok(Err(texts::page::NO_FORECAST.to_owned()));
    };
    if request.water.is_empty() {
        return Ok(Err(texts::page::NO_FORECAST.to_owned()));
    }
    let asked = ForecastRequest {
        calls: request.calls.clone(),
        settings: request.settings.clone(),
        species,
        weight,
        water: request.water.clone(),
        q10: None,
        cycle_days: None,
        spreads: Spreads::default(),
        netted: Some(request.netted),
        drain_start: request.drain_start,
        drain_hours: request.drain_hours,
        nights: None,
        worth: None,
        own: OwnNumbers::default(),
    };
    match forecast_calls_file(&asked) {
        Ok(found) => Ok(Ok(found)),
        Err(ForecastingError::Refused(why)) => Ok(Err(texts::page::because(&why.to_string()))),
        Err(ForecastingError::Forecast(ForecastError::NothingCalled)) => {
            Ok(Err(texts::page::NOTHING_CALLED.to_owned()))
        }
        Err(error) => Err(error.into()),
    }
}
