//! Photos in, micrographs out: decoding under limits, linear light, optical density.
//!
//! This is the only module that knows the decoders. It knows nothing of shrimps.

pub mod colour;

pub mod decode;

pub mod density;

pub mod encode;

pub mod field;

pub mod light;

pub mod format;

pub mod ruling;

pub mod scale;

pub mod size;

pub mod shrink;

mod metadata;

mod ome;

use image::ImageBuffer;
pub use image::Luma;
use image::Rgb;

/// An eight-bit colour picture, as written to files.
pub type Picture = image::RgbImage;

/// A plane of 32-bit numbers: linear light, optical density or what was computed from them.
pub type Plane = ImageBuffer<Luma<f32>, Vec<f32>>;

/// A plane of bytes, such as a mask (0 = out, 255 = in).
pub type Mask = image::GrayImage;

/// A decoded photo, upright as displayed, with its samples still as the camera coded them (sRGB).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Micrograph {
    samples: Samples,
    monochrome: bool,
}

/// The samples of a photo at the depth of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Samples {
    /// Eight bits per channel.
    Eight(ImageBuffer<Rgb<u8>, Vec<u8>>),
    /// Sixteen bits per channel.
    Sixteen(ImageBuffer<Rgb<u16>, Vec<u16>>),
}

impl Micrograph {
    /// A micrograph of decoded samples; `monochrome` when the file had one channel only.
    pub fn new(samples: Samples, monochrome: bool) -> Self {
        Self {
            samples,
            monochrome,
        }
    }

    /// Width in pixels.
    pub fn width(&self) -> u32 {
        match &self.samples {
            Samples::Eight(picture) => picture.width(),
            Samples::Sixteen(picture) => picture.width(),
        }
    }

    /// Height in pixels.
    pub fn height(&self) -> u32 {
        match &self.samples {
            Samples::Eight(picture) => picture.height(),
            Samples::Sixteen(picture) => picture.height(),
        }
    }

    /// Says whether the file held one channel only.
    pub fn monochrome(&self) -> bool {
        self.monochrome
    }

    /// The samples as coded.
    pub fn samples(&self) -> &Samples {
        &self.samples
    }
}
