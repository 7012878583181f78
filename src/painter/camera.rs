//! The microscope and its camera, as plain numbers.

/// Light, lenses, sensor and encoder of one picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Light per channel, the strongest 1.
    pub light: [f64; 3],
    /// The brightest background as a part of the full scale (linear light).
    pub exposure: f64,
    /// Linear fall of the light across the picture, as a part.
    pub falloff: f64,
    /// Direction of the fall, in radians.
    pub falloff_angle: f64,
    /// Loss of light in the corners, as a part.
    pub vignette: f64,
    /// The round field of an eyepiece.
    pub field: Option<RoundField>,
    /// Blur (standard deviation) in the middle, in pixels.
    pub blur: f64,
    /// Extra blur at the far end where the focus is tilted, in pixels.
    pub blur_tilt: f64,
    /// Direction in which the focus is lost, in radians.
    pub tilt_angle: f64,
    /// Electrons at full scale.
    pub full_well: f64,
    /// Read noise in electrons.
    pub read_noise: f64,
    /// Noise smoothed by the camera's own processing.
    pub smooth_noise: bool,
    /// One channel only.
    pub monochrome: bool,
    /// Strength of the sharpening.
    pub sharpen: f64,
    /// Specks on the sensor: x, y, radius as parts of the width, and density.
    pub dust: Vec<[f64; 4]>,
    /// What the camera's program burned in.
    pub overlay: Overlay,
    /// The file's form.
    pub encoder: Encoder,
    /// Seed of the noise.
    pub seed: u64,
}

/// The round field stop of an eyepiece; lengths as parts of the picture's shorter side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundField {
    /// Centre to the right of the picture's middle.
    pub x: f64,
    /// Centre below the picture's middle.
    pub y: f64,
    /// Radius.
    pub radius: f64,
    /// Width of the soft edge.
    pub soft: f64,
    /// Light outside, as a part of the light inside.
    pub outside: f64,
}

/// What is burned into the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Overlay {
    /// Nothing.
    None,
    /// A scale bar in a corner.
    ScaleBar,
    /// The pointer of the eyepiece.
    Pointer,
}

/// The form of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoder {
    /// JPEG with this quality, 1 to 100.
    Jpeg(u8),
    /// PNG.
    Png,
}

impl Camera {
    /// A camera that adds nothing: white even light, no blur, no noise, PNG.
    pub fn ideal() -> Self {
        Self {
            light: [1.0; 3],
            exposure: 0.9,
            falloff: 0.0,
            falloff_angle: 0.0,
            vignette: 0.0,
            field: None,
            blur: 0.0,
            blur_tilt: 0.0,
            tilt_angle: 0.0,
            full_well: 0.0,
            read_noise: 0.0,
            smooth_noise: false,
            monochrome: false,
            sharpen: 0.0,
            dust: Vec::new(),
            overlay: Overlay::None,
            encoder: Encoder::Png,
            seed: 0,
        }
    }
}
