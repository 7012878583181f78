//! What a reader's known errors do to a tally: the values; how they come about is decided above.

use crate::moult::Stage;
use crate::tally::Answer;
use crate::tally::Tested;
use serde::Serialize;
use std::collections::BTreeMap;

/// One group of animals with the reader's known errors taken into account.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GroupReader {
    /// Part of the slides truly in the group that were called so; absent without such slides.
    pub sensitivity: Option<f64>,
    /// Part of the slides truly outside the group that were called so; absent without such slides.
    pub specificity: Option<f64>,
    /// Share of the group by the calls; absent when none was called.
    pub observed: Option<f64>,
    /// Share behind it by sensitivity and specificity; absent when they sum to 1 or less.
    pub corrected: Option<f64>,
    /// Lower end of its 95 % interval.
    pub low: Option<f64>,
    /// Upper end of its 95 % interval.
    pub high: Option<f64>,
    /// Share behind the calls when all stages are corrected together.
    pub by_all_stages: Option<f64>,
    /// P(so few called) in a pond exactly on the limit, read by this reader.
    pub p_within: f64,
    /// P(so many called) in a pond exactly on the limit, read by this reader.
    pub p_over: f64,
    /// What the test says, the calls alone and the reader's errors considered, whichever is worse.
    pub tested: Tested,
}

/// A pond that the calls and the slides allow, drawn by seed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PondDraw {
    /// True share of animals that a faultless reader would call at each stage.
    pub shares: [f64; Stage::ALL.len()],
    /// Weight of one more animal in the group, or outside it, whatever group is asked for.
    pub one_more: f64,
}

/// What the known errors of a reader do to the answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReaderEffect {
    /// Slides of known truth.
    pub slides: u64,
    /// As many slides of equal weight would tell as much.
    pub slides_by_weight: f64,
    /// The groups.
    pub groups: BTreeMap<&'static str, GroupReader>,
    /// True shares of all stages behind the calls; absent when none was called.
    pub shares: Option<BTreeMap<Stage, f64>>,
    /// The answer of the calls alone.
    pub without: Answer,
    /// Says whether the reader's errors made the answer worse.
    pub worsened: bool,
    /// How many ponds were drawn for what is carried forward.
    pub draws: usize,
    /// Ponds that calls and slides allow.
    #[serde(skip)]
    pub ponds: Vec<PondDraw>,
}
