//! Calling animals one by one until the answer stands: Wald's sequential test.

use crate::statistics::clustered::Clustered;
use crate::units::Probability;
use serde::Serialize;
use thiserror::Error;

/// Shares or errors between which no test can tell.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum SequentialError {
    /// The good share is not below the bad one.
    #[error(
        "a pond of {good} is not better than one of {bad}: give a lower share for the good pond, and both above 0 and below 1"
    )]
    Shares {
        /// Share of a pond that should pass.
        good: f64,
        /// Share of a pond that should not.
        bad: f64,
    },
    /// Errors that add up to a coin's.
    #[error(
        "errors of {alpha} and {beta} leave nothing to test: use numbers above 0 and below 0.5"
    )]
    Errors {
        /// Error of stopping a good pond.
        alpha: f64,
        /// Error of passing a bad pond.
        beta: f64,
    },
}

/// A sequential plan: after n animals with k in the group, "within" when k <= slope n - `h_accept`,
/// "over" when k >= slope n + `h_reject`, else call another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SequentialPlan {
    /// Share of a pond that should pass.
    pub good: f64,
    /// Share of a pond that should not: the limit.
    pub bad: f64,
    /// Error of stopping a good pond.
    pub alpha: f64,
    /// Error of passing a bad pond.
    pub beta: f64,
    /// Distance of the lower line.
    pub h_accept: f64,
    /// Distance of the upper line.
    pub h_reject: f64,
    /// Slope of both lines.
    pub slope: f64,
}

/// How a sequential plan that ends with a last animal comes out in a pond of one true share.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SequentialChances {
    /// The pond's true share.
    pub share: f64,
    /// Probability of "within".
    pub within: f64,
    /// Probability of "over".
    pub over: f64,
    /// Probability of no answer by the last animal.
    pub open: f64,
    /// Animals called on average.
    pub animals: f64,
}

impl SequentialPlan {
    /// The plan between a good and a bad share.
    ///
    /// # Formula
    /// w = ln(bad (1 - good) / (good (1 - bad))), h_accept = ln((1 - alpha) / beta) / w,
    /// h_reject = ln((1 - beta) / alpha) / w, slope = ln((1 - good) / (1 - bad)) / w.
    ///
    /// # Source
    /// Wald 1947, Sequential Analysis (from memory); the worked plan of the NIST e-Handbook agrees.
    ///
    /// # Errors
    /// [`SequentialError`] when the shares or errors leave nothing to tell apart.
    pub fn new(
        good: Probability,
        bad: Probability,
        alpha: Probability,
        beta: Probability,
    ) -> Result<Self, SequentialError> {
        let (good, bad, alpha, beta) = (good.get(), bad.get(), alpha.get(), beta.get());
        if !(good > 0.0 && good < bad && bad < 1.0) {
            return Err(SequentialError::Shares { good, bad });
        }
        if !(alpha > 0.0 && alpha < 0.5 && beta > 0.0 && beta < 0.5) {
            return Err(SequentialError::Errors { alpha, beta });
        }
        let w = (bad * (1.0 - good) / (good * (1.0 - bad))).ln();
        Ok(Self {
            good,
            bad,
            alpha,
            beta,
            h_accept: ((1.0 - alpha) / beta).ln() / w,
            h_reject: ((1.0 - beta) / alpha).ln() / w,
            slope: ((1.0 - good) / (1.0 - bad)).ln() / w,
        })
    }

    /// The plan for a limit: "within" in a pond on the limit, and "over" in one of the good share, at
    /// most with 1 - confidence each, wherever calling ends.
    ///
    /// Wald's lines keep his errors only nearly (0.102 for 0.1 at a limit of 5 %); these, ln(1 / error)
    /// / w away, keep them by his inequality for likelihood ratios.
    ///
    /// # Errors
    /// [`SequentialError`] when the good share is not below the limit.
    pub fn for_limit(
        good: Probability,
        limit: Probability,
        confidence: Probability,
    ) -> Result<Self, SequentialError> {
        let error = confidence.complement();
        let plan = Self::new(good, limit, error, error)?;
        let by_error = (1.0 / error.get()).ln() / ((1.0 - error.get()) / error.get()).ln();
        Ok(Self {
            h_accept: plan.h_accept * by_error,
            h_reject: plan.h_reject * by_error,
            ..plan
        })
    }

    /// The same plan when `clustered` animals tell as much as one drawn by itself: both counts go in
    /// as parts of it, which moves the lines apart by the effect.
    #[must_use]
    pub fn among(self, clustered: Clustered) -> Self {
        Self {
            h_accept: self.h_accept * clustered.0,
            h_reject: self.h_reject * clustered.0,
            ..self
        }
    }

    /// The most in the group with which the answer after `n` animals is within.
    pub fn within_up_to(&self, n: u64) -> Option<u64> {
        let k = (self.slope * n as f64 - self.h_accept).floor();
        (k >= 0.0).then_some(k as u64)
    }

    /// The fewest in the group with which the answer after `n` animals is over.
    pub fn over_from(&self, n: u64) -> Option<u64> {
        let k = (self.slope * n as f64 + self.h_reject).ceil();
        (k <= n as f64).then_some(k as u64)
    }

    /// The fewest animals that can give the answer within: none of them in the group.
    pub fn fewest(&self) -> u64 {
        (self.h_accept / self.slope).ceil() as u64
    }

    /// How the plan comes out in a pond of a true share when calling ends with animal `last`;
    /// exact, animal by animal,
    /// for animals drawn one by one.
    pub fn chances(&self, share: Probability, last: u64) -> SequentialChances {
        let p = share.get();
        let mut going_on = vec![1.0];
        let (mut within, mut over, mut animals) = (0.0, 0.0, 0.0);
        for n in 1..=last {
            animals += going_on.iter().sum::<f64>();
            let mut next = vec![0.0; going_on.len() + 1];
            for (k, chance) in going_on.iter().enumerate() {
                next[k] += chance * (1.0 - p);
                next[k + 1] += chance * p;
            }
            let (low, high) = (self.within_up_to(n), self.over_from(n));
            for (k, chance) in next.iter_mut().enumerate() {
                let k = k as u64;
                if low.is_some_and(|c| k <= c) {
                    within += std::mem::take(chance);
                } else if high.is_some_and(|r| k >= r) {
                    over += std::mem::take(chance);
                }
            }
            going_on = next;
        }
        let open = going_on.iter().sum();
        SequentialChances {
            share: p,
            within,
            over,
            open,
            animals,
        }
    }

    /// Animals called on average in a pond of the good and of the bad share, by Wald's
    /// approximation.
    pub fn average_animals(&self) -> (f64, f64) {
        let up = ((1.0 - self.beta) / self.alpha).ln();
        let down = (self.beta / (1.0 - self.alpha)).ln();
        let each = |p: f64| {
            p * (self.bad / self.good).ln()
                + (1.0 - p) * ((1.0 - self.bad) / (1.0 - self.good)).ln()
        };
        (
            ((1.0 - self.alpha) * down + self.alpha * up) / each(self.good),
            (self.beta * down + (1.0 - self.beta) * up) / each(self.bad),
        )
    }
}
