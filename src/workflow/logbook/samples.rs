//! Samples and their animals, and the tally of what was called.

use crate::logbook::View;
use crate::logbook::animals::OpenCalls;
use crate::moult::Stage;
use crate::records::decisions::Call;
use crate::records::ids::AnimalId;
use crate::records::ids::SampleId;
use crate::records::ids::ThingId as _;
use crate::records::pictures::Photo;
use crate::records::places::Animal;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;

/// An animal with its photos and calls.
#[derive(Debug, Clone, PartialEq)]
pub struct AnimalInHand {
    /// The animal.
    pub animal: Kept<Animal>,
    /// Its photos, in their order.
    pub photos: Vec<Kept<Photo>>,
    /// Its open calls, the standing one last; several are rivals to be settled.
    pub calls: OpenCalls,
}

impl AnimalInHand {
    /// Its id.
    pub fn id(&self) -> AnimalId {
        self.animal.thing()
    }

    /// The standing call; absent when it was not called, or the call was taken back.
    pub fn call(&self) -> Option<&Kept<Call>> {
        self.calls.last()
    }

    /// The stage called; absent when unread or not called.
    pub fn stage(&self) -> Option<Stage> {
        self.call()?.body.stage
    }
}

/// A sample with its pond, animals and photos.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleInHand {
    /// The sample.
    pub sample: Kept<Sample>,
    /// Its pond.
    pub pond: Kept<Pond>,
    /// Its animals, in the order of the tray.
    pub animals: Vec<AnimalInHand>,
    /// Photos that are assigned to no animal.
    pub unassigned: Vec<Kept<Photo>>,
}

impl Session {
    /// Begins a sample.
    ///
    /// # Errors
    /// [`SessionError`] for values that do not go together, or a pond that is not there.
    pub fn new_sample(&mut self, sample: &Sample) -> Result<SampleId, SessionError> {
        self.act(ActionKind::NewSample, Some(sample.pond.row()), |change| {
            change.add(sample)
        })
    }

    /// Changes a sample: give it as it should read now.
    ///
    /// # Errors
    /// As [`Session::new_sample`].
    pub fn edit_sample(&mut self, id: SampleId, sample: &Sample) -> Result<(), SessionError> {
        self.act(ActionKind::EditSample, Some(id.row()), |change| {
            change.edit(id, sample).map(drop)
        })
    }

    /// Takes a sample off the list; its animals and calls stay in the logbook.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn withdraw_sample(&mut self, id: SampleId) -> Result<(), SessionError> {
        self.act(ActionKind::Withdraw, Some(id.row()), |change| {
            change.withdraw::<Sample>(id)
        })
    }

    /// A sample as it stands.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn sample(&self, id: SampleId) -> Result<Kept<Sample>, SessionError> {
        self.see(|view| view.standing::<Sample>(id))
    }

    /// The samples netted last.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn latest_samples(&self, at_most: usize) -> Result<Vec<Kept<Sample>>, SessionError> {
        self.see(|view| view.latest_samples(at_most))
    }

    /// The sample that a person names: by the beginning of its id, or as `POND@DATE` with the
    /// pond's name (capitals or not) and the date, or date and hour, on the sample's own clock.
    ///
    /// # Errors
    /// [`SessionError::NoSample`] or [`SessionError::ManySamples`] unless it names exactly one.
    pub fn find_sample(&self, given: &str) -> Result<Kept<Sample>, SessionError> {
        let wanted = given.trim();
        let ponds = self.see(View::all::<Pond>)?;
        let pond_name = |sample: &Kept<Sample>| {
            let pond = ponds.iter().find(|p| p.thing() == sample.body.pond);
            pond.map_or("", |pond| pond.body.name.as_str()).to_owned()
        };
        let mut found = if let Some((name, date)) = wanted.rsplit_once('@') {
            let date = date.replace(' ', "T");
            let mut of_ponds = Vec::new();
            for pond in &ponds {
                if pond.body.name.to_lowercase() == name.trim().to_lowercase() {
                    let pond = pond.thing().row();
                    of_ponds.extend(self.see(|view| view.naming::<Sample>("pond", pond))?);
                }
            }
            of_ponds.retain(|sample| sample.body.netted.to_string().starts_with(&date));
            of_ponds
        } else {
            let beginning = wanted.to_ascii_lowercase();
            let mut all = self.see(View::all::<Sample>)?;
            all.retain(|sample| sample.thing().to_string().starts_with(&beginning));
            all
        };
        if wanted.is_empty() || wanted.ends_with('@') {
            found.clear();
        }
        match found.len() {
            0 => Err(SessionError::NoSample(given.to_owned())),
            1 => found
                .pop()
                .ok_or_else(|| SessionError::NoSample(given.to_owned())),
            _ => Err(SessionError::ManySamples {
                given: given.to_owned(),
                found: found
                    .iter()
                    .take(8)
                    .map(|sample| {
                        let netted = sample.body.netted.date_and_hour();
                        format!("{} {netted}, {}", pond_name(sample), sample.thing())
                    })
                    .collect(),
            }),
        }
    }

    /// A sample with everything that the tray shows.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn sample_in_hand(&self, id: SampleId) -> Result<SampleInHand, SessionError> {
        self.see(|view| {
            let sample = view.standing::<Sample>(id)?;
            let pond = view.standing::<Pond>(sample.body.pond)?;
            let mut calls = view.calls_of_sample(id)?;
            let mut photos = view.naming::<Photo>("sample", id.row())?;
            photos.sort_by_key(|photo| (photo.body.position, photo.head.of));
            let mut animals: Vec<AnimalInHand> = view
                .naming::<Animal>("sample", id.row())?
                .into_iter()
                .map(|animal| AnimalInHand {
                    calls: calls.remove(&animal.thing()).unwrap_or_default(),
                    animal,
                    photos: Vec::new(),
                })
                .collect();
            animals.sort_by_key(|of| (of.animal.body.position, of.animal.head.of));
            let mut unassigned = Vec::new();
            for photo in photos {
                let shows = |of: &&mut AnimalInHand| Some(of.id()) == photo.body.animal;
                match animals.iter_mut().find(shows) {
                    Some(of) => of.photos.push(photo),
                    None => unassigned.push(photo),
                }
            }
            Ok(SampleInHand {
                sample,
                pond,
                animals,
                unassigned,
            })
        })
    }

    /// Adds an animal.
    ///
    /// # Errors
    /// [`SessionError`] when its sample is not there.
    pub fn add_animal(&mut self, animal: &Animal) -> Result<AnimalId, SessionError> {
        let about = Some(animal.sample.row());
        self.act(ActionKind::AddAnimals, about, |change| change.add(animal))
    }

    /// Adds so many animals, numbered on from those that are there; for a netting that is counted
    /// first, so that none is dropped.
    ///
    /// # Errors
    /// [`SessionError`] when the sample is not there.
    pub fn add_animals(
        &mut self,
        sample: SampleId,
        count: usize,
    ) -> Result<Vec<AnimalId>, SessionError> {
        let from = self.next_position(sample)?;
        self.act(ActionKind::AddAnimals, Some(sample.row()), |change| {
            (from..)
                .take(count)
                .map(|position| change.add(&numbered(sample, position)))
                .collect()
        })
    }

    /// Changes what is known of an animal: its name, station, throw, shell as felt, note.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn edit_animal(&mut self, id: AnimalId, animal: &Animal) -> Result<(), SessionError> {
        let about = Some(animal.sample.row());
        self.act(ActionKind::EditAnimal, about, |change| {
            change.edit(id, animal).map(drop)
        })
    }

    /// An animal as it stands.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn animal(&self, id: AnimalId) -> Result<Kept<Animal>, SessionError> {
        self.see(|view| view.standing::<Animal>(id))
    }

    /// Takes an animal out of its sample, such as one entered twice.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn withdraw_animal(&mut self, id: AnimalId) -> Result<(), SessionError> {
        self.act(ActionKind::Withdraw, Some(id.row()), |change| {
            change.withdraw::<Animal>(id)
        })
    }

    /// The place after the last animal of a sample.
    pub(in crate::workflow) fn next_position(&self, sample: SampleId) -> Result<i64, SessionError> {
        let animals = self.see(|view| view.naming::<Animal>("sample", sample.row()))?;
        let last = animals.iter().map(|animal| animal.body.position).max();
        Ok(last.unwrap_or(0) + 1)
    }
}

/// An animal named by its number.
pub(in crate::workflow) fn numbered(sample: SampleId, position: i64) -> Animal {
    Animal::of(sample, format!("{position:02}"), position)
}
