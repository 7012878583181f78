//! Two ways of reading the same animals: is the difference more than chance?

use crate::statistics::binomial::Count;
use crate::statistics::binomial::at_most;
use crate::units::Probability;
use serde::Deserialize;
use serde::Serialize;

/// McNemar's test: animals that one got right and the other wrong.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct McNemar {
    /// Right by the first alone.
    pub first_only: u64,
    /// Right by the second alone.
    pub second_only: u64,
    /// Two-sided probability of a split at least as uneven where neither is better: exact.
    pub p: f64,
    /// The statistic (|b - c| - 1)² / (b + c), for those who know it; 0 where nothing differs.
    pub statistic: f64,
}

impl McNemar {
    /// The test of `b` animals right by the first alone and `c` by the second alone.
    ///
    /// # Formula
    /// p = min(1, 2 P(X <= min(b, c))), X binomial with b + c trials and one half. The statistic has the
    /// correction of Edwards.
    ///
    /// # Source
    /// McNemar 1947, Psychometrika 12:153-157 (from memory); values in `tests/suite/paired.rs`.
    pub fn of(first_only: u64, second_only: u64) -> Self {
        let all = first_only + second_only;
        if all == 0 {
            return Self {
                first_only,
                second_only,
                p: 1.0,
                statistic: 0.0,
            };
        }
        let least = first_only.min(second_only);
        let apart = first_only.abs_diff(second_only) as f64;
        Self {
            first_only,
            second_only,
            p: (2.0 * at_most(Count::capped(least, all), Probability::clamped(0.5)).get()).min(1.0),
            statistic: (apart - 1.0).powi(2) / all as f64,
        }
    }
}
