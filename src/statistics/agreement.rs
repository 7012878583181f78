//! How far readers agree.
//!
//! Every class that could have been called stays in the table, also one that nobody used: dropping
//! it would shorten the distances between the others and change the weighted figures.

use crate::statistics::Interval;
use crate::statistics::binomial::Count;
use crate::statistics::binomial::wilson;
use crate::statistics::normal_upper;
use crate::statistics::resampling::Resampled;
use crate::statistics::resampling::bootstrap;
use crate::units::Probability;
use serde::Serialize;
use thiserror::Error;

/// How much a disagreement counts, by the number of classes it spans.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Weighting {
    /// Any disagreement counts in full.
    Plain,
    /// In proportion to the classes spanned.
    Linear,
    /// In proportion to their square.
    Quadratic,
}

impl Weighting {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Linear => "linear",
            Self::Quadratic => "quadratic",
        }
    }
}

/// Counts that are no table of readers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum TableError {
    /// Fewer than two classes.
    #[error("{0} classes make no table of agreement: at least 2 are needed")]
    TooFewClasses(usize),
    /// A row of another length.
    #[error("row {row} has {found} cells instead of {wanted}")]
    Ragged {
        /// The row, from 0.
        row: usize,
        /// Its cells.
        found: usize,
        /// Cells wanted.
        wanted: usize,
    },
    /// An animal that another number of readers called.
    #[error("animal {row} was called {found} times instead of {wanted}")]
    UnevenCalls {
        /// The animal, from 0.
        row: usize,
        /// Its calls.
        found: u64,
        /// Calls wanted.
        wanted: u64,
    },
}

/// Calls of two readers: classes x classes, rows are the first reader's, columns the second's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PairTable {
    counts: Vec<Vec<u64>>,
}

/// Cohen's kappa with its large-sample errors.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Kappa {
    /// How disagreements were weighted; to be printed beside the value.
    pub weighting: Weighting,
    /// 1 is full agreement, 0 what chance gives.
    pub value: f64,
    /// Standard error of the value.
    pub standard_error: f64,
    /// Standard error if readers agreed by chance only.
    pub standard_error_by_chance: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

impl PairTable {
    /// A square table of counts.
    ///
    /// # Errors
    /// [`TableError`] when there are fewer than two classes or a row is too short or too long.
    pub fn new(counts: Vec<Vec<u64>>) -> Result<Self, TableError> {
        let wanted = counts.len();
        if wanted < 2 {
            return Err(TableError::TooFewClasses(wanted));
        }
        if let Some(row) = counts.iter().position(|cells| cells.len() != wanted) {
            let found = counts[row].len();
            return Err(TableError::Ragged { row, found, wanted });
        }
        Ok(Self { counts })
    }

    /// The table of so many classes from counts that are square by their type.
    pub(crate) fn square<const N: usize>(counts: &[[u64; N]; N]) -> Self {
        Self {
            counts: counts.iter().map(|row| row.to_vec()).collect(),
        }
    }

    /// Animals in the table.
    pub fn animals(&self) -> u64 {
        self.counts.iter().flatten().sum()
    }

    /// The part of the animals that both readers called alike; absent without animals.
    pub fn agreement(&self) -> Option<Probability> {
        self.within(0)
    }

    /// The part of the animals on which the calls differ by one class at most.
    pub fn agreement_within_one(&self) -> Option<Probability> {
        self.within(1)
    }

    /// Wilson's interval of [`agreement`](Self::agreement).
    pub fn agreement_interval(&self, confidence: Probability) -> Interval {
        wilson(self.near(0), confidence)
    }

    /// Wilson's interval of [`agreement_within_one`](Self::agreement_within_one).
    pub fn within_one_interval(&self, confidence: Probability) -> Interval {
        wilson(self.near(1), confidence)
    }

    /// Cohen's kappa, with its interval at `confidence`; absent when chance alone would agree
    /// always, or without animals.
    ///
    /// # Formula
    /// kappa = (po - pe) / (1 - pe), po = Σ w p, pe = Σ w p_i. p_.j, with agreement weights
    /// w = 1 - |i - j| / (classes - 1), or its square for the distance.
    ///
    /// # Source
    /// Cohen 1960 and 1968; the errors are those of Fleiss, Cohen & Everitt 1969 (from memory,
    /// checked against a published printout).
    pub fn kappa(&self, weighting: Weighting, confidence: Probability) -> Option<Kappa> {
        let n = self.animals() as f64;
        if n == 0.0 {
            return None;
        }
        let size = self.counts.len();
        let p = |i: usize, j: usize| self.counts[i][j] as f64 / n;
        let w = |i: usize, j: usize| weight(weighting, i.abs_diff(j), size);
        let rows: Vec<f64> = (0..size)
            .map(|i| (0..size).map(|j| p(i, j)).sum())
            .collect();
        let columns: Vec<f64> = (0..size)
            .map(|j| (0..size).map(|i| p(i, j)).sum())
            .collect();
        let over_cells = |term: &dyn Fn(usize, usize) -> f64| -> f64 {
            (0..size)
                .flat_map(|i| (0..size).map(move |j| (i, j)))
                .map(|(i, j)| term(i, j))
                .sum()
        };
        let po = over_cells(&|i, j| w(i, j) * p(i, j));
        let pe = over_cells(&|i, j| w(i, j) * rows[i] * columns[j]);
        if 1.0 - pe < 1e-12 {
            return None;
        }
        let by_row: Vec<f64> = (0..size)
            .map(|i| (0..size).map(|j| w(i, j) * columns[j]).sum())
            .collect();
        let by_column: Vec<f64> = (0..size)
            .map(|j| (0..size).map(|i| w(i, j) * rows[i]).sum())
            .collect();
        let spread = over_cells(&|i, j| {
            let part = w(i, j) * (1.0 - pe) - (by_row[i] + by_column[j]) * (1.0 - po);
            p(i, j) * part * part
        }) - (po * pe - 2.0 * pe + po).powi(2);
        let by_chance =
            over_cells(&|i, j| rows[i] * columns[j] * (w(i, j) - by_row[i] - by_column[j]).powi(2))
                - pe * pe;
        let value = (po - pe) / (1.0 - pe);
        let standard_error = spread.max(0.0).sqrt() / (n.sqrt() * (1.0 - pe).powi(2));
        let reach = normal_upper((1.0 - confidence.get()) / 2.0) * standard_error;
        Some(Kappa {
            weighting,
            value,
            standard_error,
            standard_error_by_chance: by_chance.max(0.0).sqrt() / (n.sqrt() * (1.0 - pe)),
            low: value - reach,
            high: value + reach,
        })
    }

    fn within(&self, classes: usize) -> Option<Probability> {
        self.near(classes).share()
    }

    fn near(&self, classes: usize) -> Count {
        let near: u64 = self
            .counts
            .iter()
            .enumerate()
            .flat_map(|(i, row)| row.iter().enumerate().map(move |(j, &x)| (i, j, x)))
            .filter(|(i, j, _)| i.abs_diff(*j) <= classes)
            .map(|(_, _, x)| x)
            .sum();
        Count::capped(near, self.animals())
    }
}

/// Fleiss' kappa of three or more readers; absent when chance alone would agree always.
///
/// Rows are animals: how many readers called each class; every animal has as many calls.
///
/// # Source
/// Fleiss 1971.
///
/// # Errors
/// [`TableError`] when a row has another length or another number of calls.
pub fn fleiss(rows: &[Vec<u64>]) -> Result<Option<f64>, TableError> {
    let (classes, calls) = shape(rows)?;
    Ok(fleiss_of(rows, classes, calls))
}

/// The interval of Fleiss' kappa at `confidence`, by drawing animals anew.
///
/// # Errors
/// [`TableError`] when a row has another length or another number of calls.
pub fn fleiss_interval(
    rows: &[Vec<u64>],
    confidence: Probability,
    resamples: usize,
    seed: u64,
) -> Result<Option<(f64, f64)>, TableError> {
    let (classes, calls) = shape(rows)?;
    let drawn: Resampled = bootstrap(rows, resamples, seed, |sample| {
        fleiss_of(sample, classes, calls)
    });
    let tail = (1.0 - confidence.get()) / 2.0;
    Ok(drawn.percentile(tail).zip(drawn.percentile(1.0 - tail)))
}

fn shape(rows: &[Vec<u64>]) -> Result<(usize, u64), TableError> {
    let Some(first) = rows.first() else {
        return Ok((0, 0));
    };
    let (classes, calls) = (first.len(), first.iter().sum());
    for (row, cells) in rows.iter().enumerate() {
        if cells.len() != classes {
            let (found, wanted) = (cells.len(), classes);
            return Err(TableError::Ragged { row, found, wanted });
        }
        let found: u64 = cells.iter().sum();
        if found != calls {
            let wanted = calls;
            return Err(TableError::UnevenCalls { row, found, wanted });
        }
    }
    Ok((classes, calls))
}

fn fleiss_of(rows: &[Vec<u64>], classes: usize, calls: u64) -> Option<f64> {
    if rows.is_empty() || calls < 2 {
        return None;
    }
    let (animals, m) = (rows.len() as f64, calls as f64);
    let alike = |row: &Vec<u64>| {
        let squares: f64 = row.iter().map(|&x| (x * x) as f64).sum();
        (squares - m) / (m * (m - 1.0))
    };
    let observed = rows.iter().map(alike).sum::<f64>() / animals;
    let by_chance: f64 = (0..classes)
        .map(|class| {
            let used: u64 = rows.iter().map(|row| row[class]).sum();
            (used as f64 / (animals * m)).powi(2)
        })
        .sum();
    (1.0 - by_chance > 1e-12).then(|| (observed - by_chance) / (1.0 - by_chance))
}

fn weight(weighting: Weighting, apart: usize, classes: usize) -> f64 {
    let distance = apart as f64 / (classes - 1) as f64;
    match weighting {
        Weighting::Plain => {
            if apart == 0 {
                1.0
            } else {
                0.0
            }
        }
        Weighting::Linear => 1.0 - distance,
        Weighting::Quadratic => 1.0 - distance * distance,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn impossible_tables_are_refused() {
        assert!(PairTable::new(vec![vec![3]]).is_err());
        assert!(PairTable::new(vec![vec![1, 2], vec![3]]).is_err());
        assert!(fleiss(&[vec![2, 1], vec![3, 1]]).is_err());
    }

    #[test]
    fn readers_who_only_ever_call_one_class_have_no_kappa() {
        let table = PairTable::new(vec![vec![9, 0], vec![0, 0]]).unwrap();
        assert_eq!(
            table.kappa(Weighting::Plain, Probability::clamped(0.95)),
            None
        );
        assert_eq!(table.agreement().map(Probability::get), Some(1.0));
    }
}
