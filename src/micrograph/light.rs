//! Linear light, the light field behind the animal, and optical density.
//!
//! The light field is what the camera would have seen without the animal: a smooth surface per
//! channel, fitted in the logarithm of the intensity. A first fit is stiff (a plane and a fall-off
//! about the centre) so that it cannot bend into a large blade; a second fit outside the blade may
//! be a free quadratic.

use crate::geometry::Point;
use crate::micrograph::Micrograph;
use crate::micrograph::Plane;
use crate::micrograph::Samples;
use crate::micrograph::colour::linear_from_srgb;
use crate::statistics::robust::quantile;
use nalgebra::DMatrix;
use nalgebra::DVector;
use rayon::prelude::*;

/// Least intensity that counts: half a code of an eight-bit camera, in linear light.
const FLOOR: f32 = 0.000_15;

/// A picture in linear light, each channel a plane of `height x width` numbers from 0 to 1.
///
/// It may be smaller than its photo by a whole `factor`, each pixel then being a mean of
/// `factor x factor` pixels of the photo.
#[derive(Debug, Clone)]
pub struct LinearLight {
    planes: [Plane; 3],
    factor: u32,
}

impl LinearLight {
    /// The linear light of a micrograph, `factor` times smaller on each side (1 = full size).
    pub fn of(micrograph: &Micrograph, factor: u32) -> Self {
        let factor = factor.max(1);
        let (width, height) = (
            (micrograph.width() / factor).max(1),
            (micrograph.height() / factor).max(1),
        );
        let planes = match micrograph.samples() {
            Samples::Eight(picture) => {
                let table = table(usize::from(u8::MAX));
                shrink(
                    picture.as_raw(),
                    picture.width(),
                    [width, height],
                    factor,
                    &|c: u8| table[usize::from(c)],
                )
            }
            Samples::Sixteen(picture) => {
                let table = table(usize::from(u16::MAX));
                shrink(
                    picture.as_raw(),
                    picture.width(),
                    [width, height],
                    factor,
                    &|c: u16| table[usize::from(c)],
                )
            }
        };
        Self { planes, factor }
    }

    /// Width in its own pixels.
    pub fn width(&self) -> u32 {
        self.planes[0].width()
    }

    /// Height in its own pixels.
    pub fn height(&self) -> u32 {
        self.planes[0].height()
    }

    /// How many pixels of the photo one of its own spans, along a side.
    pub fn factor(&self) -> u32 {
        self.factor
    }

    /// The planes: red, green, blue.
    pub fn planes(&self) -> &[Plane; 3] {
        &self.planes
    }

    /// The photo position of a position in this picture.
    pub fn photo_from_own(&self, own: Point) -> Point {
        let f = f64::from(self.factor);
        let shift = (f - 1.0) / 2.0;
        Point::new(own.x * f + shift, own.y * f + shift)
    }

    /// The position in this picture of a photo position.
    pub fn own_from_photo(&self, photo: Point) -> Point {
        let f = f64::from(self.factor);
        let shift = (f - 1.0) / 2.0;
        Point::new((photo.x - shift) / f, (photo.y - shift) / f)
    }

    /// Bilinear intensities at a position in this picture; `None` outside of it.
    pub fn sample(&self, own: Point) -> Option<[f32; 3]> {
        let (width, height) = (self.width(), self.height());
        if !(own.x >= 0.0 && own.y >= 0.0) {
            return None;
        }
        let (x0, y0) = (own.x.floor(), own.y.floor());
        let (column, row) = (x0 as u32, y0 as u32);
        if column + 1 >= width || row + 1 >= height {
            return None;
        }
        let (fx, fy) = ((own.x - x0) as f32, (own.y - y0) as f32);
        let at = (row * width + column) as usize;
        let below = at + width as usize;
        let mut out = [0.0; 3];
        for (value, plane) in out.iter_mut().zip(&self.planes) {
            let raw = plane.as_raw();
            let upper = raw[at] + (raw[at + 1] - raw[at]) * fx;
            let lower = raw[below] + (raw[below + 1] - raw[below]) * fx;
            *value = upper + (lower - upper) * fy;
        }
        Some(out)
    }
}

fn table(top: usize) -> Vec<f32> {
    (0..=top)
        .map(|code| linear_from_srgb(code as f64 / top as f64) as f32)
        .collect()
}

fn shrink<T: Copy + Sync>(
    raw: &[T],
    stride: u32,
    [width, height]: [u32; 2],
    factor: u32,
    linear: &(impl Fn(T) -> f32 + Sync),
) -> [Plane; 3] {
    let mut planes = [(); 3].map(|()| Plane::new(width, height));
    let (w, f, stride) = (width as usize, factor as usize, stride as usize);
    let share = 1.0 / (f * f) as f32;
    let [red, green, blue] = &mut planes;
    red.par_chunks_mut(w)
        .zip(green.par_chunks_mut(w))
        .zip(blue.par_chunks_mut(w))
        .enumerate()
        .for_each(|(row, ((red, green), blue))| {
            for column in 0..w {
                let mut sum = [0.0_f32; 3];
                for dy in 0..f {
                    let start = ((row * f + dy) * stride + column * f) * 3;
                    for pixel in raw[start..start + 3 * f].chunks_exact(3) {
                        for (total, code) in sum.iter_mut().zip(pixel) {
                            *total += linear(*code);
                        }
                    }
                }
                red[column] = sum[0] * share;
                green[column] = sum[1] * share;
                blue[column] = sum[2] * share;
            }
        });
    planes
}

/// Ridge per term and pixel: a background that is only a thin sliver must not bend the field.
const RIDGE: [f64; 6] = [1e-12, 5e-5, 5e-5, 1e-3, 2e-3, 2e-3];

/// How freely a light field may bend.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A plane and a fall-off with the square of the distance from the centre.
    Stiff,
    /// All terms up to the second order.
    Quadratic,
}

/// The light behind the animal: natural logarithm of intensity as a polynomial, per channel.
#[derive(Debug, Clone, PartialEq)]
pub struct LightField {
    terms: [[f64; 6]; 3],
    centre: Point,
    reach: f64,
}

impl LightField {
    /// Fits the field to the pixels of `light` for which `weight` is above zero.
    ///
    /// The fit leans on the upper envelope: pixels darker than the surface count less from round to
    /// round, since anything in the light path can only darken it. `None` when too few pixels count.
    pub fn fit(light: &LinearLight, form: Form, weight: &impl Fn(u32, u32) -> f64) -> Option<Self> {
        let (width, height) = (light.width(), light.height());
        let centre = Point::new(f64::from(width - 1) / 2.0, f64::from(height - 1) / 2.0);
        let reach = centre.length().max(1.0);
        let mut rows = Vec::new();
        for y in (0..height).step_by(2) {
            for x in (0..width).step_by(2) {
                let w = weight(x, y);
                if w > 0.0 {
                    rows.push((x, y, w));
                }
            }
        }
        if rows.len() < 60 {
            return None;
        }
        let mut terms = [[0.0; 6]; 3];
        for (channel, plane) in light.planes.iter().enumerate() {
            let values: Vec<f64> = rows
                .iter()
                .map(|(x, y, _)| f64::from(plane.get_pixel(*x, *y)[0].max(FLOOR)).ln())
                .collect();
            let design: Vec<[f64; 6]> = rows
                .iter()
                .map(|(x, y, _)| {
                    basis(
                        (f64::from(*x) - centre.x) / reach,
                        (f64::from(*y) - centre.y) / reach,
                    )
                })
                .collect();
            let given: Vec<f64> = rows.iter().map(|row| row.2).collect();
            terms[channel] = upper_envelope(&design, &values, &given, form)?;
        }
        let f = f64::from(light.factor);
        Some(Self {
            terms,
            centre: light.photo_from_own(centre),
            reach: reach * f,
        })
    }

    /// Intensity of the empty field at a photo position, per channel.
    pub fn at(&self, photo: Point) -> [f32; 3] {
        let b = basis(
            (photo.x - self.centre.x) / self.reach,
            (photo.y - self.centre.y) / self.reach,
        );
        self.terms.map(|terms| {
            let log: f64 = terms.iter().zip(b).map(|(a, b)| a * b).sum();
            log.exp() as f32
        })
    }

    /// Optical density per channel of `intensity` at a photo position.
    pub fn density(&self, photo: Point, intensity: [f32; 3]) -> [f32; 3] {
        let empty = self.at(photo);
        let mut out = [0.0; 3];
        for channel in 0..3 {
            out[channel] = (empty[channel].max(FLOOR) / intensity[channel].max(FLOOR)).log10();
        }
        out
    }
}

fn basis(x: f64, y: f64) -> [f64; 6] {
    [1.0, x, y, x * x + y * y, x * x - y * y, x * y]
}

/// Residuals that still count, in natural logarithms of intensity, from round to round: wide first,
/// so that a fall-off is followed, then ever narrower.
const ROUNDS: [f64; 8] = [0.3, 0.2, 0.13, 0.08, 0.05, 0.035, 0.025, 0.02];

/// Iteratively reweighted least squares with less weight below the surface than above.
fn upper_envelope(
    design: &[[f64; 6]],
    values: &[f64],
    given: &[f64],
    form: Form,
) -> Option<[f64; 6]> {
    let used = match form {
        Form::Stiff => 4,
        Form::Quadratic => 6,
    };
    let mut terms = [0.0; 6];
    terms[0] = quantile(values, 0.96)?;
    for width in ROUNDS {
        let mut normal = DMatrix::<f64>::zeros(used, used);
        let mut right = DVector::<f64>::zeros(used);
        for ((row, value), given) in design.iter().zip(values).zip(given) {
            let surface: f64 = row.iter().zip(terms).map(|(a, b)| a * b).sum();
            let z = (value - surface) / width;
            let weight = given
                * if z < 0.0 {
                    1.0 / (1.0 + (2.0 * z).powi(4))
                } else {
                    1.0 / (1.0 + (z / 2.0).powi(4))
                };
            for i in 0..used {
                right[i] += weight * row[i] * value;
                for j in 0..=i {
                    normal[(i, j)] += weight * row[i] * row[j];
                }
            }
        }
        for i in 0..used {
            normal[(i, i)] += given.len() as f64 * RIDGE[i];
            for j in 0..i {
                normal[(j, i)] = normal[(i, j)];
            }
        }
        let solved = normal.cholesky()?.solve(&right);
        for i in 0..used {
            terms[i] = solved[i];
        }
    }
    Some(terms)
}
