//! What a photo file says about itself beside its pixels, as it stands there, unjudged.

use crate::micrograph::ome;
use crate::micrograph::ome::OmePixels;
use exif::In;
use std::io::Cursor;
use tiff::decoder::Decoder;
use tiff::decoder::ifd::Value;
use tiff::tags::Tag;

/// Longest description that is read, in bytes; OME-XML of large stacks runs to megabytes.
const LONGEST_DESCRIPTION: u64 = 4_000_000;

/// Two numbers of pixels per unit with the unit's code.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(in crate::micrograph) struct Resolution {
    /// Pixels per unit along a row.
    pub(in crate::micrograph) x: Option<f64>,
    /// Pixels per unit along a column.
    pub(in crate::micrograph) y: Option<f64>,
    /// 1 none, 2 inch, 3 centimetre, and outside the baseline 4 millimetre, 5 micrometre.
    pub(in crate::micrograph) unit: Option<u32>,
}

/// The metadata that bear on orientation, depth and scale.
#[derive(Debug, Clone, PartialEq, Default)]
pub(in crate::micrograph) struct Metadata {
    /// Orientation by EXIF's and TIFF's numbers, 1 to 8.
    pub(in crate::micrograph) orientation: Option<u8>,
    /// Sizes of an OME-XML description.
    pub(in crate::micrograph) ome: Option<OmePixels>,
    /// The unit that an ImageJ description names.
    pub(in crate::micrograph) imagej_unit: Option<String>,
    /// Resolution tags of a TIFF.
    pub(in crate::micrograph) tiff: Option<Resolution>,
    /// Pixels per metre of a PNG, along a row and along a column.
    pub(in crate::micrograph) png: Option<(u32, u32)>,
    /// Resolution tags of EXIF.
    pub(in crate::micrograph) exif: Option<Resolution>,
    /// Resolution of the camera's sensor, by EXIF.
    pub(in crate::micrograph) focal_plane: Option<Resolution>,
    /// Width and height at the time of exposure, by EXIF.
    pub(in crate::micrograph) exposed: Option<(u32, u32)>,
}

impl Metadata {
    /// Reads the EXIF block of a JPEG, PNG or WebP file; empty where there is none.
    pub(in crate::micrograph) fn exif(bytes: &[u8]) -> Self {
        let read = exif::Reader::new()
            .continue_on_error(true)
            .read_from_container(&mut Cursor::new(bytes))
            .or_else(|error| error.distill_partial_result(|_| ()));
        let Ok(block) = read else {
            return Self::default();
        };
        let number = |tag| {
            let field = block.get_field(tag, In::PRIMARY)?;
            field.value.get_uint(0)
        };
        let ratio = |tag| {
            let field = block.get_field(tag, In::PRIMARY)?;
            match &field.value {
                exif::Value::Rational(values) => values.first().map(exif::Rational::to_f64),
                _ => None,
            }
        };
        let resolution = |x, y, unit| {
            let x = ratio(x);
            x.is_some().then(|| Resolution {
                x,
                y: ratio(y),
                unit: number(unit),
            })
        };
        Self {
            orientation: number(exif::Tag::Orientation).and_then(|code| code.try_into().ok()),
            exif: resolution(
                exif::Tag::XResolution,
                exif::Tag::YResolution,
                exif::Tag::ResolutionUnit,
            ),
            focal_plane: resolution(
                exif::Tag::FocalPlaneXResolution,
                exif::Tag::FocalPlaneYResolution,
                exif::Tag::FocalPlaneResolutionUnit,
            ),
            exposed: number(exif::Tag::PixelXDimension).zip(number(exif::Tag::PixelYDimension)),
            ..Self::default()
        }
    }

    /// Reads the chunks of a PNG file.
    pub(in crate::micrograph) fn png(bytes: &[u8]) -> Self {
        let mut metadata = Self::exif(bytes);
        let header = png::Decoder::new(Cursor::new(bytes)).read_info();
        metadata.png = header.ok().and_then(|reader| {
            let size = reader.info().pixel_dims?;
            (size.unit == png::Unit::Meter).then_some((size.xppu, size.yppu))
        });
        metadata
    }

    /// Reads the tags of the first page of a TIFF file.
    pub(in crate::micrograph) fn tiff(bytes: &[u8]) -> Self {
        let Ok(mut decoder) = Decoder::new(Cursor::new(bytes)) else {
            return Self::default();
        };
        let description = description(&mut decoder);
        let mut number = |tag| -> Option<u32> { decoder.find_tag_unsigned(tag).ok().flatten() };
        let orientation = number(Tag::Orientation).and_then(|code| code.try_into().ok());
        let unit = number(Tag::ResolutionUnit);
        let mut ratio = |tag| match decoder.find_tag(tag) {
            Ok(Some(Value::Rational(above, below))) => Some(f64::from(above) / f64::from(below)),
            _ => None,
        };
        let x = ratio(Tag::XResolution);
        let y = ratio(Tag::YResolution);
        Self {
            orientation,
            ome: description.as_deref().and_then(ome::pixels),
            imagej_unit: description.as_deref().and_then(imagej_unit),
            tiff: x.is_some().then_some(Resolution { x, y, unit }),
            ..Self::default()
        }
    }

    /// How many bits of sixteen the camera filled, where the file says so.
    pub(in crate::micrograph) fn significant_bits(&self) -> Option<u32> {
        let pixels = self.ome.as_ref()?;
        pixels.significant_bits
    }
}

/// The description of the first page; bytes that are no UTF-8 are taken as Latin-1, since older
/// programs write the micro sign so.
fn description(decoder: &mut Decoder<Cursor<&[u8]>>) -> Option<String> {
    let mut page = decoder.image_ifd();
    let length = page.find_entry(Tag::ImageDescription)?.count();
    if length > LONGEST_DESCRIPTION {
        return None;
    }
    let mut text = vec![0; length as usize];
    page.find_tag_bytes(Tag::ImageDescription, &mut text, 0)
        .ok()??;
    while text.last() == Some(&0) {
        text.pop();
    }
    Some(match String::from_utf8(text) {
        Ok(text) => text,
        Err(other) => other.as_bytes().iter().copied().map(char::from).collect(),
    })
}

/// The value of the `unit=` line of a description written by ImageJ.
fn imagej_unit(description: &str) -> Option<String> {
    if !description.starts_with("ImageJ=") {
        return None;
    }
    description
        .lines()
        .find_map(|line| line.strip_prefix("unit="))
        .map(|unit| unit.trim().to_owned())
}
