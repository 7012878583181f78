//! The logbook: one SQLite file that holds everything a farm's lab decides.
//!
//! This is the only module that speaks SQL. Rows are written once and never changed: an edit is a
//! new row that names the one it supersedes, and the standing row of a thing is the one that nobody
//! supersedes, of several the one with the greatest id. So logbooks merge by taking each other's
//! rows, and what was confirmed is never lost. Rows go in and out as [`crate::records`]; the clock
//! and the ids come from a [`Source`].

pub mod animals;

pub mod backup;

pub mod change;

pub mod check;

mod codec;

pub mod error;

mod identity;

pub mod merge;

pub mod open;

pub mod salvage;

pub mod schema;

pub mod search;

pub mod view;

use crate::logbook::identity::FileIdentity;
use crate::records::ids::RowId;
use crate::records::stamp::Stamp;
use rusqlite::Connection;
use std::path::Path;
use std::path::PathBuf;

pub use crate::logbook::change::Action;
pub use crate::logbook::change::Change;
pub use crate::logbook::error::LogbookError;
pub use crate::logbook::view::View;

/// Gives ids and the time; nothing here reads a clock by itself.
pub trait Source {
    /// An id that was never given before and sorts after those given before.
    fn id(&mut self) -> RowId;
    /// The present moment.
    fn now(&mut self) -> Stamp;
}

/// An open logbook.
#[derive(Debug)]
pub struct Logbook {
    connection: Connection,
    file: PathBuf,
    id: RowId,
    farm: String,
    rollback_journal: bool,
    identity: FileIdentity,
}

impl Logbook {
    /// The file.
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// The id of this logbook, which stands as origin in the rows written here.
    pub const fn id(&self) -> RowId {
        self.id
    }

    /// Name of the farm.
    pub fn farm(&self) -> &str {
        &self.farm
    }

    /// Whether changes go through a rollback journal instead of a write-ahead log.
    pub const fn has_rollback_journal(&self) -> bool {
        self.rollback_journal
    }

    /// What is in it now.
    pub const fn view(&self) -> View<'_> {
        View::new(&self.connection)
    }

    /// Looks at the logbook as it stands at one moment, whatever others write meanwhile.
    ///
    /// # Errors
    /// The error of `look`, or [`LogbookError`] for a file that cannot be read.
    pub fn at_one_moment<T, E: From<LogbookError>>(
        &self,
        look: impl FnOnce(View<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let moment = self.connection.unchecked_transaction();
        let moment = moment.map_err(LogbookError::from)?;
        look(View::new(&moment))
    }
}
