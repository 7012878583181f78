//! The pages of what the logbook holds: a sample, and a pond over a season.

use crate::cycle::arcs::StageArcs;
use crate::cycle::species::Species;
use crate::forecast::ForecastError;
use crate::records::Reading;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::report::About;
use crate::report::SamplePage;
use crate::report::Season;
use crate::report::SeasonSample;
use crate::tally::Tally;
use crate::texts;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::workflow::carrying::CarryError;
use crate::workflow::carrying::Trial;
use crate::workflow::carrying::carry_forward;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::ForecastingError;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::counting::Counted;
use crate::workflow::logbook::made_up::MARK;
use crate::workflow::logbook::samples::AnimalInHand;
use crate::workflow::logbook::samples::SampleInHand;
use crate::workflow::moments::Moment;
use crate::workflow::own_scores::tested;
use crate::workflow::report::PageError;
use crate::workflow::report::SampleFacts;
use crate::workflow::report::SlideSource;
use crate::workflow::report::deciding_slides;
use crate::workflow::report::page_of;
use crate::workflow::report::program;
use crate::workflow::report::refused_by_reason;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Puts the page of a sample of the logbook together.
///
/// # Errors
/// [`PageError`] when the sample is not there, or its numbers allow no tally.
pub fn page_of_sample(session: &Session, id: SampleId) -> Result<SamplePage, PageError> {
    let hand = session.sample_in_hand(id)?;
    let counted = session.count(&hand)?;
    let tally = &counted.tally;
    let (pond, sample) = (&hand.pond.body, &hand.sample.body);
    let arcs = species_of(pond).map_or_else(StageArcs::published, Species::arcs);
    let read = readings(session, &hand)?;
    let facts = SampleFacts {
        pond: pond.name.clone(),
        netted: Moment::try_from(sample.netted)?,
        facts: facts(pond, sample),
        made_up: is_made_up(session, pond)?,
        readers: readers(session, &hand)?,
        refused: refused_by_reason(hand.animals.iter().filter_map(unread)),
        slides: slides(&hand, tally, &read),
        model: read.values().find_map(|(reading, _)| reading.model.clone()),
    };
    let ahead = forecast(&counted)?;
    let ahead = ahead.as_ref().map_err(Clone::clone);
    let mut page = page_of(facts, tally, &arcs, ahead);
    let tested = tested(session)?;
    for note in &mut page.notes {
        if note == texts::readings::NO_REAL_MICROGRAPH {
            note.clone_from(&tested);
        }
    }
    Ok(page)
}

fn species_of(pond: &Pond) -> Option<Species> {
    pond.species.as_deref()?.parse().ok()
}

/// A logbook that says so of itself, or a pond whose note does.
fn is_made_up(session: &Session, pond: &Pond) -> Result<bool, PageError> {
    let marked = session.setting(MARK)?.is_some();
    let noted = pond.note.as_deref().is_some_and(|note| {
        let note = note.to_lowercase();
        note.contains("made up") || note.contains("made-up")
    });
    Ok(marked || noted)
}

fn facts(pond: &Pond, sample: &Sample) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    facts.extend(species_of(pond).map(texts::page::species));
    facts.extend(
        sample
            .mean_weight_g
            .map(|w| texts::page::weight(Grams::new(w))),
    );
    let water = sample.water_c.map(DegreesCelsius::new);
    facts.extend(water.map(texts::page::water));
    facts
}

/// The first usable reading of each animal with its photo, or its first reading.
type Read = BTreeMap<usize, (Reading, PathBuf)>;

fn readings(session: &Session, hand: &SampleInHand) -> Result<Read, PageError> {
    let mut found = Read::new();
    for (number, of) in hand.animals.iter().enumerate() {
        for photo in &of.photos {
            let Some(kept) = session.reading_of(photo.thing())? else {
                continue;
            };
            let new = (kept.body.reading, session.photo_file(&photo.body));
            let better = found
                .get(&number)
                .is_none_or(|(old, _)| !old.usable && new.0.usable);
            if better {
                found.insert(number, new);
            }
        }
    }
    Ok(found)
}

fn slides(hand: &SampleInHand, tally: &Tally, read: &Read) -> Vec<crate::report::Slide> {
    let sources: Vec<SlideSource<'_>> = read
        .iter()
        .filter_map(|(number, (reading, photo))| {
            let of = hand.animals.get(*number)?;
            Some(SlideSource {
                animal: &of.animal.body.name,
                stage: of.stage()?,
                reading: Some(reading),
                photo,
            })
        })
        .collect();
    deciding_slides(tally, &sources)
}

/// Who called how many animals, and who read second.
fn readers(session: &Session, hand: &SampleInHand) -> Result<Vec<String>, PageError> {
    let mut first: BTreeMap<String, usize> = BTreeMap::new();
    let mut second: BTreeMap<String, (usize, usize)> = BTreeMap::new();
    for of in &hand.animals {
        if let Some(call) = of.call().filter(|call| call.body.stage.is_some()) {
            *first.entry(call.body.reader.clone()).or_default() += 1;
        }
        for call in session.second_calls_of(of.id())? {
            let both = call.body.stage.zip(of.stage());
            let counted = second.entry(call.body.reader).or_default();
            counted.0 += 1;
            counted.1 += usize::from(both.is_some_and(|(a, b)| a == b));
        }
    }
    let mut said: Vec<String> = first
        .iter()
        .map(|(name, animals)| texts::page::reader(name, *animals))
        .collect();
    said.extend(
        second
            .iter()
            .map(|(name, (animals, same))| texts::page::second_reader(name, *animals, *same)),
    );
    Ok(said)
}

/// Why an animal has no stage.
fn unread(of: &AnimalInHand) -> Option<(String, &'static str)> {
    if of.stage().is_some() {
        return None;
    }
    let because = of.call().and_then(|call| call.body.unread_because);
    let why = because.map_or(texts::page::NOT_CALLED, texts::window::unread_because);
    Some((of.animal.body.name.clone(), why))
}

/// The forecast, or in words why there is none.
fn forecast(counted: &Counted) -> Result<Result<DatedForecast, String>, PageError> {
    match carry_forward(counted, Trial::default()) {
        Ok(found) => Ok(Ok(found)),
        Err(CarryError::NotNoted(_) | CarryError::Species(_)) => {
            Ok(Err(texts::page::NO_FORECAST.to_owned()))
        }
        Err(CarryError::Forecast(ForecastingError::Refused(why))) => {
            Ok(Err(texts::page::because(&why.to_string())))
        }
        Err(CarryError::Forecast(ForecastingError::Forecast(ForecastError::NothingCalled))) => {
            Ok(Err(texts::page::NOTHING_CALLED.to_owned()))
        }
        Err(error) => Err(error.into()),
    }
}

/// The report of the pond with this name, capitals or not.
///
/// # Errors
/// [`PageError::NoPond`] when there is none, or as [`season_of`].
pub fn season_named(session: &Session, name: &str) -> Result<Season, PageError> {
    let wanted = name.trim().to_lowercase();
    let ponds = session.ponds()?;
    let found = ponds
        .iter()
        .find(|pond| pond.body.name.to_lowercase() == wanted);
    let pond = found.ok_or_else(|| PageError::NoPond {
        name: name.to_owned(),
        ponds: ponds.iter().map(|pond| pond.body.name.clone()).collect(),
    })?;
    season_of(session, pond.thing())
}

/// Puts the report of a pond together: all its samples in the order of their netting, the last
/// verdict given over each, and what the harvests showed.
///
/// # Errors
/// [`PageError`] when the pond is not there, or a sample allows no tally.
pub fn season_of(session: &Session, id: PondId) -> Result<Season, PageError> {
    let pond = session.pond(id)?.body;
    let mut dated = session.samples_of(id)?;
    dated.sort_by_key(|counted| counted.sample.body.netted);
    let mut samples = Vec::with_capacity(dated.len());
    for counted in dated {
        let sample = counted.sample.thing();
        let last = session.verdicts_of(sample)?.pop();
        samples.push(SeasonSample {
            netted: Moment::try_from(counted.sample.body.netted)?.spoken(),
            tally: session.tally(sample)?,
            verdict: last.map(|kept| texts::page::verdict_given(&kept.body.said)),
        });
    }
    let mut outcomes = Vec::new();
    for kept in session.outcomes_of(id)? {
        let of = kept.body;
        let soft = of.soft_found.zip(of.animals_checked);
        let harvested = Moment::try_from(of.harvested)?.spoken();
        outcomes.push(texts::page::outcome(harvested, soft, of.note.as_deref()));
    }
    let ends = samples.first().zip(samples.last());
    let title = ends.map_or_else(
        || texts::page::pond(&pond.name),
        |(from, to)| texts::page::season_title(&pond.name, from.netted, to.netted),
    );
    Ok(Season {
        about: About {
            title,
            program: program(),
            foot: program(),
            made: samples.last().map(|sample| sample.netted),
        },
        made_up: is_made_up(session, &pond)?,
        samples,
        outcomes,
    })
}
