//! What is measured at the setal bases, or why nothing could be.

use crate::geometry::Point;
use crate::units::Pixels;
use serde::Deserialize;
use serde::Serialize;

/// Why a photo is not read; codes as in the reading's JSON.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Refusal {
    /// The file is no photo that can be decoded.
    CannotDecode,
    /// More pixels or bytes than the limits allow.
    TooLarge,
    /// Too few pixels to hold a tip.
    TooSmall,
    /// No margin with setae in view.
    NoMargin,
    /// A margin, but too few setae on it.
    TooFewSetae,
    /// Nothing sharp enough to measure.
    OutOfFocus,
    /// Too little light.
    TooDark,
    /// Background or tissue at the end of the scale.
    BurntOut,
    /// The bases span too few pixels.
    TooFewPixelsPerSeta,
    /// Something else than a uropod tip.
    NotAUropodTip,
}

/// A measure over the setae of one photo.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Robust centre over the setae.
    pub value: f64,
    /// Robust spread between setae (1.4826 times the median absolute deviation).
    pub spread: f64,
    /// How many setae it rests on.
    pub support: usize,
}

/// One setal base in view; lengths in pixels of the photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Seta {
    /// Centre of the base line.
    pub base: Point,
    /// Where the epidermis begins, in line with the seta.
    pub edge: Option<Point>,
    /// From the base line to the epidermis.
    pub gap: Option<Pixels>,
    /// Its own measures, in the order of [`Measurements::MEASURES`]; `None` where it has no support.
    pub measures: Vec<Option<f64>>,
}
