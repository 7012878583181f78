//! Whole tables as CSV files, out and in again without loss.
//!
//! UTF-8, commas, a header with the column names (units in them), one row a line. Empty cells are
//! absent values, yes and no are flags, moments are written with their offset, ids in full, values
//! with parts as JSON. A text that a spreadsheet could take for a formula has an apostrophe before
//! it, and so has one that begins with an apostrophe; the first apostrophe is taken off again.

use crate::exchange::results::harmless;
use crate::records::table::Cell;
use crate::records::table::Column;
use crate::records::table::HEAD_COLUMNS;
use crate::records::table::Head;
use crate::records::table::Kind;
use crate::records::table::RawRow;
use crate::records::table::RowFault;
use crate::records::table::Table;
use std::fs::File;
use std::io;
use std::io::BufWriter;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Why a table could not be written or read.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TableError {
    /// The file cannot be written.
    #[error("the table cannot be written ({source}): {}", file.display())]
    Write {
        /// The file.
        file: PathBuf,
        /// What went wrong.
        source: csv::Error,
    },
    /// The file cannot be flushed to the disk.
    #[error("the table cannot be written ({source}): {}", file.display())]
    Flush {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file cannot be read.
    #[error("the table cannot be read ({source}); check that the export is whole: {}", file.display())]
    Open {
        /// The file.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Columns of another table, or of another program.
    #[error("the columns are not those of {table} ({found}); give an export as this program wrote it: {}", file.display())]
    Columns {
        /// The table.
        table: &'static str,
        /// The first that does not fit.
        found: String,
        /// The file.
        file: PathBuf,
    },
    /// A line that cannot be understood.
    #[error("line {line}: {source}: {}", file.display())]
    Line {
        /// The line.
        line: u64,
        /// What is wrong.
        source: RowFault,
        /// The file.
        file: PathBuf,
    },
    /// Not a table of text.
    #[error("line {line}: not UTF-8 text, or not the form of a table ({source}); nothing was taken: {}", file.display())]
    Broken {
        /// The line.
        line: u64,
        /// What went wrong.
        source: csv::Error,
        /// The file.
        file: PathBuf,
    },
    /// Fewer or more lines than the export says.
    #[error("{found} rows, though the export says {wanted}; the file was cut or changed, nothing was taken: {}", file.display())]
    Count {
        /// Rows found.
        found: u64,
        /// Rows that the export states.
        wanted: u64,
        /// The file.
        file: PathBuf,
    },
}

/// Writes a table row by row.
pub struct TableWriter {
    table: Table,
    file: PathBuf,
    csv: csv::Writer<BufWriter<File>>,
    rows: u64,
}

impl TableWriter {
    /// Begins a file that is not there yet.
    ///
    /// # Errors
    /// [`TableError`] when it cannot be written.
    pub fn begin(file: &Path, table: Table) -> Result<Self, TableError> {
        let open = File::create_new(file).map_err(|source| TableError::Flush {
            file: file.to_owned(),
            source,
        })?;
        let mut writer = Self {
            table,
            file: file.to_owned(),
            csv: csv::Writer::from_writer(BufWriter::new(open)),
            rows: 0,
        };
        let names: Vec<&str> = columns(table).map(|column| column.name).collect();
        writer.record(&names)?;
        Ok(writer)
    }

    /// Writes a row.
    ///
    /// # Errors
    /// [`TableError`] when it cannot be written.
    pub fn row(&mut self, row: &RawRow) -> Result<(), TableError> {
        let cells: Vec<String> = head_cells(&row.head)
            .iter()
            .chain(&row.cells)
            .zip(columns(self.table))
            .map(|(cell, column)| written(cell, column.kind))
            .collect();
        self.rows += 1;
        self.record(&cells)
    }

    fn record<T: AsRef<[u8]>>(&mut self, cells: &[T]) -> Result<(), TableError> {
        self.csv
            .write_record(cells)
            .map_err(|source| TableError::Write {
                file: self.file.clone(),
                source,
            })
    }

    /// Ends the file, on the disk; gives the number of rows.
    ///
    /// # Errors
    /// [`TableError`] when it cannot be written.
    pub fn finish(self) -> Result<u64, TableError> {
        let failed = |source| TableError::Flush {
            file: self.file.clone(),
            source,
        };
        let buffer = self
            .csv
            .into_inner()
            .map_err(|error| failed(io::Error::other(error.to_string())))?;
        let file = buffer
            .into_inner()
            .map_err(|error| failed(error.into_error()))?;
        file.sync_all().map_err(failed)?;
        Ok(self.rows)
    }
}

/// Reads the rows of a table's file, in their order, and hands each with its line to `take`.
///
/// # Errors
/// [`TableError`] for the first fault, or the error of `take`.
pub fn read_table<E: From<TableError>>(
    file: &Path,
    table: Table,
    wanted: u64,
    mut take: impl FnMut(u64, RawRow) -> Result<(), E>,
) -> Result<(), E> {
    let open = File::open(file).map_err(|source| TableError::Open {
        file: file.to_owned(),
        source,
    })?;
    let broken = |source: csv::Error| TableError::Broken {
        line: source.position().map_or(1, csv::Position::line),
        source,
        file: file.to_owned(),
    };
    let mut csv = csv::ReaderBuilder::new().from_reader(open);
    let header = csv.headers().map_err(broken)?.clone();
    check_columns(&header, table, file)?;
    let mut found = 0;
    for record in csv.records() {
        let record = record.map_err(broken)?;
        let line = record.position().map_or(0, csv::Position::line);
        let row = row_of(&record, table).map_err(|source| TableError::Line {
            line,
            source,
            file: file.to_owned(),
        })?;
        found += 1;
        take(line, row)?;
    }
    if found == wanted {
        Ok(())
    } else {
        Err(TableError::Count {
            found,
            wanted,
            file: file.to_owned(),
        }
        .into())
    }
}

/// Writes a table of texts that is for people only: names of columns, then rows.
///
/// # Errors
/// [`TableError`] when it cannot be written.
pub fn write_texts(file: &Path, names: &[&str], rows: &[Vec<String>]) -> Result<(), TableError> {
    let failed = |source| TableError::Write {
        file: file.to_owned(),
        source,
    };
    let mut csv = csv::Writer::from_path(file).map_err(failed)?;
    csv.write_record(names).map_err(failed)?;
    for row in rows {
        let row: Vec<String> = row.iter().map(|text| guarded(text)).collect();
        csv.write_record(row).map_err(failed)?;
    }
    csv.flush().map_err(|source| TableError::Flush {
        file: file.to_owned(),
        source,
    })
}

fn columns(table: Table) -> impl Iterator<Item = Column> {
    HEAD_COLUMNS
        .into_iter()
        .chain(table.columns.iter().copied())
}

fn check_columns(header: &csv::StringRecord, table: Table, file: &Path) -> Result<(), TableError> {
    let wrong = |found: &str| TableError::Columns {
        table: table.name,
        found: found.to_owned(),
        file: file.to_owned(),
    };
    let mut names = header.iter();
    for column in columns(table) {
        match names.next() {
            // Spreadsheets write a byte order mark before the first name.
            Some(name) if name.trim_start_matches('\u{feff}') == column.name => {}
            Some(name) => {
                let (name, wanted) = (name, column.name);
                return Err(wrong(&format!(
                    "\"{name}\" stands where \"{wanted}\" should"
                )));
            }
            None => return Err(wrong(&format!("there is no \"{}\"", column.name))),
        }
    }
    match names.next() {
        Some(name) => Err(wrong(&format!("\"{name}\" is one too many"))),
        None => Ok(()),
    }
}

fn head_cells(head: &Head) -> [Cell; 8] {
    [
        Cell::Id(head.id),
        Cell::Id(head.of),
        head.supersedes.map_or(Cell::Empty, Cell::Id),
        Cell::Whole(i64::from(head.withdrawn)),
        Cell::Id(head.origin),
        Cell::Whole(head.sequence),
        Cell::Stamp(head.written_at),
        Cell::Text(head.written_by.clone()),
    ]
}

fn written(cell: &Cell, kind: Kind) -> String {
    match (kind, cell) {
        (_, Cell::Empty) => String::new(),
        (_, Cell::Id(id)) => id.to_string(),
        (Kind::Json, Cell::Text(text)) => text.clone(),
        (_, Cell::Text(text)) => guarded(text),
        (Kind::Flag, Cell::Whole(yes)) => if *yes == 0 { "no" } else { "yes" }.to_owned(),
        (_, Cell::Whole(number)) => number.to_string(),
        // The shortest digits that give the same number back.
        (_, Cell::Real(number)) => number.to_string(),
        (_, Cell::Stamp(stamp)) => stamp.to_string(),
    }
}

/// A text with an apostrophe before it where a spreadsheet could take it for a formula, or where it
/// begins with one already.
fn guarded(text: &str) -> String {
    if text.starts_with('\'') {
        format!("'{text}")
    } else {
        harmless(text)
    }
}

fn row_of(record: &csv::StringRecord, table: Table) -> Result<RawRow, RowFault> {
    let mut cells = Vec::with_capacity(record.len());
    for (column, text) in columns(table).zip(record) {
        cells.push(cell_of(column, text)?);
    }
    let own = cells.split_off(HEAD_COLUMNS.len());
    let wrong = || RowFault::Form("the columns that every row has".to_owned());
    let [
        Cell::Id(id),
        Cell::Id(of),
        supersedes,
        Cell::Whole(withdrawn),
        Cell::Id(origin),
        Cell::Whole(sequence),
        Cell::Stamp(written_at),
        Cell::Text(written_by),
    ] = <[Cell; 8]>::try_from(cells).ok().ok_or_else(wrong)?
    else {
        return Err(wrong());
    };
    let supersedes = match supersedes {
        Cell::Id(row) => Some(row),
        _ => None,
    };
    Ok(RawRow {
        head: Head {
            id,
            of,
            supersedes,
            withdrawn: withdrawn == 1,
            origin,
            sequence,
            written_at,
            written_by,
        },
        cells: own,
    })
}

fn cell_of(column: Column, text: &str) -> Result<Cell, RowFault> {
    if text.is_empty() {
        return if column.optional {
            Ok(Cell::Empty)
        } else {
            Err(RowFault::Missing {
                column: column.name.to_owned(),
            })
        };
    }
    let wrong = || RowFault::Wrong {
        column: column.name.to_owned(),
        found: text.chars().take(60).collect(),
    };
    match column.kind {
        Kind::Id | Kind::Link(_) => Ok(Cell::Id(text.parse()?)),
        Kind::Text => Ok(Cell::Text(
            text.strip_prefix('\'').unwrap_or(text).to_owned(),
        )),
        Kind::Whole => text.parse().ok().map(Cell::Whole).ok_or_else(wrong),
        Kind::Real => text
            .parse::<f64>()
            .ok()
            .filter(|number| number.is_finite())
            .map(Cell::Real)
            .ok_or_else(wrong),
        Kind::Flag => match text {
            "yes" => Ok(Cell::Whole(1)),
            "no" => Ok(Cell::Whole(0)),
            _ => Err(wrong()),
        },
        Kind::Stamp => Ok(Cell::Stamp(text.parse()?)),
        Kind::Json => match serde_json::from_str::<serde_json::Value>(text) {
            Ok(_) => Ok(Cell::Text(text.to_owned())),
            Err(_) => Err(wrong()),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn texts_come_back_and_none_begins_like_a_formula(text in "\\PC{1,12}|[=+@'\t -]{1,3}.{0,4}") {
            let column = Column::needed("note", Kind::Text);
            let cell = Cell::Text(text);
            let out = written(&cell, Kind::Text);
            prop_assert!(!out.trim_start().starts_with(['=', '+', '-', '@']));
            prop_assert_eq!(cell_of(column, &out).unwrap(), cell);
        }

        #[test]
        fn numbers_come_back(number in proptest::num::f64::NORMAL | proptest::num::f64::ZERO) {
            let column = Column::needed("weight_g", Kind::Real);
            let out = written(&Cell::Real(number), Kind::Real);
            prop_assert_eq!(cell_of(column, &out).unwrap(), Cell::Real(number));
        }
    }

    #[test]
    fn what_is_no_number_is_refused() {
        let column = Column::needed("weight_g", Kind::Real);
        for text in ["", "NaN", "inf", "12,5", "=1+1", "1e999"] {
            assert!(cell_of(column, text).is_err(), "{text}");
        }
    }
}
