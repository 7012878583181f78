//! Where setae stand along the row, and how wide they may be.
//!
//! A seta is darker than what lies on both sides of it at its foot, and its outer walls are a
//! darkening followed by a brightening one base width further on. A width is one at which most such
//! pairs are found; a wall, which is such a pair too, is told by what lies beside it.

use crate::margin::shafts::Profile;
use crate::margin::shafts::gradient;
use crate::statistics::robust::median;
use crate::statistics::robust::quantile;
use crate::statistics::robust::spread;

/// The nearest column, 0 at least: a cast cuts off what is below.
fn nearest(column: f64) -> usize {
    (column + 0.5) as usize
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
        let a = nearest(from);
        let b = (nearest(to) + 1).min(last);
        if a >= b {
            return None;
        }
        let count = self.count[b] - self.count[a];
        (count > 0.6 * (b - a) as f64).then(|| (self.value[b] - self.value[a]) / count)
    }

    /// The mean within a seta at `s`, and those on both sides of it, the lower first; at the border
    /// of the photo one side stands for both.
    fn with_sides(&self, s: f64, width: f64) -> Option<(f64, [f64; 2])> {
        let inside = self.mean(s - 0.3 * width, s + 0.3 * width)?;
        let before = self.mean(s - 0.95 * width, s - 0.65 * width);
        let after = self.mean(s + 0.65 * width, s + 0.95 * width);
        let (before, after) = (before.or(after)?, after.or(before)?);
        Some((inside, [before.min(after), before.max(after)]))
    }
}

/// How much column `s` looks like the axis of a seta `width` wide, for all columns.
fn likeness(profile: &Profile, slope: &[f32], width: f64) -> Vec<f32> {
    let foot = Sums::of(&profile.foot);
    let shaft = Sums::of(&profile.shaft);
    let n = slope.len();
    let tolerance = (0.14 * width).max(1.0);
    let peak = |at: f64, sign: f32| -> f32 {
        let from = nearest(at - tolerance).min(n - 1);
        let to = nearest(at + tolerance).min(n - 1);
        let mut top = 0.0_f32;
        for (i, value) in slope[from..=to].iter().enumerate() {
            let off = ((from + i) as f64 - at).abs() / tolerance;
            top = top.max(sign * value * (1.0 - 0.5 * off as f32));
        }
        top
    };
    let contrast = |sums: &Sums, s: f64| -> Option<f64> {
        let (inside, [lighter, darker]) = sums.with_sides(s, width)?;
        Some(inside - darker * 0.7 - lighter * 0.3)
    };
    (0..n)
        .map(|column| {
            let s = column as f64;
            // at the border of the photo only the foot or only the shaft is in view
            let (at_foot, outside) = (contrast(&foot, s), contrast(&shaft, s));
            let (Some(at_foot), Some(outside)) = (at_foot.or(outside), outside.or(at_foot)) else {
                return 0.0;
            };
            let darker = at_foot + 0.5 * outside;
            if darker <= 0.0 {
                return 0.0;
            }
            let left = peak(s - width / 2.0, 1.0);
            let right = peak(s + width / 2.0, -1.0);
            if left <= 0.0 || right <= 0.0 {
                return 0.0;
            }
            let edges = left.min(right) * 0.7 + left.max(right) * 0.3;
            (f64::from(edges) * darker).sqrt() as f32
        })
        .collect()
}

/// Axes of neighbouring setae are so many widths apart at least.
const NEAREST: f64 = 1.05;

/// Picks the best columns, strongest first, none too close to another.
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
            .all(|other| other.abs_diff(peak) as f64 >= NEAREST * width)
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

/// So many of the strongest places may be something else, such as the rim of a bubble.
const STRANGERS: usize = 4;
/// A place counts no more than one of this many times the strength of the first that is no stranger.
const COUNTED_MOST: f64 = 1.5;

/// How much all places together look like setae.
fn score(places: &[(f64, f32)]) -> f64 {
    let mut strengths: Vec<f64> = places.iter().map(|place| f64::from(place.1)).collect();
    strengths.sort_by(|a, b| b.total_cmp(a));
    let most = strengths
        .get(STRANGERS)
        .map_or(f64::INFINITY, |strength| COUNTED_MOST * strength);
    strengths.iter().map(|s| s.min(most).powi(2)).sum()
}

/// From each place to the next.
fn distances(places: &[(f64, f32)]) -> Vec<f64> {
    places.windows(2).map(|p| p[1].0 - p[0].0).collect()
}

/// Below this width, in strip pixels, what is found is a wall or noise rather than a seta.
const WALL_SCALE: f64 = 4.5;
/// A seta is at least so many times as wide as its walls are thick.
const WALLS_IN_WIDTH: f64 = 4.0;
/// Places with less than this share of the usual strength are found by their rhythm only.
const WEAK: f64 = 0.3;
/// A foot without a shaft must be darker by this share of the usual one.
const BARE_FOOT: f64 = 0.5;
/// So many feet without a shaft are looked for beyond the last seta at each end.
const BEYOND_ENDS: usize = 2;
/// Places with less than this share of the usual strength are not taken at all.
const FAINT: f64 = 0.08;

/// A base width under trial, with the places of setae of that width.
#[derive(Debug, Clone)]
pub struct Trial {
    /// Outer width, in columns.
    pub width: f64,
    /// Columns of the axes at t = 0, ascending, and how well each looks like a seta; 0 where only a
    /// foot is seen.
    pub places: Vec<(f64, f32)>,
    score: f64,
    weight: f64,
}

impl Trial {
    fn at(profile: &Profile, width: f64) -> Self {
        let places = pick(&likeness(profile, &gradient(&profile.shaft), width), width);
        Self {
            width,
            score: score(&places),
            places,
            weight: 0.0,
        }
    }

    /// The score weighed by the width: a single wall also looks like a narrow seta, there are two of
    /// them to a seta, and their edges are as steep as its own. A few chance places count little,
    /// and so do places that look like walls.
    ///
    /// `feet` is the density at the feet over a depth that would do for a seta of which this width is
    /// a wall.
    fn weigh(&mut self, profile: &Profile, feet: &[f32]) {
        let tiny = if self.width < WALL_SCALE { 0.01 } else { 1.0 };
        let n = self.places.len() as f64;
        let enough = (n - 4.0).max(0.1) / n.max(1.0);
        self.weight = tiny
            * self.score
            * self.width.powf(1.35)
            * enough
            * (-2.0 * self.likeness_to_walls(profile, feet)).exp();
    }

    /// How much the places look like the walls of wider setae: 0 for setae.
    ///
    /// A wall has a core on one side and the empty background on the other, and from wall to wall the
    /// sides change; a core as clear as the background has the base line at its foot. Walls also
    /// stand in pairs, so that their distances spread widely.
    fn likeness_to_walls(&self, profile: &Profile, feet: &[f32]) -> f64 {
        let strong = self.strong();
        let apart = distances(&strong);
        let uneven = spread(&apart)
            .zip(median(&apart))
            .map_or(0.0, |(spread, middle)| spread / middle.max(1e-9));
        let alternating = self
            .alternation(&strong, &profile.shaft)
            .max(self.alternation(&strong, feet));
        (alternating + 1.5 * uneven - 0.8).max(0.0)
    }

    /// How much the darker side of the places changes from each to the next: 1 where it always does,
    /// 0 where it never does or by chance.
    fn alternation(&self, strong: &[(f64, f32)], density: &[f32]) -> f64 {
        let sums = Sums::of(density);
        let w = self.width;
        let tilts: Vec<f64> = strong
            .iter()
            .map(|(s, _)| {
                let right = sums.mean(s + 0.6 * w, s + w);
                let left = sums.mean(s - w, s - 0.6 * w);
                right.zip(left).map_or(0.0, |(right, left)| right - left)
            })
            .collect();
        let squares: f64 = tilts.iter().map(|t| t * t).sum();
        let changes: f64 = tilts.windows(2).map(|pair| -pair[0] * pair[1]).sum();
        (changes / squares.max(1e-12)).max(0.0)
    }

    fn usual(&self) -> f64 {
        let strengths: Vec<f64> = self.places.iter().map(|p| f64::from(p.1)).collect();
        quantile(&strengths, 0.7).unwrap_or(0.0)
    }

    /// The places that are not far weaker than the usual one.
    fn strong(&self) -> Vec<(f64, f32)> {
        let least = WEAK * self.usual();
        let strong = |place: &&(f64, f32)| f64::from(place.1) > least;
        self.places.iter().filter(strong).copied().collect()
    }

    /// Puts bases without a shaft into the holes of the rhythm and beyond its ends: setae break or
    /// leave the photo, their feet stay.
    fn add_bare_feet(&mut self, profile: &Profile) {
        let sums = Sums::of(&profile.foot);
        let contrast = |s: f64| {
            let (inside, [_, darker]) = sums.with_sides(s, self.width)?;
            Some(inside - darker)
        };
        let usual: Vec<f64> = self.places.iter().filter_map(|p| contrast(p.0)).collect();
        let apart = distances(&self.places);
        let (Some(usual), Some(period)) = (median(&usual), median(&apart)) else {
            return;
        };
        if usual <= 0.0 {
            return;
        }
        let mut bare = Vec::new();
        let mut look_at = |expected: f64| {
            let reach = (0.25 * period).round() as i32;
            let best = (-reach..=reach)
                .filter_map(|off| {
                    let column = expected + f64::from(off);
                    Some((column, contrast(column)?))
                })
                .max_by(|a, b| a.1.total_cmp(&b.1));
            let found = best.filter(|b| b.1 > BARE_FOOT * usual)?.0;
            bare.push((found, 0.0));
            Some(found)
        };
        for (pair, apart) in self.places.windows(2).zip(&apart) {
            let steps = (apart / period).round();
            if !(2.0..=4.0).contains(&steps) || *apart < 1.6 * period {
                continue;
            }
            for step in 1..steps as usize {
                look_at(pair[0].0 + apart * step as f64 / steps);
            }
        }
        // at the border of the photo the feet are in view and the shafts no longer
        let ends = self.places.first().zip(self.places.last());
        for (end, step) in ends
            .into_iter()
            .flat_map(|(a, b)| [(a.0, -period), (b.0, period)])
        {
            let mut at = end;
            for _ in 0..BEYOND_ENDS {
                let Some(found) = look_at(at + step) else {
                    break;
                };
                at = found;
            }
        }
        self.places.extend(bare);
        self.places.sort_by(|a, b| a.0.total_cmp(&b.0));
    }

    /// The strong places, and weak ones that fill a hole in their rhythm.
    fn with_holes_filled(&self) -> Vec<(f64, f32)> {
        let strong = self.strong();
        let apart = distances(&strong);
        let Some(period) = median(&apart) else {
            return strong;
        };
        let least = FAINT * self.usual();
        let mut kept = strong;
        let mut weak: Vec<(f64, f32)> = self
            .places
            .iter()
            .filter(|p| f64::from(p.1) > least && !kept.contains(p))
            .copied()
            .collect();
        weak.sort_by(|a, b| b.1.total_cmp(&a.1));
        for place in weak {
            let next = kept.partition_point(|k| k.0 < place.0);
            let before = next.checked_sub(1).map(|i| place.0 - kept[i].0);
            let after = kept.get(next).map(|k| k.0 - place.0);
            let fits = |apart: Option<f64>| apart.is_none_or(|a| a > 0.65 * period);
            let near = |apart: Option<f64>| apart.is_some_and(|a| a < 1.5 * period);
            if fits(before) && fits(after) && (near(before) || near(after)) {
                kept.insert(next, place);
            }
        }
        kept
    }
}

/// How many widths are handed on at most.
const HANDED_ON: usize = 2;
/// A width with less than this share of the best weight is not handed on.
const WORTH_TRYING: f64 = 0.3;

/// The widths setae may have, the likeliest first, with the places of the setae at t = 0.
///
/// `profile_at` gives the profiles for a width under trial. Only widths at which the score has a
/// peak count; empty when nothing looks like a seta.
pub fn find_widths(
    profile_at: &impl Fn(f64) -> Profile,
    narrowest: f64,
    widest: f64,
) -> Vec<Trial> {
    let mut trials: Vec<Trial> = Vec::new();
    let mut width = narrowest;
    while width <= widest {
        trials.push(Trial::at(&profile_at(width), width));
        width *= 1.06;
    }
    let best = trials.iter().map(|t| t.score).fold(0.0, f64::max);
    let peak = |i: usize| {
        let score = trials[i].score;
        let near = &trials[i.saturating_sub(3)..(i + 4).min(trials.len())];
        score > 0.01 * best && near.iter().all(|t| t.score <= score)
    };
    let mut peaks: Vec<Trial> = (0..trials.len())
        .filter(|i| peak(*i))
        .map(|i| trials[i].clone())
        .collect();
    for trial in &mut peaks {
        let profile = profile_at(trial.width);
        let feet = profile_at(WALLS_IN_WIDTH * trial.width).foot;
        trial.weigh(&profile, &feet);
        trial.places = trial.with_holes_filled();
        trial.add_bare_feet(&profile);
    }
    peaks.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let least = peaks.first().map_or(0.0, |t| WORTH_TRYING * t.weight);
    peaks.retain(|t| t.weight > least);
    peaks.truncate(HANDED_ON);
    peaks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rim_of_a_bubble_counts_little_more_than_a_seta() {
        let setae: Vec<(f64, f32)> = (0..12).map(|i| (20.0 * f64::from(i), 1.0)).collect();
        let mut with_bubble = setae.clone();
        with_bubble.extend([(7.0, 9.0), (33.0, 8.0)]);
        assert_eq!(score(&setae), 12.0);
        assert_eq!(score(&with_bubble), 12.0 + 2.0 * COUNTED_MOST.powi(2));
        // so few that any of them may be strange: all count as they are
        assert_eq!(score(&with_bubble[11..]), 1.0 + 81.0 + 64.0);
    }
}
