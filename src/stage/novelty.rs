//! How far a photo lies from what the model was fitted on.

use crate::stage::logistic::standard;
use nalgebra::Cholesky;
use nalgebra::DMatrix;
use serde::Deserialize;
use serde::Serialize;

/// Part of the correlation between features that is not believed.
const SHRINKAGE: f64 = 0.1;

/// Variance added to each standardised feature, so that one that hardly varies cannot decide alone.
const LEAST_VARIANCE: f64 = 0.03;

/// Centres of the stages and the spread about them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Novelty {
    /// Stages x features.
    pub centres: Vec<Vec<f64>>,
    /// What each feature is divided by.
    pub sd: Vec<f64>,
    /// Lower triangle: features x features, row i with i + 1 numbers. Applied to a difference, it
    /// gives independent numbers of variance 1.
    pub whitening: Vec<Vec<f64>>,
}

impl Novelty {
    /// Centres and pooled spread of rows (rows x features); `None` without rows or when the spread cannot
    /// be inverted.
    pub fn fit(rows: &[&[f64]], classes: &[usize], of: usize) -> Option<Self> {
        let width = rows.first()?.len();
        let sd = standard(rows, width).1;
        let mut centres = vec![vec![0.0; width]; of];
        let mut counts = vec![0.0_f64; of];
        for (row, class) in rows.iter().zip(classes) {
            counts[*class] += 1.0;
            for (sum, x) in centres[*class].iter_mut().zip(*row) {
                *sum += x;
            }
        }
        for (centre, count) in centres.iter_mut().zip(&counts) {
            for sum in centre {
                *sum /= count.max(1.0);
            }
        }
        fill_absent(&mut centres, &counts);
        let mut pooled = DMatrix::<f64>::zeros(width, width);
        for (row, class) in rows.iter().zip(classes) {
            let off = apart(row, &centres[*class], &sd);
            for i in 0..width {
                for j in 0..width {
                    pooled[(i, j)] += off[i] * off[j];
                }
            }
        }
        let free = (rows.len() as f64 - of as f64).max(1.0);
        let spread = DMatrix::from_fn(width, width, |i, j| {
            let s = pooled[(i, j)] / free;
            if i == j {
                s + LEAST_VARIANCE
            } else {
                s * (1.0 - SHRINKAGE)
            }
        });
        let lower = Cholesky::new(spread)?.l().try_inverse()?;
        let whitening = (0..width)
            .map(|i| (0..=i).map(|j| lower[(i, j)]).collect())
            .collect();
        Some(Self {
            centres,
            sd,
            whitening,
        })
    }

    /// Distance of a row from the nearest centre.
    ///
    /// # Formula
    /// min over stages of sqrt((x - c)ᵀ S⁻¹ (x - c) / features), S the pooled covariance shrunk toward
    /// its diagonal (Mahalanobis).
    pub fn distance(&self, row: &[f64]) -> f64 {
        self.centres
            .iter()
            .map(|centre| {
                let off = apart(row, centre, &self.sd);
                let square: f64 = self
                    .whitening
                    .iter()
                    .map(|row| {
                        row.iter()
                            .zip(&off)
                            .map(|(w, x)| w * x)
                            .sum::<f64>()
                            .powi(2)
                    })
                    .sum();
                (square / row.len().max(1) as f64).sqrt()
            })
            .fold(f64::INFINITY, f64::min)
    }
}

/// A class without a row gets the centre of the nearest class that has some, which changes no
/// distance; at zero it would make things near that are near nothing.
fn fill_absent(centres: &mut [Vec<f64>], counts: &[f64]) {
    let present: Vec<usize> = (0..counts.len()).filter(|at| counts[*at] > 0.0).collect();
    for at in (0..counts.len()).filter(|at| counts[*at] == 0.0) {
        let nearest = present.iter().min_by_key(|other| other.abs_diff(at));
        if let Some(nearest) = nearest {
            let own = centres[*nearest].clone();
            centres[at] = own;
        }
    }
}

/// From a centre to a row, in standard deviations.
fn apart(row: &[f64], centre: &[f64], sd: &[f64]) -> Vec<f64> {
    row.iter()
        .zip(centre)
        .zip(sd)
        .map(|((x, c), sd)| (x - c) / sd)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn far_is_measured_in_spreads_about_the_nearest_centre() {
        let rows: Vec<[f64; 2]> = (0..40)
            .map(|i| {
                let side = if i % 2 == 0 { -3.0 } else { 3.0 };
                [
                    side + f64::from(i % 4 / 2) - 0.5,
                    f64::from(i % 8 / 4) - 0.5,
                ]
            })
            .collect();
        let rows: Vec<&[f64]> = rows.iter().map(<[f64; 2]>::as_slice).collect();
        let classes: Vec<usize> = (0..40).map(|i| i % 2).collect();
        let novelty = Novelty::fit(&rows, &classes, 2).unwrap();
        let near = novelty.distance(&[3.0, 0.0]);
        assert!(near < 1e-9, "{near}");
        // One unit along the second feature: its sd is 0.5, its pooled variance in units of that sd
        // is 40/38, to which the least variance is added.
        let wanted = (4.0 / (40.0 / 38.0 + LEAST_VARIANCE) / 2.0_f64).sqrt();
        assert!((novelty.distance(&[3.0, 1.0]) - wanted).abs() < 1e-9);
    }

    #[test]
    fn a_class_without_rows_makes_nothing_near() {
        let rows: [&[f64]; 4] = [&[5.0, 0.0], &[6.0, 0.5], &[8.0, 0.0], &[9.0, 0.5]];
        let novelty = Novelty::fit(&rows, &[0, 0, 2, 2], 3).unwrap();
        assert_eq!(novelty.centres[1], novelty.centres[0]);
        assert!(novelty.distance(&[0.0, 0.0]) > novelty.distance(&[5.0, 0.0]));
    }

    #[test]
    fn features_that_never_vary_do_not_break_it() {
        let rows: [&[f64]; 4] = [&[1.0, 0.0], &[2.0, 0.0], &[5.0, 0.0], &[6.0, 0.0]];
        let novelty = Novelty::fit(&rows, &[0, 0, 1, 1], 2).unwrap();
        assert!(novelty.distance(&[1.5, 0.3]).is_finite());
    }
}
