//! The moult ring: the cycle as a circle from moult to moult, clockwise from the top.
//!
//! Arcs are as long as the stages last; each animal is a dot beside the arc of its call, unread
//! ones are hollow and stand apart; the arc that counts as soft is shaded, the one that counts as
//! due is marked; an arrow points where the animals gather, the longer the more they do.

use crate::cycle::arcs::StageArcs;
use crate::drawing::curves::arc;
use crate::drawing::curves::on_circle;
use crate::drawing::curves::sector;
use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Anchor;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Style;
use crate::geometry::Point;
use crate::moult::Stage;
use crate::tally::Tally;
use crate::texts::diagrams;

/// Size of the diagram.
const WIDTH: u32 = 440;
const HEIGHT: u32 = 440;
const CENTRE: Point = Point { x: 220.0, y: 212.0 };
/// The band of stage arcs.
const BAND: [f64; 2] = [120.0, 142.0];
/// Where the mark of a group runs, where codes stand, and where the words of groups stand.
const GROUP_MARK: f64 = 149.0;
const CODES: f64 = 171.0;
const GROUP_WORDS: f64 = 200.0;
/// Dots lie between these radii, the outer ones first.
const DOTS: [f64; 2] = [50.0, 114.0];
/// Radius of a dot where there is room, and how far dots are apart in radii.
const LARGEST_DOT: f64 = 5.6;
const SMALLEST_DOT: f64 = 0.8;
const PITCH: f64 = 2.3;
/// The arrow of animals that are all at one phase is so long.
const LONGEST_ARROW: f64 = 45.0;
/// E is a point of the cycle; its dots have so much of the turn to either side.
const HALF_OF_MOULT: f64 = 0.012;

/// An animal on the ring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dot {
    /// Its call; absent for an unread one.
    pub stage: Option<Stage>,
    /// Where it stands.
    pub at: Point,
    /// How large it is.
    pub radius: f64,
}

/// The moult ring of a tally, 440 by 440 units.
pub fn ring(tally: &Tally, arcs: &StageArcs, scheme: Scheme) -> Drawing {
    let mut drawing = Drawing::blank(WIDTH, HEIGHT);
    shade_groups(&mut drawing, tally, arcs, scheme);
    for stage in Stage::ALL {
        stage_arc(&mut drawing, stage, tally, arcs, scheme);
    }
    moult_mark(&mut drawing, tally, scheme);
    for dot in dots(tally, arcs) {
        let rim = scheme.of(Role::Words);
        if let Some(stage) = dot.stage {
            drawing.dot(dot.at, dot.radius, scheme.stage(stage));
            drawing.hoop(dot.at, dot.radius, (0.16 * dot.radius).min(0.8), rim);
        } else {
            drawing.hoop(dot.at, dot.radius, 1.0, scheme.of(Role::Quiet));
        }
    }
    arrow(&mut drawing, tally, scheme);
    notes(&mut drawing, tally, scheme);
    drawing
}

/// Where each animal of a tally stands on the ring: called ones by stage, then the unread ones.
pub fn dots(tally: &Tally, arcs: &StageArcs) -> Vec<Dot> {
    let count = |stage: Stage| tally.counts.get(&stage).copied().unwrap_or(0) as usize;
    let mut radius = LARGEST_DOT;
    let fits = |radius: f64| {
        Stage::ALL
            .into_iter()
            .all(|s| rows(span(s, arcs), radius).iter().sum::<usize>() >= count(s))
    };
    while radius > SMALLEST_DOT && !fits(radius) {
        radius *= 0.94;
    }
    let mut found = Vec::with_capacity(tally.animals as usize);
    for stage in Stage::ALL {
        let places = places(span(stage, arcs), count(stage), radius);
        found.extend(places.into_iter().map(|at| Dot {
            stage: Some(stage),
            at,
            radius,
        }));
    }
    let hollow = (WIDTH as usize / 2 / tally.unread.max(1) as usize).clamp(2, 12) as f64 / 2.4;
    let left = 20.0 + hollow;
    found.extend((0..tally.unread).map(|i| Dot {
        stage: None,
        at: Point::new(left + i as f64 * 2.4 * hollow, f64::from(HEIGHT) - 14.0),
        radius: hollow,
    }));
    found
}

/// The part of the turn in which the dots of a stage stand.
fn span(stage: Stage, arcs: &StageArcs) -> (f64, f64) {
    let (from, to) = arcs.arc(stage);
    match stage {
        Stage::E => (-HALF_OF_MOULT, HALF_OF_MOULT),
        Stage::A => (from + HALF_OF_MOULT, to.max(from + HALF_OF_MOULT)),
        Stage::D4 => (from.min(to - HALF_OF_MOULT), to - HALF_OF_MOULT),
        _ => (from, to),
    }
}

fn row_radius(row: usize, radius: f64) -> f64 {
    DOTS[1] - radius - row as f64 * PITCH * radius
}

/// How many dots each row holds, the outer row first.
fn rows((from, to): (f64, f64), radius: f64) -> Vec<usize> {
    let deep = ((DOTS[1] - DOTS[0]) / (PITCH * radius)).floor() as usize;
    (0..deep)
        .map(|row| {
            let length = std::f64::consts::TAU * row_radius(row, radius) * (to - from);
            ((length / (PITCH * radius)).floor() as usize).max(1)
        })
        .collect()
}

fn places((from, to): (f64, f64), count: usize, radius: f64) -> Vec<Point> {
    let mut left = count;
    let mut found = Vec::with_capacity(count);
    let held = rows((from, to), radius);
    let last = held.len().saturating_sub(1);
    for (row, slots) in held.into_iter().enumerate() {
        // What fits nowhere stands in the last row, closer together.
        let here = if row == last { left } else { left.min(slots) };
        let r = row_radius(row, radius);
        let usual = PITCH * radius / (std::f64::consts::TAU * r);
        let step = usual.min((to - from) / here.max(1) as f64);
        found.extend((0..here).map(|i| {
            let off = i as f64 - (here as f64 - 1.0) / 2.0;
            on_circle(CENTRE, r, f64::midpoint(from, to) + off * step)
        }));
        left -= here;
    }
    found
}

/// The runs of neighbouring stages of a group, as phases; E joins what lies beside it.
fn runs(stages: Option<&Vec<Stage>>, arcs: &StageArcs) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    let named = stages.map_or(&[][..], Vec::as_slice);
    for stage in Stage::ALL
        .into_iter()
        .filter(|s| *s != Stage::E && named.contains(s))
    {
        let (from, to) = arcs.arc(stage);
        match found.last_mut() {
            Some(last) if (last.1 - from).abs() < 1e-9 => last.1 = to,
            _ => found.push((from, to)),
        }
    }
    found
}

/// Lines across a shade are so far apart, as parts of the turn: grey print shows it too.
const HATCH: f64 = 0.012;

fn shade_groups(drawing: &mut Drawing, tally: &Tally, arcs: &StageArcs, scheme: Scheme) {
    for (from, to) in runs(tally.soft.stages.as_ref(), arcs) {
        let border = sector(CENTRE, [LONGEST_ARROW, BAND[0]], from, to);
        drawing.area(border, scheme.of(Role::SoftShade));
        let lines = ((to - from) / HATCH).floor() as usize;
        for i in 0..=lines {
            let phase = from + i as f64 * HATCH;
            let ends = [DOTS[0], BAND[0]].map(|r| on_circle(CENTRE, r, phase));
            drawing.line(ends.to_vec(), 0.5, scheme.of(Role::Hairline));
        }
        group_mark(drawing, (from, to), 3.0, diagrams::SOFT, scheme);
    }
    for run in runs(tally.due.stages.as_ref(), arcs) {
        group_mark(drawing, run, 1.0, diagrams::DUE, scheme);
    }
}

/// A mark outside of the band along a group, with its word.
fn group_mark(
    drawing: &mut Drawing,
    (from, to): (f64, f64),
    width: f64,
    word: &str,
    scheme: Scheme,
) {
    let ink = scheme.of(Role::Words);
    let inset = 0.003;
    drawing.line(
        arc(CENTRE, GROUP_MARK, from + inset, to - inset),
        width,
        ink,
    );
    for end in [from + inset, to - inset] {
        let ends = [GROUP_MARK - 4.0, GROUP_MARK].map(|r| on_circle(CENTRE, r, end));
        drawing.line(ends.to_vec(), 1.0, ink);
    }
    let middle = f64::midpoint(from, to).rem_euclid(1.0);
    let at = on_circle(CENTRE, GROUP_WORDS, middle);
    let anchor = if middle < 0.5 {
        Anchor::Start
    } else {
        Anchor::End
    };
    drawing.word(at, word, Style::plain(16.0, ink).at(anchor));
}

fn stage_arc(drawing: &mut Drawing, stage: Stage, tally: &Tally, arcs: &StageArcs, scheme: Scheme) {
    let (from, to) = arcs.arc(stage);
    if to <= from {
        return;
    }
    drawing.area(sector(CENTRE, BAND, from, to), scheme.stage(stage));
    let ends = BAND.map(|r| on_circle(CENTRE, r, from));
    drawing.line(ends.to_vec(), 1.5, scheme.of(Role::Ground));
    let count = tally.counts.get(&stage).copied().unwrap_or(0);
    let at = on_circle(CENTRE, CODES, f64::midpoint(from, to));
    code(drawing, at, stage, count, scheme);
}

/// A code with its count beneath: bold where there are animals.
fn code(drawing: &mut Drawing, at: Point, stage: Stage, count: u64, scheme: Scheme) {
    let words = Style::plain(18.0, scheme.of(Role::Words)).at(Anchor::Middle);
    let quiet = Style::plain(15.0, scheme.of(Role::Quiet)).at(Anchor::Middle);
    let (above, below) = (
        at.plus(Point::new(0.0, -8.5)),
        at.plus(Point::new(0.0, 8.5)),
    );
    if count > 0 {
        drawing.word(above, stage.code(), words.bold());
        drawing.word(
            below,
            count.to_string(),
            Style {
                size: 15.0,
                ..words
            },
        );
    } else {
        drawing.word(above, stage.code(), quiet);
        drawing.word(below, "0", quiet);
    }
}

fn moult_mark(drawing: &mut Drawing, tally: &Tally, scheme: Scheme) {
    let ink = scheme.of(Role::Words);
    let ends = [BAND[0] - 4.0, BAND[1] + 8.0].map(|r| on_circle(CENTRE, r, 0.0));
    drawing.line(ends.to_vec(), 2.0, ink);
    let count = tally.counts.get(&Stage::E).copied().unwrap_or(0);
    code(
        drawing,
        on_circle(CENTRE, CODES, 0.0),
        Stage::E,
        count,
        scheme,
    );
    let at = on_circle(CENTRE, CODES + 26.0, 0.0);
    let style = Style::plain(14.0, scheme.of(Role::Quiet)).at(Anchor::Middle);
    drawing.word(at, diagrams::MOULT, style);
}

fn arrow(drawing: &mut Drawing, tally: &Tally, scheme: Scheme) {
    drawing.hoop(CENTRE, LONGEST_ARROW, 0.6, scheme.of(Role::Hairline));
    drawing.dot(CENTRE, 2.2, scheme.of(Role::Arrow));
    let Some(found) = &tally.synchrony else {
        return;
    };
    let Some(phase) = found.mean_phase else {
        return;
    };
    let length = LONGEST_ARROW * found.resultant;
    let tip = on_circle(CENTRE, length, phase);
    let ink = scheme.of(Role::Arrow);
    drawing.line(vec![CENTRE, tip], 2.4, ink);
    let along = tip.minus(CENTRE).unit();
    let across = along.turned();
    let head = 9.0_f64.min(length);
    let foot = tip.minus(along.times(head));
    let sides = [across.times(0.5 * head), across.times(-0.5 * head)];
    let corners = [
        tip.plus(along.times(1.5)),
        foot.plus(sides[0]),
        foot.plus(sides[1]),
    ];
    drawing.area(corners.to_vec(), ink);
}

fn notes(drawing: &mut Drawing, tally: &Tally, scheme: Scheme) {
    let y = f64::from(HEIGHT) - 14.0;
    let style = Style::plain(16.0, scheme.of(Role::Words)).at(Anchor::End);
    let right = f64::from(WIDTH) - 20.0;
    if let Some(found) = &tally.synchrony {
        drawing.word(Point::new(right, y), diagrams::synchrony(found), style);
    }
    if tally.unread > 0 {
        let at = Point::new(20.0, y - 20.0);
        drawing.word(at, diagrams::unread(tally.unread), style.at(Anchor::Start));
    }
}
