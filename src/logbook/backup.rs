//! Copies of the whole file while it is in use, by SQLite's online backup.

use crate::logbook::Logbook;
use crate::logbook::error::LogbookError;
use crate::logbook::open::connect;
use rusqlite::Connection;
use rusqlite::OpenFlags;
use rusqlite::backup::Backup;
use std::fs;
use std::fs::File;
use std::path::Path;
use std::time::Duration;

/// Pages copied at a time: all of them, unless the file is larger than some gigabytes.
const PAGES_AT_A_TIME: i32 = 1_000_000;

impl Logbook {
    /// Copies the logbook as it stands into a file that is not there yet: whole and checked, or
    /// not at all.
    ///
    /// # Errors
    /// [`LogbookError`] when it cannot be read or the copy cannot be written.
    pub fn back_up_to(&self, file: &Path) -> Result<(), LogbookError> {
        copy(&self.connection, file)
    }
}

/// Copies a file of SQLite that is not open here, as [`Logbook::back_up_to`] does.
///
/// # Errors
/// As [`Logbook::back_up_to`].
pub fn back_up_file(from: &Path, to: &Path) -> Result<(), LogbookError> {
    copy(&connect(from)?, to)
}

fn copy(from: &Connection, to: &Path) -> Result<(), LogbookError> {
    if to.exists() {
        return Err(LogbookError::Exists);
    }
    let part = to.with_extension(format!("part{}", std::process::id()));
    drop(fs::remove_file(&part));
    let copied = copy_into(from, &part).and_then(|()| {
        File::open(&part)?.sync_all()?;
        fs::rename(&part, to)?;
        Ok(())
    });
    if copied.is_err() {
        drop(fs::remove_file(&part));
    }
    copied
}

fn copy_into(from: &Connection, part: &Path) -> Result<(), LogbookError> {
    let mut copy = Connection::open_with_flags(
        part,
        OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )?;
    Backup::new(from, &mut copy)?.run_to_completion(
        PAGES_AT_A_TIME,
        Duration::from_millis(50),
        None,
    )?;
    let said: String = copy.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    copy.close().map_err(|(_, error)| error)?;
    if said == "ok" {
        Ok(())
    } else {
        Err(LogbookError::Damaged { what: said })
    }
}
