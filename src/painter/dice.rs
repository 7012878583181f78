//! Seeded draws: the only source of chance in the painter.

use rand::Rng as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

/// A stream of draws that depends on its seed alone.
pub(crate) struct Dice {
    stream: ChaCha8Rng,
    breadth: f64,
}

impl Dice {
    /// Draws over the whole of each range.
    pub(crate) fn new(seed: u64) -> Self {
        Self::with_breadth(seed, 1.0)
    }

    /// Draws over the middle part of each range, `breadth` of its length.
    pub(crate) fn with_breadth(seed: u64, breadth: f64) -> Self {
        Self {
            stream: ChaCha8Rng::seed_from_u64(seed),
            breadth,
        }
    }

    /// A fresh 64-bit seed.
    pub(crate) fn seed(&mut self) -> u64 {
        self.stream.next_u64()
    }

    /// Evenly between 0 and 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.stream.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly between `low` and `high`, whatever the breadth.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Evenly over the part of `low..high` that the breadth leaves.
    pub(crate) fn wide(&mut self, low: f64, high: f64) -> f64 {
        let rest = (high - low) * (1.0 - self.breadth) / 2.0;
        self.between(low + rest, high - rest)
    }

    /// Evenly in the logarithm over the part of `low..high` that the breadth leaves.
    pub(crate) fn wide_log(&mut self, low: f64, high: f64) -> f64 {
        libm::exp(self.wide(libm::log(low), libm::log(high)))
    }

    /// True with probability `share`.
    pub(crate) fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// Normal with mean 0 and standard deviation 1 (Box-Muller), cut at 2.5.
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        (radius * libm::cos(std::f64::consts::TAU * self.unit())).clamp(-2.5, 2.5)
    }

    /// A whole number from 0 to `count - 1`.
    pub(crate) fn index(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// One of `choices`.
    pub(crate) fn pick<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.index(choices.len())]
    }
}
