//! Draws scenes: what a population of animals looks like under a population of microscopes.

use crate::anatomy::criteria;
use crate::geometry::Point;
use crate::moult::Stage;
use crate::painter::blade::Margin;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::dirt;
use crate::painter::looks::Wanted;
use crate::painter::microscope::draw_camera;
use crate::painter::place::Sizes;
use crate::painter::place::place;
use crate::painter::row::draw_setae;
use crate::painter::scene::Cut;
use crate::painter::scene::Fold;
use crate::painter::scene::Label;
use crate::painter::scene::Look;
use crate::painter::scene::Scene;
use crate::painter::scene::SetaState;
use crate::painter::scene::Tip;
use crate::painter::values::Values;
use crate::painter::values::out_of_step;
use crate::painter::view::View;

/// Share of the tips of one stage that are drawn near a border of it.
const NEAR_SHARE: f64 = 0.08;

/// Share of animals whose criteria are out of step.
///
/// # Source
/// One animal in ten: our own choice (`docs/decisions/0001-anatomy-in-numbers.md`).
const OUT_OF_STEP_SHARE: f64 = 0.1;

/// A scene of a tip of `stage` under `condition`; D4 is drawn as D3 and E as A.
pub fn draw_scene(stage: Stage, condition: Condition, seed: u64) -> Scene {
    let mut dice = dice_for(condition, seed, stage.index() as u64);
    let odd = match condition {
        Condition::OutOfStep => true,
        Condition::Any => dice.chance(OUT_OF_STEP_SHARE),
        _ => false,
    };
    draw_animal(stage, odd, (condition, seed), &mut dice)
}

/// A scene of a tip whose criteria disagree and mean `stage`; for A and C, where no such pair is
/// known, a clear tip.
pub fn draw_out_of_step(stage: Stage, condition: Condition, seed: u64) -> Scene {
    let mut dice = dice_for(condition, seed, 30 + stage.index() as u64);
    draw_animal(stage, true, (condition, seed), &mut dice)
}

fn draw_animal(
    stage: Stage,
    odd: bool,
    (condition, seed): (Condition, u64),
    dice: &mut Dice,
) -> Scene {
    let stage = stage.as_proposed().unwrap_or(Stage::A);
    let near = !odd && dice.chance(NEAR_SHARE);
    let odd_values = if odd { out_of_step(stage, dice) } else { None };
    let label = Label::Stage {
        stage,
        out_of_step: odd_values.is_some(),
        ambiguous: near || odd_values.is_some(),
    };
    let values = odd_values.unwrap_or_else(|| draw_values(stage, near, dice));
    let animal = format!("{}-{condition}-{seed}", stage.code());
    draw(&values, &(label, animal, condition, seed), dice)
}

/// A scene of a tip between `stage` and the next one; `stage` from A to D2, later ones count as D2.
pub fn draw_between(stage: Stage, condition: Condition, seed: u64) -> Scene {
    let i = stage.index().min(Stage::D2.index());
    let (stage, next) = (Stage::PROPOSED[i], Stage::PROPOSED[i + 1]);
    let mut dice = dice_for(condition, seed, 50 + i as u64);
    let a = draw_values(stage, false, &mut dice);
    let b = draw_values(next, false, &mut dice);
    let toward = dice.between(0.15, 0.85);
    let values = Values::between(&a, &b, toward);
    let label = Label::Between {
        stage,
        next,
        toward,
    };
    let animal = format!("{}-{}-{condition}-{seed}", stage.code(), next.code());
    draw(&values, &(label, animal, condition, seed), &mut dice)
}

fn draw_values(stage: Stage, near: bool, dice: &mut Dice) -> Values {
    criteria(stage).map_or(
        Values {
            base_pigment: 0.0,
            lumen_pigment: 0.0,
            line: 1.0,
            gap: 0.0,
            scallop: 0.0,
            new_seta: 0.0,
        },
        |row| Values::draw(row, near, dice),
    )
}

pub(crate) fn dice_for(condition: Condition, seed: u64, salt: u64) -> Dice {
    let breadth = if condition == Condition::Any {
        1.0
    } else {
        0.6
    };
    let mixed = seed
        .wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add(salt.wrapping_mul(0xD1B5_4A32_D192_ED03));
    Dice::with_breadth(mixed, breadth)
}

/// Fewest bases in view of a drawn tip: with fewer nothing can be said of it.
const FEWEST_IN_VIEW: usize = 4;
/// So often a tip is drawn anew at most.
const MOST_DRAWS: usize = 20;

/// Draws a tip with enough bases in view.
fn draw(values: &Values, about: &(Label, String, Condition, u64), dice: &mut Dice) -> Scene {
    let mut scene = draw_once(values, about, dice);
    for _ in 1..MOST_DRAWS {
        if scene.bases_in_view() >= FEWEST_IN_VIEW {
            break;
        }
        scene = draw_once(values, about, dice);
    }
    scene
}

/// Draws a tip wherever its bases come to lie.
fn draw_once(
    values: &Values,
    (label, animal, condition, seed): &(Label, String, Condition, u64),
    dice: &mut Dice,
) -> Scene {
    let (condition, seed) = (*condition, *seed);
    let sizes = Sizes::draw(values, condition, dice);
    let (view, margin) = place(values, &sizes, condition, dice);
    let mut tip = draw_tip(values, &sizes, margin, (&view, condition), dice);
    let mut marks = Vec::new();
    dirt::chromatophores(&mut marks, &tip, &view, dice);
    dirt::dirt(&mut marks, &view, condition, tip.base_width, dice);
    thin_out(&mut tip, &view, condition, dice);
    let camera = draw_camera(condition, &view, tip.base_width, dice);
    Scene {
        label: label.clone(),
        seed,
        condition,
        animal: animal.clone(),
        view,
        tip: Some(tip),
        marks,
        camera,
    }
}

fn draw_tip(
    values: &Values,
    sizes: &Sizes,
    margin: Margin,
    (view, condition): (&View, Condition),
    dice: &mut Dice,
) -> Tip {
    let pale = match condition {
        Condition::PalePigment => true,
        Condition::Any => dice.chance(0.12),
        _ => false,
    };
    let look = Look::draw(values, sizes.base_width, &Wanted { pale }, dice);
    let tilt = dice.wide(-0.28, 0.28);
    let mut tip = Tip {
        margin,
        base_width: sizes.base_width,
        spacing: sizes.spacing,
        values: *values,
        setae: Vec::new(),
        tilt,
        look,
        cut: None,
        fold: None,
        seed: dice.seed(),
    };
    tip.setae = draw_setae(&tip, view, dice);
    let cut_share = match condition {
        Condition::Fill90 | Condition::Concave => 0.0,
        Condition::Any => 0.25,
        _ => 0.12,
    };
    if dice.chance(cut_share) {
        tip.cut = Some(draw_cut(view, &tip, dice));
    }
    let folded = condition == Condition::Folded || condition == Condition::Any && dice.chance(0.08);
    if folded {
        tip.fold = Some(draw_fold(view, &tip, dice));
    }
    tip
}

fn draw_cut(view: &View, tip: &Tip, dice: &mut Dice) -> Cut {
    let w = tip.base_width;
    // from the middle of the margin inward and to one side
    let side = if dice.chance(0.5) { 1.0 } else { -1.0 };
    let lean = dice.between(0.1, 1.5) * side;
    let away = Point::new(libm::sin(lean), libm::cos(lean));
    let deep = (tip.values.gap + 9.0) * w;
    let distance = deep.max(view.short_side() * dice.between(0.25, 0.5));
    Cut {
        at: Point::new(view.centre.x * 0.5, 0.0).plus(away.times(distance)),
        away,
        teeth: dice.wide(5.0, 40.0),
        tooth_length: dice.wide_log(15.0, 90.0),
        smear: dice.wide(0.0, 1.5),
    }
}

fn draw_fold(view: &View, tip: &Tip, dice: &mut Dice) -> Fold {
    let w = tip.base_width;
    let radius = view.short_side() * dice.between(0.5, 2.0);
    let depth = (tip.values.gap + dice.between(3.0, 9.0)) * w;
    Fold {
        centre: Point::new(view.short_side() * dice.between(-0.4, 0.4), depth + radius),
        radius,
        strength: dice.wide(0.3, 1.0),
        line: dice.wide(0.02, 0.25),
    }
}

/// Breaks setae and takes some away.
fn thin_out(tip: &mut Tip, view: &View, condition: Condition, dice: &mut Dice) {
    let (missing, bare, short) = match condition {
        Condition::MissingSetae => (dice.between(0.15, 0.3), 0.12, 0.2),
        Condition::Any => (
            dice.wide(0.0, 0.12),
            dice.wide(0.0, 0.1),
            dice.wide(0.0, 0.15),
        ),
        _ => (dice.between(0.0, 0.05), 0.01, 0.04),
    };
    let cut = tip.cut;
    let margin = tip.margin.clone();
    for seta in &mut tip.setae {
        let p = margin.frame(seta.s).0;
        let gone = cut.is_some_and(|cut| cut.removes(p));
        if dice.chance(missing) || gone {
            seta.state = SetaState::Missing;
            seta.new_seta = if gone { 0.0 } else { seta.new_seta };
        } else if dice.chance(bare) {
            seta.state = SetaState::Bare;
        }
        if dice.chance(short) {
            seta.length *= dice.between(0.08, 0.5);
        }
        if dice.chance(short * 0.5) {
            seta.tilt += dice.between(-0.35, 0.35);
        }
        // what can never be seen need not be painted
        let pixel = view.pixel(p);
        let far = -(seta.length + seta.new_length * seta.width + seta.gap) / view.umpx;
        if !view.holds(pixel, far) && seta.state == SetaState::Whole {
            seta.state = SetaState::Bare;
        }
    }
}
