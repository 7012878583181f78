//! One share from a count: exact tails and intervals.

use crate::statistics::Interval;
use crate::statistics::beta;
use crate::statistics::normal_upper;
use crate::units::Probability;
use statrs::function::gamma::ln_gamma;
use thiserror::Error;

/// How many of how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Count {
    k: u64,
    n: u64,
}

/// A count that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum CountError {
    /// More hits than animals.
    #[error("{k} of {n} is no count: there cannot be more hits than animals")]
    TooMany {
        /// Hits.
        k: u64,
        /// Animals.
        n: u64,
    },
}

impl Count {
    /// `k` of `n`.
    ///
    /// # Errors
    /// [`CountError::TooMany`] when `k` exceeds `n`.
    pub const fn new(k: u64, n: u64) -> Result<Self, CountError> {
        if k > n {
            Err(CountError::TooMany { k, n })
        } else {
            Ok(Self { k, n })
        }
    }

    /// None of `n`.
    pub const fn none_of(n: u64) -> Self {
        Self { k: 0, n }
    }

    /// `k` of `n`, all of them when `k` is more.
    pub const fn capped(k: u64, n: u64) -> Self {
        let k = if k < n { k } else { n };
        Self { k, n }
    }

    /// Hits.
    pub const fn k(self) -> u64 {
        self.k
    }

    /// Animals.
    pub const fn n(self) -> u64 {
        self.n
    }

    /// The observed share; absent when there are no animals.
    pub fn share(self) -> Option<Probability> {
        (self.n > 0).then(|| Probability::clamped(self.k as f64 / self.n as f64))
    }
}

/// P(X <= k) for X ~ Binomial(n, p), summed term by term.
pub fn at_most(count: Count, p: Probability) -> Probability {
    Probability::clamped(lower_tail(count, p.get()))
}

/// P(X >= k) for X ~ Binomial(n, p), summed term by term.
pub fn at_least(count: Count, p: Probability) -> Probability {
    let turned = Count {
        k: count.n - count.k,
        n: count.n,
    };
    Probability::clamped(lower_tail(turned, 1.0 - p.get()))
}

/// P(X = k) for X ~ Binomial(n, p).
pub fn exactly(count: Count, p: Probability) -> Probability {
    Probability::clamped(mass(count, p.get()))
}

/// Wilson's score interval, two-sided.
///
/// # Formula
/// (k + z²/2 ± z sqrt(k (n - k) / n + z²/4)) / (n + z²); at k = 0 and k = n the outer end is
/// exactly 0 or 1.
///
/// # Source
/// Wilson 1927; method 3 of Newcombe 1998, Stat Med 17:857-872.
pub fn wilson(count: Count, confidence: Probability) -> Interval {
    wilson_of((count.k as f64, count.n as f64), confidence, 1.0)
}

/// As [`wilson`], when only one of `design_effect` counted animals tells as much as one drawn by
/// itself; animals may count in part.
pub(crate) fn wilson_of(
    (all_k, all_n): (f64, f64),
    confidence: Probability,
    design_effect: f64,
) -> Interval {
    if all_n <= 0.0 {
        return Interval::whole();
    }
    let z = normal_upper((1.0 - confidence.get()) / 2.0);
    let (k, n) = (all_k / design_effect, all_n / design_effect);
    let half = z * (k * (n - k) / n + z * z / 4.0).sqrt();
    let middle = k + z * z / 2.0;
    Interval::clamped(
        if all_k <= 0.0 {
            0.0
        } else {
            (middle - half) / (n + z * z)
        },
        if all_k >= all_n {
            1.0
        } else {
            (middle + half) / (n + z * z)
        },
    )
}

/// Wilson's interval with continuity correction, two-sided.
///
/// # Source
/// Method 4 of Newcombe 1998, Stat Med 17:857-872 (from memory).
pub fn wilson_corrected(count: Count, confidence: Probability) -> Interval {
    if count.n == 0 {
        return Interval::whole();
    }
    let (k, n, z) = parts(count, confidence);
    let (p, q) = (k / n, (n - k) / n);
    let down = z
        * (z * z - 2.0 - 1.0 / n + 4.0 * p * (n * q + 1.0))
            .max(0.0)
            .sqrt();
    let up = z
        * (z * z + 2.0 - 1.0 / n + 4.0 * p * (n * q - 1.0))
            .max(0.0)
            .sqrt();
    let below = 2.0 * (n + z * z);
    Interval::clamped(
        if count.k == 0 {
            0.0
        } else {
            (2.0 * k + z * z - 1.0 - down) / below
        },
        if count.k == count.n {
            1.0
        } else {
            (2.0 * k + z * z + 1.0 + up) / below
        },
    )
}

/// The exact interval of Clopper and Pearson, two-sided.
///
/// # Source
/// Method 5 of Newcombe 1998, Stat Med 17:857-872, by quantiles of the beta distribution.
pub fn clopper_pearson(count: Count, confidence: Probability) -> Interval {
    let tail = (1.0 - confidence.get()) / 2.0;
    let (k, n) = (count.k as f64, count.n as f64);
    Interval::clamped(
        if count.k == 0 {
            0.0
        } else {
            beta::quantile(k, n - k + 1.0, tail)
        },
        if count.k == count.n {
            1.0
        } else {
            beta::quantile(k + 1.0, n - k, 1.0 - tail)
        },
    )
}

/// The exact one-sided upper bound: the largest share not refuted by so few hits.
pub fn upper_bound(count: Count, confidence: Probability) -> Probability {
    let two_sided = Probability::clamped(1.0 - 2.0 * (1.0 - confidence.get()));
    clopper_pearson(count, two_sided).high
}

/// The mid-P interval: exact, with half the weight of the observed count.
///
/// # Source
/// Method 6 of Newcombe 1998, Stat Med 17:857-872.
pub fn mid_p(count: Count, confidence: Probability) -> Interval {
    let tail = (1.0 - confidence.get()) / 2.0;
    let mid_lower = |p: f64| lower_tail(count, p) - 0.5 * mass(count, p);
    Interval::clamped(
        if count.k == 0 {
            0.0
        } else {
            falling_root(|p| mid_lower(p) - (1.0 - tail))
        },
        if count.k == count.n {
            1.0
        } else {
            falling_root(|p| mid_lower(p) - tail)
        },
    )
}

/// The equal-tailed interval of the Jeffreys posterior Beta(k + 1/2, n - k + 1/2).
///
/// The ends are the quantiles at every k, also at k = 0 and k = n: they are not replaced by 0
/// and 1 there.
pub fn jeffreys(count: Count, confidence: Probability) -> Interval {
    let tail = (1.0 - confidence.get()) / 2.0;
    let (a, b) = (count.k as f64 + 0.5, (count.n - count.k) as f64 + 0.5);
    Interval::clamped(beta::quantile(a, b, tail), beta::quantile(a, b, 1.0 - tail))
}

fn parts(count: Count, confidence: Probability) -> (f64, f64, f64) {
    let z = normal_upper((1.0 - confidence.get()) / 2.0);
    (count.k as f64, count.n as f64, z)
}

fn mass(count: Count, p: f64) -> f64 {
    let (k, n) = (count.k as f64, count.n as f64);
    if p <= 0.0 {
        return if count.k == 0 { 1.0 } else { 0.0 };
    }
    if p >= 1.0 {
        return if count.k == count.n { 1.0 } else { 0.0 };
    }
    let ways = ln_gamma(n + 1.0) - ln_gamma(k + 1.0) - ln_gamma(n - k + 1.0);
    (ways + k * p.ln() + (n - k) * (-p).ln_1p()).exp()
}

/// P(X <= k): from k down when k lies below the mean, else one minus the sum above it; each side
/// falls off geometrically, so the sum ends when a term no longer counts.
fn lower_tail(count: Count, p: f64) -> f64 {
    let Count { k, n } = count;
    if k == n {
        return 1.0;
    }
    if p <= 0.0 || p >= 1.0 {
        return if p <= 0.0 { 1.0 } else { 0.0 };
    }
    let odds = p / (1.0 - p);
    if (k as f64) <= n as f64 * p {
        let mut term = mass(count, p);
        let mut sum = term;
        for i in (1..=k).rev() {
            term *= i as f64 / ((n - i + 1) as f64 * odds);
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        sum
    } else {
        let mut term = mass(Count { k: k + 1, n }, p);
        let mut sum = term;
        for i in k + 1..n {
            term *= (n - i) as f64 * odds / (i + 1) as f64;
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        1.0 - sum
    }
}

fn falling_root(f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..90 {
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tails_meet_at_one() {
        for n in [1, 7, 30, 400] {
            for k in 0..n {
                for p in [0.0, 0.05, 0.5, 0.97, 1.0] {
                    let p = Probability::clamped(p);
                    let low = at_most(Count { k, n }, p).get();
                    let high = at_least(Count { k: k + 1, n }, p).get();
                    assert!((low + high - 1.0).abs() < 1e-12, "{k} {n}");
                }
            }
        }
    }

    #[test]
    fn a_hundred_thousand_animals_are_no_trouble() {
        let count = Count::new(10_000, 100_000).unwrap();
        let p = at_most(count, Probability::clamped(0.1)).get();
        assert!((p - 0.5).abs() < 0.01, "{p}");
    }
}
