//! The even row of marks in a profile.

use crate::micrograph::ruling::NoRuling;
use crate::micrograph::ruling::direction::vertex;

/// Fewest marks by which a distance is judged.
///
/// # Source
/// Our choice: with five the row can be told from chance and its evenness from the residuals.
const LEAST_MARKS: usize = 5;

/// Shortest and longest distance of two marks, in pixels: closer ones are no longer separate.
const PERIODS_PX: (f64, f64) = (5.0, 400.0);

/// How much of its own likeness a profile must keep when shifted by the period, 0 to 1.
///
/// # Source
/// Our choice, between the rulings and the other pictures of `tests/suite/ruling.rs`.
const LEAST_LIKENESS: f64 = 0.35;

/// How far marks may lie off an even row, as a share of their distance, with a floor in pixels.
///
/// # Source
/// Our choice: engraved marks lie within a hundredth, setae differ by a tenth.
const MOST_UNEVEN: (f64, f64) = (0.03, 0.3);

/// What the residuals do not tell: the drawing of bins and the levelling of the profile move the
/// period by up to this share.
///
/// # Source
/// Measured on the drawn rulings of `tests/suite/ruling.rs`, whose period is known.
const BINNING: f64 = 1e-4;

/// Marks at equal distances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::micrograph::ruling) struct EvenRow {
    /// Distance of two marks, in bins.
    pub(in crate::micrograph::ruling) period: f64,
    /// Standard error of the distance, in bins.
    pub(in crate::micrograph::ruling) error: f64,
    /// Marks used.
    pub(in crate::micrograph::ruling) marks: usize,
}

/// Finds the row of marks in a profile with one value per pixel.
///
/// # Errors
/// [`NoRuling::NoPeriod`], [`NoRuling::TooFewMarks`] and [`NoRuling::Uneven`].
pub(in crate::micrograph::ruling) fn even_row(profile: &[f64]) -> Result<EvenRow, NoRuling> {
    if profile.len() < 4 * PERIODS_PX.0 as usize {
        return Err(NoRuling::NoPeriod);
    }
    let rough = levelled(profile, profile.len() / 3);
    let first = repeat(&rough).ok_or(NoRuling::NoPeriod)?;
    let level = levelled(profile, (2.0 * first).round() as usize);
    let marks = dark_marks(&level);
    let period = stretched(&autocorrelation(&marks), first);
    let centres = walk(&marks, period);
    fit(&centres)
}

/// The profile less its running mean over `window` values.
fn levelled(profile: &[f64], window: usize) -> Vec<f64> {
    let half = (window / 2).max(1);
    let mut before = vec![0.0; profile.len() + 1];
    for (i, value) in profile.iter().enumerate() {
        before[i + 1] = before[i] + value;
    }
    (0..profile.len())
        .map(|i| {
            let (from, to) = (i.saturating_sub(half), (i + half + 1).min(profile.len()));
            profile[i] - (before[to] - before[from]) / (to - from) as f64
        })
        .collect()
}

/// The profile turned over where needed, so that marks stand up.
fn dark_marks(level: &[f64]) -> Vec<f64> {
    let skew: f64 = level.iter().map(|value| value.powi(3)).sum();
    let sign = if skew > 0.0 { 1.0 } else { -1.0 };
    level.iter().map(|value| sign * value).collect()
}

/// Likeness of a profile to itself shifted by 0, 1, 2 ... bins, 1 at no shift.
fn autocorrelation(level: &[f64]) -> Vec<f64> {
    let n = level.len();
    let longest = (n / 2).min((PERIODS_PX.1 * 6.0) as usize);
    let at = |lag: usize| {
        let sum: f64 = level[lag..].iter().zip(level).map(|(a, b)| a * b).sum();
        sum / (n - lag) as f64
    };
    let whole = at(0);
    (0..longest)
        .map(|lag| if whole > 0.0 { at(lag) / whole } else { 0.0 })
        .collect()
}

/// The shortest shift after which a profile is like itself.
fn repeat(level: &[f64]) -> Option<f64> {
    let likeness = autocorrelation(level);
    let apart = likeness.iter().position(|value| *value < 0.0)?;
    let peaks: Vec<usize> = (apart.max(2)..likeness.len().saturating_sub(1))
        .filter(|lag| {
            let value = likeness[*lag];
            value > likeness[lag - 1] && value >= likeness[lag + 1]
        })
        .collect();
    let best = peaks
        .iter()
        .map(|lag| likeness[*lag])
        .fold(f64::NEG_INFINITY, f64::max);
    if best < LEAST_LIKENESS {
        return None;
    }
    let lag = peaks.into_iter().find(|lag| likeness[*lag] >= 0.6 * best)?;
    let period = lag as f64 + vertex(likeness[lag - 1], likeness[lag], likeness[lag + 1]);
    (PERIODS_PX.0..=PERIODS_PX.1)
        .contains(&period)
        .then_some(period)
}

/// A finer period from later repeats, as far as they can be followed.
fn stretched(likeness: &[f64], first: f64) -> f64 {
    let mut period = first;
    for times in [2_usize, 3, 4, 6, 8, 12] {
        let guess = period * times as f64;
        let reach = (0.3 * period).max(1.0);
        let from = (guess - reach).max(1.0) as usize;
        let to = (guess + reach) as usize + 1;
        if to + 1 >= likeness.len() {
            break;
        }
        let Some(lag) = (from..=to).max_by(|a, b| likeness[*a].total_cmp(&likeness[*b])) else {
            break;
        };
        if likeness[lag] < 0.5 * LEAST_LIKENESS || lag == from || lag == to {
            break;
        }
        let exact = lag as f64 + vertex(likeness[lag - 1], likeness[lag], likeness[lag + 1]);
        period = exact / times as f64;
    }
    period
}

/// A mark: its number in the row, counted from the one where the walk began, and its centre.
type Mark = (i64, f64);

/// Walks from the strongest mark in the middle to both ends and takes the centre of each mark.
fn walk(marks: &[f64], period: f64) -> Vec<Mark> {
    let n = marks.len() as f64;
    let (from, to) = ((n * 0.35) as usize, (n * 0.65) as usize);
    let Some(start) = (from..to).max_by(|a, b| marks[*a].total_cmp(&marks[*b])) else {
        return Vec::new();
    };
    let least = 0.25 * typical_height(marks, period);
    let mut found: Vec<Mark> = centre(marks, start as f64, period, least)
        .map(|at| (0, at))
        .into_iter()
        .collect();
    for way in [-1_i64, 1] {
        let mut last = (0_i64, found.first().map_or(start as f64, |mark| mark.1));
        let mut missing = 0;
        for number in 1.. {
            let number = way * number;
            let guess = last.1 + (number - last.0) as f64 * period;
            if guess < 0.0 || guess > n - 1.0 || missing > 3 {
                break;
            }
            match centre(marks, guess, period, least) {
                Some(at) => {
                    found.push((number, at));
                    last = (number, at);
                    missing = 0;
                }
                None => missing += 1,
            }
        }
    }
    found.sort_by_key(|mark| mark.0);
    found
}

/// Median over the periods of the highest value in each.
fn typical_height(marks: &[f64], period: f64) -> f64 {
    let mut tops: Vec<f64> = marks
        .chunks(period.round().max(1.0) as usize)
        .map(|chunk| chunk.iter().copied().fold(f64::NEG_INFINITY, f64::max))
        .collect();
    tops.sort_by(f64::total_cmp);
    tops[tops.len() / 2]
}

/// The centre of gravity of the mark nearest to `guess`; `None` where none stands up enough or the
/// profile ends within it.
fn centre(marks: &[f64], guess: f64, period: f64, least: f64) -> Option<f64> {
    let reach = 0.35 * period;
    let from = (guess - reach).round().max(0.0) as usize;
    let to = ((guess + reach).round() as usize).min(marks.len() - 1);
    let top = (from..=to).max_by(|a, b| marks[*a].total_cmp(&marks[*b]))?;
    if marks[top] < least {
        return None;
    }
    let foot = 0.25 * marks[top];
    let most = (0.5 * period) as usize;
    let left = (0..=top)
        .rev()
        .take(most + 1)
        .take_while(|i| marks[*i] > foot)
        .last()?;
    let right = (top..marks.len())
        .take(most + 1)
        .take_while(|i| marks[*i] > foot)
        .last()?;
    if left == 0 || right == marks.len() - 1 {
        return None;
    }
    let (mut weight, mut moment) = (0.0, 0.0);
    for (i, value) in marks.iter().enumerate().take(right + 2).skip(left - 1) {
        let above = (value - foot).max(0.0);
        weight += above;
        moment += above * i as f64;
    }
    Some(moment / weight)
}

/// The straight line through the centres of the marks over their numbers, by least squares, once
/// more without those that lie far off it.
fn fit(marks: &[Mark]) -> Result<EvenRow, NoRuling> {
    let few = |found| NoRuling::TooFewMarks {
        found,
        least: LEAST_MARKS,
    };
    if marks.len() < LEAST_MARKS {
        return Err(few(marks.len()));
    }
    let first = line(marks);
    let off = |mark: &Mark, line: &Line| (mark.1 - line.start - line.slope * mark.0 as f64).abs();
    let mut offs: Vec<f64> = marks.iter().map(|mark| off(mark, &first)).collect();
    offs.sort_by(f64::total_cmp);
    let most = (4.0 * 1.4826 * offs[offs.len() / 2]).max(0.1);
    let kept: Vec<Mark> = marks
        .iter()
        .copied()
        .filter(|mark| off(mark, &first) <= most)
        .collect();
    let row = line(&kept);
    let expected = (marks[marks.len() - 1].0 - marks[0].0 + 1) as f64;
    if kept.len() < LEAST_MARKS {
        return Err(few(kept.len()));
    }
    if (kept.len() as f64) < 0.75 * expected {
        return Err(NoRuling::NoPeriod);
    }
    if row.off > (MOST_UNEVEN.0 * row.slope).max(MOST_UNEVEN.1) {
        return Err(NoRuling::Uneven {
            off_px: row.off,
            period_px: row.slope,
        });
    }
    Ok(EvenRow {
        period: row.slope,
        error: row.slope_error.hypot(BINNING * row.slope),
        marks: kept.len(),
    })
}

struct Line {
    start: f64,
    slope: f64,
    slope_error: f64,
    off: f64,
}

/// # Formula
/// slope b = S(k u) / S(k k), its standard error s / sqrt(S(k k)), with k the numbers and u the
/// centres less their means, S the sum, and s^2 = S(residual^2) / (n - 2).
fn line(marks: &[Mark]) -> Line {
    let n = marks.len() as f64;
    let mean_k = marks.iter().map(|mark| mark.0 as f64).sum::<f64>() / n;
    let mean_u = marks.iter().map(|mark| mark.1).sum::<f64>() / n;
    let (mut kk, mut ku) = (0.0, 0.0);
    for (number, at) in marks {
        let k = *number as f64 - mean_k;
        kk += k * k;
        ku += k * (at - mean_u);
    }
    let slope = ku / kk;
    let start = mean_u - slope * mean_k;
    let squares: f64 = marks
        .iter()
        .map(|mark| (mark.1 - start - slope * mark.0 as f64).powi(2))
        .sum();
    let off = (squares / (n - 2.0).max(1.0)).sqrt();
    Line {
        start,
        slope,
        slope_error: off / kk.sqrt(),
        off,
    }
}
