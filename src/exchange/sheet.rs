//! A CSV file as a sheet: its text under a limit on size, its columns by name, its rows with the lines
//! they stand on. What all tables that people write have in common.

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Largest file that is read: far above a hundred thousand animals.
pub const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// A file that is no sheet with the columns asked for, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SheetError {
    /// The file cannot be read.
    #[error("{}: cannot be read ({source}); check its name and that you may open it", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is larger than any table.
    #[error("{}: {bytes} bytes are more than a table holds; give a CSV file of at most {MOST_BYTES}", file.display())]
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
    /// A column that is needed is not there.
    #[error("{}, line 1: no column \"{column}\"; name the columns {columns} in the first line", file.display())]
    NoColumn {
        /// The file.
        file: PathBuf,
        /// The column.
        column: &'static str,
        /// All columns of such a table.
        columns: &'static str,
    },
    /// A column that stands twice.
    #[error("{}, line 1: the column \"{column}\" stands twice; keep one of the two", file.display())]
    ColumnTwice {
        /// The file.
        file: PathBuf,
        /// The column.
        column: &'static str,
    },
    /// A row longer than the header.
    #[error("{}, line {line}: {found} fields below {wanted} columns; put a text that holds commas between quotes", file.display())]
    TooManyFields {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// Fields of the row.
        found: usize,
        /// Columns of the header.
        wanted: usize,
    },
    /// The table's format is broken.
    #[error("{}: not a table ({source}); save it as CSV with the columns {columns}", file.display())]
    Broken {
        /// The file.
        file: PathBuf,
        /// All columns of such a table.
        columns: &'static str,
        /// What is broken.
        source: csv::Error,
    },
}

/// A row that is not empty, with the line it stands on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Line of the file, from 1.
    pub line: u64,
    record: csv::StringRecord,
}

impl Row {
    /// The text in a column, without the space around it; empty where the row is too short.
    pub fn field(&self, column: usize) -> &str {
        self.record.get(column).unwrap_or_default()
    }

    /// The text in a column that may be missing; absent where nothing stands in it.
    pub fn filled(&self, column: Option<usize>) -> Option<&str> {
        let text = self.field(column?);
        (!text.is_empty()).then_some(text)
    }
}

/// A sheet with its header and its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    file: PathBuf,
    columns: &'static str,
    header: csv::StringRecord,
    rows: Vec<Row>,
}

impl Sheet {
    /// The sheet of a file; `columns` names the columns of such a table, for its errors.
    ///
    /// # Errors
    /// [`SheetError`] for a file that is no sheet.
    pub fn read(file: &Path, columns: &'static str) -> Result<Self, SheetError> {
        let unreadable = |source| SheetError::Unreadable {
            file: file.to_owned(),
            source,
        };
        let bytes = fs::metadata(file).map_err(unreadable)?.len();
        if bytes > MOST_BYTES {
            let file = file.to_owned();
            return Err(SheetError::TooLarge { file, bytes });
        }
        Self::parse(&fs::read(file).map_err(unreadable)?, file, columns)
    }

    /// The sheet in the bytes of `file`, which only gives the errors its name.
    ///
    /// # Errors
    /// [`SheetError`] for bytes that are no sheet.
    pub fn parse(bytes: &[u8], file: &Path, columns: &'static str) -> Result<Self, SheetError> {
        let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
        let text = std::str::from_utf8(text).map_err(|e| SheetError::NotText {
            file: file.to_owned(),
            line: 1 + newlines(&text[..e.valid_up_to()]),
        })?;
        let broken = |source| SheetError::Broken {
            file: file.to_owned(),
            columns,
            source,
        };
        let mut table = csv::ReaderBuilder::new()
            .delimiter(separator(text))
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let header = table.headers().map_err(broken)?.clone();
        let mut lines = Lines::new(text);
        let mut rows = Vec::new();
        for record in table.records() {
            let record = record.map_err(broken)?;
            let line = lines.at(record.position().map_or(0, csv::Position::byte) as usize);
            let (found, wanted) = (record.len(), header.len());
            if record.iter().skip(wanted).any(|field| !field.is_empty()) {
                return Err(SheetError::TooManyFields {
                    file: file.to_owned(),
                    line,
                    found,
                    wanted,
                });
            }
            if !record.iter().all(str::is_empty) {
                rows.push(Row { line, record });
            }
        }
        Ok(Self {
            file: file.to_owned(),
            columns,
            header,
            rows,
        })
    }

    /// The place of a column that may be missing.
    ///
    /// # Errors
    /// [`SheetError::ColumnTwice`].
    pub fn column(&self, column: &'static str) -> Result<Option<usize>, SheetError> {
        let mut places = self.header.iter().enumerate();
        let mut next = || places.find(|(_, name)| name.eq_ignore_ascii_case(column));
        let place = next().map(|(at, _)| at);
        if next().is_some() {
            let file = self.file.clone();
            return Err(SheetError::ColumnTwice { file, column });
        }
        Ok(place)
    }

    /// The place of a column that is needed.
    ///
    /// # Errors
    /// [`SheetError::NoColumn`], [`SheetError::ColumnTwice`].
    pub fn needed(&self, column: &'static str) -> Result<usize, SheetError> {
        self.column(column)?.ok_or_else(|| SheetError::NoColumn {
            file: self.file.clone(),
            column,
            columns: self.columns,
        })
    }

    /// Whether nothing stands in the first line.
    pub fn is_blank(&self) -> bool {
        self.header.iter().all(str::is_empty)
    }

    /// The rows, from the top.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }
}

/// Counts lines up to ever later places of a text.
pub(in crate::exchange) struct Lines<'a> {
    text: &'a [u8],
    counted: usize,
    line: u64,
}

impl<'a> Lines<'a> {
    pub(in crate::exchange) const fn new(text: &'a str) -> Self {
        Self {
            text: text.as_bytes(),
            counted: 0,
            line: 1,
        }
    }

    /// The line of the first character that is not a line end, from byte `at` on.
    pub(in crate::exchange) fn at(&mut self, at: usize) -> u64 {
        let rest = self.text.get(at..).unwrap_or_default();
        let ends = rest
            .iter()
            .take_while(|b| matches!(b, b'\r' | b'\n'))
            .count();
        let until = (at + ends).min(self.text.len());
        if until > self.counted {
            self.line += newlines(&self.text[self.counted..until]);
            self.counted = until;
        }
        self.line
    }
}

pub(in crate::exchange) fn newlines(text: &[u8]) -> u64 {
    text.split(|b| *b == b'\n').count() as u64 - 1
}

/// The separator of the first line: a comma unless only semicolons or tabs stand there.
pub(in crate::exchange) fn separator(text: &str) -> u8 {
    let first = text.lines().next().unwrap_or_default();
    let others = [(b';', first.contains(';')), (b'\t', first.contains('\t'))];
    let other = others.into_iter().find(|(_, stands)| *stands);
    match other {
        Some((separator, _)) if !first.contains(',') => separator,
        _ => b',',
    }
}
