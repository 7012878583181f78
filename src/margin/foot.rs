//! The foot of each seta: where the base line crosses it, and how wide it is there.
//!
//! The base line lies half to one base width inside the outer line of the cuticle. It shows as a
//! dark bar across the foot, or, where pigment hides the bar, as the place where the pigment of the
//! base begins.

use crate::margin::SetaFrame;
use crate::margin::patch;
use crate::margin::patch::PER_WIDTH;
use crate::margin::patch::Part;
use crate::margin::patch::Patch;
use crate::margin::walls;
use crate::statistics::robust::median;

/// The base line is looked for this far inside the outer cuticle line, in base widths.
const SEARCH: (f64, f64) = (0.3, 1.35);
/// Where it usually lies, and how far from there it may.
const USUAL: (f64, f64) = (0.78, 0.2);
/// The end of the shafts seen at first sight lies this much too deep, in base widths: the cones and
/// the pigment of the base go on behind it.
const SEEN_TOO_DEEP: f64 = 0.7;
/// From this depth on the origins are taken to lie on the outer line of the cuticle, in base widths.
const CUTICLE_SEEN: f64 = 0.8;
/// Arm of the second difference that shows the bar, in base widths.
const ARM: f64 = 0.28;
/// Rows on either side of a place over which walls are seen to end there: half a base width.
const WALL_ARM: usize = PER_WIDTH / 2;
/// What a bar counts where no walls end. Our choice.
const NO_END: f64 = 0.1;
/// What is looked at to find the base line.
pub const ROUND_THE_FOOT: Part = Part {
    from: -2.0,
    to: 2.0,
    reach: 0.9,
};
/// Neighbours on either side that are looked at together.
const NEIGHBOURS: usize = 3;

/// Mixed densities of one row of a patch, where the foot of a seta may be.
#[derive(Clone, Copy)]
struct Across {
    /// On the axis.
    core: f64,
    /// On the walls.
    walls: f64,
    /// Beside the seta.
    flanks: f64,
}

impl Across {
    /// `None` outside of the photo.
    fn of(patch: &Patch, weights: [f32; 3], row: usize) -> Option<Self> {
        Some(Self {
            core: patch.across(row, weights, 0.0, 0.22)?,
            walls: patch.across(row, weights, 0.4, 0.5)?,
            flanks: patch.across(row, weights, 0.66, 0.9)?,
        })
    }

    /// How much darker the seta is than what lies beside it.
    fn seta(self) -> f64 {
        self.core - self.flanks
    }

    /// How much darker the walls are than what lies on either side of them.
    fn ridge(self) -> f64 {
        self.walls - 0.5 * (self.core + self.flanks)
    }
}

/// The rows of a patch as far in as anything is looked at.
type Rows = Vec<Option<Across>>;

fn rows_of(patch: &Patch, weights: [f32; 3]) -> Rows {
    let count = patch::row_of(ROUND_THE_FOOT.to).ceil() as usize + 1;
    (0..count)
        .map(|row| Across::of(patch, weights, row))
        .collect()
}

/// The median profile of several patches over a range of rows, a little smoothed.
fn profile(patches: &[Rows], rows: std::ops::Range<usize>, of: fn(Across) -> f64) -> Vec<f64> {
    let raw: Vec<f64> = rows
        .map(|row| {
            let values: Vec<f64> = patches
                .iter()
                .filter_map(|p| p.get(row).copied().flatten().map(of))
                .collect();
            median(&values).unwrap_or(f64::NAN)
        })
        .collect();
    patch::smoothed(&raw)
}

/// How far the walls of several patches fall away at each of a range of rows, as a share of the
/// furthest fall: the walls of a seta end at its foot, whatever fills it.
fn wall_ends(patches: &[Rows], rows: std::ops::Range<usize>) -> Vec<f64> {
    let wide = rows.start - WALL_ARM..rows.end + WALL_ARM;
    let ridge = profile(patches, wide, Across::ridge);
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    let falls: Vec<f64> = (WALL_ARM..ridge.len() - WALL_ARM)
        .map(|i| {
            let fall = mean(&ridge[i - WALL_ARM..i]) - mean(&ridge[i + 1..=i + WALL_ARM]);
            if fall > 0.0 { fall } else { 0.0 }
        })
        .collect();
    let furthest = falls.iter().copied().fold(0.0, f64::max).max(1e-9);
    falls.iter().map(|fall| fall / furthest).collect()
}

/// The place of the strongest bar at the end of the walls, within `range` (v in base widths), and its
/// height.
fn bar(patches: &[Rows], range: (f64, f64), prior: (f64, f64)) -> Option<(f64, f64)> {
    let arm = (ARM * PER_WIDTH as f64).round() as usize;
    let from = patch::row_of(range.0).round() as usize - arm;
    let to = patch::row_of(range.1).round() as usize + arm;
    let smooth = profile(patches, from..to + 1, Across::seta);
    let ends = wall_ends(patches, from + arm..to + 1 - arm);
    let heights: Vec<f64> = (arm..smooth.len() - arm)
        .map(|i| {
            let height = smooth[i] - 0.5 * (smooth[i - arm] + smooth[i + arm]);
            if height.is_nan() { f64::MIN } else { height }
        })
        .collect();
    let top = heights.iter().copied().fold(f64::MIN, f64::max);
    if top <= 0.0 {
        return None;
    }
    let mut best: Option<(usize, f64)> = None;
    for (i, (height, end)) in heights.iter().zip(&ends).enumerate() {
        let v = patch::v_of((from + arm + i) as f64);
        let z = (v - prior.0) / prior.1;
        let walls = NO_END + (1.0 - NO_END) * end * end;
        let weighed = height * walls * (-0.5 * z * z).exp();
        if best.is_none_or(|b| weighed > b.1) {
            best = Some((i, weighed));
        }
    }
    let (i, _) = best?;
    let (a, b, c) = (
        heights[i.saturating_sub(1)],
        heights[i],
        heights[(i + 1).min(heights.len() - 1)],
    );
    let curve = a - 2.0 * b + c;
    let shift = if curve < 0.0 && a > f64::MIN && c > f64::MIN {
        (0.5 * (a - c) / curve).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    Some((patch::v_of((from + arm + i) as f64 + shift), heights[i]))
}

/// How far inside its origin each seta has its base line, in widths.
///
/// `depth` is how far inside their origins the shafts seemed to end at first sight, in widths: where
/// that is not far, the origins do not lie on the outer line of the cuticle but nearer to the base
/// line. `None` when nothing like a base line shows anywhere.
pub fn base_offsets(patches: &[Patch], weights: [f32; 3], depth: f64) -> Option<Vec<f64>> {
    let all: Vec<Rows> = patches.iter().map(|p| rows_of(p, weights)).collect();
    let seen = (depth - SEEN_TOO_DEEP).max(-0.8);
    let (search, prior) = if depth >= CUTICLE_SEEN {
        (SEARCH, USUAL)
    } else {
        ((seen - 0.5, SEARCH.1), (seen, 0.35))
    };
    let (common, _) = bar(&all, search, prior)?;
    let offsets: Vec<f64> = (0..patches.len())
        .map(|i| {
            let from = i.saturating_sub(NEIGHBOURS);
            let to = (i + NEIGHBOURS + 1).min(patches.len());
            let range = ((common - 0.35).max(search.0), (common + 0.35).min(1.6));
            bar(&all[from..to], range, (common, 0.22)).map_or(common, |found| found.0)
        })
        .collect();
    let smooth = (0..offsets.len())
        .map(|i| {
            let near = &offsets[i.saturating_sub(2)..(i + 3).min(offsets.len())];
            median(near).unwrap_or(common)
        })
        .collect();
    Some(smooth)
}

/// Rows of the shaft just outside the base line, in base widths.
const AT_FOOT: (f64, f64) = (-0.9, -0.15);
/// The section is looked at up to this distance from the axis: further out a neighbour may stand.
const SECTION_REACH: usize = 11;
/// What is looked at to find the width.
pub const SECTION: Part = Part {
    from: AT_FOOT.0,
    to: AT_FOOT.1,
    reach: SECTION_REACH as f64 / PER_WIDTH as f64,
};

/// The outer width of the setae of patches drawn at scale 1, as a factor on that scale.
pub fn width_factor(patches: &[Patch], weights: [f32; 3]) -> f64 {
    let rows = patch::row_of(AT_FOOT.0).round() as usize..patch::row_of(AT_FOOT.1).round() as usize;
    let levels: Vec<(f64, f64)> = (0..=SECTION_REACH)
        .map(|off| {
            let u = off as f64 / PER_WIDTH as f64;
            let values: Vec<f64> = patches
                .iter()
                .filter_map(|p| {
                    let seen: Vec<f64> = rows
                        .clone()
                        .filter_map(|row| p.across(row, weights, u, u))
                        .collect();
                    median(&seen)
                })
                .collect();
            (u, median(&values).unwrap_or(f64::NAN))
        })
        .collect();
    walls::fit_section(&levels).map_or(1.0, |section| section.width.clamp(0.6, 1.4))
}

/// Moves a seta's origin inward along its axis by `offset` widths of `width` pixels.
pub fn moved(seta: &SetaFrame, offset: f64, width: f64) -> SetaFrame {
    SetaFrame {
        origin: patch::photo(seta, width, 0.0, offset),
        ..*seta
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_base_line_is_where_the_walls_end() {
        // a filled lumen with two dark bars across it, the outer one the darker; the walls pass it
        for end in [1.0, 0.6] {
            let patch = Patch::drawn(|u, v| {
                let bar = |at: f64| (-0.5 * ((v - at) / 0.08).powi(2)).exp();
                let bars = 0.06 * bar(0.6) + 0.045 * bar(1.0);
                match u.abs() {
                    u if u < 0.38 => 0.4 + bars,
                    u if u < 0.55 && v < end => 0.5,
                    _ => 0.0,
                }
            });
            let offsets = base_offsets(&[patch.clone(), patch], [0.2, 0.5, 0.3], 1.0).unwrap();
            for offset in offsets {
                assert!((offset - end).abs() < 0.08, "{end}: {offset}");
            }
        }
    }
}
