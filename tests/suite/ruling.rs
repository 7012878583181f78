//! Rulings with a known period, and pictures that are none.
//!
//! The two files under `tests/data/ruling` come from outside (see the README beside them); other
//! rulings are drawn here, by area, so that their marks lie where they should to a thousandth.

use image::ImageBuffer;
use image::Rgb;
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use std::path::Path;
use tailfan::micrograph::Micrograph;
use tailfan::micrograph::Samples;
use tailfan::micrograph::decode::Limits;
use tailfan::micrograph::decode::decode_file;
use tailfan::micrograph::ruling::NoRuling;
use tailfan::micrograph::ruling::Ruling;
use tailfan::micrograph::ruling::measure_ruling;
use tailfan::units::Micrometres;

fn read(path: &Path) -> Micrograph {
    decode_file(path, &Limits::default()).unwrap().micrograph
}

fn fixture(name: &str) -> Micrograph {
    read(
        &Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/data/ruling")
            .join(name),
    )
}

/// A ruling to draw.
#[derive(Clone, Copy)]
struct Drawn {
    width: u32,
    height: u32,
    period: f64,
    degrees: f64,
    /// Standard deviation of the blur, in pixels.
    blur: f64,
    /// Half range of even noise, in grey values.
    noise: f64,
    /// Light at the corners as a share of the middle.
    corner: f64,
    /// Only the lit circle of an eyepiece is in view.
    round: bool,
    /// Bright marks on dark.
    inverted: bool,
}

const PLAIN: Drawn = Drawn {
    width: 800,
    height: 600,
    period: 20.0,
    degrees: 0.0,
    blur: 1.0,
    noise: 6.0,
    corner: 1.0,
    round: false,
    inverted: false,
};

/// Marks every period, a quarter of it wide; short except every fifth; in the middle of the photo.
fn draw(ruling: Drawn) -> Micrograph {
    let Drawn {
        width,
        height,
        period,
        ..
    } = ruling;
    let mut random = ChaCha8Rng::seed_from_u64(3);
    let (sin, cos) = ruling.degrees.to_radians().sin_cos();
    let (mx, my) = (f64::from(width) / 2.0, f64::from(height) / 2.0);
    let short = 0.25 * f64::from(width.min(height));
    let half = (0.125 * period).min(4.0);
    let picture = ImageBuffer::from_fn(width, height, |x, y| {
        let (x, y) = (f64::from(x) - mx, f64::from(y) - my);
        let (u, v) = (x * cos + y * sin, y * cos - x * sin);
        let number = ((u - 0.37 * period) / period).round();
        let long = number.rem_euclid(5.0) == 0.0;
        let off = u - 0.37 * period - number * period;
        let edge = |e: f64| 1.0 / (1.0 + (-1.702 * e / ruling.blur.max(0.3)).exp());
        let along = if long { 1.4 * short } else { short };
        let inside = v < short && v > -along;
        let mark = if inside {
            edge(off + half) - edge(off - half)
        } else {
            0.0
        };
        let far = x.hypot(y) / mx.hypot(my);
        let mut grey = (210.0 - 160.0 * mark) * (1.0 - (1.0 - ruling.corner) * far * far);
        if ruling.round && x.hypot(y) > 0.48 * f64::from(height) {
            grey = 4.0;
        }
        if ruling.inverted {
            grey = 255.0 - grey;
        }
        grey += ruling.noise * (random.random::<f64>() * 2.0 - 1.0);
        Rgb([grey.round().clamp(0.0, 255.0) as u8; 3])
    });
    Micrograph::new(Samples::Eight(picture), false)
}

#[track_caller]
fn check(micrograph: &Micrograph, period: f64, degrees: f64, within: f64) -> Ruling {
    let found = measure_ruling(micrograph).unwrap();
    let off = found.period.get() - period;
    assert!(off.abs() < within * period, "{found:?} is not {period}");
    // The stated error is believable: the truth lies within a few of it.
    assert!(
        off.abs() < 5.0 * found.period_error.get() + 1e-4 * period,
        "{found:?}"
    );
    assert!((found.angle_degrees - degrees).abs() < 0.3, "{found:?}");
    found
}

/// True periods 23.7 and 18 px; a Fourier transform finds 23.6997 in the first.
#[test]
fn rulings_drawn_elsewhere_have_their_period() {
    let straight = check(&fixture("ruling_period23p7_512x96.png"), 23.7, 0.0, 3e-4);
    let scale = straight.scale(Micrometres::new(10.0)).unwrap();
    assert!((scale.value.get() - 0.421_940_93).abs() < 2e-4);
    check(&fixture("ruling_period18_rot7deg_256.png"), 18.0, 7.0, 1e-3);
}

#[test]
fn periods_from_six_to_three_hundred_pixels_at_any_angle() {
    for (i, period) in [6.0, 7.3, 12.41, 31.7, 88.8].into_iter().enumerate() {
        for degrees in [0.0, 31.0, 45.0, 88.0] {
            let ruling = Drawn {
                period,
                degrees: degrees + 0.1 * i as f64,
                blur: if period < 10.0 { 0.8 } else { 1.5 },
                ..PLAIN
            };
            check(&draw(ruling), period, ruling.degrees, 1e-3);
        }
    }
    let wide = Drawn {
        width: 2400,
        height: 900,
        period: 300.0,
        degrees: 12.0,
        ..PLAIN
    };
    check(&draw(wide), 300.0, 12.0, 1e-3);
}

#[test]
fn noise_blur_falloff_round_fields_and_bright_marks_do_no_harm() {
    for ruling in [
        Drawn {
            noise: 60.0,
            ..PLAIN
        },
        Drawn {
            blur: 4.0,
            period: 24.0,
            ..PLAIN
        },
        Drawn {
            corner: 0.35,
            degrees: 20.0,
            ..PLAIN
        },
        Drawn {
            round: true,
            degrees: -15.0,
            ..PLAIN
        },
        Drawn {
            inverted: true,
            degrees: 50.0,
            ..PLAIN
        },
        Drawn {
            round: true,
            corner: 0.6,
            noise: 30.0,
            period: 33.0,
            ..PLAIN
        },
    ] {
        check(&draw(ruling), ruling.period, ruling.degrees, 2e-3);
    }
}

/// Lines as wide as the space between them, and lines that the focus has nearly washed out.
#[test]
fn gratings_and_washed_out_marks_are_measured() {
    for ruling in [
        Drawn {
            blur: 3.6,
            period: 12.0,
            noise: 4.0,
            ..PLAIN
        },
        Drawn {
            blur: 8.0,
            period: 40.0,
            degrees: 33.0,
            ..PLAIN
        },
    ] {
        check(&draw(ruling), ruling.period, ruling.degrees, 2e-3);
    }
    for (period, degrees) in [(9.0, 0.0), (20.0, 17.0), (61.3, -40.0)] {
        let (sin, cos) = f64::to_radians(degrees).sin_cos();
        let grating = ImageBuffer::from_fn(900, 700, |x, y| {
            let u = f64::from(x) * cos + f64::from(y) * sin;
            let wave = (u / period * std::f64::consts::TAU).cos();
            Rgb([(128.0 + 90.0 * (4.0 * wave).tanh()).round() as u8; 3])
        });
        let grating = Micrograph::new(Samples::Eight(grating), false);
        check(&grating, period, degrees, 1e-3);
    }
}

/// Turning, mirroring, darkening and the depth of the file change nothing but the angle.
#[test]
fn a_ruling_turned_mirrored_or_darkened_keeps_its_period() {
    let drawn = draw(Drawn {
        period: 23.3,
        degrees: 11.0,
        ..PLAIN
    });
    let Samples::Eight(picture) = drawn.samples() else {
        panic!("eight bits were drawn");
    };
    let dark = ImageBuffer::from_fn(800, 600, |x, y| {
        picture.get_pixel(x, y).0.map(|v| v / 3).into()
    });
    let deep = ImageBuffer::from_fn(800, 600, |x, y| {
        Rgb(picture.get_pixel(x, y).0.map(|v| u16::from(v) * 257))
    });
    for (samples, degrees) in [
        (Samples::Eight(image::imageops::rotate90(picture)), -79.0),
        (
            Samples::Eight(image::imageops::flip_horizontal(picture)),
            -11.0,
        ),
        (Samples::Eight(dark), 11.0),
        (Samples::Sixteen(deep), 11.0),
    ] {
        check(&Micrograph::new(samples, true), 23.3, degrees, 3e-4);
    }
}

#[test]
fn twelve_megapixels_are_measured_as_well() {
    let ruling = Drawn {
        width: 4000,
        height: 3000,
        period: 47.3,
        degrees: 2.5,
        ..PLAIN
    };
    check(&draw(ruling), 47.3, 2.5, 2e-4);
}

#[test]
fn a_blank_photo_and_too_few_marks_are_refused() {
    let blank = ImageBuffer::from_pixel(400, 300, Rgb([200; 3]));
    let blank = Micrograph::new(Samples::Eight(blank), false);
    assert_eq!(measure_ruling(&blank), Err(NoRuling::Blank));
    let noise = draw(Drawn {
        period: 1e6,
        noise: 20.0,
        ..PLAIN
    });
    assert!(measure_ruling(&noise).is_err());
    let few = draw(Drawn {
        period: 260.0,
        ..PLAIN
    });
    assert!(measure_ruling(&few).is_err());
}

/// The files of this crate that show something else: colour fields, of several kinds.
#[test]
fn coloured_fields_are_no_ruling() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/kinds");
    for name in ["rgb8.png", "grey16.tif", "progressive.jpg"] {
        assert!(measure_ruling(&read(&folder.join(name))).is_err(), "{name}");
    }
}

/// Reads `../shared`, pictures from outside that are not part of the project; passes without them.
#[test]
fn other_pictures_are_no_ruling_and_a_ruling_with_long_marks_is_one() {
    let shared = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared");
    if !shared.is_dir() {
        println!("skipped: no ../shared");
        return;
    }
    let mut taken = Vec::new();
    let mut seen = 0;
    for folder in ["slides/bright", "slides/warm", "checks/fixtures"] {
        for entry in std::fs::read_dir(shared.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            // A few slides are enough here, with all that are no tip.
            let wanted = [
                "tip-0", "mid-", "not-", "neg_", "cell_", "coins_", "camera_", "ihc_",
            ]
            .iter()
            .any(|start| name.starts_with(start));
            let spared = name.starts_with("tip") && !name.contains("0.") && !name.contains("4.");
            if !wanted || spared {
                continue;
            }
            let Ok(photo) = decode_file(&path, &Limits::default()) else {
                continue;
            };
            seen += 1;
            let found = measure_ruling(&photo.micrograph);
            if let Ok(found) = found {
                taken.push((name, found.period.get()));
            }
        }
    }
    assert!(seen > 40);
    // The one picture of a ruling: marks every 20 px, every fifth of them longer.
    let [(name, period)] = &taken[..] else {
        panic!("taken for rulings: {taken:?}");
    };
    assert_eq!(name, "not-004.jpg");
    assert!((period - 20.0).abs() < 0.01, "{period}");
}
