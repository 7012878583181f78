//! What the criteria of a stage are drawn at, and the stage that a set of criteria means.

use crate::anatomy::Criteria;
use crate::anatomy::Span;
use crate::anatomy::WIDEST_GAP_BASE_WIDTHS;
use crate::anatomy::criteria;
use crate::moult::Stage;
use crate::painter::dice::Dice;

/// The criteria of one animal; lengths in base widths, amounts 0 to 1 as in the anatomy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Values {
    /// Pigment in the base.
    pub base_pigment: f64,
    /// Pigment up the lumen.
    pub lumen_pigment: f64,
    /// Definition of the base line and the cones.
    pub line: f64,
    /// Gap from the base line to the epidermis.
    pub gap: f64,
    /// Depth of the scallops.
    pub scallop: f64,
    /// New setae beneath the epidermis.
    pub new_seta: f64,
}

/// Least distance of a clear tip from the borders of its stage, as a part of the span.
pub const CLEAR_INSET: f64 = 0.15;

impl Values {
    /// The values at `fraction` of every span of a stage; `None` for E.
    pub fn at(stage: Stage, fraction: f64) -> Option<Self> {
        criteria(stage).map(|row| Self::from_spans(row, &mut |span| span.at(fraction)))
    }

    /// Values drawn well inside every span of `row`, or near a border where `near`.
    pub(crate) fn draw(row: &Criteria, near: bool, dice: &mut Dice) -> Self {
        let mut values = Self::from_spans(row, &mut |span| {
            span.at(dice.between(CLEAR_INSET, 1.0 - CLEAR_INSET))
        });
        if near {
            let edge = dice.between(0.0, CLEAR_INSET);
            let late = dice.chance(0.5);
            let fraction = if late { 1.0 - edge } else { edge };
            values.move_deciding(row, fraction);
        }
        values
    }

    /// Values on the way from one stage to the next, `toward` of the way (0.5 = at the border).
    pub(crate) fn between(a: &Self, b: &Self, toward: f64) -> Self {
        let mix = |x: f64, y: f64| x + (y - x) * (0.25 + 0.5 * toward);
        Self {
            base_pigment: mix(a.base_pigment, b.base_pigment),
            lumen_pigment: mix(a.lumen_pigment, b.lumen_pigment),
            line: mix(a.line, b.line),
            gap: mix(a.gap, b.gap),
            scallop: mix(a.scallop, b.scallop),
            new_seta: mix(a.new_seta, b.new_seta),
        }
    }

    fn from_spans(row: &Criteria, draw: &mut impl FnMut(&Span) -> f64) -> Self {
        Self {
            base_pigment: draw(&row.base_pigment),
            lumen_pigment: draw(&row.lumen_pigment),
            line: draw(&row.base_line),
            gap: draw(&row.gap),
            scallop: draw(&row.scallop),
            new_seta: draw(&row.new_setae),
        }
    }

    fn move_deciding(&mut self, row: &Criteria, fraction: f64) {
        match row.stage {
            Stage::A | Stage::B => {
                self.base_pigment = row.base_pigment.at(1.0 - fraction);
                self.lumen_pigment = row.lumen_pigment.at(1.0 - fraction);
                self.line = row.base_line.at(fraction);
            }
            _ => {
                self.gap = row.gap.at(fraction);
                self.scallop = row.scallop.at(fraction);
                self.new_seta = row.new_setae.at(fraction);
            }
        }
    }

    /// Says whether every deciding measure lies `inset` of its span inside the borders of `stage`.
    pub fn holds(&self, stage: Stage, inset: f64) -> bool {
        let Some(row) = criteria(stage) else {
            return false;
        };
        let inside = |span: &Span, value: f64| span.holds(value, inset - 1e-9);
        inside(&row.base_pigment, self.base_pigment)
            && inside(&row.lumen_pigment, self.lumen_pigment)
            && inside(&row.base_line, self.line)
            && inside(&row.gap, self.gap)
            && inside(&row.scallop, self.scallop)
            && inside(&row.new_setae, self.new_seta)
    }

    /// The stage that these criteria mean, also where they disagree.
    ///
    /// C needs a clear base and a crisp line; with one missing it is B. Scallops and new setae
    /// decide D1, D2 and D3 before the gap does.
    ///
    /// # Source
    /// The rule beside the anatomy's table (`docs/decisions/0001-anatomy-in-numbers.md`).
    pub fn stage(&self) -> Stage {
        if self.base_pigment > 0.5 && self.lumen_pigment > 0.5 {
            return Stage::A;
        }
        if self.new_seta >= 0.85 {
            return Stage::D3;
        }
        if self.new_seta >= 0.45 {
            return Stage::D2;
        }
        if self.new_seta >= 0.05 && self.scallop >= 0.2 {
            return Stage::D1;
        }
        if self.base_pigment > 0.14 || self.lumen_pigment > 0.08 || self.line < 0.65 {
            return Stage::B;
        }
        if self.gap > 0.6 { Stage::D0 } else { Stage::C }
    }
}

/// Criteria that disagree with each other and still mean `stage`; `None` where no pair is known.
pub(crate) fn out_of_step(stage: Stage, dice: &mut Dice) -> Option<Values> {
    let mut values = Values::draw(criteria(stage)?, false, dice);
    match stage {
        Stage::B => {
            let clear = Values::draw(criteria(Stage::C)?, false, dice);
            match dice.index(3) {
                0 => values.line = clear.line,
                1 => {
                    values.base_pigment = clear.base_pigment;
                    values.lumen_pigment = clear.lumen_pigment;
                }
                _ => values.gap = dice.between(0.7, 1.4),
            }
        }
        Stage::D0 => values.gap = dice.between(2.0, 3.4),
        Stage::D1 if dice.chance(0.5) => values.gap = dice.between(0.9, 1.6),
        Stage::D1 => values.gap = dice.between(4.3, 5.8),
        Stage::D2 if dice.chance(0.5) => values.gap = dice.between(2.4, 3.5),
        Stage::D2 => values.gap = dice.between(7.0, 9.0),
        Stage::D3 => values.gap = dice.between(4.3, 6.0).min(WIDEST_GAP_BASE_WIDTHS),
        Stage::A | Stage::C | Stage::D4 | Stage::E => return None,
    }
    Some(values)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_clear_draw_means_its_own_stage() {
        let mut dice = Dice::new(3);
        for stage in Stage::PROPOSED {
            for _ in 0..200 {
                let values = Values::draw(criteria(stage).unwrap(), false, &mut dice);
                assert_eq!(values.stage(), stage, "{values:?}");
                assert!(values.holds(stage, CLEAR_INSET), "{values:?}");
            }
        }
    }

    #[test]
    fn criteria_out_of_step_mean_the_stage_asked_for_and_lie_outside_its_table() {
        let mut dice = Dice::new(4);
        for stage in [Stage::B, Stage::D0, Stage::D1, Stage::D2, Stage::D3] {
            for _ in 0..100 {
                let values = out_of_step(stage, &mut dice).unwrap();
                assert_eq!(values.stage(), stage, "{values:?}");
                assert!(!values.holds(stage, 0.0), "{values:?}");
            }
        }
    }
}
