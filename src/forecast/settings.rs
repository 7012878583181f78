//! What a forecast assumes beyond the tally, each with its source.

use crate::cycle::Assumed;
use crate::forecast::clock::MOULT_HOUR;
use crate::statistics::gamma::SpreadError;
use crate::statistics::gamma::UnitGamma;
use thiserror::Error;

/// The spread at which a forecast is tried again: an answer that dies there is warned about.
pub(crate) const WIDE_CV: f64 = 0.20;
/// Mean cycles a forecast is made for, equally likely.
const CYCLES: usize = 7;
/// Degrees by which the water's effect on the mean cycle is tried: from - to + this.
const CYCLE_STEPS: usize = 21;
const WATER_STEPS: usize = 9;

const OUR_CHOICE: &str = "our choice; no spread between animals is published";
const RANGE: &str = "our choice, the range the published lengths are offered with";
const WATER: &str = "our choice: a pond's mean is seldom known better";
const HOUR: &str = "Wassenberg & Hill 1984, P. esculentus, mean hour of ecdysis";

/// Spreads that go into a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spreads {
    /// Coefficient of variation of the cycle between animals, and from one cycle to the next.
    pub animals: f64,
    /// How far the mean cycle may be off, as a part of it, to both sides.
    pub mean_cycle: f64,
    /// How far the mean water temperature may be off, in degrees, to both sides.
    pub water_celsius: f64,
}

impl Default for Spreads {
    fn default() -> Self {
        Self {
            animals: 0.10,
            mean_cycle: 0.15,
            water_celsius: 0.5,
        }
    }
}

/// The usual hour of the moults with its source.
pub fn moult_hour_assumed() -> Assumed {
    Assumed::new("hour of the moults", MOULT_HOUR, "h", HOUR)
}

/// Spreads that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum SpreadsError {
    /// Between animals.
    #[error(transparent)]
    Animals(#[from] SpreadError),
    /// Of the mean cycle.
    #[error("a mean cycle off by {0} of itself leaves nothing to forecast: use 0 to 0.5")]
    MeanCycle(f64),
    /// Of the water.
    #[error("water off by {0} degrees leaves nothing to forecast: use 0 to 5")]
    Water(f64),
}

impl Spreads {
    /// No spread at all: every animal has the same, known cycle.
    pub const fn none() -> Self {
        Self {
            animals: 0.0,
            mean_cycle: 0.0,
            water_celsius: 0.0,
        }
    }

    /// The distribution of a cycle about its mean.
    ///
    /// # Errors
    /// [`SpreadsError`] for a spread out of range.
    pub(crate) fn law(self) -> Result<UnitGamma, SpreadsError> {
        if !(0.0..=0.5).contains(&self.mean_cycle) {
            return Err(SpreadsError::MeanCycle(self.mean_cycle));
        }
        if !(0.0..=5.0).contains(&self.water_celsius) {
            return Err(SpreadsError::Water(self.water_celsius));
        }
        Ok(UnitGamma::new(self.animals)?)
    }

    /// Equally likely factors on the mean cycle: its own range and that of the water, both even,
    /// multiplied and sorted, then averaged in as many groups.
    pub(crate) fn cycle_factors(self, stretch_per_degree: f64) -> Vec<f64> {
        if self.mean_cycle == 0.0 && self.water_celsius == 0.0 {
            return vec![1.0];
        }
        let even =
            |steps: usize| (0..steps).map(move |i| (2.0 * i as f64 + 1.0) / steps as f64 - 1.0);
        let mut all: Vec<f64> = even(CYCLE_STEPS)
            .flat_map(|cycle| even(WATER_STEPS).map(move |water| (cycle, water)))
            .map(|(cycle, water)| {
                (1.0 + self.mean_cycle * cycle)
                    * stretch_per_degree.powf(self.water_celsius * water)
            })
            .collect();
        all.sort_by(f64::total_cmp);
        let group = all.len() / CYCLES;
        all.chunks(group)
            .map(|part| part.iter().sum::<f64>() / part.len() as f64)
            .collect()
    }

    /// The spreads that are defaults, with their sources.
    pub fn assumed(self) -> Vec<Assumed> {
        let usual = Self::default();
        let one = |name: &str, set: f64, default: f64, unit, source| {
            (set == default).then(|| Assumed::new(name, set, unit, source))
        };
        [
            one(
                "spread of the cycle between animals (cv)",
                self.animals,
                usual.animals,
                "",
                OUR_CHOICE,
            ),
            one(
                "range of the mean cycle",
                self.mean_cycle,
                usual.mean_cycle,
                "",
                RANGE,
            ),
            one(
                "range of the water",
                self.water_celsius,
                usual.water_celsius,
                "°C",
                WATER,
            ),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}
