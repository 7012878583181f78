//! The drawing of a stage for the stage key: a row of setal bases as the anatomy in numbers has
//! it, by our own hand.
//!
//! Setae point up, tissue lies below. Every drawing has the same scale, so that gaps can be
//! compared from stage to stage.

mod marks;
mod tip;

use crate::anatomy::Criteria;
use crate::anatomy::EdgeForm;
use crate::anatomy::WIDEST_GAP_BASE_WIDTHS;
use crate::anatomy::criteria;
use crate::drawing::key::marks::call_out;
use crate::drawing::key::tip::Sheet;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Drawing;
use crate::moult::Stage;

/// Width of a drawing without its words.
pub const WIDTH: u32 = 420;
/// Height of a drawing.
pub const HEIGHT: u32 = 346;
/// Width that the words beside it take.
pub const WORDS_WIDTH: u32 = 190;

/// Says whether a drawing names its parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parts {
    /// Drawing only.
    Unnamed,
    /// Each part with its word, to the right.
    Named,
}

/// What is drawn of one stage; lengths in base widths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::drawing) struct Look {
    pub(in crate::drawing) stage: Stage,
    pub(in crate::drawing) base_pigment: f64,
    pub(in crate::drawing) lumen_pigment: f64,
    pub(in crate::drawing) base_line: f64,
    pub(in crate::drawing) gap: f64,
    pub(in crate::drawing) scallop: f64,
    pub(in crate::drawing) new_setae: f64,
    pub(in crate::drawing) edge: EdgeForm,
    /// How far the old cuticle has lifted off and lies askew, 0 to 1.
    pub(in crate::drawing) lifted: f64,
}

impl Look {
    /// The middle of each of the stage's criteria; D4 and E, which have none of their own, are
    /// drawn on from D3.
    pub(in crate::drawing) fn of(stage: Stage) -> Option<Self> {
        let rule: &Criteria = criteria(stage).or_else(|| criteria(Stage::D3))?;
        let middle = |span: crate::anatomy::Span| span.at(0.5);
        let mut look = Self {
            stage,
            base_pigment: middle(rule.base_pigment),
            lumen_pigment: middle(rule.lumen_pigment),
            base_line: middle(rule.base_line),
            gap: middle(rule.gap),
            scallop: middle(rule.scallop),
            new_setae: middle(rule.new_setae),
            edge: rule.edge,
            lifted: 0.0,
        };
        if rule.base_line.high >= 1.0 {
            // From C on the bases are clear and the line is crisp: the drawing shows the best case.
            look.base_pigment = 0.0;
            look.lumen_pigment = 0.0;
            look.base_line = 1.0;
        }
        match stage {
            Stage::D4 => {
                look.gap = WIDEST_GAP_BASE_WIDTHS - 0.5;
                look.lifted = 0.4;
            }
            Stage::E => {
                look.gap = WIDEST_GAP_BASE_WIDTHS + 1.0;
                look.lifted = 1.0;
                look.base_line = 0.5;
            }
            _ => {}
        }
        Some(look)
    }
}

/// The drawing of a stage, [`WIDTH`] by [`HEIGHT`] units, wider by [`WORDS_WIDTH`] when its parts
/// are named.
pub fn key(stage: Stage, parts: Parts, scheme: Scheme) -> Drawing {
    let width = match parts {
        Parts::Unnamed => WIDTH,
        Parts::Named => WIDTH + WORDS_WIDTH,
    };
    let mut drawing = Drawing::blank(width, HEIGHT);
    if let Some(look) = Look::of(stage) {
        let sheet = Sheet::new(look, scheme);
        sheet.draw(&mut drawing);
        if parts == Parts::Named {
            call_out(&sheet, &mut drawing);
        }
    }
    drawing
}
