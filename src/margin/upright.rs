//! A strip with its shafts set upright, summed up row by row.
//!
//! Each row is shifted along s by the lean of the shafts there, so that a column follows a shaft. Sums
//! from the first row on make the mean over any band of rows a matter of two of them.

use crate::micrograph::Plane;

/// Shafts at the border of a photo soon leave it: so much of a band must be in view.
const LEAST_IN_VIEW: f64 = 0.3;

/// Sums of the density over upright columns.
pub struct Upright {
    columns: usize,
    rows: usize,
    zero_row: f64,
    /// `rows + 1` times `columns`: the sum over the rows before, what is not known left out.
    sums: Vec<f64>,
    /// How many rows are in each sum.
    counts: Vec<u16>,
}

impl Upright {
    /// Sets the shafts of `density` upright; `slant` is their lean at a column, in columns per row,
    /// and columns stay where they are at `zero_row`.
    pub fn of(density: &Plane, zero_row: f64, slant: &impl Fn(f64) -> f64) -> Self {
        let (columns, rows) = (density.width() as usize, density.height() as usize);
        let slants: Vec<f32> = (0..columns).map(|c| slant(c as f64) as f32).collect();
        let mut sums = vec![0.0; (rows + 1) * columns];
        let mut counts = vec![0_u16; (rows + 1) * columns];
        for (row, values) in density.as_raw().chunks_exact(columns).enumerate() {
            let (before, after) = (row * columns, (row + 1) * columns);
            let away = row as f32 - zero_row as f32;
            for (column, slant) in slants.iter().enumerate() {
                let x = column as f32 + slant * away;
                let left = x as usize;
                let value = if x >= 0.0 && left + 1 < columns {
                    values[left] + (values[left + 1] - values[left]) * (x - left as f32)
                } else {
                    f32::NAN
                };
                let known = !value.is_nan();
                let value = if known { f64::from(value) } else { 0.0 };
                sums[after + column] = sums[before + column] + value;
                counts[after + column] = counts[before + column] + u16::from(known);
            }
        }
        Self {
            columns,
            rows,
            zero_row,
            sums,
            counts,
        }
    }

    /// The mean over the rows from `first` to `last`, counted from the zero row, column by column; NaN
    /// where too little is in view.
    pub fn band(&self, (first, last): (f64, f64)) -> Vec<f32> {
        let first = (self.zero_row + first).round() as isize;
        let last = ((self.zero_row + last).round() as isize).max(first);
        let least = LEAST_IN_VIEW * (last - first + 1) as f64;
        let row = |row: isize| row.clamp(0, self.rows as isize) as usize * self.columns;
        let (from, to) = (row(first), row(last + 1));
        (0..self.columns)
            .map(|column| {
                let (from, to) = (from + column, to + column);
                let count = f64::from(self.counts[to] - self.counts[from]);
                if count > least {
                    ((self.sums[to] - self.sums[from]) / count) as f32
                } else {
                    f32::NAN
                }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::Luma;

    #[test]
    fn a_leaning_shaft_stands_upright() {
        // one column to the right per two rows, through column 20 at row 10
        let leaning = Plane::from_fn(60, 30, |x, y| {
            let axis = 20.0 + 0.5 * (f64::from(y) - 10.0);
            Luma([f32::from(u8::from((f64::from(x) - axis).abs() <= 2.0))])
        });
        let upright = Upright::of(&leaning, 10.0, &|_| 0.5);
        for band in [(-8.0, -2.0), (1.0, 9.0), (-10.0, 19.0)] {
            let mean = upright.band(band);
            assert!(mean[20] > 0.999 && mean[15] < 0.001, "{band:?}");
        }
    }

    #[test]
    fn what_is_out_of_view_is_left_out() {
        let half = Plane::from_fn(8, 10, |x, y| {
            Luma([if x > 2 && y < 4 { f32::NAN } else { 2.0 }])
        });
        let upright = Upright::of(&half, 0.0, &|_| 0.0);
        let mean = upright.band((0.0, 9.0));
        assert_eq!(mean[0], 2.0);
        assert_eq!(mean[3], 2.0);
        // a lerp with what is beyond the last column is not known
        assert!(mean[7].is_nan());
        assert!(upright.band((0.0, 4.0))[5].is_nan());
        // rows beyond the strip are not in view either
        assert!(upright.band((5.0, 30.0))[0].is_nan());
        assert_eq!(upright.band((5.0, 15.0))[0], 2.0);
    }
}
