//! Draws the row of setae of a tip.

use crate::painter::dice::Dice;
use crate::painter::scene::Seta;
use crate::painter::scene::SetaState;
use crate::painter::scene::Tip;
use crate::painter::view::View;

/// The setae of `tip` with the variation of one animal.
pub(crate) fn draw_setae(tip: &Tip, view: &View, dice: &mut Dice) -> Vec<Seta> {
    let w = tip.base_width;
    let values = &tip.values;
    let (from, to) = tip.margin.range();
    let reach = view.diagonal();
    let spacing_jitter = dice.wide(0.03, 0.16);
    let width_jitter = dice.wide(0.06, 0.14);
    let tilt_jitter = dice.wide(0.01, 0.12);
    let phase_jitter = dice.wide(0.01, 0.08);
    let drift = dice.wide(-0.18, 0.18);
    let length = dice.wide_log(13.0, 48.0) * w;
    let bend = dice.wide(0.0, 0.25) / length;
    let common_bend = dice.wide(-0.15, 0.15) / length;
    let wave = if values.base_pigment > 0.5 { 0.3 } else { 0.1 };
    let lumen_reach = match values.base_pigment {
        p if p > 0.5 => dice.wide_log(4.0, 40.0),
        _ => dice.wide_log(1.0, 12.0),
    };
    let new_length = dice.wide(0.7, 1.3) * (3.0 + 10.0 * values.new_seta);
    let new_tip_shift = dice.between(-0.15, 0.15);
    let stands_out = dice.wide_log(0.4, 1.25);
    let mut setae = Vec::new();
    let mut at = from.max(-reach) + tip.spacing * dice.unit();
    while at < to.min(reach) {
        let phase = 1.0 + phase_jitter * dice.normal() + drift * (at / reach);
        let vary = |value: f64, spread: f64, dice: &mut Dice| {
            (value * (1.0 + spread * dice.normal())).clamp(0.0, 1.0)
        };
        let line = vary(values.line, 0.05, dice);
        let new_seta = vary(values.new_seta, 0.06, dice);
        setae.push(Seta {
            s: at + tip.spacing * spacing_jitter * dice.normal(),
            width: w * (1.0 + width_jitter * dice.normal()),
            gap: (values.gap * phase).max(0.0) * w,
            base_pigment: vary(values.base_pigment, 0.1, dice),
            lumen_pigment: vary(values.lumen_pigment, 0.15, dice),
            lumen_reach: lumen_reach * dice.between(0.75, 1.25),
            line,
            scallop: (values.scallop * (1.0 + 0.15 * dice.normal())).max(0.0) * w,
            new_seta,
            new_tip: new_tip(new_seta, stands_out) + new_tip_shift + 0.12 * dice.normal(),
            new_length: new_length * dice.between(0.8, 1.2),
            tilt: tip.tilt + tilt_jitter * dice.normal(),
            bend: common_bend + bend * dice.normal(),
            length: length * dice.between(0.7, 1.1),
            wave: wave * w * dice.normal() * 0.5,
            state: SetaState::Whole,
        });
        at += tip.spacing;
    }
    setae.sort_by(|a, b| a.s.total_cmp(&b.s));
    setae
}

/// The setae of `tip` without any variation, to `reach` µm on both sides of the middle.
pub(crate) fn evenly(tip: &Tip, reach: f64) -> Vec<Seta> {
    let w = tip.base_width;
    let values = &tip.values;
    let half = (reach / tip.spacing).floor() as i32;
    (-half..=half)
        .map(|i| Seta {
            s: f64::from(i) * tip.spacing,
            width: w,
            gap: values.gap * w,
            base_pigment: values.base_pigment,
            lumen_pigment: values.lumen_pigment,
            lumen_reach: if values.base_pigment > 0.5 { 10.0 } else { 2.5 },
            line: values.line,
            scallop: values.scallop * w,
            new_seta: values.new_seta,
            new_tip: new_tip(values.new_seta, 1.0),
            new_length: 3.0 + 10.0 * values.new_seta,
            tilt: tip.tilt,
            bend: 0.0,
            length: 18.0 * w,
            wave: 0.0,
            state: SetaState::Whole,
        })
        .collect()
}

/// How far the tip of a new seta lies outside the edge, in base widths: inside in D1, at the edge
/// in D2, well into the gap in D3. Animals differ in how far: by the factor `stands_out`.
fn new_tip(amount: f64, stands_out: f64) -> f64 {
    let points = [(0.05, -0.7), (0.45, -0.15), (0.85, 0.7), (1.0, 2.4)];
    for pair in points.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if amount <= x1 {
            let usual = y0 + (y1 - y0) * ((amount - x0) / (x1 - x0)).max(0.0);
            return usual.min(0.0) + usual.max(0.0) * stands_out;
        }
    }
    2.4 * stands_out
}
