//! Absorbing layers: optical density per channel, and the marks drawn into it.

use crate::geometry::Point;
use crate::painter::noise::value_noise;
use crate::painter::plane::length_of;
use crate::painter::scene::Hue;
use crate::painter::view::Ground;
use crate::painter::view::View;

/// Something with an outline that lies in the picture.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A line with width: hairs, arms of chromatophores, filaments, ruling.
    Line(Line),
    /// A round or ragged spot.
    Spot(Spot),
    /// An air bubble.
    Bubble(Bubble),
}

/// A line along an axis, maybe bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// The axis.
    pub axis: Axis,
    /// Half width at its start, in µm.
    pub start_half: f64,
    /// Half width at its end, in µm.
    pub end_half: f64,
    /// Density per channel.
    pub ink: Hue,
    /// Density of the walls over that of the core: 0 draws a solid line.
    pub hollow: f64,
    /// Length of its segments in µm; 0 for none.
    pub segments: f64,
}

/// A spot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Its centre in µm.
    pub at: Point,
    /// Its radius in µm.
    pub radius: f64,
    /// Softness of the edge as a part of the radius.
    pub soft: f64,
    /// Raggedness of the outline, 0 to 1.
    pub ragged: f64,
    /// Density per channel.
    pub ink: Hue,
    /// Seed of its outline.
    pub seed: u64,
}

/// An air bubble: dark rim, bright middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bubble {
    /// Its centre in µm.
    pub at: Point,
    /// Its radius in µm.
    pub radius: f64,
    /// Thickness of the rim as a part of the radius.
    pub rim: f64,
    /// Density of the rim.
    pub od: f64,
}

/// A curved axis: the point at u lies at `origin + u·direction + (bend·u² + wave·sin(...))·normal`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// Where it starts, in µm.
    pub origin: Point,
    /// Its first direction (length 1).
    pub direction: Point,
    /// Its length in µm.
    pub length: f64,
    /// Its bend in 1/µm.
    pub bend: f64,
    /// Amplitude of its waves in µm.
    pub wave: f64,
    /// Length of its waves in µm.
    pub wave_length: f64,
}

impl Axis {
    /// A straight axis.
    pub fn straight(origin: Point, direction: Point, length: f64) -> Self {
        Self {
            origin,
            direction,
            length,
            bend: 0.0,
            wave: 0.0,
            wave_length: 1.0,
        }
    }

    fn offset(&self, u: f64) -> f64 {
        let wave = if self.wave == 0.0 {
            0.0
        } else {
            self.wave * libm::sin(std::f64::consts::TAU * u / self.wave_length)
        };
        self.bend * u * u + wave
    }

    fn slope(&self, u: f64) -> f64 {
        let wave = if self.wave == 0.0 {
            0.0
        } else {
            let k = std::f64::consts::TAU / self.wave_length;
            self.wave * k * libm::cos(k * u)
        };
        2.0 * self.bend * u + wave
    }

    /// The point at `u`.
    pub fn point(&self, u: f64) -> Point {
        self.origin
            .plus(self.direction.times(u))
            .plus(self.direction.turned().times(self.offset(u)))
    }

    /// Along and across coordinates of a world point.
    fn local(&self, p: Point) -> (f64, f64) {
        let away = p.minus(self.origin);
        let mut u = away.dot(self.direction);
        let v = away.dot(self.direction.turned());
        // one step toward the foot of the perpendicular keeps bent lines even in width
        let slope = self.slope(u.clamp(0.0, self.length));
        let miss = v - self.offset(u);
        u += miss * slope / (1.0 + slope * slope);
        let slope = self.slope(u);
        let across = (v - self.offset(u)) / libm::sqrt(1.0 + slope * slope);
        (u, across)
    }
}

/// Rows `first..` of the picture's optical density, three channels per pixel.
pub(crate) struct Band<'a> {
    pub(crate) view: &'a View,
    pub(crate) ground: Ground,
    pub(crate) first: usize,
    pub(crate) ink: &'a mut [f32],
}

impl Band<'_> {
    fn rows(&self) -> usize {
        self.ink.len() / (self.view.width as usize * 3)
    }

    /// Adds `amount` times `hue` at a pixel of the band.
    pub(crate) fn add(&mut self, at: usize, amount: f64, hue: &Hue) {
        for (channel, density) in hue.iter().enumerate() {
            self.ink[at * 3 + channel] += (amount * density) as f32;
        }
    }

    /// Calls `paint` with (band, pixel, u, v) for every pixel closer than `reach` µm to the axis,
    /// from `before` µm before its start to its end.
    pub(crate) fn along(
        &mut self,
        axis: &Axis,
        before: f64,
        reach: f64,
        mut paint: impl FnMut(&mut Self, usize, f64, f64),
    ) {
        let umpx = self.view.umpx;
        let grow = reach / umpx + 1.5;
        let rows = self.rows();
        let last = f64::from(self.view.width) - 1.0;
        let mut spans = vec![(f64::INFINITY, f64::NEG_INFINITY); rows];
        let step = (reach * 0.5).max(umpx * 2.0);
        let count = ((axis.length + before) / step).ceil() as usize;
        let mut touched = false;
        let mut previous: Option<Point> = None;
        for i in 0..=count {
            let p = self.view.pixel(axis.point(i as f64 * step - before));
            let q = previous.unwrap_or(p);
            previous = Some(p);
            let top = (p.y.min(q.y) - grow - self.first as f64).max(0.0);
            let low = (p.y.max(q.y) + grow - self.first as f64).min(rows as f64 - 1.0);
            let (left, right) = (p.x.min(q.x) - grow, p.x.max(q.x) + grow);
            if top > low || right < 0.0 || left > last {
                continue;
            }
            touched = true;
            for span in &mut spans[top.floor() as usize..=low.floor() as usize] {
                span.0 = span.0.min(left);
                span.1 = span.1.max(right);
            }
        }
        if !touched {
            return;
        }
        for (row, span) in spans.iter().enumerate() {
            if span.0 > span.1 {
                continue;
            }
            let from = span.0.max(0.0).floor() as usize;
            let to = span.1.min(last).floor() as usize;
            for x in from..=to {
                let pixel = Point::new(x as f64, (self.first + row) as f64);
                let (u, v) = axis.local(self.ground.world(pixel));
                if v.abs() <= reach && u >= -before && u <= axis.length {
                    paint(self, row * self.view.width as usize + x, u, v);
                }
            }
        }
    }

    /// Calls `paint` with (band, pixel, distance, world point) within `reach` µm of `centre`.
    fn around(
        &mut self,
        centre: Point,
        reach: f64,
        mut paint: impl FnMut(&mut Self, usize, f64, Point),
    ) {
        let c = self.view.pixel(centre);
        let r = reach / self.view.umpx + 1.0;
        let width = self.view.width as usize;
        let top = (c.y - r - self.first as f64).max(0.0);
        let low = (c.y + r - self.first as f64).min(self.rows() as f64 - 1.0);
        let left = (c.x - r).max(0.0);
        let right = (c.x + r).min(width as f64 - 1.0);
        if top > low || left > right {
            return;
        }
        for row in top as usize..=low as usize {
            for x in left as usize..=right as usize {
                let pixel = Point::new(x as f64, (self.first + row) as f64);
                let world = self.ground.world(pixel);
                let d = length_of(world.minus(centre));
                if d <= reach {
                    paint(self, row * width + x, d, world);
                }
            }
        }
    }

    /// Draws a mark.
    pub(crate) fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Line(line) => self.line(line),
            Mark::Spot(spot) => self.spot(spot),
            Mark::Bubble(bubble) => self.bubble(bubble),
        }
    }

    fn line(&mut self, line: &Line) {
        let soft = self.view.umpx * 0.5;
        let reach = line.start_half.max(line.end_half) + soft * 2.0;
        self.along(&line.axis, soft, reach, |band, at, u, v| {
            let part = (u / line.axis.length).clamp(0.0, 1.0);
            let half = line.start_half + (line.end_half - line.start_half) * part;
            let wall = half * 0.35;
            let core = cover(v, half - wall, soft);
            let whole = cover(v, half, soft);
            let mut amount = whole + line.hollow * (whole - core);
            if line.segments > 0.0 {
                let phase = u / line.segments;
                let from_joint = (phase - phase.round()).abs() * line.segments;
                amount += whole * 0.8 * cover(from_joint, half * 0.25, soft);
            }
            let ends = ramp(u, soft) * ramp(line.axis.length - u, soft);
            band.add(at, amount * ends, &line.ink);
        });
    }

    fn spot(&mut self, spot: &Spot) {
        let soft = (spot.soft * spot.radius).max(self.view.umpx * 0.5);
        let reach = spot.radius * (1.0 + spot.ragged) + soft;
        self.around(spot.at, reach, |band, at, d, p| {
            let away = p.minus(spot.at).times(2.2 / spot.radius);
            let rough = f64::from(value_noise(away.x, away.y, spot.seed)) - 0.5;
            let radius = spot.radius * (1.0 + spot.ragged * 2.0 * rough);
            band.add(at, ramp(radius - d, soft), &spot.ink);
        });
    }

    fn bubble(&mut self, bubble: &Bubble) {
        let soft = self.view.umpx.max(bubble.radius * 0.03);
        self.around(bubble.at, bubble.radius * 1.15, |band, at, d, _| {
            let inner = bubble.radius * (1.0 - bubble.rim);
            let rim = ramp(bubble.radius - d, soft) * ramp(d - inner, soft + bubble.radius * 0.08);
            let halo = ramp(d - bubble.radius, soft) * ramp(bubble.radius * 1.08 - d, soft);
            let shine = ramp(inner * 0.45 - d, bubble.radius * 0.2);
            let od = bubble.od * rim - 0.04 * halo - 0.03 * shine;
            band.add(at, od, &[1.0, 1.0, 1.0]);
        });
    }
}

/// Soft step: 0 below `-soft`, 1 above `soft`, half at 0.
pub(crate) fn ramp(x: f64, soft: f64) -> f64 {
    let f = (0.5 + x / (2.0 * soft)).clamp(0.0, 1.0);
    f * f * (3.0 - 2.0 * f)
}

/// Cover of a bar from `-half` to `half` at `v`; its integral stays `2·half` for any softness.
pub(crate) fn cover(v: f64, half: f64, soft: f64) -> f64 {
    (ramp(v + half, soft) - ramp(v - half, soft)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_integral_of_a_bar_is_its_width_whatever_the_softness() {
        for (half, soft) in [(3.0, 0.5), (0.4, 1.5), (1.0, 1.0)] {
            let sum: f64 = (-4000..4000)
                .map(|i| cover(f64::from(i) * 0.01, half, soft) * 0.01)
                .sum();
            assert!((sum - 2.0 * half).abs() < 1e-3, "{sum}");
        }
    }
}
