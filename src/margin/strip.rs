//! The micrograph straightened along a curve: optical density on a grid of (s, t).

use crate::geometry::Point;
use crate::geometry::StripMap;
use crate::micrograph::Luma;
use crate::micrograph::Plane;
use crate::micrograph::light::Intensities;
use crate::micrograph::light::LightField;
use rayon::prelude::*;

/// Marks a place of a strip that lies outside of the photo.
const OUTSIDE: f32 = f32::NAN;

/// Optical density along a curve; columns run along s, rows across it (t, inward positive).
#[derive(Debug, Clone)]
pub struct Strip {
    map: StripMap,
    first_s: f64,
    first_t: f64,
    step: f64,
    channels: [Plane; 3],
}

/// The part of the plane around a curve that a strip covers, in photo pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// From here along the curve ...
    pub s_from: f64,
    /// ... to here.
    pub s_to: f64,
    /// From here across it (outside is negative) ...
    pub t_from: f64,
    /// ... to here.
    pub t_to: f64,
    /// Photo pixels per pixel of the strip.
    pub step: f64,
}

impl Strip {
    /// Samples the densities of a photo around the axis of `map`.
    pub fn sample(
        light: &impl Intensities,
        field: &LightField,
        map: StripMap,
        extent: Extent,
    ) -> Self {
        let columns = (((extent.s_to - extent.s_from) / extent.step) as usize + 1).max(2);
        let rows = (((extent.t_to - extent.t_from) / extent.step) as usize + 1).max(2);
        let frames: Vec<(Point, Point)> = (0..columns)
            .map(|i| map.frame(extent.s_from + i as f64 * extent.step))
            .collect();
        let mut channels = [(); 3].map(|()| Plane::new(columns as u32, rows as u32));
        let [red, green, blue] = &mut channels;
        red.par_chunks_mut(columns)
            .zip(green.par_chunks_mut(columns))
            .zip(blue.par_chunks_mut(columns))
            .enumerate()
            .for_each(|(row, ((red, green), blue))| {
                let t = extent.t_from + row as f64 * extent.step;
                for (column, (base, inward)) in frames.iter().enumerate() {
                    let photo = base.plus(inward.times(t));
                    let density = light
                        .intensity(photo)
                        .map_or([OUTSIDE; 3], |intensity| field.density(photo, intensity));
                    red[column] = density[0];
                    green[column] = density[1];
                    blue[column] = density[2];
                }
            });
        Self {
            map,
            first_s: extent.s_from,
            first_t: extent.t_from,
            step: extent.step,
            channels,
        }
    }

    /// The map to the photo.
    pub fn map(&self) -> &StripMap {
        &self.map
    }

    /// Number of columns (along s).
    pub fn columns(&self) -> usize {
        self.channels[0].width() as usize
    }

    /// Number of rows (across, t).
    pub fn rows(&self) -> usize {
        self.channels[0].height() as usize
    }

    /// Photo pixels per pixel of the strip.
    pub fn step(&self) -> f64 {
        self.step
    }

    /// s of a column, in photo pixels.
    pub fn s(&self, column: f64) -> f64 {
        self.first_s + column * self.step
    }

    /// t of a row, in photo pixels.
    pub fn t(&self, row: f64) -> f64 {
        self.first_t + row * self.step
    }

    /// Column of an s in photo pixels.
    pub fn column(&self, s: f64) -> f64 {
        (s - self.first_s) / self.step
    }

    /// Row of a t in photo pixels.
    pub fn row(&self, t: f64) -> f64 {
        (t - self.first_t) / self.step
    }

    /// The photo position of a place in the strip.
    pub fn photo(&self, column: f64, row: f64) -> Point {
        self.map.point(self.s(column), self.t(row))
    }

    /// Density planes: red, green, blue; NaN outside of the photo.
    pub fn channels(&self) -> &[Plane; 3] {
        &self.channels
    }

    /// The mean density of the channels, weighted; NaN outside of the photo.
    pub fn mixed(&self, weights: [f32; 3]) -> Plane {
        let [red, green, blue] = &self.channels;
        Plane::from_fn(red.width(), red.height(), |x, y| {
            Luma([red.get_pixel(x, y)[0] * weights[0]
                + green.get_pixel(x, y)[0] * weights[1]
                + blue.get_pixel(x, y)[0] * weights[2]])
        })
    }
}
