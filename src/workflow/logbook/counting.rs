//! A sample counted: its tally by the farm's limits, what its pond has of its own, and the known
//! errors of the farm's readers.

use crate::cycle::arcs::StageArcs;
use crate::cycle::species::Species;
use crate::decision::misreading::consider;
use crate::decision::reader_error::KnownSlide;
use crate::decision::waiting::Worth;
use crate::exchange::known::read_known;
use crate::moult::Stage;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::words::Amount;
use crate::records::words::Caught;
use crate::tally;
use crate::tally::Catch;
use crate::tally::RigidAfter;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::units::Days;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::units::Probability;
use crate::workflow::forecasting::noted_cycle;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::samples::AnimalInHand;
use crate::workflow::logbook::samples::SampleInHand;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::Path;

/// Key of the setting that holds [`ReaderSlides`].
const READER_SLIDES: &str = "reader_slides";

/// A sample in hand, counted, with what it takes to carry it forward.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted {
    /// The tally.
    pub tally: Tally,
    /// The groups and limits it was held against.
    pub settings: Settings,
    /// The pond.
    pub pond: Pond,
    /// The sample.
    pub sample: Sample,
    /// The pond's numbers for the value of waiting, where they were given.
    pub worth: Option<Worth>,
}

/// Slides of known truth and how the farm's readers called them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReaderSlides {
    /// The file they came from, by its name.
    pub from: String,
    /// The slides.
    pub slides: Vec<ReadSlide>,
}

/// A slide of known truth, as it is kept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ReadSlide {
    /// The true stage.
    pub truth: Stage,
    /// The stage called.
    pub call: Stage,
    /// How many slides it stands for.
    pub weight: f64,
}

impl Session {
    /// Counts a sample in hand.
    ///
    /// # Errors
    /// [`SessionError`] when the farm's settings cannot be understood.
    pub fn count(&self, hand: &SampleInHand) -> Result<Counted, SessionError> {
        let (sample, pond) = (&hand.sample.body, &hand.pond.body);
        let settings = self.settings_for(sample, pond)?;
        let mut tally = tally_in_hand(hand, &settings);
        if let Some(known) = self.reader_slides()? {
            let known: Vec<KnownSlide> = known.slides.iter().map(known_slide).collect();
            consider(&mut tally, &settings, &known);
        } else {
            self.consider_own_slides(&mut tally, &settings, hand)?;
        }
        Ok(Counted {
            tally,
            settings,
            pond: pond.clone(),
            sample: sample.clone(),
            worth: self.worth_of(sample.pond)?,
        })
    }

    /// Where nobody gave a table of slides: the slides of known truth that second readings and known
    /// days of this logbook gave for the readers of the sample, once they are enough.
    fn consider_own_slides(
        &self,
        tally: &mut Tally,
        settings: &Settings,
        hand: &SampleInHand,
    ) -> Result<(), SessionError> {
        let calls = hand.animals.iter().filter_map(AnimalInHand::call);
        let readers: BTreeSet<String> = calls.map(|call| call.body.reader.clone()).collect();
        if !readers.is_empty() {
            let known = self.known_truth(&readers)?;
            if known.is_enough(settings) {
                consider(tally, settings, &known.slides);
            }
        }
        Ok(())
    }

    /// The tally of a sample: its standing calls against its limits, the animals without a call
    /// counted as unread.
    ///
    /// # Errors
    /// [`SessionError`] when the sample is not there or settings allow no answer.
    pub fn tally(&self, id: SampleId) -> Result<Tally, SessionError> {
        Ok(self.count(&self.sample_in_hand(id)?)?.tally)
    }

    /// The groups, limits and confidence for a sample: the farm's, replaced by its pond's, and how
    /// it was caught. Days until a shell is rigid count only where they lie within half of a cycle
    /// that can be named; else the soft stages stand.
    fn settings_for(&self, sample: &Sample, pond: &Pond) -> Result<Settings, SessionError> {
        let limits = self.farm_limits()?;
        let rigid_after = limits.rigid_after_days;
        let mut settings = limits.settings();
        for (own, limit) in [
            (pond.soft_limit, &mut settings.soft_limit),
            (pond.moulting_limit, &mut settings.moulting_limit),
            (pond.due_limit, &mut settings.due_limit),
            (pond.confidence, &mut settings.confidence),
        ] {
            if let Some(own) = own {
                *limit = Probability::clamped(own);
            }
        }
        settings.catch = match sample.catch {
            Caught::Net => Catch::Net,
            Caught::FeedTray => Catch::FeedTray,
        };
        settings.many_shed_shells = sample.shed_shells == Some(Amount::Many);
        let rigid = rigid_after.zip(cycle_of(sample, pond));
        settings.rigid_after = rigid
            .map(|(days, cycle)| RigidAfter {
                days: Days::new(days),
                cycle,
            })
            .filter(|rigid| rigid.days.get() < 0.5 * rigid.cycle.get());
        Ok(settings.checked()?)
    }

    /// The slides of known truth that the farm's tallies consider; absent where there are none.
    ///
    /// # Errors
    /// [`SessionError::Setting`] when what is kept cannot be understood.
    pub fn reader_slides(&self) -> Result<Option<ReaderSlides>, SessionError> {
        self.kept_setting(READER_SLIDES)
    }

    /// Takes a CSV file of slides of known truth in, for all tallies of the farm; or leaves them out
    /// again.
    ///
    /// # Errors
    /// [`SessionError::Known`] for a file that cannot be used.
    pub fn set_reader_slides(&mut self, file: Option<&Path>) -> Result<usize, SessionError> {
        let Some(file) = file else {
            self.keep_setting(READER_SLIDES, &None::<ReaderSlides>)?;
            return Ok(0);
        };
        let name = file.file_name().unwrap_or_default();
        let read = read_known(file)?;
        let slides: Vec<ReadSlide> = read
            .into_iter()
            .map(|line| ReadSlide {
                truth: line.truth,
                call: line.call,
                weight: line.weight,
            })
            .collect();
        let count = slides.len();
        let kept = ReaderSlides {
            from: name.to_string_lossy().into_owned(),
            slides,
        };
        self.keep_setting(READER_SLIDES, &kept)?;
        Ok(count)
    }

    /// A pond's numbers for the value of waiting; absent where they were not given.
    ///
    /// # Errors
    /// [`SessionError::Setting`] when what is kept cannot be understood.
    pub fn worth_of(&self, pond: PondId) -> Result<Option<Worth>, SessionError> {
        self.kept_setting(&worth_key(pond))
    }

    /// Keeps a pond's numbers for the value of waiting, or leaves them out again.
    ///
    /// # Errors
    /// [`SessionError::Worth`] for numbers that are no pond's.
    pub fn set_worth(&mut self, pond: PondId, worth: Option<Worth>) -> Result<(), SessionError> {
        let worth = worth.map(Worth::checked).transpose()?;
        self.keep_setting(&worth_key(pond), &worth)
    }
}

fn worth_key(pond: PondId) -> String {
    format!("waiting/{pond}")
}

const fn known_slide(slide: &ReadSlide) -> KnownSlide {
    KnownSlide {
        truth: slide.truth,
        call: slide.call,
        weight: slide.weight,
    }
}

/// The length of the cycle of a sample; absent where something was not noted or the science names
/// none.
fn cycle_of(sample: &Sample, pond: &Pond) -> Option<Days> {
    noted_cycle(
        pond.species.as_deref()?.parse().ok()?,
        Grams::new(sample.mean_weight_g?),
        DegreesCelsius::new(sample.water_c?),
        (pond.q10, pond.cycle_days.map(Days::new)),
    )
}

/// The tally of a sample in hand with these settings; nothing is read from the logbook.
pub fn tally_in_hand(hand: &SampleInHand, settings: &Settings) -> Tally {
    let animals: Vec<tally::Animal> = hand
        .animals
        .iter()
        .map(|of| tally::Animal {
            stage: of.stage(),
            shell: of.animal.body.shell,
        })
        .collect();
    let stations: Vec<_> = hand
        .animals
        .iter()
        .map(|of| (of.animal.body.station.as_deref(), of.stage()))
        .collect();
    let species = hand.pond.body.species.as_deref();
    let species: Option<Species> = species.and_then(|name| name.parse().ok());
    let arcs = species.map_or_else(StageArcs::published, Species::arcs);
    let mut tally = tally::tally(&animals, settings, &arcs);
    tally.stations = tally::compare_stations(&stations, settings);
    let throws: Vec<Option<String>> = hand
        .animals
        .iter()
        .map(|of| of.animal.body.throw.map(|throw| throw.to_string()))
        .collect();
    let throws: Vec<_> = throws
        .iter()
        .zip(&hand.animals)
        .map(|(throw, of)| (throw.as_deref(), of.stage()))
        .collect();
    tally.throws = tally::compare_stations(&throws, settings);
    tally
}
