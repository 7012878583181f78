//! The tip itself: water, tissue, bases, setae.

use crate::anatomy::EdgeForm;
use crate::drawing::key::HEIGHT;
use crate::drawing::key::Look;
use crate::drawing::key::WIDTH;
use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Drawing;
use crate::geometry::Point;
use crate::moult::Stage;

/// Units per base width.
pub(in crate::drawing) const UNIT: f64 = 18.0;
/// Where the base line lies.
const BASE_ROW: f64 = 98.0;
/// Distance from seta to seta, in base widths.
const SPACING: f64 = 3.1;
/// The outer line of the cuticle, in base widths outside of the base line.
pub(in crate::drawing) const CUTICLE: f64 = -0.75;
/// Depth of the pigmented band under the edge, in base widths.
const BAND: f64 = 1.1;

/// A stage on its sheet.
#[derive(Debug, Clone, Copy)]
pub(in crate::drawing) struct Sheet {
    pub(in crate::drawing) look: Look,
    pub(in crate::drawing) scheme: Scheme,
}

/// Numbers that look scattered and are always the same.
struct Scatter(u32);

impl Scatter {
    /// The next number, 0 to 1.
    fn next(&mut self) -> f64 {
        // Numerical Recipes' constants (from memory); only the look hangs on them.
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(self.0 >> 8) / f64::from(1_u32 << 24)
    }
}

impl Sheet {
    pub(in crate::drawing) const fn new(look: Look, scheme: Scheme) -> Self {
        Self { look, scheme }
    }

    pub(in crate::drawing) fn draw(&self, drawing: &mut Drawing) {
        let size = Point::new(f64::from(WIDTH), f64::from(HEIGHT));
        drawing.rectangle(Point::new(0.0, 0.0), size, self.scheme.of(Role::Water));
        self.tissue(drawing);
        self.new_setae(drawing);
        self.folds(drawing);
        self.cuticle(drawing);
        for u in setae() {
            self.seta(drawing, u);
        }
    }

    /// A place in base widths along the row and inward of the base line.
    pub(in crate::drawing) fn at(u: f64, v: f64) -> Point {
        Point::new(UNIT * u, BASE_ROW + UNIT * v)
    }

    /// How far inward the edge of the epidermis lies at `u`: scallops reach deepest midway between
    /// setae.
    pub(in crate::drawing) fn edge(&self, u: f64) -> f64 {
        let part = u / SPACING - 0.5;
        let sin = libm::sin(std::f64::consts::PI * part);
        self.look.gap + self.look.scallop * sin * sin
    }

    fn edge_line(&self, deeper: f64) -> Vec<Point> {
        let steps = 160_u32;
        let across = f64::from(WIDTH) / UNIT;
        (0..=steps)
            .map(|i| {
                let u = across * f64::from(i) / f64::from(steps);
                Self::at(u, self.edge(u) + deeper)
            })
            .collect()
    }

    fn tissue(&self, drawing: &mut Drawing) {
        let none = self.look.edge == EdgeForm::None;
        let top = if none { -0.4 } else { 0.0 };
        let mut border = self.edge_line(top);
        let (right, low) = (f64::from(WIDTH), f64::from(HEIGHT));
        border.extend([Point::new(right, low), Point::new(0.0, low)]);
        drawing.area(border, self.scheme.of(Role::Tissue));
        if !none {
            self.pigment_band(drawing);
        }
        self.colour_cells(drawing, top);
    }

    /// The denser band under the edge: whole, or in pieces.
    fn pigment_band(&self, drawing: &mut Drawing) {
        let pigment = self.scheme.of(Role::Pigment);
        let (upper, lower) = (self.edge_line(0.0), self.edge_line(BAND));
        let whole = self.look.edge != EdgeForm::Broken;
        let pieces: Vec<(usize, usize)> = if whole {
            vec![(0, upper.len() - 1)]
        } else {
            (0..11).map(|i| (i * 15 + 2, i * 15 + 12)).collect()
        };
        for (from, to) in pieces {
            let to = to.min(upper.len() - 1);
            let mut border = upper[from..=to].to_vec();
            // A piece thins out towards its ends.
            border.extend((from..=to).rev().map(|i| {
                let part = (i - from) as f64 / (to - from) as f64;
                let full = if whole {
                    1.0
                } else {
                    libm::sin(std::f64::consts::PI * part)
                };
                upper[i].toward(lower[i], full)
            }));
            drawing.area(border, pigment.veiled(0.42));
            drawing.line(upper[from..=to].to_vec(), 2.2, pigment);
        }
    }

    /// Colour cells deeper in the tissue: a body with branches.
    fn colour_cells(&self, drawing: &mut Drawing, top: f64) {
        let pigment = self.scheme.of(Role::Pigment).veiled(0.6);
        let mut scatter = Scatter(7);
        for _ in 0..46 {
            let u = 0.9 + scatter.next() * (f64::from(WIDTH) / UNIT - 1.8);
            let v = 0.5 + scatter.next() * 14.0;
            let from_edge = v - self.edge(u) - top;
            let turn = scatter.next();
            let size = 0.16 + 0.16 * scatter.next();
            if from_edge < BAND + 0.7 {
                continue;
            }
            let centre = Self::at(u, v);
            drawing.dot(centre, size * UNIT, pigment);
            for arm in 0..5 {
                let phase = turn + f64::from(arm) / 5.0;
                let reach = UNIT * size * (2.0 + 0.9 * f64::from(arm % 3));
                let tip = crate::drawing::curves::on_circle(centre, reach, phase);
                drawing.line(vec![centre, tip], 1.4, pigment);
            }
        }
    }

    /// New setae in line with the old ones: tubes with two walls inside the tissue, their tips
    /// below, at or beyond the edge.
    fn new_setae(&self, drawing: &mut Drawing) {
        let amount = self.look.new_setae;
        if amount <= 0.0 {
            return;
        }
        let tip_beyond = match self.look.stage {
            Stage::D1 => -0.5,
            Stage::D2 => 0.35,
            Stage::E => 4.5,
            _ => 2.6,
        };
        let ink = self
            .scheme
            .of(Role::NewSeta)
            .veiled((0.35 + 0.65 * amount) as f32);
        let setules = amount > 0.45;
        for (i, u) in setae().into_iter().enumerate() {
            // Folded tubes lie a little askew.
            let lean = if self.look.stage >= Stage::D3 {
                0.5 * if i % 2 == 0 { 1.0 } else { -1.0 }
            } else {
                0.0
            };
            let (tip, foot) = (self.edge(u) - tip_beyond, self.edge(u) + 6.5);
            let at = |side: f64, part: f64| {
                let wide = 0.42 * side * (0.25 + 0.75 * part) * f64::from(u8::from(part > 0.0));
                Self::at(u + wide + lean * (1.0 - part), tip + (foot - tip) * part)
            };
            for side in [-1.0, -0.45, 0.45, 1.0] {
                let from = if libm::fabs(side) < 1.0 { 2 } else { 0 };
                let wall = (from..=10).map(|k| at(side, f64::from(k) / 10.0));
                let width = if libm::fabs(side) < 1.0 { 0.9 } else { 1.6 };
                drawing.line(wall.collect(), width, ink);
            }
            if setules {
                for k in 2..16 {
                    let part = f64::from(k) / 18.0;
                    for side in [-1.0, 1.0] {
                        let root = at(side, part);
                        let end = root.plus(Point::new(6.0 * side, -7.0));
                        drawing.line(vec![root, end], 0.8, ink);
                    }
                }
            }
        }
    }

    /// Folds in the new cuticle, from D3 on.
    fn folds(&self, drawing: &mut Drawing) {
        if self.look.stage < Stage::D3 {
            return;
        }
        let ink = self.scheme.of(Role::Wall).veiled(0.7);
        let shift = UNIT * SPACING;
        for i in 0..8 {
            let left = f64::from(i) * shift - 0.22 * shift;
            let points = (0..=10).map(|k| {
                let x = left + 0.44 * shift * f64::from(k) / 10.0;
                let wave = 0.28 * libm::sin(f64::from(k) * 1.9 + f64::from(i));
                Self::at(x / UNIT, self.edge(x / UNIT) + 1.5 + wave)
            });
            drawing.line(points.collect(), 1.1, ink);
        }
    }

    /// The outer line of the old cuticle.
    fn cuticle(&self, drawing: &mut Drawing) {
        let lifted = self.look.lifted;
        let ink = self.scheme.of(Role::Wall);
        let line = |level: f64, sway: f64| {
            let across = f64::from(WIDTH) / UNIT;
            let points = (0..=80).map(|i| {
                let u = across * f64::from(i) / 80.0;
                Self::at(u, level + sway * libm::sin(0.9 * u))
            });
            points.collect::<Vec<Point>>()
        };
        drawing.line(line(CUTICLE, 0.35 * lifted), 2.0, ink);
        if lifted > 0.0 {
            // The old cuticle's inner face, come away from what lay beneath it.
            drawing.line(line(1.6, 0.5 * lifted), 1.2, ink.veiled(0.6));
        }
    }

    fn seta(&self, drawing: &mut Drawing, u: f64) {
        let soft = self.look.stage == Stage::A;
        let limp = if soft { 0.32 } else { 0.0 };
        let askew = 0.5 * self.look.lifted;
        let side = |side: f64, v: f64| {
            let out = (CUTICLE - v).max(0.0);
            let sway = limp * libm::sin(0.8 * out + u) + askew * 0.12 * out;
            Self::at(u + side * half_width(v) + sway, v)
        };
        let levels: Vec<f64> = (0..=40).map(|i| 0.55 - 9.4 * f64::from(i) / 40.0).collect();
        let wall = |s: f64| levels.iter().map(|v| side(s, *v)).collect::<Vec<Point>>();
        let mut body = wall(-1.0);
        body.extend(wall(1.0).into_iter().rev());
        drawing.area(body, self.scheme.of(Role::Core));
        self.base_pigment(drawing, &side);
        self.lumen_pigment(drawing, &side);
        let ink = self.scheme.of(Role::Wall);
        let thick = if soft { 1.2 } else { 2.2 };
        for s in [-1.0, 1.0] {
            drawing.line(wall(s), thick, ink);
            for k in 0..13 {
                let v = -2.4 - 0.5 * f64::from(k);
                let root = side(s, v);
                let end = root.plus(Point::new(9.0 * s, -8.0));
                drawing.line(vec![root, end], 0.6, ink.veiled(0.45));
            }
        }
        self.base_line(drawing, u);
    }

    /// The bar across the foot and the two cones just inside of it.
    fn base_line(&self, drawing: &mut Drawing, u: f64) {
        let strength = self.look.base_line;
        if strength < 0.1 {
            return;
        }
        let ink = self.scheme.of(Role::Wall).veiled(strength as f32);
        let bar = vec![Self::at(u - 0.5, 0.0), Self::at(u + 0.5, 0.0)];
        drawing.line(bar, 3.2 * strength, ink);
        for side in [-1.0, 1.0] {
            let cone = [(0.06, 0.24), (0.42, 0.24), (0.24, 0.24 + 0.5 * strength)];
            let corners = cone.map(|(across, v)| Self::at(u + side * across, v));
            drawing.area(corners.to_vec(), ink);
        }
    }

    /// Pigment of the base: all of it, or its inner part when it has begun to clear.
    fn base_pigment(&self, drawing: &mut Drawing, side: &impl Fn(f64, f64) -> Point) {
        let amount = self.look.base_pigment;
        if amount < 0.05 {
            return;
        }
        // The base clears from the shaft inward: the outer end of the pigment.
        let outer = if amount > 0.5 { CUTICLE } else { -0.25 };
        self.fill(drawing, side, [outer, 0.5], amount);
    }

    fn lumen_pigment(&self, drawing: &mut Drawing, side: &impl Fn(f64, f64) -> Point) {
        let amount = self.look.lumen_pigment;
        if amount < 0.05 {
            return;
        }
        let reach = if amount > 0.5 { 6.5 } else { 2.4 };
        let slices = 8_u32;
        for k in 0..slices {
            let part = |k: u32| CUTICLE - reach * f64::from(k) / f64::from(slices);
            let fade = 1.0 - f64::from(k) / f64::from(slices);
            self.fill(drawing, side, [part(k + 1), part(k)], amount * fade);
        }
    }

    /// Pigment and its grains between two levels of a seta.
    fn fill(
        &self,
        drawing: &mut Drawing,
        side: &impl Fn(f64, f64) -> Point,
        [outer, inner]: [f64; 2],
        amount: f64,
    ) {
        let pigment = self.scheme.of(Role::Pigment);
        let corners = [
            side(-1.0, outer),
            side(1.0, outer),
            side(1.0, inner),
            side(-1.0, inner),
        ];
        drawing.area(corners.to_vec(), pigment.veiled(amount as f32));
        let seed = (corners[0].x * 10.0 + corners[0].y) as u32;
        let mut scatter = Scatter(seed);
        for _ in 0..(14.0 * amount * (inner - outer)).ceil() as usize {
            let (s, v) = (
                1.4 * scatter.next() - 0.7,
                outer + scatter.next() * (inner - outer),
            );
            drawing.dot(side(s, v), 1.1, pigment);
        }
    }
}

/// Where the setae stand, in base widths.
pub(in crate::drawing) fn setae() -> Vec<f64> {
    (0..8)
        .map(|i| (f64::from(i) + 0.5) * SPACING)
        .take_while(|u| (u + 1.5) * UNIT < f64::from(WIDTH))
        .collect()
}

/// Half the outer width of a seta, `v` base widths inward of its base line.
fn half_width(v: f64) -> f64 {
    if v > 0.0 {
        0.5 + 0.1 * v
    } else {
        0.5 - 0.028 * -v
    }
}
