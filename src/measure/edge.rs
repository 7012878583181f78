//! The edge of the epidermis: where, going inward from the base line, the tissue is half there.

use crate::margin::SetaFrame;
use crate::margin::patch;
use crate::margin::patch::Part;
use crate::margin::patch::Patch;
use crate::margin::patch::ROWS;
use crate::micrograph::colour::optical_density;
use crate::statistics::robust::median;
use crate::statistics::robust::quantile;
use rayon::prelude::*;

/// From here inward the edge is looked for on the axis of the seta, in base widths: nearer to the
/// base the bar and the cones hide it, and it is read beside the seta.
const BESIDE_BELOW: f64 = 1.1;

/// Density along a seta, row by row of its patch; NaN outside of the photo.
type Along = Vec<f64>;

/// Mixed density of a patch over |u| from `from` to `to`, row by row, a little smoothed.
fn along(patch: &Patch, weights: [f32; 3], from: f64, to: f64) -> Along {
    let raw: Along = (0..ROWS)
        .map(|row| patch.across(row, weights, from, to).unwrap_or(f64::NAN))
        .collect();
    patch::smoothed(&raw)
}

/// The median of several profiles, row by row.
fn median_along(profiles: &[&Along]) -> Along {
    (0..ROWS)
        .map(|row| {
            let values: Vec<f64> = profiles
                .iter()
                .map(|p| p[row])
                .filter(|v| !v.is_nan())
                .collect();
            if values.len() * 2 >= profiles.len() {
                median(&values).unwrap_or(f64::NAN)
            } else {
                f64::NAN
            }
        })
        .collect()
}

fn known(profile: &Along, from: f64, to: f64) -> Vec<f64> {
    let a = patch::row_of(from).round().max(0.0) as usize;
    let b = (patch::row_of(to).round().max(0.0) as usize).min(ROWS - 1);
    if a > b {
        return Vec::new();
    }
    profile[a..=b]
        .iter()
        .copied()
        .filter(|v| !v.is_nan())
        .collect()
}

/// Levels of density on both sides of the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// Between the base line and the epidermis: the old cuticle.
    pub clear: f64,
    /// The epidermis just inside its edge.
    pub tissue: f64,
}

impl Levels {
    /// The density where half of the light that the tissue takes is gone: a blurred edge spreads
    /// light, not density, so that this level stays where the edge is.
    pub(super) fn half(self) -> f64 {
        let through = |density: f64| libm::exp10(-density);
        optical_density(0.5 * (through(self.clear) + through(self.tissue)), 1.0)
    }
}

/// Within so many base widths of its outer side the old cuticle's own line, however dark, is over ...
const LINE_OVER: f64 = 1.6;
/// ... and what follows it has less than this share of the density at which tissue is half there.
const LINE_CLEARS: f64 = 0.5;

/// Whether a profile is as clear as the gap again soon after `v`: a line, and no tissue.
fn clears_again(profile: &Along, v: f64, level: f64) -> bool {
    let after = known(profile, v + 0.5 * LINE_OVER, v + LINE_OVER);
    !after.is_empty() && after.iter().all(|d| *d < level)
}

/// The first lasting crossing of `level` inside of `from`, in base widths, sub-grid; `clear` is the
/// level of the gap.
fn crossing(
    profile: &Along,
    (clear, level): (f64, f64),
    from: f64,
    to: f64,
    lasting: f64,
) -> Option<f64> {
    let a = patch::row_of(from).round().max(1.0) as usize;
    let b = (patch::row_of(to).round().max(0.0) as usize).min(ROWS - 1);
    for row in a..=b {
        let value = profile[row];
        if value.is_nan() || value < level {
            continue;
        }
        let v = patch::v_of(row as f64);
        let after = known(profile, v, v + lasting);
        let above = after.iter().filter(|d| **d >= level).count();
        if after.is_empty() || above * 10 < after.len() * 7 {
            continue;
        }
        if clears_again(profile, v, clear + LINE_CLEARS * (level - clear)) {
            continue;
        }
        let before = profile[row - 1];
        if row == a || before.is_nan() || before >= level {
            return Some(v);
        }
        return Some(patch::v_of(row as f64 - (value - level) / (value - before)));
    }
    None
}

/// The edge in a median profile with the levels on both sides, `v` in base widths.
///
/// `None` where no tissue is met within view.
fn common_edge(profile: &Along, start: f64) -> Option<(f64, Levels)> {
    let outside = known(profile, start - 0.35, start + 0.1);
    let inside = known(profile, start, 13.0);
    let high = quantile(&inside, 0.95)?;
    let mut clear = median(&outside)?.min(quantile(&inside, 0.1)?);
    let mut edge = crossing(
        profile,
        (clear, clear + 0.4 * (high - clear)),
        start,
        13.0,
        0.6,
    )?;
    let mut levels = Levels {
        clear,
        tissue: high,
    };
    for _ in 0..2 {
        let tissue = known(profile, edge + 0.35, edge + 1.6);
        let tissue = median(&tissue)?;
        if edge > start + 0.5 {
            let gap = known(profile, (start + 0.1).max(edge - 2.0), edge - 0.35);
            clear = median(&gap).unwrap_or(clear);
        }
        levels = Levels { clear, tissue };
        if tissue <= clear {
            return None;
        }
        edge = crossing(profile, (clear, levels.half()), start, 13.0, 0.5)?;
    }
    Some((edge, levels))
}

/// How far from the common edge that of one profile is looked for, in base widths.
fn own_reach(common: f64) -> f64 {
    (0.3 * common).clamp(0.6, 2.0)
}

/// The edge of one profile near the common edge, in base widths.
fn own_edge(profile: &Along, common: f64, levels: Levels, start: f64) -> Option<f64> {
    let reach = own_reach(common);
    let from = (common - reach).max(start);
    let to = common + reach;
    let own = known(profile, (common + 0.3).max(start), common + reach + 1.0);
    let levels = Levels {
        tissue: 0.5 * (levels.tissue + median(&own)?),
        ..levels
    };
    crossing(profile, (levels.clear, levels.half()), from, to, 0.4)
}

/// What is looked at on both sides of the middle between two setae, in base widths.
const MIDWAY: f64 = 0.4;
/// Rows smoothed into those in which an edge is looked for, in base widths.
const ROUND_IT: f64 = 0.25;

/// The edge of the epidermis over a photo, in base widths from the base line.
#[derive(Debug, Clone)]
pub struct Edges {
    /// The edge over all setae, with the levels on both sides.
    pub common: Option<(f64, Levels)>,
    /// The edge beneath each seta.
    pub own: Vec<Option<f64>>,
    /// Where the edge midway between setae is expected.
    expected_midway: Option<f64>,
    /// The edge midway between each seta and the next, once looked for.
    midway: Vec<Option<f64>>,
}

impl Edges {
    /// Finds the edge beneath setae.
    ///
    /// Near the base it is read beside the setae, where no bar and no cones lie; further in, in line
    /// with them.
    pub fn find(patches: &[Patch], weights: [f32; 3]) -> Self {
        let profiles = |from: f64, to: f64| -> Vec<Along> {
            patches
                .iter()
                .map(|patch| along(patch, weights, from, to))
                .collect()
        };
        let inline = profiles(0.0, 0.3);
        let beside = profiles(0.66, 1.0);
        let over_all = |profiles: &[Along], start: f64| {
            common_edge(&median_along(&profiles.iter().collect::<Vec<_>>()), start)
        };
        let common_beside = over_all(&beside, -0.3);
        let near = common_beside.is_some_and(|(v, _)| v < BESIDE_BELOW);
        let common = if near {
            common_beside
        } else {
            over_all(&inline, 0.5).or(common_beside)
        };
        let Some((v, levels)) = common else {
            return Self {
                common,
                own: vec![None; patches.len()],
                expected_midway: None,
                midway: Vec::new(),
            };
        };
        let own = if near {
            let at = |profile| own_edge(profile, v, levels, -0.3).map(|v| v.max(0.0));
            beside.iter().map(at).collect()
        } else {
            let at = |profile| own_edge(profile, v, levels, 0.45);
            inline.iter().map(at).collect()
        };
        Self {
            common,
            own,
            expected_midway: Some(v + if near { 0.0 } else { 0.2 }),
            midway: Vec::new(),
        }
    }

    /// Looks for the edge midway between each seta and the next, in the patches that `middle` gives.
    pub fn look_midway(
        &mut self,
        setae: &[SetaFrame],
        weights: [f32; 3],
        middle: impl Fn(&[SetaFrame], Part) -> Option<Patch> + Sync,
    ) {
        let (Some(expected), Some(levels)) = (self.expected_midway, self.levels()) else {
            return;
        };
        let reach = own_reach(expected);
        let part = Part {
            from: expected - reach - ROUND_IT,
            to: expected + reach + LINE_OVER + ROUND_IT,
            reach: MIDWAY,
        };
        let edge = |pair: &[SetaFrame]| {
            let profile = along(&middle(pair, part)?, weights, 0.0, MIDWAY);
            own_edge(&profile, expected, levels, -0.3)
        };
        self.midway = setae.par_windows(2).map(edge).collect();
    }

    /// The levels on both sides of the edge.
    pub fn levels(&self) -> Option<Levels> {
        self.common.map(|common| common.1)
    }

    /// The edges between seta `i` and its two neighbours.
    pub fn midway_of(&self, i: usize) -> [Option<f64>; 2] {
        let at = |index: Option<usize>| self.midway.get(index?).copied().flatten();
        [at(i.checked_sub(1)), at(Some(i))]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Density along a seta: `line` from 0.2 base widths outside of the base line to 0.5 inside, tissue of
    /// density 0.3 from `edge` on.
    fn profile(line: f64, edge: f64) -> Along {
        (0..ROWS)
            .map(|row| {
                let v = patch::v_of(row as f64);
                if v >= edge {
                    0.3
                } else if (-0.2..=0.5).contains(&v) {
                    line
                } else {
                    0.02
                }
            })
            .collect()
    }

    #[test]
    fn a_dark_line_of_the_cuticle_is_no_epidermis() {
        for line in [0.02, 0.15, 0.3] {
            let (edge, levels) = common_edge(&profile(line, 5.0), -0.3).unwrap();
            assert!((edge - 5.0).abs() < 0.1, "{line}: {edge}");
            assert!(levels.clear < 0.05 && levels.tissue > 0.25);
        }
        // no gap at all: the tissue goes on behind the line
        let (edge, _) = common_edge(&profile(0.3, 0.0), -0.3).unwrap();
        assert!(edge.abs() < 0.3, "{edge}");
    }

    #[test]
    fn a_blurred_edge_stays_where_it_is() {
        for tissue in [0.2, 0.5, 1.0] {
            let dark = libm::exp10(-tissue);
            let blurred: Along = (0..ROWS)
                .map(|row| {
                    let v = patch::v_of(row as f64);
                    let within = 0.5 * (1.0 + libm::erf((v - 5.0) / 0.35));
                    optical_density(1.0 - within * (1.0 - dark), 1.0)
                })
                .collect();
            // an eighth of a grid step: the levels on both sides are taken where the blur has nearly ended
            let (edge, _) = common_edge(&blurred, 0.5).unwrap();
            assert!((edge - 5.0).abs() < 0.01, "{tissue}: {edge}");
        }
    }
}
