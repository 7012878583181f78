//! The setae: shafts with their feet, and the new ones beneath the epidermis.

use crate::geometry::Point;
use crate::painter::ink::Axis;
use crate::painter::ink::Band;
use crate::painter::ink::cover;
use crate::painter::ink::ramp;
use crate::painter::noise::value_noise;
use crate::painter::plane::soft_wave;
use crate::painter::plane::unit_of;
use crate::painter::scene::Seta;
use crate::painter::scene::SetaState;
use crate::painter::scene::Tip;

impl Tip {
    /// World position of the base line of `seta`.
    pub fn base(&self, seta: &Seta) -> Point {
        self.margin.frame(seta.s).0
    }

    /// The direction in which the shaft of `seta` leaves its base.
    fn outward(&self, seta: &Seta) -> Point {
        let (_, along, inward) = self.margin.frame(seta.s);
        let (sin, cos) = libm::sincos(seta.tilt);
        along.times(sin).minus(inward.times(cos))
    }

    /// The direction inward of the seta's foot: where its new seta grows.
    fn inward(&self, seta: &Seta) -> Point {
        let (_, along, inward) = self.margin.frame(seta.s);
        let (sin, cos) = libm::sincos(self.tilt);
        inward.times(cos).minus(along.times(sin))
    }
}

/// Paints the shaft and the foot of one seta.
pub(crate) fn paint_seta(band: &mut Band<'_>, tip: &Tip, seta: &Seta) {
    if seta.state == SetaState::Missing {
        return;
    }
    if seta.state == SetaState::Whole {
        paint_shaft(band, tip, seta);
    }
    paint_foot(band, tip, seta);
}

/// Half the outer width of a shaft at `u`.
fn half_width(tip: &Tip, seta: &Seta, u: f64) -> f64 {
    let look = &tip.look.shaft;
    let part = (u / seta.length).clamp(0.0, 1.0);
    let taper = 1.0 - (1.0 - look.tip) * part * (1.0 - look.taper + look.taper * part);
    let rise = (u / seta.width - 1.0).abs();
    let bulb = look.bulb * (1.0 - rise).max(0.0);
    seta.width / 2.0 * (taper + bulb)
}

/// Pigment in the lumen at `u` above the foot, 0 to 1.
fn lumen(seta: &Seta, u: f64) -> f64 {
    let high = u / seta.width;
    let from_base = (1.0 - high).clamp(0.0, 1.0);
    let decay = (1.0 - high / seta.lumen_reach).clamp(0.0, 1.0);
    let up = seta.lumen_pigment * decay * (2.0 - decay);
    seta.base_pigment * from_base + up * (1.0 - from_base)
}

fn paint_shaft(band: &mut Band<'_>, tip: &Tip, seta: &Seta) {
    let look = &tip.look.shaft;
    let tissue = &tip.look.tissue;
    let axis = Axis {
        origin: tip.base(seta),
        direction: tip.outward(seta),
        length: seta.length,
        bend: seta.bend,
        wave: seta.wave,
        wave_length: seta.length * 0.7,
    };
    let umpx = band.view.umpx;
    let soft = look.wall_soft.max(umpx * 0.5);
    let feather = look.setule_reach * seta.width;
    let widest = seta.width * (0.5 + look.bulb);
    let reach = widest
        + soft * 2.0
        + if look.setules > 0.0 {
            feather
        } else {
            look.wall
        };
    // setules finer than the pixels leave their mean only
    let visible = ramp(look.setule_step / umpx - 3.0, 1.5);
    let thick = if seta.base_pigment > 0.5 { 0.7 } else { 1.0 };
    let grain = |u: f64, v: f64| {
        let size = tissue.grain_size;
        let n = f64::from(value_noise(u / size, v / size, tip.seed ^ seta.s.to_bits()));
        1.0 - tissue.grain + tissue.grain * 2.0 * ramp(n - 0.45, 0.3)
    };
    band.along(&axis, soft, reach, |band, at, u, v| {
        let half = half_width(tip, seta, u);
        let wall = look.wall.min(half * 0.7);
        let across = v.abs();
        let ends = ramp(u, soft) * ramp(seta.length - u, seta.width * 0.3);
        let walls = cover(across - half + wall / 2.0, wall / 2.0, soft);
        let inside = cover(v, half - wall / 2.0, soft);
        let fringe = if look.fringe < 0.0 {
            look.fringe * cover(across - half + wall * 1.5, wall / 2.0, soft)
        } else {
            -look.fringe * cover(across - half - wall * 0.5, wall / 2.0, soft)
        };
        let joint = (u / (seta.width * 1.7)).fract() * 1.7 * seta.width;
        let joints = look.joints * cover(joint, wall / 2.0, soft) * inside;
        let mut od = look.wall_od * thick * walls + look.core_od * inside + fringe + joints;
        if look.setules > 0.0 && across > half {
            let phase = (u - (across - half) * look.setule_slant) / look.setule_step;
            let wave = soft_wave(phase);
            let fade = 1.0 - (across - half) / feather;
            let rise = (u / (seta.width * 4.0)).min((seta.length - u) / (seta.length * 0.5));
            od += look.setules
                * fade.max(0.0)
                * rise.clamp(0.0, 1.0)
                * (visible * wave + (1.0 - visible) * 0.5);
        }
        band.add(at, od * ends, &tip.look.cuticle_ink);
        let pigment = lumen(seta, u);
        if pigment > 0.002 && across < half + soft {
            let amount = pigment * cover(v, half, soft) * ramp(u, soft) * grain(u, v);
            band.add(at, amount, &tip.look.pigment_ink);
        }
    });
}

fn paint_foot(band: &mut Band<'_>, tip: &Tip, seta: &Seta) {
    let look = &tip.look.foot;
    let umpx = band.view.umpx;
    let soft = (umpx * 0.5).max(seta.width * 0.03 / seta.line.max(0.25));
    let depth = seta.width * look.cone_height.max(look.fill_depth) + soft;
    // drawn from inside outward: u = 0 at the far end of the foot, `depth` at the base line
    let inward = unit_of(tip.inward(seta).minus(tip.outward(seta)));
    let origin = tip.base(seta).plus(inward.times(depth));
    let rise = seta.width * 0.8;
    let axis = Axis::straight(origin, inward.times(-1.0), depth + rise);
    let half = seta.width / 2.0;
    let bar = (look.bar * seta.width / 2.0).max(umpx * 0.3);
    let height = look.cone_height * seta.width;
    let grain_size = tip.look.tissue.grain_size;
    band.along(&axis, 0.0, half * 1.5 + soft, |band, at, along, v| {
        let u = along - depth;
        let mut od = look.bar_od * seta.line * cover(u, bar, soft) * cover(v, half, soft);
        if u < 0.0 {
            let cone = cones(
                look.cones,
                look.cone_at * half,
                (-u / height, v),
                (half, soft),
            );
            od += look.cone_od * seta.line * cone * ramp(-u, soft) * ramp(height + u, soft);
        }
        if look.socket > 0.0 {
            let ring = libm::hypot(u * 0.8, v) - half * 1.05;
            od += look.socket * cover(ring, half * 0.1, soft);
        }
        band.add(at, od, &tip.look.cuticle_ink);
        if seta.base_pigment > 0.002 {
            let fill = look.fill_depth * seta.width;
            let inside = ramp(u + fill * 0.7, fill * 0.5) * ramp(half * 0.05 - u, soft);
            let n = value_noise(u / grain_size, v / grain_size, tip.seed ^ 0x77);
            let grain = 0.6 + 0.8 * f64::from(n);
            let amount = seta.base_pigment * inside * cover(v, half * 1.08, soft.max(half * 0.15));
            band.add(at, amount * grain, &tip.look.pigment_ink);
        }
    });
}

/// Cover of the two cones at depth `d` (0 at the base line, 1 at their tips), `v` across.
fn cones(shape: u8, at: f64, (d, v): (f64, f64), (half, soft): (f64, f64)) -> f64 {
    let from = v.abs() - at;
    let wide = (half * 0.42 * (1.0 - d)).max(0.0);
    match shape {
        0 => cover(from, half * 0.16, soft),
        1 => cover(from, wide, soft),
        2 => cover(from, wide, soft) - 1.6 * cover(from, wide * 0.6, soft),
        _ => cover(from + half * 0.3 * d, half * 0.14, soft),
    }
}

/// Paints the new seta beneath one old seta.
pub(crate) fn paint_new_seta(band: &mut Band<'_>, tip: &Tip, seta: &Seta) {
    if seta.new_seta < 0.03 {
        return;
    }
    let look = &tip.look.new;
    let inward = tip.inward(seta);
    let outside = seta.new_tip * seta.width;
    let first = seta.gap - outside;
    let origin = tip
        .base(seta)
        .plus(inward.times(first / libm::cos(tip.tilt)));
    let axis = Axis {
        bend: -seta.bend * 0.5,
        ..Axis::straight(origin, inward, seta.new_length * seta.width)
    };
    let umpx = band.view.umpx;
    let soft = (umpx * 0.5).max(look.wall * 0.3);
    let strength = seta.new_seta;
    let widest = seta.width * look.width / 2.0;
    let visible = ramp(look.setule_step / umpx - 3.0, 1.5);
    let setules = look.setules * ramp(strength - 0.45, 0.15);
    band.along(&axis, soft, widest + soft * 2.0, |band, at, u, v| {
        let part = (u / axis.length).clamp(0.0, 1.0);
        let opening = (part * 6.0).min(1.0);
        let half = widest * (look.tip + (1.0 - look.tip) * opening);
        let wall = look.wall.min(half * 0.8);
        let across = v.abs();
        let ends = ramp(u, soft) * ramp(1.0 - part, 0.35);
        let walls = cover(across - half + wall / 2.0, wall / 2.0, soft);
        let core = cover(v, half - wall, soft);
        let phase = (u + across * 1.2) / look.setule_step;
        let wave = soft_wave(phase);
        let hatch = setules * (visible * wave + (1.0 - visible) * 0.5) * cover(v, half, soft);
        let od = look.wall_od * (walls + hatch) + look.core_od * core;
        let within = ramp(u - outside, soft);
        let seen = look.free + (1.0 - look.free) * within;
        band.add(at, od * strength * ends * seen, &tip.look.cuticle_ink);
    });
}
