//! The outer line of the cuticle: the first lasting darkening that one meets on the way from the
//! empty background to the bases, between the shafts.

use crate::margin::strip::Strip;
use crate::micrograph::Plane;
use crate::statistics::robust::median;
use crate::statistics::robust::quantile;
use crate::statistics::robust::spread;

/// Length of a window along s, in strip pixels.
const WINDOW: usize = 150;

/// Rows of the outer cuticle line, one per window: (column, row).
///
/// `near` gives the row of the bases as known so far; the line is looked for from `before` rows
/// outside of it to `after` rows inside.
pub fn trace_cuticle(
    strip: &Strip,
    density: &Plane,
    near: f64,
    before: usize,
    after: usize,
) -> Vec<(f64, f64)> {
    let columns = strip.columns();
    let mut found = Vec::new();
    let mut from = 0;
    while from + WINDOW <= columns {
        let middle = (from + WINDOW / 2) as f64;
        if let Some(line) = window_line(density, (from, from + WINDOW), near, before, after) {
            found.push((middle, line));
        }
        from += WINDOW / 2;
    }
    keep_agreeing(found)
}

/// Drops windows that stand far off the others.
fn keep_agreeing(found: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let rows: Vec<f64> = found.iter().map(|found| found.1).collect();
    let (Some(centre), Some(width)) = (median(&rows), spread(&rows)) else {
        return found;
    };
    let limit = (3.0 * width).max(6.0);
    found
        .into_iter()
        .filter(|(_, row)| (row - centre).abs() <= limit)
        .collect()
}

fn window_line(
    density: &Plane,
    (from, to): (usize, usize),
    row: f64,
    before: usize,
    after: usize,
) -> Option<f64> {
    let first = (row as isize - 2 * before as isize).max(0) as usize;
    let last = (row as usize + after).min(density.height() as usize - 1);
    if last < first + 12 {
        return None;
    }
    let levels: Vec<f64> = (first..=last)
        .map(|y| {
            let values: Vec<f64> = (from..to)
                .map(|x| f64::from(density.get_pixel(x as u32, y as u32)[0]))
                .filter(|v| !v.is_nan())
                .collect();
            if values.len() * 2 > to - from {
                quantile(&values, 0.25).unwrap_or(f64::NAN)
            } else {
                f64::NAN
            }
        })
        .collect();
    let rises: Vec<f64> = (0..levels.len())
        .map(|i| {
            if i < 2 || i + 2 >= levels.len() {
                return 0.0;
            }
            let rise =
                0.3 * (levels[i + 1] - levels[i - 1]) + 0.1 * (levels[i + 2] - levels[i - 2]);
            if rise.is_nan() { 0.0 } else { rise }
        })
        .collect();
    let start = rises.len().saturating_sub(before + after);
    let noise = spread(&rises[..start.max(8).min(rises.len())])?;
    let top = rises[start..].iter().copied().fold(0.0, f64::max);
    let least = (5.0 * noise).max(0.22 * top).max(5e-4);
    let crossing = (start..rises.len()).find(|i| rises[*i] > least)?;
    // up to the steepest place of this rise
    let mut peak = crossing;
    while peak + 1 < rises.len() && rises[peak + 1] >= rises[peak] {
        peak += 1;
    }
    let (a, b, c) = (
        rises[peak.saturating_sub(1)],
        rises[peak],
        rises[(peak + 1).min(rises.len() - 1)],
    );
    let curve = a - 2.0 * b + c;
    let shift = if curve < 0.0 {
        0.5 * (a - c) / curve
    } else {
        0.0
    };
    Some((first + peak) as f64 + shift.clamp(-0.5, 0.5))
}
