//! Draws what lies about: chromatophores in the tissue, bubbles, debris and algae on the slide.

use crate::geometry::Point;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::ink::Axis;
use crate::painter::ink::Bubble;
use crate::painter::ink::Line;
use crate::painter::ink::Mark;
use crate::painter::ink::Spot;
use crate::painter::scene::Hue;
use crate::painter::scene::Tip;
use crate::painter::view::View;

/// A world point under a random pixel of the view.
pub(crate) fn anywhere(view: &View, dice: &mut Dice) -> Point {
    let x = dice.unit() * f64::from(view.width);
    let y = dice.unit() * f64::from(view.height);
    view.world(Point::new(x, y))
}

/// A random unit vector.
pub(crate) fn direction(dice: &mut Dice) -> Point {
    let (sin, cos) = libm::sincos(dice.between(0.0, std::f64::consts::TAU));
    Point::new(cos, sin)
}

/// Chromatophores in the tissue of `tip`, contracted to dots or spread out as stars.
pub(crate) fn chromatophores(marks: &mut Vec<Mark>, tip: &Tip, view: &View, dice: &mut Dice) {
    let count = dice.wide(0.0, 26.0) as usize;
    let spread = dice.unit();
    let size = dice.wide_log(5.0, 26.0);
    let strength = dice.wide(0.25, 1.1);
    let clear = (tip.values.gap + dice.between(2.5, 6.0)) * tip.base_width;
    for _ in 0..count {
        let at = anywhere(view, dice);
        let (_, t) = tip.margin.locate(at);
        if t < clear || tip.cut.is_some_and(|cut| cut.removes(at)) {
            continue;
        }
        let ink = tip
            .look
            .pigment_ink
            .map(|c| c * strength * dice.between(0.6, 1.2));
        chromatophore(
            marks,
            at,
            (size * dice.between(0.5, 1.5), spread),
            ink,
            dice,
        );
    }
}

fn chromatophore(
    marks: &mut Vec<Mark>,
    at: Point,
    (size, spread): (f64, f64),
    ink: Hue,
    dice: &mut Dice,
) {
    let body = size * (0.8 - 0.45 * spread);
    marks.push(Mark::Spot(Spot {
        at,
        radius: body,
        soft: dice.between(0.2, 0.7),
        ragged: dice.between(0.1, 0.7),
        ink,
        seed: dice.seed(),
    }));
    let arms = (spread * dice.between(3.0, 9.0)) as usize;
    for _ in 0..arms {
        let out = direction(dice);
        let length = size * (0.6 + 2.6 * spread) * dice.between(0.5, 1.3);
        let axis = Axis {
            bend: dice.between(-0.3, 0.3) / length,
            wave: length * 0.04 * dice.normal(),
            wave_length: length * dice.between(0.4, 1.0),
            ..Axis::straight(at, out, length)
        };
        let half = size * dice.between(0.1, 0.22);
        marks.push(Mark::Line(Line {
            axis,
            start_half: half,
            end_half: half * 0.3,
            ink: ink.map(|c| c * 0.7),
            hollow: 0.0,
            segments: 0.0,
        }));
    }
}

/// What else lies on the slide under `condition`.
pub(crate) fn dirt(
    marks: &mut Vec<Mark>,
    view: &View,
    condition: Condition,
    base_width: f64,
    dice: &mut Dice,
) {
    let any = condition == Condition::Any;
    let specks = match condition {
        Condition::Debris => dice.between(15.0, 50.0),
        Condition::Any => dice.wide(0.0, 22.0),
        _ => dice.between(0.0, 4.0),
    };
    for _ in 0..specks as usize {
        let radius = dice.wide_log(2.0, 12.0).max(view.umpx);
        marks.push(speck(view, radius, dice));
    }
    let algae = match condition {
        Condition::Debris => 2 + dice.index(4),
        Condition::Any if dice.chance(0.15) => 1 + dice.index(3),
        _ => 0,
    };
    for _ in 0..algae {
        marks.push(filament(view, dice));
    }
    let bubbles = if condition == Condition::Bubbles || any && dice.chance(0.12) {
        1 + dice.index(4)
    } else {
        0
    };
    for _ in 0..bubbles {
        let radius = dice.wide_log(1.0, 6.0) * base_width;
        marks.push(bubble(view, radius, dice));
    }
}

/// A speck of dirt.
pub(crate) fn speck(view: &View, radius: f64, dice: &mut Dice) -> Mark {
    let brown = dice.chance(0.4);
    let od = dice.between(0.15, 0.9);
    let hue = if brown { [0.5, 0.8, 1.1] } else { [1.0; 3] };
    Mark::Spot(Spot {
        at: anywhere(view, dice),
        radius,
        soft: dice.between(0.15, 0.6),
        ragged: dice.between(0.2, 0.9),
        ink: hue.map(|c| c * od),
        seed: dice.seed(),
    })
}

/// A filament of algae.
pub(crate) fn filament(view: &View, dice: &mut Dice) -> Mark {
    let length = view.short_side() * dice.between(0.2, 0.9);
    let half = dice.between(2.0, 9.0);
    let green = [1.0, 0.45, 1.0].map(|c| c * dice.between(0.06, 0.25));
    let axis = Axis {
        bend: dice.between(-0.5, 0.5) / length,
        wave: length * 0.03 * dice.normal(),
        wave_length: length * dice.between(0.4, 1.2),
        ..Axis::straight(anywhere(view, dice), direction(dice), length)
    };
    Mark::Line(Line {
        axis,
        start_half: half,
        end_half: half,
        ink: green,
        hollow: dice.between(0.2, 1.5),
        segments: half * dice.between(3.0, 8.0),
    })
}

/// An air bubble.
pub(crate) fn bubble(view: &View, radius: f64, dice: &mut Dice) -> Mark {
    Mark::Bubble(Bubble {
        at: anywhere(view, dice),
        radius,
        rim: dice.between(0.08, 0.35),
        od: dice.between(0.3, 1.4),
    })
}
