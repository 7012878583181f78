//! Dated calls of one pond: a CSV file with the columns `netted,stage`, one line an animal.

use crate::exchange::sheet::Sheet;
use crate::exchange::sheet::SheetError;
use crate::moult::Stage;
use crate::moult::UnknownStage;
use std::collections::BTreeMap;
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
    /// No sheet with these columns.
    #[error(transparent)]
    Sheet(#[from] SheetError),
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
}

/// The columns of such a table, for its errors.
const COLUMNS: &str = "netted,stage";

/// Reads dated calls, in the order in which the nettings stand first; unread animals are left out.
///
/// # Errors
/// [`SeriesFileError`] for a file or line that cannot be used.
pub fn read_series(file: &Path) -> Result<Vec<NettedCalls>, SeriesFileError> {
    series_of_sheet(&Sheet::read(file, COLUMNS)?, file)
}

fn series_of_sheet(sheet: &Sheet, file: &Path) -> Result<Vec<NettedCalls>, SeriesFileError> {
    let name = || file.to_owned();
    let (netted, stage) = (sheet.needed("netted")?, sheet.needed("stage")?);
    let mut nettings: Vec<NettedCalls> = Vec::new();
    for row in sheet.rows() {
        let line = row.line;
        let (moment, stage) = (row.field(netted), row.field(stage));
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
        let file = Path::new("s.csv");
        let read = |text: &str| {
            let sheet = Sheet::parse(text.as_bytes(), file, COLUMNS)?;
            series_of_sheet(&sheet, file)
        };
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
