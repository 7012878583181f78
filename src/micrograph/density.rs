//! Optical density: how much darker the photo is than its light field.

use crate::geometry::Point;
use crate::micrograph::Luma;
use crate::micrograph::Plane;
use crate::micrograph::field::LightField;
use crate::micrograph::field::basis;
use crate::micrograph::field::ln;
use crate::micrograph::light::LinearLight;
use rayon::prelude::*;

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
        let per_pixel = f64::from(light.factor()) / field.reach;
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
            factor: f64::from(light.factor()),
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
    for (plane, weight) in light.planes().iter().zip(weights) {
        let from = y * plane.width() as usize + first;
        let row = &plane.as_raw()[from..from + values.len()];
        for (value, intensity) in values.iter_mut().zip(row) {
            *value += weight * ln(*intensity);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::Mask;
    use crate::micrograph::field::Form;
    use crate::micrograph::field::Sites;

    fn light() -> LinearLight {
        let plane = |least: f32| {
            Plane::from_fn(40, 30, |x, y| {
                Luma([least + 0.01 * ((x * 7 + y * 3) % 40) as f32])
            })
        };
        LinearLight::of_planes([plane(0.3), plane(0.4), plane(0.2)], 2)
    }

    #[test]
    fn a_mixed_density_is_the_mean_of_the_channels() {
        let light = light();
        let field = Sites::of(&light, 3)
            .fit((Form::Quadratic, 0.0), &|_, _| 1.0)
            .unwrap();
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
        let light = LinearLight::of_planes([plane.clone(), plane.clone(), plane], 2);
        let field = Sites::of(&light, 3)
            .fit((Form::Stiff, 0.0), &|_, _| 1.0)
            .unwrap();
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
        let field = Sites::of(&light, 3)
            .fit((Form::Stiff, 0.0), &|_, _| 1.0)
            .unwrap();
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
