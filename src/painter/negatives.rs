//! Draws pictures that show no readable tip.

use crate::geometry::Point;
use crate::moult::Stage;
use crate::painter::condition::Condition;
use crate::painter::dice::Dice;
use crate::painter::dirt::anywhere;
use crate::painter::dirt::bubble;
use crate::painter::dirt::direction;
use crate::painter::dirt::filament;
use crate::painter::dirt::speck;
use crate::painter::ink::Axis;
use crate::painter::ink::Line;
use crate::painter::ink::Mark;
use crate::painter::plane::length_of;
use crate::painter::plane::unit_of;
use crate::painter::population::dice_for;
use crate::painter::population::draw_scene;
use crate::painter::scene::Hue;
use crate::painter::scene::Label;
use crate::painter::scene::Scene;
use crate::painter::scene::SetaState;
use crate::painter::view::View;

/// A kind of picture without a readable tip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Negative {
    /// Light and nothing else.
    Blank,
    /// Hardly any light.
    Dark,
    /// Far too much light.
    BurntOut,
    /// The middle of a blade.
    TissueOnly,
    /// A tip far out of focus.
    BlurredTip,
    /// A stage-micrometer ruling.
    Ruling,
    /// Hairs and fibres.
    LooseHairs,
    /// Air bubbles.
    Bubbles,
    /// A label with writing.
    Writing,
    /// Filaments of algae.
    Algae,
    /// The edge of a blade without setae.
    BareEdge,
    /// A telson with its spines.
    TelsonSpines,
    /// A field of debris.
    DebrisField,
    /// A tip with fewer than 6 pixels per base width.
    TooSmall,
    /// A blade torn across its margin: ragged edge, no row of bases.
    TornEdge,
    /// A grid of a counting chamber.
    CountingGrid,
}

impl Negative {
    /// All kinds.
    pub const ALL: [Self; 16] = [
        Self::Blank,
        Self::Dark,
        Self::BurntOut,
        Self::TissueOnly,
        Self::BlurredTip,
        Self::Ruling,
        Self::LooseHairs,
        Self::Bubbles,
        Self::Writing,
        Self::Algae,
        Self::BareEdge,
        Self::TelsonSpines,
        Self::DebrisField,
        Self::TooSmall,
        Self::TornEdge,
        Self::CountingGrid,
    ];

    /// The kind's name in truth files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Blank => "blank",
            Self::Dark => "dark",
            Self::BurntOut => "burnt-out",
            Self::TissueOnly => "tissue-only",
            Self::BlurredTip => "blurred-tip",
            Self::Ruling => "ruling",
            Self::LooseHairs => "loose-hairs",
            Self::Bubbles => "bubbles",
            Self::Writing => "writing",
            Self::Algae => "algae",
            Self::BareEdge => "bare-edge",
            Self::TelsonSpines => "telson-spines",
            Self::DebrisField => "debris-field",
            Self::TooSmall => "too-small",
            Self::TornEdge => "torn-edge",
            Self::CountingGrid => "counting-grid",
        }
    }
}

/// A scene of `kind` under `condition`.
pub fn draw_negative(kind: Negative, condition: Condition, seed: u64) -> Scene {
    let mut dice = dice_for(condition, seed, 90);
    let stage = dice.pick(&Stage::PROPOSED);
    let mut scene = draw_scene(stage, condition, seed);
    scene.label = Label::None(kind.name());
    scene.animal = format!("none-{}-{condition}-{seed}", kind.name());
    match kind {
        Negative::BlurredTip => blur(&mut scene, &mut dice),
        Negative::TooSmall => shrink(&mut scene, &mut dice),
        Negative::BareEdge => strip_setae(&mut scene),
        Negative::TornEdge => tear(&mut scene, &mut dice),
        Negative::TissueOnly => move_inward(&mut scene),
        Negative::TelsonSpines => spines(&mut scene, &mut dice),
        Negative::Dark => darken(&mut scene, &mut dice),
        Negative::BurntOut => burn_out(&mut scene, &mut dice),
        _ => {
            scene.tip = None;
            scene.marks.clear();
            scatter(kind, &mut scene, &mut dice);
        }
    }
    scene
}

fn darken(scene: &mut Scene, dice: &mut Dice) {
    scene.camera.exposure = dice.between(0.003, 0.012);
    scene.camera.full_well = dice.between(300.0, 2000.0);
}

fn burn_out(scene: &mut Scene, dice: &mut Dice) {
    scene.camera.exposure = dice.between(9.0, 25.0);
    scene.camera.light = [1.0; 3];
    scene.camera.field = None;
}

fn blur(scene: &mut Scene, dice: &mut Dice) {
    let w = scene.tip.as_ref().map_or(15.0, |tip| tip.base_width);
    scene.camera.blur = w / scene.view.umpx * dice.between(0.9, 2.5);
    scene.camera.blur_tilt = 0.0;
    scene.camera.sharpen = 0.0;
}

fn shrink(scene: &mut Scene, dice: &mut Dice) {
    let Some(tip) = &mut scene.tip else {
        return;
    };
    // a thin cover of setae over a small picture: the base width falls below 6 pixels
    let umpx = tip.base_width / dice.between(2.0, 4.5);
    let factor = scene.view.umpx / umpx;
    let smaller = |side: u32| ((f64::from(side) * factor.max(0.3)) as u32).clamp(320, 1000);
    scene.view.width = smaller(scene.view.width);
    scene.view.height = smaller(scene.view.height);
    scene.view.umpx = umpx;
    scene.camera.blur = scene.camera.blur.min(0.8);
}

fn strip_setae(scene: &mut Scene) {
    if let Some(tip) = &mut scene.tip {
        for seta in &mut tip.setae {
            seta.state = SetaState::Missing;
            seta.new_seta = 0.0;
            seta.base_pigment = 0.0;
            seta.scallop = 0.0;
        }
        tip.values.new_seta = 0.0;
        tip.look.shaft.setules = 0.0;
    }
}

fn tear(scene: &mut Scene, dice: &mut Dice) {
    strip_setae(scene);
    if let Some(tip) = &mut scene.tip {
        let depth = scene.view.short_side() * dice.between(0.02, 0.1);
        tip.cut = Some(crate::painter::scene::Cut {
            at: Point::new(0.0, depth + (tip.values.gap + 2.0) * tip.base_width),
            away: Point::new(0.0, -1.0),
            teeth: dice.between(15.0, 60.0),
            tooth_length: dice.between(20.0, 90.0),
            smear: dice.between(0.2, 2.0),
        });
    }
}

fn move_inward(scene: &mut Scene) {
    if scene.tip.is_some() {
        let deep = scene.view.diagonal();
        // flat tissue all over: the margin is far away
        scene.view.centre = Point::new(0.0, deep * 0.95);
        if let Some(tip) = &mut scene.tip {
            tip.setae.clear();
            tip.fold = None;
            tip.cut = None;
        }
    }
}

fn spines(scene: &mut Scene, dice: &mut Dice) {
    strip_setae(scene);
    if let Some(tip) = &mut scene.tip {
        for seta in &mut tip.setae {
            seta.gap = 0.0;
        }
        tip.cut = None;
    }
    let Some(tip) = &scene.tip else {
        return;
    };
    let w = tip.base_width;
    let ink: Hue = tip.look.tissue_ink.map(|c| c * dice.between(0.8, 1.8));
    let mut s = -scene.view.diagonal() / 2.0;
    while s < scene.view.diagonal() / 2.0 {
        let (base, along, inward) = tip.margin.frame(s);
        let lean = dice.between(-0.3, 0.3);
        let out = unit_of(along.times(lean).minus(inward));
        let half = w * dice.between(1.2, 2.5);
        let length = half * dice.between(4.0, 9.0);
        scene.marks.push(Mark::Line(Line {
            axis: Axis::straight(base.plus(inward.times(half * 0.5)), out, length),
            start_half: half,
            end_half: half * 0.08,
            ink,
            hollow: dice.between(0.2, 1.2),
            segments: 0.0,
        }));
        s += w * dice.between(8.0, 25.0);
    }
}

fn scatter(kind: Negative, scene: &mut Scene, dice: &mut Dice) {
    let view = scene.view;
    let marks = &mut scene.marks;
    match kind {
        Negative::Ruling => ruling(marks, &view, dice),
        Negative::CountingGrid => counting_grid(marks, &view, dice),
        Negative::Writing => writing(marks, &view, dice),
        Negative::LooseHairs => {
            for _ in 0..6 + dice.index(25) {
                marks.push(hair(&view, dice));
            }
        }
        Negative::Bubbles => {
            for _ in 0..4 + dice.index(20) {
                let radius = view.short_side() * dice.between(0.01, 0.16);
                marks.push(bubble(&view, radius, dice));
            }
        }
        Negative::Algae => {
            for _ in 0..5 + dice.index(18) {
                marks.push(filament(&view, dice));
            }
        }
        Negative::DebrisField => {
            for _ in 0..80 + dice.index(250) {
                let radius = dice.between(2.0, 25.0);
                marks.push(speck(&view, radius, dice));
            }
        }
        _ => {
            for _ in 0..dice.index(4) {
                marks.push(speck(&view, 3.0, dice));
            }
        }
    }
}

fn hair(view: &View, dice: &mut Dice) -> Mark {
    let length = view.short_side() * dice.between(0.2, 1.2);
    let half = dice.between(1.5, 9.0);
    let axis = Axis {
        bend: dice.between(-0.5, 0.5) / length,
        ..Axis::straight(anywhere(view, dice), direction(dice), length)
    };
    let od = dice.between(0.05, 0.5);
    Mark::Line(Line {
        axis,
        start_half: half,
        end_half: half * dice.between(0.2, 1.0),
        ink: [od, od, od * 1.1],
        hollow: dice.between(0.0, 2.0),
        segments: 0.0,
    })
}

fn bar(from: Point, way: Point, half: f64, od: f64) -> Mark {
    Mark::Line(Line {
        axis: Axis::straight(from, unit_of(way), length_of(way)),
        start_half: half,
        end_half: half,
        ink: [od; 3],
        hollow: 0.0,
        segments: 0.0,
    })
}

fn ruling(marks: &mut Vec<Mark>, view: &View, dice: &mut Dice) {
    let division = [10.0, 20.0, 50.0, 100.0]
        .into_iter()
        .find(|um| um / view.umpx > dice.between(6.0, 30.0))
        .unwrap_or(100.0);
    let along = direction(dice);
    let up = along.turned();
    let od = dice.between(0.5, 1.5);
    let half = dice.between(0.6, 1.4).max(view.umpx * 0.5);
    let reach = (view.diagonal() / 2.0 / division) as i32;
    let short = view.short_side() * dice.between(0.06, 0.14);
    let part = dice.pick(&[50, 100]);
    for i in -reach.min(part)..=reach.min(part) {
        let long = match i {
            i if i % 10 == 0 => 2.0,
            i if i % 5 == 0 => 1.5,
            _ => 1.0,
        };
        let at = view.centre.plus(along.times(f64::from(i) * division));
        marks.push(bar(at, up.times(short * long), half, od));
    }
}

fn counting_grid(marks: &mut Vec<Mark>, view: &View, dice: &mut Dice) {
    let step = view.short_side() * dice.between(0.06, 0.2);
    let along = direction(dice);
    let up = along.turned();
    let od = dice.between(0.15, 0.7);
    let half = dice.between(1.0, 3.0);
    let reach = view.diagonal() / 2.0;
    let count = (reach / step) as i32;
    for i in -count..=count {
        let shift = f64::from(i) * step;
        for (across, way) in [(along, up), (up, along)] {
            let at = view
                .centre
                .plus(across.times(shift))
                .minus(way.times(reach));
            marks.push(bar(at, way.times(reach * 2.0), half, od));
        }
    }
}

/// Rows of strokes like letters.
fn writing(marks: &mut Vec<Mark>, view: &View, dice: &mut Dice) {
    let along = direction(dice);
    let up = along.turned();
    let high = view.short_side() * dice.between(0.06, 0.16);
    let half = high * dice.between(0.04, 0.09);
    let od = dice.between(0.5, 1.6);
    for row in 0..2 + dice.index(3) {
        for letter in 0..5 + dice.index(7) {
            let corner = view
                .centre
                .plus(along.times(high * 0.8 * (letter as f64 - 4.0)))
                .plus(up.times(high * 1.5 * (row as f64 - 1.0)));
            for _ in 0..2 + dice.index(3) {
                let mut knot = || {
                    let x = dice.pick(&[0.0, 0.25, 0.5]) * high;
                    let y = dice.pick(&[0.0, 0.5, 1.0]) * high;
                    corner.plus(along.times(x)).plus(up.times(y))
                };
                let (a, b) = (knot(), knot());
                if length_of(a.minus(b)) > high * 0.1 {
                    marks.push(bar(a, b.minus(a), half, od));
                }
            }
        }
    }
}
