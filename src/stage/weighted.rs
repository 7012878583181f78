//! The logistic fit where rows weigh differently: painted slides and a farm's own in one fit.
//!
//! The library's solver knows no weights. This one goes down the same loss by L-BFGS, with the
//! curvature of each class by itself as its first guess and Newton's method at its end, and gives the
//! same solution (`tests/suite/weighted.rs`).
//! Sums are taken in a fixed order, so that the same rows give the same bits.

use crate::stage::logistic::ABSENT;
use crate::stage::logistic::FitError;
use crate::stage::logistic::Logistic;
use crate::stage::newton::polish;
use nalgebra::Cholesky;
use nalgebra::DMatrix;
use nalgebra::DVector;
use nalgebra::Dyn;
use ndarray::Array1;
use ndarray::Array2;
use std::collections::VecDeque;

/// Steps that are remembered.
const MEMORY: usize = 12;

/// Steps at which the curvature is taken anew.
const ANEW: [usize; 8] = [6, 15, 30, 50, 80, 120, 200, 400];

/// Most steps.
const MOST_STEPS: usize = 2_000;

/// Largest gradient, over the sum of weights, at which a fit that is kept is done.
pub const SETTLED: f64 = 1e-9;

/// The same for fits that are only compared with each other.
pub const ROUGH: f64 = 1e-4;

/// The same where Newton's method takes over.
const NEAR: f64 = 1e-5;

/// Added to the bound of the curvature, since a feature may not vary at all.
const LEAST_CURVATURE: f64 = 1e-9;

/// Rows in standard deviations with their classes and weights, ready for several penalties.
pub struct Weighted {
    mean: Vec<f64>,
    sd: Vec<f64>,
    /// Rows x (features and a 1), one after the other.
    rows: Vec<f64>,
    /// The place of each row's class among those present.
    places: Vec<usize>,
    weights: Vec<f64>,
    /// The classes that have rows, ascending.
    present: Vec<usize>,
    of: usize,
    sum: f64,
}

/// Coefficients under way: (features and intercept) x lanes.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution(Vec<f64>);

impl Weighted {
    /// Makes rows ready: `classes` are numbers below `of`, weights are positive.
    ///
    /// # Errors
    /// [`FitError`] when rows differ in length or fewer than two classes have rows.
    pub fn new(
        rows: &[&[f64]],
        classes: &[usize],
        weights: &[f64],
        of: usize,
    ) -> Result<Self, FitError> {
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
        let (mean, sd) = standard(rows, weights, width);
        let mut scaled = Vec::with_capacity(rows.len() * (width + 1));
        for row in rows {
            let z = row.iter().zip(&mean).zip(&sd);
            scaled.extend(z.map(|((x, mean), sd)| (x - mean) / sd));
            scaled.push(1.0);
        }
        let places = classes
            .iter()
            .map(|class| present.binary_search(class).unwrap_or(0))
            .collect();
        Ok(Self {
            mean,
            sd,
            rows: scaled,
            places,
            weights: weights.to_vec(),
            present,
            of,
            sum: weights.iter().sum(),
        })
    }

    /// Fits with a penalty, from another solution of the same rows if one is given.
    ///
    /// # Formula
    /// min over W, b of -Σ w log softmax(W z + b) at the class + penalty/2 · |W|², w the weight of the
    /// row, z the row in standard deviations; done when no entry of the gradient exceeds
    /// `tolerance` · Σ w.
    ///
    /// # Source
    /// L-BFGS in its two loops: Nocedal 1980 (from memory). Its first guess of the curvature is that
    /// of each class by itself, taken anew now and then.
    ///
    /// # Errors
    /// [`FitError`] for a penalty that is not positive, or when the solution was not reached.
    pub fn fit(
        &self,
        penalty: f64,
        from: Option<&Solution>,
        tolerance: f64,
    ) -> Result<Solution, FitError> {
        if penalty.is_nan() || penalty <= 0.0 {
            return Err(FitError::Penalty(penalty));
        }
        let rough = tolerance.max(NEAR);
        if self.present.len() <= 8 {
            let found = self.descend::<8>(penalty, from, rough)?;
            self.settled::<8>(found, penalty, tolerance)
        } else {
            let found = self.descend::<16>(penalty, from, rough)?;
            self.settled::<16>(found, penalty, tolerance)
        }
    }

    /// Goes on by Newton's method where more is asked for than the descent gives.
    fn settled<const LANES: usize>(
        &self,
        found: Solution,
        penalty: f64,
        tolerance: f64,
    ) -> Result<Solution, FitError> {
        if tolerance >= NEAR {
            return Ok(found);
        }
        let width = self.mean.len();
        let of = self.present.len();
        let at = |j: usize, k: usize| found.0[j * LANES + k];
        let rows = self.places.len();
        let scaled = Array2::from_shape_fn((rows, width), |(i, j)| self.rows[i * (width + 1) + j]);
        let weights = Array2::from_shape_fn((width, of), |(j, k)| at(j, k));
        let free = Array1::from_shape_fn(of, |k| at(width, k));
        let known = (&self.places[..], &self.weights[..]);
        let (weights, free) = polish(&scaled, known, (&weights, &free), penalty);
        let mut at = vec![0.0; (width + 1) * LANES];
        for k in 0..of {
            for j in 0..width {
                at[j * LANES + k] = weights[(j, k)];
            }
            at[width * LANES + k] = free[k];
        }
        let mut slope = vec![0.0; at.len()];
        self.loss_and_slope::<LANES>(&at, penalty, &mut slope);
        let left = largest(&slope) / self.sum;
        if left <= ROUNDED {
            Ok(Solution(at))
        } else {
            Err(FitError::Unsolved(left))
        }
    }

    /// The fit as a model of all classes; those without rows are all but impossible.
    pub fn logistic(&self, solution: &Solution) -> Logistic {
        let width = self.mean.len();
        let lanes = solution.0.len() / (width + 1);
        let at = |j: usize, k: usize| solution.0[j * lanes + k];
        let mut coefficients = vec![vec![0.0; width]; self.of];
        let free: Vec<f64> = (0..self.present.len()).map(|k| at(width, k)).collect();
        let lowest = free.iter().copied().fold(f64::INFINITY, f64::min);
        let mut intercepts = vec![lowest + ABSENT; self.of];
        for (k, class) in self.present.iter().enumerate() {
            coefficients[*class] = (0..width).map(|j| at(j, k)).collect();
            intercepts[*class] = free[k];
        }
        Logistic {
            mean: self.mean.clone(),
            sd: self.sd.clone(),
            coefficients,
            intercepts,
        }
    }

    fn descend<const LANES: usize>(
        &self,
        penalty: f64,
        from: Option<&Solution>,
        tolerance: f64,
    ) -> Result<Solution, FitError> {
        let width = self.mean.len() + 1;
        let of = self.present.len();
        if of > LANES {
            return Err(FitError::TooManyClasses(of));
        }
        let fresh = || vec![0.0; width * LANES];
        let mut at = from.map_or_else(fresh, |from| from.0.clone());
        let mut bends = self
            .bends::<LANES>(&at, penalty)
            .ok_or(FitError::NoSpread)?;
        let mut slope = vec![0.0; width * LANES];
        let mut loss = self.loss_and_slope::<LANES>(&at, penalty, &mut slope);
        let mut steps: VecDeque<Step> = VecDeque::with_capacity(MEMORY);
        for step in 0..MOST_STEPS {
            if ANEW.contains(&step) {
                bends = self
                    .bends::<LANES>(&at, penalty)
                    .ok_or(FitError::NoSpread)?;
            }
            if largest(&slope) <= tolerance * self.sum {
                return Ok(Solution(at));
            }
            let direction = direction::<LANES>(&slope, &steps, &bends);
            let downhill = dot(&direction, &slope);
            let mut length = 1.0;
            let mut next_slope = vec![0.0; width * LANES];
            let (next, next_loss) = loop {
                let next: Vec<f64> = at
                    .iter()
                    .zip(&direction)
                    .map(|(x, d)| x - length * d)
                    .collect();
                let tried = self.loss_and_slope::<LANES>(&next, penalty, &mut next_slope);
                if tried <= loss - 1e-4 * length * downhill {
                    break (next, tried);
                }
                length *= 0.5;
                if length < 1e-10 {
                    // Where rounding hides any further descent, the slope decides.
                    return if largest(&slope) <= ROUNDED * self.sum {
                        Ok(Solution(at))
                    } else {
                        Err(FitError::Unsolved(largest(&slope) / self.sum))
                    };
                }
            };
            let moved: Vec<f64> = next.iter().zip(&at).map(|(a, b)| a - b).collect();
            let turned: Vec<f64> = next_slope.iter().zip(&slope).map(|(a, b)| a - b).collect();
            let curve = dot(&moved, &turned);
            if curve > 0.0 {
                if steps.len() == MEMORY {
                    steps.pop_front();
                }
                steps.push_back(Step {
                    moved,
                    turned,
                    curve,
                });
            }
            (at, loss, slope) = (next, next_loss, next_slope);
        }
        Err(FitError::Unsolved(largest(&slope) / self.sum))
    }

    /// The curvature of each class by itself at a point, with the penalty.
    fn bends<const LANES: usize>(
        &self,
        at: &[f64],
        penalty: f64,
    ) -> Option<Vec<Cholesky<f64, Dyn>>> {
        let width = self.mean.len() + 1;
        let of = self.present.len();
        let squares = width * (width + 1) / 2;
        let mut sums = vec![0.0; of * squares];
        let mut own = vec![0.0; squares];
        for (row, weight) in self.rows.chunks_exact(width).zip(&self.weights) {
            let (p, _) = stated::<LANES>(row, at, of);
            let mut place = 0;
            for i in 0..width {
                for j in 0..=i {
                    own[place] = row[i] * row[j];
                    place += 1;
                }
            }
            for (k, sums) in sums.chunks_exact_mut(squares).enumerate() {
                let bend = p[k] * (1.0 - p[k]);
                // What is certain bends nothing.
                if bend > 1e-6 {
                    let by = weight * bend;
                    for (sum, square) in sums.iter_mut().zip(&own) {
                        *sum += by * square;
                    }
                }
            }
        }
        sums.chunks_exact(squares)
            .map(|sums| {
                let bend = |i: usize, j: usize| sums[i.max(j) * (i.max(j) + 1) / 2 + i.min(j)];
                Cholesky::new(DMatrix::from_fn(width, width, |i, j| {
                    let least = if i == j {
                        let free = i + 1 == width;
                        LEAST_CURVATURE * self.sum + if free { 0.0 } else { penalty }
                    } else {
                        0.0
                    };
                    bend(i, j) + least
                }))
            })
            .collect()
    }

    /// The loss, with its slope laid into `slope`. Lanes beyond the classes stay at zero.
    fn loss_and_slope<const LANES: usize>(
        &self,
        at: &[f64],
        penalty: f64,
        slope: &mut [f64],
    ) -> f64 {
        let width = self.mean.len() + 1;
        let of = self.present.len();
        slope.fill(0.0);
        let mut loss = 0.0;
        let rows = self.rows.chunks_exact(width);
        for ((row, place), weight) in rows.zip(&self.places).zip(&self.weights) {
            let (mut off, log) = stated::<LANES>(row, at, of);
            loss -= weight * log[*place];
            for p in &mut off {
                *p *= weight;
            }
            off[*place] -= weight;
            for (x, lanes) in row.iter().zip(slope.chunks_exact_mut(LANES)) {
                for (sum, off) in lanes.iter_mut().zip(&off) {
                    *sum += x * off;
                }
            }
        }
        let penalised = (width - 1) * LANES;
        for (sum, w) in slope[..penalised].iter_mut().zip(at) {
            *sum += penalty * w;
        }
        loss + 0.5 * penalty * at[..penalised].iter().map(|w| w * w).sum::<f64>()
    }
}

/// Probability of each class for a row, and the logarithms of them.
fn stated<const LANES: usize>(row: &[f64], at: &[f64], of: usize) -> ([f64; LANES], [f64; LANES]) {
    let mut logits = [0.0; LANES];
    for (x, lanes) in row.iter().zip(at.chunks_exact(LANES)) {
        for (sum, w) in logits.iter_mut().zip(lanes) {
            *sum += x * w;
        }
    }
    let most = logits[..of]
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let mut p = [0.0; LANES];
    let mut sum = 0.0;
    for (p, z) in p[..of].iter_mut().zip(&logits) {
        *p = (z - most).exp();
        sum += *p;
    }
    let log = most + sum.ln();
    for p in &mut p[..of] {
        *p /= sum;
    }
    for z in &mut logits {
        *z -= log;
    }
    (p, logits)
}

/// Largest gradient, over the sum of weights, that is left where rounding hides any further descent.
const ROUNDED: f64 = 1e-7;

/// A step that was taken: how far, how the slope turned, and the product of the two.
struct Step {
    moved: Vec<f64>,
    turned: Vec<f64>,
    curve: f64,
}

/// The way uphill by the slope and what the last steps tell of the curvature.
fn direction<const LANES: usize>(
    slope: &[f64],
    steps: &VecDeque<Step>,
    bends: &[Cholesky<f64, Dyn>],
) -> Vec<f64> {
    let mut way = slope.to_vec();
    let mut shares = Vec::with_capacity(steps.len());
    for step in steps.iter().rev() {
        let share = dot(&step.moved, &way) / step.curve;
        for (w, t) in way.iter_mut().zip(&step.turned) {
            *w -= share * t;
        }
        shares.push(share);
    }
    let width = way.len() / LANES;
    for (k, bend) in bends.iter().enumerate() {
        let lane = DVector::from_fn(width, |j, _| way[j * LANES + k]);
        let solved = bend.solve(&lane);
        for j in 0..width {
            way[j * LANES + k] = solved[j];
        }
    }
    for (step, share) in steps.iter().zip(shares.into_iter().rev()) {
        let back = dot(&step.turned, &way) / step.curve;
        for (w, m) in way.iter_mut().zip(&step.moved) {
            *w += (share - back) * m;
        }
    }
    way
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0_f64, |most, v| most.max(v.abs()))
}

/// Weighted mean and standard deviation of each feature; 1 where it does not vary.
fn standard(rows: &[&[f64]], weights: &[f64], width: usize) -> (Vec<f64>, Vec<f64>) {
    let sum: f64 = weights.iter().sum();
    let mut mean = vec![0.0; width];
    for (row, weight) in rows.iter().zip(weights) {
        for (m, x) in mean.iter_mut().zip(*row) {
            *m += weight * x / sum;
        }
    }
    let mut sd = vec![0.0; width];
    for (row, weight) in rows.iter().zip(weights) {
        for ((s, x), m) in sd.iter_mut().zip(*row).zip(&mean) {
            *s += weight * (x - m).powi(2) / sum;
        }
    }
    for s in &mut sd {
        *s = if s.sqrt() > 1e-9 { s.sqrt() } else { 1.0 };
    }
    (mean, sd)
}
