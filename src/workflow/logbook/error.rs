//! Why something could not be done with the logbook.

use crate::decision::waiting::WorthError;
use crate::exchange::known::KnownError;
use crate::exchange::labels::LabelsError;
use crate::exchange::packed::PackError;
use crate::exchange::tables::TableError;
use crate::logbook::LogbookError;
use crate::stage::model::ModelError;
use crate::tally::SettingsError;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Why something could not be done with the logbook; the message says what to do.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SessionError {
    /// The logbook could not be used or written.
    #[error("{source}: {}", file.display())]
    Logbook {
        /// The file.
        file: PathBuf,
        /// Why.
        source: LogbookError,
    },
    /// Another program is writing.
    #[error("another program is writing to the logbook{}; nothing was changed, try again in a moment: {}", listed(holders), file.display())]
    Busy {
        /// The programs that have it open, as far as known.
        holders: Vec<String>,
        /// The file.
        file: PathBuf,
    },
    /// A table of labels cannot be used.
    #[error(transparent)]
    Labels(#[from] LabelsError),
    /// A photo of a table of labels that cannot be taken in.
    #[error("{}, line {line}: {source}; photos are named relative to the folder of the table, and nothing was taken in", table.display())]
    LabelledPhoto {
        /// The table.
        table: PathBuf,
        /// The line.
        line: u64,
        /// Why.
        source: Box<Self>,
    },
    /// A model file cannot be used.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// No label of that id.
    #[error("no single label begins with \"{0}\"; `tailfan label list` prints their ids")]
    NoLabel(String),
    /// No model of that name.
    #[error("no single model of the farm begins with \"{0}\"; `tailfan model list` prints them")]
    NoModel(String),
    /// There is no model to go back to.
    #[error("no other model was in use before")]
    NoModelBefore,
    /// No logbook was named and none was used before.
    #[error(
        "no logbook was used yet; name one with --logbook FILE, or make one with `tailfan logbook new FILE --farm NAME`"
    )]
    NoLast,
    /// No folder for the program's own settings.
    #[error(
        "there is no folder for the settings of this user; name the logbook with --logbook FILE"
    )]
    NoConfig,
    /// A file or folder beside the logbook cannot be read or written.
    #[error("{what} ({source}): {}", path.display())]
    Files {
        /// What could not be done.
        what: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A photo that is not where it was.
    #[error("the photo \"{name}\" is not there any more; put it back, or assign another: calls by eye go on without it: {}", path.display())]
    PhotoGone {
        /// Its name as it came.
        name: String,
        /// Where it should lie.
        path: PathBuf,
    },
    /// A photo whose content is another.
    #[error("the photo \"{name}\" was changed since it came, and is not shown as the one that was read; put the original back: {}", path.display())]
    PhotoChanged {
        /// Its name as it came.
        name: String,
        /// Where it lies.
        path: PathBuf,
    },
    /// A table of an export.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A packed export.
    #[error(transparent)]
    Pack(#[from] PackError),
    /// A folder that is no export.
    #[error("not an export of a logbook ({why}); give the folder or zip file that `tailfan logbook export` wrote: {}", folder.display())]
    NoExport {
        /// The folder.
        folder: PathBuf,
        /// What is missing or wrong.
        why: String,
    },
    /// Something is there already where something new was to be written.
    #[error("there is something already, and nothing is overwritten; give another name: {}", .0.display())]
    Occupied(PathBuf),
    /// No sample of that name.
    #[error(
        "there is no sample \"{0}\"; give the beginning of its id, or POND@DATE such as \"Pond 4@2026-11-26\""
    )]
    NoSample(String),
    /// Several samples of that name.
    #[error("\"{given}\" names {} samples ({}); give more of the id, or the hour as POND@2026-11-26T06:00", found.len(), found.join(", "))]
    ManySamples {
        /// What was given.
        given: String,
        /// The samples, in words.
        found: Vec<String>,
    },
    /// Settings that allow no tally.
    #[error(transparent)]
    Settings(#[from] SettingsError),
    /// A table of slides of known truth that cannot be used.
    #[error(transparent)]
    Known(#[from] KnownError),
    /// Numbers for the value of waiting that are no pond's.
    #[error(transparent)]
    Worth(#[from] WorthError),
    /// A setting of another form.
    #[error("the setting \"{key}\" cannot be understood; set it anew")]
    Setting {
        /// Its name.
        key: String,
        /// What is wrong.
        source: serde_json::Error,
    },
}

impl SessionError {
    /// The error of a logbook with its file.
    pub fn of(file: &Path, source: LogbookError) -> Self {
        let file = file.to_owned();
        Self::Logbook { file, source }
    }

    /// Whether the file itself is at fault: damaged, or no logbook (any more).
    pub const fn is_of_the_file(&self) -> bool {
        matches!(
            self,
            Self::Logbook {
                source: LogbookError::Damaged { .. }
                    | LogbookError::NotSqlite
                    | LogbookError::OtherProgram
                    | LogbookError::Row { .. }
                    | LogbookError::Sql(_),
                ..
            }
        )
    }
}

fn listed(holders: &[String]) -> String {
    if holders.is_empty() {
        String::new()
    } else {
        format!(" ({})", holders.join("; "))
    }
}
