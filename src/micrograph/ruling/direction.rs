//! The direction across the marks, and the profile of brightness in that direction.

use crate::micrograph::Plane;
use crate::micrograph::ruling::NoRuling;

/// Side of the blocks by which the lit field is told from the dark round it, in pixels.
const BLOCK: u32 = 16;

/// Gradients of a ruling point one way: 1 = all of them, 0 = evenly in all directions.
///
/// # Source
/// Our choice, between the rulings (above 0.8) and the other pictures of `tests/suite/ruling.rs`.
const LEAST_COHERENCE: f64 = 0.45;

/// Most pixels that one step of the search for the angle looks at.
const SEARCH_PIXELS: u64 = 1_200_000;

/// The dark outside a field stop is wider than twice this many blocks, a dark line is not.
const FIELD_STOP_REACH: i64 = 4;

/// Which blocks of a photo are lit: those outside a round field stop are not.
pub(in crate::micrograph::ruling) struct Lit {
    across: u32,
    blocks: Vec<bool>,
}

impl Lit {
    /// Finds the lit blocks: those away from wide regions with less than two fifths of the light of
    /// the brighter ones.
    pub(in crate::micrograph::ruling) fn of(light: &Plane) -> Self {
        let across = light.width().div_ceil(BLOCK);
        let down = light.height().div_ceil(BLOCK);
        let mut means = Vec::with_capacity((across * down) as usize);
        for by in 0..down {
            for bx in 0..across {
                let (x0, y0) = (bx * BLOCK, by * BLOCK);
                let (x1, y1) = (
                    (x0 + BLOCK).min(light.width()),
                    (y0 + BLOCK).min(light.height()),
                );
                let mut sum = 0.0_f64;
                for y in y0..y1 {
                    for x in x0..x1 {
                        sum += f64::from(light.get_pixel(x, y).0[0]);
                    }
                }
                means.push(sum / f64::from((x1 - x0) * (y1 - y0)));
            }
        }
        let mut sorted = means.clone();
        sorted.sort_by(f64::total_cmp);
        let least = 0.4 * sorted[sorted.len() * 4 / 5];
        let dark: Vec<bool> = means.iter().map(|mean| *mean < least).collect();
        // Dark lines are narrow and stay; the dark outside a field stop is wide.
        let wide = eroded(&dark, across, FIELD_STOP_REACH);
        let lit: Vec<bool> = wide.iter().map(|dark| !dark).collect();
        Self {
            across,
            blocks: eroded(&lit, across, FIELD_STOP_REACH + 1),
        }
    }

    fn at(&self, x: u32, y: u32) -> bool {
        self.blocks[(y / BLOCK * self.across + x / BLOCK) as usize]
    }
}

/// For each block, whether all blocks of the photo up to `reach` away are set.
fn eroded(blocks: &[bool], across: u32, reach: i64) -> Vec<bool> {
    let across = i64::from(across);
    let down = blocks.len() as i64 / across;
    (0..down)
        .flat_map(|by| (0..across).map(move |bx| (bx, by)))
        .map(|(bx, by)| {
            ((by - reach).max(0)..=(by + reach).min(down - 1)).all(|y| {
                ((bx - reach).max(0)..=(bx + reach).min(across - 1))
                    .all(|x| blocks[(y * across + x) as usize])
            })
        })
        .collect()
}

/// The angle of the direction across the marks, in radians from right towards down.
///
/// # Errors
/// [`NoRuling::Blank`] and [`NoRuling::NoDirection`].
pub(in crate::micrograph::ruling) fn across_the_marks(
    light: &Plane,
    lit: &Lit,
) -> Result<f64, NoRuling> {
    let mut angle = gradient_direction(light, lit)?;
    let diagonal = f64::from(light.width()).hypot(f64::from(light.height()));
    // Over a short length along the marks a coarse angle is good enough to see them; each longer
    // one narrows it, until the whole length of the photo is used.
    let mut length = 60.0_f64;
    loop {
        let step = 1.2 / length;
        let score = |turn: i32| {
            let bands = Bands::fill(light, lit, angle + f64::from(turn) * step, length, true);
            bands.sharpness().iter().sum::<f64>()
        };
        let scores: Vec<f64> = (-4..=4).map(score).collect();
        let best = (0..scores.len())
            .max_by(|a, b| scores[*a].total_cmp(&scores[*b]))
            .unwrap_or(4);
        let top = best.clamp(1, scores.len() - 2);
        let shift = vertex(scores[top - 1], scores[top], scores[top + 1]);
        angle += (top as f64 - 4.0 + shift) * step;
        if length >= diagonal {
            return Ok(angle);
        }
        length = (length * 3.0).min(diagonal);
    }
}

/// Where the parabola through three neighbouring values is highest, from the middle one, at most
/// one step away.
pub(in crate::micrograph::ruling) fn vertex(before: f64, middle: f64, after: f64) -> f64 {
    let bend = before - 2.0 * middle + after;
    if bend < 0.0 {
        (0.5 * (before - after) / bend).clamp(-1.0, 1.0)
    } else {
        0.0
    }
}

/// The main direction of the gradients, from their second moments (structure tensor).
///
/// The share of the noise, equal in all directions, is estimated from the weakest gradients: squared
/// lengths of normal noise are exponential, a tenth of them below 0.105 of their mean.
fn gradient_direction(light: &Plane, lit: &Lit) -> Result<f64, NoRuling> {
    let (width, height) = light.dimensions();
    let (mut xx, mut xy, mut yy) = (0.0_f64, 0.0_f64, 0.0_f64);
    let mut lengths = Vec::new();
    for y in 1..height - 1 {
        for x in 1..width - 1 {
            if !lit.at(x, y) {
                continue;
            }
            let (gx, gy) = sobel(light, x, y);
            xx += gx * gx;
            xy += gx * gy;
            yy += gy * gy;
            if (x + y) % 7 == 0 {
                lengths.push(gx * gx + gy * gy);
            }
        }
    }
    if lengths.is_empty() {
        return Err(NoRuling::Blank);
    }
    let count = lengths.len() * 7;
    let tenth = lengths.len() / 10;
    lengths.select_nth_unstable_by(tenth, f64::total_cmp);
    let noise = lengths[tenth] / 0.105 * count as f64;
    let total = xx + yy;
    let one_way = (xx - yy).hypot(2.0 * xy);
    // A ruling adds to the noise; what does not reach a twentieth of a grey value is none.
    if total / (count as f64) < 0.01 {
        return Err(NoRuling::Blank);
    }
    let coherence = one_way / (total - noise.min(0.8 * total));
    if coherence < LEAST_COHERENCE {
        return Err(NoRuling::NoDirection);
    }
    Ok(0.5 * (2.0 * xy).atan2(xx - yy))
}

fn sobel(light: &Plane, x: u32, y: u32) -> (f64, f64) {
    let at = |dx: i64, dy: i64| {
        f64::from(
            light
                .get_pixel((i64::from(x) + dx) as u32, (i64::from(y) + dy) as u32)
                .0[0],
        )
    };
    let right = at(1, -1) + 2.0 * at(1, 0) + at(1, 1);
    let left = at(-1, -1) + 2.0 * at(-1, 0) + at(-1, 1);
    let down = at(-1, 1) + 2.0 * at(0, 1) + at(1, 1);
    let up = at(-1, -1) + 2.0 * at(0, -1) + at(1, -1);
    ((right - left) / 8.0, (down - up) / 8.0)
}

/// Profiles across the marks, one for each of several bands that follow each other along them.
struct Bands {
    bins: usize,
    sums: Vec<f64>,
    weights: Vec<f64>,
}

impl Bands {
    /// Sorts the lit pixels into bins of one pixel across the marks and bands of `length` along
    /// them; `sparse` leaves pixels out along the marks.
    fn fill(light: &Plane, lit: &Lit, angle: f64, length: f64, sparse: bool) -> Self {
        let (width, height) = light.dimensions();
        let (cos, sin) = (libm::cos(angle), libm::sin(angle));
        let corners = [(0, 0), (width, 0), (0, height), (width, height)]
            .map(|(x, y)| (f64::from(x), f64::from(y)));
        let least = |f: &dyn Fn(f64, f64) -> f64| {
            corners
                .iter()
                .map(|(x, y)| f(*x, *y))
                .fold(f64::INFINITY, f64::min)
        };
        let u0 = least(&|x, y| x * cos + y * sin);
        let v0 = least(&|x, y| y * cos - x * sin);
        let bins = (-least(&|x, y| -x * cos - y * sin) - u0).ceil() as usize + 2;
        let extent = -least(&|x, y| x * sin - y * cos) - v0;
        let bands = (extent / length).ceil().max(1.0) as usize;
        let pixels = u64::from(width) * u64::from(height);
        let stride = if sparse {
            (pixels.div_ceil(SEARCH_PIXELS) as usize).max(1)
        } else {
            1
        };
        // Upright marks leave out rows, lying ones columns.
        let (step_x, step_y) = if cos.abs() >= sin.abs() {
            (1, stride)
        } else {
            (stride, 1)
        };
        let mut filled = Self {
            bins,
            sums: vec![0.0; bins * bands],
            weights: vec![0.0; bins * bands],
        };
        for y in (0..height).step_by(step_y) {
            for x in (0..width).step_by(step_x) {
                if !lit.at(x, y) {
                    continue;
                }
                let u = f64::from(x) * cos + f64::from(y) * sin - u0;
                let v = f64::from(y) * cos - f64::from(x) * sin - v0;
                let band = ((v / length) as usize).min(bands - 1);
                let bin = (u as usize).min(bins - 2);
                let part = u - bin as f64;
                let value = f64::from(light.get_pixel(x, y).0[0]);
                let at = band * bins + bin;
                filled.sums[at] += value * (1.0 - part);
                filled.weights[at] += 1.0 - part;
                filled.sums[at + 1] += value * part;
                filled.weights[at + 1] += part;
            }
        }
        filled
    }

    /// For each band, how much its profile changes from bin to bin, weighted by its pixels.
    fn sharpness(&self) -> Vec<f64> {
        self.sums
            .chunks(self.bins)
            .zip(self.weights.chunks(self.bins))
            .map(|(sums, weights)| {
                let mut sharpness = 0.0;
                for i in 2..sums.len() {
                    let weight = weights[i].min(weights[i - 2]);
                    if weight > 2.0 {
                        let change = sums[i] / weights[i] - sums[i - 2] / weights[i - 2];
                        sharpness += weight * change * change;
                    }
                }
                sharpness
            })
            .collect()
    }
}

/// The profile across the marks, in bins of one pixel, taken where along the marks they are
/// densest: short marks count, what lies beside the ruling does not.
pub(in crate::micrograph::ruling) fn best_profile(
    light: &Plane,
    lit: &Lit,
    angle: f64,
) -> Vec<f64> {
    let diagonal = f64::from(light.width()).hypot(f64::from(light.height()));
    let bands = Bands::fill(light, lit, angle, (diagonal / 40.0).max(8.0), false);
    let sharpness = bands.sharpness();
    let mut sorted = sharpness.clone();
    sorted.sort_by(f64::total_cmp);
    let least = 0.4 * sorted[(sorted.len() * 9 / 10).min(sorted.len() - 1)];
    let mut sums = vec![0.0; bands.bins];
    let mut weights = vec![0.0; bands.bins];
    for (band, sharp) in sharpness.iter().enumerate() {
        if *sharp >= least {
            for bin in 0..bands.bins {
                sums[bin] += bands.sums[band * bands.bins + bin];
                weights[bin] += bands.weights[band * bands.bins + bin];
            }
        }
    }
    // Corners of a turned photo hold few pixels and much noise: only the well filled middle counts.
    let enough = 0.3 * weights.iter().copied().fold(0.0, f64::max);
    let middle = (0..bands.bins)
        .max_by(|a, b| weights[*a].total_cmp(&weights[*b]))
        .unwrap_or(0);
    let filled = |bin: &usize| weights[*bin] >= enough && weights[*bin] > 0.0;
    let first = (0..=middle).rev().take_while(filled).last();
    let last = (middle..bands.bins).take_while(filled).last();
    match first.zip(last) {
        Some((first, last)) => (first..=last).map(|bin| sums[bin] / weights[bin]).collect(),
        None => Vec::new(),
    }
}
