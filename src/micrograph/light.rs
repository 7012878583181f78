//! The linear light of a photo, at the sizes that reading it takes.

use crate::geometry::Point;
use crate::micrograph::Micrograph;
use crate::micrograph::Plane;
use crate::micrograph::Samples;
use crate::micrograph::colour::linear_from_srgb;
use rayon::prelude::*;
use std::sync::OnceLock;

/// Intensities at places of a photo.
pub trait Intensities: Sync {
    /// Bilinear intensities at a photo position, per channel; `None` outside of the photo.
    fn intensity(&self, photo: Point) -> Option<[f32; 3]>;
}

/// The light of one photo at the sizes that reading it takes, each made once.
///
/// The photo itself is gone through once for its working size; coarser pictures are made from that one.
pub struct Lights<'a> {
    micrograph: &'a Micrograph,
    working: LinearLight,
    coarse: OnceLock<LinearLight>,
    table: OnceLock<Vec<f32>>,
}

impl<'a> Lights<'a> {
    /// The light of a micrograph, some 1500 pixels wide.
    pub fn of(micrograph: &'a Micrograph) -> Self {
        let long = f64::from(micrograph.width().max(micrograph.height()));
        Self::at(micrograph, ((long / WORKING_SIDE).round() as u32).max(1))
    }

    /// The same photo with a working size twice as fine; `None` where it holds every pixel already.
    pub fn finer(&self) -> Option<Self> {
        let factor = self.working.factor();
        (factor > 1).then(|| Self::at(self.micrograph, factor.div_ceil(2)))
    }

    fn at(micrograph: &'a Micrograph, factor: u32) -> Self {
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

    /// The light of the mean codes over squares of `side` pixels.
    pub fn means(&self, side: u32) -> FullLight<'_> {
        let top = match self.micrograph.samples() {
            Samples::Eight(_) => u8::MAX.into(),
            Samples::Sixteen(_) => u16::MAX.into(),
        };
        FullLight {
            micrograph: self.micrograph,
            table: self.table.get_or_init(|| table(top)),
            side: side.max(1),
        }
    }
}

/// Differences between the channels, as a share of their sum, from which on a photo has colours. Our
/// choice: half a percent of the light is less than any tissue or lamp shows.
const COLOURED: f64 = 0.005;

/// Most pixels on the long side of the coarse photo.
const COARSE_SIDE: u32 = 450;

/// Long side of a photo at working size, in pixels.
const WORKING_SIDE: f64 = 1500.0;

/// The linear light of a photo, worked out from its own pixels where it is asked for.
#[derive(Debug, Clone, Copy)]
pub struct FullLight<'a> {
    micrograph: &'a Micrograph,
    table: &'a [f32],
    /// Side of the square over which the light is averaged, in photo pixels.
    side: u32,
}

impl Intensities for FullLight<'_> {
    /// The light of the mean code over a square about the place, its outer pixels counted by the part
    /// within it: with a side of one pixel this is bilinear interpolation.
    fn intensity(&self, photo: Point) -> Option<[f32; 3]> {
        let (width, height) = (self.micrograph.width(), self.micrograph.height());
        let half = (f64::from(self.side) - 1.0) / 2.0;
        let (left, top) = (photo.x - half, photo.y - half);
        if !(left >= 0.0 && top >= 0.0) {
            return None;
        }
        let (x, y) = (left as u32, top as u32);
        if x + self.side >= width || y + self.side >= height {
            return None;
        }
        let square = Square {
            first: 3 * (y as usize * width as usize + x as usize),
            stride: 3 * width as usize,
            side: self.side as usize,
            off: [(left - f64::from(x)) as f32, (top - f64::from(y)) as f32],
        };
        Some(match self.micrograph.samples() {
            Samples::Eight(picture) => square.mean(picture.as_raw(), self.table),
            Samples::Sixteen(picture) => square.mean(picture.as_raw(), self.table),
        })
    }
}

/// A square of samples, its first and last row and column counted in part.
struct Square {
    first: usize,
    stride: usize,
    side: usize,
    /// How far it begins within its first pixel, right and down.
    off: [f32; 2],
}

impl Square {
    fn mean<T: Copy + Into<u16>>(&self, raw: &[T], table: &[f32]) -> [f32; 3] {
        // the usual ones with their loops laid out
        match self.side {
            1 => self.mean_of::<T, 1>(raw, table),
            2 => self.mean_of::<T, 2>(raw, table),
            3 => self.mean_of::<T, 3>(raw, table),
            _ => self.mean_of::<T, 0>(raw, table),
        }
    }

    /// `SIDE` is that of the square, or 0 for any.
    fn mean_of<T: Copy + Into<u16>, const SIDE: usize>(
        &self,
        raw: &[T],
        table: &[f32],
    ) -> [f32; 3] {
        let side = if SIDE == 0 { self.side } else { SIDE };
        let part = |at: usize, off: f32| match at {
            0 => 1.0 - off,
            _ if at == side => off,
            _ => 1.0,
        };
        let across = 3 * (side + 1);
        let mut sum = [0.0_f32; 3];
        let lines = raw[self.first..].chunks(self.stride).take(side + 1);
        for (row, line) in lines.enumerate() {
            let (pixels, _) = line[..across].as_chunks::<3>();
            let mut of_line = [0.0; 3];
            for (column, codes) in pixels.iter().enumerate() {
                let weight = part(column, self.off[0]);
                for (sum, code) in of_line.iter_mut().zip(codes) {
                    *sum += weight * f32::from((*code).into());
                }
            }
            let weight = part(row, self.off[1]);
            for (sum, of_line) in sum.iter_mut().zip(of_line) {
                *sum += weight * of_line;
            }
        }
        let share = 1.0 / (side * side) as f32;
        sum.map(|sum| {
            let mean = sum * share;
            let code = (mean as usize).min(table.len() - 2);
            table[code] + (table[code + 1] - table[code]) * (mean - code as f32)
        })
    }
}

impl Intensities for LinearLight {
    fn intensity(&self, photo: Point) -> Option<[f32; 3]> {
        self.sample(self.own_from_photo(photo))
    }
}

/// A picture in linear light, each channel a plane of `height x width` numbers from 0 to 1.
///
/// It may be smaller than its photo by a whole `factor`, each pixel then being the light of the mean
/// code of `factor x factor` pixels of the photo: over so few of them, the mean of their light differs
/// by less than a thousandth where a camera's noise is all that sets them apart.
#[derive(Debug, Clone)]
pub struct LinearLight {
    planes: [Plane; 3],
    factor: u32,
}

impl LinearLight {
    /// A picture of planes that are there already.
    #[cfg(test)]
    pub(super) fn of_planes(planes: [Plane; 3], factor: u32) -> Self {
        Self { planes, factor }
    }

    /// The linear light of a micrograph, `factor` times smaller on each side (1 = full size).
    pub fn of(micrograph: &Micrograph, factor: u32) -> Self {
        let factor = factor.max(1);
        let (width, height) = (
            (micrograph.width() / factor).max(1),
            (micrograph.height() / factor).max(1),
        );
        let size = [width, height];
        let squared = factor as usize * factor as usize;
        let planes = match micrograph.samples() {
            Samples::Eight(picture) => {
                // one entry for each sum of codes over a square
                let table = table(squared * usize::from(u8::MAX));
                let of_sum = |sum: u32| table[sum as usize];
                let (raw, stride) = (picture.as_raw(), picture.width());
                if factor <= MOST_ADDED {
                    let add = |sum: u16, code: u8| sum.wrapping_add(code.into());
                    shrink((raw, stride), size, factor, &add, &of_sum)
                } else {
                    let add = |sum: u32, code: u8| sum.wrapping_add(code.into());
                    shrink((raw, stride), size, factor, &add, &of_sum)
                }
            }
            Samples::Sixteen(picture) => {
                let table = table(u16::MAX.into());
                let of_sum = |sum: u32| table[sum as usize / squared];
                let add = |sum: u32, code: u16| sum.wrapping_add(code.into());
                let photo = (&picture.as_raw()[..], picture.width());
                shrink(photo, size, factor, &add, &of_sum)
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

/// So many codes of eight bits at most are added up in a number of sixteen.
const MOST_ADDED: u32 = u16::MAX as u32 / u8::MAX as u32;

/// Means over squares of `factor` pixels a side: `add` counts codes in for each column, those sums are
/// added up over the square, and `of_sum` makes light of what comes out. None of the sums overflows.
fn shrink<T: Copy + Sync, Sum: Copy + Default + Send + Into<u32>>(
    (raw, stride): (&[T], u32),
    [width, height]: [u32; 2],
    factor: u32,
    add: &(impl Fn(Sum, T) -> Sum + Sync),
    of_sum: &(impl Fn(u32) -> f32 + Sync),
) -> [Plane; 3] {
    let mut planes = [(); 3].map(|()| Plane::new(width, height));
    let (w, f, stride) = (width as usize, factor as usize, 3 * stride as usize);
    let [red, green, blue] = &mut planes;
    red.par_chunks_mut(w)
        .zip(green.par_chunks_mut(w))
        .zip(blue.par_chunks_mut(w))
        .enumerate()
        .for_each_init(
            || vec![Sum::default(); 3 * f * w],
            |sums, (row, ((red, green), blue))| {
                sums.fill(Sum::default());
                for line in raw[row * f * stride..].chunks(stride).take(f) {
                    for (sum, code) in sums.iter_mut().zip(line) {
                        *sum = add(*sum, *code);
                    }
                }
                let values = red.iter_mut().zip(green).zip(blue);
                for (((red, green), blue), sums) in values.zip(sums.chunks_exact(3 * f)) {
                    let (pixels, _) = sums.as_chunks::<3>();
                    let sum = pixels.iter().fold([0_u32; 3], |sum, pixel| {
                        std::array::from_fn(|c| sum[c].wrapping_add(pixel[c].into()))
                    });
                    [*red, *green, *blue] = sum.map(of_sum);
                }
            },
        );
    planes
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mean_over_a_square_is_the_pixel_of_a_smaller_picture() {
        let picture = crate::micrograph::Picture::from_fn(40, 30, |x, y| {
            image::Rgb([(x * 5 + y) as u8, (y * 7) as u8, ((x * x + y) % 200) as u8])
        });
        let micrograph = Micrograph::new(Samples::Eight(picture), false);
        let lights = Lights::of(&micrograph);
        let smaller = LinearLight::of(&micrograph, 3);
        for (x, y) in [(1, 2), (5, 5), (8, 3)] {
            let own = Point::new(f64::from(x), f64::from(y));
            let seen = lights
                .means(3)
                .intensity(smaller.photo_from_own(own))
                .unwrap();
            for (seen, plane) in seen.into_iter().zip(smaller.planes()) {
                assert!((seen - plane.get_pixel(x, y)[0]).abs() < 2e-5);
            }
            // and bilinear where the square is one pixel, but for what the curve from codes to light bends
            // between two neighbours
            let between = own.plus(Point::new(0.3, 0.8));
            let plain = lights.working().sample(between).unwrap();
            let seen = lights.means(1).intensity(between).unwrap();
            assert!(seen.iter().zip(plain).all(|(a, b)| (a - b).abs() < 1e-3));
        }
        assert!(lights.means(3).intensity(Point::new(0.5, 9.0)).is_none());
    }

    #[test]
    fn bright_codes_add_up_over_squares_of_any_size() {
        let white = crate::micrograph::Picture::from_pixel(600, 300, image::Rgb([255; 3]));
        let white = Micrograph::new(Samples::Eight(white), false);
        for factor in [1, MOST_ADDED, MOST_ADDED + 1] {
            let light = LinearLight::of(&white, factor);
            for plane in light.planes() {
                assert!(plane.iter().all(|value| (value - 1.0).abs() < 1e-6));
            }
        }
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
}
