//! One photo, from the file to the reading.

use crate::measure::Refusal;
use crate::micrograph::decode;
use crate::micrograph::decode::DecodeError;
use crate::micrograph::decode::Limits;
use crate::micrograph::scale::ScaleSource;
use crate::micrograph::scale::ScaleWarning;
use crate::records::Reading;
use crate::records::SpokenRefusal;
use crate::texts;
use crate::units::MicrometresPerPixel;
use std::path::Path;
use std::time::Instant;

/// How photos are to be read.
#[derive(Debug, Clone, Default)]
pub struct ReadOptions {
    /// The scale, where the person at the bench gives one; else that of the metadata.
    pub scale: Option<MicrometresPerPixel>,
    /// Whether to say how long each reading took.
    pub timing: bool,
}

/// What reading one photo gave.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoReading {
    /// The reading, which may be a refusal.
    pub reading: Reading,
    /// What was wrong with the scale that the metadata state.
    pub scale_warnings: Vec<ScaleWarning>,
}

/// Reads the photo at `path`, which the user gave as `given`.
pub fn read_photo(path: &Path, given: &str, options: &ReadOptions) -> PhotoReading {
    let begun = Instant::now();
    let mut read = match decode::decode_file(path, &Limits::default()) {
        Ok(photo) => {
            let refusal = SpokenRefusal {
                reason: Refusal::NoMargin,
                say: texts::refusals::say(Refusal::NoMargin),
            };
            let mut reading = Reading::refused(given.to_owned(), vec![refusal]);
            if let Some(scale) = options.scale {
                reading.um_per_px = Some(scale.get());
                reading.scale_source = ScaleSource::Operator;
            } else if let Some(scale) = photo.scale {
                reading.um_per_px = Some(scale.value.get());
                reading.scale_source = scale.source;
            }
            PhotoReading {
                reading,
                scale_warnings: photo.warnings,
            }
        }
        Err(error) => PhotoReading {
            reading: Reading::refused(given.to_owned(), vec![refusal(&error)]),
            scale_warnings: Vec::new(),
        },
    };
    if options.timing {
        read.reading.elapsed_ms = Some(begun.elapsed().as_secs_f64() * 1e3);
    }
    read
}

/// The refusal of a photo that could not be decoded.
pub fn refusal(error: &DecodeError) -> SpokenRefusal {
    let reason = match error {
        DecodeError::FileTooLarge { .. }
        | DecodeError::TooManyPixels { .. }
        | DecodeError::TooMuchMemory { .. } => Refusal::TooLarge,
        DecodeError::TooSmall { .. } => Refusal::TooSmall,
        _ => Refusal::CannotDecode,
    };
    SpokenRefusal {
        reason,
        say: texts::photos::say(error),
    }
}
