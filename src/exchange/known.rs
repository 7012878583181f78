//! Slides of known truth and how a reader called them: a CSV file with the columns `truth,call` and
//! optional `weight`.

use crate::exchange::calls::Lines;
use crate::exchange::calls::MOST_BYTES;
use crate::exchange::calls::separator;
use crate::moult::Stage;
use crate::moult::UnknownStage;
use std::fs;
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
    /// The file cannot be read.
    #[error("{}: cannot be read ({source}); check its name and that you may open it", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is larger than any table of slides.
    #[error("{}: {bytes} bytes are no table of slides; give a CSV file of at most {MOST_BYTES}", file.display())]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size.
        bytes: u64,
    },
    /// Not text.
    #[error("{}: not UTF-8 text ({source}); save the table as CSV UTF-8", file.display())]
    NotText {
        /// The file.
        file: PathBuf,
        /// Where it is not.
        source: std::str::Utf8Error,
    },
    /// A column that is needed is not there.
    #[error("{}, line 1: no column \"{column}\"; name the columns truth,call (and, if slides were chosen, weight) in the first line", file.display())]
    NoColumn {
        /// The file.
        file: PathBuf,
        /// The column.
        column: &'static str,
    },
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
    /// The table's format is broken.
    #[error("{}: not a table ({source}); save it as CSV with the columns truth,call", file.display())]
    Broken {
        /// The file.
        file: PathBuf,
        /// What is broken.
        source: csv::Error,
    },
}

/// Reads slides of known truth. A slide called `unread` says nothing of how stages are called and is
/// left out.
///
/// # Errors
/// [`KnownError`] for a file or line that cannot be used.
pub fn read_known(file: &Path) -> Result<Vec<KnownLine>, KnownError> {
    let name = || file.to_owned();
    let unreadable = |source| KnownError::Unreadable {
        file: name(),
        source,
    };
    let bytes = fs::metadata(file).map_err(unreadable)?.len();
    if bytes > MOST_BYTES {
        return Err(KnownError::TooLarge {
            file: name(),
            bytes,
        });
    }
    known_from_bytes(&fs::read(file).map_err(unreadable)?, file)
}

/// Reads slides from the bytes of `file`, which only gives the errors its name.
///
/// # Errors
/// [`KnownError`] for a line that cannot be used.
pub fn known_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<KnownLine>, KnownError> {
    let name = || file.to_owned();
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let text = std::str::from_utf8(text).map_err(|source| KnownError::NotText {
        file: name(),
        source,
    })?;
    let broken = |source| KnownError::Broken {
        file: name(),
        source,
    };
    let mut table = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = table.headers().map_err(broken)?.clone();
    let find = |column: &str| header.iter().position(|c| c.eq_ignore_ascii_case(column));
    let needed = |column: &'static str| {
        find(column).ok_or_else(|| KnownError::NoColumn {
            file: name(),
            column,
        })
    };
    let (truth, call, weight) = (needed("truth")?, needed("call")?, find("weight"));
    let mut lines = Lines::new(text);
    let mut slides = Vec::new();
    for record in table.records() {
        let record = record.map_err(broken)?;
        let line = lines.at(record.position().map_or(0, csv::Position::byte) as usize);
        let field = |at: usize| record.get(at).unwrap_or_default();
        if record.iter().all(str::is_empty) || field(call).eq_ignore_ascii_case("unread") {
            continue;
        }
        let stage = |at: usize| {
            field(at)
                .parse::<Stage>()
                .map_err(|source| KnownError::Stage {
                    file: name(),
                    line,
                    source,
                })
        };
        let weight = match weight.map(field).filter(|text| !text.is_empty()) {
            None => 1.0,
            Some(text) => text
                .parse()
                .ok()
                .filter(|w: &f64| w.is_finite() && *w > 0.0)
                .ok_or_else(|| KnownError::Weight {
                    file: name(),
                    line,
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
        let read = |text: &str| known_from_bytes(text.as_bytes(), Path::new("k.csv"));
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
