//! Calls from a CSV file: one animal a line, columns `animal,stage` and optional
//! `shell,station,throw`.
//!
//! The columns may stand in any order, with or without quotes, a byte order mark or Windows line
//! ends; commas, semicolons and tabs are told apart by the first line. Every fault is an error that
//! names the file, the line and what to do.

use crate::exchange::sheet::Lines;
use crate::exchange::sheet::MOST_BYTES;
use crate::exchange::sheet::newlines;
use crate::exchange::sheet::separator;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::moult::UnknownShell;
use crate::moult::UnknownStage;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

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
    /// A column that is needed is not there.
    #[error("{}, line 1: no column \"{column}\" among {found}; name the columns animal,stage (and, if noted, shell,station,throw) in the first line", file.display())]
    NoColumn {
        /// The file.
        file: PathBuf,
        /// The column.
        column: &'static str,
        /// The columns that are there.
        found: String,
    },
    /// A column that stands twice.
    #[error("{}, line 1: column \"{column}\" stands twice; delete or rename one", file.display())]
    ColumnTwice {
        /// The file.
        file: PathBuf,
        /// The column.
        column: &'static str,
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
    let unreadable = |source| {
        let file = file.to_owned();
        CallsError::Unreadable { file, source }
    };
    let bytes = fs::metadata(file).map_err(unreadable)?.len();
    if bytes > MOST_BYTES {
        let file = file.to_owned();
        return Err(CallsError::TooLarge { file, bytes });
    }
    calls_from_bytes(&fs::read(file).map_err(unreadable)?, file)
}

/// Reads calls from the bytes of `file`, which only gives the errors its name.
///
/// # Errors
/// [`CallsError`] for a line that cannot be used.
pub fn calls_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<CallLine>, CallsError> {
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let text = std::str::from_utf8(text).map_err(|e| CallsError::NotText {
        file: file.to_owned(),
        line: 1 + newlines(&text[..e.valid_up_to()]),
    })?;
    let mut table = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let broken = |source| CallsError::Broken {
        file: file.to_owned(),
        source,
    };
    let columns = Columns::find(table.headers().map_err(broken)?, file)?;
    let mut lines = Lines::new(text);
    let mut calls = Vec::new();
    let mut seen: BTreeMap<String, u64> = BTreeMap::new();
    for record in table.records() {
        let record = record.map_err(broken)?;
        let line = lines.at(record.position().map_or(0, csv::Position::byte) as usize);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let call = columns.call(&record, line, file)?;
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
    let columns = Columns {
        all: 4,
        animal: 0,
        stage: 1,
        shell: Some(2),
        station: Some(3),
        throw: None,
    };
    columns.call(&record, line, from).map(Some)
}

/// Where the columns stand.
struct Columns {
    all: usize,
    animal: usize,
    stage: usize,
    shell: Option<usize>,
    station: Option<usize>,
    throw: Option<usize>,
}

impl Columns {
    fn find(header: &csv::StringRecord, file: &Path) -> Result<Self, CallsError> {
        if header.iter().all(str::is_empty) {
            let (file, line) = (file.to_owned(), 1);
            return Err(CallsError::Empty { file, line });
        }
        let find = |column: &'static str| {
            let mut places = header.iter().enumerate();
            let mut next = || places.find(|(_, name)| name.eq_ignore_ascii_case(column));
            let place = next();
            if next().is_some() {
                let file = file.to_owned();
                return Err(CallsError::ColumnTwice { file, column });
            }
            Ok(place.map(|(at, _)| at))
        };
        let needed = |column| {
            find(column)?.ok_or_else(|| CallsError::NoColumn {
                file: file.to_owned(),
                column,
                found: header.iter().collect::<Vec<_>>().join(","),
            })
        };
        Ok(Self {
            all: header.len(),
            animal: needed("animal")?,
            stage: needed("stage")?,
            shell: find("shell")?,
            station: find("station")?,
            throw: find("throw")?,
        })
    }

    fn call(
        &self,
        record: &csv::StringRecord,
        line: u64,
        file: &Path,
    ) -> Result<CallLine, CallsError> {
        let file = || file.to_owned();
        if record.len() > self.all {
            let (found, wanted) = (record.len(), self.all);
            return Err(CallsError::TooManyFields {
                file: file(),
                line,
                found,
                wanted,
            });
        }
        let field = |at: usize| record.get(at).filter(|text| !text.is_empty());
        let animal = field(self.animal)
            .ok_or_else(|| CallsError::NoAnimal { file: file(), line })?
            .to_owned();
        let stage = match field(self.stage) {
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
        let shell = self
            .shell
            .and_then(field)
            .map(str::parse::<Shell>)
            .transpose()
            .map_err(|source| CallsError::Shell {
                file: file(),
                line,
                source,
            })?;
        let station = self.station.and_then(field).map(str::to_owned);
        let throw = self.throw.and_then(field).map(str::to_owned);
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
