//! The outer width of a seta from the density across it: two walls, a core, and a blur.
//!
//! A wall that is blurred seems to end further out than it does, and how far hangs on how thick it
//! is, which differs from animal to animal. So a section of a tube is fitted as a whole: what lies
//! within the outer walls, what lies within the inner ones, and the blur of their edges.

/// A section under trial, in the unit of the samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// From outer wall to outer wall.
    pub width: f64,
    /// Thickness of a wall.
    pub wall: f64,
    /// Standard deviation of the blur.
    pub blur: f64,
}

/// Step of the radii under trial.
const STEP: f64 = 0.01;
/// Outer radii under trial, in steps.
const OUTER: std::ops::RangeInclusive<usize> = 28..=72;
/// Thicknesses of a wall under trial, in steps.
const WALLS: [usize; 12] = [4, 5, 6, 8, 10, 12, 14, 16, 19, 22, 26, 30];
/// Blurs under trial: between two samples a sharper edge would show nowhere.
const BLURS: [f64; 8] = [0.04, 0.05, 0.06, 0.08, 0.105, 0.135, 0.17, 0.22];
/// Where blur hides how thick a wall is, it is taken for this share of the width, give or take the
/// share in logarithms. Our choice: a shaft is a tube with a thin wall.
const USUAL_WALL: (f64, f64) = (0.14, 0.4);
/// Residuals that are expected, as a share of the height of the section.
const NOISE: f64 = 0.03;

/// The walls are at least this share as dark as what fills the lumen. Our choice.
const FAINTEST_WALL: f64 = 0.3;

/// How much of what lies within `radius` shows at `u` when blurred.
fn within(u: f64, radius: f64, blur: f64) -> f64 {
    let k = std::f64::consts::FRAC_1_SQRT_2 / blur;
    0.5 * (libm::erf((u + radius) * k) - libm::erf((u - radius) * k))
}

/// Fits the section of a tube to density across a seta; `levels` are (distance from the axis,
/// density), in about one width, the distances from 0 to 0.95 at most.
///
/// The mean over all sections, each weighed by how well it fits. `None` when no section that is
/// darker than its surroundings fits.
///
/// # Formula
/// d(u) = a + b B(u, w/2, s) + c B(u, w/2 - T, s), with B the share of a band of that half width
/// under a Gaussian blur s; w width, T wall, a the surroundings.
///
/// # Source
/// Our choice (docs/methods.md).
pub fn fit_section(levels: &[(f64, f64)]) -> Option<Section> {
    let known: Vec<(f64, f64)> = levels.iter().copied().filter(|l| !l.1.is_nan()).collect();
    if known.len() < 8 {
        return None;
    }
    let high = known.iter().map(|l| l.1).fold(f64::MIN, f64::max);
    let low = known.iter().map(|l| l.1).fold(f64::MAX, f64::min);
    let noise = NOISE * (high - low).max(1e-6);
    let mut trials: Vec<(f64, Section)> = Vec::new();
    for blur in BLURS {
        let bands: Vec<Vec<f64>> = (0..=*OUTER.end())
            .map(|k| {
                let radius = k as f64 * STEP;
                known.iter().map(|l| within(l.0, radius, blur)).collect()
            })
            .collect();
        for outer in OUTER {
            for wall in WALLS {
                if wall + 3 > outer {
                    continue;
                }
                let Some(misfit) = misfit(&known, &bands[outer], &bands[outer - wall]) else {
                    continue;
                };
                let section = Section {
                    width: 2.0 * outer as f64 * STEP,
                    wall: wall as f64 * STEP,
                    blur,
                };
                let z = libm::log(section.wall / section.width / USUAL_WALL.0) / USUAL_WALL.1;
                trials.push((misfit / (noise * noise) + z * z, section));
            }
        }
    }
    let best = trials.iter().map(|t| t.0).fold(f64::INFINITY, f64::min);
    let mut total = 0.0;
    let mut mean = [0.0; 3];
    for (cost, section) in &trials {
        let weight = (-0.5 * (cost - best)).exp();
        total += weight;
        for (sum, value) in mean
            .iter_mut()
            .zip([section.width, section.wall, section.blur])
        {
            *sum += weight * value;
        }
    }
    (total > 0.0).then(|| Section {
        width: mean[0] / total,
        wall: mean[1] / total,
        blur: mean[2] / total,
    })
}

/// Sum of squares that the best surroundings, walls and core leave; `None` where the walls would not
/// be dark.
fn misfit(known: &[(f64, f64)], outer: &[f64], inner: &[f64]) -> Option<f64> {
    let n = known.len() as f64;
    let (mut so, mut si, mut sd) = (0.0, 0.0, 0.0);
    for ((level, o), i) in known.iter().zip(outer).zip(inner) {
        so += o;
        si += i;
        sd += level.1;
    }
    let (mo, mi, md) = (so / n, si / n, sd / n);
    let (mut oo, mut oi, mut ii, mut od, mut id, mut dd) = (1e-9, 0.0, 1e-9, 0.0, 0.0, 0.0);
    for ((level, o), i) in known.iter().zip(outer).zip(inner) {
        let (o, i, d) = (o - mo, i - mi, level.1 - md);
        oo += o * o;
        oi += o * i;
        ii += i * i;
        od += o * d;
        id += i * d;
        dd += d * d;
    }
    let det = oo * ii - oi * oi;
    if det <= 1e-12 {
        return None;
    }
    let walls = (od * ii - id * oi) / det;
    let core = (id * oo - od * oi) / det;
    // a wall is darker than what lies outside of it, and not lost beside what fills the lumen
    (walls > 0.0 && walls >= FAINTEST_WALL * (walls + core))
        .then(|| (dd - walls * od - core * id).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(width: f64, wall: f64, blur: f64, core: f64, tolerance: f64) {
        let levels: Vec<(f64, f64)> = (0..=11)
            .map(|k| {
                let u = f64::from(k) / 12.0;
                let walls = within(u, width / 2.0, blur);
                let inside = within(u, width / 2.0 - wall, blur);
                (u, 0.02 + 0.3 * walls + (core - 0.3) * inside)
            })
            .collect();
        let found = fit_section(&levels).unwrap();
        assert!((found.width - width).abs() <= tolerance, "{found:?}");
    }

    #[test]
    fn the_width_is_found_whatever_the_wall() {
        for wall in [0.07, 0.12, 0.18, 0.24] {
            check(1.0, wall, 0.04, 0.05, 0.03);
            check(0.85, wall, 0.04, 0.05, 0.04);
            check(1.2, wall, 0.04, 0.05, 0.04);
        }
    }

    #[test]
    fn blur_moves_the_width_little() {
        // tolerance: half of what a wall differs between animals
        for wall in [0.1, 0.14, 0.18] {
            check(1.0, wall, 0.1, 0.05, 0.06);
        }
    }

    #[test]
    fn a_filled_lumen_shows_its_outer_edge() {
        check(1.0, 0.14, 0.04, 0.3, 0.03);
        // a lumen darker than the walls hides half of one
        check(0.9, 0.14, 0.08, 0.5, 0.07);
    }

    #[test]
    fn nothing_dark_gives_no_width() {
        let levels: Vec<(f64, f64)> = (0..=11).map(|k| (f64::from(k) / 12.0, -0.0)).collect();
        // flat: any width fits equally, none is preferred far from the middle of the trials
        let found = fit_section(&levels);
        assert!(found.is_none_or(|s| (s.width - 1.0).abs() < 0.15));
        assert_eq!(fit_section(&[]), None);
    }
}
