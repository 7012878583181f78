//! Finding things by what was written about them.

use crate::logbook::error::LogbookError;
use crate::logbook::view::View;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;

/// Something found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The table of what was found: `pond`, `sample`, `animal`, `call` or `photo`.
    pub table: String,
    /// The thing.
    pub thing: RowId,
    /// The sample it belongs to; absent for a pond.
    pub sample: Option<SampleId>,
    /// The text in which it was found.
    pub text: String,
}

impl View<'_> {
    /// Finds ponds by name or note, samples, animals and calls by their notes (any part, capitals
    /// or not), photos by the beginning of their names; the newest first, at most `at_most`.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn search(self, words: &str, at_most: usize) -> Result<Vec<Found>, LogbookError> {
        let words = words.trim();
        if words.is_empty() {
            return Ok(Vec::new());
        }
        let mut pattern = String::with_capacity(words.len() + 2);
        for letter in words.chars() {
            if matches!(letter, '%' | '_' | '\\') {
                pattern.push('\\');
            }
            pattern.push(letter);
        }
        let anywhere = format!("%{pattern}%");
        // The end of the range of names that begin so: a letter beyond all others.
        let beyond = format!("{words}\u{10ffff}");
        let mut select = self
            .connection
            .prepare_cached(include_str!("sql/search.sql"))?;
        let values = rusqlite::params![anywhere, words, beyond, at_most as i64];
        let rows = select.query_map(values, |row| {
            let sample: Option<[u8; 16]> = row.get(2)?;
            Ok(Found {
                table: row.get(0)?,
                thing: RowId::from_bytes(row.get(1)?),
                sample: sample.map(|id| SampleId::from(RowId::from_bytes(id))),
                text: row.get(3)?,
            })
        })?;
        rows.map(|row| row.map_err(Into::into)).collect()
    }
}
