//! What a user does with the logbook: the one way in for the command line and the window.
//!
//! A [`Session`] is an open logbook with the person who uses it. Everything that changes it is one
//! action: confirmed on the disk when the function returns, or not there at all. What was done in
//! the session can be undone and done again. Reading functions take `&self`, writing ones
//! `&mut self`; a session may move to another thread, and a second session on the same file (for a
//! worker) waits its turn.
//!
//! ```no_run
//! use tailfan::moult::Stage;
//! use tailfan::records::places::Animal;
//! use tailfan::records::places::Pond;
//! use tailfan::records::places::Sample;
//! use tailfan::workflow::logbook::Session;
//! use tailfan::workflow::logbook::calls::NewCall;
//!
//! # fn main() -> Result<(), tailfan::workflow::logbook::SessionError> {
//! let mut session = Session::create("farm.logbook".as_ref(), "our farm", "Ana")?;
//! let pond = session.add_pond(&Pond::named("Pond 4"))?;
//! let sample = session.new_sample(&Sample::netted(pond, Session::now()))?;
//! let animal = session.add_animal(&Animal::of(sample, "01", 1))?;
//! session.call(animal, NewCall::by_eye(Stage::C))?;
//! assert_eq!(session.tally(sample)?.called, 1);
//! session.undo()?;
//! assert_eq!(session.tally(sample)?.called, 0);
//! # Ok(())
//! # }
//! ```

pub mod backups;

pub mod calls;

pub mod counting;

pub mod error;

pub mod exporting;

pub mod farm;

pub mod holders;

pub mod importing;

pub mod labels;

pub mod last;

pub mod made_up;

pub mod merging;

pub mod models;

pub mod own_slides;

pub mod photos;

pub mod ponds;

pub mod samples;

mod source;

pub use crate::workflow::logbook::error::SessionError;

use crate::logbook::Action;
use crate::logbook::Change;
use crate::logbook::Logbook;
use crate::logbook::LogbookError;
use crate::logbook::View;
use crate::logbook::open::Journal;
use crate::logbook::open::NewLogbook;
use crate::logbook::view::Upkeep;
use crate::records::ids::ActionId;
use crate::records::ids::RowId;
use crate::records::stamp::Stamp;
use crate::records::words::ActionKind;
use crate::workflow::logbook::backups::back_up_before_steps;
use crate::workflow::logbook::holders::Holding;
use crate::workflow::logbook::source::SystemSource;
use std::path::Path;
use std::path::PathBuf;

/// An open logbook with the person who uses it.
pub struct Session {
    book: Logbook,
    reader: String,
    source: SystemSource,
    done: Vec<Done>,
    undone: Vec<Done>,
    holding: Holding,
}

/// An action done since the logbook was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Done {
    /// Its line in the journal.
    pub action: ActionId,
    /// What was done first; kept through undoing and doing again.
    pub kind: ActionKind,
    /// The sample, pond or other thing it is about.
    pub about: Option<RowId>,
}

impl Session {
    /// Makes a logbook where there is no file yet, and opens it for `reader`.
    ///
    /// On a network folder it gets a rollback journal instead of a write-ahead log; see
    /// [`Session::warning`].
    ///
    /// # Errors
    /// [`SessionError`] where there is a file already or none can be written.
    pub fn create(file: &Path, farm: &str, reader: &str) -> Result<Self, SessionError> {
        let rollback = holders::is_on_network(file);
        let journal = if rollback {
            Journal::Rollback
        } else {
            Journal::WriteAhead
        };
        Self::create_with(file, farm, reader, journal)
    }

    /// As [`Session::create`], for a folder that other machines share or another program keeps in
    /// step with them: with a rollback journal.
    ///
    /// # Errors
    /// As [`Session::create`].
    pub fn create_shared(file: &Path, farm: &str, reader: &str) -> Result<Self, SessionError> {
        Self::create_with(file, farm, reader, Journal::Rollback)
    }

    fn create_with(
        file: &Path,
        farm: &str,
        reader: &str,
        journal: Journal,
    ) -> Result<Self, SessionError> {
        let mut source = SystemSource::new();
        let new = NewLogbook {
            farm,
            id: crate::logbook::Source::id(&mut source),
            made_at: crate::logbook::Source::now(&mut source),
            journal,
        };
        let book = Logbook::create(file, &new).map_err(|e| SessionError::of(file, e))?;
        Ok(Self::over(book, reader, source))
    }

    /// Opens a logbook for `reader`, whose name stands in every row written. An older file is
    /// backed up and then brought to the present tables.
    ///
    /// # Errors
    /// [`SessionError`] for a file that is no logbook, newer than the program, damaged, or cannot
    /// be opened; the file is then as it was.
    pub fn open(file: &Path, reader: &str) -> Result<Self, SessionError> {
        let book = Logbook::open(file, |old| back_up_before_steps(old, Self::now()))
            .map_err(|e| SessionError::of(file, e))?;
        Ok(Self::over(book, reader, SystemSource::new()))
    }

    fn over(book: Logbook, reader: &str, source: SystemSource) -> Self {
        let holding = Holding::announce(book.file(), reader, Self::now());
        Self {
            book,
            reader: reader.to_owned(),
            source,
            done: Vec::new(),
            undone: Vec::new(),
            holding,
        }
    }

    /// The present moment on the clock of this machine.
    pub fn now() -> Stamp {
        source::now()
    }

    /// A key for a seal that nobody can guess.
    pub(in crate::workflow) fn fresh_key() -> String {
        source::fresh_key()
    }

    /// The file.
    pub fn file(&self) -> &Path {
        self.book.file()
    }

    /// Name of the farm.
    pub fn farm(&self) -> &str {
        self.book.farm()
    }

    /// The person whose name stands in every row written.
    pub fn reader(&self) -> &str {
        &self.reader
    }

    /// Another person goes on. What the one before did can no longer be undone here: one undoes
    /// one's own only.
    pub fn set_reader(&mut self, reader: &str) {
        if reader != self.reader {
            reader.clone_into(&mut self.reader);
            self.done.clear();
            self.undone.clear();
        }
    }

    /// What to be careful about with this file, if anything: it lies on a network.
    pub fn warning(&self) -> Option<String> {
        self.book
            .has_rollback_journal()
            .then(|| crate::texts::logbook::SHARED_FOLDER.to_owned())
    }

    /// Other programs that have the logbook open, as far as known.
    pub fn others(&self) -> Vec<String> {
        self.holding.others()
    }

    /// The folder of the copied photos.
    pub fn photo_folder(&self) -> PathBuf {
        beside(self.book.file(), "photos")
    }

    /// The folder of the backups.
    pub fn backup_folder(&self) -> PathBuf {
        beside(self.book.file(), "backups")
    }

    /// Undoes the last action since the logbook was opened that was not undone yet. Nothing is erased: what
    /// stood before is written again. Gives what was undone, or nothing when all is undone.
    ///
    /// # Errors
    /// [`SessionError`] when it was changed since by someone else; it then stays as it is and is
    /// dropped from the list.
    pub fn undo(&mut self) -> Result<Option<Done>, SessionError> {
        let Some(last) = self.done.pop() else {
            return Ok(None);
        };
        let action = self.take_back(last, ActionKind::Undo)?;
        self.undone.push(Done { action, ..last });
        Ok(Some(last))
    }

    /// Does the last undone action again. Gives what was done, or nothing when nothing is undone.
    ///
    /// # Errors
    /// As [`Session::undo`].
    pub fn redo(&mut self) -> Result<Option<Done>, SessionError> {
        let Some(last) = self.undone.pop() else {
            return Ok(None);
        };
        let action = self.take_back(last, ActionKind::Redo)?;
        self.done.push(Done { action, ..last });
        Ok(Some(last))
    }

    /// What can be undone, the last action last.
    pub fn undoable(&self) -> &[Done] {
        &self.done
    }

    /// What can be done again, the next one last.
    pub fn redoable(&self) -> &[Done] {
        &self.undone
    }

    fn take_back(&mut self, done: Done, kind: ActionKind) -> Result<ActionId, SessionError> {
        let action = Action {
            kind,
            about: done.about,
            undoes: Some(done.action),
            by: &self.reader,
        };
        let taken = self
            .book
            .act(action, &mut self.source, |change| change.undo(done.action));
        match taken {
            Ok(((), action)) => Ok(action),
            Err(error) => {
                // A busy moment passes: it can be tried again.
                if matches!(error, LogbookError::Busy | LogbookError::Full) {
                    if kind == ActionKind::Undo {
                        self.done.push(done);
                    } else {
                        self.undone.push(done);
                    }
                }
                Err(self.told(error))
            }
        }
    }

    /// One action of the person.
    pub(in crate::workflow) fn act<T>(
        &mut self,
        kind: ActionKind,
        about: Option<RowId>,
        work: impl FnOnce(&mut Change<'_>) -> Result<T, LogbookError>,
    ) -> Result<T, SessionError> {
        let action = Action {
            kind,
            about,
            undoes: None,
            by: &self.reader,
        };
        match self.book.act(action, &mut self.source, work) {
            Ok((result, action)) => {
                if can_be_undone(kind) {
                    self.done.push(Done {
                        action,
                        kind,
                        about,
                    });
                    self.undone.clear();
                }
                Ok(result)
            }
            Err(error) => Err(self.told(error)),
        }
    }

    /// Reads what is there now.
    pub(in crate::workflow) fn see<'a, T>(
        &'a self,
        look: impl FnOnce(View<'a>) -> Result<T, LogbookError>,
    ) -> Result<T, SessionError> {
        look(self.book.view()).map_err(|error| self.told(error))
    }

    /// The error with the file, and with who holds it where that matters.
    fn told(&self, error: LogbookError) -> SessionError {
        if matches!(error, LogbookError::Busy) {
            return SessionError::Busy {
                holders: self.others(),
                file: self.file().to_owned(),
            };
        }
        SessionError::of(self.file(), error)
    }
}

/// What is in a logbook, in figures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Info {
    /// Rows of each table.
    pub rows: Vec<(&'static str, u64)>,
    /// The logbooks whose rows are in it: farm and id.
    pub origins: Vec<(String, RowId)>,
    /// What was done to the file itself, the newest first.
    pub upkeep: Vec<Upkeep>,
}

impl Session {
    /// Lets the file grow by so many pages and no more, as on a full disk: for tests.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    #[doc(hidden)]
    pub fn limit_growth(&self, pages: u32) -> Result<(), SessionError> {
        let limit = || self.book.limit_pages(self.book.pages()? + pages);
        limit().map_err(|error| self.told(error))
    }

    /// What is in the logbook, in figures.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn info(&self) -> Result<Info, SessionError> {
        self.see(|view| {
            let origins = view.origins()?;
            Ok(Info {
                rows: view.counts()?,
                origins: origins.into_iter().map(|(id, farm)| (farm, id)).collect(),
                upkeep: view.upkeep()?,
            })
        })
    }
}

/// What was read by the program and what was said to others is not undone, nor is a demo.
const fn can_be_undone(kind: ActionKind) -> bool {
    !matches!(
        kind,
        ActionKind::Read | ActionKind::Verdict | ActionKind::Model | ActionKind::Demo
    )
}

/// A file or folder beside the logbook that belongs to it: `farm-photos` for `farm.logbook`.
pub(in crate::workflow) fn beside(file: &Path, what: &str) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    file.with_file_name(format!("{stem}-{what}"))
}
