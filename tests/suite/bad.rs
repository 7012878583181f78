//! Broken files, found by folder: each gives its error, none a panic or a large allocation; and
//! small changes to sound files never panic either.

use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::path::Path;
use std::path::PathBuf;
use tailfan::micrograph::decode::DecodeError;
use tailfan::micrograph::decode::Limits;
use tailfan::micrograph::decode::decode_bytes;
use tailfan::micrograph::decode::decode_file;

/// Name of the error of each file, `read` where the file is to be read all the same.
const EXPECTED: &[(&str, &str)] = &[
    ("animated.gif", "unsupported format"),
    ("claims-30000x30000.bmp", "too many pixels"),
    ("claims-30000x30000.jpg", "too many pixels"),
    ("claims-30000x30000.png", "too many pixels"),
    ("claims-9000x9000.tif", "damaged"),
    ("damaged.png", "damaged"),
    ("empty.jpg", "empty"),
    ("float.tif", "unsupported kind"),
    ("one-pixel.png", "too small"),
    ("palette.tif", "unsupported kind"),
    ("phone.heic", "unsupported format"),
    ("png-named.jpg", "read"),
    ("random.jpg", "damaged"),
    ("random.png", "not a picture"),
    ("truncated-progressive.jpg", "truncated"),
    ("truncated.bmp", "truncated"),
    ("truncated.jpg", "truncated"),
    ("truncated.png", "truncated"),
    ("truncated.tif", "truncated"),
    ("truncated.webp", "truncated"),
    ("words.jpg", "not a picture"),
];

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join(name)
}

fn name(error: &DecodeError) -> &'static str {
    match error {
        DecodeError::Empty => "empty",
        DecodeError::NotAPicture => "not a picture",
        DecodeError::Truncated(_) => "truncated",
        DecodeError::Damaged { .. } => "damaged",
        DecodeError::UnsupportedFormat(_) => "unsupported format",
        DecodeError::UnsupportedKind { .. } => "unsupported kind",
        DecodeError::FileTooLarge { .. } => "file too large",
        DecodeError::TooManyPixels { .. } => "too many pixels",
        DecodeError::TooMuchMemory { .. } => "too much memory",
        DecodeError::TooSmall { .. } => "too small",
        DecodeError::DecoderFault(_) => "decoder fault",
        _ => "another",
    }
}

#[test]
fn each_broken_file_gives_its_error() {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(folder("bad")).unwrap() {
        let path = entry.unwrap().path();
        let file = path.file_name().unwrap().to_string_lossy().into_owned();
        if file == "README.md" {
            continue;
        }
        let outcome = match decode_file(&path, &Limits::default()) {
            Ok(_) => "read",
            Err(error) => {
                let text = error.to_string();
                assert!(!text.ends_with('.'), "{file}: {text}");
                name(&error)
            }
        };
        found.insert(file, outcome);
    }
    let expected: BTreeMap<String, &str> = EXPECTED
        .iter()
        .map(|(file, outcome)| ((*file).to_owned(), *outcome))
        .collect();
    assert_eq!(found, expected);
}

#[test]
fn a_missing_file_is_an_error_of_the_system() {
    let missing = decode_file(&folder("bad/no-such-file.jpg"), &Limits::default());
    assert!(matches!(missing, Err(DecodeError::Io(_))));
}

/// Bytes changed, cut out and doubled by a seed, on small sound files of every format.
#[test]
fn twenty_thousand_mutations_of_each_format_never_panic() {
    let limits = Limits {
        shortest_side: 1,
        pixels: 1_000_000,
        memory_bytes: 16_000_000,
        ..Limits::default()
    };
    for files in [
        &[
            "data/scale/exif_fp_inch.jpg",
            "data/kinds/grey8.jpg",
            "data/kinds/progressive.jpg",
        ][..],
        &[
            "data/scale/png_phys_2000000.png",
            "data/kinds/palette.png",
            "data/upright/orientation-6.png",
        ],
        &[
            "data/scale/ome_um.ome.tif",
            "data/scale/tiff_imagej_um.tif",
            "data/kinds/rgb8-deflate.tif",
        ],
        &[
            "data/kinds/rgb8.webp",
            "data/kinds/lossy.webp",
            "data/kinds/animated.webp",
        ],
        &["data/kinds/rgb8.bmp"],
    ] {
        let sound: Vec<Vec<u8>> = files
            .iter()
            .map(|file| std::fs::read(folder(file)).unwrap())
            .collect();
        let mut random = ChaCha8Rng::seed_from_u64(7);
        for round in 0..20_000 {
            let mut bytes = sound[round % sound.len()].clone();
            for _ in 0..random.random_range(1..6) {
                mutate(&mut bytes, &mut random);
            }
            let outcome = decode_bytes(&bytes, &limits);
            assert!(
                !matches!(outcome, Err(DecodeError::DecoderFault(_))),
                "{files:?}, round {round}: {outcome:?}"
            );
        }
    }
}

fn mutate(bytes: &mut Vec<u8>, random: &mut ChaCha8Rng) {
    if bytes.len() < 8 {
        return;
    }
    let at = random.random_range(0..bytes.len());
    match random.random_range(0..10) {
        0 => bytes.truncate(at.max(8)),
        1 => {
            let length = random.random_range(1..=(bytes.len() - at).min(16));
            bytes.drain(at..at + length);
        }
        2 => {
            let length = random.random_range(1..=(bytes.len() - at).min(16));
            let copy = bytes[at..at + length].to_vec();
            bytes.splice(at..at, copy);
        }
        3 => bytes[at] = 0xff,
        4 => bytes[at] = 0,
        _ => bytes[at] ^= 1 << random.random_range(0..8),
    }
}
