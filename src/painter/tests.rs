//! Checks of the painter against physics and against its own truth.

use super::*;
use crate::moult::Stage;
use crate::painter::blade::MarginForm;
use crate::painter::condition::Condition;
use crate::painter::negatives::Negative;
use crate::painter::negatives::draw_negative;
use crate::painter::plain::Plain;
use crate::painter::population::draw_between;
use crate::painter::population::draw_scene;
use crate::painter::scene::Label;
use crate::units::MicrometresPerPixel;

/// Linear light of an sRGB sample (IEC 61966-2-1).
fn linear(sample: u8) -> f64 {
    let x = f64::from(sample) / 255.0;
    if x <= 0.04045 {
        x / 12.92
    } else {
        ((x + 0.055) / 1.055).powf(2.4)
    }
}

fn plain(stage: Stage) -> Plain {
    Plain::new(stage).unwrap()
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let scene = draw_scene(Stage::D1, Condition::Megapixels1, 7);
    assert_eq!(scene, draw_scene(Stage::D1, Condition::Megapixels1, 7));
    assert_eq!(paint(&scene), paint(&scene));
    let other = draw_scene(Stage::D1, Condition::Megapixels1, 8);
    assert_ne!(paint(&scene).picture, paint(&other).picture);
}

/// Beer-Lambert: the light through tissue of a given density is I0 times 10^-OD.
#[test]
fn a_flat_patch_has_the_density_that_was_asked_for() {
    let scene = plain(Stage::C).scene();
    let picture = paint(&scene).picture;
    let background = picture.get_pixel(600, 5).0;
    let tissue = picture.get_pixel(600, 890).0;
    let asked = scene.tip.as_ref().unwrap().look.clone();
    for channel in 0..3 {
        let od = -(linear(tissue[channel]) / linear(background[channel])).log10();
        let cuticle = asked.rim.cuticle_od * asked.cuticle_ink[channel];
        let wanted = asked.tissue_ink[channel] + cuticle;
        // one step of eight bits is 0.004 in OD here
        assert!((od - wanted).abs() < 0.006, "{od} {wanted}");
    }
}

/// Depth at which the density reaches half its level, along a column of the picture.
fn edge_row(scene: &Scene, ink: &[f32], column: usize, level: f32) -> f64 {
    let width = scene.view.width as usize;
    let at = |y: usize| ink[(y * width + column) * 3 + 1];
    let middle = scene.view.height as usize / 2;
    let y = (middle + 14..scene.view.height as usize)
        .find(|y| at(*y) >= level)
        .unwrap();
    let (low, high) = (at(y - 1), at(y));
    (y - 1) as f64 + f64::from((level - low) / (high - low))
}

fn half_level(scene: &Scene) -> f32 {
    let look = &scene.tip.as_ref().unwrap().look;
    let band = look.tissue.band * look.pigment_ink[1];
    (look.rim.cuticle_od + f64::midpoint(look.tissue_ink[1], band)) as f32
}

#[test]
fn the_gap_at_half_density_in_line_with_a_seta_is_the_truth() {
    let mut order = plain(Stage::D1);
    order.values.new_seta = 0.0;
    let scene = order.scene();
    let truth = Truth::of(&scene, "");
    let tip = truth.tip.unwrap();
    let [x, y, gap] = tip.setae[tip.setae.len() / 2];
    let found = edge_row(
        &scene,
        &optical_density(&scene),
        x.round() as usize,
        half_level(&scene),
    ) - y;
    assert!((found - gap / truth.umpx).abs() < 0.3, "{found} {gap}");
}

#[test]
fn the_edge_has_one_notch_per_seta() {
    let mut order = plain(Stage::D2);
    order.values.new_seta = 0.0;
    order.spacing = 3.0;
    let scene = order.scene();
    let level = half_level(&scene);
    let ink = optical_density(&scene);
    let rows: Vec<f64> = (0..1200)
        .map(|x| edge_row(&scene, &ink, x, level))
        .collect();
    let scallop = order.values.scallop * order.base_width.get();
    let top = rows.iter().copied().fold(f64::INFINITY, f64::min);
    let middle = top + scallop / 2.0;
    let crossings = rows
        .windows(2)
        .filter(|pair| pair[0] < middle && pair[1] >= middle)
        .count();
    let seen = Truth::of(&scene, "").tip.unwrap().setae.len();
    assert!(
        crossings.abs_diff(seen) <= 1,
        "{crossings} notches, {seen} setae"
    );
    let deepest = rows.iter().copied().fold(0.0, f64::max);
    assert!((deepest - top - scallop).abs() < 0.5, "{}", deepest - top);
}

#[test]
fn a_seta_is_as_wide_at_its_foot_as_the_truth_says() {
    let mut order = plain(Stage::D2);
    order.spacing = 4.0;
    order.scale = MicrometresPerPixel::new(0.25).unwrap();
    let mut scene = order.scene();
    scene.tip.as_mut().unwrap().look.foot.bar_od = 0.0;
    let ink = optical_density(&scene);
    let pixel = scene.view.pixel(Point::new(0.0, -1.5));
    let row = pixel.y.round() as usize * 1200;
    let background = ink[(row + 470) * 3];
    let dark: Vec<usize> = (480..720)
        .filter(|x| ink[(row + x) * 3] > background + 0.12)
        .collect();
    let width = (dark[dark.len() - 1] - dark[0]) as f64 * 0.25;
    // tapering by 0.7 over 18 widths takes 0.06 µm off at 1.5 µm above the foot
    assert!((width - 16.0).abs() < 0.5, "{width}");
}

#[test]
fn turning_mirroring_and_moving_change_positions_and_nothing_else() {
    let order = plain(Stage::D0);
    let before = Truth::of(&order.scene(), "").tip.unwrap();
    let scene = order.scene().turned(0.4).mirrored().moved(3.25, -7.5);
    let after = Truth::of(&scene, "").tip.unwrap();
    assert_eq!(before.gap_um, after.gap_um);
    assert_eq!(before.seta_width_um, after.seta_width_um);
    let straight = order.scene();
    let here = scene.view.pixel(Point::new(0.0, 0.0));
    let there = straight.view.pixel(Point::new(0.0, 0.0));
    assert!(here.distance(Point::new(there.x + 3.25, there.y - 7.5)) < 1e-6);
}

#[test]
fn brightness_scales_linear_light() {
    let scene = plain(Stage::C).scene();
    let full = linear(paint(&scene).picture.get_pixel(600, 5).0[1]);
    let half = linear(paint(&scene.brightened(0.5)).picture.get_pixel(600, 5).0[1]);
    assert!((half / full - 0.5).abs() < 0.01, "{half} {full}");
}

/// Shot noise: the variance of a count is its mean, so sd / mean = 1 / sqrt(electrons).
#[test]
fn noise_is_as_strong_as_the_electrons_say() {
    let mut scene = plain(Stage::C).scene().noisy(1000.0, 9);
    scene.camera.exposure = 0.5;
    let picture = paint(&scene).picture;
    let values: Vec<f64> = (0..1000)
        .map(|x| linear(picture.get_pixel(100 + x, 3).0[0]))
        .collect();
    let mean = values.iter().sum::<f64>() / 1000.0;
    let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 999.0).sqrt();
    let expected = (500.0_f64 + 16.0).sqrt() / 1000.0;
    assert!((sd / expected - 1.0).abs() < 0.12, "{sd} {expected}");
}

#[test]
fn every_base_of_the_truth_lies_in_view_and_on_the_margin() {
    for (i, condition) in Condition::ALL.into_iter().enumerate() {
        for stage in Stage::PROPOSED {
            let scene = draw_scene(stage, condition, i as u64);
            let truth = Truth::of(&scene, "");
            let tip = truth.tip.unwrap();
            assert!(
                tip.setae.len() >= 4,
                "{condition} {stage}: {}",
                tip.setae.len()
            );
            for [x, y, gap] in tip.setae {
                let inside = x >= 0.0 && y >= 0.0;
                assert!(inside && x < f64::from(truth.width) && y < f64::from(truth.height));
                assert!(gap >= 0.0);
                let world = scene.view.world(Point::new(x, y));
                let (_, t) = scene.tip.as_ref().unwrap().margin.locate(world);
                assert!(t.abs() < 0.03 * truth.umpx.max(1.0), "{condition} {t}");
            }
        }
    }
}

#[test]
fn labels_follow_the_rule_and_clear_tips_lie_inside_their_borders() {
    for seed in 0..40 {
        for stage in Stage::PROPOSED {
            let scene = draw_scene(stage, Condition::Any, seed);
            let values = scene.tip.unwrap().values;
            assert_eq!(values.stage(), stage);
            let Label::Stage {
                ambiguous,
                out_of_step,
                ..
            } = scene.label
            else {
                panic!("a stage was asked for");
            };
            assert_eq!(values.holds(stage, 0.15), !ambiguous, "{seed} {stage}");
            assert!(ambiguous || !out_of_step);
        }
    }
    let between = draw_between(Stage::C, Condition::Standard, 1);
    assert_eq!(Truth::of(&between, "").stage, "C/D0");
}

#[test]
fn a_truth_comes_back_from_its_line_and_a_negative_has_no_tip() {
    let truth = Truth::of(&draw_scene(Stage::D3, Condition::Any, 3), "tip.jpg");
    let line = serde_json::to_string(&truth).unwrap();
    assert_eq!(serde_json::from_str::<Truth>(&line).unwrap(), truth);
    for kind in Negative::ALL {
        let none = Truth::of(&draw_negative(kind, Condition::Standard, 4), "x.jpg");
        assert_eq!(none.stage, "none");
        assert_eq!(none.kind.as_deref(), Some(kind.name()));
        let back: Truth = serde_json::from_str(&serde_json::to_string(&none).unwrap()).unwrap();
        assert_eq!(back, none);
    }
}

#[test]
fn a_form_of_no_curvature_is_straight() {
    let form = MarginForm {
        bend: 0.0,
        tip: 0.0,
        tip_reach: 1.0,
        wave: 0.0,
        wave_length: 1.0,
        most_turn: 1.0,
    };
    let margin = blade::Margin::new(&form, 500.0, 2.0);
    assert_eq!(margin.locate(Point::new(123.0, -4.5)), (123.0, -4.5));
}
