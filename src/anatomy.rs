//! The rule that links what is seen at the setal bases to the stages, as data.
//!
//! Lengths are in base widths. Amounts of pigment are on the painter's scale, where 1 is the full
//! matrix just after the moult. The numbers are the middles of borders that overlap in nature.
//!
//! # Source
//! The criteria in words follow the published keys listed in `docs/methods.md`; the numbers are our
//! own choice, since no published limit exists (`docs/decisions/0001-anatomy-in-numbers.md`).

use crate::moult::Stage;
use serde::Serialize;

/// A closed range of one criterion.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Span {
    /// Lower border.
    pub low: f64,
    /// Upper border.
    pub high: f64,
}

impl Span {
    const fn new(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    /// Says whether `value` lies at least `inset` of the span's length inside its borders.
    pub fn holds(&self, value: f64, inset: f64) -> bool {
        let margin = (self.high - self.low) * inset;
        (self.low + margin..=self.high - margin).contains(&value)
    }

    /// The point at `fraction` (0 = low, 1 = high) of the span.
    pub fn at(&self, fraction: f64) -> f64 {
        self.low + (self.high - self.low) * fraction
    }
}

/// How the pigmented edge of the epidermis looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EdgeForm {
    /// No edge: the tissue runs into the bases.
    None,
    /// In pieces.
    Broken,
    /// Sharp, on the bases.
    OnBases,
    /// Sharp and smooth, off the bases.
    Smooth,
    /// One notch per seta.
    Scalloped,
}

/// What the setal bases of one stage look like.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Criteria {
    /// The stage.
    pub stage: Stage,
    /// Pigment in the base, 0 to 1.
    pub base_pigment: Span,
    /// Pigment up the lumen of the shaft, 0 to 1.
    pub lumen_pigment: Span,
    /// Definition of the base line and cones, 0 (none) to 1 (crisp).
    pub base_line: Span,
    /// Gap from the base line to the epidermis, in base widths.
    pub gap: Span,
    /// Depth of the scallops of the epidermis, in base widths.
    pub scallop: Span,
    /// New setae beneath the epidermis, 0 (none) to 1 (dense).
    pub new_setae: Span,
    /// Form of the epidermis' edge.
    pub edge: EdgeForm,
}

/// Widest gap that the rule names, in base widths: the open end of D3 stops here.
pub const WIDEST_GAP_BASE_WIDTHS: f64 = 10.5;

/// The criteria of the stages A to D3, in cycle order.
pub const CRITERIA: [Criteria; 7] = [
    Criteria {
        stage: Stage::A,
        base_pigment: Span::new(0.5, 1.0),
        lumen_pigment: Span::new(0.5, 1.0),
        base_line: Span::new(0.0, 0.1),
        gap: Span::new(0.0, 0.0),
        scallop: Span::new(0.0, 0.0),
        new_setae: Span::new(0.0, 0.0),
        edge: EdgeForm::None,
    },
    Criteria {
        stage: Stage::B,
        base_pigment: Span::new(0.14, 0.5),
        lumen_pigment: Span::new(0.08, 0.5),
        base_line: Span::new(0.1, 0.65),
        gap: Span::new(0.0, 0.1),
        scallop: Span::new(0.0, 0.0),
        new_setae: Span::new(0.0, 0.0),
        edge: EdgeForm::Broken,
    },
    Criteria {
        stage: Stage::C,
        base_pigment: Span::new(0.0, 0.14),
        lumen_pigment: Span::new(0.0, 0.08),
        base_line: Span::new(0.65, 1.0),
        gap: Span::new(0.0, 0.6),
        scallop: Span::new(0.0, 0.1),
        new_setae: Span::new(0.0, 0.0),
        edge: EdgeForm::OnBases,
    },
    Criteria {
        stage: Stage::D0,
        base_pigment: Span::new(0.0, 0.1),
        lumen_pigment: Span::new(0.0, 0.05),
        base_line: Span::new(0.65, 1.0),
        gap: Span::new(0.6, 1.8),
        scallop: Span::new(0.0, 0.2),
        new_setae: Span::new(0.0, 0.0),
        edge: EdgeForm::Smooth,
    },
    Criteria {
        stage: Stage::D1,
        base_pigment: Span::new(0.0, 0.1),
        lumen_pigment: Span::new(0.0, 0.05),
        base_line: Span::new(0.65, 1.0),
        gap: Span::new(1.8, 3.9),
        scallop: Span::new(0.2, 0.9),
        new_setae: Span::new(0.05, 0.45),
        edge: EdgeForm::Scalloped,
    },
    Criteria {
        stage: Stage::D2,
        base_pigment: Span::new(0.0, 0.1),
        lumen_pigment: Span::new(0.0, 0.05),
        base_line: Span::new(0.6, 1.0),
        gap: Span::new(3.9, 6.5),
        scallop: Span::new(0.4, 1.3),
        new_setae: Span::new(0.45, 0.85),
        edge: EdgeForm::Scalloped,
    },
    Criteria {
        stage: Stage::D3,
        base_pigment: Span::new(0.0, 0.1),
        lumen_pigment: Span::new(0.0, 0.05),
        base_line: Span::new(0.4, 1.0),
        gap: Span::new(6.5, WIDEST_GAP_BASE_WIDTHS),
        scallop: Span::new(0.4, 1.6),
        new_setae: Span::new(0.85, 1.0),
        edge: EdgeForm::Scalloped,
    },
];

/// The criteria of one stage; D4 looks like D3 at the bases, and E has no criteria of its own.
pub fn criteria(stage: Stage) -> Option<&'static Criteria> {
    let proposed = stage.as_proposed()?;
    CRITERIA.iter().find(|row| row.stage == proposed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gap_borders_of_neighbouring_stages_meet() {
        for pair in CRITERIA[2..].windows(2) {
            assert_eq!(pair[0].gap.high, pair[1].gap.low);
        }
    }

    #[test]
    fn every_proposed_stage_has_criteria_in_cycle_order() {
        for (row, stage) in CRITERIA.iter().zip(Stage::PROPOSED) {
            assert_eq!(row.stage, stage);
        }
    }
}
