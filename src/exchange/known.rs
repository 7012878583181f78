//! Slides of known truth and how a reader called them: a CSV file with the columns `truth,call` and
//! optional `weight`.

use crate::exchange::sheet::Sheet;
use crate::exchange::sheet::SheetError;
use crate::moult::Stage;
use crate::moult::UnknownStage;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// One slide of known truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownLine {
    /// What it is.
    pub truth: Stage,
    /// What it was called.
    pub call: Stage,
    /// How many slides of the reader's daily work it stands for; 1 when it was chosen blindly.
    pub weight: f64,
}

/// A table of slides that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum KnownError {
    /// No sheet with these columns.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// A stage that is none.
    #[error("{}, line {line}: {source}", file.display())]
    Stage {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// What stands there.
        source: UnknownStage,
    },
    /// A weight that is none.
    #[error("{}, line {line}: \"{found}\" is no weight; write how many slides of the daily work it stands for, above 0", file.display())]
    Weight {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// What stands there.
        found: String,
    },
    /// No slides.
    #[error("{}: no slides; write the columns truth,call in the first line and then one line per slide", file.display())]
    Empty {
        /// The file.
        file: PathBuf,
    },
}

/// The columns of such a table, for its errors.
const COLUMNS: &str = "truth,call (and, if slides were chosen, weight)";

/// Reads slides of known truth. A slide called `unread` says nothing of how stages are called and is
/// left out.
///
/// # Errors
/// [`KnownError`] for a file or line that cannot be used.
pub fn read_known(file: &Path) -> Result<Vec<KnownLine>, KnownError> {
    known_of_sheet(&Sheet::read(file, COLUMNS)?, file)
}

fn known_of_sheet(sheet: &Sheet, file: &Path) -> Result<Vec<KnownLine>, KnownError> {
    let name = || file.to_owned();
    let (truth, call) = (sheet.needed("truth")?, sheet.needed("call")?);
    let weight = sheet.column("weight")?;
    let mut slides = Vec::new();
    for row in sheet.rows() {
        if row.field(call).eq_ignore_ascii_case("unread") {
            continue;
        }
        let stage = |column: usize| {
            row.field(column)
                .parse::<Stage>()
                .map_err(|source| KnownError::Stage {
                    file: name(),
                    line: row.line,
                    source,
                })
        };
        let stated = weight.map(|column| row.field(column));
        let weight = match stated.filter(|text| !text.is_empty()) {
            None => 1.0,
            Some(text) => text
                .parse()
                .ok()
                .filter(|w: &f64| w.is_finite() && *w > 0.0)
                .ok_or_else(|| KnownError::Weight {
                    file: name(),
                    line: row.line,
                    found: text.to_owned(),
                })?,
        };
        slides.push(KnownLine {
            truth: stage(truth)?,
            call: stage(call)?,
            weight,
        });
    }
    if slides.is_empty() {
        return Err(KnownError::Empty { file: name() });
    }
    Ok(slides)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slides_are_read_with_or_without_weights() {
        let file = Path::new("k.csv");
        let read = |text: &str| {
            let sheet = Sheet::parse(text.as_bytes(), file, COLUMNS)?;
            known_of_sheet(&sheet, file)
        };
        let plain = read("truth,call\nA,A\nB,C\nC,unread\n").unwrap();
        assert_eq!(plain.len(), 2);
        assert_eq!((plain[1].truth, plain[1].call), (Stage::B, Stage::C));
        assert_eq!(plain[1].weight, 1.0);
        let weighted = read("photo;weight;call;truth\nx;2.5;D1;D0\n").unwrap();
        assert_eq!((weighted[0].truth, weighted[0].weight), (Stage::D0, 2.5));
        for (bad, word) in [
            ("truth,call\nA,F\n", "line 2"),
            ("truth,call,weight\nA,A,0\n", "no weight"),
            ("truth,stage\nA,A\n", "\"call\""),
            ("truth,call\n", "no slides"),
        ] {
            let said = read(bad).unwrap_err().to_string();
            assert!(said.contains(word) && said.contains("k.csv"), "{said}");
        }
    }
}
