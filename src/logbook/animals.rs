//! Samples, animals and their calls: what stands, and what rivals it.

use crate::logbook::codec;
use crate::logbook::error::LogbookError;
use crate::logbook::view::View;
use crate::records::decisions::Call;
use crate::records::ids::AnimalId;
use crate::records::ids::CallId;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::ids::ThingId as _;
use crate::records::places::Sample;
use crate::records::table::Kept;
use crate::records::table::Record as _;
use std::collections::BTreeMap;

/// A sample with how many animals it has and how many of them are called.
#[derive(Debug, Clone, PartialEq)]
pub struct CountedSample {
    /// The sample.
    pub sample: Kept<Sample>,
    /// Its animals.
    pub animals: u64,
    /// Those with a stage called.
    pub called: u64,
}

/// The calls of one animal that nobody superseded, set aside or took back, the standing one last.
/// More than one are rivals, to be settled.
pub type OpenCalls = Vec<Kept<Call>>;

impl View<'_> {
    /// The calls of every animal of a sample that has any.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn calls_of_sample(
        self,
        sample: SampleId,
    ) -> Result<BTreeMap<AnimalId, OpenCalls>, LogbookError> {
        let sql = format!(
            "{} {}",
            codec::select(Call::TABLE),
            include_str!("sql/calls_of_sample.sql")
        );
        let mut calls: BTreeMap<AnimalId, OpenCalls> = BTreeMap::new();
        for row in self.rows(Call::TABLE, &sql, vec![codec::id(sample.row())])? {
            let kept = codec::kept::<Call>(row)?;
            calls.entry(kept.body.animal).or_default().push(kept);
        }
        Ok(calls)
    }

    /// The calls of one animal.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn calls_of_animal(self, animal: AnimalId) -> Result<OpenCalls, LogbookError> {
        let sql = format!(
            "{} {}",
            codec::select(Call::TABLE),
            include_str!("sql/calls_of_animal.sql")
        );
        let rows = self.rows(Call::TABLE, &sql, vec![codec::id(animal.row())])?;
        rows.into_iter().map(codec::kept).collect()
    }

    /// The call that a new one of this animal supersedes: the standing one, else one that was taken
    /// back; absent when it was never called.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn call_to_supersede(self, animal: AnimalId) -> Result<Option<CallId>, LogbookError> {
        if let Some(standing) = self.calls_of_animal(animal)?.pop() {
            return Ok(Some(standing.thing()));
        }
        let sql = format!(
            "{} WHERE animal = ?1 AND withdrawn = 1 AND {} ORDER BY id",
            codec::select(Call::TABLE),
            codec::unsuperseded(Call::TABLE)
        );
        let taken_back = self.rows(Call::TABLE, &sql, vec![codec::id(animal.row())])?;
        Ok(taken_back.last().map(|row| CallId::from(row.head.of)))
    }

    /// The samples of a pond with their counts, the newest netting first.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn samples_of_pond(self, pond: PondId) -> Result<Vec<CountedSample>, LogbookError> {
        let mut samples = Vec::new();
        for sample in self.naming::<Sample>("pond", pond.row())? {
            samples.push(self.counted(sample)?);
        }
        samples.sort_by_key(|counted| std::cmp::Reverse(counted.sample.body.netted));
        Ok(samples)
    }

    /// A sample with its counts.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn counted(self, sample: Kept<Sample>) -> Result<CountedSample, LogbookError> {
        let (animals, called): (i64, i64) = self
            .connection
            .prepare_cached(include_str!("sql/counts_of_sample.sql"))?
            .query_row([codec::id(sample.head.of)], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })?;
        Ok(CountedSample {
            sample,
            animals: animals as u64,
            called: called as u64,
        })
    }

    /// The samples netted last.
    ///
    /// # Errors
    /// [`LogbookError`] for a file that cannot be read.
    pub fn latest_samples(self, at_most: usize) -> Result<Vec<Kept<Sample>>, LogbookError> {
        let sql = format!(
            "{} WHERE withdrawn = 0 AND {} ORDER BY netted_utc_ms DESC, id DESC LIMIT ?1",
            codec::select(Sample::TABLE),
            codec::unsuperseded(Sample::TABLE)
        );
        let limit = rusqlite::types::Value::Integer(at_most as i64);
        let rows = self.rows(Sample::TABLE, &sql, vec![limit])?;
        rows.into_iter().map(codec::kept).collect()
    }
}
