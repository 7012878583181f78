//! The sheets: the epidermis with its edge and pigment, the old cuticle, a fold, the cut.

use crate::geometry::Point;
use crate::painter::ink::cover;
use crate::painter::ink::ramp;
use crate::painter::noise::cell_noise;
use crate::painter::noise::value_noise;
use crate::painter::plane::length_of;
use crate::painter::scene::Cut;
use crate::painter::scene::Seta;
use crate::painter::scene::SetaState;
use crate::painter::scene::Tip;

/// A sheet's numbers that are the same for every pixel.
pub(crate) struct Sheet<'a> {
    tip: &'a Tip,
    umpx: f64,
    /// Sine and cosine of the mottle's stretch.
    stretch: (f64, f64),
    tan_tilt: f64,
    deepest: f64,
    /// How strongly the pigment forms a line under the edge.
    band_form: f64,
    wrinkles: f64,
}

/// The edge of the epidermis at one place along the margin.
#[derive(Debug, Clone, Copy)]
struct Edge {
    /// Its depth below the base line, in µm.
    depth: f64,
    /// 0 in line with a seta, 1 midway between two.
    between: f64,
    /// The pigment in the bases nearby.
    base_pigment: f64,
}

impl<'a> Sheet<'a> {
    pub(crate) fn new(tip: &'a Tip, umpx: f64) -> Self {
        let deepest = tip
            .setae
            .iter()
            .map(|seta| seta.gap + seta.scallop)
            .fold(0.0, f64::max);
        let values = &tip.values;
        Self {
            tip,
            umpx,
            stretch: libm::sincos(tip.look.tissue.stretch_angle),
            tan_tilt: libm::tan(tip.tilt),
            deepest: deepest + tip.base_width * (0.5 + tip.look.tissue.ragged),
            band_form: ramp(values.line - 0.45, 0.35),
            wrinkles: tip.look.tissue.wrinkles * ramp(values.new_seta - 0.8, 0.1),
        }
    }

    /// Optical density per channel at the world point `p` with strip coordinates (`s`, `t`).
    pub(crate) fn density(&self, p: Point, s: f64, t: f64) -> [f64; 3] {
        let tip = self.tip;
        let look = &tip.look;
        let mut od = [0.0; 3];
        let rim = -look.rim.offset * tip.base_width;
        let soft = (self.umpx * 0.5).max(look.rim.thickness * 0.25);
        if t < rim - look.rim.thickness * 3.0 - soft * 2.0 {
            return od;
        }
        let left = tip.cut.as_ref().map_or(1.0, |cut| self.uncut(cut, p));
        self.cuticle(&mut od, (s, t), (rim, soft));
        let edge_soft = look.tissue.edge_soft.max(self.umpx * 0.5);
        if t > -tip.base_width - edge_soft * 2.0 {
            let edge = self.edge(s, t);
            let depth = t - edge.depth;
            if depth > -edge_soft * 2.0 - tip.base_width {
                self.epidermis(&mut od, p, (depth, edge_soft), &edge);
            }
        }
        if left < 1.0 {
            let smear = tip.cut.as_ref().map_or(0.0, |cut| cut.smear);
            let near = left * (1.0 - left) * 4.0;
            for (channel, density) in od.iter_mut().enumerate() {
                *density = *density * left + smear * near * look.tissue_ink[channel];
            }
        }
        od
    }

    fn cuticle(&self, od: &mut [f64; 3], (s, t): (f64, f64), (rim, soft): (f64, f64)) {
        let look = &self.tip.look;
        let half = look.rim.thickness / 2.0;
        let out = if look.rim.fringe > 0.0 { -1.0 } else { 1.0 };
        let companion = cover(t - rim - out * (half * 2.4), half * 1.3, soft);
        let mut amount = look.rim.od * cover(t - rim, half, soft);
        amount -= look.rim.fringe.abs() * companion;
        amount += look.rim.cuticle_od * ramp(t - rim, soft);
        if look.rim.striae > 0.0 && t > rim {
            let n = value_noise(
                s / (self.tip.base_width * 4.0),
                t / 6.0,
                self.tip.seed ^ 0x5,
            );
            amount += look.rim.striae * (f64::from(n) - 0.5);
        }
        for (channel, density) in od.iter_mut().enumerate() {
            *density += amount * look.cuticle_ink[channel];
        }
    }

    /// The edge at (`s`, `t`): carried inward along the common tilt of the setae.
    fn edge(&self, s: f64, t: f64) -> Edge {
        let setae = &self.tip.setae;
        let over = Edge {
            depth: t.min(0.0),
            between: 1.0,
            base_pigment: 0.0,
        };
        if setae.len() < 2 {
            return Edge { depth: 0.0, ..over };
        }
        let sheared = s + t.max(0.0) * self.tan_tilt;
        let after = setae.partition_point(|seta| seta.s <= sheared);
        let i = after.clamp(1, setae.len() - 1) - 1;
        let (a, b) = (&setae[i], &setae[i + 1]);
        let part = ((sheared - a.s) / (b.s - a.s)).clamp(0.0, 1.0);
        let mix = |x: f64, y: f64| x + (y - x) * part * part * (3.0 - 2.0 * part);
        let gap = mix(a.gap, b.gap);
        let base_pigment = mix(a.base_pigment, b.base_pigment);
        let w = self.tip.base_width;
        let keep = 1.0 - ramp(t - self.deepest - w * 2.0, w * 2.0);
        if keep <= 0.0 {
            // far beyond the scallops the edge's level is enough
            return Edge {
                depth: gap,
                between: 1.0,
                base_pigment,
            };
        }
        let shape = self.scallop(part);
        let ragged = self.ragged(sheared) * shape;
        let depth = gap + keep * (shape * mix(a.scallop, b.scallop) + ragged);
        Edge {
            depth,
            between: 1.0 - keep * (1.0 - shape),
            base_pigment,
        }
    }

    fn scallop(&self, part: f64) -> f64 {
        let sin = libm::sin(std::f64::consts::PI * part);
        libm::pow(sin * sin, self.tip.look.tissue.scallop_shape)
    }

    fn ragged(&self, s: f64) -> f64 {
        let tissue = &self.tip.look.tissue;
        let w = self.tip.base_width;
        let n = f64::from(value_noise(s / (w * 0.7), 0.5, self.tip.seed ^ 0x11)) - 0.5;
        let slow = f64::from(value_noise(s / (w * 2.5), 9.5, self.tip.seed ^ 0x12)) - 0.5;
        tissue.ragged * w * (n + slow)
    }

    fn epidermis(&self, od: &mut [f64; 3], p: Point, (depth, edge_soft): (f64, f64), edge: &Edge) {
        let tip = self.tip;
        let look = &tip.look;
        let tissue = &look.tissue;
        let w = tip.base_width;
        let inside = ramp(depth, edge_soft);
        let mottle = self.mottle(p);
        let thin = 1.0 - tissue.thinning * ramp(depth - w * 12.0, w * 12.0);
        let mut body = inside * mottle * thin;
        let grain = self.grain(p);
        let below = (depth - tissue.band_plateau * w).max(0.0) / (tissue.band_fade * w);
        let mut band = tissue.band * inside * libm::exp(-below);
        let breaks = tissue.band_breaks + (1.0 - self.band_form) * 0.6;
        if breaks > 0.02 {
            let n = value_noise(p.x / (w * 2.0), p.y / (w * 2.0), tip.seed ^ 0x21);
            band *= 1.0 - breaks.min(1.0) * ramp(0.55 - f64::from(n), 0.2);
        }
        // the matrix of a soft animal runs outward between the bases too, thinner than in them
        let overrun = ramp(edge.base_pigment - 0.4, 0.3);
        if overrun > 0.0 && depth < 0.0 {
            let rim = look.rim.offset * w;
            let out = ramp(depth + rim * 0.8, rim * 0.5) * overrun * (1.0 - inside);
            body += out * 0.7 * mottle;
            band += tissue.band * out * 0.5;
        }
        let mut cuticle = 0.0;
        if tissue.rays > 0.0 {
            let fade = libm::exp(-depth.max(0.0) / (w * 4.0));
            body *= 1.0 - tissue.rays * fade * (1.0 - edge.between);
        }
        if tissue.new_rim > 0.0 {
            let strength = tissue.new_rim * ramp(tip.values.new_seta - 0.35, 0.2);
            cuticle += strength * cover(depth, 1.2, edge_soft.max(self.umpx * 0.5));
        }
        if self.wrinkles > 0.0 {
            cuticle += self.wrinkle(p, depth) * inside;
        }
        for (channel, density) in od.iter_mut().enumerate() {
            *density += body * look.tissue_ink[channel]
                + band * grain * look.pigment_ink[channel]
                + cuticle * look.cuticle_ink[channel];
        }
        if let Some(fold) = &tip.fold {
            let from = fold.radius - length_of(p.minus(fold.centre));
            let soft = self.umpx.max(1.5);
            let over = ramp(from, soft) * fold.strength;
            let line = fold.line * cover(from, 1.5, soft);
            for (channel, density) in od.iter_mut().enumerate() {
                *density += inside
                    * (over * mottle * look.tissue_ink[channel] + line * look.cuticle_ink[channel]);
            }
        }
    }

    fn wrinkle(&self, p: Point, depth: f64) -> f64 {
        let tissue = &self.tip.look.tissue;
        let w = self.tip.base_width;
        let n = value_noise(p.x / (w * 3.0), p.y / (w * 3.0), self.tip.seed ^ 0x31);
        let phase = depth / tissue.wrinkle_step + 2.5 * f64::from(n);
        let wave = libm::sin(std::f64::consts::TAU * phase);
        let sharp = wave.max(0.0);
        self.wrinkles * sharp * sharp * libm::exp(-depth.max(0.0) / (w * 6.0))
    }

    /// Density of the tissue around 1.
    fn mottle(&self, p: Point) -> f64 {
        let tissue = &self.tip.look.tissue;
        let (sin, cos) = self.stretch;
        let x = (p.x * cos + p.y * sin) / tissue.stretch;
        let y = -p.x * sin + p.y * cos;
        let mut sum = 1.0;
        for (i, strength) in tissue.mottle.iter().enumerate() {
            let length = tissue.mottle_length[i];
            if *strength > 0.0 && length > self.umpx {
                // two lattices turned against each other hide the rows of either
                let (u, v) = (x / length, y / length);
                let a = value_noise(u, v, self.tip.seed ^ (i as u64 + 1));
                let (p, q) = (0.79 * u + 0.61 * v, 0.79 * v - 0.61 * u);
                let b = value_noise(p * 1.13, q * 1.13, self.tip.seed ^ (i as u64 + 101));
                sum += strength * 1.3 * f64::from(a + b - 1.0);
            }
        }
        if tissue.cells > 0.0 {
            let size = tissue.cell_size;
            let n = f64::from(cell_noise(x / size, y / size, self.tip.seed ^ 0x41));
            sum *= 1.0 + tissue.cells * (n - 0.5);
        }
        sum.max(0.1)
    }

    /// Density of the pigment around 1.
    fn grain(&self, p: Point) -> f64 {
        let tissue = &self.tip.look.tissue;
        let size = tissue.grain_size;
        let n = f64::from(value_noise(p.x / size, p.y / size, self.tip.seed ^ 0x51));
        let slow = f64::from(value_noise(
            p.x / (size * 4.0),
            p.y / (size * 4.0),
            self.tip.seed ^ 0x52,
        ));
        let dots = 2.0 * ramp(n - 0.45, 0.3) * (0.6 + 0.8 * slow);
        1.0 - tissue.grain + tissue.grain * dots
    }

    /// 1 where there is blade, 0 beyond the cut.
    fn uncut(&self, cut: &Cut, p: Point) -> f64 {
        let away = p.minus(cut.at);
        let along = away.dot(cut.away.turned());
        let out = away.dot(cut.away);
        let n = f64::from(value_noise(
            along / cut.tooth_length,
            0.5,
            self.tip.seed ^ 0x61,
        ));
        let fine = f64::from(value_noise(
            along / (cut.tooth_length * 0.3),
            2.5,
            self.tip.seed ^ 0x62,
        ));
        let teeth = cut.teeth * (n * 1.4 + fine * 0.6 - 1.0);
        ramp(-(out + teeth), self.umpx.max(2.0))
    }
}

impl Cut {
    /// Says whether a world point lies beyond the cut or within its teeth.
    pub fn removes(&self, p: Point) -> bool {
        p.minus(self.at).dot(self.away) > -self.teeth
    }
}

impl Tip {
    /// The setae that still have their base.
    pub fn with_base(&self) -> impl Iterator<Item = &Seta> {
        self.setae
            .iter()
            .filter(|seta| seta.state != SetaState::Missing)
    }
}
