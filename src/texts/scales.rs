//! Words about scales: where they come from, what was wrong with one, what to do with one.

use crate::micrograph::ruling::NoRuling;
use crate::micrograph::scale::ScaleSource;
use crate::micrograph::scale::ScaleWarning;

/// Where a scale came from.
pub fn source(source: ScaleSource) -> &'static str {
    match source {
        ScaleSource::Ome => "the OME-XML description",
        ScaleSource::Tiff => "the TIFF resolution",
        ScaleSource::Imagej => "the ImageJ description",
        ScaleSource::Png => "the PNG pixel size",
        ScaleSource::Exif => "the EXIF resolution",
        ScaleSource::Profile => "the microscope profile",
        ScaleSource::Operator => "the person at the bench",
        ScaleSource::None => "nowhere",
    }
}

/// What was wrong with a stated scale, and whether it was used.
pub fn warning(warning: &ScaleWarning) -> String {
    match warning {
        ScaleWarning::PrintSetting {
            source: by,
            dots_per_inch,
        } => format!(
            "{} says {dots_per_inch} dots per inch, a print setting: not used",
            source(*by)
        ),
        ScaleWarning::Implausible {
            source: by,
            um_per_px,
        } => format!(
            "{} says {} µm per pixel, which no microscope has: not used",
            source(*by),
            short(*um_per_px)
        ),
        ScaleWarning::NotSquare {
            source: by,
            x_um_per_px,
            y_um_per_px,
        } => format!(
            "{} says {} µm across and {} µm down per pixel: not used, pixels must be square",
            source(*by),
            short(*x_um_per_px),
            short(*y_um_per_px)
        ),
        ScaleWarning::NoLength { source: by, unit } => {
            format!(
                "{} gives the unit \"{unit}\", which is no length: not used",
                source(*by)
            )
        }
        ScaleWarning::Conflict {
            taken,
            other,
            other_um_per_px,
        } => format!(
            "{} was taken for the scale, though {} says {} µm per pixel",
            source(*taken),
            source(*other),
            short(*other_um_per_px)
        ),
        ScaleWarning::Resized {
            exposed_width,
            width,
        } => format!(
            "the photo was {exposed_width} pixels wide when taken and is {width} now: a scale \
             measured at full size does not hold"
        ),
        ScaleWarning::UnusualUnit { unit } => {
            format!("the resolution has the unit {unit}, outside the TIFF baseline: used")
        }
    }
}

/// A scale with about four digits, however large or small.
fn short(um_per_px: f64) -> String {
    if (0.01..1e4).contains(&um_per_px) {
        format!("{um_per_px:.4}")
    } else {
        format!("{um_per_px:.3e}")
    }
}

/// What to do when a photo shows no ruling.
pub fn no_ruling_remedy(reason: &NoRuling) -> &'static str {
    match reason {
        NoRuling::Blank => "focus on the ruling and centre it in the picture",
        NoRuling::NoDirection | NoRuling::NoPeriod => {
            "photograph the stage micrometer alone, so that its marks fill the picture"
        }
        NoRuling::TooFewMarks { .. } => {
            "use finer divisions or a weaker objective, so that more marks are in view"
        }
        _ => "clean the stage micrometer, lay it flat and focus over the whole picture",
    }
}

/// What a measured scale is good for.
pub const AFTER_A_RULING: &str = "It holds for photos with the same objective, camera, adapter and \
picture size; measure again after any change. Uncertainty is that of the marks in this photo: the \
maker's certificate of the ruling and the distortion of the lens come on top.";
