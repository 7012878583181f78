//! Pictures made smaller, for the screen only: nothing is ever measured on them.

use crate::micrograph::Picture;
use image::imageops;

/// The picture with its longer side at most `longest` pixels, each pixel the mean of those that it
/// stands for; a smaller picture is copied.
pub fn shrunk(picture: &Picture, longest: u32) -> Picture {
    let (width, height) = picture.dimensions();
    let long = width.max(height);
    if long <= longest {
        return picture.clone();
    }
    let part = |side: u32| (u64::from(side) * u64::from(longest) / u64::from(long)).max(1) as u32;
    imageops::thumbnail(picture, part(width), part(height))
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    #[test]
    fn the_longer_side_is_met_and_the_mean_kept() {
        let stripes =
            Picture::from_fn(
                400,
                200,
                |x, _| Rgb([if x % 2 == 0 { 100 } else { 200 }; 3]),
            );
        let small = shrunk(&stripes, 100);
        assert_eq!(small.dimensions(), (100, 50));
        assert!(
            small
                .pixels()
                .all(|p| p.0.iter().all(|c| c.abs_diff(150) <= 1))
        );
        assert_eq!(shrunk(&stripes, 400), stripes);
    }
}
