//! The distribution of a weighted share: parts of a pond that are uncertain (Dirichlet), each with
//! its own chance of being in a group.

use crate::statistics::beta;
use crate::statistics::normal_upper;

/// A Newton step this small leaves an error far below 1e-6.
const SMALL_STEP: f64 = 3e-5;
/// Below this spread a share is a number.
const POINT: f64 = 1e-12;

/// The distribution of Σ w p where w is Dirichlet and p are fixed chances, approximated by the Beta
/// distribution on [min p, max p] with the same mean and variance; exact when p takes two values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightedShare {
    low: f64,
    width: f64,
    /// Parameters and the logarithm of the complete beta function; absent when it is a number.
    shape: Option<(f64, f64, f64)>,
}

impl WeightedShare {
    /// From pairs of Dirichlet weight and chance (0..1); a weight of 0 is a part that is not there.
    pub fn new(parts: impl Iterator<Item = (f64, f64)> + Clone) -> Self {
        let present = parts.filter(|(weight, _)| *weight > 0.0);
        let (mut all, mut first, mut second) = (0.0, 0.0, 0.0);
        let (mut low, mut high) = (1.0_f64, 0.0_f64);
        for (weight, chance) in present {
            all += weight;
            first += weight * chance;
            second += weight * chance * chance;
            low = low.min(chance);
            high = high.max(chance);
        }
        let mean = if all > 0.0 { first / all } else { 0.0 };
        let width = high - low;
        let variance = (second / all - mean * mean) / (all + 1.0);
        if all <= 0.0 || width < POINT || variance < POINT * POINT {
            return Self {
                low: mean,
                width: 0.0,
                shape: None,
            };
        }
        let m = (mean - low) / width;
        let together = m * (1.0 - m) * width * width / variance - 1.0;
        let (a, b) = (m * together, (1.0 - m) * together);
        let shape = Some((a, b, beta::ln_beta(a, b)));
        Self { low, width, shape }
    }

    /// The mean share.
    pub fn mean(&self) -> f64 {
        self.low + self.shape.map_or(0.0, |(a, b, _)| self.width * a / (a + b))
    }

    /// The variance of the share.
    fn variance(&self) -> f64 {
        self.shape.map_or(0.0, |(a, b, _)| {
            let all = a + b;
            self.width * self.width * a * b / (all * all * (all + 1.0))
        })
    }

    /// The probability that the share is at most `x`, and the density there.
    fn look_up(&self, x: f64) -> (f64, f64) {
        let part = self.at_most(x);
        let density = self.shape.map_or(0.0, |(a, b, ln_beta)| {
            let at = (x - self.low) / self.width;
            let log = (a - 1.0) * at.ln() + (b - 1.0) * (-at).ln_1p() - ln_beta;
            if at > 0.0 && at < 1.0 {
                log.exp() / self.width
            } else {
                0.0
            }
        });
        (part, density)
    }

    /// The probability that the share is at most `x`.
    pub fn at_most(&self, x: f64) -> f64 {
        match self.shape {
            Some((a, b, ln_beta)) => {
                beta::regularised_with(a, b, ln_beta, (x - self.low) / self.width)
            }
            None if x >= self.low => 1.0,
            None => 0.0,
        }
    }
}

/// The mean of Σ w p where w is Dirichlet, from pairs of weight and chance.
pub fn mean_share(parts: impl Iterator<Item = (f64, f64)>) -> f64 {
    let (all, first) = parts.fold((0.0, 0.0), |(all, first), (weight, chance)| {
        (all + weight, first + weight * chance)
    });
    if all > 0.0 { first / all } else { 0.0 }
}

/// The share below which a part `p` of an equal mixture lies, within 1e-6.
///
/// Newton steps from where a normal distribution would have it, kept between the ends that the signs seen so far allow.
pub fn mixture_quantile(mixture: &[WeightedShare], p: f64) -> f64 {
    let count = mixture.len() as f64;
    let mut low = mixture.iter().map(|s| s.low).fold(1.0, f64::min);
    let mut high = mixture.iter().map(|s| s.low + s.width).fold(0.0, f64::max);
    let mean = mixture.iter().map(WeightedShare::mean).sum::<f64>() / count;
    let spread = |share: &WeightedShare| share.variance() + (share.mean() - mean).powi(2);
    let variance = mixture.iter().map(spread).sum::<f64>() / count;
    let mut x = mean + variance.sqrt() * normal_upper((1.0 - p).clamp(1e-9, 1.0 - 1e-9));
    if !(x > low && x < high) {
        x = mean;
    }
    for _ in 0..60 {
        if high - low < 1e-6 {
            break;
        }
        let (mut below, mut slope) = (0.0, 0.0);
        for (part, density) in mixture.iter().map(|share| share.look_up(x)) {
            below += part / count;
            slope += density / count;
        }
        if below < p {
            low = x;
        } else {
            high = x;
        }
        let step = (p - below) / slope;
        let next = x + step;
        let inside = next.is_finite() && next > low && next < high;
        x = if inside {
            next
        } else {
            f64::midpoint(low, high)
        };
        if inside && step.abs() < SMALL_STEP {
            return x;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_chances_give_the_exact_posterior() {
        let share = WeightedShare::new([(4.0, 1.0), (7.0, 0.0), (15.0, 0.0)].into_iter());
        let exact = beta::regularised(4.0, 22.0, 0.1);
        assert!((share.at_most(0.1) - exact).abs() < 1e-13);
    }

    #[test]
    fn equal_chances_are_a_number() {
        let share = WeightedShare::new([(4.0, 0.3), (7.0, 0.3)].into_iter());
        assert_eq!((share.at_most(0.29), share.at_most(0.31)), (0.0, 1.0));
        assert!((mixture_quantile(&[share], 0.9) - 0.3).abs() < 1e-6);
    }

    #[test]
    fn a_quantile_of_a_mixture_is_the_inverse() {
        let one = WeightedShare::new([(3.0, 1.0), (20.0, 0.0)].into_iter());
        let two = WeightedShare::new([(3.0, 0.8), (10.0, 0.4), (10.0, 0.1)].into_iter());
        for p in [0.05, 0.5, 0.9] {
            let x = mixture_quantile(&[one, two], p);
            let back = 0.5 * (one.at_most(x) + two.at_most(x));
            assert!((back - p).abs() < 1e-4, "{p}: {back}");
        }
    }
}
