//! Labelled slides: animals whose stage is known, on what evidence, and by whom.

use crate::exchange::labels::LabelLine;
use crate::exchange::labels::read_labels;
use crate::logbook::Change;
use crate::logbook::LogbookError;
use crate::logbook::View;
use crate::measure::MEASURING_VERSION;
use crate::moult::Stage;
use crate::records::decisions::Call;
use crate::records::decisions::Label;
use crate::records::decisions::SecondCall;
use crate::records::decisions::Settlement;
use crate::records::ids::AnimalId;
use crate::records::ids::LabelId;
use crate::records::ids::PhotoId;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::ids::ThingId as _;
use crate::records::measures::KeptMeasures;
use crate::records::measures::Measures;
use crate::records::pictures::Photo;
use crate::records::places::Animal;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::stamp::Stamp;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::records::words::Evidence;
use crate::records::words::Keeping;
use crate::texts;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::samples::AnimalInHand;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::path::Path;

/// On what evidence a called animal becomes a label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Known {
    /// The reader's own call.
    OwnCall,
    /// A second call that agreed, or that was settled with the first.
    Settled,
    /// So many days since a moult that was seen.
    DaysSinceMoult(f64),
}

/// A label with what it is about.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelledSlide {
    /// The label.
    pub label: Kept<Label>,
    /// Name of the animal.
    pub animal: String,
    /// Name of its pond.
    pub pond: String,
    /// When its sample was netted.
    pub netted: Stamp,
    /// Its photos: those that the label is about.
    pub photos: Vec<Kept<Photo>>,
    /// Whether the animal was called before its proposal was shown; absent where it was not called
    /// with a proposal in view.
    pub before_proposal: Option<bool>,
}

impl LabelledSlide {
    /// A name of the animal that no other has: what is left out together.
    pub fn animal_key(&self) -> String {
        self.label.body.animal.to_string()
    }
}

/// What became of a table of labels.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TakenLabels {
    /// Labels that came in.
    pub labels: usize,
    /// Photos that came in.
    pub photos: usize,
    /// Lines whose photo has a label already.
    pub already: usize,
}

impl Session {
    /// Makes labels of called animals, as one action. An animal that has a label already gets this
    /// one in its place. Gives how many were written and which animals could not be labelled.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn label_called(
        &mut self,
        animals: &[AnimalId],
        known: Known,
    ) -> Result<(usize, Vec<(String, NoLabel)>), SessionError> {
        let reader = self.reader().to_owned();
        let about = animals.first().map(|animal| animal.row());
        self.act(ActionKind::Label, about, |change| {
            let mut written = 0;
            let mut refused = Vec::new();
            for animal in animals {
                match label_of(change.view(), *animal, known, &reader)? {
                    Ok(label) => {
                        put(change, &label)?;
                        written += 1;
                    }
                    Err(why) => {
                        let name = change.view().standing::<Animal>(*animal)?.body.name;
                        refused.push((name, why));
                    }
                }
            }
            Ok((written, refused))
        })
    }

    /// Makes labels of every animal of a sample that can be labelled on this evidence.
    ///
    /// # Errors
    /// As [`Session::label_called`].
    pub fn label_sample(
        &mut self,
        sample: SampleId,
        known: Known,
    ) -> Result<(usize, Vec<(String, NoLabel)>), SessionError> {
        let hand = self.sample_in_hand(sample)?;
        let called = hand.animals.iter().filter(|of| of.stage().is_some());
        let animals: Vec<AnimalId> = called.map(AnimalInHand::id).collect();
        self.label_called(&animals, known)
    }

    /// Takes in a table of labels with the photos it names, as one action. Ponds are found by their
    /// names, or added; their animals lie in samples of their own, which are not listed among those
    /// that were netted to be judged. Photos that have a label already are left.
    ///
    /// # Errors
    /// [`SessionError`] for a table or photo that cannot be used; nothing is then written.
    pub fn import_labels(
        &mut self,
        table: &Path,
        keeping: Keeping,
    ) -> Result<TakenLabels, SessionError> {
        let lines = read_labels(table)?;
        let known: BTreeSet<String> = self
            .labelled_slides()?
            .into_iter()
            .flat_map(|slide| slide.photos)
            .map(|photo| photo.body.hash)
            .collect();
        // The sample is not there yet; it is put in when the photos are written.
        let nowhere = SampleId::from(crate::records::ids::RowId::from_bytes([0; 16]));
        let mut taken = TakenLabels::default();
        let mut coming: BTreeMap<&str, Vec<(&LabelLine, Photo)>> = BTreeMap::new();
        for line in &lines {
            let photo = self.bring(nowhere, &line.path, keeping).map_err(|source| {
                SessionError::LabelledPhoto {
                    table: table.to_owned(),
                    line: line.line,
                    source: Box::new(source),
                }
            })?;
            if known.contains(&photo.hash) {
                taken.already += 1;
            } else {
                coming.entry(&line.pond).or_default().push((line, photo));
            }
        }
        if coming.is_empty() {
            return Ok(taken);
        }
        let reader = self.reader().to_owned();
        let note = texts::labels::imported_sample(table);
        let (labels, photos) = self.act(ActionKind::Label, None, |change| {
            let mut counts = (0, 0);
            for (pond, lines) in coming {
                let (labels, photos) = take_pond(change, (pond, &note, &reader), lines)?;
                counts = (counts.0 + labels, counts.1 + photos);
            }
            Ok(counts)
        })?;
        Ok(TakenLabels {
            labels,
            photos,
            ..taken
        })
    }

    /// Every standing label with its animal, pond and photos, the oldest first.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn labelled_slides(&self) -> Result<Vec<LabelledSlide>, SessionError> {
        self.see(|view| {
            let labels = view.all::<Label>()?;
            let mut samples: BTreeMap<SampleId, (Stamp, String)> = BTreeMap::new();
            let mut slides = Vec::with_capacity(labels.len());
            for label in labels {
                let animal = view.standing::<Animal>(label.body.animal)?.body;
                let (netted, pond) = if let Some(known) = samples.get(&animal.sample) {
                    known.clone()
                } else {
                    let sample = view.standing::<Sample>(animal.sample)?.body;
                    let pond = view.standing::<Pond>(sample.pond)?.body.name;
                    samples.insert(animal.sample, (sample.netted, pond.clone()));
                    (sample.netted, pond)
                };
                let mut photos = view.naming::<Photo>("animal", label.body.animal.row())?;
                if let Some(only) = label.body.photo {
                    photos.retain(|photo| photo.thing() == only);
                }
                let call = view.calls_of_animal(label.body.animal)?.pop();
                slides.push(LabelledSlide {
                    animal: animal.name,
                    pond,
                    netted,
                    photos,
                    before_proposal: call
                        .filter(|call| call.body.reading.is_some())
                        .map(|call| call.body.before_proposal),
                    label,
                });
            }
            Ok(slides)
        })
    }

    /// The measures of every photo under this program's version of the measuring.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub(in crate::workflow) fn every_measures(
        &self,
    ) -> Result<BTreeMap<PhotoId, Measures>, SessionError> {
        let mut found = BTreeMap::new();
        for kept in self.see(View::all::<KeptMeasures>)? {
            let own = kept.body.measuring_version == i64::from(MEASURING_VERSION);
            if own && kept.body.measures.is_sound() {
                // A later one takes the place of an earlier one.
                found.insert(kept.body.photo, kept.body.measures);
            }
        }
        Ok(found)
    }

    /// A label by its id, or the beginning of it.
    ///
    /// # Errors
    /// [`SessionError::NoLabel`] unless it names exactly one.
    pub fn find_label(&self, given: &str) -> Result<LabelId, SessionError> {
        let wanted = given.trim().to_ascii_lowercase();
        let labels = self.labels()?;
        let mut found = labels
            .iter()
            .map(Kept::thing)
            .filter(|id| !wanted.is_empty() && id.to_string().starts_with(&wanted));
        match (found.next(), found.next()) {
            (Some(one), None) => Ok(one),
            _ => Err(SessionError::NoLabel(given.to_owned())),
        }
    }
}

/// Why an animal gets no label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoLabel {
    /// It was not called, or is unread.
    NotCalled,
    /// It has no photo.
    NoPhoto,
    /// It was called E, which no photo of setal bases shows.
    Shedding,
    /// No second call agreed with the first, and nothing was settled.
    NotSettled,
}

/// The label that an animal's standing call makes.
fn label_of(
    view: View<'_>,
    animal: AnimalId,
    known: Known,
    reader: &str,
) -> Result<Result<Label, NoLabel>, LogbookError> {
    let Some(call) = view.calls_of_animal(animal)?.pop() else {
        return Ok(Err(NoLabel::NotCalled));
    };
    let Some(stage) = call.body.stage else {
        return Ok(Err(NoLabel::NotCalled));
    };
    if stage == Stage::E {
        return Ok(Err(NoLabel::Shedding));
    }
    if view.naming::<Photo>("animal", animal.row())?.is_empty() {
        return Ok(Err(NoLabel::NoPhoto));
    }
    if known == Known::Settled && !is_settled(view, &call)? {
        return Ok(Err(NoLabel::NotSettled));
    }
    let (evidence, days) = match known {
        Known::OwnCall => (Evidence::Call, None),
        Known::Settled => (Evidence::Settled, None),
        Known::DaysSinceMoult(days) => (Evidence::KnownDays, Some(days)),
    };
    let reader = if known == Known::OwnCall {
        call.body.reader
    } else {
        reader.to_owned()
    };
    Ok(Ok(Label {
        animal,
        photo: None,
        stage,
        evidence,
        days_since_moult: days,
        reader,
        note: None,
    }))
}

/// Whether another reader agreed with a call, or both settled on it.
fn is_settled(view: View<'_>, call: &Kept<Call>) -> Result<bool, LogbookError> {
    let animal = call.body.animal.row();
    let settled = view.naming::<Settlement>("animal", animal)?;
    if settled.iter().any(|s| s.body.call == call.head.id) {
        return Ok(true);
    }
    let proposed = |stage: Option<Stage>| stage.and_then(Stage::as_proposed);
    let second = view.naming::<SecondCall>("animal", animal)?;
    Ok(second.last().is_some_and(|second| {
        second.body.reader != call.body.reader
            && proposed(second.body.stage) == proposed(call.body.stage)
    }))
}

/// Writes a label, in the place of the one that the animal has.
fn put(change: &mut Change<'_>, label: &Label) -> Result<(), LogbookError> {
    let standing = change
        .view()
        .naming::<Label>("animal", label.animal.row())?
        .into_iter()
        .find(|kept| kept.body.photo == label.photo);
    match standing {
        Some(kept) => change.edit(kept.thing(), label).map(drop),
        None => change.add(label).map(drop),
    }
}

/// Writes the labels of one pond; gives how many labels and photos.
fn take_pond(
    change: &mut Change<'_>,
    (name, note, reader): (&str, &str, &str),
    lines: Vec<(&LabelLine, Photo)>,
) -> Result<(usize, usize), LogbookError> {
    let name = if name.is_empty() {
        texts::labels::UNNAMED_POND
    } else {
        name
    };
    let ponds = change.view().all::<Pond>()?;
    let known: Option<PondId> = ponds
        .iter()
        .find(|pond| pond.body.name.eq_ignore_ascii_case(name))
        .map(Kept::thing);
    let pond = match known {
        Some(pond) => pond,
        None => change.add(&Pond::named(name))?,
    };
    let sample = change.add(&Sample {
        note: Some(note.to_owned()),
        ..Sample::netted(pond, change.at())
    })?;
    let mut animals: BTreeMap<&str, AnimalId> = BTreeMap::new();
    let photos = lines.len();
    for (position, (line, photo)) in (1..).zip(lines) {
        let animal = if let Some(animal) = animals.get(line.animal.as_str()) {
            *animal
        } else {
            let at = animals.len() as i64 + 1;
            let animal = change.add(&Animal::of(sample, line.animal.clone(), at))?;
            let named = Some(line.reader.as_str()).filter(|name| !name.is_empty());
            let evidence = Some(line.evidence.clone()).filter(|text| !text.is_empty());
            change.add(&Label {
                animal,
                photo: None,
                stage: line.stage,
                evidence: Evidence::Imported,
                days_since_moult: None,
                reader: named.unwrap_or(reader).to_owned(),
                note: evidence,
            })?;
            animals.insert(&line.animal, animal);
            animal
        };
        change.add(&Photo {
            sample,
            animal: Some(animal),
            position,
            ..photo
        })?;
    }
    // It was not netted to be judged: taken off the list, with all that it holds.
    change.withdraw::<Sample>(sample)?;
    Ok((animals.len(), photos))
}
