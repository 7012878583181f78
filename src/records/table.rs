//! The shape of the tables in which rows are kept and exchanged, without a word of SQL or CSV: a
//! row is a [`Head`] and a list of [`Cell`]s in the order of its table's columns.

use crate::records::ids::IdError;
use crate::records::ids::RowId;
use crate::records::ids::ThingId;
use crate::records::stamp::Stamp;
use crate::records::stamp::StampError;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Map;
use serde_json::Value;
use std::fmt;
use thiserror::Error;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The id of a row, which need not be there.
    Id,
    /// The id of a thing of the named table, which must be there.
    Link(&'static str),
    /// Text, never empty.
    Text,
    /// A whole number.
    Whole,
    /// A finite number.
    Real,
    /// Yes or no.
    Flag,
    /// A moment.
    Stamp,
    /// A value with parts, as JSON.
    Json,
}

/// A column of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name, with the unit where there is one.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// Whether it may be empty.
    pub optional: bool,
}

impl Column {
    /// A column that is always filled.
    pub const fn needed(name: &'static str, kind: Kind) -> Self {
        Self {
            name,
            kind,
            optional: false,
        }
    }

    /// A column that may be empty.
    pub const fn optional(name: &'static str, kind: Kind) -> Self {
        Self {
            name,
            kind,
            optional: true,
        }
    }
}

/// A table: its name and the columns after those of [`HEAD_COLUMNS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: &'static str,
    /// Its own columns.
    pub columns: &'static [Column],
}

/// The columns that every table begins with.
pub const HEAD_COLUMNS: [Column; 8] = [
    Column::needed("id", Kind::Id),
    Column::needed("of", Kind::Id),
    Column::optional("supersedes", Kind::Id),
    Column::needed("withdrawn", Kind::Flag),
    Column::needed("origin", Kind::Id),
    Column::needed("sequence", Kind::Whole),
    Column::needed("written_at", Kind::Stamp),
    Column::needed("written_by", Kind::Text),
];

/// One value of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// An id.
    Id(RowId),
    /// Text, or JSON as text.
    Text(String),
    /// A whole number; 0 and 1 for no and yes.
    Whole(i64),
    /// A finite number.
    Real(f64),
    /// A moment.
    Stamp(Stamp),
}

/// A row that does not fit its table.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum RowFault {
    /// A cell that must be filled is empty.
    #[error("{column} is empty")]
    Missing {
        /// The column.
        column: String,
    },
    /// A cell that holds something else.
    #[error("{column} holds \"{found}\", which it cannot")]
    Wrong {
        /// The column.
        column: String,
        /// What stands there.
        found: String,
    },
    /// More or fewer cells than columns.
    #[error("{found} cells for {wanted} columns")]
    Cells {
        /// Cells of the row.
        found: usize,
        /// Columns of the table.
        wanted: usize,
    },
    /// An id that is none.
    #[error(transparent)]
    Id(#[from] IdError),
    /// A moment that is none.
    #[error(transparent)]
    Stamp(#[from] StampError),
    /// A row whose values do not go together.
    #[error("{0}")]
    Content(String),
    /// Text in a form that is not the row's.
    #[error("the row cannot be understood: {0}")]
    Form(String),
}

/// What every row begins with: which thing it is about, what it replaces, where, when and by whom
/// it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// Id of the row.
    pub id: RowId,
    /// Id of the thing: that of its first row.
    pub of: RowId,
    /// The row that this one replaces.
    pub supersedes: Option<RowId>,
    /// The thing was taken back.
    pub withdrawn: bool,
    /// The logbook in which the row was written.
    pub origin: RowId,
    /// Its number in that logbook.
    pub sequence: i64,
    /// When it was written.
    pub written_at: Stamp,
    /// Who wrote it.
    pub written_by: String,
}

/// A row as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept<T> {
    /// Where it came from.
    pub head: Head,
    /// What it says.
    pub body: T,
}

impl<T: Record> Kept<T> {
    /// The id of the thing that the row is about.
    pub fn thing(&self) -> T::Id {
        T::Id::from(self.head.of)
    }
}

/// A row of any table.
#[derive(Debug, Clone, PartialEq)]
pub struct RawRow {
    /// Where it came from.
    pub head: Head,
    /// The cells of the table's own columns, in order.
    pub cells: Vec<Cell>,
}

/// Something that is kept in a table.
pub trait Record: Serialize + DeserializeOwned + Clone + PartialEq + fmt::Debug {
    /// The id of such a thing.
    type Id: ThingId;
    /// Its table.
    const TABLE: Table;

    /// Says whether the values go together.
    ///
    /// # Errors
    /// [`RowFault`] for the first that does not.
    fn check(&self) -> Result<(), RowFault> {
        Ok(())
    }

    /// The row as cells, in the order of the table's columns.
    ///
    /// # Errors
    /// [`RowFault`] for a value that the table cannot hold.
    fn to_cells(&self) -> Result<Vec<Cell>, RowFault> {
        let Ok(Value::Object(mut fields)) = serde_json::to_value(self) else {
            return Err(RowFault::Form(Self::TABLE.name.to_owned()));
        };
        let cells = Self::TABLE
            .columns
            .iter()
            .map(|column| {
                let value = fields.remove(column.name).unwrap_or(Value::Null);
                cell_of_json(*column, &value)
            })
            .collect::<Result<_, _>>()?;
        match fields.keys().next() {
            Some(column) => Err(RowFault::Wrong {
                column: column.clone(),
                found: "a value without a column".to_owned(),
            }),
            None => Ok(cells),
        }
    }

    /// The row of these cells.
    ///
    /// # Errors
    /// [`RowFault`] when they are not such a row.
    fn from_cells(cells: &[Cell]) -> Result<Self, RowFault> {
        let columns = Self::TABLE.columns;
        if cells.len() != columns.len() {
            return Err(RowFault::Cells {
                found: cells.len(),
                wanted: columns.len(),
            });
        }
        let mut fields = Map::new();
        for (column, cell) in columns.iter().zip(cells) {
            fields.insert(column.name.to_owned(), json_of_cell(*column, cell)?);
        }
        serde_json::from_value(Value::Object(fields)).map_err(|e| RowFault::Form(e.to_string()))
    }
}

fn cell_of_json(column: Column, value: &Value) -> Result<Cell, RowFault> {
    let name = column.name;
    let wrong = |value: &Value| RowFault::Wrong {
        column: name.to_owned(),
        found: value.to_string(),
    };
    if value.is_null() {
        return if column.optional {
            Ok(Cell::Empty)
        } else {
            // A number that is not finite becomes null in JSON: it is missing as well.
            Err(RowFault::Missing {
                column: name.to_owned(),
            })
        };
    }
    let text = |value: &Value| {
        value
            .as_str()
            .map(str::to_owned)
            .ok_or_else(|| wrong(value))
    };
    match column.kind {
        Kind::Id | Kind::Link(_) => Ok(Cell::Id(text(value)?.parse()?)),
        Kind::Text => match text(value)? {
            empty if empty.is_empty() && column.optional => Ok(Cell::Empty),
            empty if empty.is_empty() => Err(RowFault::Missing {
                column: name.to_owned(),
            }),
            text => Ok(Cell::Text(text)),
        },
        Kind::Whole => value.as_i64().map(Cell::Whole).ok_or_else(|| wrong(value)),
        Kind::Real => value.as_f64().map(Cell::Real).ok_or_else(|| wrong(value)),
        Kind::Flag => value
            .as_bool()
            .map(|yes| Cell::Whole(i64::from(yes)))
            .ok_or_else(|| wrong(value)),
        Kind::Stamp => Ok(Cell::Stamp(text(value)?.parse()?)),
        Kind::Json => Ok(Cell::Text(value.to_string())),
    }
}

fn json_of_cell(column: Column, cell: &Cell) -> Result<Value, RowFault> {
    let wrong = || RowFault::Wrong {
        column: column.name.to_owned(),
        found: format!("{cell:?}"),
    };
    match (column.kind, cell) {
        (_, Cell::Empty) if column.optional => Ok(Value::Null),
        (_, Cell::Empty) => Err(RowFault::Missing {
            column: column.name.to_owned(),
        }),
        (Kind::Id | Kind::Link(_), Cell::Id(id)) => Ok(Value::from(id.to_string())),
        (Kind::Text, Cell::Text(text)) => Ok(Value::from(text.clone())),
        (Kind::Whole, Cell::Whole(number)) => Ok(Value::from(*number)),
        (Kind::Real, Cell::Real(number)) if number.is_finite() => Ok(Value::from(*number)),
        (Kind::Flag, Cell::Whole(yes @ (0 | 1))) => Ok(Value::from(*yes == 1)),
        (Kind::Stamp, Cell::Stamp(stamp)) => Ok(Value::from(stamp.to_string())),
        (Kind::Json, Cell::Text(text)) => {
            serde_json::from_str(text).map_err(|e| RowFault::Form(format!("{}: {e}", column.name)))
        }
        _ => Err(wrong()),
    }
}
