//! The sample in hand carried forward: what a window or a page shows of the nights ahead.

use crate::cycle::arcs::StageArcs;
use crate::cycle::species::Species;
use crate::forecast::Spreads;
use crate::report::Paper;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::texts;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::ForecastRequest;
use crate::workflow::forecasting::ForecastingError;
use crate::workflow::forecasting::OwnNumbers;
use crate::workflow::forecasting::forecast_tally;
use crate::workflow::moments::Moment;
use crate::workflow::moments::MomentError;
use crate::workflow::report::PageError;
use crate::workflow::report::SampleFacts;
use crate::workflow::report::SlideSource;
use crate::workflow::report::deciding_slides;
use crate::workflow::report::page_of;
use crate::workflow::report::write_page;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// What is carried forward, and how.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The tally.
    pub tally: Tally,
    /// Groups, limits, confidence.
    pub settings: Settings,
    /// The species by its name; absent when not noted.
    pub species: Option<String>,
    /// Mean weight in grams; absent when not noted.
    pub weight_g: Option<f64>,
    /// Daily mean of the water in degrees Celsius; absent when not noted.
    pub water_c: Option<f64>,
    /// When it was netted, with its offset from universal time.
    pub netted: String,
    /// When the gates are planned to open, with its offset; absent for no plan.
    pub drain_start: Option<String>,
    /// So many nights later than that.
    pub drain_later: i32,
    /// How long the drain lasts, in hours.
    pub drain_hours: Option<f64>,
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
    /// No forecast.
    #[error(transparent)]
    Forecast(#[from] ForecastingError),
}

/// Carries the tally forward.
///
/// # Errors
/// [`CarryError`] when something is missing or the science gives no date.
pub fn carry_forward(plan: &Plan) -> Result<DatedForecast, CarryError> {
    let species = plan
        .species
        .as_ref()
        .ok_or(CarryError::NotNoted("species"))?;
    let parsed: Result<Species, _> = species.parse();
    let species = parsed
        .ok()
        .ok_or_else(|| CarryError::Species(species.clone()))?;
    let weight = plan.weight_g.ok_or(CarryError::NotNoted("mean weight"))?;
    let water = plan
        .water_c
        .ok_or(CarryError::NotNoted("water temperature"))?;
    let netted: Moment = plan.netted.parse()?;
    let start = plan
        .drain_start
        .as_ref()
        .map(|start| start.parse())
        .transpose()?;
    let later = |start: Moment| start.later(f64::from(plan.drain_later)).unwrap_or(start);
    let request = ForecastRequest {
        calls: PathBuf::new(),
        settings: plan.settings.clone(),
        species,
        weight: Grams::new(weight),
        water: vec![DegreesCelsius::new(water)],
        q10: None,
        cycle_days: None,
        spreads: Spreads::default(),
        netted: Some(netted),
        drain_start: start.map(later),
        drain_hours: plan.drain_hours,
        nights: None,
        worth: None,
        own: OwnNumbers::default(),
    };
    Ok(forecast_tally(&plan.tally, &request)?)
}

/// What stands on a page beside the tally and the forecast.
#[derive(Debug)]
pub struct PageFacts<'a> {
    /// Name of the pond.
    pub pond: String,
    /// Whether the farm is made up.
    pub made_up: bool,
    /// Who called how many animals.
    pub readers: Vec<(String, usize)>,
    /// The animals that were left unread, and why.
    pub unread: Vec<(String, String)>,
    /// The slides that may stand on it.
    pub slides: Vec<SlideSource<'a>>,
    /// The model that proposed; absent where none did.
    pub model: Option<String>,
}

/// Why no page was saved.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SavePageError {
    /// When it was netted cannot be read.
    #[error(transparent)]
    Moment(#[from] MomentError),
    /// The page cannot be made or written.
    #[error(transparent)]
    Page(#[from] PageError),
}

/// Writes the manager's page of a sample to a PDF file.
///
/// # Errors
/// [`SavePageError`] when it cannot be made or written.
pub fn save_page(plan: &Plan, of: PageFacts<'_>, file: &Path) -> Result<(), SavePageError> {
    let species: Option<Species> = plan.species.as_deref().and_then(|name| name.parse().ok());
    let arcs = species.map_or_else(StageArcs::published, Species::arcs);
    let mut facts = Vec::new();
    facts.extend(species.map(texts::page::species));
    facts.extend(plan.weight_g.map(|w| texts::page::weight(Grams::new(w))));
    facts.extend(
        plan.water_c
            .map(|t| texts::page::water(DegreesCelsius::new(t))),
    );
    let sample = SampleFacts {
        pond: of.pond,
        netted: plan.netted.parse()?,
        facts,
        made_up: of.made_up,
        readers: of
            .readers
            .iter()
            .map(|(name, animals)| texts::page::reader(name, *animals))
            .collect(),
        refused: of
            .unread
            .iter()
            .map(|(animal, why)| texts::page::refused(animal, why))
            .collect(),
        slides: deciding_slides(&plan.tally, &of.slides),
        model: of.model,
    };
    let ahead = carry_forward(plan).map_err(|error| texts::page::because(&error.to_string()));
    let page = page_of(
        sample,
        &plan.tally,
        &arcs,
        ahead.as_ref().map_err(Clone::clone),
    );
    Ok(write_page(&page, Paper::A4, file)?)
}
