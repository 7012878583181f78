//! The surroundings of one seta, on a grid in its own frame and in its own widths.

use crate::geometry::Point;
use crate::margin::SetaFrame;
use crate::micrograph::field::LightField;
use crate::micrograph::light::Intensities;

/// Grid points per base width.
pub const PER_WIDTH: usize = 12;
/// Grid columns: u from -1.25 to 1.25 base widths across the seta.
pub const COLUMNS: usize = 5 * PER_WIDTH / 2 + 1;
/// The column of the axis.
const MIDDLE: usize = COLUMNS / 2;
/// Base widths outside of the origin.
const OUTWARD: f64 = 4.5;
/// Base widths inside of the origin.
const INWARD: f64 = 14.0;
/// Grid rows: v along the seta, inward positive.
pub const ROWS: usize = 222 + 1;

/// The part of a patch that is looked at, in base widths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// From here along the seta (v) ...
    pub from: f64,
    /// ... to here.
    pub to: f64,
    /// So far on both sides of its axis (u).
    pub reach: f64,
}

impl Part {
    /// All that the measures of a seta look at.
    pub const MEASURED: Self = Self {
        from: -3.25,
        to: INWARD,
        reach: 1.25,
    };
}

/// Optical density around one seta: rows along it (v), columns across (u).
#[derive(Debug, Clone)]
pub struct Patch {
    density: Vec<[f32; 3]>,
}

impl Patch {
    /// Samples a part of the patch of a seta whose widths are `width` photo pixels; NaN outside of the
    /// photo and of the part.
    pub fn sample(
        light: &impl Intensities,
        field: &LightField,
        (seta, width): (&SetaFrame, f64),
        part: Part,
    ) -> Self {
        let grid = width / PER_WIDTH as f64;
        let first = row_of(part.from).floor().max(0.0) as usize;
        let last = (row_of(part.to).ceil() as usize).min(ROWS - 1);
        let columns = MIDDLE - steps(part.reach)..MIDDLE + steps(part.reach) + 1;
        let wide = columns.len();
        let mut places = Vec::with_capacity((last + 1 - first) * wide);
        for row in first..=last {
            let v = row as f64 * grid - OUTWARD * width;
            let along = if v < 0.0 { seta.inward } else { seta.beneath };
            let across = along.turned();
            for column in columns.clone() {
                let u = (column as f64 - MIDDLE as f64) * grid;
                places.push(seta.origin.plus(along.times(v)).plus(across.times(u)));
            }
        }
        let seen = |photo: &Point| light.intensity(*photo).unwrap_or([f32::NAN; 3]);
        let mut seen: Vec<[f32; 3]> = places.iter().map(seen).collect();
        field.make_densities(&places, &mut seen);
        let mut density = vec![[f32::NAN; 3]; ROWS * COLUMNS];
        let rows = density.chunks_exact_mut(COLUMNS).skip(first);
        for (row, seen) in rows.zip(seen.chunks_exact(wide)) {
            row[columns.clone()].copy_from_slice(seen);
        }
        Self { density }
    }

    /// A patch with the density of (u, v), in base widths, in all channels.
    #[cfg(test)]
    pub(super) fn drawn(density: impl Fn(f64, f64) -> f64) -> Self {
        let at = |row: usize, column: usize| {
            let u = (column as f64 - MIDDLE as f64) / PER_WIDTH as f64;
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
        let row = &self.density[row * COLUMNS..][..COLUMNS];
        let furthest = steps(to);
        let nearest = ((from - SAME_PLACE) * PER_WIDTH as f64).ceil().max(0.0) as usize;
        let sides = [
            &row[MIDDLE - furthest..MIDDLE + 1 - nearest.max(1)],
            &row[MIDDLE + nearest..=MIDDLE + furthest],
        ];
        let (mut sum, mut count, mut wanted) = (0.0, 0.0, 0.0);
        for d in sides.into_iter().flatten() {
            wanted += 1.0;
            let mixed = d[0] * weights[0] + d[1] * weights[1] + d[2] * weights[2];
            if !mixed.is_nan() {
                sum += f64::from(mixed);
                count += 1.0;
            }
        }
        (count > 0.5 * wanted).then(|| sum / count)
    }
}

/// Places this near to a column are on it, in base widths.
const SAME_PLACE: f64 = 1e-9;

/// Grid columns from the axis to the last one within `reach` base widths of it.
fn steps(reach: f64) -> usize {
    (((reach + SAME_PLACE) * PER_WIDTH as f64) as usize).min(MIDDLE)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::Micrograph;
    use crate::micrograph::Picture;
    use crate::micrograph::Samples;
    use crate::micrograph::field::Form;
    use crate::micrograph::field::Sites;
    use crate::micrograph::light::LinearLight;

    #[test]
    fn a_part_of_a_patch_is_that_of_the_whole() {
        let picture = Picture::from_fn(300, 400, |x, y| {
            [150 + ((x * 7 + y * 3) % 40) as u8; 3].into()
        });
        let light = LinearLight::of(&Micrograph::new(Samples::Eight(picture), false), 1);
        let fitted = Sites::of(&light, 3).fit((Form::Stiff, 0.0), &|_, _| 1.0);
        let field = fitted.unwrap();
        let seta = SetaFrame {
            origin: Point::new(150.0, 80.0),
            inward: Point::new(0.1, 1.0).unit(),
            beneath: Point::new(0.0, 1.0),
            width: 12.0,
            strength: 1.0,
        };
        let sample = |part| Patch::sample(&light, &field, (&seta, 12.0), part);
        let whole = sample(Part::MEASURED);
        let part = sample(Part {
            from: -1.0,
            to: 2.5,
            reach: 0.5,
        });
        let weights = [0.2, 0.5, 0.3];
        let across = |patch: &Patch, v: f64, from, to| {
            patch.across(row_of(v).round() as usize, weights, from, to)
        };
        for v in [-1.0, 0.0, 2.5] {
            for (from, to) in [(0.0, 0.5), (0.25, 0.4), (0.5, 0.5)] {
                let seen = across(&part, v, from, to);
                assert!(seen.is_some() && seen == across(&whole, v, from, to));
            }
            assert!(across(&part, v, 0.66, 0.9).is_none());
            assert!(across(&whole, v, 0.66, 0.9).is_some());
        }
        for v in [-1.5, 3.0] {
            assert!(across(&part, v, 0.0, 0.5).is_none());
            assert!(across(&whole, v, 0.0, 0.5).is_some());
        }
    }

    #[test]
    fn what_lies_across_is_counted_once_on_either_side() {
        // as dense as it is far from the axis, in grid steps, and 100 more on the right
        let patch = Patch::drawn(|u, _| {
            let steps = (u * PER_WIDTH as f64).round();
            steps.abs() + if steps > 0.0 { 100.0 } else { 0.0 }
        });
        let across = |from, to| patch.across(60, [0.25, 0.5, 0.25], from, to).unwrap();
        let near = |mean: f64, wanted: f64| assert!((mean - wanted).abs() < 1e-4, "{mean}");
        near(across(0.0, 0.0), 0.0);
        near(across(0.0, 0.25), (2.0 * 6.0 + 300.0) / 7.0);
        near(across(0.5, 0.5), f64::midpoint(6.0, 106.0));
        near(across(0.66, 0.9), (2.0 * 27.0 + 300.0) / 6.0);
    }
}
