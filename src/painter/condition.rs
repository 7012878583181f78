//! The conditions that pictures are painted under.

use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// What is special about a picture: the groups by which training and scoring are split.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Condition {
    /// Moderate variation of everything.
    Standard,
    /// All conditions mixed freely over the widest ranges.
    Any,
    /// 0.4 µm per pixel.
    Scale04,
    /// 0.8 µm per pixel.
    Scale08,
    /// 1.6 µm per pixel.
    Scale16,
    /// 2.6 µm per pixel.
    Scale26,
    /// A picture of 1 megapixel.
    Megapixels1,
    /// A picture of 5 megapixels.
    Megapixels5,
    /// A picture of 12 megapixels.
    Megapixels12,
    /// A monochrome camera.
    Monochrome,
    /// A phone on the eyepiece: a round field.
    Eyepiece,
    /// Light that falls off by up to half.
    Falloff,
    /// Blue light.
    BlueLight,
    /// Amber light.
    AmberLight,
    /// Pink light.
    PinkLight,
    /// Nearly no pigment.
    PalePigment,
    /// Out of focus as a whole.
    Defocus,
    /// In focus on one side only.
    TiltedFocus,
    /// JPEG of quality 70.
    Jpeg70,
    /// Strong sensor noise.
    Noise,
    /// Base widths of 12 µm.
    Base12,
    /// Base widths of 20 µm.
    Base20,
    /// Base widths of 40 µm.
    Base40,
    /// Bases 1.5 widths apart.
    Spacing15,
    /// Bases 4 widths apart.
    Spacing4,
    /// Air bubbles.
    Bubbles,
    /// Debris and algae.
    Debris,
    /// Many setae gone.
    MissingSetae,
    /// A second layer of blade.
    Folded,
    /// A concave margin.
    Concave,
    /// Tissue over a fifth of the picture.
    Fill20,
    /// Tissue over nine tenths of the picture.
    Fill90,
    /// The blade in a corner.
    Corner,
    /// The animal's criteria disagree.
    OutOfStep,
}

/// A text that names no condition.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is no condition: use one of {list}", list = Condition::list())]
pub struct UnknownCondition(pub String);

impl Condition {
    /// All conditions.
    pub const ALL: [Self; 34] = [
        Self::Standard,
        Self::Any,
        Self::Scale04,
        Self::Scale08,
        Self::Scale16,
        Self::Scale26,
        Self::Megapixels1,
        Self::Megapixels5,
        Self::Megapixels12,
        Self::Monochrome,
        Self::Eyepiece,
        Self::Falloff,
        Self::BlueLight,
        Self::AmberLight,
        Self::PinkLight,
        Self::PalePigment,
        Self::Defocus,
        Self::TiltedFocus,
        Self::Jpeg70,
        Self::Noise,
        Self::Base12,
        Self::Base20,
        Self::Base40,
        Self::Spacing15,
        Self::Spacing4,
        Self::Bubbles,
        Self::Debris,
        Self::MissingSetae,
        Self::Folded,
        Self::Concave,
        Self::Fill20,
        Self::Fill90,
        Self::Corner,
        Self::OutOfStep,
    ];

    /// The name, as written in truth files and on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Standard => "standard",
            Self::Any => "any",
            Self::Scale04 => "scale-0.4",
            Self::Scale08 => "scale-0.8",
            Self::Scale16 => "scale-1.6",
            Self::Scale26 => "scale-2.6",
            Self::Megapixels1 => "megapixels-1",
            Self::Megapixels5 => "megapixels-5",
            Self::Megapixels12 => "megapixels-12",
            Self::Monochrome => "monochrome",
            Self::Eyepiece => "eyepiece",
            Self::Falloff => "falloff",
            Self::BlueLight => "blue-light",
            Self::AmberLight => "amber-light",
            Self::PinkLight => "pink-light",
            Self::PalePigment => "pale-pigment",
            Self::Defocus => "defocus",
            Self::TiltedFocus => "tilted-focus",
            Self::Jpeg70 => "jpeg-70",
            Self::Noise => "noise",
            Self::Base12 => "base-12",
            Self::Base20 => "base-20",
            Self::Base40 => "base-40",
            Self::Spacing15 => "spacing-1.5",
            Self::Spacing4 => "spacing-4",
            Self::Bubbles => "bubbles",
            Self::Debris => "debris",
            Self::MissingSetae => "missing-setae",
            Self::Folded => "folded",
            Self::Concave => "concave",
            Self::Fill20 => "fill-20",
            Self::Fill90 => "fill-90",
            Self::Corner => "corner",
            Self::OutOfStep => "out-of-step",
        }
    }

    /// All names, with commas between.
    pub fn list() -> String {
        Self::ALL.map(Self::name).join(", ")
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Condition {
    type Err = UnknownCondition;

    fn from_str(text: &str) -> Result<Self, UnknownCondition> {
        Self::ALL
            .into_iter()
            .find(|condition| condition.name() == text)
            .ok_or_else(|| UnknownCondition(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_come_back_and_are_distinct() {
        for condition in Condition::ALL {
            assert_eq!(condition.name().parse(), Ok(condition));
        }
        assert!("plain".parse::<Condition>().is_err());
    }
}
