//! Arcs and curves as points, and areas as triangles.
//!
//! Angles are phases: 0 is at the top, 0.25 to the right, 1 at the top again, clockwise.

use crate::geometry::Point;
use std::f64::consts::TAU;

/// Longest part of a turn that is drawn as one straight piece.
const STEP: f64 = 1.0 / 180.0;

/// The point of a circle at a phase.
pub fn on_circle(centre: Point, radius: f64, phase: f64) -> Point {
    let (sin, cos) = (libm::sin(TAU * phase), libm::cos(TAU * phase));
    Point::new(centre.x + radius * sin, centre.y - radius * cos)
}

/// The arc of a circle from one phase to another, which may be the smaller one.
pub fn arc(centre: Point, radius: f64, from: f64, to: f64) -> Vec<Point> {
    let steps = ((to - from).abs() / STEP).ceil().max(1.0) as usize;
    (0..=steps)
        .map(|i| on_circle(centre, radius, from + (to - from) * i as f64 / steps as f64))
        .collect()
}

/// The border of the part of a ring between two radii and two phases.
pub fn sector(centre: Point, [inner, outer]: [f64; 2], from: f64, to: f64) -> Vec<Point> {
    let mut border = arc(centre, outer, from, to);
    if inner > 0.0 {
        border.extend(arc(centre, inner, to, from));
    } else {
        border.push(centre);
    }
    border
}

/// A cubic curve from the first to the last of four points, pulled towards the two between.
pub fn curve([a, b, c, d]: [Point; 4], pieces: usize) -> Vec<Point> {
    (0..=pieces)
        .map(|i| {
            let t = i as f64 / pieces.max(1) as f64;
            let u = 1.0 - t;
            let weights = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
            let at = |of: fn(&Point) -> f64| {
                let points = [&a, &b, &c, &d];
                points.iter().zip(weights).map(|(p, w)| w * of(p)).sum()
            };
            Point::new(at(|p| p.x), at(|p| p.y))
        })
        .collect()
}

/// A straight line in pieces `on` long, `off` apart.
pub fn dashes(from: Point, to: Point, on: f64, off: f64) -> Vec<Vec<Point>> {
    let length = from.distance(to);
    let period = on + off;
    if !(length > 0.0 && period > 0.0) {
        return Vec::new();
    }
    let at = |s: f64| from.toward(to, (s / length).min(1.0));
    (0..(length / period).ceil() as usize)
        .map(|i| {
            let start = i as f64 * period;
            vec![at(start), at(start + on)]
        })
        .collect()
}

/// Cuts an area whose border does not cross itself into triangles; fewer than three corners are
/// no area.
///
/// # Source
/// Ear clipping: a corner whose triangle holds no other corner is cut off until three are left
/// (Meisters 1975, The American Mathematical Monthly 82:648-651; from memory).
pub fn triangles(points: &[Point]) -> Vec<[Point; 3]> {
    let mut left: Vec<Point> = points.to_vec();
    left.dedup_by(|a, b| a.distance(*b) < 1e-9);
    if left
        .first()
        .zip(left.last())
        .is_some_and(|(a, b)| a.distance(*b) < 1e-9)
    {
        left.pop();
    }
    if left.len() < 3 {
        return Vec::new();
    }
    let doubled: f64 = (0..left.len())
        .map(|i| cross(left[i], left[(i + 1) % left.len()], Point::new(0.0, 0.0)))
        .sum();
    if doubled < 0.0 {
        left.reverse();
    }
    let mut found = Vec::with_capacity(left.len() - 2);
    while left.len() > 3 {
        let ear = (0..left.len()).find(|i| is_ear(&left, *i));
        // Rounding may hide the last ears of a flat rest: any corner then does.
        let i = ear.unwrap_or(0);
        let [a, b, c] = corner(&left, i);
        found.push([a, b, c]);
        left.remove(i);
    }
    found.push([left[0], left[1], left[2]]);
    found
}

fn corner(points: &[Point], i: usize) -> [Point; 3] {
    let n = points.len();
    [points[(i + n - 1) % n], points[i], points[(i + 1) % n]]
}

/// Twice the area of a triangle, positive when it turns to the right on screen.
fn cross(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

fn is_ear(points: &[Point], i: usize) -> bool {
    let [a, b, c] = corner(points, i);
    let own = |p: &Point| *p == a || *p == b || *p == c;
    let inside =
        |p: &Point| cross(a, b, *p) >= 0.0 && cross(b, c, *p) >= 0.0 && cross(c, a, *p) >= 0.0;
    cross(a, b, c) > 0.0 && !points.iter().any(|p| !own(p) && inside(p))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(triangles: &[[Point; 3]]) -> f64 {
        triangles
            .iter()
            .map(|[a, b, c]| cross(*a, *b, *c).abs() / 2.0)
            .sum()
    }

    #[test]
    fn a_phase_runs_clockwise_from_the_top() {
        let centre = Point::new(10.0, 10.0);
        for (phase, x, y) in [(0.0, 10.0, 8.0), (0.25, 12.0, 10.0), (0.5, 10.0, 12.0)] {
            assert!(on_circle(centre, 2.0, phase).distance(Point::new(x, y)) < 1e-12);
        }
    }

    /// The area of a ring sector is pi (R^2 - r^2) times its part of the turn.
    #[test]
    fn triangles_fill_a_sector_and_nothing_else() {
        let centre = Point::new(3.0, -2.0);
        for (from, to) in [(0.1, 0.4), (0.4, 0.1), (0.0, 0.95)] {
            let border = sector(centre, [4.0, 6.0], from, to);
            let found = triangles(&border);
            assert_eq!(found.len(), border.len() - 2);
            let wanted = std::f64::consts::PI * 20.0 * f64::abs(to - from);
            assert!((area(&found) / wanted - 1.0).abs() < 1e-3, "{from} {to}");
        }
        assert!(triangles(&[centre, centre]).is_empty());
    }

    #[test]
    fn dashes_stay_on_the_line_and_a_curve_meets_its_ends() {
        let (a, b) = (Point::new(0.0, 0.0), Point::new(10.0, 0.0));
        let pieces = dashes(a, b, 3.0, 1.0);
        assert_eq!(pieces.len(), 3);
        assert_eq!(pieces[2][1], b);
        assert!(dashes(a, a, 3.0, 1.0).is_empty());
        let curved = curve([a, Point::new(0.0, 5.0), Point::new(10.0, 5.0), b], 8);
        assert_eq!((curved[0], curved[8]), (a, b));
        assert!((curved[4].y - 3.75).abs() < 1e-12);
    }
}
