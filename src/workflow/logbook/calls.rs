//! Calls, second calls, settlements.

use crate::exchange::calls::CallsError;
use crate::exchange::calls::call_of_line;
use crate::logbook::Change;
use crate::logbook::LogbookError;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::decisions::Call;
use crate::records::decisions::SecondCall;
use crate::records::decisions::Settlement;
use crate::records::ids::AnimalId;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::ids::SecondCallId;
use crate::records::ids::ThingId as _;
use crate::records::places::Animal;
use crate::records::stamp::Stamp;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::records::words::Agreement;
use crate::records::words::Unread;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::samples::numbered;
use std::io;
use std::io::BufRead;
use std::io::Read as _;
use std::path::Path;
use thiserror::Error;

/// What a person decides for one animal, before it is written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NewCall {
    /// The stage; absent for unread.
    pub stage: Option<Stage>,
    /// Why it is unread, if it is.
    pub unread_because: Option<Unread>,
    /// The reading in view, by the id of its row; absent without a photo.
    pub reading: Option<RowId>,
    /// The proposal in view; absent where there is none or it cannot tell.
    pub proposal: Option<Stage>,
    /// Whether it is called before the proposal is shown.
    pub before_proposal: bool,
    /// Whether a second reader should look.
    pub second_wanted: bool,
    /// A note.
    pub note: Option<String>,
}

impl NewCall {
    /// A stage called at the microscope, without a photo or proposal.
    pub fn by_eye(stage: Stage) -> Self {
        Self {
            stage: Some(stage),
            ..Self::default()
        }
    }

    /// An animal that cannot be read.
    pub fn unread(because: Unread) -> Self {
        Self {
            unread_because: Some(because),
            ..Self::default()
        }
    }

    /// A stage called with a reading in view, and its proposal.
    pub fn with_reading(stage: Stage, reading: RowId, proposal: Option<Stage>) -> Self {
        Self {
            stage: Some(stage),
            reading: Some(reading),
            proposal,
            ..Self::default()
        }
    }

    pub(in crate::workflow::logbook) fn row(
        self,
        animal: AnimalId,
        reader: &str,
        called: Stamp,
    ) -> Call {
        let agreement = match (self.proposal, self.stage) {
            (None, _) => Agreement::ByEye,
            (Some(proposal), Some(stage)) if stage.as_proposed() == Some(proposal) => {
                Agreement::Agreed
            }
            _ => Agreement::Changed,
        };
        Call {
            animal,
            stage: self.stage,
            unread_because: self.unread_because.filter(|_| self.stage.is_none()),
            reader: reader.to_owned(),
            called,
            reading: self.reading,
            proposal: self.proposal,
            agreement,
            before_proposal: self.before_proposal,
            second_wanted: self.second_wanted,
            note: self.note,
        }
    }
}

/// A line of calls made elsewhere: at the microscope with pencil and paper, or in a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CalledByName {
    /// Name of the animal within its sample; added when it is new.
    pub animal: String,
    /// The stage; absent for unread.
    pub stage: Option<Stage>,
    /// The shell as felt, if it was; else it stays as it is.
    pub shell: Option<Shell>,
    /// A station, if noted; else it stays as it is.
    pub station: Option<String>,
}

/// One line of calls that came in: where it stood, and what became of it.
#[derive(Debug)]
pub struct CalledLine {
    /// The line, from 1.
    pub line: u64,
    /// The id of the row written, which is on the disk; or why the line was refused.
    pub written: Result<RowId, CallsError>,
}

/// Why lines of calls stopped coming in.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CallLinesError {
    /// The logbook could not take a line; those before it are safe.
    #[error("line {line} was not taken, those before it are safe: {source}")]
    Session {
        /// The line.
        line: u64,
        /// Why.
        source: SessionError,
    },
    /// The lines could not be read.
    #[error("line {line} cannot be read; those before it are safe")]
    Read {
        /// The line.
        line: u64,
        /// What the system said.
        source: io::Error,
    },
}

/// Longest line of calls that is taken.
const LONGEST_LINE: u64 = 10_000;

impl Session {
    /// Takes calls line by line, `animal,stage` and, if noted, shell and station; each is one
    /// action, and `each` learns of it after it is on the disk. A line that cannot be used is
    /// refused and the next one taken.
    ///
    /// # Errors
    /// The first error of `each`, or [`CallLinesError`] when the logbook or the lines fail.
    pub fn call_lines<E: From<CallLinesError>>(
        &mut self,
        sample: SampleId,
        mut lines: impl BufRead,
        mut each: impl FnMut(CalledLine) -> Result<(), E>,
    ) -> Result<(), E> {
        let from = Path::new("standard input");
        for line in 1.. {
            let mut bytes = Vec::new();
            let read = io::Read::by_ref(&mut lines)
                .take(LONGEST_LINE)
                .read_until(b'\n', &mut bytes);
            if read.map_err(|source| CallLinesError::Read { line, source })? == 0 {
                break;
            }
            let parsed = match std::str::from_utf8(&bytes) {
                Ok(text) => call_of_line(text, line, from),
                Err(_) => Err(CallsError::NotText {
                    file: from.to_owned(),
                    line,
                }),
            };
            let written = match parsed {
                Ok(None) => continue,
                Ok(Some(call)) => {
                    let named = CalledByName {
                        animal: call.animal,
                        stage: call.stage,
                        shell: call.shell,
                        station: call.station,
                    };
                    let row = self.call_by_name(sample, &named);
                    Ok(row.map_err(|source| CallLinesError::Session { line, source })?)
                }
                Err(refused) => Err(refused),
            };
            each(CalledLine { line, written })?;
        }
        Ok(())
    }

    /// Calls an animal, or changes its call. Gives the id of the row written: once it is given, the
    /// call is on the disk.
    ///
    /// # Errors
    /// [`SessionError`] when the animal is not there or the call could not be confirmed.
    pub fn call(&mut self, animal: AnimalId, call: NewCall) -> Result<RowId, SessionError> {
        let reader = self.reader().to_owned();
        self.act(ActionKind::Call, Some(animal.row()), |change| {
            let call = call.row(animal, &reader, change.at());
            write_call(change, &call)
        })
    }

    /// Calls an animal by its name within the sample, adding it when it is new; a shell or station
    /// is noted with it. One action.
    ///
    /// # Errors
    /// As [`Session::call`].
    pub fn call_by_name(
        &mut self,
        sample: SampleId,
        line: &CalledByName,
    ) -> Result<RowId, SessionError> {
        let reader = self.reader().to_owned();
        self.act(ActionKind::Call, Some(sample.row()), |change| {
            let animals = change.view().naming::<Animal>("sample", sample.row())?;
            let known = animals.iter().find(|kept| kept.body.name == line.animal);
            let last = animals.iter().map(|kept| kept.body.position).max();
            let mut body = known.map_or_else(
                || Animal {
                    name: line.animal.clone(),
                    ..numbered(sample, last.unwrap_or(0) + 1)
                },
                |kept| kept.body.clone(),
            );
            body.shell = line.shell.or(body.shell);
            body.station = line.station.clone().or(body.station);
            let animal = match known {
                Some(kept) => {
                    change.edit(kept.thing(), &body)?;
                    kept.thing()
                }
                None => change.add(&body)?,
            };
            let call = NewCall {
                stage: line.stage,
                ..NewCall::default()
            };
            write_call(change, &call.row(animal, &reader, change.at()))
        })
    }

    /// Takes the standing call of an animal back: it is not called any more.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn take_call_back(&mut self, animal: AnimalId) -> Result<(), SessionError> {
        self.act(ActionKind::Call, Some(animal.row()), |change| match change
            .view()
            .calls_of_animal(animal)?
            .pop()
        {
            Some(standing) => change.withdraw::<Call>(standing.thing()),
            None => Ok(()),
        })
    }

    /// Writes a note on the standing call, or asks for a second reader, leaving the stage as it is.
    ///
    /// # Errors
    /// [`SessionError`] when the animal has no call yet.
    pub fn annotate_call(
        &mut self,
        animal: AnimalId,
        note: Option<String>,
        second_wanted: bool,
    ) -> Result<(), SessionError> {
        self.act(ActionKind::Call, Some(animal.row()), |change| {
            let standing = change.view().calls_of_animal(animal)?.pop();
            let standing = standing.ok_or(LogbookError::NoSuch {
                table: "call",
                id: animal.row(),
            })?;
            let call = Call {
                second_wanted,
                note,
                ..standing.body.clone()
            };
            change.edit(standing.thing(), &call).map(drop)
        })
    }

    /// A call by the id of its row, whether it still stands or not.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn call_row(&self, id: RowId) -> Result<Kept<Call>, SessionError> {
        self.see(|view| view.row::<Call>(id))
    }

    /// Every call of an animal that was ever written, the first one first.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn history_of_call(&self, animal: AnimalId) -> Result<Vec<Kept<Call>>, SessionError> {
        self.see(|view| view.every_row_naming::<Call>("animal", animal.row()))
    }

    /// Keeps the call of a second reader, who has not seen the first.
    ///
    /// # Errors
    /// [`SessionError`] when the animal is not there.
    pub fn second_call(&mut self, call: &SecondCall) -> Result<SecondCallId, SessionError> {
        let about = Some(call.animal.row());
        self.act(ActionKind::SecondCall, about, |change| change.add(call))
    }

    /// The second calls of an animal, in the order in which they were taken.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn second_calls_of(&self, animal: AnimalId) -> Result<Vec<Kept<SecondCall>>, SessionError> {
        self.see(|view| view.naming::<SecondCall>("animal", animal.row()))
    }

    /// Settles a disagreement, between rival calls or with a second call: one call stands, the
    /// others are set aside with the reason. One action. Gives the row of the call that stands.
    ///
    /// # Errors
    /// [`SessionError`] when the animal is not there.
    pub fn settle(
        &mut self,
        animal: AnimalId,
        stage: Option<Stage>,
        second: Option<SecondCallId>,
        because: &str,
    ) -> Result<RowId, SessionError> {
        let reader = self.reader().to_owned();
        self.act(ActionKind::Settle, Some(animal.row()), |change| {
            let open = change.view().calls_of_animal(animal)?;
            let standing = open.last().map(|call| call.body.clone());
            let before =
                standing.unwrap_or_else(|| NewCall::default().row(animal, &reader, change.at()));
            let new = NewCall {
                stage,
                unread_because: None,
                reading: before.reading,
                proposal: before.proposal,
                before_proposal: before.before_proposal,
                second_wanted: false,
                note: before.note,
            };
            let call = new.row(animal, &reader, change.at());
            let call = write_call(change, &call)?;
            let rivals = open.len().saturating_sub(1);
            let aside: Vec<Option<RowId>> =
                open.iter().take(rivals).map(|c| Some(c.head.id)).collect();
            let aside = if aside.is_empty() { vec![None] } else { aside };
            for set_aside in aside {
                change.add(&Settlement {
                    animal,
                    call,
                    set_aside,
                    second_call: second.map(SecondCallId::row),
                    because: because.to_owned(),
                })?;
            }
            Ok(call)
        })
    }

    /// The settlements of an animal.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn settlements_of(&self, animal: AnimalId) -> Result<Vec<Kept<Settlement>>, SessionError> {
        self.see(|view| view.naming::<Settlement>("animal", animal.row()))
    }
}

/// Writes a call: it supersedes the standing one, or one that was taken back, if there is any.
fn write_call(change: &mut Change<'_>, call: &Call) -> Result<RowId, LogbookError> {
    match change.view().call_to_supersede(call.animal)? {
        Some(thing) => change.edit(thing, call),
        None => Ok(change.add(call)?.row()),
    }
}
