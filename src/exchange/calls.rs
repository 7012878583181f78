//! Calls from a CSV file: one animal a line, columns `animal,stage` and optional
//! `shell,station,throw`.
//!
//! The columns may stand in any order, with or without quotes, a byte order mark or Windows line
//! ends; commas, semicolons and tabs are told apart by the first line. Every fault is an error that
//! names the file, the line and what to do.

use crate::exchange::sheet::Sheet;
use crate::exchange::sheet::SheetError;
use crate::exchange::sheet::separator;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::moult::UnknownShell;
use crate::moult::UnknownStage;
use std::collections::BTreeMap;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// The columns of such a table, for its errors.
const COLUMNS: &str = "animal,stage (and, if noted, shell,station,throw)";

/// The stage of an animal that was netted and not called.
const UNREAD: &str = "unread";

/// One line of a table of calls.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CallLine {
    /// Line of the file, from 1.
    pub line: u64,
    /// Name or number of the animal.
    pub animal: String,
    /// The call; absent when unread.
    pub stage: Option<Stage>,
    /// The shell as felt; absent when not felt.
    pub shell: Option<Shell>,
    /// Where it was netted; absent when not noted.
    pub station: Option<String>,
    /// The throw of the net that caught it; absent when not noted.
    pub throw: Option<String>,
}

/// A table of calls that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CallsError {
    /// No sheet with these columns.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// A line that is not text.
    #[error("{}, line {line}: not UTF-8 text; save the table as CSV UTF-8", file.display())]
    NotText {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
    },
    /// No animals.
    #[error("{}, line {line}: no animals; write the columns animal,stage in the first line and then one line per animal", file.display())]
    Empty {
        /// The file.
        file: PathBuf,
        /// Where the first animal should stand.
        line: u64,
    },
    /// More fields than columns.
    #[error("{}, line {line}: {found} fields for {wanted} columns; quote a field that holds a separator", file.display())]
    TooManyFields {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// Fields of the line.
        found: usize,
        /// Columns of the table.
        wanted: usize,
    },
    /// A line without an animal.
    #[error("{}, line {line}: no animal; give every animal its own name or number", file.display())]
    NoAnimal {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
    },
    /// A line without a stage.
    #[error("{}, line {line}: animal \"{animal}\" has no stage; write its stage, or unread", file.display())]
    NoStage {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// The animal.
        animal: String,
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
    /// A shell as nobody feels it.
    #[error("{}, line {line}: {source}", file.display())]
    Shell {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// What stands there.
        source: UnknownShell,
    },
    /// An animal on two lines.
    #[error("{}, line {line}: animal \"{animal}\" stands on line {first} already; one animal has one call: delete one of the two lines or give the animals their own names", file.display())]
    Twice {
        /// The file.
        file: PathBuf,
        /// The second line.
        line: u64,
        /// The first line.
        first: u64,
        /// The animal.
        animal: String,
    },
    /// The table's format is broken.
    #[error("{}: not a table ({source}); save it as CSV with the columns animal,stage", file.display())]
    Broken {
        /// The file.
        file: PathBuf,
        /// What is broken.
        source: csv::Error,
    },
}

/// Reads the calls of a file.
///
/// # Errors
/// [`CallsError`] for a file or line that cannot be used.
pub fn read_calls(file: &Path) -> Result<Vec<CallLine>, CallsError> {
    calls_of_sheet(&Sheet::read(file, COLUMNS)?, file)
}

/// Reads calls from the bytes of `file`, which only gives the errors its name.
///
/// # Errors
/// [`CallsError`] for a line that cannot be used.
pub fn calls_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<CallLine>, CallsError> {
    calls_of_sheet(&Sheet::parse(bytes, file, COLUMNS)?, file)
}

fn calls_of_sheet(sheet: &Sheet, file: &Path) -> Result<Vec<CallLine>, CallsError> {
    if sheet.is_blank() {
        let (file, line) = (file.to_owned(), 1);
        return Err(CallsError::Empty { file, line });
    }
    let columns = Columns {
        animal: sheet.needed("animal")?,
        stage: sheet.needed("stage")?,
        shell: sheet.column("shell")?,
        station: sheet.column("station")?,
        throw: sheet.column("throw")?,
    };
    let mut calls = Vec::new();
    let mut seen: BTreeMap<String, u64> = BTreeMap::new();
    for row in sheet.rows() {
        let line = row.line;
        let call = columns.call(|at| row.filled(at), line, file)?;
        if let Some(first) = seen.insert(call.animal.clone(), line) {
            return Err(CallsError::Twice {
                file: file.to_owned(),
                line,
                first,
                animal: call.animal,
            });
        }
        calls.push(call);
    }
    if calls.is_empty() {
        let (file, line) = (file.to_owned(), 2);
        return Err(CallsError::Empty { file, line });
    }
    Ok(calls)
}

/// Reads one line that stands by itself: `animal,stage` and, if noted, shell and station after
/// them, apart by commas, semicolons or tabs. Nothing for an empty line and for one that only names
/// the columns.
///
/// # Errors
/// [`CallsError`] for a line that cannot be used; `from` gives it a name.
pub fn call_of_line(text: &str, line: u64, from: &Path) -> Result<Option<CallLine>, CallsError> {
    let text = text.trim_start_matches('\u{feff}');
    let broken = |source| CallsError::Broken {
        file: from.to_owned(),
        source,
    };
    let mut table = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .has_headers(false)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let Some(record) = table.records().next().transpose().map_err(broken)? else {
        return Ok(None);
    };
    let names = |at: usize, name: &str| {
        record
            .get(at)
            .is_some_and(|is| is.eq_ignore_ascii_case(name))
    };
    if record.iter().all(str::is_empty) || (names(0, "animal") && names(1, "stage")) {
        return Ok(None);
    }
    let (found, wanted) = (record.len(), 4);
    if found > wanted {
        let file = from.to_owned();
        return Err(CallsError::TooManyFields {
            file,
            line,
            found,
            wanted,
        });
    }
    let columns = Columns {
        animal: 0,
        stage: 1,
        shell: Some(2),
        station: Some(3),
        throw: None,
    };
    let field = |at: Option<usize>| record.get(at?).filter(|text| !text.is_empty());
    columns.call(field, line, from).map(Some)
}

/// Where the columns stand.
struct Columns {
    animal: usize,
    stage: usize,
    shell: Option<usize>,
    station: Option<usize>,
    throw: Option<usize>,
}

impl Columns {
    fn call<'a>(
        &self,
        field: impl Fn(Option<usize>) -> Option<&'a str>,
        line: u64,
        file: &Path,
    ) -> Result<CallLine, CallsError> {
        let file = || file.to_owned();
        let animal = field(Some(self.animal))
            .ok_or_else(|| CallsError::NoAnimal { file: file(), line })?
            .to_owned();
        let stage = match field(Some(self.stage)) {
            None => {
                return Err(CallsError::NoStage {
                    file: file(),
                    line,
                    animal,
                });
            }
            Some(text) if text.eq_ignore_ascii_case(UNREAD) => None,
            Some(text) => Some(text.parse::<Stage>().map_err(|source| CallsError::Stage {
                file: file(),
                line,
                source,
            })?),
        };
        let shell = field(self.shell)
            .map(str::parse::<Shell>)
            .transpose()
            .map_err(|source| CallsError::Shell {
                file: file(),
                line,
                source,
            })?;
        let station = field(self.station).map(str::to_owned);
        let throw = field(self.throw).map(str::to_owned);
        Ok(CallLine {
            line,
            animal,
            stage,
            shell,
            station,
            throw,
        })
    }
}
