//! Several shares at once: simultaneous intervals for a whole tally.

use crate::statistics::Interval;
use crate::statistics::normal_upper;
use crate::units::Probability;
use statrs::function::gamma::ln_gamma;

/// Goodman's simultaneous intervals, one per cell; rough where a cell holds fewer than 5.
///
/// # Formula
/// (2x + q ± sqrt(q (q + 4x (n - x) / n))) / (2 (n + q)) with q the upper (1 - confidence) / cells
/// quantile of chi-square with one degree of freedom.
///
/// # Source
/// Goodman 1965, as computed by general libraries and quoted by Sison & Glaz 1995.
pub fn goodman(counts: &[u64], confidence: Probability) -> Vec<Interval> {
    let n = counts.iter().sum::<u64>() as f64;
    if n == 0.0 {
        return vec![Interval::whole(); counts.len()];
    }
    let z = normal_upper((1.0 - confidence.get()) / (2.0 * counts.len() as f64));
    let q = z * z;
    counts
        .iter()
        .map(|&x| {
            let x = x as f64;
            let half = (q * (q + 4.0 * x * (n - x) / n)).sqrt();
            let below = 2.0 * (n + q);
            Interval::clamped((2.0 * x + q - half) / below, (2.0 * x + q + half) / below)
        })
        .collect()
}

/// The simultaneous intervals of Sison and Glaz, one per cell.
///
/// The smallest c is sought for which the counts stay within ±c of the observed ones with the
/// wanted probability; that probability comes from truncated Poisson cells and an Edgeworth series,
/// whose rounding moves the ends by up to 2e-4 between programs.
///
/// # Source
/// Sison & Glaz 1995; the arrangement by factorial moments is that of May & Johnson's published
/// macro (from memory).
pub fn sison_glaz(counts: &[u64], confidence: Probability) -> Vec<Interval> {
    let n: u64 = counts.iter().sum();
    if n == 0 {
        return vec![Interval::whole(); counts.len()];
    }
    let wanted = confidence.get();
    let (mut c, mut before, mut now) = (0, 0.0, 0.0);
    for reach in 1..=n {
        before = now;
        now = coverage(counts, n, reach as f64);
        c = reach;
        if now > wanted {
            break;
        }
    }
    let step = if now > before {
        ((wanted - before) / (now - before)).min(1.0)
    } else {
        1.0
    };
    let (n, c) = (n as f64, (c - 1) as f64);
    counts
        .iter()
        .map(|&x| {
            let share = x as f64 / n;
            Interval::clamped(share - c / n, share + (c + 2.0 * step) / n)
        })
        .collect()
}

/// P(every count within ±c of the observed one), approximately.
fn coverage(counts: &[u64], n: u64, c: f64) -> f64 {
    let mut sums = [0.0; 4];
    let mut inside = 1.0;
    for &x in counts {
        let (moments, mass) = truncated_poisson(x as f64, c);
        for (sum, moment) in sums.iter_mut().zip(moments) {
            *sum += moment;
        }
        inside *= mass;
    }
    let n = n as f64;
    let spread = sums[1].sqrt();
    let z = (n - sums[0]) / spread;
    let skew = sums[2] / sums[1].powf(1.5);
    let excess = sums[3] / sums[1].powi(2);
    let series = 1.0
        + skew * (z.powi(3) - 3.0 * z) / 6.0
        + excess * (z.powi(4) - 6.0 * z * z + 3.0) / 24.0
        + skew * skew * (z.powi(6) - 15.0 * z.powi(4) + 45.0 * z * z - 15.0) / 72.0;
    let density = series * (-z * z / 2.0).exp() / (std::f64::consts::TAU.sqrt() * spread);
    inside * density / poisson_mass(n, n)
}

/// Mean, variance, third central moment and fourth cumulant of a Poisson variable with mean
/// `lambda` held within ±c of it, and its probability of lying there.
fn truncated_poisson(lambda: f64, c: f64) -> ([f64; 4], f64) {
    let top = lambda + c;
    let bottom = (lambda - c).max(0.0);
    let below = |x: f64| poisson_at_most(x, lambda);
    let inside = below(top) - below(bottom - 1.0);
    let factorial = |r: f64| {
        let lost_above = below(top) - below(top - r);
        let lost_below = below(bottom - 1.0) - below(bottom - r - 1.0);
        lambda.powf(r) * (1.0 + (lost_below - lost_above) / inside)
    };
    let (f1, f2, f3, f4) = (
        factorial(1.0),
        factorial(2.0),
        factorial(3.0),
        factorial(4.0),
    );
    let variance = f2 + f1 - f1 * f1;
    let third = f3 + f2 * (3.0 - 3.0 * f1) + f1 - 3.0 * f1 * f1 + 2.0 * f1.powi(3);
    let fourth = f4 + f3 * (6.0 - 4.0 * f1) + f2 * (7.0 - 12.0 * f1 + 6.0 * f1 * f1) + f1
        - 4.0 * f1 * f1
        + 6.0 * f1.powi(3)
        - 3.0 * f1.powi(4);
    (
        [f1, variance, third, fourth - 3.0 * variance * variance],
        inside,
    )
}

fn poisson_mass(k: f64, mean: f64) -> f64 {
    if mean == 0.0 {
        return if k == 0.0 { 1.0 } else { 0.0 };
    }
    (k * mean.ln() - mean - ln_gamma(k + 1.0)).exp()
}

/// P(X <= k) for X ~ Poisson(mean); 0 below 0.
fn poisson_at_most(k: f64, mean: f64) -> f64 {
    if k < 0.0 {
        0.0
    } else if mean == 0.0 {
        1.0
    } else {
        statrs::function::gamma::gamma_ur(k + 1.0, mean)
    }
}
