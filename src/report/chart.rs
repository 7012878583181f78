//! The stage key for the wall.

use crate::anatomy::WIDEST_GAP_BASE_WIDTHS;
use crate::anatomy::criteria;
use crate::drawing::key::Parts;
use crate::drawing::key::key;
use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Drawing;
use crate::geometry::Point;
use crate::moult::Stage;
use crate::report::About;
use crate::report::Paper;
use crate::report::ReportError;
use crate::report::sheet::Flow;
use crate::report::typeset::Face;
use crate::report::write::write;
use crate::texts;

/// Stages side by side.
const COLUMNS: usize = 3;
const GAP: f32 = 14.0;
/// Width of a drawing at scale 1.
const DRAWING: f32 = 170.0;

/// The wall chart as a PDF file: one sheet with every stage, what to look for, and where each
/// sentence is from.
///
/// # Errors
/// [`ReportError`] when the document breaks a rule of its format.
pub fn wall_chart(about: &About, paper: Paper) -> Result<Vec<u8>, ReportError> {
    // Letters grow with the sheet, so that an A3 chart is an A4 chart seen from further away; on a
    // shorter sheet everything shrinks until it fits.
    let mut scale = paper.points()[0] / Paper::A4.points()[0];
    let mut flow = lay_out(paper, scale);
    for _ in 0..MOST_STEPS {
        if flow.sheets.len() == 1 {
            break;
        }
        scale *= STEP;
        flow = lay_out(paper, scale);
    }
    write(flow, about)
}

/// How much everything shrinks at once, and how often at most.
const STEP: f32 = 0.97;
const MOST_STEPS: usize = 14;

fn lay_out(paper: Paper, scale: f32) -> Flow {
    let mut flow = Flow::new(paper);
    let face = |size: f32, strong: bool| Face {
        size: scale * size,
        strong,
    };
    flow.heading(1, texts::key::TITLE, face(16.0, true));
    flow.paragraph(texts::key::SUBTITLE, face(7.6, false), Role::Words);
    flow.paragraph(texts::key::OWN_RULE, face(7.6, true), Role::Words);
    flow.space(3.0 * scale);
    let width = (flow.width() - GAP * (COLUMNS as f32 - 1.0)) / COLUMNS as f32;
    for row in Stage::ALL.chunks(COLUMNS) {
        let top = flow.y();
        let mut lowest = top;
        for (i, stage) in row.iter().enumerate() {
            flow.go_to(top);
            let ((), end) = flow.column(i as f32 * (width + GAP), width, |flow| {
                one_stage(flow, *stage, scale);
            });
            lowest = lowest.max(end);
        }
        flow.go_to(lowest + 2.0 * scale);
    }
    flow.paragraph(texts::key::DISAGREE, face(7.6, true), Role::Words);
    flow.paragraph(texts::key::SOURCES_NOTE, face(6.0, false), Role::Words);
    for (number, source) in texts::key::SOURCES.iter().enumerate() {
        let line = format!("{} {source}", number + 1);
        flow.paragraph(&line, face(6.0, false), Role::Words);
    }
    flow
}

fn one_stage(flow: &mut Flow, stage: Stage, scale: f32) {
    let face = |size: f32, strong: bool| Face {
        size: scale * size,
        strong,
    };
    let title = format!("{stage}  {}", texts::key::name(stage));
    flow.heading(2, &title, face(10.5, true));
    flow.drawing(chip(stage), texts::key::hardness(stage));
    let drawing = key(stage, Parts::Named, Scheme::Paper);
    // The drawing shrinks with the letters.
    let width = flow.width().min(DRAWING * scale);
    let ((), _) = flow.column(0.0, width, |flow| {
        flow.drawing(drawing, texts::key::drawing(stage));
    });
    flow.space(2.0 * scale);
    let mut said: Vec<String> = texts::key::criteria(stage)
        .iter()
        .map(|one| format!("{}: {} [{}]", one.of, one.text, one.source.mark()))
        .collect();
    if let Some(rule) = criteria(stage).filter(|_| stage != Stage::D4) {
        let open = rule.gap.high >= WIDEST_GAP_BASE_WIDTHS;
        let gap = texts::key::gap_rule(rule.gap.low, rule.gap.high, open);
        said.push(format!("{gap} [{}]", texts::key::Source::Own.mark()));
    }
    for one in said {
        flow.paragraph(&one, face(6.3, false), Role::Words);
    }
}

/// A band in the colour of the stage, as the ring has it; its code stands above.
fn chip(stage: Stage) -> Drawing {
    let mut drawing = Drawing::blank(610, 12);
    let end = Point::new(610.0, 12.0);
    drawing.rectangle(Point::new(0.0, 0.0), end, Scheme::Paper.stage(stage));
    drawing
}
