//! The filters that the reader takes from imageproc, against scikit-image and scipy.
//!
//! Values: scikit-image 0.26.0 `threshold_otsu` and scipy 1.17.1 `gaussian_filter` (mode nearest, truncate 4)
//! on crops of pictures that scikit-image ships; `tests/data/a06_filters.json`.

use crate::tolerance::BLURRED_CODES;
use image::ImageBuffer;
use image::Luma;
use imageproc::contrast::otsu_level;
use imageproc::filter::gaussian_blur_f32;
use serde_json::Value;
use std::fs;
use std::path::PathBuf;

fn data(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name)
}

#[test]
fn otsu_and_gaussian_agree_with_the_libraries() {
    let all: Value = serde_json::from_slice(&fs::read(data("a06_filters.json")).unwrap()).unwrap();
    for name in [
        "camera_crop_128",
        "coins_crop_160",
        "cell_crop_160",
        "microaneurysms_102",
    ] {
        let picture = image::open(data(&format!("negatives/{name}.png")))
            .unwrap()
            .to_luma8();
        let wanted = all[name]["otsu"].as_f64().unwrap();
        assert_eq!(f64::from(otsu_level(&picture)), wanted, "otsu of {name}");
        let plane: ImageBuffer<Luma<f32>, Vec<f32>> =
            ImageBuffer::from_fn(picture.width(), picture.height(), |x, y| {
                Luma([f32::from(picture.get_pixel(x, y)[0])])
            });
        for set in all[name]["gaussian"].as_array().unwrap() {
            let sigma = set["sigma"].as_f64().unwrap();
            let blurred = gaussian_blur_f32(&plane, sigma as f32);
            let points = all[name]["points"].as_array().unwrap();
            for (point, value) in points.iter().zip(set["values"].as_array().unwrap()) {
                let (row, column) = (point[0].as_u64().unwrap(), point[1].as_u64().unwrap());
                let ours = f64::from(blurred.get_pixel(column as u32, row as u32)[0]);
                let theirs = value.as_f64().unwrap();
                assert!(
                    (ours - theirs).abs() < BLURRED_CODES,
                    "gaussian {sigma} of {name} at {row}, {column}: {ours} and {theirs}"
                );
            }
        }
    }
}
