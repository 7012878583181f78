//! Pictures to files.

use crate::micrograph::Micrograph;
use crate::micrograph::Picture;
use crate::micrograph::Samples;
use image::ExtendedColorType;
use image::ImageBuffer;
use image::ImageEncoder as _;
use image::Rgb;
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::codecs::tiff::TiffEncoder;
use std::io::Cursor;
use thiserror::Error;

/// Why a picture could not be encoded.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum EncodeError {
    /// The encoder gave up.
    #[error("the picture cannot be encoded")]
    Image(#[from] image::ImageError),
}

/// The micrograph as it looks on a screen: eight bits per channel, as the camera coded them.
pub fn displayed(micrograph: &Micrograph) -> Picture {
    match micrograph.samples() {
        Samples::Eight(picture) => picture.clone(),
        Samples::Sixteen(picture) => Picture::from_fn(picture.width(), picture.height(), |x, y| {
            Rgb(picture
                .get_pixel(x, y)
                .0
                .map(|code| ((u32::from(code) + 128) / 257) as u8))
        }),
    }
}

/// The same picture with at most so many pixels across; a narrower one stays as it is. Each new
/// pixel is the mean of those that it covers.
pub fn narrowed(picture: &Picture, width: u32) -> Picture {
    if picture.width() <= width || width == 0 {
        return picture.clone();
    }
    let height = f64::from(picture.height()) * f64::from(width) / f64::from(picture.width());
    image::imageops::thumbnail(picture, width, (height.round() as u32).max(1))
}

/// The part of a picture `width` by `height` pixels large around its middle, or less where it is
/// smaller.
pub fn middle(picture: &Picture, width: u32, height: u32) -> Picture {
    let (wide, high) = (width.min(picture.width()), height.min(picture.height()));
    let left = (picture.width() - wide) / 2;
    let top = (picture.height() - high) / 2;
    image::imageops::crop_imm(picture, left, top, wide, high).to_image()
}

/// The bytes of a JPEG file of `quality` 1 to 100.
///
/// # Errors
/// [`EncodeError`] when the picture has no pixels or is too large for the format.
pub fn encode_jpeg(picture: &Picture, quality: u8) -> Result<Vec<u8>, EncodeError> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, quality).encode_image(picture)?;
    Ok(bytes)
}

/// The bytes of a PNG file.
///
/// # Errors
/// [`EncodeError`] when the picture has no pixels or is too large for the format.
pub fn encode_png(picture: &Picture) -> Result<Vec<u8>, EncodeError> {
    let mut bytes = Vec::new();
    PngEncoder::new(&mut bytes).write_image(
        picture.as_raw(),
        picture.width(),
        picture.height(),
        ExtendedColorType::Rgb8,
    )?;
    Ok(bytes)
}

/// The bytes of a TIFF file with 16 bits per channel; 255 becomes 65535.
///
/// # Errors
/// [`EncodeError`] when the picture has no pixels or is too large for the format.
pub fn encode_tiff16(picture: &Picture) -> Result<Vec<u8>, EncodeError> {
    let samples: Vec<u16> = picture
        .as_raw()
        .iter()
        .map(|s| u16::from(*s) * 257)
        .collect();
    let wide: Option<ImageBuffer<Rgb<u16>, Vec<u16>>> =
        ImageBuffer::from_raw(picture.width(), picture.height(), samples);
    let mut bytes = Cursor::new(Vec::new());
    if let Some(wide) = wide {
        let coded: Vec<u8> = wide.as_raw().iter().flat_map(|s| s.to_ne_bytes()).collect();
        TiffEncoder::new(&mut bytes).write_image(
            &coded,
            wide.width(),
            wide.height(),
            ExtendedColorType::Rgb16,
        )?;
    }
    Ok(bytes.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture() -> Picture {
        Picture::from_fn(32, 16, |x, y| Rgb([x as u8 * 8, y as u8 * 16, 128]))
    }

    #[test]
    fn lossless_files_give_the_same_samples_back() {
        let png = image::load_from_memory(&encode_png(&picture()).unwrap()).unwrap();
        assert_eq!(png.to_rgb8(), picture());
        let tiff = image::load_from_memory(&encode_tiff16(&picture()).unwrap()).unwrap();
        assert_eq!(
            tiff.to_rgb16().get_pixel(3, 2).0,
            [24 * 257, 32 * 257, 128 * 257]
        );
    }

    #[test]
    fn a_jpeg_of_high_quality_stays_close() {
        let flat = Picture::from_pixel(64, 64, Rgb([200, 180, 90]));
        let back = image::load_from_memory(&encode_jpeg(&flat, 95).unwrap()).unwrap();
        for (a, b) in back.to_rgb8().as_raw().iter().zip(flat.as_raw()) {
            assert!(a.abs_diff(*b) <= 2);
        }
    }
}
