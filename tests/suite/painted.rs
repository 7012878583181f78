//! Painted tips of known measures are read back, whatever the microscope did to them.
//!
//! The truth is the painter's own, which shares no code with the reader.

use crate::tolerance::GAP_PIXELS;
use crate::tolerance::GAP_SHARE;
use crate::tolerance::SAME_GAP_BASE_WIDTHS;
use crate::tolerance::WIDTH_SHARE;
use tailfan::geometry::Point;
use tailfan::measure::Measurements;
use tailfan::measure::measure;
use tailfan::micrograph::Micrograph;
use tailfan::micrograph::Samples;
use tailfan::moult::Stage;
use tailfan::painter::condition::Condition;
use tailfan::painter::paint;
use tailfan::painter::plain::Plain;
use tailfan::painter::population::draw_scene;
use tailfan::painter::scene::Scene;
use tailfan::painter::truth::Truth;
use tailfan::units::MicrometresPerPixel;

fn read(scene: &Scene) -> Measurements {
    let picture = paint(scene).picture;
    let micrograph = Micrograph::new(Samples::Eight(picture), false);
    measure(&micrograph).unwrap().1
}

fn gap(measurements: &Measurements) -> f64 {
    measurements.measure("gap_base_widths").unwrap().value
}

#[track_caller]
fn check(name: &str, plain: &Plain, scene: &Scene, scale: f64) {
    let found = read(scene);
    let width_um = found.base_width.get() * scale;
    let true_width = plain.base_width.get();
    assert!(
        (width_um / true_width - 1.0).abs() < WIDTH_SHARE,
        "{name}: base width {width_um:.2} µm where {true_width} was painted"
    );
    let gap_um = gap(&found) * width_um;
    let true_gap = plain.values.gap * true_width;
    let allowed = GAP_SHARE * true_gap + GAP_PIXELS * scale;
    assert!(
        (gap_um - true_gap).abs() < allowed,
        "{name}: gap {gap_um:.1} µm where {true_gap:.1} was painted, {allowed:.1} allowed"
    );
}

fn scale(value: f64) -> MicrometresPerPixel {
    MicrometresPerPixel::new(value).unwrap()
}

#[test]
fn gaps_come_back_at_every_scale() {
    for stage in [Stage::C, Stage::D0, Stage::D1, Stage::D2] {
        for value in [0.5, 1.0, 2.0] {
            let mut plain = Plain::new(stage).unwrap();
            plain.scale = scale(value);
            check(
                &format!("{stage} at {value} µm/px"),
                &plain,
                &plain.scene(),
                value,
            );
        }
    }
}

#[test]
fn gaps_come_back_through_blur_and_noise() {
    for stage in [Stage::D0, Stage::D2] {
        let plain = Plain::new(stage).unwrap();
        for sigma in [0.5, 1.0, 2.0] {
            let scene = plain.scene().blurred(sigma);
            check(&format!("{stage} blurred by {sigma}"), &plain, &scene, 1.0);
        }
        for electrons in [20_000.0, 5_000.0] {
            let scene = plain.scene().noisy(electrons, 3);
            check(
                &format!("{stage} with {electrons} electrons"),
                &plain,
                &scene,
                1.0,
            );
        }
    }
}

#[test]
fn turning_mirroring_and_light_leave_the_gap_in_base_widths() {
    for stage in [Stage::D0, Stage::D1] {
        let plain = Plain::new(stage).unwrap();
        let as_it_is = gap(&read(&plain.scene()));
        for (name, scene) in [
            (
                "turned by a quarter",
                plain.scene().turned(std::f64::consts::FRAC_PI_2),
            ),
            ("turned by 0.4", plain.scene().turned(0.4)),
            ("mirrored", plain.scene().mirrored()),
            ("brighter", plain.scene().brightened(1.15)),
            ("darker", plain.scene().brightened(0.6)),
            ("rescaled", plain.scene().rescaled(scale(0.7))),
        ] {
            let changed = gap(&read(&scene));
            assert!(
                (changed - as_it_is).abs() < SAME_GAP_BASE_WIDTHS,
                "{stage} {name}: gap {changed:.3} base widths, {as_it_is:.3} before"
            );
        }
    }
}

#[test]
fn pigment_and_base_line_order_the_stages_after_the_moult() {
    let value = |stage: Stage, name: &str| {
        let found = read(&Plain::new(stage).unwrap().scene());
        found.measure(name).unwrap().value
    };
    for measure in ["base_fill", "lumen_fill"] {
        let (a, b, c) = (
            value(Stage::A, measure),
            value(Stage::B, measure),
            value(Stage::C, measure),
        );
        assert!(a > b && b > c, "{measure}: A {a:.2}, B {b:.2}, C {c:.2}");
    }
    let (a, c) = (value(Stage::A, "base_line"), value(Stage::C, "base_line"));
    assert!(c > a, "base line: C {c:.2}, A {a:.2}");
}

#[test]
fn nothing_is_read_outside_of_an_eyepiece() {
    for stage in [Stage::C, Stage::D1] {
        let plain = Plain::new(stage).unwrap();
        let open = gap(&read(&plain.scene()));
        let mut picture = paint(&plain.scene()).picture;
        let radius = 0.47 * f64::from(picture.height());
        let (x0, y0) = (600.0, 450.0);
        let from_middle = |x: f64, y: f64| f64::hypot(x - x0, y - y0);
        for (x, y, pixel) in picture.enumerate_pixels_mut() {
            if from_middle(f64::from(x), f64::from(y)) > radius {
                pixel.0 = [6; 3];
            }
        }
        let found = measure(&Micrograph::new(Samples::Eight(picture), false))
            .unwrap()
            .1;
        let round = gap(&found);
        assert!(
            (round - open).abs() < SAME_GAP_BASE_WIDTHS,
            "{stage}: gap {round:.3} base widths through an eyepiece, {open:.3} without"
        );
        for seta in &found.setae {
            assert!(from_middle(seta.base.x, seta.base.y) < radius, "{stage}");
        }
    }
}

#[test]
fn bases_are_found_to_the_border_of_the_photo() {
    let mut plain = Plain::new(Stage::D0).unwrap();
    for (curvature, moved) in [(0.0, 0.0), (1.0 / 900.0, 0.0), (1.0 / 900.0, 12.0)] {
        plain.curvature = curvature;
        let scene = plain.scene().moved(moved, 0.0);
        let truth = Truth::of(&scene, "plain").tip.unwrap();
        let found = read(&scene);
        let half = found.base_width.get() / 2.0;
        for [x, y, _] in &truth.setae {
            // what is cut through by the border may be missed
            let border = x.min(1199.0 - x).min(*y);
            let near = |base: &Point| f64::hypot(base.x - x, base.y - y) < half;
            assert!(
                border < half || found.setae.iter().any(|seta| near(&seta.base)),
                "no base near ({x:.0}, {y:.0}), {border:.0} px from the border"
            );
        }
    }
}

#[test]
fn dense_setae_that_cross_do_not_lead_the_row_astray() {
    // a row followed along the outline of tissue and setae together finds less of these bases
    for (stage, seed) in [(Stage::A, 8_796_093_023_481), (Stage::B, 8_796_093_023_487)] {
        let scene = draw_scene(stage, Condition::Spacing15, seed);
        let truth = Truth::of(&scene, "dense").tip.unwrap();
        let found = read(&scene);
        let half = found.base_width.get() / 2.0;
        let near = |[x, y, _]: &&[f64; 3]| {
            let off = |base: &Point| f64::hypot(base.x - x, base.y - y);
            found.setae.iter().any(|seta| off(&seta.base) < half)
        };
        let share = truth.setae.iter().filter(near).count() as f64 / truth.setae.len() as f64;
        assert!(share > 0.6, "{stage}: {share:.2} of the bases");
    }
}

#[test]
fn few_pixels_across_a_seta_are_enough() {
    for stage in [Stage::C, Stage::D0, Stage::D1] {
        let mut plain = Plain::new(stage).unwrap();
        plain.scale = scale(2.6);
        plain.size = (600, 450);
        check(
            &format!("{stage} in 600 x 450"),
            &plain,
            &plain.scene(),
            2.6,
        );
    }
}
