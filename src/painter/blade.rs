//! The margin of the blade: a smooth curve with the setal bases on it.
//!
//! World coordinates are in micrometres: the middle of the margin is the origin, x runs along the
//! margin there and y inward. Strip coordinates (s, t) belong to the margin: s along it (0 at the
//! origin), t across it, inward positive.

use crate::geometry::Point;
use crate::painter::plane::unit_of;
use crate::painter::view::View;

/// How the margin bends: curvatures in 1/µm, convex positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarginForm {
    /// Curvature far from the middle.
    pub bend: f64,
    /// Extra curvature at the middle.
    pub tip: f64,
    /// Half length of the part with extra curvature, in µm.
    pub tip_reach: f64,
    /// Amplitude of slow waves of the curvature.
    pub wave: f64,
    /// Length of these waves, in µm.
    pub wave_length: f64,
    /// The margin turns no further than this to either side, in radians.
    pub most_turn: f64,
}

/// The margin as a line of points.
#[derive(Debug, Clone, PartialEq)]
pub struct Margin {
    points: Vec<Point>,
    step: f64,
    first: f64,
}

impl Margin {
    /// Draws the margin to `reach` µm on both sides of the middle, with points `step` µm apart.
    pub fn new(form: &MarginForm, reach: f64, step: f64) -> Self {
        let count = (reach / step).ceil() as usize;
        let mut left = Self::arm(form, count, step, -1.0);
        left.reverse();
        left.push(Point::new(0.0, 0.0));
        left.extend(Self::arm(form, count, step, 1.0));
        Self {
            points: left,
            step,
            first: -(count as f64) * step,
        }
    }

    fn arm(form: &MarginForm, count: usize, step: f64, side: f64) -> Vec<Point> {
        let (mut x, mut y, mut turn) = (0.0, 0.0, 0.0_f64);
        let mut points = Vec::with_capacity(count);
        for i in 0..count {
            let s = side * (i as f64 + 0.5) * step;
            let near = s / form.tip_reach;
            let curvature = form.bend
                + form.tip * libm::exp(-near * near)
                + form.wave * libm::sin(std::f64::consts::TAU * s / form.wave_length);
            // fades out as the turn nears its limit, so that the margin never closes on itself
            let room = (1.0 - turn.abs() / form.most_turn).clamp(0.0, 1.0);
            let outward = turn * curvature * side > 0.0;
            let bend = if outward {
                curvature * (3.0 * room).min(1.0)
            } else {
                curvature
            };
            let half = side * bend * step / 2.0;
            turn += half;
            x += side * step * libm::cos(turn);
            y += side * step * libm::sin(turn);
            turn += half;
            points.push(Point::new(x, y));
        }
        points
    }

    /// The point of the margin at `s`, the direction along it and the direction inward.
    pub fn frame(&self, s: f64) -> (Point, Point, Point) {
        let at = (s - self.first) / self.step;
        let last = self.points.len() - 2;
        let i = (at.max(0.0) as usize).min(last);
        let base = self.points[i].toward(self.points[i + 1], at - i as f64);
        let chord = |j: usize| {
            let before = self.points[j.saturating_sub(1)];
            unit_of(self.points[(j + 1).min(last + 1)].minus(before))
        };
        let along = unit_of(chord(i).toward(chord(i + 1), at - i as f64));
        (base, along, along.turned())
    }

    /// The range of s.
    pub fn range(&self) -> (f64, f64) {
        (self.first, -self.first)
    }

    fn nearest_index(&self, p: Point) -> usize {
        let mut best = (f64::INFINITY, 0);
        for (i, q) in self.points.iter().enumerate() {
            let d = q.minus(p);
            let far = d.dot(d);
            if far < best.0 {
                best = (far, i);
            }
        }
        best.1
    }

    /// Strip coordinates of `p`, looked for near point `start`.
    fn locate_from(&self, p: Point, start: usize) -> (f64, f64) {
        let far = |i: usize| {
            let d = self.points[i].minus(p);
            d.dot(d)
        };
        let last = self.points.len() - 1;
        let mut i = start;
        loop {
            let here = far(i);
            if i < last && far(i + 1) < here {
                i += 1;
            } else if i > 0 && far(i - 1) < here {
                i -= 1;
            } else {
                break;
            }
        }
        let a = self.points[i.saturating_sub(1)];
        let b = self.points[(i + 1).min(last)];
        let along = unit_of(b.minus(a));
        let away = p.minus(self.points[i]);
        let u = away.dot(along);
        // a parabola through the neighbours: the curve itself between its points
        let sag = self.sag(i);
        let t = away.dot(along.turned()) - sag * u * u;
        (
            self.first + i as f64 * self.step + u / (1.0 - 2.0 * sag * t).max(0.2),
            t,
        )
    }

    /// Half the curvature at point `i`, convex positive.
    fn sag(&self, i: usize) -> f64 {
        if i == 0 || i + 1 >= self.points.len() {
            return 0.0;
        }
        let (a, b, c) = (self.points[i - 1], self.points[i], self.points[i + 1]);
        let along = unit_of(c.minus(a));
        let mid = a.toward(c, 0.5);
        mid.minus(b).dot(along.turned()) / (self.step * self.step)
    }

    /// Strip coordinates of `p` by a search over the whole margin.
    pub fn locate(&self, p: Point) -> (f64, f64) {
        self.locate_from(p, self.nearest_index(p))
    }
}

/// Strip coordinates all over a view, by a coarse grid of nearest margin points.
pub(crate) struct Locator<'a> {
    margin: &'a Margin,
    nodes: Vec<u32>,
    columns: usize,
    cell: usize,
}

impl<'a> Locator<'a> {
    pub(crate) fn new(margin: &'a Margin, view: &View) -> Self {
        let cell = 24;
        let columns = view.width as usize / cell + 1;
        let rows = view.height as usize / cell + 1;
        let mut nodes = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let x = (column * cell + cell / 2) as f64;
                let y = (row * cell + cell / 2) as f64;
                nodes.push(margin.nearest_index(view.world(Point::new(x, y))) as u32);
            }
        }
        Self {
            margin,
            nodes,
            columns,
            cell,
        }
    }

    /// Strip coordinates of the pixel (`x`, `y`), whose world point is `p`.
    pub(crate) fn locate(&self, x: usize, y: usize, p: Point) -> (f64, f64) {
        let node = self.nodes[(y / self.cell) * self.columns + x / self.cell];
        self.margin.locate_from(p, node as usize)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn round(radius: f64) -> Margin {
        let form = MarginForm {
            bend: 1.0 / radius,
            tip: 0.0,
            tip_reach: 1.0,
            wave: 0.0,
            wave_length: 1.0,
            most_turn: 3.0,
        };
        Margin::new(&form, radius, 3.0)
    }

    #[test]
    fn a_margin_of_constant_curvature_is_a_circle() {
        let margin = round(800.0);
        for s in [-600.0, -200.0, 0.0, 333.3, 700.0] {
            let (p, _, inward) = margin.frame(s);
            assert!((p.distance(Point::new(0.0, 800.0)) - 800.0).abs() < 0.01);
            let centre = p.plus(inward.times(800.0));
            assert!(centre.distance(Point::new(0.0, 800.0)) < 1.5, "{centre:?}");
        }
    }

    #[test]
    fn strip_coordinates_on_a_circle_are_arc_and_depth() {
        let margin = round(800.0);
        for (angle, depth) in [(0.1, 30.0), (-0.4, -150.0), (0.5, 300.0), (0.0, 0.0)] {
            let radius = 800.0 - depth;
            let p = Point::new(radius * libm::sin(angle), 800.0 - radius * libm::cos(angle));
            let (s, t) = margin.locate(p);
            assert!((s - angle * 800.0).abs() < 0.1, "{s}");
            assert!((t - depth).abs() < 0.05, "{t}");
        }
    }
}
