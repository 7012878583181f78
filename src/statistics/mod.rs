//! Numbers about counts, readers and phases: intervals, exact tests, posteriors, agreement,
//! circular statistics, resampling and calibration figures.
//!
//! Counts and shares go in, plain numbers come out; nothing here knows a stage or a pond.

pub mod agreement;
mod beta;
pub mod binomial;
pub mod calibration;
pub mod circular;
pub mod clustered;
pub mod functional;
pub mod gamma;
pub mod multinomial;
pub mod paired;
pub mod posterior;
pub mod resampling;
pub mod robust;

use crate::units::Probability;
use serde::Deserialize;
use serde::Serialize;

/// A lower and an upper bound on a share.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// Lower bound.
    pub low: Probability,
    /// Upper bound.
    pub high: Probability,
}

impl Interval {
    /// An interval from two numbers, brought into 0..=1.
    pub(crate) const fn clamped(low: f64, high: f64) -> Self {
        Self {
            low: Probability::clamped(low),
            high: Probability::clamped(high),
        }
    }

    /// The interval that says nothing: 0 to 1.
    pub const fn whole() -> Self {
        Self::clamped(0.0, 1.0)
    }
}

/// Upper quantile of the standard normal distribution: the z with P(Z > z) = `tail`.
pub(crate) fn normal_upper(tail: f64) -> f64 {
    std::f64::consts::SQRT_2 * statrs::function::erf::erfc_inv(2.0 * tail)
}
