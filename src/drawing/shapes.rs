//! Plain shapes: lines, circles and captions, in the pixels of the picture they lie on.

use crate::geometry::Point;

/// A colour with its opacity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Colour {
    /// Red, green and blue as coded in sRGB.
    pub rgb: [u8; 3],
    /// From 0 (not seen) to 1 (hides what is below).
    pub opacity: f32,
}

impl Colour {
    /// A colour that hides what is below.
    pub const fn solid(rgb: [u8; 3]) -> Self {
        Self { rgb, opacity: 1.0 }
    }

    /// The same colour, `opacity` of it.
    #[must_use]
    pub const fn veiled(self, opacity: f32) -> Self {
        Self {
            rgb: self.rgb,
            opacity,
        }
    }
}

/// A corner of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    /// Above, to the left.
    TopLeft,
    /// Above, to the right.
    TopRight,
    /// Below, to the left.
    BottomLeft,
    /// Below, to the right.
    BottomRight,
}

impl Corner {
    /// All four, the first being where a caption stands when nothing speaks against it.
    pub const ALL: [Self; 4] = [
        Self::TopLeft,
        Self::TopRight,
        Self::BottomLeft,
        Self::BottomRight,
    ];
}

/// One line of a caption.
#[derive(Debug, Clone, PartialEq)]
pub struct CaptionLine {
    /// The colour that the line explains, shown before its words.
    pub swatch: Option<Colour>,
    /// The words.
    pub text: String,
}

/// One thing to draw; lengths in pixels.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A line through points, `width` wide.
    Line {
        /// From point to point.
        points: Vec<Point>,
        /// Width of the line.
        width: f64,
        /// Colour of the line.
        colour: Colour,
    },
    /// A circle drawn with a line, or a full one.
    Circle {
        /// Its centre.
        centre: Point,
        /// Its radius, to the middle of the line.
        radius: f64,
        /// Width of the line; `None` for a full circle.
        width: Option<f64>,
        /// Colour of the line or the circle.
        colour: Colour,
    },
    /// A word beside a mark.
    Label {
        /// Where the word begins, at the middle of its height.
        at: Point,
        /// The word.
        text: String,
        /// Height of the letters' line.
        size: f64,
        /// Colour of the letters.
        colour: Colour,
    },
    /// Lines of words on a plate in a corner; long lines are broken at words.
    Caption {
        /// Where it stands.
        corner: Corner,
        /// The lines.
        lines: Vec<CaptionLine>,
        /// Height of a line of letters.
        size: f64,
    },
}

/// Shapes on a picture, first ones below.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width of the picture.
    pub width: u32,
    /// Height of the picture.
    pub height: u32,
    /// What to draw.
    pub shapes: Vec<Shape>,
}

impl Drawing {
    /// Nothing on a picture of this size.
    pub const fn blank(width: u32, height: u32) -> Self {
        Self {
            width,
            height,
            shapes: Vec::new(),
        }
    }

    /// Adds lines of one colour with a rim, so that they are seen on dark and on bright ground.
    pub fn rimmed_lines(&mut self, runs: &[Vec<Point>], width: f64, colour: Colour, rim: Colour) {
        for (width, colour) in [(width + 1.4, rim), (width, colour)] {
            self.shapes.extend(runs.iter().map(|points| Shape::Line {
                points: points.clone(),
                width,
                colour,
            }));
        }
    }
}
