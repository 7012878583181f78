//! What is in the logbook now: standing rows, histories, and rows as they are.

use crate::logbook::codec;
use crate::logbook::error::LogbookError;
use crate::logbook::schema::TABLES;
use crate::records::farm::Setting;
use crate::records::ids::RowId;
use crate::records::ids::ThingId as _;
use crate::records::stamp::Stamp;
use crate::records::table::Kept;
use crate::records::table::RawRow;
use crate::records::table::Record;
use crate::records::table::Table;
use rusqlite::Connection;
use rusqlite::types::Value;

/// The logbook as it reads at this moment, within or without an action.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    pub(in crate::logbook) connection: &'a Connection,
}

/// Something that was done to the file itself, such as a backup or a merge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Upkeep {
    /// When.
    pub at: Stamp,
    /// By whom.
    pub by: String,
    /// What: a code.
    pub kind: String,
    /// More about it.
    pub detail: String,
}

impl<'a> View<'a> {
    pub(in crate::logbook) const fn new(connection: &'a Connection) -> Self {
        Self { connection }
    }

    /// The standing row of a thing: that which nobody supersedes, of several the greatest id; one
    /// that was taken back only when no other stands.
    ///
    /// # Errors
    /// [`LogbookError::NoSuch`] when there is no such thing; others for a file that cannot be read.
    pub fn standing<T: Record>(self, thing: T::Id) -> Result<Kept<T>, LogbookError> {
        let heads = self.heads(T::TABLE, thing.row())?;
        let head = heads.into_iter().next_back();
        codec::kept(head.ok_or(LogbookError::NoSuch {
            table: T::TABLE.name,
            id: thing.row(),
        })?)
    }

    /// The rows of a thing that nobody supersedes, the standing one last.
    pub(in crate::logbook) fn heads(
        self,
        table: Table,
        thing: RowId,
    ) -> Result<Vec<RawRow>, LogbookError> {
        let sql = format!(
            "{} WHERE of = ?1 AND {} ORDER BY withdrawn DESC, id",
            codec::select(table),
            codec::unsuperseded(table)
        );
        self.rows(table, &sql, vec![codec::id(thing)])
    }

    /// All things of a kind that were not taken back, each by its standing row, in the order in
    /// which they were made.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn all<T: Record>(self) -> Result<Vec<Kept<T>>, LogbookError> {
        self.all_where("1", Vec::new())
    }

    /// The things of a kind that name this one in a column, each by its standing row.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn naming<T: Record>(
        self,
        column: &'static str,
        named: RowId,
    ) -> Result<Vec<Kept<T>>, LogbookError> {
        self.all_where(&format!("{column} = ?1"), vec![codec::id(named)])
    }

    /// The things of a kind that hold this text in a column, each by its standing row.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn holding<T: Record>(
        self,
        column: &'static str,
        text: &str,
    ) -> Result<Vec<Kept<T>>, LogbookError> {
        let text = Value::Text(text.to_owned());
        self.all_where(&format!("{column} = ?1"), vec![text])
    }

    fn all_where<T: Record>(
        self,
        condition: &str,
        values: Vec<Value>,
    ) -> Result<Vec<Kept<T>>, LogbookError> {
        let sql = format!(
            "{} WHERE {condition} AND withdrawn = 0 AND {} ORDER BY of, id",
            codec::select(T::TABLE),
            codec::unsuperseded(T::TABLE)
        );
        let mut things: Vec<Kept<T>> = Vec::new();
        for row in self.rows(T::TABLE, &sql, values)? {
            if things
                .last()
                .is_some_and(|last| last.head.of == row.head.of)
            {
                things.pop();
            }
            things.push(codec::kept(row)?);
        }
        Ok(things)
    }

    /// Every row of a thing, from the first on.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn history<T: Record>(self, thing: T::Id) -> Result<Vec<Kept<T>>, LogbookError> {
        let sql = format!("{} WHERE of = ?1 ORDER BY id", codec::select(T::TABLE));
        let rows = self.rows(T::TABLE, &sql, vec![codec::id(thing.row())])?;
        rows.into_iter().map(codec::kept).collect()
    }

    /// Every row of a kind that names this thing in a column, superseded or not, in order.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn every_row_naming<T: Record>(
        self,
        column: &'static str,
        named: RowId,
    ) -> Result<Vec<Kept<T>>, LogbookError> {
        let sql = format!(
            "{} WHERE {column} = ?1 ORDER BY id",
            codec::select(T::TABLE)
        );
        let rows = self.rows(T::TABLE, &sql, vec![codec::id(named)])?;
        rows.into_iter().map(codec::kept).collect()
    }

    /// The newest rows of a kind, the newest first.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn newest<T: Record>(self, at_most: usize) -> Result<Vec<Kept<T>>, LogbookError> {
        let sql = format!("{} ORDER BY id DESC LIMIT ?1", codec::select(T::TABLE));
        let limit = Value::Integer(at_most as i64);
        let rows = self.rows(T::TABLE, &sql, vec![limit])?;
        rows.into_iter().map(codec::kept).collect()
    }

    /// One row as it was written.
    ///
    /// # Errors
    /// [`LogbookError::NoSuch`] when there is no such row; others for a file that cannot be read.
    pub fn row<T: Record>(self, id: RowId) -> Result<Kept<T>, LogbookError> {
        codec::kept(self.raw_row(T::TABLE, id)?)
    }

    pub(in crate::logbook) fn raw_row(
        self,
        table: Table,
        id: RowId,
    ) -> Result<RawRow, LogbookError> {
        let sql = format!("{} WHERE id = ?1", codec::select(table));
        let row = self
            .rows(table, &sql, vec![codec::id(id)])?
            .into_iter()
            .next();
        row.ok_or(LogbookError::NoSuch {
            table: table.name,
            id,
        })
    }

    /// Hands every row of a table to `take`, in the order of their ids.
    ///
    /// # Errors
    /// The first error of `take`, or a [`LogbookError`] for a file that cannot be read.
    pub fn each_row<E: From<LogbookError>>(
        self,
        table: Table,
        mut take: impl FnMut(RawRow) -> Result<(), E>,
    ) -> Result<(), E> {
        let sql = format!("{} ORDER BY id", codec::select(table));
        let mut select = self.connection.prepare(&sql).map_err(LogbookError::from)?;
        let mut rows = select.query([]).map_err(LogbookError::from)?;
        while let Some(row) = rows.next().map_err(LogbookError::from)? {
            take(codec::raw(row, table)?)?;
        }
        Ok(())
    }

    /// How many rows each table has.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn counts(self) -> Result<Vec<(&'static str, u64)>, LogbookError> {
        let count = |table: Table| {
            let sql = format!("SELECT count(*) FROM {}", table.name);
            let rows: i64 = self.connection.query_row(&sql, [], |row| row.get(0))?;
            Ok((table.name, rows as u64))
        };
        TABLES.into_iter().map(count).collect()
    }

    /// The standing value of a setting; of rivals from two logbooks the later one.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn setting(self, key: &str) -> Result<Option<Kept<Setting>>, LogbookError> {
        let rows = self.holding::<Setting>("key", key)?;
        Ok(rows.into_iter().max_by_key(|kept| kept.head.id))
    }

    /// What was done to the file itself, the newest first.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn upkeep(self) -> Result<Vec<Upkeep>, LogbookError> {
        let sql =
            "SELECT at_utc_ms, at_offset_min, by, kind, detail FROM upkeep ORDER BY rowid DESC";
        let mut select = self.connection.prepare(sql)?;
        let mut rows = select.query([])?;
        let mut done = Vec::new();
        while let Some(row) = rows.next()? {
            let Ok(at) = Stamp::new(row.get(0)?, row.get(1)?) else {
                continue;
            };
            done.push(Upkeep {
                at,
                by: row.get(2)?,
                kind: row.get(3)?,
                detail: row.get(4)?,
            });
        }
        Ok(done)
    }

    /// The logbooks whose rows are in here, with their farms.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn origins(self) -> Result<Vec<(RowId, String)>, LogbookError> {
        let mut select = self
            .connection
            .prepare("SELECT id, farm FROM origin ORDER BY id")?;
        let rows = select.query_map([], |row| Ok((row.get::<_, [u8; 16]>(0)?, row.get(1)?)))?;
        rows.map(|row| {
            row.map(|(id, farm)| (RowId::from_bytes(id), farm))
                .map_err(Into::into)
        })
        .collect()
    }

    /// Rows that a statement made with [`codec::select`] finds.
    pub(in crate::logbook) fn rows(
        self,
        table: Table,
        sql: &str,
        values: Vec<Value>,
    ) -> Result<Vec<RawRow>, LogbookError> {
        let mut select = self.connection.prepare_cached(sql)?;
        let mut rows = select.query(rusqlite::params_from_iter(values))?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.push(codec::raw(row, table)?);
        }
        Ok(found)
    }
}
