//! Linear light, the light field behind the animal, and optical density.
//!
//! The light field is what the camera would have seen without the animal: a smooth surface per
//! channel, fitted in the logarithm of the intensity. A first fit is stiff (a plane and a fall-off
//! about the centre) so that it cannot bend into a large blade; a second fit outside the blade may
//! be a free quadratic.

use crate::geometry::Point;
use crate::micrograph::Luma;
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
use wide::f64x4;

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
    coarse: OnceLock<LinearLight>,
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
            coarse: OnceLock::new(),
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

    /// The photo some 400 pixels wide: enough to see where the blade lies.
    pub fn coarse(&self) -> &LinearLight {
        self.coarse.get_or_init(|| {
            let long = self.working.width().max(self.working.height());
            self.working.smaller(long.div_ceil(COARSE_SIDE))
        })
    }

    /// Whether the channels differ at all: those of a monochrome camera do not.
    pub fn coloured(&self) -> bool {
        let [red, green, blue] = self.coarse().planes();
        let (mut apart, mut all) = (0.0, 0.0);
        for ((r, g), b) in red.iter().zip(green.iter()).zip(blue.iter()) {
            apart += f64::from((r - g).abs() + (g - b).abs());
            all += f64::from(r + g + b);
        }
        apart > COLOURED * all
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

/// Differences between the channels, as a share of their sum, from which on a photo has colours. Our
/// choice: half a percent of the light is less than any tissue or lamp shows.
const COLOURED: f64 = 0.005;

/// Most pixels on the long side of the coarse photo.
const COARSE_SIDE: u32 = 420;

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
        let fx = (photo.x - f64::from(x)) as f32;
        let fy = (photo.y - f64::from(y)) as f32;
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
        let size = [width, height];
        let planes = match micrograph.samples() {
            Samples::Eight(picture) => {
                // of a length that is known: no code lies beyond its end
                let table: [f32; 256] = std::array::from_fn(|code| linear(code, u8::MAX.into()));
                let of_code = |code: u8| table[usize::from(code)];
                shrink(picture.as_raw(), picture.width(), size, factor, &of_code)
            }
            Samples::Sixteen(picture) => {
                let table = table(u16::MAX.into());
                let of_code = |code: u16| table[usize::from(code)];
                shrink(picture.as_raw(), picture.width(), size, factor, &of_code)
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
        let (column, row) = (own.x as u32, own.y as u32);
        if column + 1 >= width || row + 1 >= height {
            return None;
        }
        let fx = (own.x - f64::from(column)) as f32;
        let fy = (own.y - f64::from(row)) as f32;
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

fn linear(code: usize, top: usize) -> f32 {
    linear_from_srgb(code as f64 / top as f64) as f32
}

fn table(top: usize) -> Vec<f32> {
    (0..=top).map(|code| linear(code, top)).collect()
}

fn shrink<T: Copy + Sync>(
    raw: &[T],
    stride: u32,
    [width, height]: [u32; 2],
    factor: u32,
    linear: &(impl Fn(T) -> f32 + Sync),
) -> [Plane; 3] {
    let mut planes = [(); 3].map(|()| Plane::new(width, height));
    let (w, f, stride) = (width as usize, factor as usize, 3 * stride as usize);
    let share = 1.0 / (f * f) as f32;
    let [red, green, blue] = &mut planes;
    red.par_chunks_mut(w)
        .zip(green.par_chunks_mut(w))
        .zip(blue.par_chunks_mut(w))
        .enumerate()
        .for_each(|(row, ((red, green), blue))| {
            for line in raw[row * f * stride..].chunks(stride).take(f) {
                let line = &line[..3 * f * w];
                match f {
                    1 => add_line::<1, T>([red, green, blue], line, linear),
                    2 => add_line::<2, T>([red, green, blue], line, linear),
                    3 => add_line::<3, T>([red, green, blue], line, linear),
                    _ => add_long_line([red, green, blue], line, f, linear),
                }
            }
            for value in red.iter_mut().chain(green).chain(blue) {
                *value *= share;
            }
        });
    planes
}

/// Adds a line of pixels, `FACTOR` of them to each value.
fn add_line<const FACTOR: usize, T: Copy>(
    [red, green, blue]: [&mut [f32]; 3],
    line: &[T],
    linear: &impl Fn(T) -> f32,
) {
    let values = red.iter_mut().zip(green).zip(blue);
    let (pixels, _) = line.as_chunks::<3>();
    let (groups, _) = pixels.as_chunks::<FACTOR>();
    for (((red, green), blue), pixels) in values.zip(groups) {
        for [r, g, b] in pixels {
            *red += linear(*r);
            *green += linear(*g);
            *blue += linear(*b);
        }
    }
}

/// [`add_line`] for any factor.
fn add_long_line<T: Copy>(
    [red, green, blue]: [&mut [f32]; 3],
    line: &[T],
    factor: usize,
    linear: &impl Fn(T) -> f32,
) {
    let (pixels, _) = line.as_chunks::<3>();
    let values = red.iter_mut().zip(green).zip(blue);
    for (((red, green), blue), pixels) in values.zip(pixels.chunks_exact(factor)) {
        for [r, g, b] in pixels {
            *red += linear(*r);
            *green += linear(*g);
            *blue += linear(*b);
        }
    }
}

fn shrink_plane(plane: &Plane, [width, height]: [u32; 2], factor: u32) -> Plane {
    let (f, stride) = (factor as usize, plane.width() as usize);
    let w = width as usize;
    // a plane may be smaller than the factor
    let (across, down) = (f.min(stride), f.min(plane.height() as usize));
    let share = 1.0 / (f * f) as f32;
    let mut smaller = Plane::new(width, height);
    let mut sums = vec![0.0_f32; stride];
    for (row, values) in smaller.chunks_exact_mut(w).enumerate() {
        sums.fill(0.0);
        let lines = plane.as_raw()[row * f * stride..].chunks_exact(stride);
        for line in lines.take(down) {
            for (sum, value) in sums.iter_mut().zip(line) {
                *sum += value;
            }
        }
        for offset in 0..across {
            for (value, sum) in values.iter_mut().zip(sums[offset..].iter().step_by(f)) {
                *value += sum * share;
            }
        }
    }
    smaller
}

/// The term of the fall-off with the square of the distance from the centre. Lamps and lenses darken
/// the rim of a photo, never its middle.
const FALL: usize = 3;
/// The ridge that keeps a term at zero.
const NOT_AT_ALL: f64 = 1e6;

/// How freely a light field may bend.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A plane and a fall-off, both held near nothing: large smooth tissue does not bend it.
    Flat,
    /// A plane and a fall-off with the square of the distance from the centre.
    Stiff,
    /// All terms up to the second order.
    Quadratic,
}

impl Form {
    fn terms(self) -> usize {
        match self {
            Self::Flat | Self::Stiff => 4,
            Self::Quadratic => 6,
        }
    }

    /// Ridge per term, for the whole weight that lies on the surface: a background that is only a thin
    /// sliver must not bend the field, and yet the rim of a round field may have a tenth of the light.
    fn ridge(self) -> [f64; 6] {
        match self {
            Self::Flat => [1e-12, 1e-3, 1e-3, 2e-2, 0.0, 0.0],
            Self::Stiff | Self::Quadratic => [1e-12, 5e-5, 5e-5, 1e-4, 1e-3, 1e-3],
        }
    }
}

/// Residuals up to which a pixel agrees with a light field, in natural logarithms of the intensity.
const AGREES: f64 = 0.03;
/// What is brighter than the light by this much contradicts it ...
const BRIGHTER: f64 = 0.06;
/// ... and counts this many times, since nothing in the light path makes it brighter.
const CONTRADICTS: f64 = 10.0;

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
        let sites = Sites::of(rows.iter().map(|(x, y, weight)| {
            let at = Point::new(f64::from(*x), f64::from(*y));
            (at.minus(centre).times(1.0 / reach), *weight)
        }));
        let mut terms = [[0.0; 6]; 3];
        for (terms, plane) in terms.iter_mut().zip(&light.planes) {
            let values: Vec<f64> = rows
                .iter()
                .map(|(x, y, _)| f64::from(plane.get_pixel(*x, *y)[0].max(FLOOR)).ln())
                .collect();
            *terms = upper_envelope(&sites, &values, form)?;
        }
        let f = f64::from(light.factor);
        Some(Self {
            terms,
            centre: light.photo_from_own(centre),
            reach: reach * f,
            view: None,
        })
    }

    /// How well a picture agrees with this field: the share of `weight` that lies on it, less what is
    /// brighter than it.
    pub fn agreement(&self, light: &LinearLight, weight: &impl Fn(u32, u32) -> f64) -> f64 {
        let (mut agrees, mut all) = (0.0, 0.0);
        for y in (0..light.height()).step_by(3) {
            for x in (0..light.width()).step_by(3) {
                let photo = light.photo_from_own(Point::new(f64::from(x), f64::from(y)));
                let empty = self.log_at(photo);
                let w = weight(x, y);
                for (empty, plane) in empty.into_iter().zip(&light.planes) {
                    let off = f64::from(ln(plane.get_pixel(x, y)[0]) - empty);
                    let contradicts = f64::from(u8::from(off > BRIGHTER));
                    agrees += w / (1.0 + (off / AGREES).powi(4)) - w * CONTRADICTS * contradicts;
                    all += w;
                }
            }
        }
        agrees / f64::max(all, 1e-9)
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
        [0, 1, 2].map(|c| (empty[c].max(LOG_FLOOR) - ln(intensity[c])) * std::f32::consts::LOG10_E)
    }

    /// [`Self::density`] of many places at once: intensities, NaN where none is known, become
    /// densities.
    pub fn make_densities(&self, places: &[Point], intensities: &mut [[f32; 3]]) {
        let mut logs: Vec<[f32; 3]> = intensities.to_vec();
        for value in logs.as_flattened_mut() {
            *value = ln(*value);
        }
        for ((value, log), place) in intensities.iter_mut().zip(&logs).zip(places) {
            let hidden = self.view.as_ref().is_some_and(|view| !view.holds(*place));
            *value = if hidden || value[0].is_nan() {
                [f32::NAN; 3]
            } else {
                let empty = self.log_at(*place);
                [0, 1, 2].map(|c| (empty[c].max(LOG_FLOOR) - log[c]) * std::f32::consts::LOG10_E)
            };
        }
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
        Self::in_squares(light, field, weights, &Squares::all(light))
    }

    /// The same within [`NEAR`] pixels of `light` around each of the photo positions only: elsewhere the
    /// density is NaN.
    pub fn around(
        light: &LinearLight,
        field: &LightField,
        weights: [f32; 3],
        places: impl IntoIterator<Item = Point>,
    ) -> Self {
        Self::in_squares(light, field, weights, &Squares::around(light, places))
    }

    fn in_squares(
        light: &LinearLight,
        field: &LightField,
        weights: [f32; 3],
        wanted: &Squares,
    ) -> Self {
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
        let mut plane = Plane::from_pixel(light.width(), light.height(), Luma([f32::NAN]));
        plane
            .par_chunks_mut(width)
            .enumerate()
            .for_each(|(y, values)| {
                let down = from.y + y as f64 * per_pixel;
                for run in wanted.runs(y, width) {
                    let first = run.start;
                    let values = &mut values[run];
                    mixed_logarithms(light, (first, y), weights, values);
                    for (x, value) in (first..).zip(values) {
                        let b = basis(from.x + x as f64 * per_pixel, down);
                        let empty: f64 = mixed.iter().zip(b).map(|(t, b)| t * b).sum();
                        *value = (empty as f32 - *value) * std::f32::consts::LOG10_E;
                    }
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

    /// The density at each pixel of the picture.
    pub fn into_plane(self) -> Plane {
        self.plane
    }

    /// A photo position and a direction from there, as [`Self::fill`] takes them.
    pub fn line(&self, from: Point, along: Point) -> [[f32; 2]; 2] {
        let shift = (self.factor - 1.0) / 2.0;
        let own = |x: f64, y: f64| [(x / self.factor) as f32, (y / self.factor) as f32];
        [own(from.x - shift, from.y - shift), own(along.x, along.y)]
    }

    /// Bilinear densities `times` photo pixels along each of the lines; NaN outside of the photo.
    pub fn fill(&self, values: &mut [f32], lines: &[[[f32; 2]; 2]], times: f32) {
        let (width, height) = (self.plane.width() as usize, self.plane.height() as usize);
        let raw = self.plane.as_raw();
        for (value, [from, along]) in values.iter_mut().zip(lines) {
            let x = from[0] + along[0] * times;
            let y = from[1] + along[1] * times;
            let (column, row) = (x as u32 as usize, y as u32 as usize);
            *value = if x >= 0.0 && y >= 0.0 && column + 1 < width && row + 1 < height {
                let (fx, fy) = (x - column as f32, y - row as f32);
                let at = row * width + column;
                let (above, below) = (&raw[at..at + 2], &raw[at + width..at + width + 2]);
                let upper = above[0] + (above[1] - above[0]) * fx;
                let lower = below[0] + (below[1] - below[0]) * fx;
                upper + (lower - upper) * fy
            } else {
                f32::NAN
            };
        }
    }

    /// Bilinear density at a photo position; NaN outside of the photo.
    #[cfg(test)]
    fn at(&self, photo: Point) -> f32 {
        let mut value = [0.0];
        self.fill(&mut value, &[self.line(photo, Point::new(0.0, 0.0))], 0.0);
        value[0]
    }
}

/// Pixels around a place in which the density is worked out.
pub const NEAR: usize = 32;

/// Squares of [`NEAR`] pixels a side that a picture is divided into, and which of them are wanted.
struct Squares {
    across: usize,
    wanted: Vec<bool>,
}

impl Squares {
    fn of(light: &LinearLight, wanted: bool) -> Self {
        let across = (light.width() as usize).div_ceil(NEAR);
        let down = (light.height() as usize).div_ceil(NEAR);
        Self {
            across,
            wanted: vec![wanted; across * down],
        }
    }

    fn all(light: &LinearLight) -> Self {
        Self::of(light, true)
    }

    /// Those that hold a place, and their neighbours.
    fn around(light: &LinearLight, places: impl IntoIterator<Item = Point>) -> Self {
        let mut squares = Self::of(light, false);
        let across = squares.across as i64;
        let down = squares.wanted.len() as i64 / across;
        for place in places {
            let own = light.own_from_photo(place).times(1.0 / NEAR as f64);
            let (column, row) = (own.x.floor() as i64, own.y.floor() as i64);
            for row in (row - 1).max(0)..(row + 2).min(down) {
                for column in (column - 1).max(0)..(column + 2).min(across) {
                    squares.wanted[(row * across + column) as usize] = true;
                }
            }
        }
        squares
    }

    /// The wanted pixels of row `y` of a picture `width` pixels wide.
    fn runs(&self, y: usize, width: usize) -> impl Iterator<Item = std::ops::Range<usize>> {
        let row = &self.wanted[y / NEAR * self.across..][..self.across];
        row.chunk_by(|a, b| a == b)
            .scan(0, move |from, run| {
                let first = *from;
                *from += run.len() * NEAR;
                Some((run[0], first..(*from).min(width)))
            })
            .filter(|(wanted, _)| *wanted)
            .map(|(_, run)| run)
    }
}

/// The natural logarithms of the intensities of row `y` from column `first` on, mixed by `weights`.
fn mixed_logarithms(
    light: &LinearLight,
    (first, y): (usize, usize),
    weights: [f32; 3],
    values: &mut [f32],
) {
    values.fill(0.0);
    for (plane, weight) in light.planes.iter().zip(weights) {
        let from = y * plane.width() as usize + first;
        let row = &plane.as_raw()[from..from + values.len()];
        for (value, intensity) in values.iter_mut().zip(row) {
            *value += weight * ln(*intensity);
        }
    }
}

/// The natural logarithm of an intensity, [`FLOOR`] at least, to 3e-7 or one part in a million.
///
/// Without a branch or a call, so that the compiler works out several at a time.
///
/// # Formula
/// ln(2^e m) = e ln 2 + ln m with m between the square roots of 1/2 and 2; ln m by a polynomial in
/// m - 1 (that of the Cephes library's `logf`, from memory; a test holds it against the standard one).
#[inline]
fn ln(intensity: f32) -> f32 {
    // the bits of the square root of 1/2
    const HALF: u32 = 0x3f35_04f3;
    let bits = intensity.max(FLOOR).to_bits();
    let exponent = (bits.wrapping_sub(HALF) as i32) >> 23;
    let z = f32::from_bits(bits.wrapping_sub((exponent << 23) as u32)) - 1.0;
    let mut p = 7.037_683_6e-2;
    for term in [
        -1.151_461e-1,
        1.167_699_9e-1,
        -1.242_014_1e-1,
        1.424_932_3e-1,
        -1.666_805_8e-1,
        2.000_071_4e-1,
        -2.499_999_4e-1,
        3.333_333e-1,
    ] {
        p = p * z + term;
    }
    let squared = z * z;
    p * z * squared - 0.5 * squared + z + exponent as f32 * std::f32::consts::LN_2
}

fn basis(x: f64, y: f64) -> [f64; 6] {
    [1.0, x, y, x * x + y * y, x * x - y * y, x * y]
}

/// Residuals that still count, in natural logarithms of intensity, from round to round: wide first,
/// so that a fall-off is followed, then ever narrower.
const ROUNDS: [f64; 8] = [0.3, 0.2, 0.13, 0.08, 0.05, 0.035, 0.025, 0.02];

/// The places at which a field is fitted, four at a time.
struct Sites {
    /// The terms after the first, which is 1.
    basis: Vec<[f64x4; 6]>,
    /// How much each counts; 0 where four are not filled.
    weights: Vec<f64x4>,
}

impl Sites {
    /// The places, relative to the centre and in units of the reach, with their weights.
    fn of(places: impl Iterator<Item = (Point, f64)>) -> Self {
        let places: Vec<(Point, f64)> = places.collect();
        let four = |chunk: &[(Point, f64)], of: fn(&(Point, f64)) -> f64| {
            let mut lanes = [0.0; 4];
            for (lane, place) in lanes.iter_mut().zip(chunk) {
                *lane = of(place);
            }
            f64x4::new(lanes)
        };
        let chunks = places.chunks(4);
        let (basis, weights) = chunks
            .map(|chunk| {
                let (x, y) = (four(chunk, |p| p.0.x), four(chunk, |p| p.0.y));
                let one = f64x4::splat(1.0);
                let basis = [one, x, y, x * x + y * y, x * x - y * y, x * y];
                (basis, four(chunk, |p| p.1))
            })
            .unzip();
        Self { basis, weights }
    }
}

/// Iteratively reweighted least squares with less weight below the surface than above.
fn upper_envelope(sites: &Sites, values: &[f64], form: Form) -> Option<[f64; 6]> {
    let used = form.terms();
    let fours: Vec<f64x4> = values
        .chunks(4)
        .map(|chunk| {
            let mut lanes = [0.0; 4];
            lanes[..chunk.len()].copy_from_slice(chunk);
            f64x4::new(lanes)
        })
        .collect();
    let mut terms = [0.0; 6];
    terms[0] = quantile(values, 0.96)?;
    let (zero, one, half) = (f64x4::splat(0.0), f64x4::splat(1.0), f64x4::splat(0.5));
    for width in ROUNDS {
        let fours_of_terms = terms.map(f64x4::splat);
        let per_width = f64x4::splat(1.0 / width);
        let mut products = [[zero; 6]; 6];
        let mut sums = [zero; 6];
        let mut total = zero;
        for ((basis, value), given) in sites.basis.iter().zip(&fours).zip(&sites.weights) {
            let mut surface = zero;
            for (b, term) in basis.iter().zip(&fours_of_terms[..used]) {
                surface += *b * *term;
            }
            let z = (*value - surface) * per_width;
            let z = z.simd_lt(zero).select(z + z, z * half);
            let squared = z * z;
            let weight = *given / (one + squared * squared);
            total += weight;
            for i in 0..used {
                let weighed = weight * basis[i];
                sums[i] += weighed * *value;
                for j in 0..=i {
                    products[i][j] += weighed * basis[j];
                }
            }
        }
        let total = total.reduce_add();
        let mut normal = DMatrix::<f64>::zeros(used, used);
        let mut right = DVector::<f64>::zeros(used);
        for i in 0..used {
            right[i] = sums[i].reduce_add();
            for j in 0..=i {
                let product = products[i][j].reduce_add();
                normal[(i, j)] = product;
                normal[(j, i)] = product;
            }
            normal[(i, i)] += total * form.ridge()[i];
        }
        let mut solved = normal.clone().cholesky()?.solve(&right);
        if solved[FALL] > 0.0 {
            normal[(FALL, FALL)] += total * NOT_AT_ALL;
            solved = normal.cholesky()?.solve(&right);
        }
        for i in 0..used {
            terms[i] = solved[i];
        }
    }
    Some(terms)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_logarithm_is_that_of_the_standard_library() {
        for code in 1..=4000_u16 {
            let intensity = f32::from(code) / 4000.0 * 1.1;
            let (ours, standard) = (ln(intensity), intensity.max(FLOOR).ln());
            let allowed = 3e-7 + 1e-6 * standard.abs();
            assert!((ours - standard).abs() <= allowed, "{intensity}: {ours}");
        }
        assert!((ln(0.0) - LOG_FLOOR).abs() < 1e-4);
    }

    #[test]
    fn a_grey_photo_has_no_colours() {
        let photo = |tint: u8| {
            let picture = crate::micrograph::Picture::from_fn(80, 60, |x, y| {
                let code = (x * 2 + y) as u8;
                image::Rgb([code, code.saturating_sub(tint), code])
            });
            Micrograph::new(Samples::Eight(picture), false)
        };
        assert!(!Lights::of(&photo(0)).coloured());
        assert!(Lights::of(&photo(6)).coloured());
    }

    fn light() -> LinearLight {
        let plane = |least: f32| {
            Plane::from_fn(40, 30, |x, y| {
                Luma([least + 0.01 * ((x * 7 + y * 3) % 40) as f32])
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
    fn a_density_around_places_is_that_of_the_whole_there() {
        let plane = Plane::from_fn(150, 120, |x, y| {
            Luma([0.3 + 0.001 * ((x * 7 + y * 3) % 40) as f32])
        });
        let light = LinearLight {
            planes: [plane.clone(), plane.clone(), plane],
            factor: 2,
        };
        let field = LightField::fit(&light, Form::Stiff, &|_, _| 1.0).unwrap();
        let weights = [0.2, 0.5, 0.3];
        let whole = Density::of(&light, &field, weights);
        let places = [Point::new(20.0, 30.0), Point::new(-5.0, 400.0)];
        let part = Density::around(&light, &field, weights, places);
        for at in [(1.0, 1.0), (20.0, 30.0), (83.0, 93.0)] {
            let at = Point::new(at.0, at.1);
            assert_eq!(part.at(at), whole.at(at));
        }
        assert!(part.at(Point::new(200.0, 30.0)).is_nan());
        assert!(!whole.at(Point::new(200.0, 30.0)).is_nan());
    }

    #[test]
    fn no_density_where_no_light_comes_through() {
        let light = light();
        let field = LightField::fit(&light, Form::Stiff, &|_, _| 1.0).unwrap();
        // one pixel of the mask is 4 of the photo; its left half is dark
        let mask = Mask::from_fn(20, 15, |x, _| Luma([255 * u8::from(x >= 10)]));
        let field = field.seen_through(mask, 4);
        let intensity = [0.3; 3];
        assert!(field.density(Point::new(20.0, 20.0), intensity)[1].is_nan());
        assert!(!field.density(Point::new(60.0, 20.0), intensity)[1].is_nan());
        let density = Density::of(&light, &field, [0.2, 0.5, 0.3]);
        assert!(density.at(Point::new(20.0, 20.0)).is_nan());
        assert!(!density.at(Point::new(60.0, 20.0)).is_nan());
    }
}
