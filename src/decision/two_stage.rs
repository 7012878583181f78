//! A second netting, planned before the first: the only way to net again without testing again.

use crate::statistics::clustered::Clustered;
use crate::units::Probability;
use serde::Serialize;

/// How far a probability may lie above its bound by rounding alone.
const ROUNDING: f64 = 1e-12;

/// A plan of two nettings for one limit. Together they say "within" or "over" in a pond exactly on
/// the limit no more often than one test would.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TwoStagePlan {
    /// Animals of the first netting.
    pub first: u64,
    /// Animals of the second.
    pub second: u64,
    /// How many animals of a netting tell as much as one drawn by itself.
    pub design_effect: f64,
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
    pub fn new(
        first: u64,
        second: u64,
        limit: Probability,
        confidence: Probability,
        clustered: Clustered,
    ) -> Self {
        let error = confidence.complement().get();
        let half = 0.5 * error + ROUNDING;
        let count = |k: u64| (k as f64, first as f64);
        let mut plan = Self {
            first,
            second,
            design_effect: clustered.0,
            first_within_up_to: (0..=first)
                .take_while(|&k| clustered.at_most(count(k), limit).get() <= half)
                .last(),
            first_over_from: (0..=first)
                .find(|&k| clustered.at_least(count(k), limit).get() <= half),
            both_within_up_to: None,
            both_over_from: None,
        };
        let all = first + second;
        let bound = error + ROUNDING;
        // The chance of within grows with its number, that of over falls.
        let passes = |k: u64| {
            let tried = Self {
                both_within_up_to: Some(k),
                ..plan
            };
            tried.chances(limit).within <= bound
        };
        let both_within_up_to = first_not(all + 1, passes).checked_sub(1);
        let fails = |k: u64| {
            let tried = Self {
                both_over_from: Some(k),
                ..plan
            };
            tried.chances(limit).over > bound
        };
        let both_over_from = Some(first_not(all + 1, fails)).filter(|k| *k <= all);
        plan.both_within_up_to = both_within_up_to;
        plan.both_over_from = both_over_from;
        plan
    }

    /// How the plan comes out in a pond of a true share, summed over all outcomes. With a design effect
    /// above 1, "within" is summed by the tail that never takes a count for rarer from below than the
    /// test does, "over" by that from above.
    pub fn chances(&self, share: Probability) -> TwoStageChances {
        let clustered = Clustered(self.design_effect);
        let first = self.first as f64;
        let low = |k: f64| clustered.at_most((k, first), share).get();
        let high = |k: f64| clustered.at_least((k, first), share).get();
        let (mut within, mut over, mut going_on) = (0.0, 0.0, 0.0);
        for k in 0..=self.first {
            let at = k as f64;
            let from_below = low(at) - low(at - 1.0);
            let from_above = high(at) - high(at + 1.0);
            if self.first_within_up_to.is_some_and(|c| k <= c) {
                within += from_below;
            } else if self.first_over_from.is_some_and(|r| k >= r) {
                over += from_above;
            } else {
                going_on += from_below;
                let up_to = self.both_within_up_to.and_then(|c| c.checked_sub(k));
                within += from_below * up_to.map_or(0.0, |c| self.low_later(c, share));
                over += from_above
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

    /// The probability that the second netting shows at most so many.
    fn low_later(&self, up_to: u64, share: Probability) -> f64 {
        let count = (up_to as f64, self.second as f64);
        Clustered(self.design_effect).at_most(count, share).get()
    }

    /// The probability that the second netting brings the `seen` up to `from`.
    fn over_later(&self, from: u64, seen: u64, share: Probability) -> f64 {
        let count = (from.saturating_sub(seen) as f64, self.second as f64);
        Clustered(self.design_effect).at_least(count, share).get()
    }
}

/// The first of 0 to `end` for which a property, once lost, is lost for good; `end` if it never is.
fn first_not(end: u64, holds: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (0, end);
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    low
}
