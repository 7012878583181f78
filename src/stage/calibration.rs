//! What makes stated probabilities honest: a temperature that grows with the distance from what was
//! fitted, and a part of photos that are read wrongly whatever the fit says.

use crate::stage::logistic::softmax;
use serde::Deserialize;
use serde::Serialize;

/// How fast the temperature may grow with the distance.
const GROWTHS: [f64; 8] = [0.0, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 4.0];

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
            for lapse in LAPSES {
                for tenths in if lapse > 0.0 { 3..=10 } else { 10..=10 } {
                    let tried = Self {
                        temperature: plain * f64::from(tenths) / 10.0,
                        growth,
                        lapse,
                    };
                    let loss = tried.loss(rows);
                    if loss < least {
                        (least, best) = (loss, tried);
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

    fn loss(&self, rows: &[Unseen<'_>]) -> f64 {
        rows.iter()
            .map(|row| {
                let p = self.probabilities(row.logits, row.distance)[row.class];
                -libm::log(p.max(1e-300))
            })
            .sum()
    }
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
/// Σ (Σ_k p_k z_k - z_class), whose zero is found by halving.
///
/// # Source
/// Guo, Pleiss, Sun & Weinberger 2017, On Calibration of Modern Neural Networks (from memory).
pub fn temperature(rows: &[(&[f64], usize)]) -> f64 {
    let (mut cold, mut hot) = TEMPERATURES;
    if rows.is_empty() {
        return 1.0;
    }
    for _ in 0..200 {
        let middle = (cold * hot).sqrt();
        if slope(rows, middle) > 0.0 {
            cold = middle;
        } else {
            hot = middle;
        }
    }
    (cold * hot).sqrt()
}

/// Slope of the loss over 1/T.
fn slope(rows: &[(&[f64], usize)], temperature: f64) -> f64 {
    rows.iter()
        .map(|(logits, class)| {
            let p = softmax(logits, temperature);
            let mean: f64 = p.iter().zip(*logits).map(|(p, z)| p * z).sum();
            mean - logits[*class]
        })
        .sum()
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
