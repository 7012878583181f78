//! The period of a stage-micrometer ruling in a photo, at any angle.
//!
//! In goes a photo of parallel marks at equal distances, out comes their distance in pixels with
//! its uncertainty, or the reason why the photo shows no ruling. Marks may be dark or bright, some
//! may be longer than others, the field may be round and unevenly lit. Numbers beside the marks
//! are not read: the person says what one division is.

mod direction;

mod period;

use crate::micrograph::Micrograph;
use crate::micrograph::Plane;
use crate::micrograph::Samples;
use crate::units::Micrometres;
use crate::units::MicrometresPerPixel;
use crate::units::Pixels;
use crate::units::UnitError;
use image::ImageBuffer;
use image::Luma;
use thiserror::Error;

/// A ruling found in a photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ruling {
    /// Distance from mark to mark, across the marks.
    pub period: Pixels,
    /// Standard error of the period, from how far the marks lie off an even row.
    pub period_error: Pixels,
    /// Direction across the marks in degrees, from right towards down, -90 to 90.
    pub angle_degrees: f64,
    /// How many marks were used.
    pub marks: usize,
}

/// The scale that a ruling gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RulingScale {
    /// Micrometres per pixel.
    pub value: MicrometresPerPixel,
    /// Standard error of it, in micrometres per pixel.
    pub error_um_per_px: f64,
}

impl Ruling {
    /// The scale of the photo, when one division of the ruling is `division` long.
    ///
    /// # Formula
    /// scale = division / period; its relative error is that of the period.
    ///
    /// # Errors
    /// [`UnitError::Scale`] when the division is no length above zero.
    pub fn scale(&self, division: Micrometres) -> Result<RulingScale, UnitError> {
        let value = MicrometresPerPixel::new(division.get() / self.period.get())?;
        Ok(RulingScale {
            value,
            error_um_per_px: value.get() * self.period_error.get() / self.period.get(),
        })
    }
}

/// Why a photo shows no ruling that can be measured.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum NoRuling {
    /// Nothing stands out from the background.
    #[error("nothing stands out from the background")]
    Blank,
    /// Edges run in all directions.
    #[error("the edges run in all directions, those of a ruling in one")]
    NoDirection,
    /// Edges run in one direction, at no equal distances.
    #[error("nothing repeats at equal distances")]
    NoPeriod,
    /// Fewer marks than a distance can be judged by.
    #[error("{found} marks in view are too few: at least {least} are needed")]
    TooFewMarks {
        /// Marks found.
        found: usize,
        /// Marks needed.
        least: usize,
    },
    /// Marks that stand at uneven distances.
    #[error("the marks lie {off_px:.2} px off an even row with a distance of {period_px:.1} px")]
    Uneven {
        /// Root mean square distance from an even row, in pixels.
        off_px: f64,
        /// Distance of the marks, in pixels.
        period_px: f64,
    },
}

/// Measures the ruling in a photo.
///
/// The direction comes from the gradients and is sharpened until the profile across the marks is
/// crispest; their distance comes from the profile's autocorrelation and is refined by a straight
/// line through the centres of all marks (least squares).
///
/// # Errors
/// [`NoRuling`] when the photo shows none.
pub fn measure_ruling(micrograph: &Micrograph) -> Result<Ruling, NoRuling> {
    let light = brightness(micrograph);
    let lit = direction::Lit::of(&light);
    let angle = direction::across_the_marks(&light, &lit)?;
    let profile = direction::best_profile(&light, &lit, angle);
    let row = period::even_row(&profile)?;
    let degrees = angle.to_degrees();
    Ok(Ruling {
        period: Pixels::new(row.period),
        period_error: Pixels::new(row.error),
        angle_degrees: (degrees + 90.0).rem_euclid(180.0) - 90.0,
        marks: row.marks,
    })
}

/// Mean of the three channels as coded, 0 to 255.
fn brightness(micrograph: &Micrograph) -> Plane {
    let (width, height) = (micrograph.width(), micrograph.height());
    let values: Vec<f32> = match micrograph.samples() {
        Samples::Eight(picture) => picture
            .pixels()
            .map(|p| p.0.iter().map(|v| f32::from(*v)).sum::<f32>() / 3.0)
            .collect(),
        Samples::Sixteen(picture) => picture
            .pixels()
            .map(|p| p.0.iter().map(|v| f32::from(*v)).sum::<f32>() / (3.0 * 257.0))
            .collect(),
    };
    ImageBuffer::from_raw(width, height, values)
        .unwrap_or_else(|| ImageBuffer::from_pixel(width, height, Luma([0.0])))
}
