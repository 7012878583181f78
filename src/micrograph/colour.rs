//! sRGB codes, linear light and optical density.

/// Linear light (0 to 1) of an sRGB code value (0 to 1).
pub fn linear_from_srgb(code: f64) -> f64 {
    if code <= 0.04045 {
        code / 12.92
    } else {
        ((code + 0.055) / 1.055).powf(2.4)
    }
}
