//! The surroundings of one seta, on a grid in its own frame and in its own widths.

use crate::geometry::Point;
use crate::margin::SetaFrame;
use crate::micrograph::field::LightField;
use crate::micrograph::light::Intensities;

/// Grid points per base width.
pub const PER_WIDTH: usize = 12;
/// Grid columns: u from -1.5 to 1.5 base widths across the seta.
pub const COLUMNS: usize = 3 * PER_WIDTH + 1;
/// Base widths outside of the origin.
pub const OUTWARD: f64 = 4.5;
/// Base widths inside of the origin.
pub const INWARD: f64 = 14.0;
/// Grid rows: v along the seta, inward positive.
pub const ROWS: usize = 222 + 1;

/// Optical density around one seta: rows along it (v), columns across (u).
#[derive(Debug, Clone)]
pub struct Patch {
    density: Vec<[f32; 3]>,
}

impl Patch {
    /// Samples the patch of a seta whose widths are `width` photo pixels, outside of `inward` base
    /// widths from the origin; NaN outside of the photo and further in.
    pub fn sample(
        light: &impl Intensities,
        field: &LightField,
        (seta, width): (&SetaFrame, f64),
        inward: f64,
    ) -> Self {
        let grid = width / PER_WIDTH as f64;
        let rows = (row_of(inward).ceil() as usize + 1).min(ROWS);
        let mut density = Vec::with_capacity(ROWS * COLUMNS);
        let mut places = Vec::with_capacity(rows * COLUMNS);
        for row in 0..rows {
            let v = row as f64 * grid - OUTWARD * width;
            let along = if v < 0.0 { seta.inward } else { seta.beneath };
            let across = along.turned();
            for column in 0..COLUMNS {
                let u = (column as f64 - (COLUMNS / 2) as f64) * grid;
                let photo = seta.origin.plus(along.times(v)).plus(across.times(u));
                places.push(photo);
                density.push(light.intensity(photo).unwrap_or([f32::NAN; 3]));
            }
        }
        field.make_densities(&places, &mut density);
        density.resize(ROWS * COLUMNS, [f32::NAN; 3]);
        Self { density }
    }

    /// A patch with the density of (u, v), in base widths, in all channels.
    #[cfg(test)]
    pub(super) fn drawn(density: impl Fn(f64, f64) -> f64) -> Self {
        let at = |row: usize, column: usize| {
            let u = (column as f64 - (COLUMNS / 2) as f64) / PER_WIDTH as f64;
            [density(u, v_of(row as f64)) as f32; 3]
        };
        let rows = (0..ROWS).flat_map(|row| (0..COLUMNS).map(move |column| (row, column)));
        Self {
            density: rows.map(|(row, column)| at(row, column)).collect(),
        }
    }

    /// Density per channel at a grid place.
    pub fn at(&self, row: usize, column: usize) -> [f32; 3] {
        self.density[row * COLUMNS + column]
    }

    /// Mean of the mixed density at `row` over |u| from `from` to `to` base widths, both sides.
    pub fn across(&self, row: usize, weights: [f32; 3], from: f64, to: f64) -> Option<f64> {
        let middle = (COLUMNS / 2) as f64;
        let (mut sum, mut count, mut wanted) = (0.0, 0.0, 0.0);
        for column in 0..COLUMNS {
            let u = (column as f64 - middle).abs() / PER_WIDTH as f64;
            if u < from - 1e-9 || u > to + 1e-9 {
                continue;
            }
            wanted += 1.0;
            let d = self.at(row, column);
            let mixed = d[0] * weights[0] + d[1] * weights[1] + d[2] * weights[2];
            if !mixed.is_nan() {
                sum += f64::from(mixed);
                count += 1.0;
            }
        }
        (count > 0.5 * wanted).then(|| sum / count)
    }
}

/// Values along rows, each the mean of itself and its neighbours.
pub fn smoothed(rows: &[f64]) -> Vec<f64> {
    (0..rows.len())
        .map(|i| {
            let near = &rows[i.saturating_sub(1)..(i + 2).min(rows.len())];
            near.iter().sum::<f64>() / near.len() as f64
        })
        .collect()
}

/// The grid row of v in base widths.
pub fn row_of(v: f64) -> f64 {
    (v + OUTWARD) * PER_WIDTH as f64
}

/// v in base widths of a grid row.
pub fn v_of(row: f64) -> f64 {
    row / PER_WIDTH as f64 - OUTWARD
}

/// The photo position of (u, v) base widths in the frame of a seta.
pub fn photo(seta: &SetaFrame, width: f64, u: f64, v: f64) -> Point {
    let along = if v < 0.0 { seta.inward } else { seta.beneath };
    seta.origin
        .plus(along.times(v * width))
        .plus(along.turned().times(u * width))
}
