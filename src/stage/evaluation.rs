//! How good proposals were, against what is true.
//!
//! Shares are over all photos of known stage, read or not: what was refused or could not be told is
//! not right, but it is no soft and no due error either.

use crate::measure::Refusal;
use crate::moult::Hardness;
use crate::moult::Stage;
use crate::statistics::calibration::Bin;
use crate::statistics::calibration::Stated;
use crate::statistics::calibration::brier;
use crate::statistics::calibration::expected_error;
use crate::statistics::calibration::reliability;
use crate::statistics::robust::median;
use crate::statistics::robust::quantile;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeMap;

/// Farthest that a base may lie from a true one to be that one, in µm.
///
/// # Source
/// Our choice: half of the usual base width.
pub const BASE_REACH_UM: f64 = 8.0;

/// Bins of the calibration error.
const BINS: usize = 10;

/// What is true of a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Truth {
    /// A tip of one stage.
    Stage {
        /// The stage.
        stage: Stage,
        /// No measure lies near a border, and the criteria agree.
        clear: bool,
    },
    /// A tip between a stage and the next.
    Between {
        /// The earlier of the two.
        stage: Stage,
    },
    /// No readable tip.
    NoTip,
}

/// What became of a photo.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It was refused.
    Refused(Refusal),
    /// It was read.
    Read {
        /// Probability of each stage of [`Stage::PROPOSED`].
        probabilities: Vec<f64>,
        /// The proposal, if any.
        proposal: Option<Stage>,
        /// Whether a second reader was asked for.
        second_reader: bool,
        /// Distance from the fitted photos over its limit.
        novelty: f64,
    },
}

/// How the bases and lengths found compare with the true ones.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lengths {
    /// True bases in view.
    pub bases: usize,
    /// Bases found.
    pub found: usize,
    /// Pairs of the two within reach.
    pub matched: usize,
    /// How far the gap is off, in µm.
    pub gap_error_um: Option<f64>,
    /// How far the base width is off, as a part of the true one; `None` where no true base is in view.
    pub base_width_error: Option<f64>,
    /// Most of the bases found are none, or the base width is far off: what was measured is not what
    /// the truth speaks of.
    pub misread: bool,
}

/// A photo with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// What is true.
    pub truth: Truth,
    /// The condition it belongs to.
    pub condition: String,
    /// What became of it.
    pub outcome: Outcome,
    /// Its bases and lengths, where they are known and it was read.
    pub lengths: Option<Lengths>,
}

/// Figures over photos; shares are absent where there is nothing to share.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    /// Photos of known stage.
    pub photos: usize,
    /// Share of them that was read.
    pub usable: Option<f64>,
    /// Share with the right stage proposed.
    pub exact: Option<f64>,
    /// Share with the right or a neighbouring stage proposed.
    pub within_one: Option<f64>,
    /// Share of the proposals that are exact.
    pub exact_of_proposed: Option<f64>,
    /// A or B proposed for C to D4, or the reverse.
    pub soft_errors: usize,
    /// D2 to D4 proposed for the rest, or the reverse.
    pub due_errors: usize,
    /// Share of the read photos without a proposal.
    pub cannot_tell: Option<f64>,
    /// Brier score over the read photos.
    pub brier: Option<f64>,
    /// Expected calibration error of the most probable stage over the read photos.
    pub calibration_error: Option<f64>,
    /// Share of the read clear photos marked for a second reader.
    pub second_reader_clear: Option<f64>,
    /// Share of the read photos near a border, or with disagreeing criteria, that were marked.
    pub second_reader_unclear: Option<f64>,
    /// Photos between two stages that were read.
    pub between: usize,
    /// Share of them that was marked for a second reader.
    pub second_reader_between: Option<f64>,
    /// Share of those between B and C that was marked.
    pub second_reader_b_c: Option<f64>,
    /// For each true stage the number of photos by what was proposed, `cannot tell` or `refused`.
    pub confusion: BTreeMap<Stage, BTreeMap<String, usize>>,
    /// Why photos of tips were refused.
    pub refused: BTreeMap<Refusal, usize>,
    /// Photos without a tip.
    pub no_tip: usize,
    /// Why they were refused.
    pub no_tip_refused: BTreeMap<Refusal, usize>,
    /// Photos without a tip for which a stage was proposed.
    pub no_tip_proposed: usize,
    /// Share of the photos with known positions and read whose row or width is wrong.
    pub misread: Option<f64>,
    /// Share of the true bases that were found, over the photos read.
    pub base_recall: Option<f64>,
    /// Share of the bases found that are true.
    pub base_precision: Option<f64>,
    /// Median error of the gap, in µm.
    pub gap_error_um: Option<f64>,
    /// The error of the gap that nine photos in ten keep, in µm.
    pub gap_error_um_p90: Option<f64>,
    /// Median relative error of the base width.
    pub base_width_error: Option<f64>,
}

/// Figures over all photos.
pub fn figures(photos: &[Judged]) -> Figures {
    let staged: Vec<Staged<'_>> = photos.iter().filter_map(Staged::of).collect();
    let of = staged.len();
    let share = |count: usize| (of > 0).then(|| count as f64 / of as f64);
    let read: Vec<&Staged<'_>> = staged.iter().filter(|s| s.read.is_some()).collect();
    let proposed: Vec<(Stage, Stage)> = staged
        .iter()
        .filter_map(|s| Some((s.stage, s.read?.proposal?)))
        .collect();
    let exact = proposed.iter().filter(|(a, b)| a == b).count();
    let near = proposed
        .iter()
        .filter(|(a, b)| a.index().abs_diff(b.index()) <= 1)
        .count();
    let across = |group: Hardness| {
        let inside = |stage: Stage| stage.hardness() == group;
        let wrong = |(a, b): &&(Stage, Stage)| inside(*a) != inside(*b);
        proposed.iter().filter(wrong).count()
    };
    let between = |border: Option<Stage>| -> Vec<bool> {
        photos
            .iter()
            .filter(|p| match p.truth {
                Truth::Between { stage } => border.is_none_or(|b| b == stage),
                _ => false,
            })
            .filter_map(|p| Some(Read::of(p)?.second_reader))
            .collect()
    };
    let marked = |clear: bool| -> Vec<bool> {
        read.iter()
            .filter(|s| s.clear == clear)
            .filter_map(|s| Some(s.read?.second_reader))
            .collect()
    };
    let no_tip = |p: &&Judged| p.truth == Truth::NoTip;
    let lengths: Vec<Lengths> = photos.iter().filter_map(|p| p.lengths).collect();
    let told = read
        .iter()
        .filter(|s| s.read.is_some_and(|r| r.proposal.is_some()));
    Figures {
        photos: of,
        usable: share(read.len()),
        exact: share(exact),
        within_one: share(near),
        exact_of_proposed: (!proposed.is_empty()).then(|| exact as f64 / proposed.len() as f64),
        soft_errors: across(Hardness::Soft),
        due_errors: across(Hardness::Due),
        cannot_tell: (!read.is_empty()).then(|| 1.0 - told.count() as f64 / read.len() as f64),
        brier: brier_of(&read),
        calibration_error: calibration_of(&read),
        second_reader_clear: part(&marked(true)),
        second_reader_unclear: part(&marked(false)),
        between: between(None).len(),
        second_reader_between: part(&between(None)),
        second_reader_b_c: part(&between(Some(Stage::B))),
        confusion: confusion(&staged),
        refused: refusals(photos.iter().filter(|p| p.truth != Truth::NoTip)),
        no_tip: photos.iter().filter(no_tip).count(),
        no_tip_refused: refusals(photos.iter().filter(no_tip)),
        no_tip_proposed: photos
            .iter()
            .filter(no_tip)
            .filter(|p| Read::of(p).is_some_and(|r| r.proposal.is_some()))
            .count(),
        misread: part(&lengths.iter().map(|l| l.misread).collect::<Vec<_>>()),
        base_recall: ratio(&lengths, |l| l.matched, |l| l.bases),
        base_precision: ratio(&lengths, |l| l.matched, |l| l.found),
        gap_error_um: median(&gap_errors(&lengths)),
        gap_error_um_p90: quantile(&gap_errors(&lengths), 0.9),
        base_width_error: median(
            &lengths
                .iter()
                .filter_map(|l| l.base_width_error)
                .collect::<Vec<_>>(),
        ),
    }
}

/// Figures for each condition by itself.
pub fn by_condition(photos: &[Judged]) -> BTreeMap<String, Figures> {
    let mut groups: BTreeMap<String, Vec<Judged>> = BTreeMap::new();
    for photo in photos {
        let group = groups.entry(photo.condition.clone()).or_default();
        group.push(photo.clone());
    }
    groups
        .into_iter()
        .map(|(condition, photos)| (condition, figures(&photos)))
        .collect()
}

/// How many bases found are true ones: pairs of one each, nearest first, within `reach`.
pub fn match_bases(truth: &[[f64; 2]], found: &[[f64; 2]], reach: f64) -> usize {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (i, a) in truth.iter().enumerate() {
        for (j, b) in found.iter().enumerate() {
            let apart = libm::hypot(a[0] - b[0], a[1] - b[1]);
            if apart <= reach {
                pairs.push((apart, i, j));
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut taken = (vec![false; truth.len()], vec![false; found.len()]);
    let mut matched = 0;
    for (_, i, j) in pairs {
        if !taken.0[i] && !taken.1[j] {
            (taken.0[i], taken.1[j]) = (true, true);
            matched += 1;
        }
    }
    matched
}

/// A read photo.
#[derive(Clone, Copy)]
struct Read<'a> {
    probabilities: &'a [f64],
    proposal: Option<Stage>,
    second_reader: bool,
}

impl<'a> Read<'a> {
    fn of(photo: &'a Judged) -> Option<Self> {
        match &photo.outcome {
            Outcome::Refused(_) => None,
            Outcome::Read {
                probabilities,
                proposal,
                second_reader,
                ..
            } => Some(Self {
                probabilities,
                proposal: *proposal,
                second_reader: *second_reader,
            }),
        }
    }
}

/// A photo of a tip of one stage.
struct Staged<'a> {
    stage: Stage,
    clear: bool,
    read: Option<Read<'a>>,
}

impl<'a> Staged<'a> {
    fn of(photo: &'a Judged) -> Option<Self> {
        match photo.truth {
            Truth::Stage { stage, clear } => Some(Self {
                stage: stage.as_proposed()?,
                clear,
                read: Read::of(photo),
            }),
            _ => None,
        }
    }
}

fn part(marked: &[bool]) -> Option<f64> {
    let of = marked.len();
    (of > 0).then(|| marked.iter().filter(|m| **m).count() as f64 / of as f64)
}

fn ratio(
    lengths: &[Lengths],
    of: impl Fn(&Lengths) -> usize,
    all: impl Fn(&Lengths) -> usize,
) -> Option<f64> {
    let whole: usize = lengths.iter().map(all).sum();
    let some: usize = lengths.iter().map(of).sum();
    (whole > 0).then(|| some as f64 / whole as f64)
}

fn gap_errors(lengths: &[Lengths]) -> Vec<f64> {
    lengths.iter().filter_map(|l| l.gap_error_um).collect()
}

fn brier_of(read: &[&Staged<'_>]) -> Option<f64> {
    let rows: Vec<(&[f64], usize)> = read
        .iter()
        .filter_map(|s| Some((s.read?.probabilities, s.stage.index())))
        .collect();
    brier(&rows)
}

fn calibration_of(read: &[&Staged<'_>]) -> Option<f64> {
    expected_error(&statements(read), BINS)
}

/// The bins of a reliability plot: how often the most probable stage was the true one, by the
/// probability stated for it, over the read photos.
pub fn reliability_of(photos: &[Judged]) -> Vec<Bin> {
    let staged: Vec<Staged<'_>> = photos.iter().filter_map(Staged::of).collect();
    let read: Vec<&Staged<'_>> = staged.iter().filter(|s| s.read.is_some()).collect();
    reliability(&statements(&read), BINS)
}

fn statements(read: &[&Staged<'_>]) -> Vec<Stated> {
    read.iter()
        .filter_map(|s| {
            let (at, confidence) = s
                .read?
                .probabilities
                .iter()
                .enumerate()
                .max_by(|a, b| a.1.total_cmp(b.1))?;
            Some(Stated {
                confidence: *confidence,
                correct: at == s.stage.index(),
            })
        })
        .collect()
}

fn confusion(staged: &[Staged<'_>]) -> BTreeMap<Stage, BTreeMap<String, usize>> {
    let mut table: BTreeMap<Stage, BTreeMap<String, usize>> = BTreeMap::new();
    for photo in staged {
        let said = match photo.read.map(|r| r.proposal) {
            None => "refused",
            Some(None) => "cannot tell",
            Some(Some(stage)) => stage.code(),
        };
        let row = table.entry(photo.stage).or_default();
        *row.entry(said.to_owned()).or_insert(0) += 1;
    }
    table
}

fn refusals<'a>(photos: impl Iterator<Item = &'a Judged>) -> BTreeMap<Refusal, usize> {
    let mut reasons = BTreeMap::new();
    for photo in photos {
        if let Outcome::Refused(reason) = photo.outcome {
            *reasons.entry(reason).or_insert(0) += 1;
        }
    }
    reasons
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(stage: Stage, proposal: Option<Stage>) -> Judged {
        let outcome = {
            let mut probabilities = vec![0.0; 7];
            probabilities[proposal.unwrap_or(stage).index()] = 1.0;
            Outcome::Read {
                probabilities,
                proposal,
                second_reader: proposal.is_none(),
                novelty: 0.5,
            }
        };
        judged(stage, outcome)
    }

    fn judged(stage: Stage, outcome: Outcome) -> Judged {
        Judged {
            truth: Truth::Stage { stage, clear: true },
            condition: "one".to_owned(),
            outcome,
            lengths: None,
        }
    }

    #[test]
    fn what_is_not_told_is_not_exact_and_no_soft_error() {
        let photos = [
            read(Stage::B, Some(Stage::B)),
            read(Stage::B, Some(Stage::C)),
            read(Stage::D2, Some(Stage::D0)),
            read(Stage::D4, Some(Stage::D3)),
            read(Stage::C, None),
            judged(Stage::A, Outcome::Refused(Refusal::OutOfFocus)),
        ];
        let all = figures(&photos);
        assert_eq!((all.photos, all.soft_errors, all.due_errors), (6, 1, 1));
        assert_eq!(all.exact, Some(2.0 / 6.0));
        assert_eq!(all.within_one, Some(3.0 / 6.0));
        assert_eq!(all.usable, Some(5.0 / 6.0));
        assert!((all.cannot_tell.unwrap() - 0.2).abs() < 1e-12);
        assert_eq!(all.second_reader_clear, Some(0.2));
        assert_eq!(all.refused[&Refusal::OutOfFocus], 1);
        assert_eq!(all.confusion[&Stage::C]["cannot tell"], 1);
        assert_eq!(all.between, 0);
        assert_eq!(all.second_reader_between, None);
    }

    #[test]
    fn bases_are_matched_one_to_one() {
        let truth = [[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]];
        let found = [[1.0, 0.0], [2.0, 0.0], [13.0, 0.0], [40.0, 0.0]];
        assert_eq!(match_bases(&truth, &found, 4.0), 2);
        assert_eq!(match_bases(&truth, &[], 4.0), 0);
    }
}
