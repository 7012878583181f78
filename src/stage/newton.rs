//! Newton's method for the logistic fit, where the library's solver gave up on its way.

use crate::stage::logistic::softmax;
use nalgebra::Cholesky;
use nalgebra::DMatrix;
use nalgebra::DVector;
use ndarray::Array1;
use ndarray::Array2;

/// Most steps; a dozen are usual.
const MOST_STEPS: usize = 60;

/// The slope per row at which it is done.
const DONE: f64 = 1e-9;

/// Added to the curvature, since a constant added to all intercepts changes nothing.
const LEAST_CURVATURE: f64 = 1e-7;

/// The fit as one problem: rows with a 1 appended, the place of each row's class, the penalty.
struct Problem {
    rows: DMatrix<f64>,
    places: Vec<usize>,
    weights: Vec<f64>,
    of: usize,
    penalty: f64,
}

/// Goes on from `weights` (features x classes) and `intercept` to the least loss.
///
/// `places` holds the column of each row's class, `weights` what each row weighs. Where no step lowers the loss any more, it stops.
pub(in crate::stage) fn polish(
    scaled: &Array2<f64>,
    (places, row_weights): (&[usize], &[f64]),
    (weights, intercept): (&Array2<f64>, &Array1<f64>),
    penalty: f64,
) -> (Array2<f64>, Array1<f64>) {
    let (n, width) = scaled.dim();
    let problem = Problem {
        rows: DMatrix::from_fn(
            n,
            width + 1,
            |i, j| {
                if j < width { scaled[(i, j)] } else { 1.0 }
            },
        ),
        places: places.to_vec(),
        weights: row_weights.to_vec(),
        of: intercept.len(),
        penalty,
    };
    let mut at = DMatrix::from_fn(width + 1, intercept.len(), |j, k| {
        if j < width {
            weights[(j, k)]
        } else {
            intercept[k]
        }
    });
    for _ in 0..MOST_STEPS {
        match problem.step(&at) {
            Some(next) => at = next,
            None => break,
        }
    }
    (
        Array2::from_shape_fn((width, problem.of), |(j, k)| at[(j, k)]),
        Array1::from_shape_fn(problem.of, |k| at[(width, k)]),
    )
}

impl Problem {
    /// Probability of each class for each row.
    fn probabilities(&self, at: &DMatrix<f64>) -> DMatrix<f64> {
        let mut p = &self.rows * at;
        for mut row in p.row_iter_mut() {
            let logits: Vec<f64> = row.iter().copied().collect();
            for (value, p) in row.iter_mut().zip(softmax(&logits, 1.0)) {
                *value = p;
            }
        }
        p
    }

    fn loss(&self, at: &DMatrix<f64>) -> f64 {
        let logits = &self.rows * at;
        let mut loss = 0.0;
        let known = self.places.iter().zip(&self.weights);
        for (row, (place, weight)) in logits.row_iter().zip(known) {
            let most = row.max();
            let sum: f64 = row.iter().map(|z| libm::exp(z - most)).sum();
            loss += weight * (most + libm::log(sum) - row[*place]);
        }
        let size = at.rows(0, at.nrows() - 1).norm_squared();
        loss + 0.5 * self.penalty * size
    }

    /// One step that lowers the loss; `None` at its end.
    fn step(&self, at: &DMatrix<f64>) -> Option<DMatrix<f64>> {
        let p = self.probabilities(at);
        let mut off = p.clone();
        for (i, place) in self.places.iter().enumerate() {
            off[(i, *place)] -= 1.0;
        }
        for (mut row, weight) in off.row_iter_mut().zip(&self.weights) {
            row *= *weight;
        }
        let width = at.nrows();
        let mut slope = self.rows.transpose() * off;
        for j in 0..width - 1 {
            for k in 0..self.of {
                slope[(j, k)] += self.penalty * at[(j, k)];
            }
        }
        if slope.amax() <= DONE * self.weights.iter().sum::<f64>() {
            return None;
        }
        let slope = DVector::from_column_slice(slope.as_slice());
        let direction = Cholesky::new(self.curvature(&p, width))?.solve(&slope);
        let direction = DMatrix::from_column_slice(width, self.of, direction.as_slice());
        let before = self.loss(at);
        (0..30)
            .map(|halvings| at - &direction * 0.5_f64.powi(halvings))
            .find(|next| self.loss(next) < before)
    }

    /// Second derivatives, class by class in blocks of the features with the intercept.
    fn curvature(&self, p: &DMatrix<f64>, width: usize) -> DMatrix<f64> {
        let mut all = DMatrix::zeros(width * self.of, width * self.of);
        for k in 0..self.of {
            for l in 0..=k {
                let mut weighted = self.rows.clone();
                for (i, mut row) in weighted.row_iter_mut().enumerate() {
                    let same = if k == l { 1.0 } else { 0.0 };
                    row *= self.weights[i] * p[(i, k)] * (same - p[(i, l)]);
                }
                let block = self.rows.transpose() * weighted;
                all.view_mut((k * width, l * width), (width, width))
                    .copy_from(&block);
                all.view_mut((l * width, k * width), (width, width))
                    .copy_from(&block);
            }
        }
        for at in 0..width * self.of {
            let free = at % width == width - 1;
            all[(at, at)] += LEAST_CURVATURE + if free { 0.0 } else { self.penalty };
        }
        all
    }
}
