//! From coded samples to linear light and back, and from light to optical density.
//!
//! Codes and light run from 0 to 1 unless a name says otherwise. Nothing here knows pictures.

use std::sync::OnceLock;

/// Code below which the sRGB curve is a straight line.
///
/// # Source
/// IEC 61966-2-1 (from memory; the table it gives equals that of an independent library, see
/// `tests/suite/colour.rs`).
const LINEAR_BELOW_CODE: f64 = 0.040_45;

/// Light below which the inverse curve is a straight line; source as [`LINEAR_BELOW_CODE`].
const LINEAR_BELOW_LIGHT: f64 = 0.003_130_8;

/// Linear light of an sRGB code, both 0 to 1.
///
/// # Formula
/// c / 12.92 below 0.04045, else ((c + 0.055) / 1.055)^2.4, with c the code.
///
/// # Source
/// IEC 61966-2-1.
pub fn linear_from_srgb(code: f64) -> f64 {
    if code <= LINEAR_BELOW_CODE {
        code / 12.92
    } else {
        libm::pow((code + 0.055) / 1.055, 2.4)
    }
}

/// The sRGB code of linear light, both 0 to 1.
///
/// # Formula
/// 12.92 v below 0.0031308, else 1.055 v^(1 / 2.4) - 0.055, with v the light.
///
/// # Source
/// IEC 61966-2-1.
pub fn srgb_from_linear(light: f64) -> f64 {
    if light <= LINEAR_BELOW_LIGHT {
        light * 12.92
    } else {
        1.055 * libm::pow(light, 1.0 / 2.4) - 0.055
    }
}

/// Linear light, 0 to 1, of an eight-bit sRGB code; read from a table.
pub fn linear_from_srgb8(code: u8) -> f32 {
    static TABLE: OnceLock<[f32; 256]> = OnceLock::new();
    let table = TABLE
        .get_or_init(|| std::array::from_fn(|code| linear_from_srgb(code as f64 / 255.0) as f32));
    table[usize::from(code)]
}

/// Optical density of what lets `intensity` through where `reference` would arrive without it.
///
/// Both in linear light of the same unit and above zero; brighter than the reference is negative.
///
/// # Formula
/// -log10(I / I0).
///
/// # Source
/// Beer-Lambert; definition of the decadic absorbance.
pub fn optical_density(intensity: f64, reference: f64) -> f64 {
    -libm::log10(intensity / reference)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_and_its_inverse_cancel() {
        for code in 0..=255_u8 {
            let code = f64::from(code) / 255.0;
            // The two thresholds of the standard are rounded, hence not exact near them.
            assert!((srgb_from_linear(linear_from_srgb(code)) - code).abs() < 1e-6);
        }
    }
}
