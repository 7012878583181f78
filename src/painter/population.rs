//! Draws scenes: what a population of animals looks like under a population of microscopes.

use crate::anatomy::criteria;
use crate::geometry::Point;
use crate::moult::Stage;
use crate::painter::blade::Margin;
use crate::painter::blade::MarginForm;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::dirt;
use crate::painter::looks::Wanted;
use crate::painter::microscope::draw_camera;
use crate::painter::scene::Cut;
use crate::painter::scene::Fold;
use crate::painter::scene::Label;
use crate::painter::scene::Look;
use crate::painter::scene::Scene;
use crate::painter::scene::Seta;
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
    let stage = stage.as_proposed().unwrap_or(Stage::A);
    let mut dice = dice_for(condition, seed, stage.index() as u64);
    let odd = match condition {
        Condition::OutOfStep => true,
        Condition::Any => dice.chance(OUT_OF_STEP_SHARE),
        _ => false,
    };
    let near = !odd && condition != Condition::OutOfStep && dice.chance(NEAR_SHARE);
    let odd_values = if odd {
        out_of_step(stage, &mut dice)
    } else {
        None
    };
    let label = Label::Stage {
        stage,
        out_of_step: odd_values.is_some(),
        ambiguous: near || odd_values.is_some(),
    };
    let values = odd_values.unwrap_or_else(|| draw_values(stage, near, &mut dice));
    let animal = format!("{}-{condition}-{seed}", stage.code());
    draw(&values, (label, animal, condition, seed), &mut dice)
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
    draw(&values, (label, animal, condition, seed), &mut dice)
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

fn draw(
    values: &Values,
    (label, animal, condition, seed): (Label, String, Condition, u64),
    dice: &mut Dice,
) -> Scene {
    let sizes = Sizes::draw(values, condition, dice);
    let (view, margin) = place(values, &sizes, condition, dice);
    let mut tip = draw_tip(values, &sizes, margin, (&view, condition), dice);
    let mut marks = Vec::new();
    dirt::chromatophores(&mut marks, &tip, &view, dice);
    dirt::dirt(&mut marks, &view, condition, tip.base_width, dice);
    thin_out(&mut tip, &view, condition, dice);
    let camera = draw_camera(condition, &view, tip.base_width, dice);
    Scene {
        label,
        seed,
        condition,
        animal,
        view,
        tip: Some(tip),
        marks,
        camera,
    }
}

/// The sizes of the animal and of the picture.
#[derive(Debug, Clone, Copy)]
struct Sizes {
    base_width: f64,
    spacing: f64,
    umpx: f64,
    width: u32,
    height: u32,
}

impl Sizes {
    fn draw(values: &Values, condition: Condition, dice: &mut Dice) -> Self {
        let mut best = Self::once(condition, dice);
        for _ in 0..200 {
            if best.fits(values) {
                break;
            }
            best = Self::once(condition, dice);
        }
        best
    }

    fn once(condition: Condition, dice: &mut Dice) -> Self {
        use Condition as C;
        let any = condition == C::Any;
        let base_width = match condition {
            C::Base12 => 12.0,
            C::Base20 => 20.0,
            C::Base40 => 40.0,
            C::Any => dice.wide_log(12.0, 40.0),
            C::Scale04 => dice.between(12.0, 18.0),
            C::Scale26 => dice.between(19.0, 36.0),
            _ => dice.between(13.0, 26.0),
        };
        let ratio = match condition {
            C::Spacing15 => 1.5,
            C::Spacing4 => 4.0,
            C::Any => dice.wide(1.5, 4.0),
            _ => dice.between(2.0, 3.2),
        };
        let umpx = match condition {
            C::Scale04 => 0.4,
            C::Scale08 => 0.8,
            C::Scale16 => 1.6,
            C::Scale26 => 2.6,
            C::Any => dice.wide_log(0.4, 2.6),
            C::Megapixels12 => dice.between(0.4, 0.7),
            C::Megapixels5 => dice.between(0.5, 1.0),
            C::Megapixels1 => dice.between(0.9, 1.6),
            C::Base40 => dice.between(1.2, 2.0),
            _ => dice.between(0.7, 1.3),
        };
        let (width, height) = match condition {
            C::Megapixels1 => (1152, 864),
            C::Megapixels5 => (2592, 1944),
            C::Megapixels12 => (4000, 3000),
            C::Scale04 => (2048, 1536),
            _ if any => dice.pick(&[
                (1152, 864),
                (1280, 960),
                (1280, 1024),
                (1600, 1200),
                (1600, 1200),
                (1600, 1200),
                (1920, 1080),
                (1200, 1600),
                (2048, 1536),
                (2592, 1944),
            ]),
            _ => (1600, 1200),
        };
        Self {
            base_width,
            spacing: base_width * ratio,
            umpx,
            width,
            height,
        }
    }

    fn short(&self) -> f64 {
        f64::from(self.width.min(self.height)) * self.umpx
    }

    /// Says whether enough bases, pixels and depth fit into the picture.
    fn fits(&self, values: &Values) -> bool {
        self.base_width / self.umpx >= 6.6
            && self.short() / self.spacing >= 8.0
            && (values.gap + 3.0) * self.base_width <= 0.42 * self.short()
    }
}

fn draw_form(values: &Values, sizes: &Sizes, condition: Condition, dice: &mut Dice) -> MarginForm {
    let short = sizes.short();
    // the epidermis must fit inside the bend
    let tightest = 1.0 / ((values.gap * 1.5 + 5.0) * sizes.base_width).max(0.3 * short);
    let kind = match condition {
        Condition::Concave => 0.95,
        Condition::Fill20 | Condition::Fill90 => dice.between(0.0, 0.6),
        Condition::Any => dice.unit(),
        _ => dice.between(0.0, 0.9),
    };
    let mut form = MarginForm {
        bend: 0.0,
        tip: 0.0,
        tip_reach: short * dice.wide(0.2, 0.6),
        wave: dice.wide(0.0, 0.25) / short,
        wave_length: short * dice.wide(0.7, 3.0),
        most_turn: 1.35,
    };
    match kind {
        k if k < 0.15 => form.bend = dice.between(-0.1, 0.2) / short,
        k if k < 0.65 => form.bend = dice.wide(0.2, 1.1) / short,
        k if k < 0.9 => {
            form.bend = dice.wide(0.1, 0.5) / short;
            form.tip = dice.wide(0.3, 1.0) * (tightest - form.bend).max(0.0);
        }
        _ => {
            form.bend = -dice.wide(0.25, 0.7) / short;
            form.most_turn = 0.7;
        }
    }
    form.bend = form.bend.min(tightest);
    form
}

/// Where the blade lies in the picture.
fn place(values: &Values, sizes: &Sizes, condition: Condition, dice: &mut Dice) -> (View, Margin) {
    let fill = match condition {
        Condition::Fill20 => 0.2,
        Condition::Fill90 => 0.9,
        Condition::Corner => 0.16,
        Condition::Any => dice.wide(0.2, 0.88),
        _ => dice.between(0.35, 0.65),
    };
    let mut last = None;
    for _ in 0..12 {
        let form = draw_form(values, sizes, condition, dice);
        let quarter = f64::from(dice.index(4) as u8) + 0.5;
        let angle = if condition == Condition::Corner {
            (quarter + dice.between(-0.2, 0.2)) * std::f64::consts::FRAC_PI_2
        } else {
            dice.between(0.0, std::f64::consts::TAU)
        };
        let mut view = View {
            width: sizes.width,
            height: sizes.height,
            umpx: sizes.umpx,
            angle,
            mirrored: dice.chance(0.5),
            centre: Point::new(0.0, 0.0),
        };
        let reach = view.diagonal() * 1.6;
        let margin = Margin::new(&form, reach, view.diagonal() / 900.0);
        let coarse = Margin::new(&form, reach, view.diagonal() / 90.0);
        view.centre.x = sizes.short() * dice.between(-0.3, 0.3);
        view.centre.y = shift_for(fill, &view, &coarse);
        let seen = bases_in(&view, &margin, sizes.spacing);
        let filled = tissue_share(&view, &coarse);
        let deep = (values.gap + 2.0) * sizes.base_width < 0.75 * depth_in(&view, &coarse);
        last = Some((view, margin));
        if seen >= 8 && (filled - fill).abs() < 0.04 && deep {
            break;
        }
    }
    last.unwrap_or_else(|| {
        let view = View {
            width: sizes.width,
            height: sizes.height,
            umpx: sizes.umpx,
            angle: 0.0,
            mirrored: false,
            centre: Point::new(0.0, 0.0),
        };
        let form = draw_form(values, sizes, condition, dice);
        let margin = Margin::new(&form, view.diagonal(), view.diagonal() / 900.0);
        (view, margin)
    })
}

fn grid(view: &View) -> impl Iterator<Item = Point> + '_ {
    let (w, h) = (f64::from(view.width), f64::from(view.height));
    (0..14).flat_map(move |row| {
        (0..18).map(move |column| {
            view.world(Point::new(
                w * (f64::from(column) + 0.5) / 18.0,
                h * (f64::from(row) + 0.5) / 14.0,
            ))
        })
    })
}

fn tissue_share(view: &View, margin: &Margin) -> f64 {
    let inside = grid(view).filter(|p| margin.locate(*p).1 > 0.0).count();
    inside as f64 / (18.0 * 14.0)
}

fn depth_in(view: &View, margin: &Margin) -> f64 {
    grid(view)
        .map(|p| margin.locate(p).1)
        .fold(f64::NEG_INFINITY, f64::max)
}

/// The inward position of the picture's middle at which the tissue covers `fill` of it.
fn shift_for(fill: f64, view: &View, margin: &Margin) -> f64 {
    let (mut low, mut high) = (-view.diagonal() * 0.7, view.diagonal() * 0.7);
    for _ in 0..14 {
        let mid = f64::midpoint(low, high);
        let mut tried = *view;
        tried.centre.y = mid;
        if tissue_share(&tried, margin) < fill {
            low = mid;
        } else {
            high = mid;
        }
    }
    f64::midpoint(low, high)
}

fn bases_in(view: &View, margin: &Margin, spacing: f64) -> usize {
    let (from, to) = margin.range();
    let count = ((to - from) / spacing) as usize;
    (0..count)
        .filter(|i| {
            let (p, _, _) = margin.frame(from + *i as f64 * spacing);
            view.holds(view.pixel(p), 4.0)
        })
        .count()
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

fn draw_setae(tip: &Tip, view: &View, dice: &mut Dice) -> Vec<Seta> {
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
        p if p > 0.5 => dice.wide_log(5.0, 25.0),
        _ => dice.wide(1.2, 4.0),
    };
    let new_length = dice.wide(0.7, 1.3) * (3.0 + 10.0 * values.new_seta);
    let new_tip_shift = dice.between(-0.15, 0.15);
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
            new_tip: new_tip(new_seta) + new_tip_shift + 0.12 * dice.normal(),
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
            new_tip: new_tip(values.new_seta),
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
/// in D2, well into the gap in D3.
fn new_tip(amount: f64) -> f64 {
    let points = [(0.05, -0.7), (0.45, -0.15), (0.85, 0.7), (1.0, 2.4)];
    for pair in points.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if amount <= x1 {
            return y0 + (y1 - y0) * ((amount - x0) / (x1 - x0)).max(0.0);
        }
    }
    2.4
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
