//! Lengths and waves by operations that give the same bits on every machine.

use crate::geometry::Point;

/// The length of a vector.
pub(crate) fn length_of(p: Point) -> f64 {
    p.dot(p).sqrt()
}

/// The vector's direction with length 1; the zero vector stays as it is.
pub(crate) fn unit_of(p: Point) -> Point {
    let length = length_of(p);
    if length > 0.0 {
        p.times(1.0 / length)
    } else {
        p
    }
}

/// A smooth wave from 0 to 1 with period 1: 1 at whole numbers.
pub(crate) fn soft_wave(phase: f64) -> f64 {
    let away = (phase - phase.round()).abs() * 2.0;
    let f = 1.0 - away;
    f * f * (3.0 - 2.0 * f)
}
