//! The scale of a photo by its metadata, taken only where they can mean a microscope's pixel.
//!
//! Asked in this order: OME-XML, the unit of an ImageJ description, TIFF resolution tags, the pHYs
//! chunk of a PNG, EXIF resolution tags. The first that states a scale wins; a lower one that
//! differs is reported. Print and screen settings such as 72 or 300 dots per inch are no scale,
//! and the sensor resolution of EXIF is none without the magnification in front of the sensor.

use crate::micrograph::metadata::Metadata;
use crate::micrograph::metadata::Resolution;
use crate::micrograph::ome::StatedLength;
use crate::units::Micrometres;
use crate::units::MicrometresPerPixel;
use serde::Deserialize;
use serde::Serialize;
use std::ops::RangeInclusive;

/// Where the scale of a photo came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ScaleSource {
    /// PhysicalSizeX of an OME-XML description.
    Ome,
    /// Resolution tags of a TIFF.
    Tiff,
    /// The unit in the description of an ImageJ TIFF.
    Imagej,
    /// The pHYs chunk of a PNG.
    Png,
    /// EXIF.
    Exif,
    /// A microscope profile of the logbook.
    Profile,
    /// Given by the person at the bench.
    Operator,
    /// No scale known: lengths stay in pixels and base widths.
    None,
}

/// A scale with where it came from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhotoScale {
    /// Micrometres of the animal per pixel.
    pub value: MicrometresPerPixel,
    /// Where it came from.
    pub source: ScaleSource,
}

/// Something about a stated scale that a person should know.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum ScaleWarning {
    /// A print or screen setting: not used.
    PrintSetting {
        /// Who states it.
        source: ScaleSource,
        /// Dots per inch.
        dots_per_inch: f64,
    },
    /// No microscope has such a pixel: not used.
    Implausible {
        /// Who states it.
        source: ScaleSource,
        /// The scale as stated.
        um_per_px: f64,
    },
    /// Pixels that are not square: not used, since lengths would depend on their direction.
    NotSquare {
        /// Who states it.
        source: ScaleSource,
        /// Micrometres per pixel along a row.
        x_um_per_px: f64,
        /// Micrometres per pixel along a column.
        y_um_per_px: f64,
    },
    /// A unit that is no length, or an unknown one: not used.
    NoLength {
        /// Who states it.
        source: ScaleSource,
        /// The unit as written.
        unit: String,
    },
    /// Two metadata disagree; the first in order was taken.
    Conflict {
        /// Who was believed.
        taken: ScaleSource,
        /// Who differs.
        other: ScaleSource,
        /// What the other states, in micrometres per pixel.
        other_um_per_px: f64,
    },
    /// The photo has another size than at exposure, so scale and sensor pitch no longer hold.
    Resized {
        /// Width at exposure, in pixels.
        exposed_width: u32,
        /// Width now, in pixels.
        width: u32,
    },
    /// A resolution unit outside baseline TIFF 6.0 (4 = millimetre, 5 = micrometre): used.
    UnusualUnit {
        /// The code of the unit.
        unit: u32,
    },
}

/// All that metadata say about the scale.
#[derive(Debug, Clone, PartialEq, Default)]
pub(in crate::micrograph) struct Found {
    /// The scale, where one is stated that can be a microscope's.
    pub(in crate::micrograph) scale: Option<PhotoScale>,
    /// Distance of two pixels on the sensor.
    pub(in crate::micrograph) sensor_pitch: Option<Micrometres>,
    /// What was wrong.
    pub(in crate::micrograph) warnings: Vec<ScaleWarning>,
}

/// Scales that a photo through a microscope can have, in micrometres per pixel.
///
/// # Source
/// Our choice. Finer than 0.02 lies a tenth below what light resolves (about 0.2 µm); coarser than
/// 50 a setal base of 12 to 40 µm is smaller than one pixel.
pub const PLAUSIBLE_UM_PER_PX: RangeInclusive<f64> = 0.02..=50.0;

/// How far the two sides of a square pixel may differ, as a share of the larger.
///
/// # Source
/// Our choice: below the error of a calibration by hand.
const SQUARE_WITHIN: f64 = 0.01;

/// Settings of screens, printers and scanners, in dots per inch: never a microscope's pixel.
///
/// # Source
/// Our list of the settings that programs write when nobody told them a scale.
const PRINT_SETTINGS: &[f64] = &[
    72.0, 75.0, 90.0, 96.0, 100.0, 120.0, 144.0, 150.0, 160.0, 180.0, 192.0, 200.0, 220.0, 240.0,
    250.0, 254.0, 266.0, 288.0, 300.0, 320.0, 350.0, 360.0, 400.0, 480.0, 500.0, 600.0, 720.0,
    800.0, 1000.0, 1200.0, 1440.0, 2400.0, 3200.0, 4800.0, 9600.0,
];

/// Micrometres in an inch; 1 in = 25.4 mm by definition.
const UM_PER_INCH: f64 = 25_400.0;

/// Units of length as OME-XML and ImageJ write them, in micrometres.
///
/// # Source
/// The `UnitsLength` names of the OME schema; the inch is 25.4 mm by definition.
const UNITS_UM: &[(&str, f64)] = &[
    ("µm", 1.0),
    ("μm", 1.0),
    ("um", 1.0),
    ("micron", 1.0),
    ("microns", 1.0),
    ("micrometer", 1.0),
    ("micrometre", 1.0),
    ("\\u00B5m", 1.0),
    ("\\u00b5m", 1.0),
    ("nm", 1e-3),
    ("nanometer", 1e-3),
    ("pm", 1e-6),
    ("Å", 1e-4),
    ("mm", 1e3),
    ("cm", 1e4),
    ("dm", 1e5),
    ("m", 1e6),
    ("thou", 25.4),
    ("in", UM_PER_INCH),
    ("inch", UM_PER_INCH),
    ("ft", 304_800.0),
];

/// A scale as stated, not yet judged: micrometres per pixel along a row and along a column.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stated {
    source: ScaleSource,
    x: f64,
    y: f64,
}

/// Finds the scale of a photo whose stored picture is `width` x `height` pixels.
pub(in crate::micrograph) fn from_metadata(metadata: &Metadata, width: u32, height: u32) -> Found {
    let mut found = Found::default();
    let resized = metadata.exposed.filter(|&(exposed_width, exposed_height)| {
        (exposed_width, exposed_height) != (width, height)
            && (exposed_height, exposed_width) != (width, height)
    });
    let stated = [
        from_ome(metadata, &mut found.warnings),
        from_imagej(metadata, &mut found.warnings),
        from_tags(metadata.tiff, ScaleSource::Tiff, &mut found.warnings),
        metadata.png.map(|(x, y)| Stated {
            source: ScaleSource::Png,
            x: 1e6 / f64::from(x),
            y: 1e6 / f64::from(y),
        }),
        // A picture that was resized no longer has the pixels that its camera described.
        from_tags(
            metadata.exif.filter(|_| resized.is_none()),
            ScaleSource::Exif,
            &mut found.warnings,
        ),
    ];
    // Zero and division by zero state nothing.
    let states = |stated: &Stated| {
        [stated.x, stated.y]
            .iter()
            .all(|v| v.is_normal() && *v > 0.0)
    };
    for stated in stated.into_iter().flatten().filter(states) {
        match found.scale {
            None => found.scale = judged(stated, &mut found.warnings),
            Some(taken) => {
                if (stated.x - taken.value.get()).abs() > SQUARE_WITHIN * taken.value.get()
                    && stated.source != ScaleSource::Exif
                {
                    found.warnings.push(ScaleWarning::Conflict {
                        taken: taken.source,
                        other: stated.source,
                        other_um_per_px: stated.x,
                    });
                }
            }
        }
    }
    found.sensor_pitch = metadata.focal_plane.and_then(sensor_pitch);
    if let Some((exposed_width, _)) = resized {
        found.warnings.push(ScaleWarning::Resized {
            exposed_width,
            width,
        });
    }
    found
}

/// Takes a stated scale if it can be a microscope's.
fn judged(stated: Stated, warnings: &mut Vec<ScaleWarning>) -> Option<PhotoScale> {
    let Stated { source, x, y } = stated;
    let dots_per_inch = UM_PER_INCH / x;
    let printed = matches!(
        source,
        ScaleSource::Tiff | ScaleSource::Png | ScaleSource::Exif
    ) && PRINT_SETTINGS
        .iter()
        // The pHYs chunk counts whole pixels per metre: 72 dpi becomes 72.009.
        .any(|setting| (setting - dots_per_inch).abs() < 0.03);
    if printed {
        // Every phone writes one into EXIF; only where a scale could stand is it worth a word.
        if source != ScaleSource::Exif {
            warnings.push(ScaleWarning::PrintSetting {
                source,
                dots_per_inch: dots_per_inch.round(),
            });
        }
        return None;
    }
    let Some(value) = MicrometresPerPixel::new(x)
        .ok()
        .filter(|value| PLAUSIBLE_UM_PER_PX.contains(&value.get()))
    else {
        if source != ScaleSource::Exif {
            warnings.push(ScaleWarning::Implausible {
                source,
                um_per_px: x,
            });
        }
        return None;
    };
    if (x - y).abs() > SQUARE_WITHIN * x.max(y) {
        warnings.push(ScaleWarning::NotSquare {
            source,
            x_um_per_px: x,
            y_um_per_px: y,
        });
        return None;
    }
    Some(PhotoScale { value, source })
}

fn from_ome(metadata: &Metadata, warnings: &mut Vec<ScaleWarning>) -> Option<Stated> {
    let pixels = metadata.ome.as_ref()?;
    let x = in_micrometres(pixels.x.as_ref()?, warnings)?;
    let y = match &pixels.y {
        Some(length) => in_micrometres(length, warnings)?,
        None => x,
    };
    Some(Stated {
        source: ScaleSource::Ome,
        x,
        y,
    })
}

fn in_micrometres(length: &StatedLength, warnings: &mut Vec<ScaleWarning>) -> Option<f64> {
    let factor = unit_um(&length.unit);
    if factor.is_none() {
        let unknown = ScaleWarning::NoLength {
            source: ScaleSource::Ome,
            unit: length.unit.clone(),
        };
        if !warnings.contains(&unknown) {
            warnings.push(unknown);
        }
    }
    factor.map(|factor| length.value * factor)
}

fn unit_um(unit: &str) -> Option<f64> {
    UNITS_UM
        .iter()
        .find(|(name, _)| *name == unit)
        .map(|(_, factor)| *factor)
}

/// ImageJ keeps the pixels per unit in the resolution tags and the unit in the description.
fn from_imagej(metadata: &Metadata, warnings: &mut Vec<ScaleWarning>) -> Option<Stated> {
    let unit = metadata.imagej_unit.as_ref()?;
    let resolution = metadata.tiff?;
    let x = resolution.x?;
    let Some(factor) = unit_um(unit) else {
        warnings.push(ScaleWarning::NoLength {
            source: ScaleSource::Imagej,
            unit: unit.clone(),
        });
        return None;
    };
    Some(Stated {
        source: ScaleSource::Imagej,
        x: factor / x,
        y: factor / resolution.y.unwrap_or(x),
    })
}

/// # Source
/// TIFF 6.0: ResolutionUnit 1 none, 2 inch (also when absent), 3 centimetre.
fn from_tags(
    resolution: Option<Resolution>,
    source: ScaleSource,
    warnings: &mut Vec<ScaleWarning>,
) -> Option<Stated> {
    let resolution = resolution?;
    let x = resolution.x?;
    let unit = resolution.unit.unwrap_or(2);
    let factor = tag_unit_um(unit)?;
    if unit > 3 {
        warnings.push(ScaleWarning::UnusualUnit { unit });
    }
    Some(Stated {
        source,
        x: factor / x,
        y: factor / resolution.y.unwrap_or(x),
    })
}

fn tag_unit_um(unit: u32) -> Option<f64> {
    match unit {
        2 => Some(UM_PER_INCH),
        3 => Some(1e4),
        4 => Some(1e3),
        5 => Some(1.0),
        _ => None,
    }
}

/// # Source
/// EXIF 2.3: FocalPlaneResolutionUnit as the TIFF units, inch when absent (from memory).
fn sensor_pitch(resolution: Resolution) -> Option<Micrometres> {
    let pitch = tag_unit_um(resolution.unit.unwrap_or(2))? / resolution.x?;
    (pitch.is_finite() && pitch > 0.0).then(|| Micrometres::new(pitch))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn resolution(x: f64, unit: u32) -> Resolution {
        Resolution {
            x: Some(x),
            y: Some(x),
            unit: Some(unit),
        }
    }

    #[test]
    fn exif_resolution_counts_unless_printed_or_resized() {
        let mut metadata = Metadata {
            exif: Some(resolution(25_400.0, 2)),
            exposed: Some((3000, 4000)),
            ..Metadata::default()
        };
        // A camera held upright stores its picture lying.
        let found = from_metadata(&metadata, 4000, 3000);
        let scale = found.scale.unwrap();
        assert_eq!((scale.source, scale.value.get()), (ScaleSource::Exif, 1.0));
        let smaller = from_metadata(&metadata, 2000, 1500);
        assert_eq!(smaller.scale, None);
        assert!(matches!(
            smaller.warnings[..],
            [ScaleWarning::Resized { .. }]
        ));
        metadata.exif = Some(resolution(300.0, 2));
        assert_eq!(from_metadata(&metadata, 4000, 3000), Found::default());
    }

    #[test]
    fn zero_and_nonsense_state_nothing() {
        for x in [0.0, f64::INFINITY, f64::NAN, -3.0] {
            let metadata = Metadata {
                tiff: Some(resolution(x, 3)),
                png: Some((0, 0)),
                focal_plane: Some(resolution(x, 3)),
                ..Metadata::default()
            };
            assert_eq!(from_metadata(&metadata, 100, 100), Found::default(), "{x}");
        }
    }

    #[test]
    fn print_settings_are_no_scale_even_where_they_are_fine_enough() {
        // 1200 dots per inch are 21 µm each: a scanner, no microscope.
        let metadata = Metadata {
            tiff: Some(resolution(1200.0, 2)),
            ..Metadata::default()
        };
        let found = from_metadata(&metadata, 100, 100);
        assert_eq!(found.scale, None);
        assert!(matches!(
            found.warnings[..],
            [ScaleWarning::PrintSetting { .. }]
        ));
    }
}
