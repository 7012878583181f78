//! The pages that leave the lab, as PDF: values in, bytes out.
//!
//! The same values give the same bytes: no clock, no random number, no font of the machine. Text is
//! tagged in reading order, searchable, and set in embedded typefaces. Nothing here decides:
//! what a page says is what it was given.

pub mod fonts;

mod chart;
mod sample_page;
mod season;
mod sheet;
mod typeset;
mod write;

pub use crate::report::chart::wall_chart;
pub use crate::report::sample_page::NightsAhead;
pub use crate::report::sample_page::SamplePage;
pub use crate::report::sample_page::Slide;
pub use crate::report::sample_page::sample_page;
pub use crate::report::season::Season;
pub use crate::report::season::SeasonSample;
pub use crate::report::season::season;

use crate::texts::dates::Civil;
use std::str::FromStr;
use thiserror::Error;

/// The size of the sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// ISO 216 A4, upright.
    #[default]
    A4,
    /// North American Letter, upright.
    Letter,
    /// ISO 216 A3, upright: for the wall.
    A3,
}

/// A text that names no paper.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is no paper known here: use A4, Letter or A3")]
pub struct UnknownPaper(pub String);

impl Paper {
    /// Width and height in points, 72 to the inch.
    ///
    /// # Source
    /// ISO 216: A4 is 210 by 297 mm, A3 297 by 420 mm; Letter is 8.5 by 11 inches (ANSI/ASME
    /// Y14.1, from memory).
    pub const fn points(self) -> [f32; 2] {
        match self {
            Self::A4 => [595.275_6, 841.889_8],
            Self::Letter => [612.0, 792.0],
            Self::A3 => [841.889_8, 1_190.551_2],
        }
    }
}

impl FromStr for Paper {
    type Err = UnknownPaper;

    fn from_str(text: &str) -> Result<Self, UnknownPaper> {
        match text.trim().to_ascii_lowercase().as_str() {
            "a4" => Ok(Self::A4),
            "letter" => Ok(Self::Letter),
            "a3" => Ok(Self::A3),
            _ => Err(UnknownPaper(text.trim().to_owned())),
        }
    }
}

/// What a document says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct About {
    /// Its title.
    pub title: String,
    /// Program with its version.
    pub program: String,
    /// What stands at the foot of each sheet.
    pub foot: String,
    /// The date that it carries; never the hour at which it happens to be written.
    pub made: Option<Civil>,
}

/// Why there is no PDF.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ReportError {
    /// A picture that is no JPEG.
    #[error("a picture for the page cannot be embedded: {0}")]
    Picture(String),
    /// A size or rule that cannot be.
    #[error("the page cannot be laid out")]
    Format,
    /// The document broke a rule of its format.
    #[error("the page cannot be written as PDF: {0}")]
    Pdf(String),
}
