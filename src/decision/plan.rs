//! Before netting: what so many animals can and cannot show.

use crate::statistics::binomial::Count;
use crate::statistics::binomial::at_most;
use crate::statistics::clustered::Clustered;
use crate::statistics::posterior::share_below;
use crate::units::Probability;
use serde::Serialize;

/// How far a probability may lie above its bound by rounding alone.
const ROUNDING: f64 = 1e-12;
/// More animals than this are not planned for.
const MOST_ANIMALS: u64 = 2_000;

/// So many animals, and at most so many of them in the group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Acceptance {
    /// Animals called.
    pub animals: u64,
    /// The most in the group that still pass.
    pub at_most: u64,
}

impl Acceptance {
    /// The probability of passing when the pond's share is `share`.
    pub fn passes(self, share: Probability) -> Probability {
        at_most(self.count(), share)
    }

    /// The share of a pond that passes with a probability.
    pub fn share_passing(self, probability: Probability) -> Probability {
        share_below(self.count(), probability)
    }

    const fn count(self) -> Count {
        Count::capped(self.at_most, self.animals)
    }
}

/// What one netting can say about one limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SinglePlan {
    /// Animals called.
    pub animals: u64,
    /// The limit.
    pub limit: f64,
    /// Confidence of the test.
    pub confidence: f64,
    /// How many animals of a netting tell as much as one drawn by itself.
    pub design_effect: f64,
    /// The most animals in the group that show the limit kept; absent when not even none would.
    pub within_up_to: Option<u64>,
    /// The fewest animals in the group that show the limit exceeded; absent when not even all
    /// would.
    pub over_from: Option<u64>,
}

/// How the test comes out in a pond of one true share.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Chances {
    /// The pond's true share.
    pub share: f64,
    /// Probability of "within".
    pub within: f64,
    /// Probability of "over".
    pub over: f64,
    /// Probability of "too few animals to tell".
    pub open: f64,
}

impl SinglePlan {
    /// The plan for so many animals, of which some tell as much as one drawn by itself.
    pub fn new(
        animals: u64,
        limit: Probability,
        confidence: Probability,
        clustered: Clustered,
    ) -> Self {
        let bound = confidence.complement().get() + ROUNDING;
        let count = |k: u64| (k as f64, animals as f64);
        let within = (0..=animals)
            .take_while(|&k| clustered.at_most(count(k), limit).get() <= bound)
            .last();
        let over = (0..=animals).find(|&k| clustered.at_least(count(k), limit).get() <= bound);
        Self {
            animals,
            limit: limit.get(),
            confidence: confidence.get(),
            design_effect: clustered.0,
            within_up_to: within,
            over_from: over,
        }
    }

    /// How the test comes out in a pond of a true share: its operating characteristic.
    pub fn chances(&self, share: Probability) -> Chances {
        let clustered = Clustered(self.design_effect);
        let count = |k: u64| (k as f64, self.animals as f64);
        let within = self
            .within_up_to
            .map_or(0.0, |k| clustered.at_most(count(k), share).get());
        let over = self
            .over_from
            .map_or(0.0, |k| clustered.at_least(count(k), share).get());
        let open = (1.0 - within - over).max(0.0);
        let share = share.get();
        Chances {
            share,
            within,
            over,
            open,
        }
    }
}

/// How the test comes out when animals of the group are caught less readily than the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CatchBias {
    /// How readily an animal of the group is caught, the others being 1.
    pub catchability: f64,
    /// The share that a pond exactly on the limit then shows to the net.
    pub shown: f64,
    /// Probability of "within" in such a pond.
    pub within: f64,
}

impl SinglePlan {
    /// How often a pond exactly on the limit comes out within when the group is caught less readily.
    ///
    /// # Formula
    /// shown = c L / (1 - L + c L)
    pub fn with_catch_bias(&self, catchability: f64) -> CatchBias {
        let seen = catchability * self.limit;
        let all = 1.0 - self.limit + seen;
        let shown = if all > 0.0 { seen / all } else { 0.0 };
        CatchBias {
            catchability,
            shown,
            within: self.chances(Probability::clamped(shown)).within,
        }
    }
}

/// The fewest animals with which a pond of a true share is shown to keep the limit at least with
/// `power`; absent above 2,000, or when the share is not below the limit.
pub fn animals_to_clear(
    limit: Probability,
    confidence: Probability,
    share: Probability,
    power: Probability,
    clustered: Clustered,
) -> Option<u64> {
    if share.get() >= limit.get() {
        return None;
    }
    let clears = |&n: &u64| {
        let plan = SinglePlan::new(n, limit, confidence, clustered);
        plan.chances(share).within >= power.get()
    };
    (1..=MOST_ANIMALS).find(clears)
}
