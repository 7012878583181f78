//! Scales by metadata. The files under `tests/data/scale` and the values here come from outside:
//! see the README beside them.

use std::path::Path;
use tailfan::micrograph::decode::Limits;
use tailfan::micrograph::decode::Photo;
use tailfan::micrograph::decode::decode_file;
use tailfan::micrograph::scale::ScaleSource;
use tailfan::micrograph::scale::ScaleWarning;

fn photo(name: &str) -> Photo {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/scale")
        .join(name);
    let limits = Limits {
        shortest_side: 1,
        ..Limits::default()
    };
    decode_file(&path, &limits).unwrap_or_else(|error| panic!("{name}: {error}"))
}

#[track_caller]
fn check(name: &str, source: ScaleSource, um_per_px: f64) {
    let scale = photo(name).scale.unwrap();
    assert_eq!(scale.source, source, "{name}");
    let error = (scale.value.get() - um_per_px).abs();
    assert!(
        error < 1e-12 * um_per_px.max(1.0),
        "{name}: {}",
        scale.value.get()
    );
}

#[track_caller]
fn check_none(name: &str) -> Vec<ScaleWarning> {
    let photo = photo(name);
    assert_eq!(photo.scale, None, "{name}");
    photo.warnings
}

#[test]
fn ome_xml_states_the_size_with_its_unit() {
    check("ome_um.ome.tif", ScaleSource::Ome, 0.645);
    check("ome_default_unit.ome.tif", ScaleSource::Ome, 0.5);
    check("ome_nm.ome.tif", ScaleSource::Ome, 0.3225);
    check("ome_mm.ome.tif", ScaleSource::Ome, 1.29);
    check("ome_inch.ome.tif", ScaleSource::Ome, 2.54);
    assert!(matches!(
        check_none("ome_pixel_unit.ome.tif")[..],
        [ScaleWarning::NoLength {
            source: ScaleSource::Ome,
            ..
        }]
    ));
    check_none("ome_absent.ome.tif");
}

#[test]
fn pixels_that_are_not_square_are_no_scale() {
    for (name, x, y) in [
        ("ome_anisotropic.ome.tif", 0.8, 1.2),
        ("tiff_cm_anisotropic.tif", 0.5, 1.0),
        ("png_phys_aniso.png", 0.5, 1.0),
    ] {
        let warnings = check_none(name);
        let [
            ScaleWarning::NotSquare {
                x_um_per_px,
                y_um_per_px,
                ..
            },
        ] = warnings[..]
        else {
            panic!("{name}: {warnings:?}");
        };
        assert_eq!((x_um_per_px, y_um_per_px), (x, y), "{name}");
    }
}

#[test]
fn ome_xml_goes_before_the_tags_and_the_conflict_is_told() {
    let name = "ome_conflicts_with_tiff_tags.ome.tif";
    check(name, ScaleSource::Ome, 0.645);
    let warnings = photo(name).warnings;
    let [
        ScaleWarning::Conflict {
            taken,
            other,
            other_um_per_px,
        },
    ] = warnings[..]
    else {
        panic!("{warnings:?}");
    };
    assert_eq!((taken, other), (ScaleSource::Ome, ScaleSource::Tiff));
    assert!((other_um_per_px - 352.777_777_777_777_77).abs() < 1e-9);
}

#[test]
fn tiff_tags_are_taken_where_they_can_be_a_microscope() {
    check("tiff_inch_25400.tif", ScaleSource::Tiff, 1.0);
    check("tiff_cm_15503_876.tif", ScaleSource::Tiff, 0.644_999_998_71);
    check("tiff_missing_unit.tif", ScaleSource::Tiff, 1.0);
    check("tiff_imagej_um.tif", ScaleSource::Imagej, 0.25);
    check("tiff_unit4_mm_dng.tif", ScaleSource::Tiff, 1.0);
    assert_eq!(
        photo("tiff_unit4_mm_dng.tif").warnings,
        [ScaleWarning::UnusualUnit { unit: 4 }]
    );
    check_none("tiff_none_unit.tif");
    for (name, setting) in [
        ("tiff_inch_72dpi.tif", 72.0),
        ("tiff_inch_300dpi.tif", 300.0),
    ] {
        let warnings = check_none(name);
        let [ScaleWarning::PrintSetting { dots_per_inch, .. }] = warnings[..] else {
            panic!("{name}: {warnings:?}");
        };
        assert_eq!(dots_per_inch, setting);
    }
}

#[test]
fn png_counts_pixels_per_metre() {
    check(
        "png_phys_1550388.png",
        ScaleSource::Png,
        0.644_999_832_300_043_7,
    );
    check("png_phys_2000000.png", ScaleSource::Png, 0.5);
    check_none("png_phys_72dpi.png");
    check_none("png_phys_unit0.png");
    check_none("png_no_phys.png");
}

#[test]
fn the_focal_plane_gives_the_sensor_pitch_and_never_a_scale() {
    for (name, pitch) in [
        ("exif_fp_inch.jpg", 4.884_615_384_615_385),
        ("exif_fp_cm.jpg", 4.0),
        ("exif_fp_no_unit.jpg", 5.0),
        ("exif_fp_unit4_mm.jpg", 4.0),
        ("exif_resized.jpg", 4.0),
    ] {
        check_none(name);
        let found = photo(name).sensor_pitch.unwrap().get();
        assert!((found - pitch).abs() < 1e-9, "{name}: {found}");
    }
    check_none("exif_none.jpg");
    assert_eq!(photo("exif_none.jpg").sensor_pitch, None);
    assert_eq!(
        photo("exif_resized.jpg").warnings,
        [ScaleWarning::Resized {
            exposed_width: 3200,
            width: 32
        }]
    );
}

#[test]
fn every_file_of_the_folder_is_named_here() {
    let here = include_str!("scale.rs");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/scale");
    for entry in std::fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(
            name == "README.md" || here.contains(&name),
            "{name} is not tested"
        );
    }
}
