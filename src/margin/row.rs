//! The row of setal bases: where the shafts that come in from outside end.
//!
//! Shafts are found by their coherence: the density gradient along s, averaged along a slanted line,
//! keeps its strength on a shaft and averages out elsewhere.

use crate::margin::blur::blurred;
use crate::margin::strip::Strip;
use crate::micrograph::Plane;
use crate::statistics::robust::quantile;
use rayon::prelude::*;

/// Length of a block along s, in strip pixels.
const BLOCK: usize = 96;
/// Distance from block to block.
const HOP: usize = 48;
/// Half length of the slanted average, in strip pixels.
const HALF: isize = 7;

/// The gradient of the density along s, blurred a little; 0 outside of the photo.
pub fn gradient_along(density: &Plane, sigma: f32) -> Plane {
    let (width, height) = (density.width() as usize, density.height() as usize);
    let mut filled = density.clone();
    for value in filled.iter_mut().filter(|value| value.is_nan()) {
        *value = 0.0;
    }
    let smooth = blurred(&filled, sigma);
    drop(filled);
    let mut gradient = Plane::new(density.width(), density.height());
    // a NaN within reach of the blur must not make an edge
    let reach = (3.0 * sigma).ceil() as usize + 1;
    if width < 2 * reach + 1 {
        return gradient;
    }
    let rows: Vec<&[f32]> = density.as_raw().chunks_exact(width).collect();
    let values = gradient.chunks_exact_mut(width);
    let inner = reach..width - reach;
    for (y, (values, smooth)) in values.zip(smooth.as_raw().chunks_exact(width)).enumerate() {
        let above = &rows[y.saturating_sub(reach)][inner.clone()];
        let below = &rows[(y + reach).min(height - 1)][inner.clone()];
        let (left, right) = (&rows[y][..width - 2 * reach], &rows[y][2 * reach..]);
        let (before, after) = (&smooth[reach - 1..], &smooth[reach + 1..]);
        let near = above.iter().zip(below).zip(left.iter().zip(right));
        let steps = before.iter().zip(after);
        for ((value, ((a, b), (l, r))), (before, after)) in
            values[inner.clone()].iter_mut().zip(near).zip(steps)
        {
            // a sum with a NaN is NaN
            let seen = !(a + b + (l + r)).is_nan();
            *value = if seen { (after - before) / 2.0 } else { 0.0 };
        }
        for x in (1..reach).chain(width - reach..width - 1) {
            let (left, right) = (x.saturating_sub(reach), (x + reach).min(width - 1));
            let near = [rows[y][left], rows[y][right]];
            let beyond = [
                rows[y.saturating_sub(reach)][x],
                rows[(y + reach).min(height - 1)][x],
            ];
            if !near.into_iter().chain(beyond).any(f32::is_nan) {
                values[x] = (smooth[x + 1] - smooth[x - 1]) / 2.0;
            }
        }
    }
    gradient
}

/// What one block along the strip shows.
#[derive(Debug, Clone)]
pub struct Block {
    /// Middle of the block, strip columns.
    pub column: f64,
    /// Slant of the shafts there: columns per row.
    pub slant: f32,
    /// Amplitude of the shafts over the rows.
    pub amplitude: Vec<f32>,
    /// The level of the amplitude on shafts.
    pub level: f32,
    /// Row of the bases, once found.
    pub row: f64,
}

/// Columns that are added up side by side.
const LANES: usize = 16;

/// Mean square of the slanted average of `gradient` over columns `from..to` at `row`.
fn coherent_energy(gradient: &Plane, from: usize, to: usize, row: usize, slant: f32) -> f32 {
    let width = gradient.width() as usize;
    let raw = gradient.as_raw();
    // the rows of the average that lie in the strip, each with the column at which it begins there
    let mut lines: [(&[f32], isize); (2 * HALF + 1) as usize] = Default::default();
    let mut used = 0;
    for tau in -HALF..=HALF {
        let y = row as isize + tau;
        if y >= 0 && y < gradient.height() as isize {
            let line = &raw[y as usize * width..][..width];
            lines[used] = (line, from as isize + (slant * tau as f32).round() as isize);
            used += 1;
        }
    }
    let lines = &lines[..used];
    let leftmost = lines.iter().map(|line| line.1).min().unwrap_or(0);
    let rightmost = lines.iter().map(|line| line.1).max().unwrap_or(0);
    let mut squares = [0.0_f32; 8];
    for first in (0..to - from).step_by(LANES) {
        let lanes = LANES.min(to - from - first);
        let place = |start: isize| start + first as isize;
        let mut sums = [0.0_f32; LANES];
        if lanes == LANES && place(leftmost) >= 0 && place(rightmost) as usize + LANES <= width {
            for (line, start) in lines {
                add(&mut sums, &line[place(*start) as usize..][..LANES]);
            }
        } else {
            // what lies outside of the strip adds nothing
            for (line, start) in lines {
                let begin = place(*start).clamp(0, width as isize);
                let end = (place(*start) + lanes as isize).clamp(begin, width as isize);
                let skipped = (begin - place(*start)) as usize;
                let seen = &line[begin as usize..end as usize];
                add(&mut sums[skipped.min(lanes)..lanes], seen);
            }
        }
        for chunk in sums.as_chunks::<8>().0 {
            for (square, sum) in squares.iter_mut().zip(chunk) {
                *square += sum * sum;
            }
        }
    }
    let n = (2 * HALF + 1) as f32;
    squares.iter().sum::<f32>() / (n * n * (to - from) as f32)
}

fn add(sums: &mut [f32], seen: &[f32]) {
    for (sum, seen) in sums.iter_mut().zip(seen) {
        *sum += seen;
    }
}

/// The whole number from `-most` to `most` with most energy: looked for in steps of `coarse`, then
/// around the best one.
fn strongest(most: i32, coarse: usize, energy: &impl Fn(i32) -> f32) -> i32 {
    let first = -(most - most % coarse as i32);
    let mut best = (f32::NEG_INFINITY, 0);
    let mut look = |k: i32| {
        let value = energy(k);
        if value > best.0 {
            best = (value, k);
        }
        best.1
    };
    let mut middle = 0;
    for k in (first..=most).step_by(coarse) {
        middle = look(k);
    }
    let reach = coarse as i32 - 1;
    for k in (middle - reach..=middle + reach).filter(|k| *k != middle && k.abs() <= most) {
        look(k);
    }
    best.1
}

/// Amplitude row by row: taken at every other row, since a row holds the mean of many.
fn amplitudes(rows: usize, at: &impl Fn(usize) -> f32) -> Vec<f32> {
    let taken: Vec<f32> = (0..rows).step_by(2).map(at).collect();
    (0..rows)
        .map(|row| {
            let before = taken[row / 2];
            let after = taken[(row.div_ceil(2)).min(taken.len() - 1)];
            f32::midpoint(before, after)
        })
        .collect()
}

/// Looks at a strip block by block: slant and amplitude of the shafts.
pub fn blocks(strip: &Strip, gradient: &Plane, outside_rows: usize) -> Vec<Block> {
    let columns = strip.columns();
    let rows = strip.rows();
    let count = if columns <= BLOCK {
        1
    } else {
        (columns - BLOCK) / HOP + 1
    };
    (0..count)
        .into_par_iter()
        .map(|index| {
            let from = index * HOP;
            let to = (from + BLOCK).min(columns);
            // slant: the one with most energy over the rows outside
            let step = HALF as usize;
            let energy = |slant: f32| -> f32 {
                (step..outside_rows.min(rows))
                    .step_by(step)
                    .map(|row| coherent_energy(gradient, from, to, row, slant))
                    .sum()
            };
            let slant = 0.1 * strongest(13, 3, &|k| energy(0.1 * k as f32)) as f32;
            let amplitude = amplitudes(rows, &|row| {
                coherent_energy(gradient, from, to, row, slant).sqrt()
            });
            let outside: Vec<f64> = amplitude[..outside_rows.min(rows)]
                .iter()
                .filter(|a| **a > 0.0)
                .map(|a| f64::from(*a))
                .collect();
            let level = quantile(&outside, 0.85).unwrap_or(0.0) as f32;
            Block {
                column: (from + to) as f64 / 2.0,
                slant,
                amplitude,
                level,
                row: 0.0,
            }
        })
        .collect()
}

/// Shafts bend away from the common slant: further out this share of their amplitude is enough.
const FAR_SHARE: f32 = 0.5;

/// What it costs a path to leave its row for the next one, in falls of the usual amplitude. Our choice.
const PRICE: f32 = 0.08;

/// Finds the row of the bases through all blocks: the path of the steepest fall of the amplitude.
///
/// `latest` is the last row that may hold bases; `window` the rows compared on either side. Gives how far
/// the amplitude falls along the path, in the mean and as a share of the usual amplitude.
pub fn follow_row(blocks: &mut [Block], latest: usize, window: usize) -> f32 {
    let Some(rows) = blocks.first().map(|b| b.amplitude.len()) else {
        return 0.0;
    };
    let latest = latest.min(rows.saturating_sub(window + 1));
    let reference: Vec<f64> = blocks.iter().map(|b| f64::from(b.level)).collect();
    let common = quantile(&reference, 0.6).unwrap_or(1.0).max(1e-9) as f32;
    let steps: Vec<Vec<f32>> = blocks
        .iter()
        .map(|block| {
            let mut sums = vec![0.0_f32];
            for a in &block.amplitude {
                sums.push(sums[sums.len() - 1] + a.min(1.5 * common));
            }
            (0..=latest)
                .map(|row| {
                    if row < window {
                        return -1.0;
                    }
                    let near = (sums[row] - sums[row - window]) / window as f32;
                    // shafts are long: what ends here must also be there further out, which the
                    // notches of the epidermis and the tips of new setae are not
                    let outer = row.saturating_sub(3 * window);
                    let far =
                        (sums[row - window] - sums[outer]) / (row - window - outer).max(1) as f32;
                    let before = near.min(far / FAR_SHARE);
                    let after = (sums[row + window] - sums[row]) / window as f32;
                    (before - after) / common
                })
                .collect()
        })
        .collect();
    // best path: each block may differ from the one before by some rows, at a price
    let reach = 24_usize;
    let mut best = vec![steps[0].clone()];
    let mut from: Vec<Vec<usize>> = vec![Vec::new()];
    for step in &steps[1..] {
        let last = &best[best.len() - 1];
        let mut now = Vec::with_capacity(latest + 1);
        let mut back = Vec::with_capacity(latest + 1);
        for (row, gain) in step.iter().enumerate() {
            let low = row.saturating_sub(reach);
            let high = (row + reach).min(latest);
            let mut top = (f32::NEG_INFINITY, row);
            for (previous, value) in last.iter().enumerate().take(high + 1).skip(low) {
                let value = value - PRICE * previous.abs_diff(row) as f32;
                if value > top.0 {
                    top = (value, previous);
                }
            }
            now.push(top.0 + gain);
            back.push(top.1);
        }
        best.push(now);
        from.push(back);
    }
    let end = best[best.len() - 1]
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map_or(0, |(row, _)| row);
    let mut row = end;
    let mut fall = 0.0;
    for index in (0..blocks.len()).rev() {
        blocks[index].row = row as f64;
        fall += steps[index][row];
        if index > 0 {
            row = from[index][row];
        }
    }
    fall / blocks.len() as f32
}

/// The slant of the shafts within `rows`, block by block, in finer steps.
pub fn slants(strip: &Strip, gradient: &Plane, rows: std::ops::Range<usize>) -> Vec<(f64, f64)> {
    let columns = strip.columns();
    let length = (2 * BLOCK).min(columns);
    let count = (columns - length) / HOP + 1;
    (0..count)
        .into_par_iter()
        .map(|index| {
            let from = index * HOP;
            let to = from + length;
            let energy = |k: i32| -> f32 {
                rows.clone()
                    .step_by(HALF as usize)
                    .map(|row| coherent_energy(gradient, from, to, row, k as f32 * 0.05))
                    .sum()
            };
            let best = strongest(24, 4, &energy);
            ((from + to) as f64 / 2.0, f64::from(best) * 0.05)
        })
        .collect()
}

/// The slant at a column, linear between blocks.
pub fn slant_at(blocks: &[(f64, f64)], column: f64) -> f64 {
    let after = blocks.partition_point(|block| block.0 < column);
    if blocks.is_empty() {
        0.0
    } else if after == 0 {
        blocks[0].1
    } else if after == blocks.len() {
        blocks[after - 1].1
    } else {
        let (a, b) = (blocks[after - 1], blocks[after]);
        a.1 + (b.1 - a.1) * (column - a.0) / (b.0 - a.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::Luma;

    fn drawn() -> Plane {
        Plane::from_fn(70, 30, |x, y| {
            Luma([((x * 7 + y * 13 + x * y) % 17) as f32 * 0.2 - 1.5])
        })
    }

    #[test]
    fn the_energy_is_that_of_slanted_means() {
        let gradient = drawn();
        let (width, height) = (70_isize, 30_isize);
        for (from, to, row, slant) in [
            (20, 53, 15, 0.7),
            (0, 40, 3, -1.2),
            (41, 70, 28, 1.3),
            (0, 70, 15, 1.3),
        ] {
            let mean = |column: usize| -> f32 {
                let seen = (-HALF..=HALF).filter_map(|tau| {
                    let x = column as isize + (slant * tau as f32).round() as isize;
                    let y = row as isize + tau;
                    let inside = (0..width).contains(&x) && (0..height).contains(&y);
                    inside.then(|| gradient.get_pixel(x as u32, y as u32)[0])
                });
                seen.sum::<f32>() / (2 * HALF + 1) as f32
            };
            let squares = (from..to).map(|column| mean(column).powi(2));
            let wanted = squares.sum::<f32>() / (to - from) as f32;
            let energy = coherent_energy(&gradient, from, to, row, slant);
            assert!((energy - wanted).abs() < 1e-5, "{energy} {wanted}");
        }
    }

    #[test]
    fn the_end_of_the_photo_is_no_edge() {
        let mut density = drawn();
        for (_, y, value) in density.enumerate_pixels_mut() {
            if y >= 20 {
                value.0 = [f32::NAN];
            }
        }
        let gradient = gradient_along(&density, 1.0);
        let smooth = blurred(&drawn(), 1.0);
        for (x, y) in [(1, 5), (2, 9), (35, 9), (67, 5), (68, 0)] {
            let step = smooth.get_pixel(x + 1, y)[0] - smooth.get_pixel(x - 1, y)[0];
            assert!((gradient.get_pixel(x, y)[0] - step / 2.0).abs() < 1e-6);
        }
        // a blur of one pixel reaches two, and what it reaches from three
        for y in 16..30 {
            assert_eq!(gradient.get_pixel(35, y)[0], 0.0);
        }
    }
}
