//! The measures of a single seta, in its own frame and widths.

use crate::margin::patch;
use crate::margin::patch::COLUMNS;
use crate::margin::patch::PER_WIDTH;
use crate::margin::patch::Patch;
use crate::margin::patch::ROWS;
use crate::measure::MEASURES;
use crate::measure::edge::Levels;
use crate::statistics::robust::median;
use crate::statistics::robust::quantile;
use crate::statistics::robust::spread;

/// What the measures of one seta are judged against: levels over the whole photo.
#[derive(Debug, Clone)]
pub struct Reference {
    /// Weights that mix the channels to one density.
    pub weights: [f32; 3],
    /// Whether the photo has colours.
    pub coloured: bool,
    /// Darkening of the outer walls against the background.
    pub wall: f64,
    /// Density of the epidermis just inside its edge, above the clear cuticle.
    pub band: f64,
    /// Strength of the shafts' pattern across, outside of the cuticle.
    pub pattern: f64,
}

/// The measures of one seta; see `docs/methods.md` for each.
#[derive(Debug, Clone, Default)]
pub struct SetaMeasures {
    values: [Option<f64>; MEASURES.len()],
}

/// Mean mixed density over rows `v` and |u|, both in base widths.
fn region(patch: &Patch, weights: [f32; 3], v: (f64, f64), u: (f64, f64)) -> Option<f64> {
    let from = patch::row_of(v.0).round().max(0.0) as usize;
    let to = (patch::row_of(v.1).round().max(0.0) as usize).min(ROWS - 1);
    let values: Vec<f64> = (from..=to)
        .filter_map(|row| patch.across(row, weights, u.0, u.1))
        .collect();
    (values.len() * 2 > to.saturating_sub(from))
        .then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// The core of a seta above what lies beside it.
fn above_flank(patch: &Patch, weights: [f32; 3], v: (f64, f64)) -> Option<f64> {
    Some(region(patch, weights, v, (0.0, 0.25))? - region(patch, weights, v, (0.66, 0.9))?)
}

/// Rows between the outer cuticle line and the base line.
const AT_BASE: (f64, f64) = (-0.42, -0.16);
/// Rows on the shaft well outside of the cuticle.
const ON_SHAFT: (f64, f64) = (-3.2, -1.4);

/// Strength of a pattern of walls along v: standard deviation across u of the density averaged along
/// v, the trend across taken off.
fn pattern(patch: &Patch, weights: [f32; 3], v: (f64, f64), lean: f64) -> Option<f64> {
    let from = patch::row_of(v.0).round().max(0.0) as usize;
    let to = (patch::row_of(v.1).round().max(0.0) as usize).min(ROWS - 1);
    if to <= from + 3 {
        return None;
    }
    let middle_row = 0.5 * (from + to) as f64;
    let half = PER_WIDTH; // |u| up to one base width
    let middle = COLUMNS / 2;
    let mut sums = vec![(0.0, 0.0); 2 * half + 1];
    for row in from..=to {
        let shift = ((row as f64 - middle_row) * lean).round() as isize;
        for (i, sum) in sums.iter_mut().enumerate() {
            let column = (middle + i) as isize - half as isize + shift;
            if column < 0 || column >= COLUMNS as isize {
                continue;
            }
            let d = patch.at(row, column as usize);
            let mixed = d[0] * weights[0] + d[1] * weights[1] + d[2] * weights[2];
            if !mixed.is_nan() {
                sum.0 += f64::from(mixed);
                sum.1 += 1.0;
            }
        }
    }
    let rows = (to - from + 1) as f64;
    if sums.iter().any(|s| s.1 < 0.6 * rows) {
        return None;
    }
    let line: Vec<f64> = sums.iter().map(|s| s.0 / s.1).collect();
    // wall scale: each place against the mean of those a fifth of a width away on both sides
    let arm = 3;
    let rough: Vec<f64> = (arm..line.len() - arm)
        .map(|i| line[i] - 0.5 * (line[i - arm] + line[i + arm]))
        .collect();
    Some((rough.iter().map(|r| r * r).sum::<f64>() / rough.len() as f64).sqrt())
}

/// [`pattern`] at the best of a few leans.
fn leaning_pattern(patch: &Patch, weights: [f32; 3], v: (f64, f64)) -> Option<f64> {
    [-0.16, -0.08, 0.0, 0.08, 0.16]
        .into_iter()
        .filter_map(|lean| pattern(patch, weights, v, lean))
        .max_by(f64::total_cmp)
}

/// How the shafts of a photo stand out, how unlike they are among themselves, and what lies beside them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shafts {
    /// Spread of the darkening of the setae against what lies beside them, over its middle.
    pub uneven: f64,
    /// Density beside the shafts, over the middle darkening.
    pub veil: f64,
    /// Darkening of the outer walls against what lies beside them, optical density.
    pub walls: f64,
    /// Share of the setae whose walls are darker than what lies beside them.
    pub walled: f64,
}

/// Where the outer walls are looked for on both sides of the axis, in base widths.
const WALLS: [f64; 3] = [0.34, 0.42, 0.5];

/// Darkening of the outer walls of one shaft against what lies beside it.
fn wall(patch: &Patch, weights: [f32; 3]) -> Option<f64> {
    let wall = WALLS
        .into_iter()
        .filter_map(|u| region(patch, weights, ON_SHAFT, (u - 0.05, u + 0.05)))
        .max_by(f64::total_cmp)?;
    Some(wall - region(patch, weights, ON_SHAFT, (0.66, 0.9))?)
}

/// Compares the shafts of a photo with one another; `None` where too little of them is in view.
pub fn compare_shafts(patches: &[&Patch], weights: [f32; 3]) -> Option<Shafts> {
    let seen: Vec<(f64, f64)> = patches
        .iter()
        .filter_map(|p| {
            let beside = region(p, weights, ON_SHAFT, (0.66, 0.9))?;
            let shaft = region(p, weights, ON_SHAFT, (0.0, 0.5))?;
            Some((shaft - beside, beside))
        })
        .collect();
    let darker: Vec<f64> = seen.iter().map(|s| s.0).collect();
    let beside: Vec<f64> = seen.iter().map(|s| s.1).collect();
    let walls: Vec<f64> = patches.iter().filter_map(|p| wall(p, weights)).collect();
    let middle = median(&darker)?.max(0.002);
    let walled = walls.iter().filter(|wall| **wall > 0.0).count();
    Some(Shafts {
        uneven: spread(&darker)? / middle,
        veil: median(&beside)? / middle,
        walls: median(&walls)?,
        walled: walled as f64 / walls.len() as f64,
    })
}

/// Levels over all setae of a photo.
pub fn reference(
    patches: &[Patch],
    (weights, coloured): ([f32; 3], bool),
    levels: Option<Levels>,
) -> Reference {
    let walls: Vec<f64> = patches.iter().filter_map(|p| wall(p, weights)).collect();
    let patterns: Vec<f64> = patches
        .iter()
        .filter_map(|p| leaning_pattern(p, weights, (-2.6, -1.0)))
        .collect();
    Reference {
        weights,
        coloured,
        wall: quantile(&walls, 0.5).unwrap_or(0.0).max(0.01),
        band: levels.map_or(0.2, |l| (l.tissue - l.clear).max(0.02)),
        pattern: median(&patterns).unwrap_or(0.0).max(0.003),
    }
}

/// How reddish the core is against what lies beside it: blue-green density less red density, over
/// their sum; it says nothing where the camera is monochrome.
fn hue(patch: &Patch, v: (f64, f64)) -> Option<f64> {
    let red = above_flank(patch, [1.0, 0.0, 0.0], v)?;
    let other = above_flank(patch, [0.0, 0.5, 0.5], v)?;
    Some(other - red)
}

impl SetaMeasures {
    /// Measures one seta.
    ///
    /// `gap` is the edge beneath this seta, else that over all setae; `own` that of this one alone,
    /// `midway` those between it and its two neighbours; all in base widths from the base line.
    pub fn take(
        patch: &Patch,
        reference: &Reference,
        gap: Option<f64>,
        own: Option<f64>,
        midway: [Option<f64>; 2],
    ) -> Self {
        let weights = reference.weights;
        let at_base = above_flank(patch, weights, AT_BASE);
        let on_shaft = above_flank(patch, weights, ON_SHAFT);
        let band = reference.band;
        let bar = bar_height(patch, weights);
        let scallop = own.and_then(|own| {
            let seen: Vec<f64> = midway.into_iter().flatten().collect();
            let mean = seen.iter().sum::<f64>() / seen.len() as f64;
            (!seen.is_empty()).then_some(mean - own)
        });
        let new_setae = gap.and_then(|g| {
            let deep = leaning_pattern(patch, weights, (g + 0.6, g + 2.4))?;
            Some(deep / reference.pattern)
        });
        let new_tips = gap.filter(|g| *g > 1.6).and_then(|g| {
            let tips = pattern(patch, weights, (g - 0.9, g - 0.25), 0.0)?;
            Some(tips / reference.pattern)
        });
        let edge_step = gap.and_then(|g| {
            let inside = region(patch, weights, (g + 0.3, g + 1.2), (0.0, 1.0))?;
            let deeper = region(patch, weights, (g + 2.5, g + 4.5), (0.0, 1.0))?;
            Some((inside - deeper) / band)
        });
        let row_step = beside_step(patch, weights).map(|s| s / band);
        Self {
            values: [
                gap,
                at_base.map(|d| d / reference.wall),
                on_shaft.map(|d| d / reference.wall),
                at_base,
                on_shaft,
                at_base.map(|d| d / band),
                on_shaft.map(|d| d / band),
                hue(patch, AT_BASE).filter(|_| reference.coloured),
                hue(patch, ON_SHAFT).filter(|_| reference.coloured),
                bar.map(|b| b / reference.wall),
                cones(patch, weights).map(|c| c / reference.wall),
                edge_step,
                scallop,
                new_setae,
                Some(new_tips.unwrap_or(0.0)),
                row_step,
            ],
        }
    }

    /// The values in the order of [`MEASURES`].
    pub fn values(&self) -> [Option<f64>; MEASURES.len()] {
        self.values
    }
}

/// Height of the dark bar at the base line above the core on both sides of it.
fn bar_height(patch: &Patch, weights: [f32; 3]) -> Option<f64> {
    let at = above_flank(patch, weights, (-0.09, 0.09))?;
    let outside = above_flank(patch, weights, (-0.36, -0.24))?;
    let inside = above_flank(patch, weights, (0.24, 0.36))?;
    Some(at - 0.5 * (outside + inside))
}

/// Density of the two cones just inside the base line, above the axis between them and the outside.
fn cones(patch: &Patch, weights: [f32; 3]) -> Option<f64> {
    let v = (0.1, 0.3);
    let at = region(patch, weights, v, (0.34, 0.5))?;
    let axis = region(patch, weights, v, (0.0, 0.15))?;
    let beside = region(patch, weights, v, (0.7, 0.9))?;
    Some(at - 0.5 * (axis + beside))
}

/// How much darker it becomes beside the seta from just outside the base line to just inside.
fn beside_step(patch: &Patch, weights: [f32; 3]) -> Option<f64> {
    let outside = region(patch, weights, (-0.4, -0.1), (0.66, 1.0))?;
    let inside = region(patch, weights, (0.35, 0.75), (0.66, 1.0))?;
    Some(inside - outside)
}
