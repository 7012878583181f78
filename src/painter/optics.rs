//! From optical density to the file's samples: light, blur, sensor, colour coding.

use crate::geometry::Point;
use crate::painter::camera::Camera;
use crate::painter::camera::RoundField;
use crate::painter::ink::ramp;
use crate::painter::plane::length_of;
use crate::painter::view::View;
use rand::Rng as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Linear light per channel, row by row, three samples per pixel, full scale 1.
pub(crate) fn expose(ink: &mut [f32], view: &View, camera: &Camera) {
    let width = view.width as usize;
    let field = LightField::new(view, camera);
    ink.par_chunks_mut(width * 3)
        .enumerate()
        .for_each(|(y, row)| {
            for (x, pixel) in row.chunks_exact_mut(3).enumerate() {
                let here = field.at(x as f64, y as f64);
                for (channel, sample) in pixel.iter_mut().enumerate() {
                    // Beer-Lambert: I = I0 · 10^-OD
                    let passed = libm::exp2f(*sample * -std::f32::consts::LOG2_10);
                    *sample = passed * (here * camera.light[channel]) as f32;
                }
            }
        });
}

/// The light without anything on the slide.
struct LightField<'a> {
    camera: &'a Camera,
    middle: Point,
    half_diagonal: f64,
    short: f64,
    along: Point,
}

impl<'a> LightField<'a> {
    fn new(view: &View, camera: &'a Camera) -> Self {
        let (w, h) = (f64::from(view.width), f64::from(view.height));
        let (sin, cos) = libm::sincos(camera.falloff_angle);
        Self {
            camera,
            middle: Point::new((w - 1.0) / 2.0, (h - 1.0) / 2.0),
            half_diagonal: libm::hypot(w, h) / 2.0,
            short: w.min(h),
            along: Point::new(cos, sin),
        }
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let p = Point::new(x, y).minus(self.middle);
        let way = p.dot(self.along) / self.half_diagonal;
        let r2 = p.dot(p) / (self.half_diagonal * self.half_diagonal);
        let mut light = self.camera.exposure;
        light *= 1.0 - self.camera.falloff * (0.5 + 0.5 * way);
        light *= 1.0 - self.camera.vignette * r2;
        if let Some(field) = &self.camera.field {
            light *= self.inside(field, p);
        }
        for [dx, dy, radius, density] in &self.camera.dust {
            let w = self.middle.x * 2.0;
            let d = libm::hypot(x - dx * w, y - dy * w);
            if d < radius * w * 1.6 {
                light *= 1.0 - density * ramp(radius * w - d, radius * w * 0.5);
            }
        }
        light
    }

    fn inside(&self, field: &RoundField, p: Point) -> f64 {
        let centre = Point::new(field.x, field.y).times(self.short);
        let d = length_of(p.minus(centre)) / self.short;
        field.outside + (1.0 - field.outside) * ramp(field.radius - d, field.soft)
    }
}

/// Blurs the light in place: evenly, or more toward one side where the focus is tilted.
pub(crate) fn blur(light: &mut Vec<f32>, view: &View, camera: &Camera) {
    let width = view.width as usize;
    if camera.blur_tilt <= 0.05 {
        if camera.blur > 0.05 {
            *light = gaussian(light, width, camera.blur);
        }
        return;
    }
    let levels = 5;
    let (w, h) = (f64::from(view.width), f64::from(view.height));
    let (sin, cos) = libm::sincos(camera.tilt_angle);
    let half = f64::midpoint(w * cos.abs(), h * sin.abs());
    let sigma =
        |level: usize| camera.blur + camera.blur_tilt * level as f64 / f64::from(levels - 1);
    let mut out = vec![0.0_f32; light.len()];
    for level in 0..levels as usize {
        let soft = gaussian(light, width, sigma(level));
        out.par_chunks_mut(width * 3)
            .zip(soft.par_chunks(width * 3))
            .enumerate()
            .for_each(|(y, (to, from))| {
                let v = y as f64 - h / 2.0;
                for x in 0..width {
                    let way = 0.5 + 0.5 * ((x as f64 - w / 2.0) * cos + v * sin) / half;
                    let weight = 1.0 - (way * f64::from(levels - 1) - level as f64).abs();
                    if weight > 0.0 {
                        for channel in x * 3..x * 3 + 3 {
                            to[channel] += from[channel] * weight as f32;
                        }
                    }
                }
            });
    }
    *light = out;
}

/// A separable Gaussian over interleaved samples; the border repeats.
fn gaussian(samples: &[f32], width: usize, sigma: f64) -> Vec<f32> {
    if sigma < 0.05 {
        return samples.to_vec();
    }
    let radius = (sigma * 3.0).ceil() as usize;
    let mut kernel: Vec<f32> = (0..=radius)
        .map(|i| libm::exp(-0.5 * (i as f64 / sigma) * (i as f64 / sigma)) as f32)
        .collect();
    let sum = kernel[0] + 2.0 * kernel[1..].iter().sum::<f32>();
    for weight in &mut kernel {
        *weight /= sum;
    }
    let row_length = width * 3;
    let rows = samples.len() / row_length;
    let mut across = vec![0.0_f32; samples.len()];
    across
        .par_chunks_mut(row_length)
        .enumerate()
        .for_each(|(y, to)| {
            let from = &samples[y * row_length..(y + 1) * row_length];
            let mut wide = vec![0.0_f32; row_length + radius * 6];
            for i in 0..radius * 3 {
                wide[i] = from[i % 3];
                wide[radius * 3 + row_length + i] = from[row_length - 3 + i % 3];
            }
            wide[radius * 3..radius * 3 + row_length].copy_from_slice(from);
            for (i, sample) in to.iter_mut().enumerate() {
                *sample = kernel[0] * wide[i + radius * 3];
            }
            for (k, weight) in kernel.iter().enumerate().skip(1) {
                let (low, high) = (&wide[(radius - k) * 3..], &wide[(radius + k) * 3..]);
                for (sample, (a, b)) in to.iter_mut().zip(low.iter().zip(high)) {
                    *sample += weight * (a + b);
                }
            }
        });
    let mut out = vec![0.0_f32; samples.len()];
    out.par_chunks_mut(row_length)
        .enumerate()
        .for_each(|(y, to)| {
            for k in 0..=radius * 2 {
                let from = (y + k).saturating_sub(radius).min(rows - 1);
                let weight = kernel[k.abs_diff(radius)];
                let row = &across[from * row_length..(from + 1) * row_length];
                for (sample, source) in to.iter_mut().zip(row) {
                    *sample += weight * source;
                }
            }
        });
    out
}

/// The sensor: one channel if it has no colour, shot and read noise.
pub(crate) fn sense(light: &mut Vec<f32>, view: &View, camera: &Camera) {
    let width = view.width as usize;
    if camera.monochrome {
        light.par_chunks_mut(3).for_each(|pixel| {
            let grey = (pixel[0] + pixel[1] + pixel[2]) / 3.0;
            pixel.fill(grey);
        });
    }
    if camera.full_well <= 0.0 {
        return;
    }
    let clean = camera.smooth_noise.then(|| light.clone());
    let well = camera.full_well as f32;
    let read = (camera.read_noise * camera.read_noise) as f32;
    light
        .par_chunks_mut(width * 3)
        .enumerate()
        .for_each(|(y, row)| {
            let mut stream = ChaCha8Rng::seed_from_u64(camera.seed ^ ((y as u64) << 20));
            for pixel in row.chunks_exact_mut(3) {
                let common = gauss(&mut stream);
                for sample in pixel {
                    let n = if camera.monochrome {
                        common
                    } else {
                        gauss(&mut stream)
                    };
                    let electrons = (*sample * well).max(0.0);
                    *sample += (electrons + read).sqrt() / well * n;
                }
            }
        });
    if let Some(clean) = clean {
        // the camera's own smoothing acts on the noise and leaves its mean
        let soft = gaussian(light, width, 0.8);
        let even = gaussian(&clean, width, 0.8);
        light
            .par_iter_mut()
            .zip(clean.par_iter().zip(soft.par_iter().zip(even.par_iter())))
            .for_each(|(sample, (clean, (soft, even)))| *sample = clean + 1.6 * (soft - even));
    }
}

/// Nearly normal, standard deviation 1: the sum of four even draws.
fn gauss(stream: &mut ChaCha8Rng) -> f32 {
    let bits = stream.next_u64();
    let sum = (0..4)
        .map(|i| ((bits >> (16 * i)) & 0xFFFF) as f32)
        .sum::<f32>();
    (sum / 65_535.0 - 2.0) * 1.732_050_8
}

/// Linear light to sRGB samples 0 to 255, sharpened where asked.
///
/// # Source
/// IEC 61966-2-1 (sRGB): 12.92·x below 0.0031308, else 1.055·x^(1/2.4) - 0.055.
pub(crate) fn encode(light: &[f32], view: &View, camera: &Camera) -> Vec<u8> {
    let steps = 8192;
    let table: Vec<f32> = (0..=steps + 1)
        .map(|i| {
            let x = f64::from(i) / f64::from(steps);
            let coded = if x <= 0.003_130_8 {
                12.92 * x
            } else {
                1.055 * libm::pow(x, 1.0 / 2.4) - 0.055
            };
            (coded * 255.0) as f32
        })
        .collect();
    let coded: Vec<f32> = light
        .par_iter()
        .map(|x| {
            let at = x.clamp(0.0, 1.0) * steps as f32;
            let i = at as usize;
            table[i] + (table[i + 1] - table[i]) * (at - i as f32)
        })
        .collect();
    let sharp = if camera.sharpen > 0.0 {
        let soft = gaussian(&coded, view.width as usize, 1.2);
        let strength = camera.sharpen as f32;
        coded
            .par_iter()
            .zip(soft.par_iter())
            .map(|(sample, soft)| sample + strength * (sample - soft))
            .collect()
    } else {
        coded
    };
    sharp
        .par_iter()
        .map(|sample| sample.round().clamp(0.0, 255.0) as u8)
        .collect()
}
