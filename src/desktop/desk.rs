//! What lies on the desk: the sample in hand as the window knows it, a copy of what stands in the
//! logbook.

use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::Reading;
use crate::records::stamp::Stamp;
use crate::records::words::Amount;
use crate::records::words::Caught;
use crate::texts::window;
use crate::workflow::animals::AnimalProposal;
use crate::workflow::animals::animal_proposal;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::farm::FarmLimits;
use crate::workflow::results::SheetRow;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

/// A photo of an animal.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoSheet {
    /// What tells it from others.
    pub id: String,
    /// Hash of its bytes.
    pub hash: String,
    /// Name of its file, for a person.
    pub name: String,
    /// Where it is.
    pub path: PathBuf,
    /// Width and height in pixels, where known.
    pub size: Option<[u32; 2]>,
    /// Micrometres per pixel of its microscope, where known.
    pub um_per_px: Option<f64>,
    /// The standing reading.
    pub reading: Option<Arc<Reading>>,
    /// Whether a person corrected what was measured.
    pub by_hand: bool,
}

/// The standing call of an animal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CallSheet {
    /// The stage; absent when the slide was refused.
    pub stage: Option<Stage>,
    /// Why it was refused, in words.
    pub unread_because: Option<String>,
    /// Who called.
    pub reader: String,
    /// The proposal at that moment.
    pub proposal: Option<Stage>,
    /// Whether it was called before the proposal was shown.
    pub before_proposal: bool,
}

/// An animal of the sample.
#[derive(Debug, Clone, PartialEq)]
pub struct AnimalSheet {
    /// What tells it from others.
    pub id: String,
    /// Its name, such as 07.
    pub name: String,
    /// Where it was netted.
    pub station: Option<String>,
    /// The shell as felt.
    pub shell: Option<Shell>,
    /// A note about it.
    pub note: String,
    /// Its photos in order.
    pub photos: Vec<PhotoSheet>,
    /// The standing call.
    pub call: Option<CallSheet>,
    /// Where several calls stand beside each other, all of them, the standing one last.
    pub rivals: Vec<CallSheet>,
    /// Whether another reader is wanted.
    pub second_wanted: bool,
    /// Whether it is called before its proposal is shown.
    pub blind: bool,
    /// What the program proposes.
    pub proposal: Option<AnimalProposal>,
}

/// How far an animal is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// No photo belongs to it.
    NoPhoto,
    /// A photo waits to be read.
    Waiting,
    /// Every photo was refused.
    Refused,
    /// Read, no call yet.
    Read,
    /// Called.
    Called,
    /// Refused by a person.
    Unread,
}

impl Standing {
    /// In a word or two.
    pub const fn words(self) -> &'static str {
        window::STANDINGS[self as usize]
    }
}

impl AnimalSheet {
    /// What the tray shows, in words.
    pub fn in_words(&self) -> String {
        let call = self.call.as_ref().and_then(|call| call.stage);
        let state = call.map_or_else(|| self.standing().words().to_owned(), window::called_stage);
        if !self.rivals.is_empty() {
            return window::animal_with_rivals(&self.name, self.rivals.len());
        }
        let ambiguous =
            self.second_wanted || (self.is_uncalled() && !self.is_hidden() && self.is_ambiguous());
        window::animal_state(&self.name, self.station.as_deref(), &state, ambiguous)
    }

    /// How far it is.
    pub fn standing(&self) -> Standing {
        match &self.call {
            Some(call) if call.stage.is_some() => return Standing::Called,
            Some(_) => return Standing::Unread,
            None => {}
        }
        if self.photos.is_empty() {
            Standing::NoPhoto
        } else if self.photos.iter().any(|photo| photo.reading.is_none()) {
            Standing::Waiting
        } else if self.proposal.is_none() {
            Standing::Refused
        } else {
            Standing::Read
        }
    }

    /// Whether nothing was decided about it.
    pub const fn is_uncalled(&self) -> bool {
        self.call.is_none()
    }

    /// Whether what was found is kept from the eye until the call.
    pub const fn is_hidden(&self) -> bool {
        self.blind && self.call.is_none()
    }

    /// Whether it needs more than agreement: marked for a second reader, called twice, or without a
    /// proposal though read.
    pub fn is_ambiguous(&self) -> bool {
        self.second_wanted
            || !self.rivals.is_empty()
            || match &self.proposal {
                Some(proposal) => !proposal.may_be_agreed(),
                None => false,
            }
    }

    /// Makes the proposal anew from the photos.
    pub fn propose(&mut self) {
        let readings = self
            .photos
            .iter()
            .filter_map(|photo| photo.reading.as_deref());
        self.proposal = animal_proposal(readings);
    }
}

/// The sample in hand.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SampleSheet {
    /// What tells it from others.
    pub id: String,
    /// Name of its pond.
    pub pond: String,
    /// When it was netted, for a person.
    pub netted: String,
    /// When the gates are planned to open, with its offset from universal time.
    pub harvest_at: Option<String>,
    /// How long the drain lasts, in hours.
    pub drain_hours: Option<f64>,
    /// Mean weight in grams.
    pub weight_g: Option<f64>,
    /// Water temperature in degrees Celsius.
    pub water_c: Option<f64>,
    /// Species of the pond.
    pub species: Option<String>,
    /// Whether the farm is made up.
    pub made_up: bool,
    /// What the model in use was tested with, in a sentence.
    pub tested: String,
    /// Its animals in order.
    pub animals: Vec<AnimalSheet>,
}

impl SampleSheet {
    /// Animals with a call, refused ones included, and animals in all.
    pub fn done(&self) -> (usize, usize) {
        let done = self.animals.iter().filter(|animal| animal.call.is_some());
        (done.count(), self.animals.len())
    }

    /// The first animal after `at`, going round, that is wanted.
    pub fn next(&self, at: usize, wanted: impl Fn(&AnimalSheet) -> bool) -> Option<usize> {
        let count = self.animals.len();
        (1..=count)
            .map(|step| (at + step) % count)
            .find(|i| wanted(&self.animals[*i]))
    }

    /// Photos without a reading, in the order in which a person at `at` will look: from there on,
    /// then those before.
    pub fn unread_from(&self, at: usize) -> Vec<&PhotoSheet> {
        let count = self.animals.len();
        (0..count)
            .map(|step| &self.animals[(at + step) % count])
            .flat_map(|animal| &animal.photos)
            .filter(|photo| photo.reading.is_none())
            .collect()
    }

    /// The photo of this id.
    pub fn photo(&self, id: &str) -> Option<&PhotoSheet> {
        let photos = self.animals.iter().flat_map(|animal| &animal.photos);
        photos.into_iter().find(|photo| photo.id == id)
    }

    /// Its animals as the rows of a table: one a photo, or one for an animal without.
    pub fn rows(&self) -> Vec<SheetRow> {
        let row = |animal: &AnimalSheet, reading: Option<Arc<Reading>>| SheetRow {
            animal: animal.name.clone(),
            station: animal.station.clone(),
            reading,
            call: match &animal.call {
                Some(call) => call
                    .stage
                    .map_or(window::UNREAD_CODE, Stage::code)
                    .to_owned(),
                None => String::new(),
            },
        };
        let mut rows = Vec::new();
        for animal in &self.animals {
            let readings = animal.photos.iter().map(|photo| photo.reading.clone());
            let before = rows.len();
            rows.extend(readings.map(|reading| row(animal, reading)));
            if rows.len() == before {
                rows.push(row(animal, None));
            }
        }
        rows
    }

    /// The animal of this id.
    pub fn animal(&self, id: &str) -> Option<&AnimalSheet> {
        self.animals.iter().find(|animal| animal.id == id)
    }
}

/// A sample in the list of its pond.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleLine {
    /// What tells it from others.
    pub id: String,
    /// When it was netted, for a person.
    pub netted: String,
    /// Mean weight in grams.
    pub weight_g: Option<f64>,
    /// Water temperature in degrees Celsius.
    pub water_c: Option<f64>,
    /// Animals netted.
    pub animals: usize,
    /// Animals called.
    pub called: usize,
    /// Share of soft animals.
    pub soft: Option<f64>,
    /// Share of animals about to moult.
    pub due: Option<f64>,
    /// What the tests say, in words; absent when nothing was called.
    pub answer: Option<String>,
    /// What the harvest turned out to be, in words.
    pub outcome: Option<String>,
    /// A note.
    pub note: String,
}

/// A pond with its samples.
#[derive(Debug, Clone, PartialEq)]
pub struct PondSheet {
    /// What tells it from others.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its species.
    pub species: Option<String>,
    /// A note.
    pub note: String,
    /// Its samples in time.
    pub samples: Vec<SampleLine>,
}

/// A microscope profile.
#[derive(Debug, Clone, PartialEq)]
pub struct ProfileSheet {
    /// What tells it from others.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its scale.
    pub um_per_px: f64,
    /// Whether photos that come get its scale.
    pub in_use: bool,
}

/// The farm.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FarmSheet {
    /// Its name.
    pub name: String,
    /// The file of its logbook.
    pub file: PathBuf,
    /// The person who reads.
    pub reader: String,
    /// Its ponds.
    pub ponds: Vec<PondSheet>,
    /// Its microscope profiles.
    pub profiles: Vec<ProfileSheet>,
    /// Its limits.
    pub limits: FarmLimits,
    /// The file and number of the slides of known truth that its tallies consider.
    pub reader_slides: Option<(String, usize)>,
}

/// Where a file goes that a person names: beside the logbook, unless they name a folder from the
/// root on.
pub fn beside(logbook: &Path, file: &Path) -> PathBuf {
    let folder = logbook.parent();
    folder.map_or_else(|| file.to_owned(), |folder| folder.join(file))
}

/// A sample as a person notes it.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleForm {
    /// Name of the pond, new or known.
    pub pond: String,
    /// Date and hour on the clock of this machine, such as 2026-11-26 06:00.
    pub netted: String,
    /// Mean weight in grams.
    pub weight_g: Option<f64>,
    /// Water temperature in degrees Celsius.
    pub water_c: Option<f64>,
    /// Species.
    pub species: Option<String>,
    /// Animals wanted.
    pub animals: usize,
    /// How it was caught.
    pub catch: Caught,
    /// Shed shells in the net.
    pub shed_shells: Option<Amount>,
    /// When the gates are planned to open, written as the netting is; empty for no plan.
    pub harvest: String,
    /// How long the drain lasts, in hours.
    pub drain_hours: Option<f64>,
    /// A note.
    pub note: String,
    /// The sample that is changed; absent for a new one.
    pub changes: Option<String>,
    /// Whether it was shown before.
    pub shown: bool,
    /// Whether Enter was pressed in the name of the pond.
    pub entered: bool,
}

impl SampleForm {
    /// A form filled in from the last sample of its pond and the clock.
    pub fn after(sheet: &SampleSheet) -> Self {
        let named = |text: &String| Some(text.clone()).filter(|text| !text.is_empty());
        Self {
            pond: named(&sheet.pond).unwrap_or_default(),
            netted: Session::now().date_and_hour(),
            weight_g: sheet.weight_g,
            water_c: sheet.water_c,
            species: sheet.species.clone(),
            animals: sheet.animals.len().max(USUAL_ANIMALS),
            catch: Caught::Net,
            shed_shells: None,
            harvest: String::new(),
            drain_hours: sheet.drain_hours.or(Some(24.0)),
            note: String::new(),
            changes: None,
            shown: false,
            entered: false,
        }
    }

    /// A form that changes the sample in hand; absent when there is none.
    pub fn of(sheet: &SampleSheet) -> Option<Self> {
        let moment = |at: &String| stamp(at).map(Stamp::date_and_hour).unwrap_or_default();
        let harvest = sheet.harvest_at.as_ref().map(moment);
        (!sheet.id.is_empty()).then(|| Self {
            netted: sheet.netted.clone(),
            harvest: harvest.unwrap_or_default(),
            drain_hours: sheet.drain_hours,
            changes: Some(sheet.id.clone()),
            ..Self::after(sheet)
        })
    }

    /// The moment of netting.
    ///
    /// # Errors
    /// Words on how to write it.
    pub fn netted_stamp(&self) -> Result<Stamp, String> {
        stamp(&self.netted)
    }

    /// The planned start of the drain; absent for no plan.
    ///
    /// # Errors
    /// Words on how to write it.
    pub fn harvest_stamp(&self) -> Result<Option<Stamp>, String> {
        if self.harvest.trim().is_empty() {
            return Ok(None);
        }
        stamp(&self.harvest).map(Some)
    }
}

/// Animals that are netted where nobody says.
///
/// # Source
/// Common practice: 20 to 30 animals.
const USUAL_ANIMALS: usize = 30;

/// A date and hour on the clock of this machine, or one with its own offset.
///
/// # Errors
/// Words on how to write it.
pub fn stamp(text: &str) -> Result<Stamp, String> {
    let text = text.trim();
    let offset = Session::now().offset_min();
    let sign = if offset < 0 { '-' } else { '+' };
    let (hours, minutes) = (offset.abs() / 60, offset.abs() % 60);
    let local = format!(
        "{}{sign}{hours:02}:{minutes:02}",
        text.replacen(' ', "T", 1)
    );
    let own = text.parse().ok();
    let parsed = own.or_else(|| local.parse().ok());
    parsed.ok_or_else(|| window::no_moment(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_read_on_the_clock_of_the_machine_or_with_their_own() {
        let local = stamp("2026-11-26 06:30").unwrap();
        assert_eq!(local.date_and_hour(), "2026-11-26 06:30");
        let own = stamp("2026-11-26T06:30:00+07:00").unwrap();
        assert_eq!(own.offset_min(), 420);
        assert!(stamp("tomorrow").unwrap_err().contains("tomorrow"));
    }

    fn animal(name: &str, call: Option<Stage>) -> AnimalSheet {
        AnimalSheet {
            id: name.to_owned(),
            name: name.to_owned(),
            station: None,
            shell: None,
            note: String::new(),
            photos: vec![PhotoSheet {
                id: format!("p{name}"),
                hash: String::new(),
                name: String::new(),
                path: PathBuf::new(),
                size: None,
                um_per_px: None,
                reading: None,
                by_hand: false,
            }],
            call: call.map(|stage| CallSheet {
                stage: Some(stage),
                unread_because: None,
                reader: String::new(),
                proposal: None,
                before_proposal: false,
            }),
            rivals: Vec::new(),
            second_wanted: false,
            blind: false,
            proposal: None,
        }
    }

    #[test]
    fn the_next_is_searched_round_and_photos_are_read_in_the_order_of_looking() {
        let sample = SampleSheet {
            animals: vec![
                animal("1", None),
                animal("2", Some(Stage::C)),
                animal("3", None),
                animal("4", Some(Stage::B)),
            ],
            ..SampleSheet::default()
        };
        assert_eq!(sample.next(2, AnimalSheet::is_uncalled), Some(0));
        assert_eq!(sample.next(0, AnimalSheet::is_uncalled), Some(2));
        assert_eq!(sample.next(0, |a| a.name == "9"), None);
        let order: Vec<&str> = sample
            .unread_from(2)
            .iter()
            .map(|p| p.id.as_str())
            .collect();
        assert_eq!(order, ["p3", "p4", "p1", "p2"]);
        assert_eq!(sample.done(), (2, 4));
        assert_eq!(SampleSheet::default().next(0, |_| true), None);
    }
}
