//! Shafts across the row: densities along it, and how each seta leans and how wide it is.
//!
//! Where setae stand is found in [`crate::margin::widths`].

use crate::margin::upright::Upright;
use crate::statistics::robust::median;

/// Densities along s, averaged along the slant of the shafts.
#[derive(Debug, Clone)]
pub struct Profile {
    /// Density just outside the cuticle.
    pub shaft: Vec<f32>,
    /// Density at the feet.
    pub foot: Vec<f32>,
}

/// A seta in the row; lengths in strip pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shaft {
    /// Column of its axis at t = 0.
    pub column: f64,
    /// Columns per row (inward).
    pub slant: f64,
    /// Distance of its outer walls, along s.
    pub width: f64,
    /// How well it looks like one.
    pub strength: f32,
}

/// Bands along a shaft that its axis and width take.
const LEAST_BANDS: usize = 2;

/// Slope of a profile, a little smoothed; 0 where it is not known.
pub(in crate::margin) fn gradient(profile: &[f32]) -> Vec<f32> {
    let n = profile.len();
    (0..n)
        .map(|i| {
            if i < 2 || i + 2 >= n {
                return 0.0;
            }
            let slope =
                (profile[i + 1] - profile[i - 1]) * 0.35 + (profile[i + 2] - profile[i - 2]) * 0.1;
            if slope.is_nan() { 0.0 } else { slope }
        })
        .collect()
}

/// The sub-pixel place of the steepest slope of the wanted sign within `reach` of `at`.
fn steepest(slope: &[f32], at: f64, reach: f64, sign: f32) -> Option<(f64, f32)> {
    let n = slope.len();
    let from = (at - reach).round().max(1.0) as usize;
    let to = ((at + reach).round().max(0.0) as usize).min(n.saturating_sub(2));
    let mut best: Option<(usize, f32)> = None;
    for (i, value) in slope.iter().enumerate().take(to + 1).skip(from) {
        let value = sign * value;
        let off = (i as f64 - at).abs() / reach;
        let weighed = value * (1.0 - 0.4 * off as f32);
        if value > 0.0 && best.is_none_or(|b| weighed > b.1) {
            best = Some((i, weighed));
        }
    }
    let (i, _) = best?;
    let (a, b, c) = (sign * slope[i - 1], sign * slope[i], sign * slope[i + 1]);
    let curve = a - 2.0 * b + c;
    let shift = if curve < 0.0 {
        (0.5 * (a - c) / curve).clamp(-0.6, 0.6)
    } else {
        0.0
    };
    Some((i as f64 + f64::from(shift), b))
}

/// Follows each seta outward from its foot, band by band, and fits its axis and width.
///
/// `places` are columns at t = 0, as are those of the profiles.
pub fn fit_shafts(
    upright: &Upright,
    width: f64,
    places: &[(f64, f32)],
    slant: &impl Fn(f64) -> f64,
) -> Vec<Shaft> {
    let half = (0.3 * width).max(1.5);
    let centres: Vec<f64> = [-0.35, -0.8, -1.25, -1.7, -2.15]
        .iter()
        .map(|c| c * width)
        .collect();
    // columns of these profiles are those at t = 0: undo the shift to the band's own rows
    let bands: Vec<Vec<f32>> = centres
        .iter()
        .map(|centre| upright.band((centre - half, centre + half)))
        .collect();
    let slopes: Vec<Vec<f32>> = bands.iter().map(|band| gradient(band)).collect();
    let in_view = |column: f64| {
        let wall = |at: f64| at.round().max(0.0) as usize;
        let seen = |band: &&Vec<f32>| {
            [column - width / 2.0, column + width / 2.0]
                .into_iter()
                .all(|at| band.get(wall(at)).is_some_and(|value| !value.is_nan()))
        };
        bands.iter().filter(seen).count()
    };
    places
        .iter()
        .filter_map(|(column, strength)| {
            let lean = slant(*column);
            let at_zero = *column;
            // only a foot, or a shaft that leaves the photo at once
            if *strength <= 0.0 || in_view(at_zero) < LEAST_BANDS {
                return Some(Shaft {
                    column: at_zero,
                    slant: lean,
                    width,
                    strength: 0.0,
                });
            }
            let mut points: Vec<(f64, f64, f64)> = Vec::new();
            for (centre, slope) in centres.iter().zip(&slopes) {
                let left = steepest(slope, at_zero - width / 2.0, 0.3 * width, 1.0);
                let right = steepest(slope, at_zero + width / 2.0, 0.3 * width, -1.0);
                if let (Some(left), Some(right)) = (left, right) {
                    points.push((*centre, f64::midpoint(left.0, right.0), right.0 - left.0));
                }
            }
            fit_axis(&points, lean).map(|(column, slant, width)| Shaft {
                column,
                slant,
                width,
                strength: *strength,
            })
        })
        .collect()
}

/// Axis and width from (row, centre, width) of some bands; centres are relative to slant `lean`.
fn fit_axis(points: &[(f64, f64, f64)], lean: f64) -> Option<(f64, f64, f64)> {
    if points.len() < LEAST_BANDS {
        return None;
    }
    let n = points.len() as f64;
    let mean_t = points.iter().map(|p| p.0).sum::<f64>() / n;
    let slopes: Vec<f64> = points
        .iter()
        .enumerate()
        .flat_map(|(i, a)| {
            points[i + 1..]
                .iter()
                .map(move |b| (b.1 - a.1) / (b.0 - a.0))
        })
        .collect();
    let extra = median(&slopes)?.clamp(-0.25, 0.25);
    let middles: Vec<f64> = points
        .iter()
        .map(|p| p.1 - extra * (p.0 - mean_t))
        .collect();
    let centre = median(&middles)?;
    let widths: Vec<f64> = points.iter().take(3).map(|p| p.2).collect();
    Some((centre - extra * mean_t, lean + extra, median(&widths)?))
}
