//! The limits that turn an opinion into a proposal, "cannot tell" or a call for a second reader.
//!
//! All of them are set on photos of conditions that the fit had not seen: on photos of the same look
//! a model is always too sure.

use crate::moult::Hardness;
use crate::moult::Stage;
use crate::stage::calibration::Calibration;
use crate::stage::calibration::Unseen;
use crate::stage::core::Opinion;
use crate::stage::core::top;
use crate::stage::witness::QUESTIONS;
use crate::stage::witness::group_share;
use crate::statistics::robust::quantile;
use serde::Deserialize;
use serde::Serialize;

/// Part of the rightly read photos of unseen conditions that may count as too far.
const FAR_SHARE: f64 = 0.01;
/// Soft errors among proposals that are aimed at.
const SOFT_ERRORS_AIM: f64 = 0.002;
/// Least probability of being soft for a stage that is. Our choice: the limit for the others is set on what
/// was left out, since on them a pond is drained.
const LEAST_SOFT: f64 = 0.6;
/// Most photos of one stage that may end in "cannot tell".
const CANNOT_TELL_MOST: f64 = 0.04;
/// Clear photos that each of the rules on setae and criteria may mark.
const MARKED_BY_RULE: f64 = 0.004;
/// Clear photos that may be marked for a second reader in all.
const CLEAR_MARKED_MOST: f64 = 0.097;
/// Clear photos that the rule on any border may mark: the border of soft, on which a pond is drained, has
/// the rest to itself.
const MARKED_AT_ANY: f64 = 0.078;
/// A stage that is hardly more probable than all others together is always for a second reader.
const HARDLY_SURE: f64 = 0.5;
/// Photos between B and C to be marked.
const SOFT_BORDER_AIM: f64 = 0.88;
/// Photos between any two stages to be marked.
const BETWEEN_AIM: f64 = 0.70;

/// The groups whose border the setae of one photo may lie on both sides of.
const BORDERS: [Hardness; 2] = [Hardness::Soft, Hardness::Due];

/// What is known about a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// Its stage, as a position in the list of stages.
    Stage {
        /// The position.
        class: usize,
        /// No measure lies near a border, and no criterion contradicts another.
        clear: bool,
    },
    /// It lies between a stage and the next.
    Between {
        /// The earlier one, as a position in the list of stages.
        after: usize,
    },
}

/// A photo of a condition that the fit had not seen.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// What the fit says.
    pub opinion: Opinion,
    /// What is true.
    pub known: Known,
}

/// The limits of a model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Makes probabilities of log-odds.
    pub calibration: Calibration,
    /// Largest distance from what was fitted; farther is "cannot tell".
    pub distance: f64,
    /// Least probability of a stage to be proposed.
    pub least_top: f64,
    /// Least probability of not being soft for a stage that is not.
    pub least_hard: f64,
    /// Below this probability of the stage a second reader is asked.
    pub sure: f64,
    /// Below this probability of being soft, or of not being soft, a second reader is asked.
    pub sure_of_side: f64,
    /// Probability of lying at a border from which on a second reader is asked: at that of soft, and at
    /// any.
    pub border: [f64; 2],
    /// Shares of setae beyond the border of soft and of due at which a second reader is asked.
    pub split: Vec<f64>,
    /// Contradictions of the criteria at which a second reader is asked, one for each question.
    pub contradiction: Vec<f64>,
}

/// What the limits make of an opinion.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// Probability of each stage.
    pub probabilities: Vec<f64>,
    /// The most probable stage.
    pub best: usize,
    /// The next.
    pub runner_up: usize,
    /// Distance divided by its limit.
    pub novelty: f64,
    /// Whether `best` may be proposed.
    pub told: bool,
    /// Whether a second reader should look.
    pub second_reader: bool,
}

impl Limits {
    /// Judges an opinion.
    pub fn judge(&self, stages: &[Stage], opinion: &Opinion) -> Judgement {
        let weighed = Weighed::of(&self.calibration, stages, opinion);
        Judgement {
            best: weighed.best,
            runner_up: weighed.runner_up(),
            novelty: weighed.distance / self.distance,
            told: self.tells(&weighed),
            second_reader: self.wants_second(&weighed),
            probabilities: weighed.probabilities,
        }
    }

    /// Whether the most probable stage may be proposed.
    fn tells(&self, of: &Weighed) -> bool {
        of.distance / self.distance <= 1.0
            && of.most >= self.least_top
            && of.side >= if of.soft { LEAST_SOFT } else { self.least_hard }
    }

    /// Whether a second reader should look.
    fn wants_second(&self, of: &Weighed) -> bool {
        let over = |values: &[f64], limits: &[f64]| values.iter().zip(limits).any(|(v, l)| v > l);
        !self.tells(of)
            || of.most < self.sure
            || of.side < self.sure_of_side
            || over(&of.borders, &self.border)
            || over(&of.split, &self.split)
            || over(&of.contradictions, &self.contradiction)
    }

    /// Sets the limits on photos of unseen conditions or animals.
    pub fn choose(stages: &[Stage], rows: &[LeftOut]) -> Self {
        // probabilities are those of clear photos: what lies near a border is for a second reader
        let clear: Vec<Unseen<'_>> = rows
            .iter()
            .filter_map(|row| match row.known {
                Known::Stage { class, clear: true } => Some(Unseen {
                    logits: &row.opinion.logits,
                    distance: row.opinion.distance,
                    class,
                }),
                Known::Stage { clear: false, .. } | Known::Between { .. } => None,
            })
            .collect();
        let mut limits = Self {
            calibration: Calibration::fit(&clear),
            distance: distance(rows),
            least_top: 0.0,
            least_hard: 0.0,
            sure: 0.0,
            sure_of_side: 0.0,
            border: [1.0; 2],
            split: vec![1.0; BORDERS.len()],
            contradiction: vec![1.0; QUESTIONS.len()],
        };
        let weighed: Vec<(Known, Weighed)> = rows
            .iter()
            .map(|row| {
                let weighed = Weighed::of(&limits.calibration, stages, &row.opinion);
                (row.known, weighed)
            })
            .collect();
        limits.choose_what_is_told(stages, &weighed);
        limits.choose_rules(&weighed);
        limits.choose_second_reader(stages, &weighed);
        limits
    }

    fn choose_what_is_told(&mut self, stages: &[Stage], rows: &[(Known, Weighed)]) {
        let mut fewest = f64::INFINITY;
        for least in steps(0.5, 0.95) {
            let next = Self {
                least_hard: least,
                ..self.clone()
            };
            let (soft_errors, cannot_tell, _) = next.proposals(stages, rows);
            if cannot_tell > CANNOT_TELL_MOST {
                break;
            }
            // what withholds more and mends nothing is not taken
            if soft_errors < fewest {
                fewest = soft_errors;
                *self = next;
            }
            if soft_errors <= SOFT_ERRORS_AIM {
                break;
            }
        }
        for least in steps(0.25, 0.6) {
            let next = Self {
                least_top: least,
                ..self.clone()
            };
            let (_, cannot_tell, right_withheld) = next.proposals(stages, rows);
            if cannot_tell > CANNOT_TELL_MOST || right_withheld > 0.5 {
                break;
            }
            *self = next;
        }
    }

    /// Share of soft errors among the proposals, share of photos without one, and the share of
    /// those withheld for a low probability that would have been right.
    fn proposals(&self, stages: &[Stage], rows: &[(Known, Weighed)]) -> (f64, f64, f64) {
        let (mut of, mut told, mut wrong, mut low, mut right) = (0.0, 0.0, 0.0, 0.0, 0.0_f64);
        for (known, judged) in rows {
            let Known::Stage { class, .. } = *known else {
                continue;
            };
            of += 1.0;
            if self.tells(judged) {
                told += 1.0;
                wrong += f64::from(u8::from(is_soft(stages, class) != judged.soft));
            } else if judged.most < self.least_top {
                low += 1.0;
                right += f64::from(u8::from(class == judged.best));
            }
        }
        (
            wrong / f64::max(told, 1.0),
            1.0 - told / f64::max(of, 1.0),
            right / f64::max(low, 1.0),
        )
    }

    /// The rules on setae and criteria: each as strict as few clear photos allow.
    fn choose_rules(&mut self, rows: &[(Known, Weighed)]) {
        let clear: Vec<&Weighed> = rows
            .iter()
            .filter(|(known, _)| matches!(known, Known::Stage { clear: true, .. }))
            .map(|(_, weighed)| weighed)
            .collect();
        let limit = |values: Vec<f64>, least: f64| {
            quantile(&values, 1.0 - MARKED_BY_RULE).map_or(1.0, |q| q.max(least))
        };
        self.split = (0..BORDERS.len())
            .map(|at| limit(clear.iter().map(|row| row.split[at]).collect(), 0.2))
            .collect();
        self.contradiction = (0..QUESTIONS.len())
            .map(|at| {
                let values = clear.iter().map(|row| row.contradictions[at]);
                limit(values.collect(), 0.5)
            })
            .collect();
    }

    fn choose_second_reader(&mut self, stages: &[Stage], rows: &[(Known, Weighed)]) {
        // Each rule is made stricter step by step, until enough is marked or too many clear ones are.
        // What the fit on borders says comes first; how sure the proposal is says less of it.
        self.sure = HARDLY_SURE;
        for rule in [1, 0, 2, 3] {
            for x in steps(0.02, 0.98) {
                let mut next = self.clone();
                match rule {
                    0 | 1 => next.border[rule] = 1.0 - x,
                    2 => next.sure_of_side = x,
                    _ => next.sure = x.max(self.sure),
                }
                let marked = next.marked(stages, rows);
                let most = if rule == 1 {
                    MARKED_AT_ANY
                } else {
                    CLEAR_MARKED_MOST
                };
                if marked.clear > most {
                    break;
                }
                *self = next;
                let (reached, aim) = if rule % 2 == 0 {
                    (marked.soft_border, SOFT_BORDER_AIM)
                } else {
                    (marked.between, BETWEEN_AIM)
                };
                if reached >= aim {
                    break;
                }
            }
        }
    }

    fn marked(&self, stages: &[Stage], rows: &[(Known, Weighed)]) -> Marked {
        let share = |wanted: &dyn Fn(Known) -> bool| {
            let (mut of, mut marked) = (0_usize, 0_usize);
            for (_, weighed) in rows.iter().filter(|(known, _)| wanted(*known)) {
                of += 1;
                marked += usize::from(self.wants_second(weighed));
            }
            marked as f64 / of.max(1) as f64
        };
        Marked {
            clear: share(&|known| matches!(known, Known::Stage { clear: true, .. })),
            between: share(&|known| matches!(known, Known::Between { .. })),
            soft_border: share(
                &|known| matches!(known, Known::Between { after } if is_soft_border(stages, after)),
            ),
        }
    }
}

/// An opinion under a calibration, before any other limit: what the limits are held against.
struct Weighed {
    probabilities: Vec<f64>,
    best: usize,
    most: f64,
    /// Whether the most probable stage is soft.
    soft: bool,
    /// Probability of being soft or of not being soft, the greater of the two.
    side: f64,
    distance: f64,
    borders: [f64; 2],
    split: [f64; 2],
    contradictions: Vec<f64>,
}

impl Weighed {
    fn of(calibration: &Calibration, stages: &[Stage], opinion: &Opinion) -> Self {
        let probabilities = calibration.probabilities(&opinion.logits, opinion.distance);
        let best = top(&probabilities).unwrap_or(0);
        Self {
            most: probabilities.get(best).copied().unwrap_or(0.0),
            soft: is_soft(stages, best),
            side: side(&probabilities, stages),
            best,
            distance: opinion.distance,
            borders: at_borders(stages, opinion),
            split: BORDERS.map(|group| opinion.split(stages, group)),
            contradictions: opinion.contradictions.clone(),
            probabilities,
        }
    }

    fn runner_up(&self) -> usize {
        let mut others = self.probabilities.clone();
        if let Some(p) = others.get_mut(self.best) {
            *p = -1.0;
        }
        top(&others).unwrap_or(0)
    }
}

/// Shares of photos marked for a second reader.
struct Marked {
    clear: f64,
    between: f64,
    soft_border: f64,
}

fn steps(from: f64, to: f64) -> impl Iterator<Item = f64> {
    let of = ((to - from) * 100.0).round() as u32;
    (0..=of).map(move |i| ((from * 100.0).round() + f64::from(i)) / 100.0)
}

/// Whether the border after a stage is that of soft.
fn is_soft_border(stages: &[Stage], after: usize) -> bool {
    is_soft(stages, after) != is_soft(stages, after + 1)
}

fn is_soft(stages: &[Stage], at: usize) -> bool {
    stages
        .get(at)
        .is_some_and(|stage| stage.hardness() == Hardness::Soft)
}

/// Probability of lying at the border of soft, and at any border.
fn at_borders(stages: &[Stage], opinion: &Opinion) -> [f64; 2] {
    let soft = |(after, p): (usize, &f64)| {
        if is_soft_border(stages, after) {
            *p
        } else {
            0.0
        }
    };
    [
        opinion.borders.iter().enumerate().map(soft).sum(),
        opinion.borders.iter().sum(),
    ]
}

/// Probability of the more probable side of soft.
fn side(probabilities: &[f64], stages: &[Stage]) -> f64 {
    let soft = group_share(probabilities, stages, Hardness::Soft);
    soft.max(1.0 - soft)
}

fn distance(rows: &[LeftOut]) -> f64 {
    let right: Vec<f64> = rows
        .iter()
        .filter(|row| {
            let best = top(&row.opinion.logits);
            matches!(row.known, Known::Stage { class, .. } if best == Some(class))
        })
        .map(|row| row.opinion.distance)
        .collect();
    quantile(&right, 1.0 - FAR_SHARE).map_or(1.0, |q| q.max(1e-6))
}

#[cfg(test)]
mod tests {
    use super::*;

    const STAGES: [Stage; 3] = [Stage::B, Stage::C, Stage::D0];

    fn row(logits: [f64; 3], distance: f64, known: Known) -> LeftOut {
        LeftOut {
            opinion: Opinion {
                logits: logits.to_vec(),
                distance,
                contradictions: vec![0.0; QUESTIONS.len()],
                borders: Vec::new(),
                setae: vec![Some(0), Some(0), Some(1), None],
            },
            known,
        }
    }

    #[test]
    fn what_is_far_or_unsure_is_not_told() {
        let mut rows: Vec<LeftOut> = (0..90)
            .map(|i| {
                let class = i % 3;
                let mut logits = [0.0; 3];
                logits[class] = 4.0 + (i % 7) as f64 * 0.3;
                let known = Known::Stage { class, clear: true };
                row(logits, 1.0 + i as f64 * 0.01, known)
            })
            .collect();
        for i in 0..20 {
            let logits = [1.0 + f64::from(i) * 0.01, 1.1, 0.0];
            rows.push(row(logits, 1.2, Known::Between { after: 0 }));
        }
        let limits = Limits::choose(&STAGES, &rows);
        let clear = limits.judge(&STAGES, &rows[0].opinion);
        assert!(clear.told && clear.novelty < 1.0 && clear.best == 0);
        let far = row([5.0, 0.0, 0.0], 3.0, rows[0].known);
        let far = limits.judge(&STAGES, &far.opinion);
        assert!(!far.told && far.novelty > 1.0 && far.second_reader);
        let unsure = limits.judge(&STAGES, &rows[95].opinion);
        assert!(unsure.second_reader);
    }

    #[test]
    fn setae_on_both_sides_of_a_border_are_a_share() {
        let opinion = row([0.0; 3], 0.0, Known::Between { after: 0 }).opinion;
        let split = opinion.split(&STAGES, Hardness::Soft);
        assert!((split - 1.0 / 3.0).abs() < 1e-12);
        assert_eq!(opinion.split(&STAGES, Hardness::Due), 0.0);
    }
}
