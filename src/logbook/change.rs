//! Actions: each is one transaction, written with its line in the journal or not at all.

use crate::logbook::Logbook;
use crate::logbook::Source;
use crate::logbook::codec;
use crate::logbook::error::LogbookError;
use crate::logbook::schema::table;
use crate::logbook::view::View;
use crate::records::farm::JournalLine;
use crate::records::ids::ActionId;
use crate::records::ids::RowId;
use crate::records::ids::ThingId as _;
use crate::records::stamp::Stamp;
use crate::records::table::Cell;
use crate::records::table::Head;
use crate::records::table::RawRow;
use crate::records::table::Record;
use crate::records::table::Table;
use crate::records::words::ActionKind;
use crate::records::words::WrittenRow;
use rusqlite::Transaction;
use rusqlite::TransactionBehavior;

/// What is done, and by whom.
#[derive(Debug, Clone, Copy)]
pub struct Action<'a> {
    /// What is done.
    pub kind: ActionKind,
    /// The sample, pond or other thing it is about.
    pub about: Option<RowId>,
    /// The action it takes back or does again.
    pub undoes: Option<ActionId>,
    /// Who does it.
    pub by: &'a str,
}

/// An action under way: rows written here are confirmed together.
pub struct Change<'a> {
    transaction: Transaction<'a>,
    source: &'a mut dyn Source,
    by: &'a str,
    at: Stamp,
    origin: RowId,
    sequence: i64,
    written: Vec<WrittenRow>,
}

impl Logbook {
    /// Does one action: everything that `work` writes is confirmed on the disk before this
    /// returns, or nothing of it is there.
    ///
    /// # Errors
    /// What `work` returns, or [`LogbookError`] when it cannot be confirmed; then nothing of it was
    /// written.
    pub fn act<T>(
        &mut self,
        action: Action<'_>,
        source: &mut dyn Source,
        work: impl FnOnce(&mut Change<'_>) -> Result<T, LogbookError>,
    ) -> Result<(T, ActionId), LogbookError> {
        let origin = self.id;
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        let sequence =
            transaction.query_row("SELECT sequence FROM logbook", [], |row| row.get(0))?;
        let at = source.now();
        let mut change = Change {
            transaction,
            source,
            by: action.by,
            at,
            origin,
            sequence,
            written: Vec::new(),
        };
        let result = work(&mut change)?;
        let written = std::mem::take(&mut change.written);
        let line = change.add(&JournalLine {
            kind: action.kind,
            about: action.about,
            undoes: action.undoes.map(ActionId::row),
            written,
        })?;
        change
            .transaction
            .execute("UPDATE logbook SET sequence = ?1", [change.sequence])?;
        // Into a file that nobody can find again nothing is confirmed.
        if !self.identity.is_at(&self.file) {
            return Err(LogbookError::Vanished);
        }
        change.transaction.commit()?;
        Ok((result, line))
    }

    /// Notes what was done to the file itself.
    ///
    /// # Errors
    /// [`LogbookError`] when it cannot be written.
    pub fn note_upkeep(
        &self,
        at: Stamp,
        by: &str,
        kind: &str,
        detail: &str,
    ) -> Result<(), LogbookError> {
        self.connection.execute(
            "INSERT INTO upkeep (at_utc_ms, at_offset_min, by, kind, detail) VALUES (?1, ?2, ?3, ?4, ?5)",
            rusqlite::params![at.utc_ms(), at.offset_min(), by, kind, detail],
        )?;
        Ok(())
    }
}

impl Change<'_> {
    /// The logbook as it reads within the action.
    pub fn view(&self) -> View<'_> {
        View::new(&self.transaction)
    }

    /// The moment of the action.
    pub const fn at(&self) -> Stamp {
        self.at
    }

    /// Adds a thing.
    ///
    /// # Errors
    /// [`LogbookError`] for values that do not go together or a file that cannot be written.
    pub fn add<T: Record>(&mut self, body: &T) -> Result<T::Id, LogbookError> {
        let id = self.write(T::TABLE, None, None, false, cells(body)?)?;
        Ok(T::Id::from(id))
    }

    /// Changes a thing: a new row that supersedes the standing one, unless that says the same. Gives
    /// the row that stands.
    ///
    /// # Errors
    /// [`LogbookError::NoSuch`] for a thing that is not there, or as [`Change::add`].
    pub fn edit<T: Record>(&mut self, thing: T::Id, body: &T) -> Result<RowId, LogbookError> {
        self.replace(T::TABLE, thing.row(), false, cells(body)?)
    }

    /// Takes a thing back.
    ///
    /// # Errors
    /// As [`Change::edit`].
    pub fn withdraw<T: Record>(&mut self, thing: T::Id) -> Result<(), LogbookError> {
        let standing = self.view().heads(T::TABLE, thing.row())?.pop();
        let cells = standing.map(|row| row.cells).unwrap_or_default();
        self.replace(T::TABLE, thing.row(), true, cells).map(drop)
    }

    /// Takes an action back: everything it wrote stands again as it stood before, in new rows.
    ///
    /// # Errors
    /// [`LogbookError::ChangedSince`] when something stands no longer as the action left it.
    pub fn undo(&mut self, action: ActionId) -> Result<(), LogbookError> {
        let line = self.view().row::<JournalLine>(action.row())?;
        for row in line.body.written.iter().rev() {
            let table = table(&row.table)?;
            let left = self.view().raw_row(table, row.id)?;
            let standing = self.view().heads(table, left.head.of)?.pop();
            let stands_so = standing.is_some_and(|standing| {
                standing.cells == left.cells && standing.head.withdrawn == left.head.withdrawn
            });
            if !stands_so {
                return Err(LogbookError::ChangedSince);
            }
            let (withdrawn, cells) = match left.head.supersedes {
                Some(before) => {
                    let before = self.view().raw_row(table, before)?;
                    (before.head.withdrawn, before.cells)
                }
                None => (true, left.cells),
            };
            self.replace(table, left.head.of, withdrawn, cells)?;
        }
        Ok(())
    }

    fn replace(
        &mut self,
        table: Table,
        thing: RowId,
        withdrawn: bool,
        cells: Vec<Cell>,
    ) -> Result<RowId, LogbookError> {
        let standing = self.view().heads(table, thing)?.pop();
        let standing = standing.ok_or(LogbookError::NoSuch {
            table: table.name,
            id: thing,
        })?;
        if standing.cells == cells && standing.head.withdrawn == withdrawn {
            return Ok(standing.head.id);
        }
        let supersedes = Some(standing.head.id);
        self.write(table, Some(thing), supersedes, withdrawn, cells)
    }

    fn write(
        &mut self,
        table: Table,
        of: Option<RowId>,
        supersedes: Option<RowId>,
        withdrawn: bool,
        cells: Vec<Cell>,
    ) -> Result<RowId, LogbookError> {
        self.sequence += 1;
        let id = self.source.id();
        let head = Head {
            id,
            of: of.unwrap_or(id),
            supersedes,
            withdrawn,
            origin: self.origin,
            sequence: self.sequence,
            written_at: self.at,
            written_by: self.by.to_owned(),
        };
        codec::insert(&self.transaction, table, &RawRow { head, cells })?;
        self.written.push(WrittenRow {
            table: table.name.to_owned(),
            id,
        });
        Ok(id)
    }
}

/// The cells of a row whose values go together.
fn cells<T: Record>(body: &T) -> Result<Vec<Cell>, LogbookError> {
    let fault = |source| LogbookError::Fault {
        table: T::TABLE.name,
        source,
    };
    body.check().map_err(fault)?;
    body.to_cells().map_err(fault)
}
