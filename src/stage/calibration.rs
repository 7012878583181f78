//! What makes stated probabilities honest: a temperature that grows with the distance from what was
//! fitted, and a part of photos that are read wrongly whatever the fit says.

use crate::stage::logistic::softmax;
use serde::Deserialize;
use serde::Serialize;

/// How fast the temperature may grow with the distance.
const GROWTHS: [f64; 10] = [0.0, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0];

/// Parts of photos that may be read wrongly whatever the fit says.
const LAPSES: [f64; 7] = [0.0, 0.002, 0.005, 0.01, 0.02, 0.04, 0.08];

/// From log-odds and a distance to honest probabilities.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// Divides the log-odds at distance 0.
    pub temperature: f64,
    /// Growth of the temperature with the square of the distance.
    pub growth: f64,
    /// Part of photos whose stage could be any.
    pub lapse: f64,
}

/// A photo that the fit has not seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unseen<'a> {
    /// Log-odds of the classes.
    pub logits: &'a [f64],
    /// Distance from what was fitted.
    pub distance: f64,
    /// The class that is true.
    pub class: usize,
}

impl Calibration {
    /// The calibration under which the unseen photos are most probable.
    ///
    /// # Formula
    /// p_i = (1 - e) softmax(z / (T (1 + g d²)))_i + e / classes, with the growth g and the lapse e
    /// from a short list and the best [`temperature`] T for each g without a lapse, or one of its
    /// fractions.
    pub fn fit(rows: &[Unseen<'_>]) -> Self {
        let mut best = Self {
            temperature: 1.0,
            growth: 0.0,
            lapse: 0.0,
        };
        if rows.is_empty() {
            return best;
        }
        let mut least = f64::INFINITY;
        for growth in GROWTHS {
            let cooled: Vec<Vec<f64>> = rows
                .iter()
                .map(|row| {
                    let by = 1.0 + growth * row.distance.powi(2);
                    row.logits.iter().map(|z| z / by).collect()
                })
                .collect();
            let pairs: Vec<(&[f64], usize)> = cooled
                .iter()
                .zip(rows)
                .map(|(z, row)| (z.as_slice(), row.class))
                .collect();
            let plain = temperature(&pairs);
            for tenths in 3..=10 {
                let warm = plain * f64::from(tenths) / 10.0;
                let stated: Vec<f64> = pairs
                    .iter()
                    .map(|(z, class)| softmax(z, warm)[*class])
                    .collect();
                for lapse in LAPSES {
                    // Without a lapse the best temperature is known.
                    if lapse <= 0.0 && tenths < 10 {
                        continue;
                    }
                    let loss = loss(&stated, lapse, rows[0].logits.len());
                    if loss < least {
                        least = loss;
                        best = Self {
                            temperature: warm,
                            growth,
                            lapse,
                        };
                    }
                }
            }
        }
        best
    }

    /// Honest probabilities of log-odds at a distance.
    pub fn probabilities(&self, logits: &[f64], distance: f64) -> Vec<f64> {
        let even = self.lapse / logits.len().max(1) as f64;
        softmax(
            logits,
            self.temperature * (1.0 + self.growth * distance.powi(2)),
        )
        .into_iter()
        .map(|p| (1.0 - self.lapse) * p + even)
        .collect()
    }

    /// Whether its numbers can be used.
    pub fn is_sound(&self) -> bool {
        self.temperature.is_finite()
            && self.temperature > 0.0
            && self.growth.is_finite()
            && self.growth >= 0.0
            && (0.0..1.0).contains(&self.lapse)
    }
}

/// Loss of the probabilities stated for the true classes, with a lapse.
fn loss(stated: &[f64], lapse: f64, classes: usize) -> f64 {
    let even = lapse / classes.max(1) as f64;
    stated
        .iter()
        .map(|p| -libm::log(((1.0 - lapse) * p + even).max(1e-300)))
        .sum()
}

/// Smallest and largest temperature that is looked for.
const TEMPERATURES: (f64, f64) = (0.05, 20.0);

/// The temperature at which the log-odds explain the classes best.
///
/// `rows` are log-odds (one for each class) with the class that was true, taken from photos that the
/// fit has not seen.
///
/// # Formula
/// T minimises Σ -log softmax(z / T) at the class; in 1/T this is convex, with the slope
/// Σ (Σ_k p_k z_k - z_class), whose zero is found by Newton's steps within bounds.
///
/// # Source
/// Guo, Pleiss, Sun & Weinberger 2017, On Calibration of Modern Neural Networks (from memory).
pub fn temperature(rows: &[(&[f64], usize)]) -> f64 {
    if rows.is_empty() {
        return 1.0;
    }
    // In 1 / T, between its bounds: Newton's step where it stays within, else the middle.
    let (mut low, mut high) = (1.0 / TEMPERATURES.1, 1.0 / TEMPERATURES.0);
    let mut at = 1.0_f64;
    for _ in 0..200 {
        let (slope, bend) = slope(rows, 1.0 / at);
        if slope > 0.0 {
            high = at;
        } else {
            low = at;
        }
        let step = at - slope / bend;
        let next = if step > low && step < high {
            step
        } else {
            (low * high).sqrt()
        };
        let apart = (next - at).abs();
        at = next;
        if apart <= 1e-15 * at || high - low <= 1e-15 * at {
            break;
        }
    }
    1.0 / at
}

/// Slope of the loss over 1/T, and how the slope changes with it: Σ of the mean of the log-odds less
/// that of the true class, and Σ of their variance.
fn slope(rows: &[(&[f64], usize)], temperature: f64) -> (f64, f64) {
    let (mut slope, mut bend) = (0.0, 0.0);
    for (logits, class) in rows {
        let p = softmax(logits, temperature);
        let mean: f64 = p.iter().zip(*logits).map(|(p, z)| p * z).sum();
        slope += mean - logits[*class];
        bend += p
            .iter()
            .zip(*logits)
            .map(|(p, z)| p * (z - mean).powi(2))
            .sum::<f64>();
    }
    (slope, bend)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_error_in_four_is_stated_as_one_in_four() {
        let sure = [9.0, 0.0];
        let rows = [(&sure[..], 0), (&sure, 0), (&sure, 0), (&sure, 1)];
        let t = temperature(&rows);
        assert!((softmax(&sure, t)[0] - 0.75).abs() < 1e-9);
    }

    #[test]
    fn far_photos_that_are_wrong_more_often_are_stated_less_sure() {
        let sure = [6.0, 0.0];
        let row = |distance: f64, class: usize| Unseen {
            logits: &sure,
            distance,
            class,
        };
        let mut rows = vec![row(0.5, 0); 60];
        rows.extend((0..30).map(|i| row(3.0, usize::from(i % 3 == 0))));
        let fit = Calibration::fit(&rows);
        let (near, far) = (
            fit.probabilities(&sure, 0.5)[0],
            fit.probabilities(&sure, 3.0)[0],
        );
        assert!(fit.growth > 0.0 && near > 0.95, "{fit:?} {near}");
        assert!((far - 2.0 / 3.0).abs() < 0.05, "{far}");
    }

    #[test]
    fn without_rows_nothing_is_changed() {
        assert_eq!(temperature(&[]), 1.0);
    }
}
