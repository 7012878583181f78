//! Photo files to micrographs, under limits on size and memory.
//!
//! In goes a path or the bytes of a file, out comes a [`Photo`]: the picture upright, its samples
//! as the camera coded them, and the scale its metadata state. Transparent pixels are laid over
//! white, the colour of an empty slide. Colour profiles are not applied: samples count as sRGB.

use crate::micrograph::Micrograph;
use crate::micrograph::Samples;
use crate::micrograph::format;
use crate::micrograph::format::Format;
use crate::micrograph::format::Recognised;
use crate::micrograph::metadata::Metadata;
use crate::micrograph::scale;
use crate::micrograph::scale::PhotoScale;
use crate::micrograph::scale::ScaleWarning;
use crate::units::Micrometres;
use image::DynamicImage;
use image::ImageBuffer;
use image::ImageDecoder;
use image::ImageError;
use image::Rgb;
use image::codecs::bmp::BmpDecoder;
use image::codecs::jpeg::JpegDecoder;
use image::codecs::png::PngDecoder;
use image::codecs::tiff::TiffDecoder;
use image::codecs::webp::WebPDecoder;
use image::metadata::Orientation;
use std::fs::File;
use std::io;
use std::io::Cursor;
use std::io::Read as _;
use std::panic::AssertUnwindSafe;
use std::panic::catch_unwind;
use std::path::Path;
use thiserror::Error;

/// What a photo may cost, checked before anything is allocated for it.
///
/// # Source
/// Our choice: microscope cameras and phones deliver 1 to 50 megapixels today, a stitched scan
/// more than is needed to read one tip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Largest file, in bytes.
    pub file_bytes: u64,
    /// Largest picture, in pixels.
    pub pixels: u64,
    /// Most memory for the decoded samples, in bytes.
    pub memory_bytes: u64,
    /// Shortest side, in pixels.
    pub shortest_side: u32,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            file_bytes: 400_000_000,
            pixels: 100_000_000,
            memory_bytes: 800_000_000,
            shortest_side: 64,
        }
    }
}

/// A decoded photo with what its metadata say of its scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// The picture, upright.
    pub micrograph: Micrograph,
    /// The scale, where the metadata state one that can be a microscope's.
    pub scale: Option<PhotoScale>,
    /// Distance of two pixels on the camera's sensor: no scale by itself.
    pub sensor_pitch: Option<Micrometres>,
    /// What was wrong with stated scales.
    pub warnings: Vec<ScaleWarning>,
}

/// What a decoder had to say about a file.
type Cause = Box<dyn std::error::Error + Send + Sync>;

/// Why a photo could not be decoded, sorted by who can do something about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DecodeError {
    /// The system would not let the file be read: mend the rights or the disk.
    #[error("the file cannot be read: {0}")]
    Io(#[source] io::Error),
    /// A file of no bytes: copy it again.
    #[error("the file is empty")]
    Empty,
    /// Something else than a picture: choose another file.
    #[error("not a picture: the content is of no known picture format")]
    NotAPicture,
    /// The file ends before the picture does: copy it again.
    #[error("the {0} data ends before the picture does")]
    Truncated(Format),
    /// The content breaks the rules of its format: copy it again or take the photo again.
    #[error("the {format} data is damaged")]
    Damaged {
        /// The format told by the first bytes.
        format: Format,
        /// What the decoder met.
        #[source]
        source: Cause,
    },
    /// A picture format that is not decoded: save it as JPEG, PNG or TIFF.
    #[error("{0} files are not read")]
    UnsupportedFormat(&'static str),
    /// A rare kind of a format that is decoded: save it as plain 8 or 16 bit.
    #[error("this kind of {format} is not read")]
    UnsupportedKind {
        /// The format told by the first bytes.
        format: Format,
        /// What the decoder lacks.
        #[source]
        source: Cause,
    },
    /// More bytes than the limit.
    #[error("the file has {bytes} bytes, more than the limit of {limit}")]
    FileTooLarge {
        /// Size of the file.
        bytes: u64,
        /// The limit.
        limit: u64,
    },
    /// More pixels than the limit.
    #[error("{width} x {height} pixels are more than the limit of {limit}")]
    TooManyPixels {
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
        /// The limit on their product.
        limit: u64,
    },
    /// Samples that need more memory than the limit.
    #[error(
        "{width} x {height} pixels of this kind need {bytes} bytes, more than the limit of {limit}"
    )]
    TooMuchMemory {
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
        /// Memory for the samples.
        bytes: u64,
        /// The limit.
        limit: u64,
    },
    /// Fewer pixels than a tip needs.
    #[error("{width} x {height} pixels are too few: each side needs at least {least}")]
    TooSmall {
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
        /// Shortest side allowed.
        least: u32,
    },
    /// The decoder stopped by a fault of its own.
    #[error("the {0} decoder failed on this file")]
    DecoderFault(Format),
}

/// Decodes the photo at `path`, upright.
///
/// # Errors
/// [`DecodeError`] when the file cannot be read, is no picture, or breaks a limit.
pub fn decode_file(path: &Path, limits: &Limits) -> Result<Photo, DecodeError> {
    let file = File::open(path).map_err(DecodeError::Io)?;
    let stated = file.metadata().map_err(DecodeError::Io)?.len();
    check_bytes(stated, limits)?;
    let mut bytes = Vec::new();
    file.take(limits.file_bytes + 1)
        .read_to_end(&mut bytes)
        .map_err(DecodeError::Io)?;
    decode_bytes(&bytes, limits)
}

/// Decodes the bytes of a photo file, upright.
///
/// # Errors
/// [`DecodeError`] when the bytes are no picture or break a limit.
pub fn decode_bytes(bytes: &[u8], limits: &Limits) -> Result<Photo, DecodeError> {
    check_bytes(bytes.len() as u64, limits)?;
    if bytes.is_empty() {
        return Err(DecodeError::Empty);
    }
    let format = match format::recognise(bytes) {
        Recognised::Known(format) => format,
        Recognised::Foreign(name) => return Err(DecodeError::UnsupportedFormat(name)),
        Recognised::Unknown => return Err(DecodeError::NotAPicture),
    };
    // A decoder that panics on a broken file must not take the other photos with it.
    catch_unwind(AssertUnwindSafe(|| decode_known(bytes, format, limits)))
        .unwrap_or(Err(DecodeError::DecoderFault(format)))
}

fn check_bytes(bytes: u64, limits: &Limits) -> Result<(), DecodeError> {
    if bytes > limits.file_bytes {
        return Err(DecodeError::FileTooLarge {
            bytes,
            limit: limits.file_bytes,
        });
    }
    Ok(())
}

fn decode_known(bytes: &[u8], format: Format, limits: &Limits) -> Result<Photo, DecodeError> {
    let wrong = |error: ImageError| sorted(error, format);
    let source = Cursor::new(bytes);
    let (picture, metadata) = match format {
        Format::Jpeg => {
            let decoder = JpegDecoder::new(source).map_err(wrong)?;
            check_size(&decoder, limits)?;
            if !format::jpeg_is_whole(bytes) {
                return Err(DecodeError::Truncated(format));
            }
            (
                samples(decoder, format, bytes, limits)?,
                Metadata::exif(bytes),
            )
        }
        Format::Png => {
            let decoder = PngDecoder::with_limits(source, memory(limits)).map_err(wrong)?;
            (
                samples(decoder, format, bytes, limits)?,
                Metadata::png(bytes),
            )
        }
        Format::Tiff => {
            let decoder = TiffDecoder::new(source).map_err(wrong)?;
            let picture = samples(decoder, format, bytes, limits)?;
            (picture, Metadata::tiff(bytes))
        }
        Format::Bmp => {
            let decoder = BmpDecoder::new(source).map_err(wrong)?;
            (
                samples(decoder, format, bytes, limits)?,
                Metadata::default(),
            )
        }
        Format::Webp => {
            if !format::webp_is_whole(bytes) {
                return Err(DecodeError::Truncated(format));
            }
            let decoder = WebPDecoder::new(source).map_err(wrong)?;
            (
                samples(decoder, format, bytes, limits)?,
                Metadata::exif(bytes),
            )
        }
    };
    let found = scale::from_metadata(&metadata, picture.width(), picture.height());
    let mut picture = picture;
    if let Some(orientation) = metadata.orientation.and_then(Orientation::from_exif) {
        picture.apply_orientation(orientation);
    }
    Ok(Photo {
        micrograph: micrograph(picture, metadata.significant_bits(), format)?,
        scale: found.scale,
        sensor_pitch: found.sensor_pitch,
        warnings: found.warnings,
    })
}

fn memory(limits: &Limits) -> image::Limits {
    let mut memory = image::Limits::default();
    memory.max_alloc = Some(limits.memory_bytes);
    memory
}

/// Checks what the header says against the limits.
fn check_size(decoder: &impl ImageDecoder, limits: &Limits) -> Result<(), DecodeError> {
    let (width, height) = decoder.dimensions();
    check_sides(width, height, limits)?;
    let bytes = decoder.total_bytes();
    if bytes > limits.memory_bytes {
        return Err(DecodeError::TooMuchMemory {
            width,
            height,
            bytes,
            limit: limits.memory_bytes,
        });
    }
    Ok(())
}

/// Checks the sides of a picture against the limits.
fn check_sides(width: u32, height: u32, limits: &Limits) -> Result<(), DecodeError> {
    if width.min(height) < limits.shortest_side {
        return Err(DecodeError::TooSmall {
            width,
            height,
            least: limits.shortest_side,
        });
    }
    if u64::from(width) * u64::from(height) > limits.pixels {
        return Err(DecodeError::TooManyPixels {
            width,
            height,
            limit: limits.pixels,
        });
    }
    Ok(())
}

/// No coding of these formats packs more samples than this into a byte of file.
///
/// # Source
/// Deflate reaches 1032 : 1 (RFC 1951: 258 bytes in two bits), LZW of TIFF about 1400 : 1; a flat
/// JPEG block of 192 samples needs about six bits. WebP has no such bound.
const MOST_SAMPLES_PER_BYTE: u64 = 2_000;

fn samples<D: ImageDecoder>(
    mut decoder: D,
    format: Format,
    bytes: &[u8],
    limits: &Limits,
) -> Result<DynamicImage, DecodeError> {
    check_size(&decoder, limits)?;
    let kind = decoder.color_type();
    if kind.bytes_per_pixel() / kind.channel_count() > 2 {
        return Err(DecodeError::UnsupportedKind {
            format,
            source: "the samples are 32-bit numbers".into(),
        });
    }
    // A header that promises more than the file can hold is not worth its memory.
    let most = (bytes.len() as u64).saturating_mul(MOST_SAMPLES_PER_BYTE);
    if format != Format::Webp && decoder.total_bytes() > most {
        return Err(DecodeError::Truncated(format));
    }
    decoder
        .set_limits(memory(limits))
        .map_err(|error| sorted(error, format))?;
    DynamicImage::from_decoder(decoder).map_err(|error| sorted(error, format))
}

/// Sorts a decoder's error by who can do something about it.
fn sorted(error: ImageError, format: Format) -> DecodeError {
    match error {
        ImageError::Unsupported(source) => DecodeError::UnsupportedKind {
            format,
            source: source.into(),
        },
        ImageError::IoError(source) if source.kind() == io::ErrorKind::UnexpectedEof => {
            DecodeError::Truncated(format)
        }
        other => DecodeError::Damaged {
            format,
            source: other.into(),
        },
    }
}

fn micrograph(
    picture: DynamicImage,
    significant_bits: Option<u32>,
    format: Format,
) -> Result<Micrograph, DecodeError> {
    let monochrome = !picture.color().has_color();
    let samples = match picture {
        DynamicImage::ImageRgb8(rgb) => Samples::Eight(rgb),
        DynamicImage::ImageLuma8(_) => Samples::Eight(picture.into_rgb8()),
        DynamicImage::ImageLumaA8(_) | DynamicImage::ImageRgba8(_) => {
            let rgba = picture.into_rgba8();
            Samples::Eight(ImageBuffer::from_fn(rgba.width(), rgba.height(), |x, y| {
                let [r, g, b, a] = rgba.get_pixel(x, y).0;
                Rgb([r, g, b].map(|v| over_white(v.into(), a.into(), 255) as u8))
            }))
        }
        DynamicImage::ImageRgb16(rgb) => Samples::Sixteen(spread(rgb, significant_bits)),
        DynamicImage::ImageLuma16(_) => {
            Samples::Sixteen(spread(picture.into_rgb16(), significant_bits))
        }
        DynamicImage::ImageLumaA16(_) | DynamicImage::ImageRgba16(_) => {
            let rgba = picture.into_rgba16();
            Samples::Sixteen(ImageBuffer::from_fn(rgba.width(), rgba.height(), |x, y| {
                let [r, g, b, a] = rgba.get_pixel(x, y).0;
                Rgb([r, g, b].map(|v| over_white(v.into(), a.into(), 65_535) as u16))
            }))
        }
        _ => {
            return Err(DecodeError::UnsupportedKind {
                format,
                source: "the samples are neither 8 nor 16 bit".into(),
            });
        }
    };
    Ok(Micrograph::new(samples, monochrome))
}

/// A coded sample laid over white at `alpha` of `full`, rounded.
fn over_white(sample: u64, alpha: u64, full: u64) -> u64 {
    (sample * alpha + full * (full - alpha) + full / 2) / full
}

/// Stretches samples that use fewer than sixteen bits over the whole range.
fn spread(
    mut picture: ImageBuffer<Rgb<u16>, Vec<u16>>,
    significant_bits: Option<u32>,
) -> ImageBuffer<Rgb<u16>, Vec<u16>> {
    if let Some(bits) = significant_bits
        && (8..16).contains(&bits)
    {
        let top = (1_u32 << bits) - 1;
        for sample in picture.as_flat_samples_mut().samples.iter_mut() {
            *sample = (u32::from(*sample).min(top) * 65_535 / top) as u16;
        }
    }
    picture
}
