//! Points, polylines with arc length, and the map between a photo and its strip.
//!
//! Photo coordinates are in pixels, x right, y down, pixel centres at whole numbers. Strip
//! coordinates are (s, t): s along an axis, t across it, inward positive.

use serde::Deserialize;
use serde::Serialize;

/// A point or a direction in a photo, in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl Point {
    /// A point from its coordinates.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The sum of both coordinates.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }

    /// The way from `other` to this point.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }

    /// Both coordinates times `factor`.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }

    /// Distance from the origin.
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Distance to `other`.
    pub fn distance(self, other: Self) -> f64 {
        self.minus(other).length()
    }

    /// Scalar product.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// The same direction with length 1; the zero vector stays as it is.
    #[must_use]
    pub fn unit(self) -> Self {
        let length = self.length();
        if length > 0.0 {
            self.times(1.0 / length)
        } else {
            self
        }
    }

    /// The direction turned by a quarter: from right to down.
    #[must_use]
    pub fn turned(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// The point on the way to `other`, at `fraction` of it.
    #[must_use]
    pub fn toward(self, other: Self, fraction: f64) -> Self {
        self.plus(other.minus(self).times(fraction))
    }
}

/// A line of points with the arc length to each of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Polyline {
    points: Vec<Point>,
    lengths: Vec<f64>,
}

impl Polyline {
    /// Joins the points in order; points that coincide with the one before are left out.
    ///
    /// `None` when fewer than two distinct points remain.
    pub fn new(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        let mut kept: Vec<Point> = Vec::new();
        let mut lengths = Vec::new();
        let mut along = 0.0;
        for point in points {
            if let Some(last) = kept.last() {
                let step = point.distance(*last);
                if step < 1e-9 {
                    continue;
                }
                along += step;
            }
            kept.push(point);
            lengths.push(along);
        }
        (kept.len() >= 2).then_some(Self {
            points: kept,
            lengths,
        })
    }

    /// The points, in order.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Length of the whole line.
    pub fn length(&self) -> f64 {
        self.lengths[self.lengths.len() - 1]
    }

    /// The point at arc length `s`; beyond the ends the end segments go straight on.
    pub fn at(&self, s: f64) -> Point {
        let segment = self.segment(s);
        let (a, b) = (self.lengths[segment], self.lengths[segment + 1]);
        self.points[segment].toward(self.points[segment + 1], (s - a) / (b - a))
    }

    /// The unit direction of the line at arc length `s`.
    pub fn direction(&self, s: f64) -> Point {
        let segment = self.segment(s);
        self.points[segment + 1].minus(self.points[segment]).unit()
    }

    /// Points at equal steps of arc length, close to `step` apart, both ends included.
    #[must_use]
    pub fn resampled(&self, step: f64) -> Self {
        let count = ((self.length() / step).round() as usize).max(1);
        let exact = self.length() / count as f64;
        Self::new((0..=count).map(|i| self.at(i as f64 * exact))).unwrap_or_else(|| self.clone())
    }

    fn segment(&self, s: f64) -> usize {
        let after = self.lengths.partition_point(|length| *length <= s);
        after.clamp(1, self.points.len() - 1) - 1
    }
}

/// The map from a strip to its photo: an axis with an inward normal at each point of it.
#[derive(Debug, Clone, PartialEq)]
pub struct StripMap {
    axis: Vec<Point>,
    inward: Vec<Point>,
    step: f64,
}

impl StripMap {
    /// A map along `axis`, sampled every `step` pixels, whose inward side lies to the right of the
    /// axis' direction as seen on the screen (the direction turned by a quarter, right to down).
    pub fn along(axis: &Polyline, step: f64) -> Self {
        let even = axis.resampled(step);
        let points = even.points().to_vec();
        let step = even.length() / (points.len() - 1) as f64;
        let last = points.len() - 1;
        let inward = (0..points.len())
            .map(|i| {
                points[(i + 1).min(last)]
                    .minus(points[i.saturating_sub(1)])
                    .unit()
                    .turned()
            })
            .collect();
        Self {
            axis: points,
            inward,
            step,
        }
    }

    /// Distance between two points of the axis, in pixels.
    pub fn step(&self) -> f64 {
        self.step
    }

    /// Length of the axis, in pixels.
    pub fn length(&self) -> f64 {
        self.step * (self.axis.len() - 1) as f64
    }

    /// The photo point at strip coordinates (s, t), both in pixels.
    pub fn point(&self, s: f64, t: f64) -> Point {
        let (base, inward) = self.frame(s);
        base.plus(inward.times(t))
    }

    /// The axis point and the inward unit normal at `s` pixels along the axis.
    pub fn frame(&self, s: f64) -> (Point, Point) {
        let last = self.axis.len() - 1;
        let at = s / self.step;
        let index = (at.floor().max(0.0) as usize).min(last - 1);
        let fraction = at - index as f64;
        let base = self.axis[index].toward(self.axis[index + 1], fraction);
        let inward = self.inward[index]
            .toward(self.inward[index + 1], fraction.clamp(0.0, 1.0))
            .unit();
        (base, inward)
    }

    /// The strip coordinates (s, t) of a photo point near the axis.
    pub fn locate(&self, point: Point) -> (f64, f64) {
        let mut best = (f64::INFINITY, 0);
        for (i, axis) in self.axis.iter().enumerate() {
            let distance = axis.distance(point);
            if distance < best.0 {
                best = (distance, i);
            }
        }
        let mut s = best.1 as f64 * self.step;
        for _ in 0..4 {
            let (base, inward) = self.frame(s);
            let along = Point::new(inward.y, -inward.x);
            s += point.minus(base).dot(along);
        }
        let (base, inward) = self.frame(s);
        (s, point.minus(base).dot(inward))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn arc(radius: f64) -> Polyline {
        Polyline::new((0..=200).map(|i| {
            let angle = f64::from(i) / 200.0 * 1.5;
            Point::new(radius * angle.sin(), radius * (1.0 - angle.cos()))
        }))
        .unwrap()
    }

    #[test]
    fn the_length_of_an_arc_is_radius_times_angle() {
        assert!((arc(100.0).length() - 150.0).abs() < 0.01);
    }

    #[test]
    fn equal_steps_keep_both_ends() {
        let even = arc(100.0).resampled(7.0);
        assert!(even.points()[0].distance(Point::new(0.0, 0.0)) < 1e-9);
        let end = Point::new(100.0 * 1.5_f64.sin(), 100.0 * (1.0 - 1.5_f64.cos()));
        assert!(even.points().last().unwrap().distance(end) < 1e-9);
    }

    proptest! {
        #[test]
        fn a_point_goes_to_the_strip_and_back(s in 5.0..140.0_f64, t in -30.0..30.0_f64) {
            let map = StripMap::along(&arc(100.0), 1.0);
            let there = map.point(s, t);
            let (s_back, t_back) = map.locate(there);
            prop_assert!(map.point(s_back, t_back).distance(there) < 0.02);
        }
    }
}
