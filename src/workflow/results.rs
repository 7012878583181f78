//! The animals of a sample as a table in a file.

use crate::exchange::results::ResultRow;
use crate::exchange::results::ResultsError;
use crate::exchange::results::results_table;
use crate::records::Reading;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use thiserror::Error;

/// A photo with its animal, or an animal without a photo.
#[derive(Debug, Clone)]
pub struct SheetRow {
    /// The animal.
    pub animal: String,
    /// Where it was netted.
    pub station: Option<String>,
    /// What was read; absent for an animal without a reading.
    pub reading: Option<Arc<Reading>>,
    /// The call: a stage or `unread`.
    pub call: String,
}

/// Why there is no table.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SaveError {
    /// The table cannot be made.
    #[error(transparent)]
    Table(#[from] ResultsError),
    /// The file cannot be written.
    #[error("the table cannot be written ({source}); choose a folder that you may write to: {}", file.display())]
    Write {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// Writes the rows to a CSV file.
///
/// # Errors
/// [`SaveError`] when it cannot be written.
pub fn save(file: &Path, rows: &[SheetRow]) -> Result<(), SaveError> {
    let nothing = Reading::refused(String::new(), Vec::new());
    let table: Vec<ResultRow<'_>> = rows
        .iter()
        .map(|row| ResultRow {
            reading: row.reading.as_deref().unwrap_or(&nothing),
            animal: Some(&row.animal),
            station: row.station.as_deref(),
            call: Some(&row.call),
        })
        .collect();
    let bytes = results_table(&table)?;
    fs::write(file, bytes).map_err(|source| SaveError::Write {
        file: file.to_owned(),
        source,
    })
}
