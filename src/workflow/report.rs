//! The pages that leave the lab: values gathered from a sample, given to the report, and written
//! to a file.

use crate::cycle::arcs::StageArcs;
use crate::cycle::species::Species;
use crate::drawing::ribbon::Bracket;
use crate::drawing::ribbon::BracketKind;
use crate::drawing::ribbon::Cell;
use crate::drawing::ribbon::Ribbon;
use crate::drawing::straight::StraightMargin;
use crate::exchange::calls::read_calls;
use crate::forecast::ForecastError;
use crate::forecast::Spreads;
use crate::micrograph::decode;
use crate::micrograph::decode::Limits;
use crate::micrograph::encode::displayed;
use crate::micrograph::encode::encode_jpeg;
use crate::micrograph::encode::middle;
use crate::micrograph::encode::narrowed;
use crate::moult::Stage;
use crate::records::Reading;
use crate::report::About;
use crate::report::NightsAhead;
use crate::report::Paper;
use crate::report::ReportError;
use crate::report::SamplePage;
use crate::report::Slide;
use crate::report::sample_page;
use crate::report::wall_chart;
use crate::tally::LimitTally;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::texts;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::DatedSpan;
use crate::workflow::forecasting::ForecastRequest;
use crate::workflow::forecasting::ForecastingError;
use crate::workflow::forecasting::OwnNumbers;
use crate::workflow::forecasting::forecast_calls_file;
use crate::workflow::moments::Moment;
use crate::workflow::tallying::TallyingError;
use crate::workflow::tallying::tally_calls_file;
use std::collections::BTreeSet;
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
        because.extend(moment(&harvest.expires).map(texts::page::expires));
        texts::page::verdict_for(harvest.verdict, start, end)
    } else {
        because.push(texts::page::EXPIRES_AT_DUSK.to_owned());
        texts::page::verdict_at_netting(tally)
    };
    because.insert(0, texts::page::on_the_count(tally));
    (sentence, because)
}

/// A reason as a sentence, its moments as people write them.
fn spoken(reason: &str) -> String {
    let word = |word: &str| {
        let bare = word.trim_end_matches([':', ',', ';', '.']);
        let rest = &word[bare.len()..];
        bare.parse::<Moment>().map_or_else(
            |_| word.to_owned(),
            |moment| format!("{}{rest}", texts::dates::day_and_hour(moment.spoken())),
        )
    };
    let words: Vec<String> = reason.split(' ').map(word).collect();
    texts::page::because(&words.join(" "))
}

/// The night ribbon of a forecast.
pub fn ribbon_of(found: &DatedForecast) -> Ribbon {
    let day_of = |night: usize| {
        let morning = found.netted.later(night as f64);
        morning.map_or_else(String::new, |m| texts::dates::day(m.spoken()))
    };
    let gain = |night: usize| {
        let waiting = found.waiting.as_ref()?;
        let worth = waiting.iter().find(|w| w.night as usize == night)?;
        Some(worth.gain)
    };
    let bracket = |from: &str, to: &str, kind| {
        let days = |text: &str| Some(text.parse::<Moment>().ok()?.days_since(found.netted));
        Some(Bracket {
            from_days: days(from)?,
            to_days: days(to)?,
            kind,
        })
    };
    let span = |span: &Option<DatedSpan>, kind| {
        let span = span.as_ref()?;
        bracket(&span.open_gates_from, &span.drained_by, kind)
    };
    let harvest = found.harvest.as_ref();
    Ribbon {
        cells: found
            .nights
            .iter()
            .map(|night| Cell {
                night: night.night,
                label: day_of(night.night),
                soft: night.soft,
                pessimistic_soft: night.pessimistic_soft,
                moon_lit: night.moon_lit,
                within_expected: night.within_expected,
                within_confident: night.within_confident,
                gain: gain(night.night),
            })
            .collect(),
        soft_limit: found.tally.soft.limit,
        brackets: [
            harvest.and_then(|h| bracket(&h.start, &h.end, BracketKind::Drain)),
            span(&found.expected_span, BracketKind::Expected),
            span(&found.confident_span, BracketKind::Confident),
        ]
        .into_iter()
        .flatten()
        .collect(),
    }
}

/// Spans first, then what to be careful about, and the sentence that ends every forecast.
fn nights_in_words(found: &DatedForecast) -> Vec<String> {
    let moment = |text: &str| text.parse::<Moment>().map(Moment::spoken).ok();
    let span = |span: Option<&DatedSpan>, shown: bool| {
        let span = span?;
        let (opens, drained) = (moment(&span.open_gates_from)?, moment(&span.drained_by)?);
        Some(texts::page::span(shown, opens, drained))
    };
    let nothing_shown = || texts::page::NOTHING_SHOWN.to_owned();
    let mut said = vec![span(found.confident_span.as_ref(), true).unwrap_or_else(nothing_shown)];
    said.extend(found.no_span_because.as_deref().map(spoken));
    said.extend(span(found.expected_span.as_ref(), false));
    said.extend(found.warnings.iter().map(|w| spoken(w)));
    said.push(texts::page::cycle(found.cycle_days, found.cycle_cv));
    said.push(texts::forecast::LAST_SENTENCE.to_owned());
    said
}

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
        refused: unread
            .map(|call| texts::page::refused(&call.animal, texts::page::UNREAD))
            .collect(),
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

/// A slide that may stand on the page.
#[derive(Debug, Clone, Copy)]
pub struct SlideSource<'a> {
    /// Name of the animal.
    pub animal: &'a str,
    /// Its call.
    pub stage: Stage,
    /// What was read in the photo; absent where nothing was.
    pub reading: Option<&'a Reading>,
    /// The photo.
    pub photo: &'a Path,
}

/// So many slides stand on a page at most.
pub const MOST_SLIDES: usize = 6;
/// Width of their pictures in pixels.
const SLIDE_WIDTH: u32 = 520;
/// Height of a picture, in parts of its width.
const SLIDE_SHAPE: f64 = 0.56;
const SLIDE_QUALITY: u8 = 82;

/// Small pictures of the slides that decided a tally: those called into the groups that decided, or
/// where none was, the ones nearest to the next moult. A photo that cannot be read any more is left
/// out.
pub fn deciding_slides(tally: &Tally, slides: &[SlideSource<'_>]) -> Vec<Slide> {
    let groups: [(&str, &LimitTally); 3] = [
        ("soft", &tally.soft),
        ("moulting", &tally.moulting),
        ("due", &tally.due),
    ];
    // What was felt has no stages of its own: the soft ones are shown.
    let in_hand = tally.decided_by.contains(&"soft_in_hand");
    let decided = groups
        .iter()
        .filter(|(name, _)| tally.decided_by.contains(name) || in_hand && *name == "soft");
    let stages: BTreeSet<Stage> = decided
        .filter_map(|(_, group)| group.stages.as_ref())
        .flatten()
        .copied()
        .collect();
    let mut chosen: Vec<&SlideSource<'_>> = slides
        .iter()
        .filter(|s| stages.contains(&s.stage))
        .collect();
    if chosen.is_empty() {
        let due = tally.due.stages.as_deref().unwrap_or_default();
        chosen = slides.iter().filter(|s| due.contains(&s.stage)).collect();
    }
    chosen
        .into_iter()
        .filter_map(picture_of)
        .take(MOST_SLIDES)
        .collect()
}

/// The middle of the straightened margin, or of the photo where there is none.
fn picture_of(source: &SlideSource<'_>) -> Option<Slide> {
    let photo = decode::decode_file(source.photo, &Limits::default()).ok()?;
    let whole = displayed(&photo.micrograph);
    let strip = source
        .reading
        .filter(|reading| reading.usable)
        .and_then(StraightMargin::of)
        .map(|margin| margin.straighten(&whole));
    let shown = strip.unwrap_or(whole);
    let wide = (f64::from(shown.height()) / SLIDE_SHAPE) as u32;
    let high = (f64::from(shown.width()) * SLIDE_SHAPE) as u32;
    let small = narrowed(&middle(&shown, wide, high), SLIDE_WIDTH);
    Some(Slide {
        size: [small.width(), small.height()],
        jpeg: encode_jpeg(&small, SLIDE_QUALITY).ok()?,
        caption: texts::page::slide(source.animal, source.stage),
        says: texts::page::slide_says(source.animal, source.stage),
    })
}

/// Writes the manager's page to a file.
///
/// # Errors
/// [`PageError`] when it cannot be made or written.
pub fn write_page(page: &SamplePage, paper: Paper, file: &Path) -> Result<(), PageError> {
    write(file, &sample_page(page, paper)?)
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
