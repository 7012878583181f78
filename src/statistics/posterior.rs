//! What a count says about a share, as a distribution: Beta for one share, Dirichlet for several.

use crate::statistics::beta;
use crate::statistics::binomial::Count;
use crate::units::Probability;
use statrs::function::gamma::ln_gamma;

/// What was believed about a share before counting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Prior {
    /// Beta(1/2, 1/2).
    Jeffreys,
    /// Beta(1, 1).
    Uniform,
}

/// A Beta distribution of a share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beta {
    a: f64,
    b: f64,
}

impl Beta {
    /// The posterior of a share after a count.
    pub fn after(count: Count, prior: Prior) -> Self {
        let add = match prior {
            Prior::Jeffreys => 0.5,
            Prior::Uniform => 1.0,
        };
        Self {
            a: count.k() as f64 + add,
            b: (count.n() - count.k()) as f64 + add,
        }
    }

    /// The distribution with so many animals believed beforehand in and out of the group, when only
    /// one of `design_effect` counted animals tells as much as one drawn by itself. Animals may count
    /// in part: `k` need not be whole.
    pub(crate) fn of_part((k, n): (f64, f64), design_effect: f64, before: [f64; 2]) -> Self {
        Self {
            a: k / design_effect + before[0],
            b: (n - k) / design_effect + before[1],
        }
    }

    /// The mean share.
    pub fn mean(self) -> Probability {
        Probability::clamped(self.a / (self.a + self.b))
    }

    /// The share that lies above a part `p` of the distribution.
    pub fn quantile(self, p: Probability) -> Probability {
        Probability::clamped(beta::quantile(self.a, self.b, p.get()))
    }

    /// The probability that the share exceeds `limit`.
    pub fn over(self, limit: Probability) -> Probability {
        Probability::clamped(beta::regularised(self.b, self.a, 1.0 - limit.get()))
    }
}

/// The share at which a count this low or lower has a probability: the inverse of
/// [`at_most`](crate::statistics::binomial::at_most) in the share.
pub fn share_below(count: Count, probability: Probability) -> Probability {
    if count.k() == count.n() {
        return Probability::clamped(1.0);
    }
    let (a, b) = (count.k() as f64 + 1.0, (count.n() - count.k()) as f64);
    Probability::clamped(beta::quantile(a, b, 1.0 - probability.get()))
}

/// A Dirichlet distribution of several shares that sum to one.
#[derive(Debug, Clone, PartialEq)]
pub struct Dirichlet {
    weights: Vec<f64>,
}

impl Dirichlet {
    /// The posterior after `counts`, with as many animals per cell believed beforehand as
    /// `prior_weights` says; cells without any weight have no share at all.
    pub fn after(counts: &[u64], prior_weights: &[f64]) -> Self {
        let weights = counts.iter().zip(prior_weights);
        Self {
            weights: weights.map(|(&x, w)| x as f64 + w.max(0.0)).collect(),
        }
    }

    /// The weight of each cell: its count and what was believed beforehand.
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// The mean share of each cell.
    pub fn means(&self) -> Vec<Probability> {
        let all = self.all();
        self.weights
            .iter()
            .map(|w| Probability::clamped(w / all))
            .collect()
    }

    /// The variance of the share of each cell.
    pub fn variances(&self) -> Vec<f64> {
        let all = self.all();
        let one = |w: &f64| w * (all - w) / (all * all * (all + 1.0));
        self.weights.iter().map(one).collect()
    }

    /// The covariance of the shares of two different cells.
    pub fn covariance(&self, one: usize, other: usize) -> f64 {
        let all = self.all();
        -self.weights[one] * self.weights[other] / (all * all * (all + 1.0))
    }

    /// The distribution of the joint share of some cells.
    pub fn group(&self, cells: &[usize]) -> Beta {
        let a: f64 = cells.iter().map(|&cell| self.weights[cell]).sum();
        Beta {
            a,
            b: self.all() - a,
        }
    }

    fn all(&self) -> f64 {
        self.weights.iter().sum()
    }
}

/// Log probability of `counts` when the shares are drawn from a Dirichlet distribution with equal
/// weight `prior_weight` per cell.
pub fn ln_dirichlet_multinomial(counts: &[u64], prior_weight: f64) -> f64 {
    ln_dirichlet_multinomial_of(counts, &vec![prior_weight; counts.len()])
}

/// As [`ln_dirichlet_multinomial`], with a weight of its own for each cell, all above 0.
pub fn ln_dirichlet_multinomial_of(counts: &[u64], prior_weights: &[f64]) -> f64 {
    let n = counts.iter().sum::<u64>() as f64;
    let all: f64 = prior_weights.iter().sum();
    let cells: f64 = counts
        .iter()
        .zip(prior_weights)
        .map(|(&x, &prior_weight)| {
            let x = x as f64;
            ln_gamma(x + prior_weight) - ln_gamma(prior_weight) - ln_gamma(x + 1.0)
        })
        .sum();
    ln_gamma(n + 1.0) + ln_gamma(all) - ln_gamma(n + all) + cells
}
