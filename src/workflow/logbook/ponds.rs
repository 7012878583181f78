//! Ponds: what they are, what was netted from them, what the harvest showed; and searching.

use crate::logbook::View;
use crate::logbook::animals::CountedSample;
use crate::logbook::search::Found;
use crate::records::farm::JournalLine;
use crate::records::ids::OutcomeId;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::ids::ThingId as _;
use crate::records::ids::VerdictId;
use crate::records::places::Outcome;
use crate::records::places::Pond;
use crate::records::places::VerdictGiven;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;

impl Session {
    /// All ponds, in the order of their names.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn ponds(&self) -> Result<Vec<Kept<Pond>>, SessionError> {
        let mut ponds = self.see(View::all::<Pond>)?;
        ponds.sort_by(|a, b| a.body.name.cmp(&b.body.name));
        Ok(ponds)
    }

    /// One pond as it stands.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn pond(&self, pond: PondId) -> Result<Kept<Pond>, SessionError> {
        self.see(|view| view.standing::<Pond>(pond))
    }

    /// Adds a pond.
    ///
    /// # Errors
    /// [`SessionError`] for values outside their range, or a logbook that cannot be written.
    pub fn add_pond(&mut self, pond: &Pond) -> Result<PondId, SessionError> {
        self.act(ActionKind::AddPond, None, |change| change.add(pond))
    }

    /// Changes a pond: give it as it should read now.
    ///
    /// # Errors
    /// As [`Session::add_pond`].
    pub fn edit_pond(&mut self, id: PondId, pond: &Pond) -> Result<(), SessionError> {
        self.act(ActionKind::EditPond, Some(id.row()), |change| {
            change.edit(id, pond).map(drop)
        })
    }

    /// Takes a pond off the list; its samples stay in the logbook.
    ///
    /// # Errors
    /// [`SessionError`] when there is none, or the logbook cannot be written.
    pub fn withdraw_pond(&mut self, id: PondId) -> Result<(), SessionError> {
        self.act(ActionKind::Withdraw, Some(id.row()), |change| {
            change.withdraw::<Pond>(id)
        })
    }

    /// The samples of a pond with their numbers of animals, the newest netting first.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn samples_of(&self, pond: PondId) -> Result<Vec<CountedSample>, SessionError> {
        self.see(|view| view.samples_of_pond(pond))
    }

    /// What harvests of a pond showed, in the order in which they were entered.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn outcomes_of(&self, pond: PondId) -> Result<Vec<Kept<Outcome>>, SessionError> {
        self.see(|view| view.naming::<Outcome>("pond", pond.row()))
    }

    /// Enters what a harvest showed.
    ///
    /// # Errors
    /// [`SessionError`] for dates out of order or other values that do not go together.
    pub fn add_outcome(&mut self, outcome: &Outcome) -> Result<OutcomeId, SessionError> {
        let about = Some(outcome.pond.row());
        self.act(ActionKind::Outcome, about, |change| change.add(outcome))
    }

    /// Changes what a harvest showed.
    ///
    /// # Errors
    /// As [`Session::add_outcome`].
    pub fn edit_outcome(&mut self, id: OutcomeId, outcome: &Outcome) -> Result<(), SessionError> {
        let about = Some(outcome.pond.row());
        self.act(ActionKind::Outcome, about, |change| {
            change.edit(id, outcome).map(drop)
        })
    }

    /// Keeps a verdict as it was given.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn keep_verdict(&mut self, verdict: &VerdictGiven) -> Result<VerdictId, SessionError> {
        let about = Some(verdict.sample.row());
        self.act(ActionKind::Verdict, about, |change| change.add(verdict))
    }

    /// The verdicts given on a sample, the latest last.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn verdicts_of(&self, sample: SampleId) -> Result<Vec<Kept<VerdictGiven>>, SessionError> {
        self.see(|view| view.naming::<VerdictGiven>("sample", sample.row()))
    }

    /// Finds ponds, samples, animals, calls and photos by what was written about them; the newest
    /// first.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn search(&self, words: &str, at_most: usize) -> Result<Vec<Found>, SessionError> {
        self.see(|view| view.search(words, at_most))
    }

    /// Who did what when, the newest first.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn journal(&self, at_most: usize) -> Result<Vec<Kept<JournalLine>>, SessionError> {
        self.see(|view| view.newest::<JournalLine>(at_most))
    }
}
