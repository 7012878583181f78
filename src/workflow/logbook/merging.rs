//! Bringing two logbooks together, and reading what can be read of a damaged one.

use crate::logbook::Logbook;
use crate::logbook::LogbookError;
use crate::logbook::View;
use crate::logbook::backup::back_up_file;
use crate::logbook::salvage;
use crate::logbook::salvage::SalvageReport;
use crate::records::pictures::Photo;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::beside;
use crate::workflow::logbook::exporting::files;
use crate::workflow::logbook::importing::TakenIn;
use std::fs;
use std::fs::File;
use std::io;
use std::path::Path;
use std::path::PathBuf;

/// What was read of a damaged logbook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Salvaged {
    /// Rows.
    pub rows: SalvageReport,
    /// Photos that were copied.
    pub photos: u64,
    /// Photos that could not be found or were not as they came.
    pub photos_missing: Vec<String>,
}

impl Session {
    /// Takes in everything of another logbook, of this farm or another, that is not here yet. The
    /// other one is only read. A backup is made before; all rows come in, or none.
    ///
    /// # Errors
    /// [`SessionError`] when the other is no logbook or cannot be read, or this one cannot be
    /// written.
    pub fn merge(&mut self, other: &Path) -> Result<TakenIn, SessionError> {
        // The other may be in use, older, or on a disk that cannot be written to.
        let copy = Scratch::beside(self.file(), "merge");
        copy_logbook(other, &copy.file).map_err(|error| SessionError::of(other, error))?;
        let theirs = Logbook::open(&copy.file, |_| Ok(()))
            .map_err(|error| SessionError::of(other, error))?;
        let backup = self.back_up("before-merge")?;
        let rows = self.book.merge(&theirs).map_err(|error| self.told(error))?;
        let photos = theirs.view().all::<Photo>();
        let photos = photos.map_err(|error| SessionError::of(other, error))?;
        let photos: Vec<Photo> = photos.into_iter().map(|kept| kept.body).collect();
        let (copied, missing) = self.take_photos(&beside(other, "photos"), &photos)?;
        self.book
            .note_upkeep(Self::now(), &self.reader, "merge", &other.to_string_lossy())
            .map_err(|error| self.told(error))?;
        Ok(TakenIn {
            rows,
            photos: copied,
            photos_missing: missing,
            backup,
        })
    }

    /// Reads what can be read of a damaged logbook into a new one. The damaged file is left as it
    /// is.
    ///
    /// # Errors
    /// [`SessionError`] when nothing can be read, or the new one cannot be written; then it is not
    /// there.
    pub fn salvage(
        damaged: &Path,
        into: &Path,
        reader: &str,
    ) -> Result<(Self, Salvaged), SessionError> {
        if !damaged.is_file() {
            return Err(SessionError::of(damaged, LogbookError::NoFile));
        }
        let copy = Scratch::beside(into, "salvage");
        copy_bytes(damaged, &copy.file).map_err(files("it cannot be copied", damaged))?;
        let name = damaged.file_name().unwrap_or_default().to_string_lossy();
        let mut session = Self::create(into, &format!("salvaged from {name}"), reader)?;
        let read = salvage::salvage(&copy.file, &mut session.book);
        let rows = match read {
            Ok(rows) => rows,
            Err(error) => {
                drop(session);
                remove_logbook(into);
                return Err(SessionError::of(damaged, error));
            }
        };
        let photos = session.see(View::all::<Photo>)?;
        let photos: Vec<Photo> = photos.into_iter().map(|kept| kept.body).collect();
        let (copied, missing) = session.take_photos(&beside(damaged, "photos"), &photos)?;
        session
            .book
            .note_upkeep(Self::now(), reader, "salvage", &damaged.to_string_lossy())
            .map_err(|error| session.told(error))?;
        let salvaged = Salvaged {
            rows,
            photos: copied,
            photos_missing: missing,
        };
        Ok((session, salvaged))
    }
}

/// A copy that is thrown away.
struct Scratch {
    file: PathBuf,
}

impl Scratch {
    fn beside(logbook: &Path, what: &str) -> Self {
        let file = beside(logbook, &format!("{what}{}", std::process::id()));
        remove_logbook(&file);
        Self { file }
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        remove_logbook(&self.file);
    }
}

/// A file with an ending of SQLite's own files.
fn with_ending(file: &Path, ending: &str) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn remove_logbook(file: &Path) {
    for ending in ["", "-wal", "-shm", "-journal"] {
        drop(fs::remove_file(with_ending(file, ending)));
    }
}

/// Copies a logbook that may be in use.
fn copy_logbook(from: &Path, to: &Path) -> Result<(), LogbookError> {
    if !fs::metadata(from)?.is_file() {
        return Err(LogbookError::NoFile);
    }
    match back_up_file(from, to) {
        // A disk that cannot be written to: nobody else writes there either.
        Err(LogbookError::ReadOnly | LogbookError::CannotOpen { .. }) => Ok(copy_bytes(from, to)?),
        done => done,
    }
}

/// Copies a file, and its log where it has one, byte by byte; the copies can be written to.
fn copy_bytes(from: &Path, to: &Path) -> io::Result<()> {
    io::copy(&mut File::open(from)?, &mut File::create_new(to)?)?;
    for ending in ["-wal", "-journal"] {
        let log = with_ending(from, ending);
        if log.is_file() {
            let mut copy = File::create_new(with_ending(to, ending))?;
            io::copy(&mut File::open(log)?, &mut copy)?;
        }
    }
    Ok(())
}
