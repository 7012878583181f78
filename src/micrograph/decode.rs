//! Photo files to micrographs, under limits on size and memory.

use crate::micrograph::Micrograph;
use crate::micrograph::Samples;
use std::path::Path;
use thiserror::Error;

/// Why a photo could not be decoded.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DecodeError {
    /// The decoder gave up.
    #[error("the file cannot be decoded")]
    Image(#[from] image::ImageError),
}

/// Decodes the photo at `path`, upright.
///
/// # Errors
/// [`DecodeError`] when the file cannot be read as a photo.
pub fn decode_file(path: &Path) -> Result<Micrograph, DecodeError> {
    let picture = image::open(path)?;
    Ok(Micrograph::new(Samples::Eight(picture.to_rgb8()), false))
}
