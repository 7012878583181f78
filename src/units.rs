//! Quantities with their units in the type.
//!
//! A value is made with `new` and read with `get`; only operations that mean something exist. No
//! value of these types is NaN: absent quantities are `Option`s.

use serde::Deserialize;
use serde::Serialize;
use std::fmt;
use std::ops::Mul;
use thiserror::Error;

/// A number that cannot be the quantity it was given for.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum UnitError {
    /// A scale that is not a finite number above zero.
    #[error("{0} is no scale: micrometres per pixel must be a finite number above 0")]
    Scale(f64),
    /// A probability outside 0 to 1.
    #[error("{0} is no probability: it must lie between 0 and 1")]
    Probability(f64),
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Wraps a number that is already in this unit.
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            /// The bare number in this unit.
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let places = f.precision().unwrap_or(1);
                write!(f, "{:.*}\u{a0}{}", places, self.0, $symbol)
            }
        }
    };
}

quantity!(
    /// A length in the animal, in micrometres.
    Micrometres, "µm"
);
quantity!(
    /// A length in a photo, in pixels of that photo.
    Pixels, "px"
);
quantity!(
    /// Decadic absorbance, -log10(I / I0); no unit.
    OpticalDensity, "OD"
);
quantity!(
    /// A time span in days of 24 hours.
    Days, "d"
);
quantity!(
    /// A water temperature in degrees Celsius.
    DegreesCelsius, "°C"
);
quantity!(
    /// A mass in grams.
    Grams, "g"
);

/// How many micrometres of the animal one pixel of a photo spans; finite and above zero.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct MicrometresPerPixel(f64);

impl MicrometresPerPixel {
    /// Checks and wraps a scale.
    ///
    /// # Errors
    /// [`UnitError::Scale`] unless `value` is finite and above zero.
    pub fn new(value: f64) -> Result<Self, UnitError> {
        if value.is_finite() && value > 0.0 {
            Ok(Self(value))
        } else {
            Err(UnitError::Scale(value))
        }
    }

    /// The bare number, in micrometres per pixel.
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for MicrometresPerPixel {
    type Error = UnitError;

    fn try_from(value: f64) -> Result<Self, UnitError> {
        Self::new(value)
    }
}

impl From<MicrometresPerPixel> for f64 {
    fn from(value: MicrometresPerPixel) -> Self {
        value.0
    }
}

impl fmt::Display for MicrometresPerPixel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places = f.precision().unwrap_or(3);
        write!(f, "{:.*}\u{a0}µm/px", places, self.0)
    }
}

impl Mul<MicrometresPerPixel> for Pixels {
    type Output = Micrometres;

    fn mul(self, scale: MicrometresPerPixel) -> Micrometres {
        Micrometres(self.0 * scale.0)
    }
}

/// A probability or a share, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Probability(f64);

impl Probability {
    /// Checks and wraps a probability.
    ///
    /// # Errors
    /// [`UnitError::Probability`] unless `value` lies in 0..=1.
    pub fn new(value: f64) -> Result<Self, UnitError> {
        if (0.0..=1.0).contains(&value) {
            Ok(Self(value))
        } else {
            Err(UnitError::Probability(value))
        }
    }

    /// Wraps the result of a formula that is a probability up to rounding: values outside 0..=1
    /// are brought to the nearer end.
    pub const fn clamped(value: f64) -> Self {
        Self(value.max(0.0).min(1.0))
    }

    /// The probability of the opposite, 1 - p.
    #[must_use]
    pub const fn complement(self) -> Self {
        Self(1.0 - self.0)
    }

    /// The bare number, 0 to 1.
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Probability {
    type Error = UnitError;

    fn try_from(value: f64) -> Result<Self, UnitError> {
        Self::new(value)
    }
}

impl From<Probability> for f64 {
    fn from(value: Probability) -> Self {
        value.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_in_pixels_needs_a_scale_to_become_micrometres() {
        let scale = MicrometresPerPixel::new(0.5).unwrap();
        assert_eq!((Pixels::new(30.0) * scale).get(), 15.0);
    }

    #[test]
    fn impossible_scales_and_probabilities_are_refused() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(MicrometresPerPixel::new(bad).is_err());
        }
        for bad in [-0.01, 1.01, f64::NAN] {
            assert!(Probability::new(bad).is_err());
        }
    }

    #[test]
    fn a_quantity_prints_with_its_symbol() {
        assert_eq!(Micrometres::new(20.86).to_string(), "20.9\u{a0}µm");
    }
}
