//! Smooth axes through points that were found one by one.

use crate::geometry::Point;
use crate::geometry::Polyline;
use crate::statistics::robust::quantile;
use nalgebra::DMatrix;
use nalgebra::Matrix3;
use nalgebra::Vector3;

/// Smooths a line of points with a Gaussian along it, `sigma` points wide; the ends are mirrored.
fn smoothed(points: &[Point], sigma: f64) -> Vec<Point> {
    let n = points.len() as isize;
    let reach = (3.0 * sigma).ceil() as isize;
    let weights: Vec<f64> = (-reach..=reach)
        .map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp())
        .collect();
    let total: f64 = weights.iter().sum();
    let fetch = |i: isize| -> Point {
        // point mirror about the end keeps the direction there
        if i < 0 {
            let mirrored = points[(-i).min(n - 1) as usize];
            points[0].times(2.0).minus(mirrored)
        } else if i >= n {
            let mirrored = points[(2 * (n - 1) - i).max(0) as usize];
            points[(n - 1) as usize].times(2.0).minus(mirrored)
        } else {
            points[i as usize]
        }
    };
    (0..n)
        .map(|i| {
            let mut sum = Point::new(0.0, 0.0);
            for (k, weight) in (-reach..=reach).zip(&weights) {
                sum = sum.plus(fetch(i + k).times(*weight));
            }
            sum.times(1.0 / total)
        })
        .collect()
}

/// A smooth axis through an outline, with points `step` apart.
pub fn smooth_axis(outline: &[Point], step: f64, sigma: f64) -> Option<Polyline> {
    let even = Polyline::new(outline.iter().copied())?.resampled(step);
    Polyline::new(smoothed(even.points(), sigma / step))
}

/// How much points inside of a line along their inner side count, those outside counting the rest of 1.
const INSIDE_COUNTS: f64 = 0.9;
/// How stiff that line is: about eight points long.
const STIFFNESS: f64 = 30.0;
/// Rounds in which it settles.
const ROUNDS: usize = 12;

/// A smooth line along the inner side of a row of points, one point for each, and how far from it four
/// in five of them lie at most. Inside is to the right, as seen on the screen, walking along the points.
///
/// Whittaker's smoother with second differences; from round to round points count by the side on which
/// they lie (asymmetric least squares, from memory).
pub fn inner_side(points: &[Point]) -> (Vec<Point>, f64) {
    let n = points.len();
    let mut line = points.to_vec();
    if n < 3 {
        return (line, 0.0);
    }
    let mut stiff = DMatrix::<f64>::zeros(n, n);
    for i in 0..n - 2 {
        for (j, a) in [1.0, -2.0, 1.0].into_iter().enumerate() {
            for (k, b) in [1.0, -2.0, 1.0].into_iter().enumerate() {
                stiff[(i + j, i + k)] += STIFFNESS * a * b;
            }
        }
    }
    let mut counts = vec![1.0; n];
    let mut strays = vec![0.0; n];
    for _ in 0..ROUNDS {
        let mut normal = stiff.clone();
        let mut right = DMatrix::<f64>::zeros(n, 2);
        for (i, (point, count)) in points.iter().zip(&counts).enumerate() {
            normal[(i, i)] += count;
            right[(i, 0)] = count * point.x;
            right[(i, 1)] = count * point.y;
        }
        let Some(solved) = normal.cholesky().map(|fit| fit.solve(&right)) else {
            break;
        };
        line = (0..n)
            .map(|i| Point::new(solved[(i, 0)], solved[(i, 1)]))
            .collect();
        for (i, point) in points.iter().enumerate() {
            let along = line[(i + 1).min(n - 1)].minus(line[i.saturating_sub(1)]);
            let inside = point.minus(line[i]).dot(along.unit().turned());
            strays[i] = inside.abs();
            counts[i] = if inside > 0.0 {
                INSIDE_COUNTS
            } else {
                1.0 - INSIDE_COUNTS
            };
        }
    }
    (line, quantile(&strays, 0.8).unwrap_or(0.0))
}

/// Most curvature with which a line goes on: the radius is this many times what it goes on by.
const LEAST_RADIUS: f64 = 1.5;

/// The points with more of them before the first and after the last, up to `beyond` away: the line
/// goes on as bent as it is over its last `span` on either side.
pub fn continued(points: &[Point], span: f64, beyond: f64) -> Vec<Point> {
    let mut reversed: Vec<Point> = points.iter().rev().copied().collect();
    let before = onward(&reversed, span, beyond);
    reversed.reverse();
    let after = onward(points, span, beyond);
    before
        .into_iter()
        .rev()
        .chain(reversed)
        .chain(after)
        .collect()
}

/// The points beyond the last one, nearest first.
fn onward(points: &[Point], span: f64, beyond: f64) -> Vec<Point> {
    let Some((last, near)) = points.last().map(|last| {
        let near: Vec<Point> = points
            .iter()
            .rev()
            .take_while(|point| point.distance(*last) <= span)
            .copied()
            .collect();
        (*last, near)
    }) else {
        return Vec::new();
    };
    let Some(first) = near.last().filter(|_| near.len() >= 4) else {
        return Vec::new();
    };
    let along = last.minus(*first).unit();
    let across = along.turned();
    let mut normal = Matrix3::<f64>::zeros();
    let mut right = Vector3::<f64>::zeros();
    for point in &near {
        let from = point.minus(last);
        let (x, y) = (from.dot(along) / span, from.dot(across) / span);
        let row = Vector3::new(1.0, x, x * x);
        normal += row * row.transpose();
        right += row * y;
    }
    let Some(terms) = normal.cholesky().map(|fit| fit.solve(&right)) else {
        return Vec::new();
    };
    let bend = 0.5 * span / (LEAST_RADIUS * beyond);
    let bend = terms[2].clamp(-bend, bend);
    (1..=STEPS_ON)
        .map(|k| {
            let x = f64::from(k) / f64::from(STEPS_ON) * beyond / span;
            let y = terms[0] + terms[1] * x + bend * x * x;
            last.plus(along.times(x * span))
                .plus(across.times(y * span))
        })
        .collect()
}

/// Points on either side by which a line goes on.
const STEPS_ON: u32 = 8;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_inner_side_of_a_row_leaves_out_what_strays_outwards() {
        // walking to the right, inside is below; every third stretch of five strays 40 pixels outwards
        let strayed = |i: usize| i % 15 >= 10;
        let row: Vec<Point> = (0..45)
            .map(|i| {
                let out = if strayed(i) { 40.0 } else { 0.0 };
                Point::new(48.0 * i as f64, 300.0 - out)
            })
            .collect();
        let (line, strays) = inner_side(&row);
        for (i, point) in line.iter().enumerate().filter(|(i, _)| !strayed(*i)) {
            assert!((point.y - 300.0).abs() < 12.0, "{i}: {point:?}");
        }
        assert!(strays > 25.0, "{strays}");
        // a row that is smooth is its own inner side, walked either way
        let smooth: Vec<Point> = (0..30)
            .map(|i| Point::new(40.0 * f64::from(i), 0.2 * f64::from(i * i)))
            .collect();
        let back: Vec<Point> = smooth.iter().rev().copied().collect();
        for row in [smooth, back] {
            let (_, strays) = inner_side(&row);
            assert!(strays < 3.0, "{strays}");
        }
    }

    #[test]
    fn a_circle_goes_on_as_a_circle() {
        let at = |angle: f64| Point::new(600.0 * angle.cos(), 600.0 * angle.sin());
        let points: Vec<Point> = (0..15).map(|k| at(0.1 * f64::from(k))).collect();
        let longer = continued(&points, 450.0, 200.0);
        assert_eq!(longer.len(), points.len() + 16);
        for point in longer {
            // a parabola leaves the circle in the end, but by far less than the tangent's 40
            assert!((point.length() - 600.0).abs() < 15.0, "{point:?}");
        }
    }

    #[test]
    fn too_few_points_go_on_nowhere() {
        let points = [Point::new(0.0, 0.0), Point::new(5.0, 0.0)];
        assert_eq!(continued(&points, 100.0, 50.0), points);
        assert!(continued(&[], 100.0, 50.0).is_empty());
    }
}
