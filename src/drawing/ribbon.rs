//! The night ribbon: one cell per night, the moon above, the soft share with its band against the
//! limit, spans and drain as brackets, the value of waiting below.
//!
//! A cell holds what is forecast for the morning after its night; its middle is that morning, at
//! the clock hour of the netting. Brackets count in days from the netting.

use crate::drawing::curves::dashes;
use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Anchor;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Style;
use crate::forecast::Band;
use crate::geometry::Point;
use crate::texts::diagrams;

/// One night.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// 1 is the night that follows the netting.
    pub night: usize,
    /// What stands below it: the day of the morning after.
    pub label: String,
    /// The soft share.
    pub soft: Band,
    /// The soft share if draining set off the due animals.
    pub pessimistic_soft: f64,
    /// Lit part of the moon; absent where it is not known.
    pub moon_lit: Option<f64>,
    /// Says whether all expected shares lie below their limits.
    pub within_expected: bool,
    /// Says whether every limit is shown to be kept.
    pub within_confident: bool,
    /// What waiting until then gains; absent without the farm's own numbers.
    pub gain: Option<f64>,
}

/// A stretch of time above the cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Bracket {
    /// Where it begins, in days from the netting.
    pub from_days: f64,
    /// Where it ends, in days from the netting.
    pub to_days: f64,
    /// What it is.
    pub kind: BracketKind,
}

/// What a bracket spans.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BracketKind {
    /// Expected shares under the limits.
    Expected,
    /// Every limit shown to be kept.
    Confident,
    /// The planned drain.
    Drain,
}

/// What a ribbon shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Ribbon {
    /// The nights, in order.
    pub cells: Vec<Cell>,
    /// The limit of the soft share.
    pub soft_limit: f64,
    /// Spans and drain.
    pub brackets: Vec<Bracket>,
}

/// Size of the diagram without the row of gains.
const WIDTH: u32 = 720;
const HEIGHT: u32 = 256;
const GAIN_ROW: u32 = 26;
/// Where the cells begin (the hour of netting) and end.
const LEFT: f64 = 54.0;
const RIGHT: f64 = 648.0;
/// Rows: moons, brackets, chart, marks, dates.
const MOONS: f64 = 14.0;
const BRACKETS: [f64; 3] = [35.0, 53.0, 71.0];
const CHART: [f64; 2] = [94.0, 210.0];
const MARKS: f64 = 222.0;
const LABELS: f64 = 242.0;
/// The axis reaches at least so far, and no further than the second.
const LOWEST_TOP: f64 = 0.2;

impl Ribbon {
    /// How wide one night is.
    fn pitch(&self) -> f64 {
        (RIGHT - LEFT) / (self.cells.len().max(1) as f64 + 0.5)
    }

    /// Where a time lies, in days from the netting.
    fn x(&self, days: f64) -> f64 {
        (LEFT + days * self.pitch()).clamp(LEFT, RIGHT)
    }

    /// The largest share on the axis: a round number above every band.
    fn top(&self) -> f64 {
        let shares = self
            .cells
            .iter()
            .map(|cell| cell.soft.high)
            .chain([1.3 * self.soft_limit, LOWEST_TOP]);
        let highest = shares.fold(0.0, f64::max);
        ((highest * 10.0).ceil() / 10.0).min(1.0)
    }

    fn y(&self, share: f64) -> f64 {
        CHART[1] - (CHART[1] - CHART[0]) * (share / self.top()).clamp(0.0, 1.0)
    }
}

/// The night ribbon, 720 units wide and 256 high, or 282 where gains are known.
pub fn ribbon(shown: &Ribbon, scheme: Scheme) -> Drawing {
    let gains = shown.cells.iter().any(|cell| cell.gain.is_some());
    let height = if gains { HEIGHT + GAIN_ROW } else { HEIGHT };
    let mut drawing = Drawing::blank(WIDTH, height);
    axis(&mut drawing, shown, scheme);
    let every = label_step(shown);
    for (i, cell) in shown.cells.iter().enumerate() {
        night(&mut drawing, shown, cell, scheme);
        if i % every == 0 {
            labels(&mut drawing, shown, cell, scheme);
        }
    }
    limit(&mut drawing, shown, scheme);
    for bracket in &shown.brackets {
        mark_bracket(&mut drawing, shown, bracket, scheme);
    }
    row_names(&mut drawing, gains, scheme);
    drawing
}

/// Every so many cells are labelled, so that labels do not touch.
fn label_step(shown: &Ribbon) -> usize {
    let letters = shown.cells.iter().map(|c| c.label.chars().count()).max();
    let wide = 7.8 * (letters.unwrap_or(1) as f64 + 1.5);
    (wide / shown.pitch()).ceil().max(1.0) as usize
}

fn axis(drawing: &mut Drawing, shown: &Ribbon, scheme: Scheme) {
    let quiet = scheme.of(Role::Quiet);
    let style = Style::plain(12.5, quiet).at(Anchor::End);
    let top = shown.top();
    let step = if top > 0.5 { 0.2 } else { 0.1 };
    let mut share = 0.0;
    while share <= top + 1e-9 {
        let y = shown.y(share);
        let ends = vec![Point::new(LEFT, y), Point::new(RIGHT, y)];
        drawing.line(ends, 0.5, scheme.of(Role::Hairline));
        let at = Point::new(LEFT - 6.0, y);
        drawing.word(at, diagrams::whole_percent(share), style);
        share += step;
    }
    let ends = CHART.map(|y| Point::new(LEFT, y));
    drawing.line(ends.to_vec(), 0.8, quiet);
    let at = Point::new(LEFT, LABELS);
    drawing.word(at, diagrams::NETTED, style.at(Anchor::Middle));
}

fn night(drawing: &mut Drawing, shown: &Ribbon, cell: &Cell, scheme: Scheme) {
    let (x, half) = (shown.x(cell.night as f64), 0.5 * shown.pitch());
    let edge = x + half;
    let ends = CHART.map(|y| Point::new(edge, y));
    drawing.line(ends.to_vec(), 0.4, scheme.of(Role::Hairline));
    let bar = 0.62 * half;
    drawing.rectangle(
        Point::new(x - bar, shown.y(cell.soft.high)),
        Point::new(x + bar, shown.y(cell.soft.low)),
        scheme.of(Role::Band),
    );
    let level = |share: f64, reach: f64| {
        let y = shown.y(share);
        vec![Point::new(x - reach, y), Point::new(x + reach, y)]
    };
    drawing.line(
        level(cell.soft.expected, bar),
        3.0,
        scheme.of(Role::Expected),
    );
    if cell.pessimistic_soft <= shown.top() {
        let y = shown.y(cell.pessimistic_soft);
        let size = 4.0_f64.min(0.5 * bar);
        let corners = [(0.0, -size), (size, size), (-size, size), (0.0, -size)];
        let points = corners.map(|(dx, dy)| Point::new(x + dx, y + dy));
        drawing.line(points.to_vec(), 1.0, scheme.of(Role::Quiet));
    }
    within_mark(
        drawing,
        Point::new(x, MARKS),
        4.5_f64.min(0.7 * half),
        cell,
        scheme,
    );
    if let Some(lit) = cell.moon_lit {
        moon(
            drawing,
            Point::new(x, MOONS),
            9.0_f64.min(0.8 * half),
            lit,
            scheme,
        );
    }
}

/// A full square where within is shown, a hollow one where it is expected, a stroke elsewhere.
fn within_mark(drawing: &mut Drawing, at: Point, half: f64, cell: &Cell, scheme: Scheme) {
    let ink = scheme.of(Role::Words);
    let corner = |dx: f64, dy: f64| at.plus(Point::new(dx * half, dy * half));
    if cell.within_confident {
        drawing.rectangle(corner(-1.0, -1.0), corner(1.0, 1.0), ink);
    } else if cell.within_expected {
        let around = [
            (-1.0, -1.0),
            (1.0, -1.0),
            (1.0, 1.0),
            (-1.0, 1.0),
            (-1.0, -1.0),
        ];
        drawing.line(around.map(|(x, y)| corner(x, y)).to_vec(), 1.2, ink);
    } else {
        let quiet = scheme.of(Role::Quiet);
        drawing.line(vec![corner(-0.7, 0.0), corner(0.7, 0.0)], 1.0, quiet);
    }
}

/// A moon lit from below, as it lies near the equator: it says how much is lit, not which side.
fn moon(drawing: &mut Drawing, centre: Point, radius: f64, lit: f64, scheme: Scheme) {
    drawing.dot(centre, radius, scheme.of(Role::MoonDark));
    // The border between light and dark is half an ellipse whose height runs from -1 to 1 radius.
    let sag = 1.0 - 2.0 * lit.clamp(0.0, 1.0);
    let steps = 24_u32;
    let along = |i: u32| std::f64::consts::PI * f64::from(i) / f64::from(steps);
    let rim = (0..=steps).map(|i| {
        let angle = along(i);
        centre.plus(Point::new(
            radius * libm::cos(angle),
            radius * libm::sin(angle),
        ))
    });
    let terminator = (1..steps).rev().map(|i| {
        let angle = along(i);
        centre.plus(Point::new(
            radius * libm::cos(angle),
            sag * radius * libm::sin(angle),
        ))
    });
    drawing.area(rim.chain(terminator).collect(), scheme.of(Role::MoonLit));
    drawing.hoop(centre, radius, 0.8, scheme.of(Role::Words));
}

fn labels(drawing: &mut Drawing, shown: &Ribbon, cell: &Cell, scheme: Scheme) {
    let x = shown.x(cell.night as f64);
    let style = Style::plain(13.0, scheme.of(Role::Words)).at(Anchor::Middle);
    drawing.word(Point::new(x, LABELS), cell.label.clone(), style);
    if let Some(gain) = cell.gain {
        let at = Point::new(x, LABELS + f64::from(GAIN_ROW) - 4.0);
        drawing.word(at, format!("{gain:+.0}"), style);
    }
}

fn limit(drawing: &mut Drawing, shown: &Ribbon, scheme: Scheme) {
    let y = shown.y(shown.soft_limit);
    let ink = scheme.of(Role::Limit);
    for dash in dashes(Point::new(LEFT, y), Point::new(RIGHT, y), 7.0, 4.0) {
        drawing.line(dash, 1.4, ink);
    }
    let style = Style::plain(12.5, ink).bold();
    let at = Point::new(RIGHT + 5.0, y);
    drawing.word(at, diagrams::limit(shown.soft_limit), style);
}

fn mark_bracket(drawing: &mut Drawing, shown: &Ribbon, bracket: &Bracket, scheme: Scheme) {
    let (row, word, width) = match bracket.kind {
        BracketKind::Drain => (0, diagrams::DRAIN, 1.2),
        BracketKind::Expected => (1, diagrams::EXPECTED_SPAN, 1.2),
        BracketKind::Confident => (2, diagrams::CONFIDENT_SPAN, 3.0),
    };
    let y = BRACKETS[row];
    let (from, to) = (shown.x(bracket.from_days), shown.x(bracket.to_days));
    let ink = scheme.of(Role::Bracket);
    let points = [(from, y + 7.0), (from, y), (to, y), (to, y + 7.0)];
    drawing.line(points.map(|(x, y)| Point::new(x, y)).to_vec(), width, ink);
    // The word stands beside the bracket where there is room.
    let room = RIGHT - to > 150.0;
    let (x, anchor) = if room {
        (to + 8.0, Anchor::Start)
    } else {
        (from - 8.0, Anchor::End)
    };
    drawing.word(
        Point::new(x, y + 3.0),
        word,
        Style::plain(13.0, ink).at(anchor),
    );
    let veil = ink.veiled(0.35);
    for x in [from, to] {
        for dash in dashes(Point::new(x, y + 7.0), Point::new(x, CHART[1]), 2.0, 4.0) {
            drawing.line(dash, 0.8, veil);
        }
    }
}

fn row_names(drawing: &mut Drawing, gains: bool, scheme: Scheme) {
    let style = Style::plain(12.5, scheme.of(Role::Quiet)).at(Anchor::Start);
    drawing.word(Point::new(2.0, MOONS), diagrams::MOON, style);
    drawing.word(
        Point::new(2.0, CHART[0] - 16.0),
        diagrams::SOFT_SHARE,
        style,
    );
    if gains {
        let at = Point::new(2.0, LABELS + f64::from(GAIN_ROW) - 4.0);
        drawing.word(at, diagrams::WAITING, style);
    }
}
