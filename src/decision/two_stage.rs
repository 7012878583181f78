//! A second netting, planned before the first: the only way to net again without testing again.

use crate::statistics::binomial::Count;
use crate::statistics::binomial::at_least;
use crate::statistics::binomial::at_most;
use crate::statistics::binomial::exactly;
use crate::units::Probability;
use serde::Serialize;

/// How far a probability may lie above its bound by rounding alone.
const ROUNDING: f64 = 1e-12;

/// A plan of two nettings for one limit. Together they say "within" or "over" in a pond exactly on
/// the limit no more often than one test would.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct TwoStagePlan {
    /// Animals of the first netting.
    pub first: u64,
    /// Animals of the second.
    pub second: u64,
    /// The first says within up to so many; absent when it cannot.
    pub first_within_up_to: Option<u64>,
    /// The first says over from so many; absent when it cannot.
    pub first_over_from: Option<u64>,
    /// Both together say within up to so many; absent when they cannot.
    pub both_within_up_to: Option<u64>,
    /// Both together say over from so many; absent when they cannot.
    pub both_over_from: Option<u64>,
}

/// How a two-stage plan comes out in a pond of one true share.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TwoStageChances {
    /// The pond's true share.
    pub share: f64,
    /// Probability of "within".
    pub within: f64,
    /// Probability of "over".
    pub over: f64,
    /// Probability of "too few animals to tell" after both.
    pub open: f64,
    /// Animals called on average.
    pub animals: f64,
}

impl TwoStagePlan {
    /// The plan that spends half of the error on the first netting and what is left on both.
    pub fn new(first: u64, second: u64, limit: Probability, confidence: Probability) -> Self {
        let error = confidence.complement().get();
        let half = 0.5 * error + ROUNDING;
        let count = |k: u64| Count::capped(k, first);
        let mut plan = Self {
            first,
            second,
            first_within_up_to: (0..=first)
                .take_while(|&k| at_most(count(k), limit).get() <= half)
                .last(),
            first_over_from: (0..=first).find(|&k| at_least(count(k), limit).get() <= half),
            both_within_up_to: None,
            both_over_from: None,
        };
        let all = first + second;
        let bound = error + ROUNDING;
        plan.both_within_up_to = (0..=all)
            .map(|k| Self {
                both_within_up_to: Some(k),
                ..plan
            })
            .take_while(|tried| tried.chances(limit).within <= bound)
            .last()
            .and_then(|tried| tried.both_within_up_to);
        plan.both_over_from = (0..=all)
            .rev()
            .map(|k| Self {
                both_over_from: Some(k),
                ..plan
            })
            .take_while(|tried| tried.chances(limit).over <= bound)
            .last()
            .and_then(|tried| tried.both_over_from);
        plan
    }

    /// How the plan comes out in a pond of a true share, summed over all outcomes.
    pub fn chances(&self, share: Probability) -> TwoStageChances {
        let (mut within, mut over, mut going_on) = (0.0, 0.0, 0.0);
        for k in 0..=self.first {
            let chance = exactly(Count::capped(k, self.first), share).get();
            if self.first_within_up_to.is_some_and(|c| k <= c) {
                within += chance;
            } else if self.first_over_from.is_some_and(|r| k >= r) {
                over += chance;
            } else {
                going_on += chance;
                let up_to = self.both_within_up_to.and_then(|c| c.checked_sub(k));
                within += chance
                    * up_to.map_or(0.0, |c| at_most(Count::capped(c, self.second), share).get());
                over += chance
                    * self
                        .both_over_from
                        .map_or(0.0, |r| self.over_later(r, k, share));
            }
        }
        TwoStageChances {
            share: share.get(),
            within,
            over,
            open: (1.0 - within - over).max(0.0),
            animals: self.first as f64 + self.second as f64 * going_on,
        }
    }

    /// The probability that the second netting brings the `seen` up to `from`.
    fn over_later(&self, from: u64, seen: u64, share: Probability) -> f64 {
        let needed = from.saturating_sub(seen);
        if needed > self.second {
            return 0.0;
        }
        at_least(Count::capped(needed, self.second), share).get()
    }
}
