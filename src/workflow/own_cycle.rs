//! The length of the cycle: the published one for a pond's conditions, and the pond's own from its
//! dated samples.

use crate::cycle::Assumed;
use crate::cycle::arcs::StageArcs;
use crate::cycle::length::Conditions;
use crate::cycle::length::LengthError;
use crate::cycle::length::LengthRefusal;
use crate::cycle::length::cycle_length;
use crate::exchange::series::SeriesFileError;
use crate::exchange::series::read_series;
use crate::forecast::DatedCounts;
use crate::forecast::OwnCycleRefusal;
use crate::forecast::SeriesError;
use crate::forecast::Spreads;
use crate::forecast::own_cycle;
use crate::texts;
use crate::units::Days;
use crate::workflow::moments::Moment;
use crate::workflow::moments::MomentError;
use crate::workflow::moments::PondClock;
use serde::Serialize;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Why there is no length.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OwnCycleError {
    /// The table of samples cannot be used.
    #[error(transparent)]
    File(#[from] SeriesFileError),
    /// A moment that is none.
    #[error("{}, line {line}: {source}", file.display())]
    Moment {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// What stands there.
        source: MomentError,
    },
    /// Samples that cannot be.
    #[error("{}: {source}", file.display())]
    Series {
        /// The file.
        file: PathBuf,
        /// What is wrong.
        source: SeriesError,
    },
    /// Numbers that are no conditions.
    #[error(transparent)]
    Length(#[from] LengthError),
}

/// The length carried over from published ones to a pond's conditions: part of what `tailfan cycle --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PublishedLength {
    /// Days from moult to moult; absent when refused.
    pub days: Option<f64>,
    /// Why no length is given.
    pub refused: Option<String>,
    /// What to be careful about.
    pub warnings: Vec<String>,
    /// What was taken from publications.
    pub assumed: Vec<Assumed>,
}

/// A pond's own cycle from its samples: part of what `tailfan cycle --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OwnLength {
    /// Nettings with called animals.
    pub samples: usize,
    /// Called animals.
    pub animals: u64,
    /// Days from moult to moult; absent when refused.
    pub days: Option<f64>,
    /// Shortest length that fits nearly as well.
    pub low: Option<f64>,
    /// Longest length that fits nearly as well.
    pub high: Option<f64>,
    /// Why no length is given.
    pub refused: Option<String>,
}

/// The published length for these conditions.
///
/// # Errors
/// [`OwnCycleError::Length`] for numbers that cannot be.
pub fn published_length(at: Conditions) -> Result<PublishedLength, OwnCycleError> {
    Ok(match cycle_length(at)? {
        Ok(length) => PublishedLength {
            days: Some(length.days.get()),
            refused: None,
            warnings: length
                .warnings
                .iter()
                .map(texts::forecast::length_warning)
                .collect(),
            assumed: length.assumed,
        },
        Err(why) => refused(why),
    })
}

fn refused(why: LengthRefusal) -> PublishedLength {
    PublishedLength {
        days: None,
        refused: Some(why.to_string()),
        warnings: Vec::new(),
        assumed: Vec::new(),
    }
}

/// The pond's own length from a CSV file of dated calls; `expected` is a published one.
///
/// # Errors
/// [`OwnCycleError`] for a file that cannot be used.
pub fn own_length(
    file: &Path,
    clock: Option<&PondClock>,
    arcs: &StageArcs,
    expected: Option<Days>,
) -> Result<OwnLength, OwnCycleError> {
    let nettings = read_series(file)?;
    let mut samples = Vec::new();
    let mut first: Option<Moment> = None;
    for netting in &nettings {
        let read = match clock {
            Some(clock) => clock.read(&netting.netted),
            None => netting.netted.parse(),
        };
        let moment: Moment = read.map_err(|source| OwnCycleError::Moment {
            file: file.to_owned(),
            line: netting.line,
            source,
        })?;
        let from = *first.get_or_insert(moment);
        let own_clock = PondClock::of_moment(from);
        samples.push(DatedCounts {
            day: clock.unwrap_or(&own_clock).days_between(from, moment),
            hour: moment.hour(),
            counts: netting.counts.clone(),
        });
    }
    let cv = Spreads::default().animals;
    let found =
        own_cycle(&samples, arcs, cv, expected).map_err(|source| OwnCycleError::Series {
            file: file.to_owned(),
            source,
        })?;
    let (days, refused) = match found {
        Ok(own) => (Some(own), None),
        Err(why) => (None, Some(OwnCycleRefusal::to_string(&why))),
    };
    Ok(OwnLength {
        samples: samples.len(),
        animals: samples.iter().flat_map(|s| s.counts.values()).sum(),
        days: days.map(|own| own.days.get()),
        low: days.map(|own| own.low.get()),
        high: days.map(|own| own.high.get()),
        refused,
    })
}
