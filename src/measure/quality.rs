//! What makes a photo unreadable, before and after measuring.

use crate::margin::Tip;
use crate::measure::Measurements;
use crate::measure::Refusal;
use crate::micrograph::Micrograph;
use crate::micrograph::light::LinearLight;
use crate::statistics::robust::quantile;
use crate::statistics::robust::spread;

/// Fewest setae that make a reading.
pub const FEWEST_SETAE: usize = 5;
/// Fewest pixels across a base.
pub const FEWEST_PIXELS: f64 = 5.0;

/// Refuses photos with too little light, and those where most of the picture is at the top.
///
/// # Errors
/// [`Refusal::TooDark`] or [`Refusal::BurntOut`].
pub fn light_enough(micrograph: &Micrograph) -> Result<(), Refusal> {
    let long = micrograph.width().max(micrograph.height());
    let light = LinearLight::of(micrograph, long.div_ceil(160));
    let mut brightest: Vec<f64> = Vec::new();
    for ((r, g), b) in light.planes()[0]
        .as_raw()
        .iter()
        .zip(light.planes()[1].as_raw())
        .zip(light.planes()[2].as_raw())
    {
        brightest.push(f64::from(r.max(*g).max(*b)));
    }
    let high = quantile(&brightest, 0.95).unwrap_or(0.0);
    let low = quantile(&brightest, 0.1).unwrap_or(0.0);
    if high < 0.02 {
        return Err(Refusal::TooDark);
    }
    if low > 0.985 {
        return Err(Refusal::BurntOut);
    }
    Ok(())
}

/// Refuses what was found but is no uropod tip that could be measured.
///
/// # Errors
/// The fitting [`Refusal`].
pub fn plausible(tip: &Tip) -> Result<(), Refusal> {
    if tip.setae.len() < FEWEST_SETAE {
        return Err(Refusal::TooFewSetae);
    }
    if tip.width < FEWEST_PIXELS {
        return Err(Refusal::TooFewPixelsPerSeta);
    }
    Ok(())
}

/// Refuses what was measured but hangs together badly.
///
/// # Errors
/// The fitting [`Refusal`].
pub fn readable(tip: &Tip, measurements: &Measurements) -> Result<(), Refusal> {
    let widths: Vec<f64> = tip.setae.iter().map(|s| s.width / tip.width).collect();
    let ratio = measurements.spacing.get() / measurements.base_width.get();
    if !(1.15..=9.0).contains(&ratio) {
        return Err(Refusal::NotAUropodTip);
    }
    if spread(&widths).unwrap_or(1.0) > 0.35 {
        return Err(Refusal::NotAUropodTip);
    }
    if measurements.measure("gap_base_widths").is_none() {
        return Err(Refusal::NotAUropodTip);
    }
    Ok(())
}
