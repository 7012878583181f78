//! Multinomial logistic regression on standardised features.

use crate::progress::Stopped;
use crate::stage::newton::polish;
use linfa::DatasetBase;
use linfa::traits::Fit as _;
use linfa_logistic::MultiLogisticRegression;
use ndarray::Array1;
use ndarray::Array2;
use ndarray::Axis;
use rand::SeedableRng as _;
use rand::seq::SliceRandom as _;
use rand_chacha::ChaCha8Rng;
use serde::Deserialize;
use serde::Serialize;
use thiserror::Error;

/// The solver stops when the gradient is this small.
const GRADIENT_TOLERANCE: f64 = 1e-8;

/// Most steps of the solver.
const MOST_STEPS: u64 = 5_000;

/// Largest gradient per row that counts as solved.
const SOLVED_PER_ROW: f64 = 1e-5;

/// How far below the others a class without a row lies, in log-odds.
pub(in crate::stage) const ABSENT: f64 = -30.0;

/// Why there is no fit.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum FitError {
    /// Fewer than two classes have rows.
    #[error("rows of {0} stage are too few to fit: label photos of at least two stages")]
    TooFewClasses(usize),
    /// Too few animals of one's own to leave some out.
    #[error("{0} labelled animals are too few to leave some out: label at least 3")]
    TooFewAnimals(usize),
    /// A row of another length, or none.
    #[error("a row has {found} features instead of {wanted}")]
    RowLength {
        /// Features of the row.
        found: usize,
        /// Features of the first row.
        wanted: usize,
    },
    /// More classes than a fit with weights has room for.
    #[error("{0} classes are more than a fit with weights has room for")]
    TooManyClasses(usize),
    /// It was stopped.
    #[error(transparent)]
    Stopped(#[from] Stopped),
    /// The penalty is not positive.
    #[error("the penalty {0} is not positive: use a number above 0, such as 1")]
    Penalty(f64),
    /// The solver failed.
    #[error("the logistic fit failed")]
    Solver(#[from] linfa_logistic::error::Error),
    /// The solver stopped away from the solution.
    #[error("the logistic fit stopped early: its gradient is {0:e} per row; raise the penalty")]
    Unsolved(f64),
    /// The spread of the features cannot be inverted.
    #[error("the rows are too few or too alike to say what is far from them: label more photos")]
    NoSpread,
    /// All coefficients stayed at zero.
    #[error("the logistic fit did not move: all coefficients are zero")]
    Unmoved,
}

/// A fitted model: log-odds = coefficients · (row - mean) / sd + intercept, for each class.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Logistic {
    /// Mean of each feature.
    pub mean: Vec<f64>,
    /// Population standard deviation of each feature; 1 where it does not vary.
    pub sd: Vec<f64>,
    /// Classes x features, per standard deviation.
    pub coefficients: Vec<Vec<f64>>,
    /// One for each class.
    pub intercepts: Vec<f64>,
}

impl Logistic {
    /// Fits `classes` (numbers below `of`) to `rows` (rows x features).
    ///
    /// # Formula
    /// min over W, b of -Σ log softmax(W z + b) at the class + penalty/2 · |W|²; z the standardised row,
    /// the intercepts b free. The penalty is 1/C of scikit-learn.
    ///
    /// # Errors
    /// [`FitError`] when there is too little to fit or the solver did not arrive.
    pub fn fit(
        rows: &[&[f64]],
        classes: &[usize],
        of: usize,
        penalty: f64,
    ) -> Result<Self, FitError> {
        if penalty.is_nan() || penalty <= 0.0 {
            return Err(FitError::Penalty(penalty));
        }
        let width = rows.first().map_or(0, |row| row.len());
        if let Some(odd) = rows.iter().find(|row| row.len() != width) {
            return Err(FitError::RowLength {
                found: odd.len(),
                wanted: width,
            });
        }
        let mut present = classes.to_vec();
        present.sort_unstable();
        present.dedup();
        if present.len() < 2 {
            return Err(FitError::TooFewClasses(present.len()));
        }
        let (mean, sd) = standard(rows, width);
        let scaled =
            Array2::from_shape_fn((rows.len(), width), |(i, j)| (rows[i][j] - mean[j]) / sd[j]);
        let (weights, intercept) = solve(&scaled, classes, &present, penalty)?;
        let mut coefficients = vec![vec![0.0; width]; of];
        let lowest = intercept.iter().copied().fold(f64::INFINITY, f64::min);
        let mut intercepts = vec![lowest + ABSENT; of];
        for (k, class) in present.into_iter().enumerate() {
            coefficients[class] = weights.column(k).to_vec();
            intercepts[class] = intercept[k];
        }
        Ok(Self {
            mean,
            sd,
            coefficients,
            intercepts,
        })
    }

    /// The row in standard deviations from the mean.
    pub fn standardised(&self, row: &[f64]) -> Vec<f64> {
        row.iter()
            .zip(&self.mean)
            .zip(&self.sd)
            .map(|((x, mean), sd)| (x - mean) / sd)
            .collect()
    }

    /// The log-odds of each class, up to a common constant.
    pub fn logits(&self, row: &[f64]) -> Vec<f64> {
        let z = self.standardised(row);
        self.coefficients
            .iter()
            .zip(&self.intercepts)
            .map(|(w, b)| b + w.iter().zip(&z).map(|(w, z)| w * z).sum::<f64>())
            .collect()
    }

    /// The uncalibrated probability of each class.
    pub fn probabilities(&self, row: &[f64]) -> Vec<f64> {
        softmax(&self.logits(row), 1.0)
    }
}

/// Probabilities of log-odds divided by a temperature.
///
/// # Formula
/// p_i = exp(z_i / T) / Σ_j exp(z_j / T)
pub fn softmax(logits: &[f64], temperature: f64) -> Vec<f64> {
    let most = logits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let powers: Vec<f64> = logits
        .iter()
        .map(|z| libm::exp((z - most) / temperature))
        .collect();
    let sum: f64 = powers.iter().sum();
    powers.into_iter().map(|p| p / sum).collect()
}

/// Rows to fit on such that every class weighs the same: each row as often as fits, the rest of a
/// class drawn with the seed. The fit knows no weights, so a row that weighs twice stands twice.
pub fn balanced(classes: &[usize], seed: u64) -> Vec<usize> {
    let of = classes.iter().max().map_or(0, |most| most + 1);
    let mut members = vec![Vec::new(); of];
    for (row, class) in classes.iter().enumerate() {
        members[*class].push(row);
    }
    let most = members.iter().map(Vec::len).max().unwrap_or(0);
    let mut dice = ChaCha8Rng::seed_from_u64(seed);
    let mut picked = Vec::new();
    for mut class in members.into_iter().filter(|class| !class.is_empty()) {
        for _ in 0..most / class.len() {
            picked.extend_from_slice(&class);
        }
        let rest = most % class.len();
        class.shuffle(&mut dice);
        picked.extend_from_slice(&class[..rest]);
    }
    picked.sort_unstable();
    picked
}

/// Mean and population standard deviation of each feature.
pub(in crate::stage) fn standard(rows: &[&[f64]], width: usize) -> (Vec<f64>, Vec<f64>) {
    let n = rows.len() as f64;
    let mean: Vec<f64> = (0..width)
        .map(|j| rows.iter().map(|row| row[j]).sum::<f64>() / n)
        .collect();
    let sd = (0..width)
        .map(|j| {
            let square = |row: &&[f64]| (row[j] - mean[j]).powi(2);
            let sd = (rows.iter().map(square).sum::<f64>() / n).sqrt();
            if sd > 1e-9 { sd } else { 1.0 }
        })
        .collect();
    (mean, sd)
}

/// Features x classes, and the intercepts.
type Solution = (Array2<f64>, Array1<f64>);

/// Solves with the library's solver, which reports success wherever its line search gives up, and
/// goes on by Newton's method where it has not arrived.
fn solve(
    scaled: &Array2<f64>,
    classes: &[usize],
    present: &[usize],
    penalty: f64,
) -> Result<Solution, FitError> {
    let data = DatasetBase::new(scaled.clone(), Array1::from(classes.to_vec()));
    let fit = MultiLogisticRegression::default()
        .alpha(penalty)
        .max_iterations(MOST_STEPS)
        .gradient_tolerance(GRADIENT_TOLERANCE)
        .fit(&data)?;
    let mut solution = (fit.params().clone(), fit.intercept().clone());
    let mut left = slope_per_row(scaled, classes, present, &solution, penalty);
    if left > SOLVED_PER_ROW {
        let places: Vec<usize> = classes
            .iter()
            .map(|class| present.binary_search(class).unwrap_or(0))
            .collect();
        let even = vec![1.0; places.len()];
        solution = polish(
            scaled,
            (&places, &even),
            (&solution.0, &solution.1),
            penalty,
        );
        left = slope_per_row(scaled, classes, present, &solution, penalty);
    }
    if solution.0.iter().all(|w| *w == 0.0) {
        return Err(FitError::Unmoved);
    }
    // A number that is not one is no solution either.
    if left <= SOLVED_PER_ROW {
        Ok(solution)
    } else {
        Err(FitError::Unsolved(left))
    }
}

/// The largest entry of the gradient, over the number of rows.
fn slope_per_row(
    scaled: &Array2<f64>,
    classes: &[usize],
    present: &[usize],
    (weights, intercept): &Solution,
    penalty: f64,
) -> f64 {
    let mut left = scaled.dot(weights) + intercept;
    for (i, mut row) in left.rows_mut().into_iter().enumerate() {
        let p = softmax(&row.to_vec(), 1.0);
        for (k, value) in row.iter_mut().enumerate() {
            *value = p[k] - f64::from(u8::from(present[k] == classes[i]));
        }
    }
    let slope = scaled.t().dot(&left) + weights * penalty;
    let free = left.sum_axis(Axis(0));
    let largest = slope
        .iter()
        .chain(&free)
        .fold(0.0_f64, |most, g| most.max(g.abs()));
    largest / classes.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_weighs_the_same_and_the_draw_repeats() {
        let classes = [0, 0, 0, 0, 0, 1, 1, 2];
        let picked = balanced(&classes, 3);
        for class in 0..3 {
            let of = picked.iter().filter(|row| classes[**row] == class).count();
            assert_eq!(of, 5);
        }
        assert_eq!(picked, balanced(&classes, 3));
    }

    #[test]
    fn newton_arrives_where_the_solver_does_and_from_afar() {
        let rows: Vec<[f64; 2]> = (0..60)
            .map(|i| {
                let noise = f64::from((i * 37) % 17) / 17.0 - 0.5;
                [f64::from(i % 3) + 2.0 * noise, noise * f64::from(i % 5)]
            })
            .collect();
        let scaled = Array2::from_shape_fn((60, 2), |(i, j)| rows[i][j]);
        let classes: Vec<usize> = (0..60).map(|i| i % 3).collect();
        let (weights, intercept) = solve(&scaled, &classes, &[0, 1, 2], 0.5).unwrap();
        let far = Array2::from_elem((2, 3), 4.0);
        let from = Array1::from(vec![3.0, -2.0, 0.0]);
        let (found, _) = polish(&scaled, (&classes, &[1.0; 60]), (&far, &from), 0.5);
        for (a, b) in found.iter().zip(&weights) {
            assert!((a - b).abs() < 1e-6, "{found} {weights} {intercept}");
        }
    }

    #[test]
    fn a_feature_that_says_nothing_is_told() {
        let rows = [[1.0], [1.0], [1.0], [1.0]];
        let rows: Vec<&[f64]> = rows.iter().map(<[f64; 1]>::as_slice).collect();
        let fit = Logistic::fit(&rows, &[0, 1, 0, 1], 2, 1.0);
        assert!(matches!(fit, Err(FitError::Unmoved)), "{fit:?}");
    }

    #[test]
    fn a_class_without_rows_is_all_but_impossible() {
        let rows = [[0.0], [0.1], [1.0], [1.1]];
        let rows: Vec<&[f64]> = rows.iter().map(<[f64; 1]>::as_slice).collect();
        let fit = Logistic::fit(&rows, &[0, 0, 2, 2], 3, 0.1).unwrap();
        let p = fit.probabilities(&[1.0]);
        assert!(p[2] > 0.9 && p[1] < 1e-9, "{p:?}");
    }
}
