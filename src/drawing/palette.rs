//! The colours of the marks.
//!
//! Blue for the bases and orange for the epidermis differ in lightness as well as in hue, so that
//! they stay apart for every kind of colour vision and in print; neither green nor red stands for
//! good or bad.

use crate::drawing::shapes::Colour;

/// The row of bases.
pub const BASES: Colour = Colour::solid([0, 72, 150]);

/// The edge of the epidermis.
pub const EPIDERMIS: Colour = Colour::solid([255, 170, 40]);

/// The gap between the two, seta by seta.
pub const GAP: Colour = Colour::solid([255, 255, 255]);

/// Dark rim around pale marks.
pub const DARK_RIM: Colour = Colour {
    rgb: [20, 24, 32],
    opacity: 0.5,
};

/// Plate behind words.
pub const PLATE: Colour = Colour {
    rgb: [250, 249, 244],
    opacity: 0.86,
};

/// Words on a plate.
pub const WORDS: Colour = Colour::solid([28, 32, 40]);

/// Where a strip reaches beyond its photo.
pub const BEYOND: [u8; 3] = [206, 208, 210];
