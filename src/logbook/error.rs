//! Why the logbook could not be used or written, and what to do about it.

use crate::records::ids::RowId;
use crate::records::table::RowFault;
use rusqlite::ErrorCode;
use std::io;
use thiserror::Error;

/// Why the logbook could not be used or written. The caller knows the file.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LogbookError {
    /// No such file.
    #[error("there is no such file; `tailfan logbook new FILE --farm NAME` makes a logbook")]
    Missing,
    /// A file that would be overwritten.
    #[error("there is a file already, and nothing is overwritten; give another name")]
    Exists,
    /// A folder or something else that is no file.
    #[error("not a file; give the logbook itself")]
    NoFile,
    /// A file of another kind.
    #[error("not a logbook: the file begins like none; nothing was changed in it")]
    NotSqlite,
    /// An SQLite file of another program.
    #[error("an SQLite file of another program; nothing was changed in it")]
    OtherProgram,
    /// Written by a newer program.
    #[error(
        "written by a newer program (step {found}, this one knows {known}): it needs tailfan {needs} or later; nothing was changed in it"
    )]
    Newer {
        /// Step of the file.
        found: i64,
        /// Last step known here.
        known: i64,
        /// Version of the program that it asks for.
        needs: String,
    },
    /// The file is damaged.
    #[error(
        "the file is damaged ({what}); it was left as it is: `tailfan logbook check` says more, `tailfan logbook salvage` reads what can be read into a new one, and backups lie in the folder beside it"
    )]
    Damaged {
        /// What SQLite said.
        what: String,
    },
    /// Another program holds it.
    #[error(
        "another program is writing to it and did not finish in time; nothing was changed, try again"
    )]
    Busy,
    /// The file is not the one that was opened.
    #[error(
        "it is not where it was opened: it was moved, deleted or replaced. Nothing of this action was written; put it back and open it anew, or save what is open by a backup or export to another place"
    )]
    Vanished,
    /// The disk is full.
    #[error(
        "the disk is full: nothing of this action was written, everything before it is safe; make room and try again"
    )]
    Full,
    /// The file or its folder may not be written to.
    #[error(
        "the file or its folder may not be written to; nothing was changed: ask for the right to write there, or copy the logbook to a folder of your own"
    )]
    ReadOnly,
    /// The file cannot be opened.
    #[error(
        "cannot be opened ({what}); a logbook needs the right to read and write the file and its folder, where its write-ahead log lies"
    )]
    CannotOpen {
        /// What SQLite said.
        what: String,
    },
    /// The system could not read or write.
    #[error("the system could not read or write it; the last confirmed action is safe")]
    Io(#[source] io::Error),
    /// The system could not read or write, as SQLite saw it.
    #[error("the system could not read or write it ({what}); the last confirmed action is safe")]
    Device {
        /// What SQLite said.
        what: String,
    },
    /// A row that does not fit.
    #[error("{table} {id}: {source}")]
    Row {
        /// Its table.
        table: &'static str,
        /// Its id.
        id: RowId,
        /// What is wrong.
        source: RowFault,
    },
    /// A new row whose values do not go together.
    #[error("{table}: {source}")]
    Fault {
        /// Its table.
        table: &'static str,
        /// What is wrong.
        source: RowFault,
    },
    /// No such thing.
    #[error("there is no {table} {id}")]
    NoSuch {
        /// Its table.
        table: &'static str,
        /// Its id.
        id: RowId,
    },
    /// Something names a thing that is not there.
    #[error("it names a {what} that is not in the logbook")]
    Dangling {
        /// What SQLite said.
        what: String,
    },
    /// An action that cannot be undone any more.
    #[error("it was changed since, by another reader or program: change it by hand")]
    ChangedSince,
    /// A table that the program does not know.
    #[error("there is no table {0}")]
    NoTable(String),
    /// Anything else that SQLite says.
    #[error("the logbook could not be used")]
    Sql(#[source] rusqlite::Error),
}

impl From<io::Error> for LogbookError {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::NotFound => Self::Missing,
            io::ErrorKind::AlreadyExists => Self::Exists,
            io::ErrorKind::StorageFull => Self::Full,
            io::ErrorKind::ReadOnlyFilesystem | io::ErrorKind::PermissionDenied => Self::ReadOnly,
            _ => Self::Io(error),
        }
    }
}

impl From<rusqlite::Error> for LogbookError {
    fn from(error: rusqlite::Error) -> Self {
        let Some(code) = error.sqlite_error_code() else {
            return Self::Sql(error);
        };
        let what = error.to_string();
        match code {
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => Self::Busy,
            ErrorCode::DiskFull => Self::Full,
            ErrorCode::ReadOnly | ErrorCode::PermissionDenied => Self::ReadOnly,
            ErrorCode::DatabaseCorrupt => Self::Damaged { what },
            ErrorCode::NotADatabase => Self::NotSqlite,
            ErrorCode::CannotOpen => Self::CannotOpen { what },
            ErrorCode::SystemIoFailure => Self::Device { what },
            ErrorCode::ConstraintViolation if what.contains("FOREIGN KEY") => Self::Dangling {
                what: "thing".to_owned(),
            },
            _ => Self::Sql(error),
        }
    }
}
