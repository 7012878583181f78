//! The tables, and the steps by which an older file becomes a present one.
//!
//! A step is never changed once it was released: a change of the tables is a new step, with the
//! version of the program that first knows it.

use crate::logbook::error::LogbookError;
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
use crate::records::table::Record as _;
use crate::records::table::Table;
use rusqlite::Connection;
use rusqlite::TransactionBehavior;

/// Marks the file as a logbook of this program ("Tail" in its header).
pub const APPLICATION_ID: i64 = 0x5461_696c;

/// A step from one version of the tables to the next.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// What it does, in SQL.
    pub sql: &'static str,
    /// The first version of the program that knows it.
    pub program: &'static str,
}

/// All steps, in order; a file's version is the number of steps it has taken.
pub const STEPS: &[Step] = &[
    Step {
        sql: include_str!("steps/0001.sql"),
        program: "0.1.0",
    },
    Step {
        sql: include_str!("steps/0002.sql"),
        program: "0.1.0",
    },
    Step {
        sql: include_str!("steps/0003.sql"),
        program: "0.1.0",
    },
    Step {
        sql: include_str!("steps/0004.sql"),
        program: "0.1.0",
    },
];

/// The tables whose rows are kept, exchanged and merged; a table stands after those it names.
pub const TABLES: [Table; 20] = [
    Reader::TABLE,
    Microscope::TABLE,
    Pond::TABLE,
    Sample::TABLE,
    Animal::TABLE,
    Photo::TABLE,
    KeptReading::TABLE,
    KeptMeasures::TABLE,
    Call::TABLE,
    BlindRound::TABLE,
    SecondCall::TABLE,
    Settlement::TABLE,
    PracticeRound::TABLE,
    Label::TABLE,
    KeptModel::TABLE,
    ModelUse::TABLE,
    VerdictGiven::TABLE,
    Outcome::TABLE,
    Setting::TABLE,
    JournalLine::TABLE,
];

/// The table of that name.
///
/// # Errors
/// [`LogbookError::NoTable`] when there is none.
pub fn table(name: &str) -> Result<Table, LogbookError> {
    TABLES
        .into_iter()
        .find(|table| table.name == name)
        .ok_or_else(|| LogbookError::NoTable(name.to_owned()))
}

/// The version of the file: how many steps it has taken.
pub(in crate::logbook) fn version(connection: &Connection) -> Result<i64, LogbookError> {
    Ok(connection.query_row("PRAGMA user_version", [], |row| row.get(0))?)
}

/// Takes the steps that the file has not yet taken, each in one transaction that checks the links
/// between rows before it is confirmed.
pub(in crate::logbook) fn take_steps(
    connection: &mut Connection,
    steps: &[Step],
) -> Result<(), LogbookError> {
    for (at, step) in steps.iter().enumerate() {
        if version(connection)? > at as i64 {
            continue;
        }
        // Links cannot be switched off within a transaction.
        connection.pragma_update(None, "foreign_keys", false)?;
        let taken = take_step(connection, at as i64 + 1, *step);
        connection.pragma_update(None, "foreign_keys", true)?;
        taken?;
    }
    Ok(())
}

fn take_step(connection: &mut Connection, version: i64, step: Step) -> Result<(), LogbookError> {
    let step_in = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    step_in.execute_batch(step.sql)?;
    step_in.execute("UPDATE logbook SET needs_program = ?1", [step.program])?;
    let dangling = step_in.prepare("PRAGMA foreign_key_check")?.exists([])?;
    if dangling {
        return Err(LogbookError::Dangling {
            what: "row of an older step".to_owned(),
        });
    }
    step_in.pragma_update(None, "user_version", version)?;
    step_in.commit()?;
    Ok(())
}
