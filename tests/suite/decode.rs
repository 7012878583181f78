//! Every format, depth and orientation gives the same picture: four fields of one colour each.
//!
//! The files under `tests/data/upright` and `tests/data/kinds` were written with Pillow 13 (see the
//! README beside them), which also turned those with an EXIF orientation.

use std::path::Path;
use std::path::PathBuf;
use tailfan::micrograph::Micrograph;
use tailfan::micrograph::Samples;
use tailfan::micrograph::decode::DecodeError;
use tailfan::micrograph::decode::Limits;
use tailfan::micrograph::decode::decode_bytes;
use tailfan::micrograph::decode::decode_file;

/// Colours of the fields: upper left, upper right, lower left, lower right.
const FIELDS: [[u8; 3]; 4] = [[200, 40, 40], [40, 200, 40], [40, 40, 200], [220, 220, 60]];

/// The same in grey, by ITU-R BT.601 as Pillow rounds it.
const GREYS: [u8; 4] = [88, 134, 58, 202];

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name)
}

/// The middle of each field in eight bits, however deep the file is.
fn fields(micrograph: &Micrograph) -> [[u8; 3]; 4] {
    assert_eq!((micrograph.width(), micrograph.height()), (96, 72));
    [(24, 18), (72, 18), (24, 54), (72, 54)].map(|(x, y)| match micrograph.samples() {
        Samples::Eight(picture) => picture.get_pixel(x, y).0,
        Samples::Sixteen(picture) => picture.get_pixel(x, y).0.map(|v| (v / 257) as u8),
    })
}

#[track_caller]
fn check(name: &str, expected: [[u8; 3]; 4], within: u8) -> Micrograph {
    let photo = decode_file(&data(name), &Limits::default()).unwrap();
    for (found, wanted) in fields(&photo.micrograph).iter().zip(expected) {
        for (f, w) in found.iter().zip(wanted) {
            assert!(
                f.abs_diff(w) <= within,
                "{name}: {found:?} is not {wanted:?}"
            );
        }
    }
    photo.micrograph
}

#[test]
fn all_eight_orientations_are_put_upright() {
    for orientation in 1..=8 {
        // JPEG at quality 90 moved no sample of these fields by more than 3 in Pillow.
        check(&format!("upright/orientation-{orientation}.jpg"), FIELDS, 4);
    }
    for extension in ["png", "webp", "tif"] {
        check(&format!("upright/orientation-6.{extension}"), FIELDS, 0);
    }
}

#[test]
fn every_kind_of_colour_file_gives_the_same_picture() {
    for name in [
        "rgb8.png",
        "palette.png",
        "rgb8.bmp",
        "rgb8.webp",
        "rgb8-deflate.tif",
        "pages.tif",
        "rgb16.tif",
        "animated.webp",
        "animated.png",
    ] {
        assert!(
            !check(&format!("kinds/{name}"), FIELDS, 0).monochrome(),
            "{name}"
        );
    }
    // Lossy codings, and inks converted to light without a profile.
    for name in ["progressive.jpg", "lossy.webp", "cmyk.jpg"] {
        check(&format!("kinds/{name}"), FIELDS, 6);
    }
}

#[test]
fn grey_files_are_monochrome_at_their_depth() {
    let expected = GREYS.map(|grey| [grey; 3]);
    for (name, deep) in [
        ("grey8.png", false),
        ("grey8.tif", false),
        ("grey16.png", true),
        ("grey16.tif", true),
    ] {
        let micrograph = check(&format!("kinds/{name}"), expected, 0);
        assert!(micrograph.monochrome(), "{name}");
        assert_eq!(matches!(micrograph.samples(), Samples::Sixteen(_)), deep);
    }
    assert!(check("kinds/grey8.jpg", expected, 3).monochrome());
}

/// A camera of 12 bits fills a sixteenth of the range of a 16-bit file; its OME-XML says so.
#[test]
fn twelve_bits_in_sixteen_are_spread_over_the_range() {
    let expected = GREYS.map(|grey| [grey; 3]);
    check("kinds/grey12-in-16.ome.tif", expected, 1);
}

#[test]
fn what_is_transparent_lies_over_white() {
    let photo = decode_file(&data("kinds/alpha.png"), &Limits::default()).unwrap();
    let Samples::Eight(picture) = photo.micrograph.samples() else {
        panic!("eight bits went in");
    };
    assert_eq!(picture.get_pixel(24, 18).0, [255; 3]);
    // Alpha 128 of 255 over white: 40 -> 147.08, 200 -> 227.4.
    assert_eq!(picture.get_pixel(50, 18).0, [147, 227, 147]);
    assert_eq!(picture.get_pixel(72, 18).0, FIELDS[1]);
}

#[test]
fn limits_are_judged_by_the_header_and_name_their_numbers() {
    let bytes = std::fs::read(data("kinds/rgb8.png")).unwrap();
    let few = Limits {
        pixels: 96 * 72 - 1,
        ..Limits::default()
    };
    assert!(matches!(
        decode_bytes(&bytes, &few),
        Err(DecodeError::TooManyPixels {
            width: 96,
            height: 72,
            limit: 6911
        })
    ));
    let small = Limits {
        memory_bytes: 96 * 72 * 3 - 1,
        ..Limits::default()
    };
    assert!(matches!(
        decode_bytes(&bytes, &small),
        Err(DecodeError::TooMuchMemory { bytes: 20_736, .. })
    ));
    let short = Limits {
        file_bytes: 100,
        ..Limits::default()
    };
    assert!(matches!(
        decode_file(&data("kinds/rgb8.png"), &short),
        Err(DecodeError::FileTooLarge { limit: 100, .. })
    ));
}
