//! Plain shapes: lines, areas, circles, labels and captions.
//!
//! Shapes on a photo count in its pixels; diagrams count in units of their own, which whoever
//! renders them scales. Arcs and curves come as points ([`crate::drawing::curves`]).

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

/// Which part of a word stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// It begins there.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// It ends there.
    End,
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
    /// An area within a closed line that does not cross itself; it need not be convex
    /// ([`crate::drawing::curves::triangles`] cuts it up for renderers that need it so).
    Area {
        /// Its corners; the last is joined to the first.
        points: Vec<Point>,
        /// Colour of the area.
        colour: Colour,
    },
    /// A word beside a mark.
    Label {
        /// Where the word stands, at the middle of its height.
        at: Point,
        /// The word.
        text: String,
        /// Height of the letters' line.
        size: f64,
        /// Which part of the word stands there.
        anchor: Anchor,
        /// Says whether it is set in bold letters.
        strong: bool,
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

/// How a word is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Height of the letters' line.
    pub size: f64,
    /// Which part of the word stands at its place.
    pub anchor: Anchor,
    /// Says whether it is set in bold letters.
    pub strong: bool,
    /// Colour of the letters.
    pub colour: Colour,
}

impl Style {
    /// Plain letters from their place on.
    pub const fn plain(size: f64, colour: Colour) -> Self {
        Self {
            size,
            anchor: Anchor::Start,
            strong: false,
            colour,
        }
    }

    /// The same with another part of the word at its place.
    #[must_use]
    pub const fn at(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    /// The same in bold letters.
    #[must_use]
    pub const fn bold(self) -> Self {
        Self {
            strong: true,
            ..self
        }
    }
}

/// Shapes on a picture, first ones below.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width of the picture, or of the diagram in its own units.
    pub width: u32,
    /// Height of the picture, or of the diagram in its own units.
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

    /// Adds a line.
    pub fn line(&mut self, points: Vec<Point>, width: f64, colour: Colour) {
        self.shapes.push(Shape::Line {
            points,
            width,
            colour,
        });
    }

    /// Adds an area.
    pub fn area(&mut self, points: Vec<Point>, colour: Colour) {
        self.shapes.push(Shape::Area { points, colour });
    }

    /// Adds an upright rectangle from its upper left to its lower right corner.
    pub fn rectangle(&mut self, from: Point, to: Point, colour: Colour) {
        let corners = [from, Point::new(to.x, from.y), to, Point::new(from.x, to.y)];
        self.area(corners.to_vec(), colour);
    }

    /// Adds a full circle.
    pub fn dot(&mut self, centre: Point, radius: f64, colour: Colour) {
        self.shapes.push(Shape::Circle {
            centre,
            radius,
            width: None,
            colour,
        });
    }

    /// Adds a circle drawn with a line.
    pub fn hoop(&mut self, centre: Point, radius: f64, width: f64, colour: Colour) {
        self.shapes.push(Shape::Circle {
            centre,
            radius,
            width: Some(width),
            colour,
        });
    }

    /// Adds a word.
    pub fn word(&mut self, at: Point, text: impl Into<String>, style: Style) {
        self.shapes.push(Shape::Label {
            at,
            text: text.into(),
            size: style.size,
            anchor: style.anchor,
            strong: style.strong,
            colour: style.colour,
        });
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
