//! Dated calls of one pond: a CSV file with the columns `netted,stage`, one line an animal.

use crate::exchange::calls::Lines;
use crate::exchange::calls::MOST_BYTES;
use crate::exchange::calls::separator;
use crate::moult::Stage;
use crate::moult::UnknownStage;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// The calls of one netting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NettedCalls {
    /// When it was netted, as it stands in the table.
    pub netted: String,
    /// Line on which it stands first.
    pub line: u64,
    /// Called animals by stage.
    pub counts: BTreeMap<Stage, u64>,
}

/// A table of dated calls that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SeriesFileError {
    /// The file cannot be read.
    #[error("{}: cannot be read ({source}); check its name and that you may open it", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is larger than any table of calls.
    #[error("{}: {bytes} bytes are no table of calls; give a CSV file of at most {MOST_BYTES}", file.display())]
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
    #[error("{}, line 1: no column \"{column}\"; name the columns netted,stage in the first line", file.display())]
    NoColumn {
        /// The file.
        file: PathBuf,
        /// The column.
        column: &'static str,
    },
    /// A line without a moment.
    #[error("{}, line {line}: no moment of netting; write date and hour on every line", file.display())]
    NoMoment {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
    },
    /// A stage that is none.
    #[error("{}, line {line}: {source}, or unread", file.display())]
    Stage {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// What stands there.
        source: UnknownStage,
    },
    /// No animals.
    #[error("{}: no animals; write the columns netted,stage in the first line and then one line per animal", file.display())]
    Empty {
        /// The file.
        file: PathBuf,
    },
    /// The table's format is broken.
    #[error("{}: not a table ({source}); save it as CSV with the columns netted,stage", file.display())]
    Broken {
        /// The file.
        file: PathBuf,
        /// What is broken.
        source: csv::Error,
    },
}

/// Reads dated calls, in the order in which the nettings stand first; unread animals are left out.
///
/// # Errors
/// [`SeriesFileError`] for a file or line that cannot be used.
pub fn read_series(file: &Path) -> Result<Vec<NettedCalls>, SeriesFileError> {
    let unreadable = |source| SeriesFileError::Unreadable {
        file: file.to_owned(),
        source,
    };
    let bytes = fs::metadata(file).map_err(unreadable)?.len();
    if bytes > MOST_BYTES {
        let file = file.to_owned();
        return Err(SeriesFileError::TooLarge { file, bytes });
    }
    series_from_bytes(&fs::read(file).map_err(unreadable)?, file)
}

/// Reads dated calls from the bytes of `file`, which only gives the errors its name.
///
/// # Errors
/// [`SeriesFileError`] for a line that cannot be used.
pub fn series_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<NettedCalls>, SeriesFileError> {
    let name = || file.to_owned();
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let text = std::str::from_utf8(text).map_err(|source| SeriesFileError::NotText {
        file: name(),
        source,
    })?;
    let broken = |source| SeriesFileError::Broken {
        file: name(),
        source,
    };
    let mut table = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = table.headers().map_err(broken)?.clone();
    let needed = |column: &'static str| {
        let place = header.iter().position(|c| c.eq_ignore_ascii_case(column));
        place.ok_or_else(|| SeriesFileError::NoColumn {
            file: name(),
            column,
        })
    };
    let (netted, stage) = (needed("netted")?, needed("stage")?);
    let mut lines = Lines::new(text);
    let mut nettings: Vec<NettedCalls> = Vec::new();
    for record in table.records() {
        let record = record.map_err(broken)?;
        let line = lines.at(record.position().map_or(0, csv::Position::byte) as usize);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let field = |at: usize| record.get(at).unwrap_or_default();
        let (moment, stage) = (field(netted), field(stage));
        if moment.is_empty() {
            return Err(SeriesFileError::NoMoment { file: name(), line });
        }
        if stage.eq_ignore_ascii_case("unread") {
            continue;
        }
        let stage: Stage = stage.parse().map_err(|source| SeriesFileError::Stage {
            file: name(),
            line,
            source,
        })?;
        let known = nettings.iter().position(|n| n.netted == moment);
        let at = known.unwrap_or_else(|| {
            nettings.push(NettedCalls {
                netted: moment.to_owned(),
                line,
                counts: BTreeMap::new(),
            });
            nettings.len() - 1
        });
        *nettings[at].counts.entry(stage).or_default() += 1;
    }
    if nettings.is_empty() {
        return Err(SeriesFileError::Empty { file: name() });
    }
    Ok(nettings)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nettings_are_gathered_by_their_moment() {
        let read = |text: &str| series_from_bytes(text.as_bytes(), Path::new("s.csv"));
        let found = read("netted,animal,stage\na,1,C\nb,1,D0\na,2,C\na,3,unread\n").unwrap();
        assert_eq!(found.len(), 2);
        assert_eq!(found[0].counts[&Stage::C], 2);
        assert_eq!((found[1].netted.as_str(), found[1].line), ("b", 3));
        for (bad, word) in [
            ("netted,stage\na,F\n", "line 2"),
            ("netted,stage\n,C\n", "no moment"),
            ("date,stage\na,C\n", "\"netted\""),
            ("netted,stage\n", "no animals"),
        ] {
            let said = read(bad).unwrap_err().to_string();
            assert!(said.contains(word) && said.contains("s.csv"), "{said}");
        }
    }
}
