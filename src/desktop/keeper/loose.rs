//! A sample that is kept nowhere: photos of a folder, until a logbook is open.

use crate::desktop::desk::AnimalSheet;
use crate::desktop::desk::CallSheet;
use crate::desktop::desk::PhotoSheet;
use crate::desktop::desk::SampleSheet;
use crate::desktop::keeper::Answer;
use crate::desktop::keeper::Letter;
use crate::texts::window;
use crate::workflow::blind::before_proposal;
use crate::workflow::collect::collect_photos;
use crate::workflow::pictures::ReadForTheEye;
use crate::workflow::pictures::hash_of;
use std::path::PathBuf;
use std::sync::Arc;

/// The sample and what can be taken back.
#[derive(Debug, Default)]
pub struct Loose {
    sheet: SampleSheet,
    before: Vec<(SampleSheet, String)>,
    after: Vec<(SampleSheet, String)>,
}

impl Loose {
    /// An empty sample.
    pub fn new() -> Self {
        Self {
            sheet: SampleSheet {
                id: "loose".to_owned(),
                ..SampleSheet::default()
            },
            ..Self::default()
        }
    }

    /// Does what a letter asks for.
    pub fn answer(&mut self, letter: Letter) -> Answer {
        let about = letter.about().map(str::to_owned);
        let mut said = None;
        let mut trouble = None;
        match letter {
            Letter::TakePhotos(paths) => match self.take(&paths) {
                Ok(count) => said = Some(window::photos_taken(count)),
                Err(error) => trouble = Some(error),
            },
            Letter::Keep { photo, done } => self.keep(&photo, *done),
            Letter::Undo => said = self.turn_back(),
            Letter::Redo => said = self.turn_on(),
            edit => said = self.edit(edit),
        }
        Answer {
            sheet: Arc::new(self.sheet.clone()),
            about,
            look_at: None,
            said,
            trouble,
            undo: self.before.last().map(|(_, what)| what.clone()),
            redo: self.after.last().map(|(_, what)| what.clone()),
        }
    }

    fn take(&mut self, paths: &[PathBuf]) -> Result<usize, String> {
        let found = collect_photos(paths).map_err(|error| error.to_string())?;
        let mut taken = 0;
        for photo in found {
            let hash =
                hash_of(&photo.path).map_err(|error| window::cannot_open(&photo.path, &error))?;
            if self
                .sheet
                .animals
                .iter()
                .flat_map(|a| &a.photos)
                .any(|p| p.hash == hash)
            {
                continue;
            }
            taken += 1;
            let number = self.sheet.animals.len();
            self.sheet.animals.push(AnimalSheet {
                id: format!("animal-{}", number + 1),
                name: format!("{:02}", number + 1),
                station: None,
                shell: None,
                note: String::new(),
                photos: vec![PhotoSheet {
                    id: format!("photo-{hash}"),
                    hash,
                    name: photo
                        .path
                        .file_name()
                        .unwrap_or_default()
                        .to_string_lossy()
                        .into_owned(),
                    path: photo.path,
                    size: None,
                    reading: None,
                    by_hand: false,
                }],
                call: None,
                second_wanted: false,
                blind: before_proposal(&self.sheet.id, number),
                proposal: None,
            });
        }
        Ok(taken)
    }

    fn keep(&mut self, photo: &str, done: ReadForTheEye) {
        let reading = Arc::new(done.read.reading);
        let sheets = self
            .before
            .iter_mut()
            .chain(&mut self.after)
            .map(|(sheet, _)| sheet);
        for sheet in sheets.chain([&mut self.sheet]) {
            for animal in &mut sheet.animals {
                if let Some(own) = animal.photos.iter_mut().find(|own| own.id == photo) {
                    own.reading = Some(Arc::clone(&reading));
                    own.size = done.size;
                    animal.propose();
                }
            }
        }
    }

    fn turn_back(&mut self) -> Option<String> {
        let (sheet, what) = self.before.pop()?;
        let said = window::undone(&what);
        self.after
            .push((std::mem::replace(&mut self.sheet, sheet), what));
        Some(said)
    }

    fn turn_on(&mut self) -> Option<String> {
        let (sheet, what) = self.after.pop()?;
        let said = window::redone(&what);
        self.before
            .push((std::mem::replace(&mut self.sheet, sheet), what));
        Some(said)
    }

    fn edit(&mut self, letter: Letter) -> Option<String> {
        let was = self.sheet.clone();
        let what = match letter {
            Letter::Call {
                animal,
                stage,
                before_proposal,
            } => self.animal(&animal, |animal| {
                let proposal = animal.proposal.as_ref().and_then(|proposal| proposal.stage);
                animal.call = Some(CallSheet {
                    stage: Some(stage),
                    unread_because: None,
                    reader: String::new(),
                    proposal,
                    before_proposal,
                });
                window::called(&animal.name, stage, proposal)
            }),
            Letter::Refuse { animal, why } => self.animal(&animal, |animal| {
                animal.call = Some(CallSheet {
                    stage: None,
                    unread_because: Some(window::why(why as usize).to_owned()),
                    reader: String::new(),
                    proposal: None,
                    before_proposal: false,
                });
                window::refused(&animal.name, window::why(why as usize))
            }),
            Letter::Withdraw { animal } => self.animal(&animal, |animal| {
                animal.call = None;
                window::withdrawn(&animal.name)
            }),
            Letter::Second { animal, wanted } => self.animal(&animal, |animal| {
                animal.second_wanted = wanted;
                window::second(&animal.name, wanted)
            }),
            Letter::Shell { animal, shell } => self.animal(&animal, |animal| {
                animal.shell = shell;
                window::shell_noted(&animal.name, shell)
            }),
            Letter::Note { animal, note } => self.animal(&animal, |animal| {
                animal.note = note;
                window::noted(&animal.name)
            }),
            Letter::Assign { photo, animal } => self.assign(&photo, &animal),
            Letter::TakePhotos(_) | Letter::Keep { .. } | Letter::Undo | Letter::Redo => None,
        }?;
        self.before.push((was, what.clone()));
        self.after.clear();
        Some(what)
    }

    fn animal(
        &mut self,
        id: &str,
        change: impl FnOnce(&mut AnimalSheet) -> String,
    ) -> Option<String> {
        self.sheet
            .animals
            .iter_mut()
            .find(|animal| animal.id == id)
            .map(change)
    }

    fn assign(&mut self, photo: &str, animal: &str) -> Option<String> {
        let to = self.sheet.animals.iter().position(|own| own.id == animal)?;
        let (from, at) = self.sheet.animals.iter().enumerate().find_map(|(i, own)| {
            let at = own.photos.iter().position(|own| own.id == photo)?;
            Some((i, at))
        })?;
        let moved = self.sheet.animals[from].photos.remove(at);
        let name = moved.name.clone();
        self.sheet.animals[to].photos.push(moved);
        self.sheet.animals[from].propose();
        self.sheet.animals[to].propose();
        Some(window::assigned(&name, &self.sheet.animals[to].name))
    }
}
