//! The seeded bootstrap: how much a figure would move if other animals had been netted.

use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

/// A figure recomputed on many resamples, in ascending order.
#[derive(Debug, Clone, PartialEq)]
pub struct Resampled {
    figures: Vec<f64>,
}

impl Resampled {
    /// Sorts figures that were computed one per resample; those that are no number (a figure that
    /// a resample does not define) are left out.
    pub fn from_figures(figures: impl IntoIterator<Item = f64>) -> Self {
        let mut figures: Vec<f64> = figures.into_iter().filter(|f| f.is_finite()).collect();
        figures.sort_by(f64::total_cmp);
        Self { figures }
    }

    /// The figures, ascending.
    pub fn figures(&self) -> &[f64] {
        &self.figures
    }

    /// The value below which a part `p` (0..1) of the figures lies, interpolated linearly; absent
    /// when no resample defines the figure.
    pub fn percentile(&self, p: f64) -> Option<f64> {
        let last = self.figures.len().checked_sub(1)?;
        let at = p.clamp(0.0, 1.0) * last as f64;
        let (low, part) = (at.floor() as usize, at.fract());
        let high = (low + 1).min(last);
        Some(self.figures[low] * (1.0 - part) + self.figures[high] * part)
    }
}

/// Seeded draws of shares.
#[derive(Debug, Clone)]
pub struct Draws {
    random: ChaCha8Rng,
}

impl Draws {
    /// Draws that repeat for the same seed.
    pub fn new(seed: u64) -> Self {
        Self {
            random: ChaCha8Rng::seed_from_u64(seed),
        }
    }

    /// Shares that sum to 1, from a Dirichlet distribution with these weights; a weight of 0 gets
    /// none.
    pub fn shares(&mut self, weights: &[f64]) -> Vec<f64> {
        let drawn: Vec<f64> = weights.iter().map(|w| self.gamma(*w)).collect();
        let all: f64 = drawn.iter().sum();
        if all > 0.0 {
            drawn.iter().map(|x| x / all).collect()
        } else {
            drawn
        }
    }

    /// A Gamma variable of scale 1.
    ///
    /// # Source
    /// Marsaglia & Tsang 2000, a simple method for generating Gamma variables (from memory); shapes
    /// below 1 by the power of a uniform number.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape <= 0.0 {
            return 0.0;
        }
        if shape < 1.0 {
            let uniform: f64 = self.random.random_range(0.0..1.0);
            return self.gamma(shape + 1.0) * uniform.powf(1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            let u: f64 = self.random.random_range(0.0..1.0);
            if v > 0.0 && u.ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    fn normal(&mut self) -> f64 {
        let u: f64 = self.random.random_range(0.0..1.0);
        let v: f64 = self.random.random_range(0.0..1.0);
        (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}

/// Recomputes `figure` on `resamples` samples drawn with replacement from `items`; the same seed
/// gives the same figures.
pub fn bootstrap<T: Clone>(
    items: &[T],
    resamples: usize,
    seed: u64,
    figure: impl Fn(&[T]) -> Option<f64>,
) -> Resampled {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut drawn = Vec::with_capacity(items.len());
    let mut figures = Vec::with_capacity(resamples);
    if items.is_empty() {
        return Resampled::from_figures(figures);
    }
    for _ in 0..resamples {
        drawn.clear();
        drawn.extend((0..items.len()).map(|_| items[random.random_range(0..items.len())].clone()));
        figures.extend(figure(&drawn));
    }
    Resampled::from_figures(figures)
}

/// How often shuffling the hits over the groups makes them differ at least as much as they do, the
/// real arrangement counted as one: a permutation test of the chi-square statistic.
pub fn shuffled_p(groups: &[usize], hits: &[bool], shufflings: usize, seed: u64) -> f64 {
    let mut hits = hits.to_vec();
    let wanted = spread(groups, &hits) - 1e-9;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut as_much = 1;
    for _ in 0..shufflings {
        for i in (1..hits.len()).rev() {
            hits.swap(i, random.random_range(0..=i));
        }
        as_much += usize::from(spread(groups, &hits) >= wanted);
    }
    as_much as f64 / (shufflings + 1) as f64
}

/// Sum over the groups of hits² / size: chi-square but for constants, as totals stay.
fn spread(groups: &[usize], hits: &[bool]) -> f64 {
    let count = groups.iter().max().map_or(0, |last| last + 1);
    let mut sums = vec![(0.0_f64, 0.0_f64); count];
    for (&group, &hit) in groups.iter().zip(hits) {
        sums[group].0 += if hit { 1.0 } else { 0.0 };
        sums[group].1 += 1.0;
    }
    sums.iter()
        .filter(|(_, size)| *size > 0.0)
        .map(|(k, size)| k * k / size)
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Means and variances of a Dirichlet distribution: a/n and a (n - a) / (n² (n + 1)).
    #[test]
    fn drawn_shares_have_their_means_and_variances() {
        let mut draws = Draws::new(3);
        let weights = [0.25, 2.0, 0.0, 7.75];
        let drawn: Vec<Vec<f64>> = (0..20_000).map(|_| draws.shares(&weights)).collect();
        for (cell, weight) in weights.iter().enumerate() {
            let mean = drawn.iter().map(|d| d[cell]).sum::<f64>() / 20_000.0;
            let squares = drawn.iter().map(|d| (d[cell] - mean).powi(2)).sum::<f64>() / 20_000.0;
            let variance = weight * (10.0 - weight) / (100.0 * 11.0);
            assert!((mean - weight / 10.0).abs() < 4.0 * (variance / 20_000.0).sqrt() + 1e-12);
            assert!(
                (squares - variance).abs() < 0.06 * variance + 1e-12,
                "{squares} {variance}"
            );
        }
        assert_eq!(draws.shares(&[0.0, 0.0]), [0.0, 0.0]);
    }

    #[test]
    fn shuffling_finds_the_exact_chance_of_a_small_table() {
        // 3 of 3 and 0 of 3: 2 of the 20 arrangements differ as much.
        let p = shuffled_p(
            &[0, 0, 0, 1, 1, 1],
            &[true, true, true, false, false, false],
            4_000,
            1,
        );
        assert!((p - 0.1).abs() < 0.02, "{p}");
        let same = shuffled_p(&[0, 0, 1, 1], &[true, false, true, false], 500, 1);
        assert!((same - 1.0).abs() < 1e-12);
    }
}
