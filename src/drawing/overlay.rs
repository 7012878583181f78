//! What was found in a photo, drawn on it.

use crate::drawing::palette;
use crate::drawing::shapes::CaptionLine;
use crate::drawing::shapes::Corner;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Shape;
use crate::geometry::Point;
use crate::records::Reading;
use crate::records::SetaReading;
use crate::texts;

/// How thick marks are and how large words, by the size of the picture they lie on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Width of a thin line, pixels.
    pub line: f64,
    /// Height of a line of letters, pixels.
    pub letters: f64,
}

impl Pen {
    /// A pen whose lines stay thin when the picture fills a screen.
    pub fn of(width: u32, height: u32) -> Self {
        let long = f64::from(width.max(height));
        Self {
            line: (long / 1300.0).max(1.0),
            letters: (long / 70.0).max(12.0),
        }
    }
}

/// Neighbours further apart than so many usual spacings are not joined by a line.
pub(in crate::drawing) const WIDEST_JOIN: f64 = 3.2;

/// The base of a seta in its photo.
pub fn base(seta: &SetaReading) -> Point {
    Point::new(seta.x, seta.y)
}

/// The edge of the epidermis in line with a seta, in its photo.
pub fn edge(seta: &SetaReading) -> Option<Point> {
    Some(Point::new(seta.edge_x?, seta.edge_y?))
}

/// Everything found in a photo `width` by `height` pixels large: the row of bases, the edge of the
/// epidermis, the gaps, and a caption. A refused photo gets its caption only.
pub fn overlay(reading: &Reading, width: u32, height: u32) -> Drawing {
    let pen = Pen::of(width, height);
    let mut drawing = Drawing::blank(width, height);
    drawing.shapes = marks(reading, pen, Parts::ALL);
    let lines = caption(reading);
    let bases = reading.setae.iter().map(base);
    let marks: Vec<Point> = bases.chain(reading.setae.iter().filter_map(edge)).collect();
    drawing.shapes.push(Shape::Caption {
        corner: emptiest(&marks, &lines, pen, [width, height]),
        lines,
        size: pen.letters,
    });
    drawing
}

/// Which marks are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Parts {
    /// The row of bases.
    pub bases: bool,
    /// The edge of the epidermis.
    pub epidermis: bool,
    /// The gap of each seta.
    pub gaps: bool,
}

impl Parts {
    /// Every mark.
    pub const ALL: Self = Self {
        bases: true,
        epidermis: true,
        gaps: true,
    };
}

/// The marks of a reading in pixels of its photo, without words.
pub fn marks(reading: &Reading, pen: Pen, parts: Parts) -> Vec<Shape> {
    let mut drawing = Drawing::blank(0, 0);
    let bases: Vec<Point> = reading
        .setae
        .iter()
        .map(base)
        .filter(|_| parts.bases)
        .collect();
    let edges: Vec<Point> = reading
        .setae
        .iter()
        .filter_map(edge)
        .filter(|_| parts.epidermis)
        .collect();
    let widest = WIDEST_JOIN * reading.spacing_px.unwrap_or(f64::INFINITY);
    for seta in reading.setae.iter().filter(|_| parts.gaps) {
        if let Some(edge) = edge(seta) {
            drawing.shapes.push(Shape::Line {
                points: vec![base(seta), edge],
                width: pen.line,
                colour: palette::GAP,
            });
        }
    }
    mark_rows(
        &mut drawing,
        pen,
        &runs(&bases, widest),
        &runs(&edges, widest),
    );
    drawing.shapes.extend(bases.iter().map(|at| dot(*at, pen)));
    drawing.shapes
}

/// The edge of the epidermis, and over it the row of bases: where they meet, both are seen.
pub(in crate::drawing) fn mark_rows(
    drawing: &mut Drawing,
    pen: Pen,
    bases: &[Vec<Point>],
    edges: &[Vec<Point>],
) {
    let broad = 2.2 * pen.line;
    drawing.rimmed_lines(edges, broad, palette::EPIDERMIS, palette::DARK_RIM);
    drawing
        .shapes
        .extend(bases.iter().map(|points| Shape::Line {
            points: points.clone(),
            width: pen.line,
            colour: palette::BASES,
        }));
}

/// The mark of a base.
pub fn dot(centre: Point, pen: Pen) -> Shape {
    Shape::Circle {
        centre,
        radius: 2.2 * pen.line,
        width: None,
        colour: palette::BASES,
    }
}

/// Cuts a row of points where neighbours lie further apart than `widest`.
pub fn runs(points: &[Point], widest: f64) -> Vec<Vec<Point>> {
    points
        .chunk_by(|a, b| a.distance(*b) <= widest)
        .filter(|run| run.len() > 1)
        .map(<[Point]>::to_vec)
        .collect()
}

/// What a caption says of a reading.
pub fn caption(reading: &Reading) -> Vec<CaptionLine> {
    let plain = |text: String| CaptionLine { swatch: None, text };
    let name = reading.file.rsplit('/').next().unwrap_or_default();
    let mut lines = vec![plain(name.to_owned())];
    lines.push(plain(texts::readings::answer(reading)));
    if reading.usable {
        lines.push(plain(texts::readings::gap(reading)));
        lines.push(plain(texts::readings::scale(reading)));
        for (colour, text) in [
            (palette::BASES, texts::readings::BASES),
            (palette::EPIDERMIS, texts::readings::EPIDERMIS),
        ] {
            lines.push(CaptionLine {
                swatch: Some(colour),
                text: text.to_owned(),
            });
        }
    }
    lines
}

/// The corner where a caption hides the fewest marks.
fn emptiest(marks: &[Point], lines: &[CaptionLine], pen: Pen, [width, height]: [u32; 2]) -> Corner {
    let letters = lines.iter().map(|line| line.text.chars().count()).max();
    let wide = 0.6 * pen.letters * (letters.unwrap_or(0) as f64 + 4.0);
    let high = 1.2 * pen.letters * (lines.len() as f64 + 2.0);
    let (w, h) = (f64::from(width), f64::from(height));
    let hidden = |corner: Corner| {
        let left = matches!(corner, Corner::TopLeft | Corner::BottomLeft);
        let top = matches!(corner, Corner::TopLeft | Corner::TopRight);
        marks
            .iter()
            .filter(|p| {
                (if left { p.x } else { w - p.x }) < wide
                    && (if top { p.y } else { h - p.y }) < high
            })
            .count()
    };
    let mut best = Corner::TopLeft;
    for corner in Corner::ALL {
        if hidden(corner) < hidden(best) {
            best = corner;
        }
    }
    best
}
