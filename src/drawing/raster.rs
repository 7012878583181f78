//! Shapes to pixels, with smooth edges.
//!
//! A pixel is covered by as much of a line as its centre lies inside of it, from half a pixel outside
//! its edge (0) to half a pixel inside (1); colours are laid over each other as coded.

use crate::drawing::palette;
use crate::drawing::shapes::Anchor;
use crate::drawing::shapes::CaptionLine;
use crate::drawing::shapes::Colour;
use crate::drawing::shapes::Corner;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Shape;
use crate::drawing::type_setting::Letters;
use crate::geometry::Point;
use crate::micrograph::Picture;
use thiserror::Error;

/// Why shapes could not be drawn.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum RasterError {
    /// The built-in typeface is damaged.
    #[error("the built-in typeface cannot be used")]
    Font(#[from] ab_glyph::InvalidFont),
}

/// Draws the shapes onto the picture; what reaches beyond it is cut off.
///
/// # Errors
/// [`RasterError`] when there is text and the typeface cannot be used.
pub fn render(drawing: &Drawing, picture: &mut Picture) -> Result<(), RasterError> {
    for shape in &drawing.shapes {
        match shape {
            Shape::Line {
                points,
                width,
                colour,
            } => line(picture, points, *width, *colour),
            Shape::Circle {
                centre,
                radius,
                width,
                colour,
            } => circle(picture, *centre, *radius, *width, *colour),
            Shape::Label {
                at,
                text,
                size,
                anchor,
                strong,
                colour,
            } => {
                let letters = if *strong {
                    Letters::bold(*size)?
                } else {
                    Letters::new(*size)?
                };
                let before = match anchor {
                    Anchor::Start => 0.0,
                    Anchor::Middle => 0.5,
                    Anchor::End => 1.0,
                };
                let from = Point::new(at.x - before * letters.width(text), at.y);
                letters.set(text, from, |x, y, coverage| {
                    lay(picture, x, y, *colour, coverage);
                });
            }
            Shape::Area { points, colour } => area(picture, points, *colour),
            Shape::Caption {
                corner,
                lines,
                size,
            } => caption(picture, *corner, lines, *size)?,
        }
    }
    Ok(())
}

/// Lays `coverage` of a colour over a pixel; pixels outside of the picture are left out.
fn lay(picture: &mut Picture, x: i64, y: i64, colour: Colour, coverage: f32) {
    if x < 0 || y < 0 || x >= i64::from(picture.width()) || y >= i64::from(picture.height()) {
        return;
    }
    let share = (colour.opacity * coverage).clamp(0.0, 1.0);
    let pixel = picture.get_pixel_mut(x as u32, y as u32);
    for (below, above) in pixel.0.iter_mut().zip(colour.rgb) {
        let mixed = f32::from(*below) + (f32::from(above) - f32::from(*below)) * share;
        *below = mixed.round() as u8;
    }
}

/// The pixels of the picture within `reach` of the box around two points.
fn around(
    picture: &Picture,
    [a, b]: [Point; 2],
    reach: f64,
) -> impl Iterator<Item = (i64, i64, Point)> + use<> {
    let (w, h) = (f64::from(picture.width()), f64::from(picture.height()));
    let from_x = (a.x.min(b.x) - reach).floor().clamp(0.0, w) as i64;
    let to_x = (a.x.max(b.x) + reach).ceil().clamp(-1.0, w - 1.0) as i64;
    let from_y = (a.y.min(b.y) - reach).floor().clamp(0.0, h) as i64;
    let to_y = (a.y.max(b.y) + reach).ceil().clamp(-1.0, h - 1.0) as i64;
    (from_y..=to_y)
        .flat_map(move |y| (from_x..=to_x).map(move |x| (x, y, Point::new(x as f64, y as f64))))
}

/// How much of a pixel is covered by a line whose edge lies `inside` pixels further out.
fn coverage(inside: f64) -> f32 {
    (inside + 0.5).clamp(0.0, 1.0) as f32
}

fn distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let way = b.minus(a);
    let length = way.dot(way);
    let along = if length > 0.0 {
        (p.minus(a).dot(way) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a.toward(b, along))
}

fn line(picture: &mut Picture, points: &[Point], width: f64, colour: Colour) {
    let covered = |p: Point, segment: usize| {
        points.get(segment..segment + 2).map_or(0.0, |ends| {
            coverage(width / 2.0 - distance_to_segment(p, ends[0], ends[1]))
        })
    };
    for segment in 0..points.len().saturating_sub(1) {
        let ends = [points[segment], points[segment + 1]];
        for (x, y, p) in around(picture, ends, width / 2.0 + 1.0) {
            let own = covered(p, segment);
            // Where segments meet, the one that covers more of the pixel draws it, and once only.
            let before = segment.checked_sub(1).map_or(0.0, |s| covered(p, s));
            if own > 0.0 && own > before && own >= covered(p, segment + 1) {
                lay(picture, x, y, colour, own);
            }
        }
    }
}

/// Lines through each row of pixels on which the coverage of an area is measured.
const LINES_PER_ROW: usize = 4;

fn area(picture: &mut Picture, points: &[Point], colour: Colour) {
    let (w, h) = (picture.width(), picture.height());
    let reach = |of: fn(f64, f64) -> f64, start: f64| points.iter().map(|p| p.y).fold(start, of);
    let from = reach(f64::min, f64::INFINITY)
        .floor()
        .clamp(0.0, f64::from(h)) as i64;
    let to = reach(f64::max, f64::NEG_INFINITY)
        .ceil()
        .clamp(-1.0, f64::from(h) - 1.0) as i64;
    for row in from..=to {
        let mut covered = vec![0.0_f32; w as usize];
        for line in 0..LINES_PER_ROW {
            let part = (line as f64 + 0.5) / LINES_PER_ROW as f64;
            let y = row as f64 - 0.5 + part;
            for pair in crossings(points, y).chunks_exact(2) {
                cover(&mut covered, pair[0], pair[1]);
            }
        }
        for (x, share) in covered
            .iter()
            .enumerate()
            .filter(|(_, share)| **share > 0.0)
        {
            lay(picture, x as i64, row, colour, share / LINES_PER_ROW as f32);
        }
    }
}

/// Where the border of an area crosses a level line, from left to right.
fn crossings(points: &[Point], y: f64) -> Vec<f64> {
    let next = points.iter().cycle().skip(1);
    let mut found: Vec<f64> = points
        .iter()
        .zip(next)
        .filter(|(a, b)| (a.y <= y) != (b.y <= y))
        .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
        .collect();
    found.sort_by(f64::total_cmp);
    found
}

/// Adds to each pixel of a row the part of it that lies between two places.
fn cover(row: &mut [f32], from: f64, to: f64) {
    // Pixel x reaches from x - 0.5 to x + 0.5.
    let (from, to) = ((from + 0.5).max(0.0), (to + 0.5).min(row.len() as f64));
    if to <= from {
        return;
    }
    for (x, share) in row.iter_mut().enumerate().skip(from as usize) {
        let left = x as f64;
        if left >= to {
            break;
        }
        *share += (to.min(left + 1.0) - from.max(left)) as f32;
    }
}

fn circle(picture: &mut Picture, centre: Point, radius: f64, width: Option<f64>, colour: Colour) {
    let reach = radius + width.unwrap_or(0.0) / 2.0 + 1.0;
    for (x, y, p) in around(picture, [centre, centre], reach) {
        let out = p.distance(centre) - radius;
        let own = coverage(width.map_or(-out, |width| width / 2.0 - out.abs()));
        if own > 0.0 {
            lay(picture, x, y, colour, own);
        }
    }
}

fn plate(picture: &mut Picture, from: Point, to: Point) {
    for y in from.y.round() as i64..to.y.round() as i64 {
        for x in from.x.round() as i64..to.x.round() as i64 {
            lay(picture, x, y, palette::PLATE, 1.0);
        }
    }
}

fn caption(
    picture: &mut Picture,
    corner: Corner,
    lines: &[CaptionLine],
    size: f64,
) -> Result<(), RasterError> {
    let letters = Letters::new(size)?;
    let (w, h) = (f64::from(picture.width()), f64::from(picture.height()));
    let (margin, pad, indent) = (0.5 * size, 0.5 * size, 1.7 * size);
    let indent_of = |line: &CaptionLine| if line.swatch.is_some() { indent } else { 0.0 };
    let mut rows: Vec<CaptionLine> = Vec::new();
    for line in lines {
        let most = w - 2.0 * (margin + pad) - indent_of(line);
        let mut swatch = line.swatch;
        for text in letters.broken(&line.text, most) {
            rows.push(CaptionLine {
                swatch: swatch.take(),
                text,
            });
        }
    }
    let widest = rows
        .iter()
        .map(|row| letters.width(&row.text) + indent_of(row))
        .fold(0.0, f64::max);
    let leading = 1.2 * size;
    let (wide, high) = (widest + 2.0 * pad, rows.len() as f64 * leading + 2.0 * pad);
    let left = match corner {
        Corner::TopLeft | Corner::BottomLeft => margin,
        Corner::TopRight | Corner::BottomRight => w - margin - wide,
    };
    let top = match corner {
        Corner::TopLeft | Corner::TopRight => margin,
        Corner::BottomLeft | Corner::BottomRight => h - margin - high,
    };
    plate(
        picture,
        Point::new(left, top),
        Point::new(left + wide, top + high),
    );
    for (i, row) in rows.iter().enumerate() {
        let y = top + pad + (i as f64 + 0.5) * leading;
        if let Some(swatch) = row.swatch {
            let ends = [
                Point::new(left + pad, y),
                Point::new(left + pad + indent - 0.5 * size, y),
            ];
            line(picture, &ends, (size / 6.0).max(2.0), swatch);
        }
        let from = Point::new(left + pad + indent_of(row), y);
        letters.set(&row.text, from, |x, y, coverage| {
            lay(picture, x, y, palette::WORDS, coverage);
        });
    }
    Ok(())
}
