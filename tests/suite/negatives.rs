//! Photos of other things are refused, also at the size and with the repetition of a micrograph.
//!
//! The limits of `measure::quality` were chosen with these pictures in sight.
//!
//! Source of the pictures: scikit-image 0.26.0, see `tests/data/negatives/README.md`.

use image::RgbImage;
use image::imageops::FilterType;
use std::fs;
use std::path::Path;
use tailfan::measure::Refusal;
use tailfan::measure::measure;
use tailfan::micrograph::Micrograph;
use tailfan::micrograph::Samples;
use tailfan::painter::condition::Condition;
use tailfan::painter::negatives::Negative;
use tailfan::painter::negatives::draw_negative;
use tailfan::painter::paint;

const WIDTH: u32 = 1600;
const HEIGHT: u32 = 1200;

/// The picture repeated as in facing mirrors, so that no seam shows.
fn mirror_tiled(picture: &RgbImage) -> RgbImage {
    let fold = |at: u32, size: u32| {
        let within = at % (2 * size);
        within.min(2 * size - 1 - within)
    };
    RgbImage::from_fn(WIDTH, HEIGHT, |x, y| {
        *picture.get_pixel(fold(x, picture.width()), fold(y, picture.height()))
    })
}

#[test]
fn photos_of_other_things_are_refused_at_full_size() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/negatives");
    let mut seen = 0;
    let mut faults = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "png") {
            continue;
        }
        seen += 1;
        let small = image::open(&path).unwrap().to_rgb8();
        let large = image::imageops::resize(&small, WIDTH, HEIGHT, FilterType::CatmullRom);
        for (how, picture) in [("enlarged", large), ("tiled", mirror_tiled(&small))] {
            let micrograph = Micrograph::new(Samples::Eight(picture), false);
            match measure(&micrograph) {
                Ok(_) => faults.push(format!("{} {how} was read", path.display())),
                Err(Refusal::TooLarge | Refusal::TooSmall | Refusal::CannotDecode) => {
                    faults.push(format!("{} {how} was refused for its size", path.display()));
                }
                Err(_) => {}
            }
        }
    }
    assert_eq!(seen, 15);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Painted pictures of other seeds than those the limits were chosen on. The painter is our own: this
/// watches that no limit gets lost, and is no outside check. Rulings and spines are refused mostly only
/// (`docs/accuracy.md`).
#[test]
fn edges_and_bubbles_without_setae_are_no_tips() {
    let kinds = [Negative::BareEdge, Negative::TornEdge, Negative::Bubbles];
    let mut faults = Vec::new();
    for (kind, seed) in kinds
        .into_iter()
        .flat_map(|kind| (31..35).map(move |seed| (kind, seed)))
    {
        let picture = paint(&draw_negative(kind, Condition::Standard, seed)).picture;
        let read = measure(&Micrograph::new(Samples::Eight(picture), false));
        let refused = read.map(|_| ()).err();
        if !matches!(
            refused,
            Some(Refusal::NotAUropodTip | Refusal::NoMargin | Refusal::TooFewSetae)
        ) {
            faults.push(format!("{} {seed}: {refused:?}", kind.name()));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
