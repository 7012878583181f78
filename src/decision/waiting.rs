//! What the pond is worth if it is harvested some nights later, in the farm's own numbers.

use serde::Deserialize;
use serde::Serialize;
use thiserror::Error;

/// The farm's own numbers; no currency is assumed, and none of them has a default.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Worth {
    /// Live weight in the pond at the netting.
    pub biomass: f64,
    /// Part of the animals that live through a day.
    pub survival_per_day: f64,
    /// Growth per day as a part of the weight. In truth it is stepwise, at the moult: over a few
    /// nights this is a mean.
    pub growth_per_day: f64,
    /// Price of a unit of weight of hard animals.
    pub price: f64,
    /// Part of the price that a soft animal loses.
    pub soft_discount: f64,
    /// Feed of a day.
    pub feed_per_day: f64,
    /// All other costs of a day.
    pub other_per_day: f64,
}

/// Numbers that are no pond's.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum WorthError {
    /// A part that is none.
    #[error("{name} of {value} is no part: use 0 to 1")]
    Part {
        /// Which number.
        name: &'static str,
        /// Its value.
        value: f64,
    },
    /// An amount that is none.
    #[error("{name} of {value} cannot be: use 0 or more")]
    Amount {
        /// Which number.
        name: &'static str,
        /// Its value.
        value: f64,
    },
}

/// The worth of one night.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NightWorth {
    /// Nights from the netting.
    pub night: u32,
    /// What the harvest brings, less the costs of waiting.
    pub value: f64,
    /// Compared with harvesting at once.
    pub gain: f64,
}

impl Worth {
    /// Checks the numbers.
    ///
    /// # Errors
    /// [`WorthError`] for parts outside 0..1 or negative amounts.
    pub fn checked(self) -> Result<Self, WorthError> {
        let parts = [
            ("survival", self.survival_per_day),
            ("discount", self.soft_discount),
        ];
        for (name, value) in parts {
            if !(0.0..=1.0).contains(&value) {
                return Err(WorthError::Part { name, value });
            }
        }
        let amounts = [
            ("biomass", self.biomass),
            ("growth", self.growth_per_day),
            ("price", self.price),
            ("feed", self.feed_per_day),
            ("other costs", self.other_per_day),
        ];
        for (name, value) in amounts {
            if !(value.is_finite() && value >= 0.0) {
                return Err(WorthError::Amount { name, value });
            }
        }
        Ok(self)
    }

    /// The worth when harvested after `nights`, with the worst soft share of that drain.
    ///
    /// # Formula
    /// biomass survival^n (1 + growth)^n price (1 - discount soft) - n (feed + other)
    pub fn after(&self, nights: u32, worst_soft: f64) -> f64 {
        let n = f64::from(nights);
        let grown = (self.survival_per_day * (1.0 + self.growth_per_day)).powf(n);
        let brings = self.biomass * grown * self.price * (1.0 - self.soft_discount * worst_soft);
        brings - n * (self.feed_per_day + self.other_per_day)
    }

    /// The worth of each night, given the worst soft share of a drain begun on the morning after it;
    /// the first is the netting itself.
    pub fn by_night(&self, worst_soft: &[f64]) -> Vec<NightWorth> {
        let now = worst_soft.first().map_or(0.0, |soft| self.after(0, *soft));
        (0..)
            .zip(worst_soft)
            .map(|(night, soft)| {
                let value = self.after(night, *soft);
                NightWorth {
                    night,
                    value,
                    gain: value - now,
                }
            })
            .collect()
    }
}
