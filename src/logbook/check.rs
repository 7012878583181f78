//! Looking through the whole file for damage.

use crate::logbook::Logbook;
use crate::logbook::codec;
use crate::logbook::error::LogbookError;
use crate::logbook::schema::TABLES;
use crate::records::decisions::Call;
use crate::records::decisions::Label;
use crate::records::decisions::SecondCall;
use crate::records::decisions::Settlement;
use crate::records::farm::JournalLine;
use crate::records::farm::KeptModel;
use crate::records::farm::ModelUse;
use crate::records::farm::Reader;
use crate::records::farm::Setting;
use crate::records::measures::KeptMeasures;
use crate::records::pictures::KeptReading;
use crate::records::pictures::Microscope;
use crate::records::pictures::Photo;
use crate::records::places::Animal;
use crate::records::places::Outcome;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::places::VerdictGiven;
use crate::records::rounds::BlindRound;
use crate::records::rounds::PracticeRound;
use crate::records::table::RawRow;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;

/// Most faults of one kind that are listed.
const MOST_LISTED: usize = 100;

/// What was found in a file that could be opened.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CheckReport {
    /// What SQLite found wrong with the file; empty when all is well.
    pub damage: Vec<String>,
    /// Rows that name a thing that is not there.
    pub dangling: Vec<String>,
    /// Rows that cannot be understood.
    pub unreadable: Vec<String>,
    /// Rows of each table.
    pub rows: Vec<(&'static str, u64)>,
}

impl CheckReport {
    /// Whether nothing is wrong.
    pub fn is_well(&self) -> bool {
        self.damage.is_empty() && self.dangling.is_empty() && self.unreadable.is_empty()
    }
}

impl Logbook {
    /// Looks through the whole file: its pages and indices, its links, and every row.
    ///
    /// # Errors
    /// [`LogbookError`] when it cannot be looked through at all.
    pub fn check(&self) -> Result<CheckReport, LogbookError> {
        let mut report = CheckReport {
            damage: self.integrity()?,
            dangling: self.dangling_links()?,
            ..CheckReport::default()
        };
        for table in TABLES {
            let mut rows = 0;
            let looked = self.look_through(table, &mut rows, &mut report.unreadable);
            if let Err(error) = looked {
                report.damage.push(format!("{}: {error}", table.name));
            }
            report.rows.push((table.name, rows));
        }
        Ok(report)
    }

    fn integrity(&self) -> Result<Vec<String>, LogbookError> {
        let mut said = self.connection.prepare("PRAGMA integrity_check(100)")?;
        let lines = said.query_map([], |row| row.get::<_, String>(0))?;
        let mut damage = Vec::new();
        for line in lines {
            match line {
                Ok(line) if line == "ok" => {}
                Ok(line) => damage.push(line),
                Err(error) => damage.push(error.to_string()),
            }
        }
        Ok(damage)
    }

    fn dangling_links(&self) -> Result<Vec<String>, LogbookError> {
        let mut check = self.connection.prepare("PRAGMA foreign_key_check")?;
        let mut rows = check.query([])?;
        let mut dangling = Vec::new();
        while let Some(row) = rows.next().ok().flatten() {
            let (table, parent): (String, String) = (row.get(0)?, row.get(2)?);
            dangling.push(format!(
                "a row of {table} names a {parent} that is not there"
            ));
            if dangling.len() >= MOST_LISTED {
                break;
            }
        }
        Ok(dangling)
    }

    fn look_through(
        &self,
        table: Table,
        count: &mut u64,
        unreadable: &mut Vec<String>,
    ) -> Result<(), LogbookError> {
        let mut select = self.connection.prepare(&codec::select(table))?;
        let mut rows = select.query([])?;
        while let Some(row) = rows.next()? {
            *count += 1;
            let fault = match codec::raw(row, table) {
                Ok(raw) => understand(table, &raw)
                    .err()
                    .map(|fault| format!("{} {}: {fault}", table.name, raw.head.id)),
                Err(error) => Some(error.to_string()),
            };
            unreadable.extend(fault.filter(|_| unreadable.len() < MOST_LISTED));
        }
        Ok(())
    }
}

/// Whether a row of a table is one: it has the table's form and its values go together.
///
/// # Errors
/// [`RowFault`] for what is wrong with it.
pub fn understand(table: Table, row: &RawRow) -> Result<(), RowFault> {
    fn of<T: Record>(row: &RawRow) -> Result<(), RowFault> {
        T::from_cells(&row.cells)?.check()
    }
    match table.name {
        "reader" => of::<Reader>(row),
        "microscope" => of::<Microscope>(row),
        "pond" => of::<Pond>(row),
        "sample" => of::<Sample>(row),
        "animal" => of::<Animal>(row),
        "photo" => of::<Photo>(row),
        "reading" => of::<KeptReading>(row),
        "measures" => of::<KeptMeasures>(row),
        "call" => of::<Call>(row),
        "blind_round" => of::<BlindRound>(row),
        "practice_round" => of::<PracticeRound>(row),
        "second_call" => of::<SecondCall>(row),
        "settlement" => of::<Settlement>(row),
        "label" => of::<Label>(row),
        "model" => of::<KeptModel>(row),
        "model_use" => of::<ModelUse>(row),
        "verdict" => of::<VerdictGiven>(row),
        "outcome" => of::<Outcome>(row),
        "setting" => of::<Setting>(row),
        "journal" => of::<JournalLine>(row),
        other => Err(RowFault::Form(format!("there is no table {other}"))),
    }
}
