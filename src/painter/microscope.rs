//! Draws the microscope and its camera.

use crate::painter::camera::Camera;
use crate::painter::camera::Encoder;
use crate::painter::camera::Overlay;
use crate::painter::camera::RoundField;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::view::View;

/// A camera under `condition`, for setae `base_width` µm wide.
pub(crate) fn draw_camera(
    condition: Condition,
    view: &View,
    base_width: f64,
    dice: &mut Dice,
) -> Camera {
    use Condition as C;
    let any = condition == C::Any;
    let mut or = |wanted: C, share: f64| condition == wanted || any && dice.chance(share);
    let eyepiece = or(C::Eyepiece, 0.12);
    let falloff = or(C::Falloff, 0.2);
    let defocus = or(C::Defocus, 0.18);
    let tilted = or(C::TiltedFocus, 0.15);
    let noisy = or(C::Noise, 0.15);
    let monochrome = or(C::Monochrome, 0.12);
    let squeezed = or(C::Jpeg70, 0.12);
    let base = base_width / view.umpx;
    let (blur, blur_tilt) = draw_blur((defocus, tilted), base, view.umpx, dice);
    let quality = if squeezed {
        if any { dice.between(62.0, 74.0) } else { 70.0 }
    } else if any {
        dice.wide(70.0, 96.0)
    } else {
        dice.between(84.0, 95.0)
    };
    Camera {
        light: draw_light(condition, dice),
        exposure: if any {
            dice.wide(0.55, 1.02)
        } else {
            dice.between(0.72, 0.95)
        },
        falloff: if falloff {
            dice.between(0.25, 0.5)
        } else {
            dice.wide(0.0, 0.12)
        },
        falloff_angle: dice.between(0.0, std::f64::consts::TAU),
        vignette: if falloff {
            dice.between(0.1, 0.5)
        } else {
            dice.wide(0.0, 0.2)
        },
        field: eyepiece.then(|| draw_field(dice)),
        blur,
        blur_tilt,
        tilt_angle: dice.between(0.0, std::f64::consts::TAU),
        full_well: if noisy {
            dice.between(250.0, 900.0)
        } else {
            dice.wide_log(1500.0, 40_000.0)
        },
        read_noise: dice.wide(2.0, 9.0),
        smooth_noise: dice.chance(0.5),
        monochrome,
        sharpen: if dice.chance(if any { 0.3 } else { 0.1 }) {
            dice.wide(0.3, 1.5)
        } else {
            0.0
        },
        dust: draw_dust(if any { 0.3 } else { 0.1 }, dice),
        overlay: match dice.unit() {
            u if any && u < 0.05 => Overlay::ScaleBar,
            u if any && u < 0.08 => Overlay::Pointer,
            _ => Overlay::None,
        },
        encoder: Encoder::Jpeg(quality as u8),
        seed: dice.seed(),
    }
}

/// Blur in the middle and its growth, in pixels.
fn draw_blur((defocus, tilted): (bool, bool), base: f64, umpx: f64, dice: &mut Dice) -> (f64, f64) {
    let lens = dice.wide(0.3, 1.3) / umpx;
    let pixel = dice.wide(0.4, 0.9);
    let sharp = libm::hypot(lens, pixel).min(base * 0.14);
    let blur = if defocus {
        sharp.max(base * dice.between(0.13, 0.26))
    } else {
        sharp
    };
    let tilt = if tilted {
        base * dice.between(0.12, 0.35)
    } else {
        0.0
    };
    (blur, tilt)
}

fn draw_light(condition: Condition, dice: &mut Dice) -> [f64; 3] {
    let white = [1.0, 0.99, 0.97];
    let amber = [1.0, dice.between(0.72, 0.88), dice.between(0.36, 0.62)];
    let warm = [1.0, dice.between(0.88, 0.96), dice.between(0.68, 0.88)];
    let blue = [dice.between(0.62, 0.85), dice.between(0.8, 0.95), 1.0];
    let pink = [1.0, dice.between(0.74, 0.88), dice.between(0.84, 0.97)];
    let green = [dice.between(0.85, 0.95), 1.0, dice.between(0.8, 0.93)];
    let mut light = match condition {
        Condition::BlueLight => blue,
        Condition::AmberLight => amber,
        Condition::PinkLight => pink,
        Condition::Any => match dice.unit() {
            u if u < 0.4 => white,
            u if u < 0.6 => warm,
            u if u < 0.72 => amber,
            u if u < 0.84 => blue,
            u if u < 0.94 => pink,
            _ => green,
        },
        _ if dice.chance(0.3) => warm,
        _ => white,
    };
    for channel in &mut light {
        *channel = (*channel * dice.between(0.96, 1.02)).min(1.0);
    }
    light
}

fn draw_field(dice: &mut Dice) -> RoundField {
    RoundField {
        x: dice.between(-0.08, 0.08),
        y: dice.between(-0.06, 0.06),
        radius: dice.between(0.42, 0.6),
        soft: dice.between(0.004, 0.05),
        outside: dice.between(0.0, 0.02),
    }
}

fn draw_dust(share: f64, dice: &mut Dice) -> Vec<[f64; 4]> {
    if !dice.chance(share) {
        return Vec::new();
    }
    (0..=dice.index(6))
        .map(|_| {
            [
                dice.unit(),
                dice.unit() * 0.75,
                dice.between(0.002, 0.015),
                dice.between(0.03, 0.25),
            ]
        })
        .collect()
}
