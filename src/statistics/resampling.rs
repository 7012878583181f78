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
