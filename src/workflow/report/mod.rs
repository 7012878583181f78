//! The pages that leave the lab: values gathered from a sample, given to the report, and written
//! to a file.

mod calls;
mod kept;
mod nights;
mod slides;

pub use crate::workflow::report::calls::CallsPage;
pub use crate::workflow::report::calls::forecast_of;
pub use crate::workflow::report::calls::page_of_calls;
pub(crate) use crate::workflow::report::calls::page_of_calls_with;
pub use crate::workflow::report::kept::page_of_sample;
pub use crate::workflow::report::kept::season_named;
pub use crate::workflow::report::kept::season_of;
pub use crate::workflow::report::nights::ribbon_of;
pub use crate::workflow::report::slides::MOST_SLIDES;
pub use crate::workflow::report::slides::SlideSource;
pub use crate::workflow::report::slides::deciding_slides;

use crate::cycle::arcs::StageArcs;
use crate::exchange::shares::ShareRow;
use crate::exchange::shares::SharesError;
use crate::exchange::shares::shares_table;
use crate::report::About;
use crate::report::NightsAhead;
use crate::report::Paper;
use crate::report::ReportError;
use crate::report::SamplePage;
use crate::report::Season;
use crate::report::Slide;
use crate::report::sample_page;
use crate::report::season;
use crate::report::wall_chart;
use crate::tally::Tally;
use crate::texts;
use crate::workflow::carrying::CarryError;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::ForecastingError;
use crate::workflow::logbook::SessionError;
use crate::workflow::moments::Moment;
use crate::workflow::moments::MomentError;
use crate::workflow::moments::ZoneError;
use crate::workflow::report::nights::nights_in_words;
use crate::workflow::report::nights::spoken;
use crate::workflow::tallying::TallyingError;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Why a page could not be made.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PageError {
    /// There is no tally.
    #[error(transparent)]
    Tally(#[from] TallyingError),
    /// There is no forecast for another reason than that the science gives none.
    #[error(transparent)]
    Forecast(#[from] ForecastingError),
    /// The logbook does not give it.
    #[error(transparent)]
    Session(#[from] SessionError),
    /// No pond of that name.
    #[error("no pond is called \"{name}\": {}", others(ponds))]
    NoPond {
        /// The name.
        name: String,
        /// The ponds that there are.
        ponds: Vec<String>,
    },
    /// A moment in the logbook cannot be read.
    #[error(transparent)]
    Moment(#[from] MomentError),
    /// The sample cannot be carried forward for another reason.
    #[error(transparent)]
    Carry(#[from] CarryError),
    /// The time zone of the pond is none.
    #[error(transparent)]
    Zone(#[from] ZoneError),
    /// The table of shares cannot be made.
    #[error(transparent)]
    Shares(#[from] SharesError),
    /// It could not be laid out or written as PDF.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// The file cannot be written.
    #[error("the page cannot be written; check the folder and that you may write there: {}", file.display())]
    Write {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
}

fn others(ponds: &[String]) -> String {
    if ponds.is_empty() {
        "there is none in the logbook yet".to_owned()
    } else {
        format!("name one of {}", ponds.join(", "))
    }
}

/// What is known of a sample beside its tally and forecast.
#[derive(Debug, Clone)]
pub struct SampleFacts {
    /// Name of the pond.
    pub pond: String,
    /// When it was netted.
    pub netted: Moment,
    /// Further facts, a name and a value each, such as species and weight.
    pub facts: Vec<(String, String)>,
    /// Says whether the data are made up.
    pub made_up: bool,
    /// Who read, a sentence each.
    pub readers: Vec<String>,
    /// Who was not read, and why, a sentence each.
    pub refused: Vec<String>,
    /// Small pictures of the slides that decided it.
    pub slides: Vec<Slide>,
    /// Name of the model that proposed; absent where none did.
    pub model: Option<String>,
}

/// The animals that were not read, given with the reason of each, by reason in words.
pub(in crate::workflow) fn refused_by_reason(
    unread: impl Iterator<Item = (String, &'static str)>,
) -> Vec<String> {
    let mut found: Vec<(&'static str, Vec<String>)> = Vec::new();
    for (animal, reason) in unread {
        match found.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, animals)) => animals.push(animal),
            None => found.push((reason, vec![animal])),
        }
    }
    found
        .iter()
        .map(|(reason, animals)| texts::page::refused_for(reason, animals))
        .collect()
}

/// Name and version of the program.
pub fn program() -> String {
    texts::page::program(env!("CARGO_PKG_VERSION"))
}

/// Puts a page together. `ahead` is the forecast, or in words why there is none.
pub fn page_of(
    facts: SampleFacts,
    tally: &Tally,
    arcs: &StageArcs,
    ahead: Result<&DatedForecast, String>,
) -> SamplePage {
    let mut notes = vec![made_with(facts.model.as_deref())];
    notes.push(texts::readings::NO_REAL_MICROGRAPH.to_owned());
    let (verdict, because) = verdict(tally, ahead.as_ref().ok().copied());
    let mut named = facts.facts;
    named.push((texts::page::ANIMALS.to_owned(), texts::page::animals(tally)));
    SamplePage {
        about: About {
            title: texts::page::title(&facts.pond, facts.netted.spoken()),
            program: program(),
            foot: made_with(facts.model.as_deref()),
            made: Some(facts.netted.spoken()),
        },
        facts: named,
        made_up: facts.made_up,
        verdict,
        because,
        tally: tally.clone(),
        arcs: arcs.clone(),
        assumed: ahead
            .as_ref()
            .map_or_else(|_| tally.assumed.clone(), |found| found.assumed.clone()),
        nights: ahead.map(|found| NightsAhead {
            ribbon: ribbon_of(found),
            sentences: nights_in_words(found),
        }),
        slides: facts.slides,
        readers: facts.readers,
        refused: facts.refused,
        notes,
    }
}

fn made_with(model: Option<&str>) -> String {
    model.map_or_else(program, |name| {
        format!("{}, {}", program(), texts::page::model(name))
    })
}

/// The verdict in one sentence, and why: over the planned drain where there is one, else at the
/// hour of netting.
fn verdict(tally: &Tally, ahead: Option<&DatedForecast>) -> (String, Vec<String>) {
    let harvest = ahead.and_then(|found| found.harvest.as_ref());
    let moment = |text: &str| text.parse::<Moment>().map(Moment::spoken).ok();
    let drain = harvest.and_then(|h| Some((h, moment(&h.start)?, moment(&h.end)?)));
    let mut because = Vec::new();
    let sentence = if let Some((harvest, start, end)) = drain {
        because.extend(harvest.because.iter().map(|why| spoken(why)));
        because.push(texts::forecast::worst(
            harvest.worst_soft,
            harvest.worst_pessimistic_soft,
        ));
        because.extend(moment(&harvest.expires).map(texts::page::expires));
        texts::page::verdict_for(harvest.verdict, start, end)
    } else {
        because.push(texts::page::EXPIRES_AT_DUSK.to_owned());
        texts::page::verdict_at_netting(tally)
    };
    because.insert(0, texts::page::on_the_count(tally));
    (sentence, because)
}

/// Writes the manager's page to a file.
///
/// # Errors
/// [`PageError`] when it cannot be made or written.
pub fn write_page(page: &SamplePage, paper: Paper, file: &Path) -> Result<(), PageError> {
    write(file, &sample_page(page, paper)?)
}

/// Writes the pond report to a file.
///
/// # Errors
/// [`PageError`] when it cannot be made or written.
pub fn write_season(pond: &Season, paper: Paper, file: &Path) -> Result<(), PageError> {
    write(file, &season(pond, paper)?)
}

/// Writes a tally as a tidy table to a CSV file: one row a share, units in the names.
///
/// # Errors
/// [`PageError`] when it cannot be made or written.
pub fn write_shares(tally: &Tally, file: &Path) -> Result<(), PageError> {
    let stages = tally.shares.iter().map(|(stage, at)| ShareRow {
        kind: "stage",
        name: stage.code().to_owned(),
        animals: tally.counts.get(stage).copied().unwrap_or(0),
        of_animals: tally.called,
        share: at.share,
        low: at.low,
        high: at.high,
        interval: tally.intervals.clone(),
        limit: None,
        tested: None,
    });
    let in_hand = tally.soft_in_hand.as_ref().map(|g| ("soft_in_hand", g));
    let groups = [
        ("soft", &tally.soft),
        ("moulting", &tally.moulting),
        ("due", &tally.due),
    ];
    let groups = groups.into_iter().chain(in_hand).map(|(name, g)| ShareRow {
        kind: "group",
        name: name.to_owned(),
        animals: g.count,
        of_animals: g.of,
        share: g.share,
        low: g.low,
        high: g.high,
        interval: texts::page::WILSON.to_owned(),
        limit: Some(g.limit),
        tested: Some(texts::page::tested_code(g.tested).to_owned()),
    });
    let rows: Vec<ShareRow> = stages.chain(groups).collect();
    write(file, &shares_table(&rows)?)
}

/// Writes the stage key for the wall to a file.
///
/// # Errors
/// [`PageError`] when it cannot be made or written.
pub fn write_wall_chart(paper: Paper, file: &Path) -> Result<(), PageError> {
    let about = About {
        title: texts::key::TITLE.to_owned(),
        program: program(),
        foot: program(),
        made: None,
    };
    write(file, &wall_chart(&about, paper)?)
}

/// Writes a file whole or not at all: into a neighbour first, which then takes its name.
fn write(file: &Path, bytes: &[u8]) -> Result<(), PageError> {
    let failed = |source| PageError::Write {
        file: file.to_owned(),
        source,
    };
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(".part");
    let part = file.with_file_name(name);
    let done = fs::write(&part, bytes).and_then(|()| fs::rename(&part, file));
    if done.is_err() {
        // The part is of no use; that it may not be there is no further fault.
        fs::remove_file(&part).ok();
    }
    done.map_err(failed)
}
