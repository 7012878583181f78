//! Shafts across the row: where they stand, how they lean and how wide a seta is.
//!
//! A seta is darker than what lies on both sides of it at its foot, and its outer walls are a
//! darkening followed by a brightening one base width further on. The width is the one for which
//! most such pairs are found.

use crate::micrograph::Plane;
use crate::statistics::robust::median;
use crate::statistics::robust::quantile;

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

/// Averages `density` over the rows from `first` to `last`, each row shifted by the slant times its
/// distance from `zero_row`; NaN where too little is in view.
pub fn band_profile(
    density: &Plane,
    zero_row: f64,
    (first, last): (f64, f64),
    slant: &impl Fn(f64) -> f64,
) -> Vec<f32> {
    let width = density.width() as usize;
    let height = density.height() as isize;
    let first = (zero_row + first).round() as isize;
    let last = ((zero_row + last).round() as isize).max(first);
    let raw = density.as_raw();
    (0..width)
        .map(|column| {
            let slope = slant(column as f64) as f32;
            let (mut sum, mut count) = (0.0_f32, 0.0_f32);
            for row in first.max(0)..=last.min(height - 1) {
                let x = column as f32 + slope * (row as f32 - zero_row as f32);
                let left = x.floor();
                if left < 0.0 || left as usize + 1 >= width {
                    continue;
                }
                let at = row as usize * width + left as usize;
                let value = raw[at] + (raw[at + 1] - raw[at]) * (x - left);
                if !value.is_nan() {
                    sum += value;
                    count += 1.0;
                }
            }
            if count > 0.5 * (last - first + 1) as f32 {
                sum / count
            } else {
                f32::NAN
            }
        })
        .collect()
}

/// Slope of a profile, a little smoothed; 0 where it is not known.
fn gradient(profile: &[f32]) -> Vec<f32> {
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

/// Running sums that skip what is not known.
struct Sums {
    value: Vec<f64>,
    count: Vec<f64>,
}

impl Sums {
    fn of(profile: &[f32]) -> Self {
        let mut value = vec![0.0];
        let mut count = vec![0.0];
        for v in profile {
            let known = !v.is_nan();
            value.push(value[value.len() - 1] + if known { f64::from(*v) } else { 0.0 });
            count.push(count[count.len() - 1] + f64::from(u8::from(known)));
        }
        Self { value, count }
    }

    fn mean(&self, from: f64, to: f64) -> Option<f64> {
        let last = self.value.len() - 1;
        let a = from.round().max(0.0) as usize;
        let b = (to.round().max(0.0) as usize + 1).min(last);
        if a >= b {
            return None;
        }
        let count = self.count[b] - self.count[a];
        (count > 0.6 * (b - a) as f64).then(|| (self.value[b] - self.value[a]) / count)
    }
}

/// How much column `s` looks like the axis of a seta `width` wide, for all columns.
fn likeness(profile: &Profile, slope: &[f32], width: f64) -> Vec<f32> {
    let foot = Sums::of(&profile.foot);
    let shaft = Sums::of(&profile.shaft);
    let n = slope.len();
    let tolerance = (0.14 * width).max(1.0);
    let peak = |at: f64, sign: f32| -> f32 {
        let from = ((at - tolerance).round().max(0.0) as usize).min(n - 1);
        let to = ((at + tolerance).round().max(0.0) as usize).min(n - 1);
        let mut top = 0.0_f32;
        for (i, value) in slope[from..=to].iter().enumerate() {
            let off = ((from + i) as f64 - at).abs() / tolerance;
            top = top.max(sign * value * (1.0 - 0.5 * off as f32));
        }
        top
    };
    let contrast = |sums: &Sums, s: f64| -> Option<f64> {
        let inside = sums.mean(s - 0.3 * width, s + 0.3 * width)?;
        let before = sums.mean(s - 0.95 * width, s - 0.65 * width)?;
        let after = sums.mean(s + 0.65 * width, s + 0.95 * width)?;
        Some(inside - before.max(after) * 0.7 - before.min(after) * 0.3)
    };
    (0..n)
        .map(|column| {
            let s = column as f64;
            let left = peak(s - width / 2.0, 1.0);
            let right = peak(s + width / 2.0, -1.0);
            if left <= 0.0 || right <= 0.0 {
                return 0.0;
            }
            let (Some(at_foot), Some(outside)) = (contrast(&foot, s), contrast(&shaft, s)) else {
                return 0.0;
            };
            let darker = at_foot + 0.5 * outside;
            if darker <= 0.0 {
                return 0.0;
            }
            let edges = left.min(right) * 0.7 + left.max(right) * 0.3;
            (f64::from(edges) * darker).sqrt() as f32
        })
        .collect()
}

/// Picks the best columns, strongest first, none closer than 1.2 widths to another.
fn pick(likeness: &[f32], width: f64) -> Vec<(f64, f32)> {
    let reach = (0.5 * width).round().max(1.0) as usize;
    let n = likeness.len();
    let mut peaks: Vec<usize> = (0..n)
        .filter(|i| {
            let value = likeness[*i];
            value > 0.0
                && likeness[i.saturating_sub(reach)..(i + reach + 1).min(n)]
                    .iter()
                    .all(|other| *other <= value)
        })
        .collect();
    peaks.sort_by(|a, b| likeness[*b].total_cmp(&likeness[*a]));
    let mut chosen: Vec<usize> = Vec::new();
    for peak in peaks {
        if chosen
            .iter()
            .all(|other| other.abs_diff(peak) as f64 >= 1.2 * width)
        {
            chosen.push(peak);
        }
    }
    chosen.sort_unstable();
    chosen
        .into_iter()
        .map(|i| (i as f64, likeness[i]))
        .collect()
}

/// Below this width, in strip pixels, what is found is a wall or noise rather than a seta.
const WALL_SCALE: f64 = 4.5;

/// One width under trial.
struct Trial {
    width: f64,
    score: f64,
    places: Vec<(f64, f32)>,
}

impl Trial {
    /// The score weighed by the width: a single wall also looks like a narrow seta, there are two of
    /// them to a seta, and their edges are as steep as its own. A few chance places count little.
    fn weighed(&self) -> f64 {
        let wall = if self.width < WALL_SCALE { 0.01 } else { 1.0 };
        let n = self.places.len() as f64;
        wall * self.score * self.width.powf(1.25) * (n - 4.0).max(0.1) / n
    }

    /// The places that are not far weaker than the usual one.
    fn strong(&self) -> Vec<(f64, f32)> {
        let strengths: Vec<f64> = self.places.iter().map(|p| f64::from(p.1)).collect();
        let usual = quantile(&strengths, 0.7).unwrap_or(0.0);
        self.places
            .iter()
            .copied()
            .filter(|p| f64::from(p.1) > 0.3 * usual)
            .collect()
    }
}

/// Finds the base width (in columns) and the columns of the setae at t = 0.
///
/// `profile_at` gives the profiles for a width under trial. Of the widths at which the score has a
/// peak, the one with the highest weighed score is taken.
pub fn find_width(
    profile_at: &impl Fn(f64) -> Profile,
    narrowest: f64,
    widest: f64,
) -> Option<(f64, Vec<(f64, f32)>)> {
    let mut trials: Vec<Trial> = Vec::new();
    let mut width = narrowest;
    while width <= widest {
        let profile = profile_at(width);
        let slope = gradient(&profile.shaft);
        let places = pick(&likeness(&profile, &slope, width), width);
        let score = places.iter().map(|p| f64::from(p.1).powi(2)).sum();
        trials.push(Trial {
            width,
            score,
            places,
        });
        width *= 1.06;
    }
    let best = trials.iter().map(|t| t.score).fold(0.0, f64::max);
    if best <= 0.0 {
        return None;
    }
    let peaks: Vec<usize> = (0..trials.len())
        .filter(|i| {
            let score = trials[*i].score;
            let from = i.saturating_sub(3);
            let to = (i + 4).min(trials.len());
            score >= 0.03 * best && trials[from..to].iter().all(|t| t.score <= score)
        })
        .collect();
    let chosen = peaks
        .into_iter()
        .max_by(|a, b| trials[*a].weighed().total_cmp(&trials[*b].weighed()))?;
    let trial = trials.swap_remove(chosen);
    Some((trial.width, trial.strong()))
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
    density: &Plane,
    zero_row: f64,
    width: f64,
    places: &[(f64, f32)],
    slant: &impl Fn(f64) -> f64,
) -> Vec<Shaft> {
    let half = (0.3 * width).max(1.5);
    let centres: Vec<f64> = [-0.35, -0.8, -1.25, -1.7, -2.15]
        .iter()
        .map(|c| c * width)
        .collect();
    let slopes: Vec<Vec<f32>> = centres
        .iter()
        .map(|centre| {
            // columns of this profile are those at t = 0: undo the shift to the band's own rows
            gradient(&band_profile(
                density,
                zero_row,
                (centre - half, centre + half),
                slant,
            ))
        })
        .collect();
    places
        .iter()
        .filter_map(|(column, strength)| {
            let lean = slant(*column);
            let at_zero = *column;
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
    if points.len() < 2 {
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
