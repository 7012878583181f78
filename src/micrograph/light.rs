//! Linear light, the light field behind the animal, and optical density.
//!
//! The light field is what the camera would have seen without the animal: a smooth surface per
//! channel, fitted in the logarithm of the intensity. A first fit is stiff (a plane and a fall-off
//! about the centre) so that it cannot bend into a large blade; a second fit outside the blade may
//! be a free quadratic.

use crate::geometry::Point;
use crate::micrograph::Mask;
use crate::micrograph::Micrograph;
use crate::micrograph::Plane;
use crate::micrograph::Samples;
use crate::micrograph::colour::linear_from_srgb;
use crate::statistics::robust::quantile;
use nalgebra::DMatrix;
use nalgebra::DVector;
use rayon::prelude::*;
use std::sync::Arc;
use std::sync::OnceLock;
use wide::f32x8;

/// Least intensity that counts: half a code of an eight-bit camera, in linear light.
const FLOOR: f32 = 0.000_15;
/// Its natural logarithm.
const LOG_FLOOR: f32 = -8.804_875;

/// Intensities at places of a photo.
pub trait Intensities: Sync {
    /// Bilinear intensities at a photo position, per channel; `None` outside of the photo.
    fn intensity(&self, photo: Point) -> Option<[f32; 3]>;
}

/// The light of one photo at the sizes that reading it takes, each made once.
///
/// A large photo is gone through once only; coarser pictures are made from that first one.
pub struct Lights<'a> {
    micrograph: &'a Micrograph,
    working: LinearLight,
    table: OnceLock<Vec<f32>>,
}

impl<'a> Lights<'a> {
    /// The light of a micrograph, some 2000 pixels wide at most.
    pub fn of(micrograph: &'a Micrograph) -> Self {
        let long = f64::from(micrograph.width().max(micrograph.height()));
        let factor = ((long / WORKING_SIDE).round() as u32).max(1);
        Self {
            micrograph,
            working: LinearLight::of(micrograph, factor),
            table: OnceLock::new(),
        }
    }

    /// The photo itself.
    pub fn micrograph(&self) -> &'a Micrograph {
        self.micrograph
    }

    /// The photo at working size.
    pub fn working(&self) -> &LinearLight {
        &self.working
    }

    /// The photo with a long side of at most `side` pixels.
    pub fn coarse(&self, side: u32) -> LinearLight {
        let long = self.working.width().max(self.working.height());
        self.working.smaller(long.div_ceil(side))
    }

    /// The light at every pixel of the photo.
    pub fn full(&self) -> FullLight<'_> {
        let top = match self.micrograph.samples() {
            Samples::Eight(_) => u8::MAX.into(),
            Samples::Sixteen(_) => u16::MAX.into(),
        };
        FullLight {
            micrograph: self.micrograph,
            table: self.table.get_or_init(|| table(top)),
        }
    }
}

/// Long side of a photo at working size, in pixels.
const WORKING_SIDE: f64 = 2000.0;

/// The linear light of a photo, worked out where it is asked for.
#[derive(Debug, Clone, Copy)]
pub struct FullLight<'a> {
    micrograph: &'a Micrograph,
    table: &'a [f32],
}

impl FullLight<'_> {
    /// Intensities of one row of pixels in the green channel.
    pub fn green_row(&self, row: u32) -> Vec<f32> {
        (0..self.micrograph.width())
            .map(|x| self.at(x, row)[1])
            .collect()
    }

    fn at(&self, x: u32, y: u32) -> [f32; 3] {
        match self.micrograph.samples() {
            Samples::Eight(picture) => picture
                .get_pixel(x, y)
                .0
                .map(|code| self.table[usize::from(code)]),
            Samples::Sixteen(picture) => picture
                .get_pixel(x, y)
                .0
                .map(|code| self.table[usize::from(code)]),
        }
    }
}

impl Intensities for FullLight<'_> {
    fn intensity(&self, photo: Point) -> Option<[f32; 3]> {
        let (width, height) = (self.micrograph.width(), self.micrograph.height());
        if !(photo.x >= 0.0 && photo.y >= 0.0) {
            return None;
        }
        let (x, y) = (photo.x as u32, photo.y as u32);
        if x + 1 >= width || y + 1 >= height {
            return None;
        }
        let (fx, fy) = (photo.x.fract() as f32, photo.y.fract() as f32);
        let (a, b) = (self.at(x, y), self.at(x + 1, y));
        let (c, d) = (self.at(x, y + 1), self.at(x + 1, y + 1));
        Some([0, 1, 2].map(|k| {
            let upper = a[k] + (b[k] - a[k]) * fx;
            let lower = c[k] + (d[k] - c[k]) * fx;
            upper + (lower - upper) * fy
        }))
    }
}

impl Intensities for LinearLight {
    fn intensity(&self, photo: Point) -> Option<[f32; 3]> {
        self.sample(self.own_from_photo(photo))
    }
}

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

    /// The same picture `factor` times smaller still.
    #[must_use]
    pub fn smaller(&self, factor: u32) -> Self {
        if factor <= 1 {
            return self.clone();
        }
        let size = [
            (self.width() / factor).max(1),
            (self.height() / factor).max(1),
        ];
        Self {
            planes: [0, 1, 2].map(|c| shrink_plane(&self.planes[c], size, factor)),
            factor: self.factor * factor,
        }
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

fn shrink_plane(plane: &Plane, [width, height]: [u32; 2], factor: u32) -> Plane {
    let (f, stride) = (factor as usize, plane.width() as usize);
    let raw = plane.as_raw();
    let share = 1.0 / (f * f) as f32;
    Plane::from_fn(width, height, |x, y| {
        let (x, y) = (x as usize * f, y as usize * f);
        let sum: f32 = (y..(y + f).min(plane.height() as usize))
            .map(|row| {
                let start = row * stride + x;
                raw[start..(start + f).min((row + 1) * stride)]
                    .iter()
                    .sum::<f32>()
            })
            .sum();
        crate::micrograph::Luma([sum * share])
    })
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

/// The part of a photo that light comes through, where an eyepiece or a stop hides the rest.
#[derive(Debug, Clone, PartialEq)]
struct View {
    /// Above 0 where light comes through; coarser than the photo.
    mask: Mask,
    /// Photo pixels per pixel of the mask.
    factor: f64,
}

impl View {
    fn holds(&self, photo: Point) -> bool {
        let (x, y) = (photo.x / self.factor, photo.y / self.factor);
        x >= 0.0
            && y >= 0.0
            && self
                .mask
                .get_pixel_checked(x as u32, y as u32)
                .is_none_or(|pixel| pixel[0] > 0)
    }
}

/// The light behind the animal: natural logarithm of intensity as a polynomial, per channel.
#[derive(Debug, Clone, PartialEq)]
pub struct LightField {
    terms: [[f64; 6]; 3],
    centre: Point,
    reach: f64,
    view: Option<Arc<View>>,
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
        for y in (0..height).step_by(3) {
            for x in (0..width).step_by(3) {
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
            view: None,
        })
    }

    /// The same field, with no density where `view` is 0; one pixel of `view` spans `factor` pixels of
    /// the photo.
    #[must_use]
    pub fn seen_through(self, view: Mask, factor: u32) -> Self {
        let hidden = view.as_raw().contains(&0);
        let factor = f64::from(factor);
        Self {
            view: hidden.then(|| Arc::new(View { mask: view, factor })),
            ..self
        }
    }

    /// Natural logarithm of the intensity of the empty field at a photo position, per channel.
    fn log_at(&self, photo: Point) -> [f32; 3] {
        let b = basis(
            (photo.x - self.centre.x) / self.reach,
            (photo.y - self.centre.y) / self.reach,
        );
        self.terms.map(|t| {
            let log = t[0] + t[1] * b[1] + t[2] * b[2] + t[3] * b[3] + t[4] * b[4] + t[5] * b[5];
            log as f32
        })
    }

    /// Intensity of the empty field at a photo position, per channel.
    pub fn at(&self, photo: Point) -> [f32; 3] {
        self.log_at(photo).map(f32::exp)
    }

    /// Optical density per channel of `intensity` at a photo position; NaN where no light comes
    /// through.
    pub fn density(&self, photo: Point, intensity: [f32; 3]) -> [f32; 3] {
        if self.view.as_ref().is_some_and(|view| !view.holds(photo)) {
            return [f32::NAN; 3];
        }
        let empty = self.log_at(photo);
        [0, 1, 2].map(|c| {
            let log = intensity[c].max(FLOOR).ln();
            (empty[c].max(LOG_FLOOR) - log) * std::f32::consts::LOG10_E
        })
    }
}

/// Optical density, mixed from the channels, at every pixel of a picture; NaN where no light comes
/// through.
#[derive(Debug, Clone)]
pub struct Density {
    plane: Plane,
    factor: f64,
}

impl Density {
    /// The density of `light` against the empty `field`, the channels mixed by `weights`.
    pub fn of(light: &LinearLight, field: &LightField, weights: [f32; 3]) -> Self {
        let width = light.width() as usize;
        // the field's logarithms mix as the densities do
        let mixed: [f64; 6] = std::array::from_fn(|k| {
            field
                .terms
                .iter()
                .zip(weights)
                .map(|(t, w)| t[k] * f64::from(w))
                .sum()
        });
        let first = light.photo_from_own(Point::new(0.0, 0.0));
        let per_pixel = f64::from(light.factor) / field.reach;
        let from = first.minus(field.centre).times(1.0 / field.reach);
        let mut plane = Plane::new(light.width(), light.height());
        plane
            .par_chunks_mut(width)
            .enumerate()
            .for_each(|(y, values)| {
                mixed_logarithms(light, (y, width), weights, values);
                let down = from.y + y as f64 * per_pixel;
                for (x, value) in values.iter_mut().enumerate() {
                    let b = basis(from.x + x as f64 * per_pixel, down);
                    let empty: f64 = mixed.iter().zip(b).map(|(t, b)| t * b).sum();
                    *value = (empty as f32 - *value) * std::f32::consts::LOG10_E;
                }
            });
        if let Some(view) = &field.view {
            for (x, y, value) in plane.enumerate_pixels_mut() {
                let photo = light.photo_from_own(Point::new(f64::from(x), f64::from(y)));
                if !view.holds(photo) {
                    value.0 = [f32::NAN];
                }
            }
        }
        Self {
            plane,
            factor: f64::from(light.factor),
        }
    }

    /// Bilinear density at a photo position; NaN outside of the photo.
    pub fn at(&self, photo: Point) -> f32 {
        let shift = (self.factor - 1.0) / 2.0;
        let (x, y) = (
            (photo.x - shift) / self.factor,
            (photo.y - shift) / self.factor,
        );
        let width = self.plane.width();
        if !(x >= 0.0 && y >= 0.0) {
            return f32::NAN;
        }
        let (column, row) = (x as u32, y as u32);
        if column + 1 >= width || row + 1 >= self.plane.height() {
            return f32::NAN;
        }
        let (fx, fy) = ((x - f64::from(column)) as f32, (y - f64::from(row)) as f32);
        let at = (row * width + column) as usize;
        let below = at + width as usize;
        let raw = self.plane.as_raw();
        let upper = raw[at] + (raw[at + 1] - raw[at]) * fx;
        let lower = raw[below] + (raw[below + 1] - raw[below]) * fx;
        upper + (lower - upper) * fy
    }
}

/// The natural logarithms of the intensities of row `y`, mixed by `weights`.
fn mixed_logarithms(
    light: &LinearLight,
    (y, width): (usize, usize),
    weights: [f32; 3],
    values: &mut [f32],
) {
    values.fill(0.0);
    for (plane, weight) in light.planes.iter().zip(weights) {
        let row = &plane.as_raw()[y * width..(y + 1) * width];
        for (values, intensities) in values.chunks_mut(LANES).zip(row.chunks(LANES)) {
            let mut lanes = [1.0; LANES];
            lanes[..intensities.len()].copy_from_slice(intensities);
            let logs = f32x8::new(lanes).max(f32x8::splat(FLOOR)).ln().to_array();
            for (value, log) in values.iter_mut().zip(logs) {
                *value += weight * log;
            }
        }
    }
}

/// Logarithms worked out at a time.
const LANES: usize = 8;

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

#[cfg(test)]
mod tests {
    use super::*;

    fn light() -> LinearLight {
        let plane = |least: f32| {
            Plane::from_fn(40, 30, |x, y| {
                crate::micrograph::Luma([least + 0.01 * ((x * 7 + y * 3) % 40) as f32])
            })
        };
        LinearLight {
            planes: [plane(0.3), plane(0.4), plane(0.2)],
            factor: 2,
        }
    }

    #[test]
    fn a_mixed_density_is_the_mean_of_the_channels() {
        let light = light();
        let field = LightField::fit(&light, Form::Quadratic, &|_, _| 1.0).unwrap();
        let weights = [0.2, 0.5, 0.3];
        let density = Density::of(&light, &field, weights);
        for (x, y) in [(0, 0), (17, 5), (38, 28)] {
            let photo = light.photo_from_own(Point::new(f64::from(x), f64::from(y)));
            let intensity = [0, 1, 2].map(|c| light.planes()[c].get_pixel(x, y)[0]);
            let channels = field.density(photo, intensity);
            let mean: f32 = channels.iter().zip(weights).map(|(d, w)| d * w).sum();
            assert!((density.at(photo) - mean).abs() < 1e-5);
        }
        assert!(density.at(Point::new(-1.0, 3.0)).is_nan());
    }

    #[test]
    fn no_density_where_no_light_comes_through() {
        let light = light();
        let field = LightField::fit(&light, Form::Stiff, &|_, _| 1.0).unwrap();
        // one pixel of the mask is 4 of the photo; its left half is dark
        let mask = Mask::from_fn(20, 15, |x, _| {
            crate::micrograph::Luma([255 * u8::from(x >= 10)])
        });
        let field = field.seen_through(mask, 4);
        let intensity = [0.3; 3];
        assert!(field.density(Point::new(20.0, 20.0), intensity)[1].is_nan());
        assert!(!field.density(Point::new(60.0, 20.0), intensity)[1].is_nan());
        let density = Density::of(&light, &field, [0.2, 0.5, 0.3]);
        assert!(density.at(Point::new(20.0, 20.0)).is_nan());
        assert!(!density.at(Point::new(60.0, 20.0)).is_nan());
    }
}
