//! Reading what can be read out of a damaged file, into a new logbook.
//!
//! The damaged file is never written to: a copy of it is read. What a lost row was needed for is
//! not lost with it: a thing whose first row is gone stands by its earliest surviving row, and a
//! pond, sample, animal or photo that is gone altogether is replaced by one that says so.

use crate::logbook::Logbook;
use crate::logbook::check::understand;
use crate::logbook::codec;
use crate::logbook::error::LogbookError;
use crate::logbook::merge::Taker;
use crate::logbook::schema::STEPS;
use crate::logbook::schema::TABLES;
use crate::logbook::schema::table;
use crate::logbook::schema::version;
use crate::records::ids::PondId;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::pictures::Photo;
use crate::records::places::Animal;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::stamp::Stamp;
use crate::records::table::Cell;
use crate::records::table::Head;
use crate::records::table::Kind;
use crate::records::table::RawRow;
use crate::records::table::Record;
use crate::records::table::Table;
use rusqlite::Connection;
use std::collections::BTreeMap;
use std::collections::VecDeque;
use std::path::Path;

/// Who wrote a row that stands for a lost one.
const SALVAGE: &str = "salvage";
/// What such a thing says.
const LOST: &str = "lost in the damage";
/// How often a place in a table is tried again beyond a fault.
const MOST_PROBES: usize = 20_000;

/// What was read out of a damaged file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SalvageReport {
    /// Rows of each table that were read.
    pub rows: BTreeMap<&'static str, u64>,
    /// Tables in which something could not be read.
    pub broken: Vec<&'static str>,
    /// Rows that stand for lost ones.
    pub stand_ins: u64,
    /// Links to lost things that were left empty.
    pub emptied: u64,
}

/// Reads what can be read of a copy of a damaged file into a logbook.
///
/// # Errors
/// [`LogbookError`] when nothing at all can be read, or the logbook cannot be written.
pub fn salvage(copy: &Path, into: &mut Logbook) -> Result<SalvageReport, LogbookError> {
    let damaged = Connection::open(copy)?;
    // A file that was cut is read as far as it goes.
    damaged.pragma_update(None, "writable_schema", true)?;
    let mut report = SalvageReport::default();
    let mut found: Vec<(Table, Vec<RawRow>)> = Vec::new();
    for table in TABLES {
        if came_later(&damaged, table) {
            continue;
        }
        let mut reading = TableReading::new(&damaged, table);
        reading.all();
        if reading.faults > 0 {
            report.broken.push(table.name);
        }
        report.rows.insert(table.name, reading.rows.len() as u64);
        found.push((table, reading.rows.into_values().collect()));
    }
    if report.rows.values().all(|rows| *rows == 0) && !report.broken.is_empty() {
        return Err(LogbookError::Damaged {
            what: "no row can be read".to_owned(),
        });
    }
    let origins = origins(&damaged);
    let at = into.id();
    into.take::<LogbookError>(&origins, |taker| {
        for (table, rows) in found {
            let mut writing = Writing {
                taker,
                origin: at,
                report: &mut report,
            };
            writing.table(table, rows)?;
        }
        Ok(())
    })?;
    Ok(report)
}

/// Whether the file is of an older step and was written before there was such a table.
fn came_later(damaged: &Connection, table: Table) -> bool {
    let older = version(damaged).is_ok_and(|found| found < STEPS.len() as i64);
    let absent = || {
        let sql = "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = ?1";
        let found = damaged.query_row(sql, [table.name], |row| row.get::<_, i64>(0));
        found.is_ok_and(|count| count == 0)
    };
    older && absent()
}

fn origins(damaged: &Connection) -> Vec<(RowId, String)> {
    let read = || -> Result<Vec<(RowId, String)>, rusqlite::Error> {
        let mut select = damaged.prepare("SELECT id, farm FROM origin")?;
        let rows = select.query_map([], |row| Ok((RowId::from_bytes(row.get(0)?), row.get(1)?)))?;
        Ok(rows.filter_map(Result::ok).collect())
    };
    read().unwrap_or_default()
}

/// Reads a table around its faults.
struct TableReading<'a> {
    damaged: &'a Connection,
    table: Table,
    rows: BTreeMap<i64, RawRow>,
    faults: usize,
    probes: usize,
}

impl<'a> TableReading<'a> {
    const fn new(damaged: &'a Connection, table: Table) -> Self {
        Self {
            damaged,
            table,
            rows: BTreeMap::new(),
            faults: 0,
            probes: 0,
        }
    }

    /// Forward from the beginning, backward from the end, then by halves in between: wider spans
    /// first, so that the tries are spread evenly.
    fn all(&mut self) {
        let Some(low) = self.run(1, i64::MAX, "ASC") else {
            return;
        };
        self.faults += 1;
        let Some(high) = self.run(low, i64::MAX, "DESC") else {
            return;
        };
        // Rows are never deleted, so their places are without gaps.
        let high = high.min(low.saturating_add(self.most_rows()));
        let mut spans = VecDeque::from([(low, high)]);
        while let Some((low, high)) = spans.pop_front() {
            if high < low || self.probes >= MOST_PROBES {
                continue;
            }
            let middle = low + (high - low) / 2;
            let reached = self.run(middle, high, "ASC").unwrap_or(high);
            spans.push_back((low, middle - 1));
            spans.push_back((reached.max(middle) + 1, high));
        }
    }

    /// More rows than the file can hold.
    fn most_rows(&self) -> i64 {
        let pages = self
            .damaged
            .query_row("PRAGMA page_count", [], |row| row.get(0));
        pages.unwrap_or(1_000_000_i64).saturating_mul(64)
    }

    /// Reads rows between two places; gives the place of the fault, if there was one.
    fn run(&mut self, low: i64, high: i64, order: &str) -> Option<i64> {
        self.probes += 1;
        let select = codec::select(self.table);
        let (columns, name) = (select.trim_start_matches("SELECT "), self.table.name);
        let columns = columns.split(" FROM ").next().unwrap_or_default();
        let sql = format!(
            "SELECT {columns}, {name}.rowid FROM {name} NOT INDEXED WHERE rowid BETWEEN ?1 AND ?2 ORDER BY rowid {order}"
        );
        let start = if order == "ASC" { low } else { high };
        let mut at = start;
        let step = if order == "ASC" { 1 } else { -1 };
        let Ok(mut select) = self.damaged.prepare_cached(&sql) else {
            return Some(at);
        };
        let last = select.column_count() - 1;
        let Ok(mut rows) = select.query([low, high]) else {
            return Some(at);
        };
        loop {
            match rows.next() {
                Ok(Some(row)) => {
                    let Ok(place) = row.get::<_, i64>(last) else {
                        return Some(at);
                    };
                    at = place.saturating_add(step);
                    let whole = codec::raw(row, self.table).ok();
                    match whole.filter(|raw| understand(self.table, raw).is_ok()) {
                        Some(raw) => drop(self.rows.insert(place, raw)),
                        None => self.faults += 1,
                    }
                }
                Ok(None) => return None,
                Err(_) => return Some(at),
            }
        }
    }
}

/// Writes what was read, with stand-ins for what it needs.
struct Writing<'a, 'b> {
    taker: &'a mut Taker<'b>,
    origin: RowId,
    report: &'a mut SalvageReport,
}

impl Writing<'_, '_> {
    fn table(&mut self, table: Table, mut rows: Vec<RawRow>) -> Result<(), LogbookError> {
        rows.sort_by_key(|row| row.head.id);
        rows.dedup_by_key(|row| row.head.id);
        for row in &mut rows {
            self.mend_links(table, row)?;
        }
        for row in &rows {
            let first = row.head.of;
            let has_first = rows.binary_search_by_key(&first, |row| row.head.id).is_ok();
            if !has_first && !self.taker.has(table.name, first)? {
                let mut stand_in = row.clone();
                stand_in.head.id = first;
                stand_in.head.supersedes = None;
                SALVAGE.clone_into(&mut stand_in.head.written_by);
                self.taker.row(table, &stand_in)?;
                self.report.stand_ins += 1;
            }
        }
        for row in &rows {
            self.taker.row(table, row)?;
        }
        Ok(())
    }

    fn mend_links(&mut self, table: Table, row: &mut RawRow) -> Result<(), LogbookError> {
        let at = row.head.written_at;
        for (column, cell) in table.columns.iter().zip(&mut row.cells) {
            let (Kind::Link(parent), Cell::Id(id)) = (column.kind, &*cell) else {
                continue;
            };
            if self.taker.has(parent, *id)? {
                continue;
            }
            if column.optional {
                *cell = Cell::Empty;
                self.report.emptied += 1;
            } else {
                self.stand_in(parent, *id, at)?;
            }
        }
        Ok(())
    }

    /// Writes a thing that stands for a lost one, and what it needs in turn.
    fn stand_in(&mut self, parent: &str, id: RowId, at: Stamp) -> Result<(), LogbookError> {
        if self.taker.has(parent, id)? {
            return Ok(());
        }
        let note = Some(LOST.to_owned());
        let cells = match parent {
            "pond" => cells(&Pond {
                note,
                ..Pond::named(LOST)
            })?,
            "sample" => {
                self.stand_in("pond", id, at)?;
                cells(&Sample {
                    note,
                    ..Sample::netted(PondId::from(id), at)
                })?
            }
            "animal" => {
                self.stand_in("sample", id, at)?;
                cells(&Animal {
                    note,
                    ..Animal::of(SampleId::from(id), LOST, 1)
                })?
            }
            "photo" => {
                self.stand_in("sample", id, at)?;
                cells(&Photo {
                    note,
                    ..Photo::of(SampleId::from(id), LOST, "0".repeat(64))
                })?
            }
            other => return Err(LogbookError::NoTable(other.to_owned())),
        };
        let head = Head {
            id,
            of: id,
            supersedes: None,
            withdrawn: false,
            origin: self.origin,
            sequence: 0,
            written_at: at,
            written_by: SALVAGE.to_owned(),
        };
        self.taker.row(table(parent)?, &RawRow { head, cells })?;
        self.report.stand_ins += 1;
        Ok(())
    }
}

fn cells<T: Record>(body: &T) -> Result<Vec<Cell>, LogbookError> {
    body.to_cells().map_err(|source| LogbookError::Fault {
        table: T::TABLE.name,
        source,
    })
}
