//! The margin straightened: all bases in a row on the base line, the tissue below it.

use crate::drawing::overlay::Pen;
use crate::drawing::overlay::WIDEST_JOIN;
use crate::drawing::overlay::base;
use crate::drawing::overlay::dot;
use crate::drawing::overlay::edge;
use crate::drawing::overlay::mark_rows;
use crate::drawing::overlay::runs;
use crate::drawing::palette;
use crate::drawing::shapes::Anchor;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Shape;
use crate::geometry::Point;
use crate::micrograph::Picture;
use crate::records::Reading;
use crate::texts;

/// Base widths shown outside of the base line.
const OUTWARD: f64 = 7.0;
/// Fewest base widths shown inside of it, and how many beyond the deepest edge.
const INWARD: f64 = 9.0;
const BEYOND_EDGE: f64 = 6.0;
/// Base widths shown before the first and after the last base.
const ASIDE: f64 = 3.0;
/// How many neighbours on either side have a say in the direction of the margin at a base.
const NEIGHBOURS: usize = 4;

/// A margin laid straight: columns run along the row of bases, rows across it, in photo pixels.
///
/// Row [`StraightMargin::base_row`] passes through every base; tissue lies below it. A column may be
/// off from its neighbours by what their bases are, so that each gap starts on the base line.
#[derive(Debug, Clone, PartialEq)]
pub struct StraightMargin {
    /// Bases in the photo, with the place of each along the row and the inward direction there.
    stations: Vec<Station>,
    base_row: u32,
    width: u32,
    height: u32,
    first_s: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Station {
    s: f64,
    base: Point,
    inward: Point,
}

impl StraightMargin {
    /// The margin of a reading; `None` when it has fewer than three bases or no base width.
    pub fn of(reading: &Reading) -> Option<Self> {
        let base_width = reading.base_width_px.filter(|w| *w > 0.0)?;
        let stations = stations(reading)?;
        let gaps = reading.setae.iter().filter_map(|seta| seta.gap_px);
        let deepest = gaps.fold(0.0, f64::max);
        let inward = (INWARD * base_width).max(deepest + BEYOND_EDGE * base_width);
        let base_row = (OUTWARD * base_width).round() as u32;
        let aside = ASIDE * base_width;
        let length = stations.last()?.s;
        Some(Self {
            stations,
            base_row,
            width: (length + 2.0 * aside).round() as u32 + 1,
            height: base_row + inward.round() as u32 + 1,
            first_s: -aside,
        })
    }

    /// The row of pixels on which all bases stand.
    pub const fn base_row(&self) -> u32 {
        self.base_row
    }

    /// Width in pixels, the same as those of the photo.
    pub const fn width(&self) -> u32 {
        self.width
    }

    /// Height in pixels, the same as those of the photo.
    pub const fn height(&self) -> u32 {
        self.height
    }

    /// The photo position of a position in the straightened picture.
    pub fn photo(&self, own: Point) -> Point {
        let (origin, inward) = self.frame(own.x + self.first_s);
        origin.plus(inward.times(own.y - f64::from(self.base_row)))
    }

    /// The position in the straightened picture of a photo position near the margin.
    pub fn own(&self, photo: Point) -> Point {
        let mut nearest = (f64::INFINITY, 0.0);
        for station in &self.stations {
            let distance = station.base.distance(photo);
            if distance < nearest.0 {
                nearest = (distance, station.s);
            }
        }
        let mut s = nearest.1;
        for _ in 0..12 {
            let (origin, inward) = self.frame(s);
            s -= 0.8 * photo.minus(origin).dot(inward.turned());
        }
        let (origin, inward) = self.frame(s);
        let t = photo.minus(origin).dot(inward);
        Point::new(s - self.first_s, f64::from(self.base_row) + t)
    }

    /// The straightened photo in its own colours.
    pub fn straighten(&self, photo: &Picture) -> Picture {
        let mut out = Picture::new(self.width, self.height);
        for x in 0..self.width {
            let (origin, inward) = self.frame(f64::from(x) + self.first_s);
            for y in 0..self.height {
                let at = origin.plus(inward.times(f64::from(y) - f64::from(self.base_row)));
                out.get_pixel_mut(x, y).0 = sample(photo, at).unwrap_or(palette::BEYOND);
            }
        }
        out
    }

    /// The base line, the bases, the edge of the epidermis and a scale, on the straightened photo.
    pub fn drawing(&self, reading: &Reading) -> Drawing {
        let mut drawing = self.marks(reading);
        self.ruler(reading, Pen::of(self.width, self.height), &mut drawing);
        drawing
    }

    /// The same without the scale, for a screen that has one of its own.
    pub fn marks(&self, reading: &Reading) -> Drawing {
        let pen = Pen::of(self.width, self.height);
        let mut drawing = Drawing::blank(self.width, self.height);
        let row = f64::from(self.base_row);
        let ends = vec![
            Point::new(0.0, row),
            Point::new(f64::from(self.width) - 1.0, row),
        ];
        let edges: Vec<Point> = reading
            .setae
            .iter()
            .filter_map(edge)
            .map(|at| self.own(at))
            .collect();
        let widest = WIDEST_JOIN * reading.spacing_px.unwrap_or(f64::INFINITY);
        mark_rows(&mut drawing, pen, &[ends], &runs(&edges, widest));
        for station in &self.stations {
            let at = Point::new(station.s - self.first_s, row);
            drawing.shapes.push(dot(at, pen));
        }
        drawing
    }

    /// A bar of a round length below, in micrometres where a scale is known, else in base widths.
    fn ruler(&self, reading: &Reading, pen: Pen, drawing: &mut Drawing) {
        let Some((long, text)) = texts::readings::bar(reading, f64::from(self.width) / 6.0) else {
            return;
        };
        let size = pen.letters;
        let y = f64::from(self.height) - 1.3 * size;
        let from = Point::new(1.4 * size, y);
        let to = from.plus(Point::new(long, 0.0));
        let word = to.plus(Point::new(0.6 * size, 0.0));
        let room = 0.62 * size * text.chars().count() as f64;
        drawing.shapes.push(Shape::Line {
            points: vec![from, word.plus(Point::new(room, 0.0))],
            width: 1.5 * size,
            colour: palette::PLATE,
        });
        drawing.shapes.push(Shape::Line {
            points: vec![from, to],
            width: 2.0 * pen.line,
            colour: palette::WORDS,
        });
        drawing.shapes.push(Shape::Label {
            at: word,
            text,
            size,
            anchor: Anchor::Start,
            strong: false,
            colour: palette::WORDS,
        });
    }

    /// Where the base line lies at `s` along the row, and the inward direction there.
    fn frame(&self, s: f64) -> (Point, Point) {
        let last = self.stations.len() - 1;
        let after = self.stations.partition_point(|station| station.s <= s);
        let i = after.clamp(1, last) - 1;
        let (a, b) = (&self.stations[i], &self.stations[i + 1]);
        if s < a.s || s > b.s {
            let end = if s < a.s { a } else { b };
            let along = Point::new(end.inward.y, -end.inward.x);
            return (end.base.plus(along.times(s - end.s)), end.inward);
        }
        let f = (s - a.s) / (b.s - a.s);
        (
            a.base.toward(b.base, f),
            a.inward.toward(b.inward, f).unit(),
        )
    }
}

/// The bases with their places along the row.
fn stations(reading: &Reading) -> Option<Vec<Station>> {
    let mut bases: Vec<Point> = reading.setae.iter().map(base).collect();
    bases.dedup_by(|a, b| a.distance(*b) < 1e-6);
    if bases.len() < 3 {
        return None;
    }
    let along: Vec<Point> = (0..bases.len()).map(|i| direction(&bases, i)).collect();
    let mut s = 0.0;
    let mut stations = Vec::with_capacity(bases.len());
    for (i, base) in bases.iter().enumerate() {
        if i > 0 {
            let way = base.minus(bases[i - 1]);
            // A base that does not lie further along the row has no place of its own in it.
            let step = way.dot(along[i].plus(along[i - 1]).unit());
            if step <= 0.0 {
                continue;
            }
            s += step;
        }
        stations.push(Station {
            s,
            base: *base,
            inward: along[i].turned(),
        });
    }
    let side: f64 = reading
        .setae
        .iter()
        .filter_map(|seta| {
            let edge = edge(seta)?;
            let own = stations.iter().find(|station| station.base == base(seta))?;
            Some(edge.minus(own.base).dot(own.inward))
        })
        .sum();
    let limit = 0.2 * reading.base_width_px.unwrap_or(0.0) * stations.len() as f64;
    if side < -limit {
        return Some(reversed(stations));
    }
    (stations.len() >= 3).then_some(stations)
}

/// The same row from its other end: setae are listed with the tissue to the right of the row, so
/// this is only for readings that come from elsewhere.
fn reversed(stations: Vec<Station>) -> Vec<Station> {
    let length = stations.last().map_or(0.0, |station| station.s);
    stations
        .into_iter()
        .rev()
        .map(|station| Station {
            s: length - station.s,
            base: station.base,
            inward: station.inward.times(-1.0),
        })
        .collect()
}

/// Direction of the row at base `i`: the main direction of the bases around it.
fn direction(bases: &[Point], i: usize) -> Point {
    let from = i.saturating_sub(NEIGHBOURS);
    let to = (i + NEIGHBOURS).min(bases.len() - 1);
    let near = &bases[from..=to];
    let middle = near
        .iter()
        .fold(Point::new(0.0, 0.0), |sum, p| sum.plus(*p))
        .times(1.0 / near.len() as f64);
    // least squares of position over rank
    let centre = (near.len() - 1) as f64 / 2.0;
    near.iter()
        .enumerate()
        .fold(Point::new(0.0, 0.0), |sum, (rank, p)| {
            sum.plus(p.minus(middle).times(rank as f64 - centre))
        })
        .unit()
}

/// The colour between pixels, bilinear as coded; `None` outside of the photo.
fn sample(photo: &Picture, at: Point) -> Option<[u8; 3]> {
    let (w, h) = (photo.width(), photo.height());
    if at.x < 0.0 || at.y < 0.0 || at.x > f64::from(w - 1) || at.y > f64::from(h - 1) {
        return None;
    }
    let (x, y) = (at.x.floor() as u32, at.y.floor() as u32);
    let (right, below) = ((x + 1).min(w - 1), (y + 1).min(h - 1));
    let (fx, fy) = (at.x - f64::from(x), at.y - f64::from(y));
    let corners = [(x, y), (right, y), (x, below), (right, below)];
    let shares = [
        (1.0 - fx) * (1.0 - fy),
        fx * (1.0 - fy),
        (1.0 - fx) * fy,
        fx * fy,
    ];
    let mut out = [0; 3];
    for (channel, value) in out.iter_mut().enumerate() {
        let mixed: f64 = corners
            .iter()
            .zip(shares)
            .map(|((x, y), share)| f64::from(photo.get_pixel(*x, *y).0[channel]) * share)
            .sum();
        *value = mixed.round() as u8;
    }
    Some(out)
}
