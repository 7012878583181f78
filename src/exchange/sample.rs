//! The list of a sample: which photo shows which animal; columns `animal,photo` and optional
//! `station,shell`.
//!
//! One animal may have several photos, one photo shows one animal. Every fault is an error that
//! names the file, the line and what to do.

use crate::exchange::sheet::Sheet;
use crate::exchange::sheet::SheetError;
use crate::moult::Shell;
use crate::moult::UnknownShell;
use std::collections::BTreeMap;
use std::path::Component;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// The columns of such a list, for its errors.
const COLUMNS: &str = "animal,photo (and, if noted, station,shell)";

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
    /// No line after the first.
    #[error("no photos; write one line for each photo below the names of the columns")]
    Empty,
}

/// A list that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SampleError {
    /// No sheet with these columns.
    #[error(transparent)]
    Sheet(#[from] SheetError),
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
}

/// Reads the list of a sample.
///
/// # Errors
/// [`SampleError`] for a file or line that cannot be used.
pub fn read_sample(file: &Path) -> Result<Vec<SampleLine>, SampleError> {
    list_of_sheet(&Sheet::read(file, COLUMNS)?, file)
}

/// Reads a list from the bytes of `file`, which only gives the errors its name.
///
/// # Errors
/// [`SampleError`] for a line that cannot be used.
pub fn sample_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<SampleLine>, SampleError> {
    list_of_sheet(&Sheet::parse(bytes, file, COLUMNS)?, file)
}

fn list_of_sheet(sheet: &Sheet, file: &Path) -> Result<Vec<SampleLine>, SampleError> {
    let at = |line: u64, source: LineFault| SampleError::Line {
        file: file.to_owned(),
        line,
        source,
    };
    let (animal, photo) = (sheet.needed("animal")?, sheet.needed("photo")?);
    let (station, shell) = (sheet.column("station")?, sheet.column("shell")?);
    let mut seen: BTreeMap<String, u64> = BTreeMap::new();
    let mut list = Vec::new();
    for row in sheet.rows() {
        let line = row.line;
        let read = || -> Result<SampleLine, LineFault> {
            let needed = |column, name| row.filled(Some(column)).ok_or(LineFault::Missing(name));
            let photo = needed(photo, "photo")?;
            Ok(SampleLine {
                line,
                animal: needed(animal, "animal")?.to_owned(),
                photo: within(photo)?,
                station: row.filled(station).map(str::to_owned),
                shell: row.filled(shell).map(str::parse).transpose()?,
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
        let error = read("animal,stage\nS1,A\n").unwrap_err().to_string();
        assert!(error.contains("line 1: no column \"photo\""), "{error}");
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
