//! Binomial tails of animals that were netted together and tell less than their number.

use crate::statistics::beta;
use crate::statistics::binomial::Count;
use crate::statistics::binomial::at_least;
use crate::statistics::binomial::at_most;
use crate::units::Probability;

/// How many animals of a netting tell as much as one drawn by itself; 1 or more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clustered(pub f64);

impl Clustered {
    /// Animals drawn one by one.
    pub const INDEPENDENT: Self = Self(1.0);

    /// P(X <= k) of a count in a pond of a share; animals may count in part.
    ///
    /// # Formula
    /// With d animals telling as much as one: P(share > p) for Beta(k / d + 1, (n - k) / d), which for
    /// d = 1 is the binomial sum and for larger d continues the binomial of n / d animals between
    /// whole numbers. An approximation, our choice: the true distribution of animals that were netted
    /// together is not known.
    pub fn at_most(self, (k, n): (f64, f64), share: Probability) -> Probability {
        if k < 0.0 {
            return Probability::clamped(0.0);
        }
        if k >= n {
            return Probability::clamped(1.0);
        }
        if self.is_binomial(k, n) {
            return at_most(Count::capped(k as u64, n as u64), share);
        }
        let (a, b) = (k / self.0 + 1.0, (n - k) / self.0);
        Probability::clamped(beta::regularised(b, a, 1.0 - share.get()))
    }

    /// P(X >= k) of a count in a pond of a share; animals may count in part.
    ///
    /// # Formula
    /// As [`at_most`](Self::at_most), with P(share <= p) for Beta(k / d, (n - k) / d + 1).
    pub fn at_least(self, (k, n): (f64, f64), share: Probability) -> Probability {
        if k <= 0.0 {
            return Probability::clamped(1.0);
        }
        if k > n {
            return Probability::clamped(0.0);
        }
        if self.is_binomial(k, n) {
            return at_least(Count::capped(k as u64, n as u64), share);
        }
        let (a, b) = (k / self.0, (n - k) / self.0 + 1.0);
        Probability::clamped(beta::regularised(a, b, share.get()))
    }

    fn is_binomial(self, k: f64, n: f64) -> bool {
        self.0 <= 1.0 && k.fract() == 0.0 && n.fract() == 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(share: f64) -> Probability {
        Probability::clamped(share)
    }

    /// Counts that divide by the effect are those of the fewer animals: the binomial sum of 3 of 30
    /// is that of 6 of 60 when two tell as much as one, and so on.
    #[test]
    fn whole_parts_are_the_binomial_of_fewer_animals() {
        for effect in [2.0, 3.0, 5.0] {
            for (k, n) in [(0, 22), (3, 30), (7, 45)] {
                for share in [0.05, 0.1, 0.4] {
                    let many = (effect * k as f64, effect * n as f64);
                    let few = Count::capped(k, n);
                    let low = Clustered(effect).at_most(many, p(share)).get();
                    assert!((low - at_most(few, p(share)).get()).abs() < 1e-12);
                    let high = Clustered(effect).at_least(many, p(share)).get();
                    assert!((high - at_least(few, p(share)).get()).abs() < 1e-12);
                }
            }
        }
    }

    /// The tails of a whole distribution: none below none, all at all, rising in between.
    #[test]
    fn the_tails_rise_from_nothing_to_all() {
        for effect in [1.0, 1.7, 6.0] {
            let tails = Clustered(effect);
            let low: Vec<f64> = (-1..=30)
                .map(|k| tails.at_most((f64::from(k), 30.0), p(0.2)).get())
                .collect();
            assert_eq!((low[0], low[31]), (0.0, 1.0));
            assert!(low.windows(2).all(|pair| pair[0] < pair[1] + 1e-15));
            let high: Vec<f64> = (0..=31)
                .map(|k| tails.at_least((f64::from(k), 30.0), p(0.2)).get())
                .collect();
            assert_eq!((high[0], high[31]), (1.0, 0.0));
            assert!(high.windows(2).all(|pair| pair[0] + 1e-15 > pair[1]));
        }
    }
}
