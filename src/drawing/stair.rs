//! The stair: one step per stage in cycle order, as long as the stage is probable.

use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Anchor;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Style;
use crate::geometry::Point;
use crate::moult::Stage;
use crate::texts::diagrams;
use std::collections::BTreeMap;

const WIDTH: u32 = 300;
/// Height of a step.
const RISE: f64 = 24.0;
const TOP: f64 = 6.0;
/// The treads together reach from here to there.
const LEFT: f64 = 40.0;
const RIGHT: f64 = 240.0;

/// The stair of a proposal, 300 units wide: the stage proposed is bold; where there is none, no
/// step is. The stage that was called, if any, has a mark before it.
pub fn stair(
    probabilities: &BTreeMap<Stage, f64>,
    proposal: Option<Stage>,
    called: Option<Stage>,
    scheme: Scheme,
) -> Drawing {
    let height = 2.0 * TOP + RISE * Stage::PROPOSED.len() as f64;
    let mut drawing = Drawing::blank(WIDTH, height.ceil() as u32);
    let all: f64 = probabilities.values().sum();
    let mut from = LEFT;
    for (i, stage) in Stage::PROPOSED.into_iter().enumerate() {
        let p = probabilities.get(&stage).copied().unwrap_or(0.0);
        let part = if all > 0.0 { p / all } else { 0.0 };
        let to = from + part * (RIGHT - LEFT);
        let top = TOP + RISE * i as f64;
        step(&mut drawing, stage, [from, to], top, scheme);
        let ink = scheme.of(Role::Words);
        let quiet = scheme.of(Role::Quiet);
        let chosen = proposal == Some(stage);
        let style = if chosen {
            Style::plain(15.0, ink).bold()
        } else {
            Style::plain(14.0, quiet)
        };
        let y = top + 0.5 * RISE;
        drawing.word(Point::new(14.0, y), stage.code(), style);
        let at = Point::new(f64::from(WIDTH) - 4.0, y);
        drawing.word(at, diagrams::whole_percent(p), style.at(Anchor::End));
        if called.and_then(Stage::as_proposed) == Some(stage) {
            let corners = [(2.0, y - 5.0), (9.0, y), (2.0, y + 5.0)];
            drawing.area(corners.map(|(x, y)| Point::new(x, y)).to_vec(), ink);
        }
        from = to;
    }
    drawing
}

/// A tread in the colour of its stage, over a fine line on its level, and the riser down to the
/// next.
fn step(drawing: &mut Drawing, stage: Stage, [from, to]: [f64; 2], top: f64, scheme: Scheme) {
    let tread = top + 0.5 * RISE;
    let level = vec![Point::new(LEFT, tread), Point::new(RIGHT, tread)];
    drawing.line(level, 0.5, scheme.of(Role::Hairline));
    let ink = scheme.of(Role::Words);
    drawing.rectangle(
        Point::new(from, tread - 6.0),
        Point::new(to, tread + 6.0),
        scheme.stage(stage),
    );
    let outline = [
        (from, tread - 6.0),
        (to, tread - 6.0),
        (to, tread + 6.0),
        (from, tread + 6.0),
        (from, tread - 6.0),
    ];
    drawing.line(outline.map(|(x, y)| Point::new(x, y)).to_vec(), 0.8, ink);
    if stage != Stage::D3 {
        let riser = vec![
            Point::new(to, tread + 6.0),
            Point::new(to, tread + RISE - 6.0),
        ];
        drawing.line(riser, 0.8, ink);
    }
}
