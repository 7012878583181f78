//! Draws how a tip looks, over ranges that hold many microscopes and many animals.

use crate::painter::dice::Dice;
use crate::painter::scene::FootLook;
use crate::painter::scene::Hue;
use crate::painter::scene::Look;
use crate::painter::scene::NewLook;
use crate::painter::scene::RimLook;
use crate::painter::scene::ShaftLook;
use crate::painter::scene::TissueLook;
use crate::painter::values::Values;

/// Pigments: name and density per channel relative to the strongest.
///
/// # Source
/// Our own choice: red, brown-black, orange and yellow chromatophores are named in
/// `docs/methods.md`; the figures only give these colours in linear light.
const PIGMENTS: [(&str, Hue); 5] = [
    ("red", [0.22, 1.0, 0.82]),
    ("brown", [0.62, 0.9, 1.0]),
    ("black", [0.9, 0.97, 1.0]),
    ("orange", [0.12, 0.62, 1.0]),
    ("yellow", [0.08, 0.3, 1.0]),
];

/// Tissue: density per channel relative to the strongest.
const TISSUES: [Hue; 9] = [
    [0.72, 0.85, 1.0],
    [0.66, 0.8, 1.0],
    [0.78, 0.9, 1.0],
    [0.85, 0.93, 1.0],
    [0.94, 0.98, 1.0],
    [0.9, 0.95, 1.0],
    [0.6, 0.8, 1.0],
    [0.75, 1.0, 0.9],
    [0.9, 0.8, 1.0],
];

/// The part of a look that a condition may fix.
pub(crate) struct Wanted {
    /// Nearly no pigment.
    pub(crate) pale: bool,
}

impl Look {
    /// Draws a look for an animal with `values` and setae `base_width` µm wide.
    pub(crate) fn draw(values: &Values, base_width: f64, wanted: &Wanted, dice: &mut Dice) -> Self {
        let pick = dice.unit();
        let (pigment, hue) = match pick {
            p if p < 0.36 => PIGMENTS[0],
            p if p < 0.6 => PIGMENTS[1],
            p if p < 0.72 => PIGMENTS[2],
            p if p < 0.9 => PIGMENTS[3],
            _ => PIGMENTS[4],
        };
        let strength = if wanted.pale {
            dice.between(0.06, 0.18)
        } else {
            dice.wide_log(0.2, 1.3)
        };
        let tissue_hue = dice.pick(&TISSUES);
        let tissue_od = dice.wide_log(0.06, 0.5);
        let grey = dice.wide(0.85, 1.15);
        let cuticle = [1.0, dice.wide(0.97, 1.06), dice.wide(0.95, 1.12)].map(|c| c * grey);
        let mut jitter = |hue: Hue| hue.map(|c| (c * dice.wide(0.85, 1.15)).max(0.02));
        let pigment_hue = jitter(hue);
        let tissue_hue = jitter(tissue_hue);
        let shaft = shaft(base_width, dice);
        let peak = pigment_hue.iter().copied().fold(0.0, f64::max);
        Self {
            pigment,
            pigment_ink: pigment_hue.map(|c| c / peak * strength),
            tissue_ink: tissue_hue.map(|c| c * tissue_od),
            cuticle_ink: cuticle,
            foot: foot(shaft.wall_od, dice),
            shaft,
            rim: rim(base_width, dice),
            tissue: tissue(values, base_width, dice),
            new: new(base_width, dice),
        }
    }
}

fn shaft(base_width: f64, dice: &mut Dice) -> ShaftLook {
    let wall = dice.wide(1.6, 4.2).min(base_width * 0.24);
    let wall_od = dice.wide_log(0.08, 0.5);
    ShaftLook {
        wall,
        wall_od,
        wall_soft: wall * dice.wide(0.1, 0.7),
        // the core is seen through the wall above it and the one beneath
        core_od: wall_od * dice.wide(0.0, 0.55),
        fringe: if dice.chance(0.5) {
            dice.wide(-0.06, 0.06)
        } else {
            0.0
        },
        tip: dice.wide(0.15, 0.55),
        taper: dice.wide(-0.3, 0.9),
        bulb: if dice.chance(0.35) {
            dice.wide(0.0, 0.22)
        } else {
            0.0
        },
        setules: if dice.chance(0.7) {
            dice.wide(0.005, 0.05)
        } else {
            0.0
        },
        setule_reach: dice.wide(1.0, 4.0),
        setule_step: dice.wide(3.0, 12.0),
        setule_slant: dice.wide(0.5, 2.5),
        joints: if dice.chance(0.25) {
            dice.wide(0.03, 0.2)
        } else {
            0.0
        },
    }
}

/// The foot of a shaft whose walls have the density `wall_od`: bar and cones are the same cuticle seen
/// edge-on.
fn foot(wall_od: f64, dice: &mut Dice) -> FootLook {
    FootLook {
        bar_od: wall_od * dice.wide_log(0.6, 2.2),
        bar: dice.wide(0.09, 0.26),
        cones: dice.index(4) as u8,
        cone_od: wall_od * dice.wide_log(0.4, 1.8),
        cone_height: dice.wide(0.3, 0.85),
        cone_at: dice.wide(0.4, 0.75),
        socket: if dice.chance(0.2) {
            dice.wide(0.02, 0.15)
        } else {
            0.0
        },
        fill_depth: dice.wide(0.5, 1.2),
    }
}

fn rim(base_width: f64, dice: &mut Dice) -> RimLook {
    RimLook {
        offset: dice.wide(0.5, 1.0),
        od: dice.wide_log(0.06, 0.45),
        thickness: dice.wide(1.2, 4.0).min(base_width * 0.25),
        fringe: if dice.chance(0.6) {
            dice.wide(-0.08, 0.08)
        } else {
            0.0
        },
        cuticle_od: dice.wide(0.004, 0.035),
        striae: if dice.chance(0.3) {
            dice.wide(0.0, 0.03)
        } else {
            0.0
        },
    }
}

fn tissue(values: &Values, base_width: f64, dice: &mut Dice) -> TissueLook {
    let softest = if values.gap < 0.6 { 0.14 } else { 0.35 };
    let edge_soft = dice.wide(0.04, softest) * base_width;
    let mottle = [0.35, 0.3, 0.25].map(|most| {
        if dice.chance(0.75) {
            dice.wide(0.02, most)
        } else {
            0.0
        }
    });
    let stretched = dice.chance(0.3);
    let scallops = dice.wide_log(0.55, 1.9);
    TissueLook {
        edge_soft,
        band: dice.wide(0.12, 0.75),
        band_plateau: dice.wide(0.4, 1.6).max(edge_soft / base_width),
        band_fade: dice.wide_log(0.5, 5.0),
        band_breaks: if dice.chance(0.3) {
            dice.wide(0.0, 0.5)
        } else {
            0.0
        },
        mottle,
        mottle_length: [
            dice.wide_log(2.0, 8.0),
            dice.wide_log(10.0, 40.0),
            dice.wide_log(50.0, 250.0),
        ],
        stretch: if stretched { dice.wide(1.5, 5.0) } else { 1.0 },
        stretch_angle: dice.between(0.0, std::f64::consts::PI),
        cells: if dice.chance(0.4) {
            dice.wide(0.1, 0.7)
        } else {
            0.0
        },
        cell_size: dice.wide_log(8.0, 40.0),
        grain: dice.wide(0.0, 0.8),
        grain_size: dice.wide_log(1.5, 6.0),
        scallop_shape: scallops,
        ragged: dice.wide(0.0, 0.25) * if values.gap < 0.6 { 0.3 } else { 1.0 },
        rays: if dice.chance(0.3) {
            dice.wide(0.0, 0.35)
        } else {
            0.0
        },
        wrinkles: dice.wide(0.01, 0.12),
        wrinkle_step: dice.wide(6.0, 25.0),
        new_rim: if dice.chance(0.5) {
            dice.wide(0.0, 0.2)
        } else {
            0.0
        },
        thinning: if dice.chance(0.4) {
            dice.wide(-0.4, 0.6)
        } else {
            0.0
        },
    }
}

fn new(base_width: f64, dice: &mut Dice) -> NewLook {
    NewLook {
        width: dice.wide(0.45, 0.85),
        wall_od: dice.wide_log(0.15, 0.6),
        wall: dice.wide(1.4, 3.2).min(base_width * 0.15),
        core_od: dice.wide(-0.06, 0.12),
        setules: dice.wide(0.1, 0.8),
        setule_step: dice.wide(3.0, 9.0),
        tip: dice.wide(0.2, 1.0),
        free: dice.wide(0.25, 1.0),
    }
}
