//! Making and opening the file.

use crate::logbook::Logbook;
use crate::logbook::error::LogbookError;
use crate::logbook::identity::FileIdentity;
use crate::logbook::schema;
use crate::logbook::schema::STEPS;
use crate::logbook::schema::Step;
use crate::records::ids::RowId;
use crate::records::stamp::Stamp;
use rusqlite::Connection;
use rusqlite::OpenFlags;
use std::fs;
use std::fs::File;
use std::fs::OpenOptions;
use std::io::Read as _;
use std::path::Path;
use std::time::Duration;

/// How long a program waits for another that is writing.
const PATIENCE: Duration = Duration::from_secs(5);

/// What a file of SQLite begins with.
const SQLITE_MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// How changes reach the disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Journal {
    /// Through a write-ahead log: readers and a writer at the same time. For local disks.
    #[default]
    WriteAhead,
    /// Through a rollback journal: for folders on a network or kept in step by another program.
    Rollback,
}

/// A logbook that is to be made.
#[derive(Debug, Clone, Copy)]
pub struct NewLogbook<'a> {
    /// Name of the farm.
    pub farm: &'a str,
    /// Its id.
    pub id: RowId,
    /// When it is made.
    pub made_at: Stamp,
    /// How changes reach the disk.
    pub journal: Journal,
}

impl Logbook {
    /// Makes a logbook where there is no file yet.
    ///
    /// # Errors
    /// [`LogbookError::Exists`] where there is one; others when it cannot be written.
    pub fn create(file: &Path, new: &NewLogbook<'_>) -> Result<Self, LogbookError> {
        // Only the one that makes the file may fill it.
        drop(OpenOptions::new().write(true).create_new(true).open(file)?);
        let made = Self::fill(file, new);
        if made.is_err() {
            // What was just made and never used is no one's record.
            drop(fs::remove_file(file));
        }
        made?;
        Self::open(file, |_| Ok(()))
    }

    fn fill(file: &Path, new: &NewLogbook<'_>) -> Result<(), LogbookError> {
        let mut connection = connect(file)?;
        connection.pragma_update(None, "application_id", schema::APPLICATION_ID)?;
        schema::take_steps(&mut connection, STEPS)?;
        let needs = STEPS.last().map_or("0.1.0", |step| step.program);
        let id = new.id.bytes();
        let rollback = new.journal == Journal::Rollback;
        let first = connection.transaction()?;
        first.execute(
            "INSERT INTO logbook (id, farm, made_at_utc_ms, made_at_offset_min, needs_program, keeps_rollback_journal, sequence) VALUES (?1, ?2, ?3, ?4, ?5, ?6, 0)",
            rusqlite::params![id, new.farm, new.made_at.utc_ms(), new.made_at.offset_min(), needs, rollback],
        )?;
        first.execute(
            "INSERT INTO origin (id, farm) VALUES (?1, ?2)",
            rusqlite::params![id, new.farm],
        )?;
        first.commit()?;
        Ok(())
    }

    /// Opens a logbook. An older file takes the steps it lacks, after `before_steps` was called
    /// with it (to make a backup).
    ///
    /// # Errors
    /// [`LogbookError`] for a file that is none, newer, damaged or cannot be opened; it is then
    /// left as it was.
    pub fn open(
        file: &Path,
        before_steps: impl FnOnce(&Path) -> Result<(), LogbookError>,
    ) -> Result<Self, LogbookError> {
        Self::open_with_steps(file, STEPS, before_steps)
    }

    pub(in crate::logbook) fn open_with_steps(
        file: &Path,
        steps: &[Step],
        before_steps: impl FnOnce(&Path) -> Result<(), LogbookError>,
    ) -> Result<Self, LogbookError> {
        look_at(file)?;
        let mut connection = connect(file)?;
        let application: i64 =
            connection.query_row("PRAGMA application_id", [], |row| row.get(0))?;
        if application != schema::APPLICATION_ID {
            return Err(LogbookError::OtherProgram);
        }
        let found = schema::version(&connection)?;
        let known = steps.len() as i64;
        if found > known {
            let needs = needed_program(&connection);
            return Err(LogbookError::Newer {
                found,
                known,
                needs,
            });
        }
        if found < known {
            before_steps(file)?;
            schema::take_steps(&mut connection, steps)?;
        }
        let (id, farm, rollback) = connection.query_row(
            "SELECT id, farm, keeps_rollback_journal FROM logbook",
            [],
            |row| Ok((row.get::<_, [u8; 16]>(0)?, row.get(1)?, row.get(2)?)),
        )?;
        let rollback_journal = set_journal(&connection, rollback)?;
        Ok(Self {
            connection,
            file: file.to_owned(),
            id: RowId::from_bytes(id),
            farm,
            rollback_journal,
            identity: FileIdentity::of(file)?,
        })
    }

    /// Lets the file grow to so many pages at most: for tests of a full disk.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn limit_pages(&self, at_most: u32) -> Result<(), LogbookError> {
        self.connection
            .pragma_update(None, "max_page_count", at_most)?;
        Ok(())
    }

    /// The pages of the file now.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn pages(&self) -> Result<u32, LogbookError> {
        Ok(self
            .connection
            .query_row("PRAGMA page_count", [], |row| row.get(0))?)
    }
}

/// Looks whether the file begins like one of SQLite, without changing anything.
fn look_at(file: &Path) -> Result<(), LogbookError> {
    let metadata = fs::metadata(file)?;
    if !metadata.is_file() {
        return Err(LogbookError::NoFile);
    }
    let mut first = Vec::with_capacity(SQLITE_MAGIC.len());
    File::open(file)?
        .take(SQLITE_MAGIC.len() as u64)
        .read_to_end(&mut first)?;
    if first == SQLITE_MAGIC {
        Ok(())
    } else {
        Err(LogbookError::NotSqlite)
    }
}

/// Connects to a file that is there, with what every connection needs.
pub(in crate::logbook) fn connect(file: &Path) -> Result<Connection, LogbookError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(file, flags)?;
    connection.busy_timeout(PATIENCE)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "trusted_schema", false)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.set_prepared_statement_cache_capacity(64);
    Ok(connection)
}

/// Sets how changes reach the disk; says whether it is a rollback journal in the end.
fn set_journal(connection: &Connection, rollback: bool) -> Result<bool, LogbookError> {
    let wanted = if rollback { "delete" } else { "wal" };
    let now: String = connection.query_row("PRAGMA journal_mode", [], |row| row.get(0))?;
    let got = if now.eq_ignore_ascii_case(wanted) {
        now
    } else {
        let set = format!("PRAGMA journal_mode = {wanted}");
        connection.query_row(&set, [], |row| row.get(0))?
    };
    Ok(!got.eq_ignore_ascii_case("wal"))
}

/// The version of the program that a newer file asks for.
fn needed_program(connection: &Connection) -> String {
    connection
        .query_row("SELECT needs_program FROM logbook", [], |row| row.get(0))
        .unwrap_or_else(|_| "a later version".to_owned())
}
