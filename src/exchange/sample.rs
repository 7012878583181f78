//! The list of a sample: which photo shows which animal; columns `animal,photo` and optional
//! `station,shell`.
//!
//! One animal may have several photos, one photo shows one animal. Every fault is an error that
//! names the file, the line and what to do.

use crate::exchange::sheet::Lines;
use crate::exchange::sheet::MOST_BYTES;
use crate::exchange::sheet::newlines;
use crate::exchange::sheet::separator;
use crate::moult::Shell;
use crate::moult::UnknownShell;
use std::collections::BTreeMap;
use std::fs;
use std::path::Component;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// One line of the list of a sample.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SampleLine {
    /// Line of the file, from 1.
    pub line: u64,
    /// Name or number of the animal.
    pub animal: String,
    /// The photo, relative to the folder of the list.
    pub photo: PathBuf,
    /// Where the animal was netted; absent when not noted.
    pub station: Option<String>,
    /// The shell as felt; absent when not felt.
    pub shell: Option<Shell>,
}

/// What is wrong with one line of a list.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum LineFault {
    /// A cell that is needed is empty.
    #[error("no {0}; fill the column in or delete the line")]
    Missing(&'static str),
    /// A photo that would lie outside of the folder.
    #[error(
        "photo \"{0}\" lies outside of the folder of the list; give its name within the folder"
    )]
    Outside(String),
    /// A photo on two lines.
    #[error("photo \"{photo}\" stands on line {first} already; one photo shows one animal")]
    Twice {
        /// The photo.
        photo: String,
        /// The first line.
        first: u64,
    },
    /// A shell as nobody feels it.
    #[error(transparent)]
    Shell(#[from] UnknownShell),
    /// Not text.
    #[error("not UTF-8 text; save the list as CSV UTF-8")]
    NotText,
    /// A column that is needed is not there.
    #[error("no column \"{0}\"; name the columns animal,photo (and, if noted, station,shell)")]
    NoColumn(&'static str),
    /// No line after the first.
    #[error("no photos; write one line for each photo below the names of the columns")]
    Empty,
}

/// A list that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SampleError {
    /// The file cannot be read.
    #[error("cannot be read; check its name and that you may open it: {}", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is larger than any list.
    #[error("{bytes} bytes are no list of photos; give a CSV file of at most {MOST_BYTES}: {}", file.display())]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size.
        bytes: u64,
    },
    /// A line that cannot be used.
    #[error("{}, line {line}", file.display())]
    Line {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// What is wrong with it.
        source: LineFault,
    },
    /// The table's format is broken.
    #[error("not a table; save it as CSV with the columns animal,photo: {}", file.display())]
    Broken {
        /// The file.
        file: PathBuf,
        /// What is broken.
        source: csv::Error,
    },
}

/// Reads the list of a sample.
///
/// # Errors
/// [`SampleError`] for a file or line that cannot be used.
pub fn read_sample(file: &Path) -> Result<Vec<SampleLine>, SampleError> {
    let unreadable = |source| SampleError::Unreadable {
        file: file.to_owned(),
        source,
    };
    let bytes = fs::metadata(file).map_err(unreadable)?.len();
    if bytes > MOST_BYTES {
        let file = file.to_owned();
        return Err(SampleError::TooLarge { file, bytes });
    }
    sample_from_bytes(&fs::read(file).map_err(unreadable)?, file)
}

/// Reads a list from the bytes of `file`, which only gives the errors its name.
///
/// # Errors
/// [`SampleError`] for a line that cannot be used.
pub fn sample_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<SampleLine>, SampleError> {
    let at = |line: u64, source: LineFault| SampleError::Line {
        file: file.to_owned(),
        line,
        source,
    };
    let broken = |source| SampleError::Broken {
        file: file.to_owned(),
        source,
    };
    let bytes = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let text = std::str::from_utf8(bytes)
        .map_err(|e| at(1 + newlines(&bytes[..e.valid_up_to()]), LineFault::NotText))?;
    let mut table = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header = table.headers().map_err(broken)?.clone();
    let find = |column: &str| {
        header
            .iter()
            .position(|name| name.eq_ignore_ascii_case(column))
    };
    let needed = |column| find(column).ok_or_else(|| at(1, LineFault::NoColumn(column)));
    let (animal, photo) = (needed("animal")?, needed("photo")?);
    let (station, shell) = (find("station"), find("shell"));
    let mut lines = Lines::new(text);
    let mut seen: BTreeMap<String, u64> = BTreeMap::new();
    let mut list = Vec::new();
    for record in table.records() {
        let record = record.map_err(broken)?;
        let line = lines.at(record.position().map_or(0, csv::Position::byte) as usize);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let cell = |column: usize| record.get(column).filter(|text| !text.is_empty());
        let read = || -> Result<SampleLine, LineFault> {
            let photo = cell(photo).ok_or(LineFault::Missing("photo"))?;
            Ok(SampleLine {
                line,
                animal: cell(animal).ok_or(LineFault::Missing("animal"))?.to_owned(),
                photo: within(photo)?,
                station: station.and_then(cell).map(str::to_owned),
                shell: shell.and_then(cell).map(str::parse).transpose()?,
            })
        };
        let read = read().map_err(|fault| at(line, fault))?;
        let photo = read.photo.to_string_lossy().into_owned();
        if let Some(first) = seen.insert(photo.clone(), line) {
            return Err(at(line, LineFault::Twice { photo, first }));
        }
        list.push(read);
    }
    if list.is_empty() {
        return Err(at(2, LineFault::Empty));
    }
    Ok(list)
}

/// A path that stays within the folder it is joined to.
fn within(photo: &str) -> Result<PathBuf, LineFault> {
    let path = PathBuf::from(photo.replace('\\', "/"));
    let inside = path
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    // a drive of another system is no part of a name either
    if inside && !photo.contains(':') {
        Ok(path)
    } else {
        Err(LineFault::Outside(photo.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Vec<SampleLine>, SampleError> {
        sample_from_bytes(text.as_bytes(), Path::new("sample.csv"))
    }

    #[track_caller]
    fn fault(text: &str, wanted_line: u64, wanted: &LineFault) {
        match read(text) {
            Err(SampleError::Line { line, source, .. }) => {
                assert_eq!((line, &source), (wanted_line, wanted));
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn lines_are_read_whatever_the_order_of_the_columns() {
        let list =
            read("\u{feff}photo;shell;animal\r\na.jpg;Papery;S1\r\n\r\nb/c.jpg;;S1\r\n").unwrap();
        assert_eq!(list.len(), 2);
        assert_eq!(list[0].shell, Some(Shell::Papery));
        assert_eq!(list[1].photo, Path::new("b/c.jpg"));
        assert_eq!((list[1].line, list[1].station.as_deref()), (4, None));
    }

    #[test]
    fn faults_name_their_line() {
        fault("animal,stage\nS1,A\n", 1, &LineFault::NoColumn("photo"));
        fault("animal,photo\n", 2, &LineFault::Empty);
        fault("animal,photo\nS1,\n", 2, &LineFault::Missing("photo"));
        fault("animal,photo\n,a.jpg\n", 2, &LineFault::Missing("animal"));
        for outside in ["../a.jpg", "/etc/a.jpg", "..\\a.jpg", "C:\\a.jpg"] {
            let text = format!("animal,photo\nS1,{outside}\n");
            fault(&text, 2, &LineFault::Outside(outside.to_owned()));
        }
        let twice = LineFault::Twice {
            photo: "a.jpg".to_owned(),
            first: 2,
        };
        fault("animal,photo\nS1,a.jpg\nS2,a.jpg\n", 3, &twice);
    }
}
