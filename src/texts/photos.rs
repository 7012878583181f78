//! Why a photo file could not be decoded, and what to do about it.

use crate::micrograph::decode::DecodeError;
use std::io::ErrorKind;

/// What the person can do about a file that could not be decoded.
pub fn remedy(error: &DecodeError) -> &'static str {
    match error {
        DecodeError::Io(source) if source.kind() == ErrorKind::PermissionDenied => {
            "ask whoever owns the file for the right to read it"
        }
        DecodeError::Io(source) if source.kind() == ErrorKind::NotFound => {
            "check the name; it may have been moved or deleted"
        }
        DecodeError::Io(_) => "check the disk or the memory card and try again",
        DecodeError::Empty | DecodeError::Truncated(_) => {
            "copy it from the camera again; the copy may not have finished"
        }
        DecodeError::NotAPicture => "choose a photo: JPEG, PNG, TIFF, BMP or WebP",
        DecodeError::UnsupportedFormat(_) => {
            "save it as JPEG, PNG or TIFF; a phone can be set to take JPEG"
        }
        DecodeError::UnsupportedKind { .. } => "save it as plain colour or grey, 8 or 16 bit",
        DecodeError::FileTooLarge { .. }
        | DecodeError::TooManyPixels { .. }
        | DecodeError::TooMuchMemory { .. } => "crop it to the tip, or save it at a smaller size",
        DecodeError::TooSmall { .. } => "use the photo as the camera wrote it, not a thumbnail",
        _ => "copy it from the camera again, or take the photo again",
    }
}

/// The error with its remedy, as one sentence.
pub fn say(error: &DecodeError) -> String {
    format!("{error}: {}", remedy(error))
}
