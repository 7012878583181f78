//! One photo, from the file to the reading.

use crate::measure::Measurements;
use crate::measure::Refusal;
use crate::measure::measure;
use crate::micrograph::decode;
use crate::micrograph::decode::DecodeError;
use crate::micrograph::decode::Limits;
use crate::micrograph::scale::ScaleSource;
use crate::micrograph::scale::ScaleWarning;
use crate::records::Reading;
use crate::records::SetaReading;
use crate::records::SpokenRefusal;
use crate::texts;
use crate::units::MicrometresPerPixel;
use crate::units::Pixels;
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
            let scale = match options.scale {
                Some(value) => Some((value, ScaleSource::Operator)),
                None => photo.scale.map(|scale| (scale.value, scale.source)),
            };
            let mut reading = match measure(&photo.micrograph) {
                Ok((_, found)) => measured(given, &found, scale.map(|(value, _)| value)),
                Err(reason) => {
                    let say = texts::refusals::say(reason);
                    Reading::refused(given.to_owned(), vec![SpokenRefusal { reason, say }])
                }
            };
            if let Some((value, source)) = scale {
                reading.um_per_px = Some(value.get());
                reading.scale_source = source;
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

/// What was measured, as a reading without a proposal.
fn measured(given: &str, found: &Measurements, scale: Option<MicrometresPerPixel>) -> Reading {
    let um = |px: Pixels| scale.map(|scale| (px * scale).get());
    let value = |name: &str| found.measure(name).map(|measured| measured.value);
    let gap = value("gap_base_widths").map(|gap| Pixels::new(gap * found.base_width.get()));
    let setae = found.setae.iter().map(|seta| SetaReading {
        x: seta.base.x,
        y: seta.base.y,
        edge_x: seta.edge.map(|edge| edge.x),
        edge_y: seta.edge.map(|edge| edge.y),
        gap_px: seta.gap.map(Pixels::get),
        gap_um: seta.gap.and_then(um),
        stage: None,
    });
    Reading {
        usable: true,
        setae: setae.collect(),
        base_width_px: Some(found.base_width.get()),
        spacing_px: Some(found.spacing.get()),
        gap_px: gap.map(Pixels::get),
        gap_um: gap.and_then(um),
        gap_base_widths: value("gap_base_widths"),
        gap_spread_base_widths: found.measure("gap_base_widths").map(|m| m.spread),
        base_pigment_od: value("base_pigment_od"),
        lumen_pigment_od: value("lumen_pigment_od"),
        base_pigment: value("base_pigment"),
        lumen_pigment: value("lumen_pigment"),
        base_line: value("base_line"),
        scallop_base_widths: value("scallop_base_widths"),
        new_setae: value("new_setae"),
        ..Reading::refused(given.to_owned(), Vec::new())
    }
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
