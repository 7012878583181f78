//! Which way the seta goes on beneath its base: along its own axis, or straight across the row.
//!
//! New setae form in line with the old ones, and the edge of the epidermis stands out most where they
//! are. So of the directions between the two the one is taken along which the edge beneath the setae
//! lies nearest, against the edge midway between them.

use crate::geometry::Point;
use crate::margin::FittingLight;
use crate::margin::SetaFrame;
use crate::margin::Tip;
use crate::measure::edge::Levels;
use crate::statistics::robust::median;

/// Gaps below this many base widths end at much the same place whichever way one goes.
const FAR: f64 = 1.3;
/// Directions under trial from straight across (0) to along the axis (1).
const TRIALS: usize = 9;
/// By so many base widths the edge must stand out more than straight across the row.
const CLEARLY: f64 = 0.08;
/// Sines of less than this are no lean.
const LEANS: f64 = 0.06;
/// Steps per base width at which a line is looked at.
const STEPS: f64 = 10.0;
/// Lines side by side that are looked at together, in base widths from the middle one.
const SIDE: [f64; 5] = [-0.25, -0.12, 0.0, 0.12, 0.25];

/// The edge of the epidermis as known straight across the row.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Where it lies, in base widths from the base line.
    pub gap: f64,
    /// The levels on both sides.
    pub levels: Levels,
}

/// The share of the lean of the setae that goes on beneath their bases, 0 to 1.
pub fn share_of_lean(light: &FittingLight<'_>, tip: &Tip, known: Known, spacing: f64) -> f64 {
    let sines: Vec<f64> = tip
        .setae
        .iter()
        .map(|seta| seta.inward.turned().dot(seta.beneath).abs())
        .collect();
    if known.gap < FAR || median(&sines).is_none_or(|sine| sine < LEANS) {
        return 0.0;
    }
    let straight = standing_out(light, tip, known, (spacing, 0.0)).unwrap_or(0.0);
    let mut best = (straight + CLEARLY, 0.0);
    for trial in 1..TRIALS {
        let share = trial as f64 / (TRIALS - 1) as f64;
        if let Some(out) = standing_out(light, tip, known, (spacing, share))
            && out > best.0
        {
            best = (out, share);
        }
    }
    best.1
}

/// The direction beneath a seta for a share of its lean.
pub fn leaning(seta: &SetaFrame, share: f64) -> Point {
    let across = seta.beneath.times(1.0 - share);
    across.plus(seta.inward.times(share)).unit()
}

/// How much nearer the edge lies beneath the setae than midway between them, in base widths.
fn standing_out(
    light: &FittingLight<'_>,
    tip: &Tip,
    known: Known,
    (spacing, share): (f64, f64),
) -> Option<f64> {
    let edge = |origin: Point, direction: Point| edge_along(light, tip, known, (origin, direction));
    let own: Vec<Option<f64>> = tip
        .setae
        .iter()
        .map(|seta| edge(seta.origin, leaning(seta, share)))
        .collect();
    let differences: Vec<f64> = tip
        .setae
        .windows(2)
        .zip(own.windows(2))
        .filter_map(|(pair, own)| {
            if pair[0].origin.distance(pair[1].origin) > 1.6 * spacing {
                return None;
            }
            let middle = pair[0].origin.toward(pair[1].origin, 0.5);
            let direction = leaning(&pair[0], share)
                .plus(leaning(&pair[1], share))
                .unit();
            Some(edge(middle, direction)? - 0.5 * (own[0]? + own[1]?))
        })
        .collect();
    (differences.len() >= 3).then(|| median(&differences))?
}

/// Where, going from `origin` in `direction`, the density reaches the half level and stays there, in
/// base widths; looked for around the known edge.
fn edge_along(
    light: &FittingLight<'_>,
    tip: &Tip,
    known: Known,
    (origin, direction): (Point, Point),
) -> Option<f64> {
    let reach = (0.3 * known.gap).clamp(0.8, 2.2);
    let half = known.levels.half();
    let from = ((known.gap - reach).max(0.4) * STEPS).round() as usize;
    let to = ((known.gap + reach + 0.5) * STEPS).round() as usize;
    let across = direction.turned();
    let level = |k: usize| -> Option<f64> {
        let middle = origin.plus(direction.times(k as f64 / STEPS * tip.width));
        let seen: Vec<f64> = SIDE
            .iter()
            .filter_map(|u| {
                let photo = middle.plus(across.times(u * tip.width));
                let density = tip.blade.field.density(photo, light.intensity(photo)?);
                let mixed: f32 = density.iter().zip(tip.weights).map(|(d, w)| d * w).sum();
                Some(f64::from(mixed))
            })
            .collect();
        (seen.len() == SIDE.len()).then(|| seen.iter().sum::<f64>() / seen.len() as f64)
    };
    let levels: Vec<Option<f64>> = (from..=to).map(level).collect();
    let lasting = (0.4 * STEPS) as usize;
    let stays = |i: usize| {
        levels[i..(i + lasting).min(levels.len())]
            .iter()
            .all(|level| level.is_some_and(|l| l >= half))
    };
    let at = (0..levels.len().saturating_sub(lasting)).find(|i| stays(*i))?;
    let part = match at.checked_sub(1).and_then(|i| levels[i]).zip(levels[at]) {
        Some((before, after)) if after > before => (after - half) / (after - before),
        _ => 0.0,
    };
    Some(((from + at) as f64 - part) / STEPS)
}
