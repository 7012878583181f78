//! Taking rows from another logbook or an export. Rows never change and their ids never clash, so
//! taking is a union: any order, any number of times, the same contents.

use crate::logbook::Logbook;
use crate::logbook::check::understand;
use crate::logbook::codec;
use crate::logbook::error::LogbookError;
use crate::logbook::schema::TABLES;
use crate::logbook::view::View;
use crate::records::ids::RowId;
use crate::records::places::Pond;
use crate::records::table::RawRow;
use crate::records::table::Table;
use rusqlite::Transaction;
use rusqlite::TransactionBehavior;
use std::collections::BTreeMap;

/// What became of the rows of one table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Taken {
    /// Rows that were new here.
    pub new: u64,
    /// Rows that were here already.
    pub known: u64,
    /// Rows with an id that is here already but other contents: ours were kept.
    pub differing: u64,
}

/// What became of all rows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TakeReport {
    /// By table; tables without a row are left out.
    pub tables: BTreeMap<&'static str, Taken>,
    /// Names that now stand for several ponds.
    pub ponds_of_one_name: Vec<String>,
    /// Animals that now have rival calls, to be settled.
    pub animals_with_rivals: u64,
}

impl TakeReport {
    /// Sums over all tables.
    pub fn total(&self) -> Taken {
        let add = |sum: Taken, taken: &Taken| Taken {
            new: sum.new + taken.new,
            known: sum.known + taken.known,
            differing: sum.differing + taken.differing,
        };
        self.tables.values().fold(Taken::default(), add)
    }
}

/// Takes rows within one transaction.
pub struct Taker<'a> {
    transaction: Transaction<'a>,
    report: TakeReport,
}

impl Logbook {
    /// Takes every row of another logbook that is not here yet: all of them, or none.
    ///
    /// # Errors
    /// [`LogbookError`] when one of the two cannot be read or this one cannot be written.
    pub fn merge(&mut self, other: &Self) -> Result<TakeReport, LogbookError> {
        let origins = other.view().origins()?;
        self.take(&origins, |taker| {
            for table in TABLES {
                other
                    .view()
                    .each_row::<LogbookError>(table, |row| taker.row(table, &row))?;
            }
            Ok(())
        })
    }

    /// Takes the rows that `give` hands over, tables in the order of [`TABLES`]: all of them, or
    /// none.
    ///
    /// # Errors
    /// The error of `give`, or [`LogbookError`] when they cannot be written.
    pub fn take<E: From<LogbookError>>(
        &mut self,
        origins: &[(RowId, String)],
        give: impl FnOnce(&mut Taker<'_>) -> Result<(), E>,
    ) -> Result<TakeReport, E> {
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(LogbookError::from)?;
        let mut taker = Taker {
            transaction,
            report: TakeReport::default(),
        };
        taker.origins(origins)?;
        give(&mut taker)?;
        Ok(taker.finish()?)
    }
}

impl Taker<'_> {
    fn origins(&self, origins: &[(RowId, String)]) -> Result<(), LogbookError> {
        for (id, farm) in origins {
            self.transaction.execute(
                "INSERT OR IGNORE INTO origin (id, farm) VALUES (?1, ?2)",
                rusqlite::params![id.bytes(), farm],
            )?;
        }
        Ok(())
    }

    /// Takes a row unless one with its id is here.
    ///
    /// # Errors
    /// [`LogbookError`] when its values do not go together, it names a thing that is not here, or it
    /// cannot be written.
    pub fn row(&mut self, table: Table, row: &RawRow) -> Result<(), LogbookError> {
        let here = match View::new(&self.transaction).raw_row(table, row.head.id) {
            Ok(here) => Some(here),
            Err(LogbookError::NoSuch { .. }) => None,
            Err(error) => return Err(error),
        };
        understand(table, row).map_err(|source| LogbookError::Row {
            table: table.name,
            id: row.head.id,
            source,
        })?;
        let taken = self.report.tables.entry(table.name).or_default();
        match here {
            Some(here) if here == *row => taken.known += 1,
            Some(_) => taken.differing += 1,
            None => {
                codec::insert(&self.transaction, table, row)?;
                taken.new += 1;
            }
        }
        Ok(())
    }

    /// Whether a row with this id is here.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn has(&self, table: &str, id: RowId) -> Result<bool, LogbookError> {
        let sql = format!("SELECT 1 FROM {table} WHERE id = ?1");
        let mut select = self.transaction.prepare_cached(&sql)?;
        Ok(select.exists([codec::id(id)])?)
    }

    fn finish(mut self) -> Result<TakeReport, LogbookError> {
        let view = View::new(&self.transaction);
        let mut names: Vec<String> = view
            .all::<Pond>()?
            .into_iter()
            .map(|pond| pond.body.name)
            .collect();
        names.sort();
        let mut twice: Vec<String> = names
            .windows(2)
            .filter(|pair| pair[0] == pair[1])
            .map(|pair| pair[0].clone())
            .collect();
        twice.dedup();
        self.report.ponds_of_one_name = twice;
        self.report.animals_with_rivals = rivals(&self.transaction)?;
        self.transaction.commit()?;
        Ok(self.report)
    }
}

fn rivals(connection: &rusqlite::Connection) -> Result<u64, LogbookError> {
    let sql = include_str!("sql/animals_with_rivals.sql");
    let count: i64 = connection.query_row(sql, [], |row| row.get(0))?;
    Ok(count as u64)
}
