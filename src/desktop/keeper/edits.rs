//! What each letter does to the logbook.

use crate::decision::waiting::Worth;
use crate::desktop::desk::SampleForm;
use crate::desktop::desk::beside;
use crate::desktop::keeper::Letter;
use crate::desktop::keeper::kept::Changes;
use crate::desktop::keeper::kept::Kept;
use crate::desktop::keeper::kept::LastReading;
use crate::desktop::keeper::kept::Trouble;
use crate::desktop::keeper::kept::Work;
use crate::desktop::keeper::kept::id;
use crate::desktop::keeper::kept::told;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::Reading;
use crate::records::ids::AnimalId;
use crate::records::ids::PhotoId;
use crate::records::measures::Measures;
use crate::records::places::Animal;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::words::Unread;
use crate::report::Paper;
use crate::texts;
use crate::texts::window;
use crate::workflow::collect::collect_photos;
use crate::workflow::logbook::calls::CalledByName;
use crate::workflow::logbook::calls::NewCall;
use crate::workflow::logbook::photos::PhotoImport;
use crate::workflow::pictures::ReadForTheEye;
use crate::workflow::report::page_of_sample;
use crate::workflow::report::write_page;
use crate::workflow::results::save;
use serde_json::Value;
use serde_json::json;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

impl Kept {
    /// Does what a letter asks for.
    pub(in crate::desktop::keeper) fn work(&mut self, letter: Letter) -> Result<Work, Trouble> {
        match letter {
            Letter::NewSample(form) => self.new_sample(&form),
            Letter::TakeSample(sample) => {
                self.sample = Some(id(&sample)?);
                Ok(Work::farm(window::IN_HAND))
            }
            Letter::TakePhotos(paths) => self.take_photos(&paths),
            Letter::Keep { photo, done } => self.keep(&photo, *done),
            Letter::Correct { photo, reading } => self.correct(&photo, &reading.0, &reading.1),
            Letter::Call {
                animal,
                stage,
                before_proposal,
            } => self.call(&animal, stage, before_proposal),
            Letter::Count(stage) => self.count(stage),
            Letter::Refuse { animal, why } => self.refuse(&animal, why),
            Letter::Withdraw { animal } => {
                let name = self.name_of(&animal)?;
                let animal = id(&animal)?;
                self.session()?.take_call_back(animal).map_err(told)?;
                Ok(Work::sample(window::withdrawn(&name)))
            }
            Letter::Second { animal, wanted } => self.second(&animal, wanted),
            Letter::Shell { animal, shell } => self.shell(&animal, shell),
            Letter::Note { animal, note } => self.note(&animal, &note),
            Letter::Assign { photo, animal } => self.assign(&photo, &animal),
            Letter::Reader(name) => {
                self.session()?.set_reader(&name);
                let said = window::reader(&name);
                self.open_round = None;
                self.reader = name;
                Ok(Work::farm(said))
            }
            Letter::Limits(limits) => {
                self.session()?.set_farm_limits(&limits).map_err(told)?;
                self.lines.clear();
                Ok(Work::farm(window::LIMITS_SET))
            }
            Letter::Profile(profile) => {
                let made = self.session()?.add_microscope(&profile).map_err(told)?;
                self.microscope = Some(made);
                Ok(Work::farm(window::profile_made(
                    &profile.name,
                    profile.um_per_px,
                )))
            }
            Letter::UseProfile(profile) => {
                self.microscope = profile.map(|profile| id(&profile)).transpose()?;
                Ok(Work::farm(window::PROFILE_CHOSEN))
            }
            Letter::Farm => Ok(Work {
                said: None,
                changes: Changes::Farm,
                look_at: None,
            }),
            Letter::Outcome(outcome) => {
                self.session()?.add_outcome(&outcome).map_err(told)?;
                Ok(Work::farm(window::OUTCOME_NOTED))
            }
            Letter::Worth(worth) => self.worth(worth.map(|worth| *worth)),
            Letter::ReaderSlides(file) => self.take_reader_slides(file.as_deref()),
            Letter::Merge(other) => self.merge(&other),
            Letter::SaveTable(file) => self.save_table(&file),
            Letter::SavePage(file) => self.save_page(&file),
            Letter::Readers(letter) => self.readers(letter),
            Letter::Training => Ok(Work {
                said: None,
                changes: Changes::Training,
                look_at: None,
            }),
            Letter::Label(animal) => self.label(animal.as_deref()),
            Letter::ImportLabels(table) => self.import_labels(&table),
            Letter::WithdrawLabel { label, because } => self.withdraw_label(&label, &because),
            Letter::Adopt(name) => self.adopt(&name),
            Letter::GoBack => self.go_back(),
            Letter::ReadSampleAgain => self.read_sample_again(),
            Letter::ExportModel(file) => self.export_model(&file),
            Letter::ImportModel(file) => self.import_model(&file),
            Letter::Undo => self.turn(true),
            Letter::Redo => self.turn(false),
            Letter::Open(_) | Letter::Search(_) => Ok(Work {
                said: None,
                changes: Changes::Nothing,
                look_at: None,
            }),
        }
    }

    fn new_sample(&mut self, form: &SampleForm) -> Result<Work, Trouble> {
        let name = form.pond.trim();
        if name.is_empty() {
            return Err(window::NO_POND_NAME.to_owned());
        }
        let netted = form.netted_stamp()?;
        let harvest_start = form.harvest_stamp()?;
        let session = self.session()?;
        let ponds = session.ponds().map_err(told)?;
        let species = form.species.clone();
        let known = ponds.iter().find(|pond| pond.body.name == name);
        let pond = if let Some(pond) = known {
            if pond.body.species != species && species.is_some() {
                let body = Pond {
                    species,
                    ..pond.body.clone()
                };
                session.edit_pond(pond.thing(), &body).map_err(told)?;
            }
            pond.thing()
        } else {
            let pond = Pond {
                species,
                ..Pond::named(name)
            };
            session.add_pond(&pond).map_err(told)?
        };
        if let Some(changed) = &form.changes {
            let changed = id(changed)?;
            let before = session.sample(changed).map_err(told)?.body;
            let same = before.netted.date_and_hour() == netted.date_and_hour();
            let sample = Sample {
                pond,
                netted: if same { before.netted } else { netted },
                mean_weight_g: form.weight_g,
                water_c: form.water_c,
                harvest_start,
                drain_hours: form.drain_hours,
                ..before
            };
            session.edit_sample(changed, &sample).map_err(told)?;
            self.lines.clear();
            return Ok(Work::farm(window::SAMPLE_CHANGED));
        }
        let sample = Sample {
            mean_weight_g: form.weight_g,
            water_c: form.water_c,
            animals_wanted: Some(form.animals as i64),
            catch: form.catch,
            shed_shells: form.shed_shells,
            harvest_start,
            drain_hours: form.drain_hours,
            note: Some(form.note.trim().to_owned()).filter(|note| !note.is_empty()),
            ..Sample::netted(pond, netted)
        };
        let made = session.new_sample(&sample).map_err(told)?;
        self.sample = Some(made);
        Ok(Work::farm(window::sample_begun(name)))
    }

    fn take_photos(&mut self, paths: &[PathBuf]) -> Result<Work, Trouble> {
        let sample = self.in_hand()?;
        let found = collect_photos(paths).map_err(|error| error.to_string())?;
        let files: Vec<PathBuf> = found.into_iter().map(|photo| photo.path).collect();
        let how = PhotoImport {
            microscope: self.microscope,
            ..PhotoImport::COPIED
        };
        let came = self
            .session()?
            .import_photos(sample, &files, how)
            .map_err(told)?;
        if let Some((_, error)) = came.failed.into_iter().next() {
            return Err(error.to_string());
        }
        Ok(Work::sample(window::photos_taken(came.came.len())))
    }

    fn keep(&mut self, photo: &str, done: ReadForTheEye) -> Result<Work, Trouble> {
        let photo: PhotoId = id(photo)?;
        let measured = done.read.tip_and_measurements.as_ref();
        let measures = measured.map(|(_, measurements)| Measures::of(measurements));
        let reading = done.read.reading;
        let row = self
            .session()?
            .keep_measured(photo, &reading, measures.as_ref(), None)
            .map_err(told)?;
        let last = LastReading {
            row,
            reading: Arc::new(reading),
            size: done.size,
            by_hand: false,
        };
        self.readings.insert(photo, Some(last));
        Ok(Work {
            said: None,
            changes: Changes::Readings,
            look_at: None,
        })
    }

    fn correct(
        &mut self,
        photo: &str,
        reading: &Reading,
        measures: &Measures,
    ) -> Result<Work, Trouble> {
        let photo: PhotoId = id(photo)?;
        let before = self.readings.get(&photo).cloned().flatten();
        let based_on = before.as_ref().map(|last| last.row);
        let row = self
            .session()?
            .keep_measured(photo, reading, Some(measures), based_on)
            .map_err(told)?;
        let last = LastReading {
            row,
            reading: Arc::new(reading.clone()),
            size: before.and_then(|last| last.size),
            by_hand: true,
        };
        self.readings.insert(photo, Some(last));
        Ok(Work::sample(window::CORRECTED))
    }

    fn call(&mut self, animal: &str, stage: Stage, before_proposal: bool) -> Result<Work, Trouble> {
        let sheet = self.animal_sheet(animal)?;
        let found = sheet.proposal.as_ref();
        let row = found.and(self.reading_in_view(animal)?);
        let call = NewCall {
            stage: Some(stage),
            reading: row,
            proposal: found.and_then(|found| found.stage),
            before_proposal: before_proposal && found.is_some(),
            second_wanted: sheet.second_wanted,
            ..NewCall::default()
        };
        let proposal = call.proposal;
        let animal = id(animal)?;
        if sheet.rivals.is_empty() {
            self.session()?.call(animal, call).map_err(told)?;
        } else {
            let because = window::SETTLED_BECAUSE;
            let settled = self.session()?.settle(animal, Some(stage), None, because);
            settled.map_err(told)?;
            return Ok(Work::sample(window::settled(&sheet.name, stage)));
        }
        Ok(Work::sample(window::called(&sheet.name, stage, proposal)))
    }

    fn count(&mut self, stage: Stage) -> Result<Work, Trouble> {
        let sample = self.in_hand()?;
        let session = self.session()?;
        let hand = session.sample_in_hand(sample).map_err(told)?;
        // An animal that was noted and has neither photo nor call comes first.
        let open = hand
            .animals
            .iter()
            .find(|of| of.photos.is_empty() && of.call().is_none());
        let name = if let Some(of) = open {
            of.animal.body.name.clone()
        } else {
            let last = hand.animals.iter().map(|of| of.animal.body.position).max();
            format!("{:02}", last.unwrap_or(0) + 1)
        };
        let line = CalledByName {
            animal: name.clone(),
            stage: Some(stage),
            shell: None,
            station: None,
        };
        session.call_by_name(sample, &line).map_err(told)?;
        Ok(Work::sample(window::called(&name, stage, None)))
    }

    fn refuse(&mut self, animal: &str, why: Unread) -> Result<Work, Trouble> {
        let sheet = self.animal_sheet(animal)?;
        let animal = id(animal)?;
        let because = window::unread_because(why);
        let session = self.session()?;
        if sheet.rivals.is_empty() {
            session.call(animal, NewCall::unread(why))
        } else {
            session.settle(animal, None, None, because)
        }
        .map_err(told)?;
        Ok(Work::sample(window::refused(&sheet.name, because)))
    }

    /// On a call the mark stands in the call; before it, in a setting of the sample.
    fn second(&mut self, animal: &str, wanted: bool) -> Result<Work, Trouble> {
        let sheet = self.animal_sheet(animal)?;
        let thing: AnimalId = id(animal)?;
        if sheet.call.is_some() {
            let note = self.call_note(thing)?;
            self.session()?
                .annotate_call(thing, note, wanted)
                .map_err(told)?;
        } else {
            let key = self.second_key()?;
            let mut wanting = self.second_wanting()?;
            wanting.retain(|own| own != animal);
            if wanted {
                wanting.push(animal.to_owned());
            }
            self.session()?
                .set_setting(&key, json!(wanting))
                .map_err(told)?;
        }
        Ok(Work::sample(window::second(&sheet.name, wanted)))
    }

    /// Under which setting the marks of animals that are not called yet stand.
    fn second_key(&self) -> Result<String, Trouble> {
        Ok(format!("second_wanted/{}", self.in_hand()?))
    }

    /// The animals that are marked and not called yet.
    pub(in crate::desktop::keeper) fn second_wanting(&mut self) -> Result<Vec<String>, Trouble> {
        let key = self.second_key()?;
        let value = self.session()?.setting(&key).map_err(told)?;
        let listed = value.as_ref().and_then(Value::as_array).map(|listed| {
            let texts = listed.iter().filter_map(Value::as_str);
            texts.map(str::to_owned).collect()
        });
        Ok(listed.unwrap_or_default())
    }

    fn call_note(&mut self, animal: AnimalId) -> Result<Option<String>, Trouble> {
        let history = self.session()?.history_of_call(animal).map_err(told)?;
        Ok(history.last().and_then(|call| call.body.note.clone()))
    }

    fn edit_animal(
        &mut self,
        animal: &str,
        change: impl FnOnce(&mut Animal),
    ) -> Result<String, Trouble> {
        let animal: AnimalId = id(animal)?;
        let session = self.session()?;
        let mut body = session.animal(animal).map_err(told)?.body;
        change(&mut body);
        session.edit_animal(animal, &body).map_err(told)?;
        Ok(body.name)
    }

    fn shell(&mut self, animal: &str, shell: Option<Shell>) -> Result<Work, Trouble> {
        let name = self.edit_animal(animal, |body| body.shell = shell)?;
        Ok(Work::sample(window::shell_noted(&name, shell)))
    }

    fn note(&mut self, animal: &str, note: &str) -> Result<Work, Trouble> {
        let note = Some(note.to_owned()).filter(|note| !note.is_empty());
        let name = self.edit_animal(animal, |body| body.note = note)?;
        Ok(Work::sample(window::noted(&name)))
    }

    fn assign(&mut self, photo: &str, animal: &str) -> Result<Work, Trouble> {
        let name = self.name_of(animal)?;
        let (photo, animal) = (id(photo)?, id(animal)?);
        self.session()?
            .assign_photo(photo, Some(animal))
            .map_err(told)?;
        Ok(Work::sample(window::assigned(&name)))
    }

    fn turn(&mut self, back: bool) -> Result<Work, Trouble> {
        let session = self.session()?;
        let done = if back { session.undo() } else { session.redo() }.map_err(told)?;
        let Some(done) = done else {
            let nothing = if back {
                window::NOTHING_TO_UNDO
            } else {
                window::NOTHING_TO_REDO
            };
            return Ok(Work::sample(nothing));
        };
        let what = window::kind(done.kind);
        let said = if back {
            window::undone(what)
        } else {
            window::redone(what)
        };
        let mut work = Work::farm(said);
        work.look_at = done.about.map(AnimalId::from);
        // A correction may be among what was turned.
        self.readings.clear();
        self.lines.clear();
        self.stay_in_hand()?;
        Ok(work)
    }

    /// When the sample in hand was taken back, the latest one comes into hand.
    fn stay_in_hand(&mut self) -> Result<(), Trouble> {
        let latest = self
            .session()?
            .latest_samples(usize::MAX >> 1)
            .map_err(told)?;
        let there = |id| latest.iter().any(|sample| sample.thing() == id);
        if !self.sample.is_some_and(there) {
            self.sample = latest.first().map(crate::records::table::Kept::thing);
        }
        Ok(())
    }

    fn save_page(&mut self, file: &Path) -> Result<Work, Trouble> {
        let sample = self.in_hand()?;
        let file = self.placed(file)?;
        let page = page_of_sample(self.session()?, sample);
        let written = page.and_then(|page| write_page(&page, Paper::A4, &file));
        written.map_err(|error| error.to_string())?;
        Ok(Work::sample(window::saved(&file)))
    }

    /// Where a file goes that a person names: beside the logbook, unless they name a folder from the
    /// root on.
    pub(in crate::desktop::keeper) fn placed(&mut self, file: &Path) -> Result<PathBuf, Trouble> {
        Ok(beside(self.session()?.file(), file))
    }

    /// Where a file lies that a person names: as they name it, else beside the logbook.
    pub(in crate::desktop::keeper) fn found(&mut self, file: &Path) -> Result<PathBuf, Trouble> {
        if file.exists() {
            return Ok(file.to_owned());
        }
        self.placed(file)
    }

    fn worth(&mut self, worth: Option<Worth>) -> Result<Work, Trouble> {
        let sample = self.in_hand()?;
        let session = self.session()?;
        let pond = session.sample(sample).map_err(told)?.body.pond;
        session.set_worth(pond, worth).map_err(told)?;
        let said = match worth {
            Some(_) => window::WORTH_KEPT,
            None => window::WORTH_LEFT_OUT,
        };
        Ok(Work::sample(said))
    }

    fn take_reader_slides(&mut self, file: Option<&Path>) -> Result<Work, Trouble> {
        let file = file.map(|file| self.found(file)).transpose()?;
        let session = self.session()?;
        let count = session.set_reader_slides(file.as_deref()).map_err(told)?;
        self.lines.clear();
        Ok(Work::farm(window::reader_slides_taken(count)))
    }

    fn merge(&mut self, other: &Path) -> Result<Work, Trouble> {
        let other = self.found(other)?;
        let taken = self.session()?.merge(&other).map_err(told)?;
        self.readings.clear();
        self.lines.clear();
        self.stay_in_hand()?;
        let sum = taken.rows.total();
        let mut said = vec![texts::logbook::taken(sum.new, sum.known, taken.photos)];
        let ponds = taken.rows.ponds_of_one_name.iter();
        said.extend(ponds.map(|name| texts::logbook::ponds_of_one_name(name)));
        if taken.rows.animals_with_rivals > 0 {
            said.push(texts::logbook::rivals(taken.rows.animals_with_rivals));
            said.push(window::SETTLE_RIVALS.to_owned());
        }
        if sum.differing > 0 {
            said.push(texts::logbook::differing(sum.differing));
        }
        if !taken.photos_missing.is_empty() {
            said.push(window::photos_missing(taken.photos_missing.len()));
        }
        let backup = taken.backup.file_name().unwrap_or_default();
        said.push(texts::logbook::backup_before(&backup.to_string_lossy()));
        Ok(Work::farm(said.join(" ")))
    }

    fn save_table(&mut self, file: &Path) -> Result<Work, Trouble> {
        let (sheet, _) = self.sample_sheet(false)?;
        let file = self.placed(file)?;
        save(&file, &sheet.rows()).map_err(|error| error.to_string())?;
        Ok(Work::sample(window::saved(&file)))
    }
}
