//! The size of a photo by its header, without decoding it.

use image::ImageDecoder as _;
use image::ImageReader;
use image::metadata::Orientation;
use std::io::Cursor;
use std::panic::AssertUnwindSafe;
use std::panic::catch_unwind;

/// Width and height in pixels as displayed, after the orientation tag; absent where the header
/// does not tell.
pub fn size_as_displayed(bytes: &[u8]) -> Option<(u32, u32)> {
    // A decoder that panics on a broken header must not take the other photos with it.
    catch_unwind(AssertUnwindSafe(|| upright(bytes))).ok()?
}

fn upright(bytes: &[u8]) -> Option<(u32, u32)> {
    let reader = ImageReader::new(Cursor::new(bytes));
    let mut decoder = reader.with_guessed_format().ok()?.into_decoder().ok()?;
    let (width, height) = decoder.dimensions();
    let turned = matches!(
        decoder.orientation().ok()?,
        Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH
    );
    Some(if turned {
        (height, width)
    } else {
        (width, height)
    })
}
