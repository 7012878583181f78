//! What makes a photo unreadable, before and after measuring.

use crate::margin::Tip;
use crate::measure::Measurements;
use crate::measure::Refusal;
use crate::micrograph::light::Lights;
use crate::statistics::robust::median;
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
pub fn light_enough(lights: &Lights<'_>) -> Result<(), Refusal> {
    let light = lights.coarse().smaller(3);
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
pub fn readable(
    lights: &Lights<'_>,
    tip: &Tip,
    measurements: &Measurements,
) -> Result<(), Refusal> {
    let widths: Vec<f64> = tip.setae.iter().map(|s| s.width / tip.width).collect();
    let ratio = measurements.spacing.get() / measurements.base_width.get();
    if !(1.25..=9.0).contains(&ratio) {
        return Err(Refusal::NotAUropodTip);
    }
    if spread(&widths).unwrap_or(1.0) > 0.35 {
        return Err(Refusal::NotAUropodTip);
    }
    if measurements.measure("gap_base_widths").is_none() {
        return Err(Refusal::NotAUropodTip);
    }
    if !hangs_together(tip, measurements) || !bases_show(measurements) {
        return Err(if sharpness(lights) < SHARP {
            Refusal::OutOfFocus
        } else {
            Refusal::NotAUropodTip
        });
    }
    Ok(())
}

/// Least height of the base line, relative to the walls, that shows.
const LINE_SHOWS: f64 = 0.12;
/// Least optical density of pigment that shows.
const PIGMENT_SHOWS_OD: f64 = 0.03;
/// Below this share of an edge's height within one pixel nothing in the photo is sharp.
const SHARP: f64 = 0.2;

/// Most that the darkening of the shafts may spread, over its middle. Our choice: of 94 painted tips
/// under twelve conditions 98 in 100 stay below 0.6; of nine photos of other things that had been
/// taken for tips eight lay above 1.
const UNEVEN_SHAFTS: f64 = 0.8;
/// Most density beside the shafts, over their darkening: shafts stand against the empty background.
/// Our choice: 98 in 100 of the same painted tips stay below 0.9, those other photos above 1.8.
const VEILED: f64 = 1.3;
/// Most of both together, each as a share of its own limit. Our choice: of 132 tips, painted under
/// twelve conditions and on slides of another painter, 131 stay below 1.2; two bare edges that had been
/// taken for tips lay above 1.4.
const UNEVEN_AND_VEILED: f64 = 1.25;
/// Most that a seta turns against its neighbour, as the sine of the angle, over the row. Our choice:
/// the same painted tips stay below 0.14.
const TURNED: f64 = 0.2;

/// Setae of one row are alike, stand side by side and stick out into the empty background.
fn hangs_together(tip: &Tip, measurements: &Measurements) -> bool {
    let turns: Vec<f64> = tip
        .setae
        .windows(2)
        .map(|pair| pair[0].inward.turned().dot(pair[1].inward).abs())
        .collect();
    let alike = measurements.unevenness.is_none_or(|uneven| {
        let (shafts, veil) = (uneven.shafts / UNEVEN_SHAFTS, uneven.veil / VEILED);
        shafts.max(veil) <= 1.0 && shafts + veil.max(0.0) <= UNEVEN_AND_VEILED
    });
    alike && median(&turns).is_none_or(|turn| turn <= TURNED)
}

/// Every base has a base line or pigment, whatever its stage.
fn bases_show(measurements: &Measurements) -> bool {
    let at_least = |name: &str, least: f64| {
        measurements
            .measure(name)
            .is_none_or(|measured| measured.value >= least)
    };
    at_least("base_line", LINE_SHOWS)
        || at_least("base_pigment_od", PIGMENT_SHOWS_OD)
        || at_least("lumen_pigment_od", PIGMENT_SHOWS_OD)
}

/// The steepest steps over one pixel, as a share of the highest steps over twenty-four.
fn sharpness(lights: &Lights<'_>) -> f64 {
    let light = lights.means(1);
    let rows: Vec<Vec<f32>> = (0..lights.micrograph().height())
        .step_by(4)
        .map(|row| light.green_row(row))
        .collect();
    let step = |apart: usize| {
        let steps: Vec<f64> = rows
            .iter()
            .flat_map(|row| {
                row.iter()
                    .zip(row.iter().skip(apart))
                    .map(|(a, b)| f64::from((a - b).abs()))
            })
            .collect();
        quantile(&steps, 0.998).unwrap_or(0.0)
    };
    step(1) / step(24).max(1e-6)
}
