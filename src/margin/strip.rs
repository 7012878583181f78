//! The micrograph straightened along a curve: mixed optical density on a grid of (s, t).

use crate::geometry::Point;
use crate::geometry::StripMap;
use crate::micrograph::Plane;
use crate::micrograph::density::Density;
use rayon::prelude::*;

/// Optical density along a curve; columns run along s, rows across it (t, inward positive).
#[derive(Debug, Clone)]
pub struct Strip {
    map: StripMap,
    first_s: f64,
    first_t: f64,
    step: f64,
    density: Plane,
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
    /// Samples the density of a photo around the axis of `map`.
    pub fn sample(photo: &Density, map: StripMap, extent: Extent) -> Self {
        let columns = (((extent.s_to - extent.s_from) / extent.step) as usize + 1).max(2);
        let rows = (((extent.t_to - extent.t_from) / extent.step) as usize + 1).max(2);
        let lines: Vec<[[f32; 2]; 2]> = (0..columns)
            .map(|i| {
                let (base, inward) = map.frame(extent.s_from + i as f64 * extent.step);
                photo.line(base, inward)
            })
            .collect();
        let mut density = Plane::new(columns as u32, rows as u32);
        density
            .par_chunks_mut(columns)
            .enumerate()
            .for_each(|(row, values)| {
                let t = extent.t_from + row as f64 * extent.step;
                photo.fill(values, &lines, t as f32);
            });
        Self {
            map,
            first_s: extent.s_from,
            first_t: extent.t_from,
            step: extent.step,
            density,
        }
    }

    /// The map to the photo.
    pub fn map(&self) -> &StripMap {
        &self.map
    }

    /// Number of columns (along s).
    pub fn columns(&self) -> usize {
        self.density.width() as usize
    }

    /// Number of rows (across, t).
    pub fn rows(&self) -> usize {
        self.density.height() as usize
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

    /// The mixed density; NaN outside of the photo.
    pub fn density(&self) -> &Plane {
        &self.density
    }
}
