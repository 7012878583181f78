//! The scale of a microscope, from a photo of a stage-micrometer ruling.

use crate::micrograph::decode;
use crate::micrograph::decode::DecodeError;
use crate::micrograph::decode::Limits;
use crate::micrograph::ruling;
use crate::micrograph::ruling::NoRuling;
use crate::micrograph::ruling::Ruling;
use crate::micrograph::ruling::RulingScale;
use crate::micrograph::scale::PLAUSIBLE_UM_PER_PX;
use crate::units::Micrometres;
use crate::units::UnitError;
use std::path::Path;
use thiserror::Error;

/// A ruling with the scale it gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibration {
    /// The marks as found.
    pub ruling: Ruling,
    /// The scale that follows.
    pub scale: RulingScale,
    /// Whether a microscope can have such a scale; if not, the division was probably mistyped.
    pub plausible: bool,
}

/// Why a ruling could not be measured.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CalibrationError {
    /// The photo could not be decoded.
    #[error(transparent)]
    Decode(#[from] DecodeError),
    /// The division is no length.
    #[error(transparent)]
    Division(#[from] UnitError),
}

/// Measures the ruling in the photo at `path`, whose divisions are `division` long; the inner
/// result says why the photo shows no ruling.
///
/// # Errors
/// [`CalibrationError`] when the photo cannot be decoded or the division is no length.
pub fn calibrate(
    path: &Path,
    division: Micrometres,
) -> Result<Result<Calibration, NoRuling>, CalibrationError> {
    let photo = decode::decode_file(path, &Limits::default())?;
    let ruling = match ruling::measure_ruling(&photo.micrograph) {
        Ok(ruling) => ruling,
        Err(reason) => return Ok(Err(reason)),
    };
    let scale = ruling.scale(division)?;
    Ok(Ok(Calibration {
        ruling,
        scale,
        plausible: PLAUSIBLE_UM_PER_PX.contains(&scale.value.get()),
    }))
}
