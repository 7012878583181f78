//! Rows to SQL values and back, and the statements that every table has.

use crate::logbook::error::LogbookError;
use crate::records::ids::RowId;
use crate::records::stamp::Stamp;
use crate::records::table::Cell;
use crate::records::table::Column;
use crate::records::table::HEAD_COLUMNS;
use crate::records::table::Head;
use crate::records::table::Kept;
use crate::records::table::Kind;
use crate::records::table::RawRow;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;
use rusqlite::Connection;
use rusqlite::Row;
use rusqlite::types::Value;
use rusqlite::types::ValueRef;

/// The names of a table's columns in the file, in order; a moment has two.
pub(in crate::logbook) fn sql_names(table: Table) -> Vec<String> {
    all_columns(table)
        .flat_map(|column| match column.kind {
            Kind::Stamp => vec![
                format!("{}_utc_ms", column.name),
                format!("{}_offset_min", column.name),
            ],
            _ => vec![column.name.to_owned()],
        })
        .collect()
}

fn all_columns(table: Table) -> impl Iterator<Item = Column> {
    HEAD_COLUMNS
        .into_iter()
        .chain(table.columns.iter().copied())
}

/// `SELECT` of all columns of a table, before any `JOIN` or `WHERE`.
pub(in crate::logbook) fn select(table: Table) -> String {
    let names: Vec<String> = sql_names(table)
        .iter()
        .map(|column| format!("{}.{column}", table.name))
        .collect();
    format!("SELECT {} FROM {}", names.join(", "), table.name)
}

/// The condition that nobody supersedes a row.
pub(in crate::logbook) fn unsuperseded(table: Table) -> String {
    let name = table.name;
    format!("NOT EXISTS (SELECT 1 FROM {name} AS later WHERE later.supersedes = {name}.id)")
}

/// Writes a row as it is.
pub(in crate::logbook) fn insert(
    connection: &Connection,
    table: Table,
    row: &RawRow,
) -> Result<(), LogbookError> {
    let names = sql_names(table);
    let places: Vec<String> = (1..=names.len()).map(|at| format!("?{at}")).collect();
    let sql = format!(
        "INSERT INTO {} ({}) VALUES ({})",
        table.name,
        names.join(", "),
        places.join(", ")
    );
    let mut values = head_values(&row.head);
    for (cell, column) in row.cells.iter().zip(table.columns) {
        push(&mut values, cell, column.kind);
    }
    connection
        .prepare_cached(&sql)?
        .execute(rusqlite::params_from_iter(values))?;
    Ok(())
}

fn head_values(head: &Head) -> Vec<Value> {
    vec![
        id(head.id),
        id(head.of),
        head.supersedes.map_or(Value::Null, id),
        Value::Integer(i64::from(head.withdrawn)),
        id(head.origin),
        Value::Integer(head.sequence),
        Value::Integer(head.written_at.utc_ms()),
        Value::Integer(head.written_at.offset_min()),
        Value::Text(head.written_by.clone()),
    ]
}

fn push(values: &mut Vec<Value>, cell: &Cell, kind: Kind) {
    match cell {
        Cell::Empty if kind == Kind::Stamp => values.extend([Value::Null, Value::Null]),
        Cell::Empty => values.push(Value::Null),
        Cell::Id(row) => values.push(id(*row)),
        Cell::Text(text) => values.push(Value::Text(text.clone())),
        Cell::Whole(number) => values.push(Value::Integer(*number)),
        Cell::Real(number) => values.push(Value::Real(*number)),
        Cell::Stamp(stamp) => values.extend([
            Value::Integer(stamp.utc_ms()),
            Value::Integer(stamp.offset_min()),
        ]),
    }
}

/// An id as it is bound.
pub(in crate::logbook) fn id(id: RowId) -> Value {
    Value::Blob(id.bytes().to_vec())
}

/// Reads a row that was selected with [`select`].
pub(in crate::logbook) fn raw(row: &Row<'_>, table: Table) -> Result<RawRow, LogbookError> {
    let mut cells = Vec::with_capacity(HEAD_COLUMNS.len() + table.columns.len());
    let mut at = 0;
    let of = row_id(row);
    for column in all_columns(table) {
        let cell = cell(row, at, column).map_err(|source| LogbookError::Row {
            table: table.name,
            id: of,
            source,
        })?;
        at += if column.kind == Kind::Stamp { 2 } else { 1 };
        cells.push(cell);
    }
    let own = cells.split_off(HEAD_COLUMNS.len());
    let head = head_of(&cells).map_err(|source| LogbookError::Row {
        table: table.name,
        id: of,
        source,
    })?;
    Ok(RawRow { head, cells: own })
}

/// The id of a row, as far as it can be read: for errors.
fn row_id(row: &Row<'_>) -> RowId {
    let bytes = row.get_ref(0).ok().and_then(|value| value.as_blob().ok());
    let bytes = bytes.and_then(|bytes| <[u8; 16]>::try_from(bytes).ok());
    RowId::from_bytes(bytes.unwrap_or_default())
}

fn cell(row: &Row<'_>, at: usize, column: Column) -> Result<Cell, RowFault> {
    let wrong = |found: &str| RowFault::Wrong {
        column: column.name.to_owned(),
        found: found.to_owned(),
    };
    let value = row.get_ref(at).map_err(|e| wrong(&e.to_string()))?;
    let shown = || wrong(value.data_type().to_string().as_str());
    match (column.kind, value) {
        (_, ValueRef::Null) => Ok(Cell::Empty),
        (Kind::Id | Kind::Link(_), ValueRef::Blob(bytes)) => {
            let bytes = <[u8; 16]>::try_from(bytes).ok().ok_or_else(shown)?;
            Ok(Cell::Id(RowId::from_bytes(bytes)))
        }
        (Kind::Text | Kind::Json, ValueRef::Text(bytes)) => {
            let text = std::str::from_utf8(bytes).ok().ok_or_else(shown)?;
            Ok(Cell::Text(text.to_owned()))
        }
        (Kind::Whole | Kind::Flag, ValueRef::Integer(number)) => Ok(Cell::Whole(number)),
        (Kind::Real, ValueRef::Real(number)) if number.is_finite() => Ok(Cell::Real(number)),
        (Kind::Stamp, ValueRef::Integer(utc_ms)) => {
            let offset = row.get::<_, i64>(at + 1).ok().ok_or_else(shown)?;
            Ok(Cell::Stamp(Stamp::new(utc_ms, offset)?))
        }
        _ => Err(shown()),
    }
}

/// The head of a row, from the cells of [`HEAD_COLUMNS`].
fn head_of(cells: &[Cell]) -> Result<Head, RowFault> {
    match cells {
        [
            Cell::Id(id),
            Cell::Id(of),
            supersedes @ (Cell::Empty | Cell::Id(_)),
            Cell::Whole(withdrawn @ (0 | 1)),
            Cell::Id(origin),
            Cell::Whole(sequence),
            Cell::Stamp(written_at),
            Cell::Text(written_by),
        ] => Ok(Head {
            id: *id,
            of: *of,
            supersedes: match supersedes {
                Cell::Id(row) => Some(*row),
                _ => None,
            },
            withdrawn: *withdrawn == 1,
            origin: *origin,
            sequence: *sequence,
            written_at: *written_at,
            written_by: written_by.clone(),
        }),
        _ => Err(RowFault::Form("the columns that every row has".to_owned())),
    }
}

/// A raw row as the record it is.
pub(in crate::logbook) fn kept<T: Record>(row: RawRow) -> Result<Kept<T>, LogbookError> {
    let body = T::from_cells(&row.cells).map_err(|source| LogbookError::Row {
        table: T::TABLE.name,
        id: row.head.id,
        source,
    })?;
    let head = row.head;
    Ok(Kept { head, body })
}
