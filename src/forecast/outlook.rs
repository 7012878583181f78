//! The tally carried to one hour: the share of each group, its edges, and how it stands to its
//! limit.

use crate::cycle::arcs::StageArcs;
use crate::forecast::clock::NightClock;
use crate::forecast::fates::Fates;
use crate::forecast::fates::StageTable;
use crate::moult::Stage;
use crate::statistics::functional::WeightedShare;
use crate::statistics::functional::mean_share;
use crate::statistics::functional::mixture_quantile;
use crate::statistics::gamma::UnitGamma;
use crate::tally::Settings;
use crate::tally::Tested;
use serde::Serialize;
use std::collections::BTreeSet;

const STAGES: usize = Stage::ALL.len();

/// One more animal that stands in the group at that hour, wherever in its arc that takes: weight and
/// chance. It makes the edge at the netting the exact test, and keeps few animals from clearing a
/// limit at any later hour.
const IN_GROUP: (f64, f64) = (1.0, 1.0);
/// One more animal that stands outside the group at that hour.
const OUT_OF_GROUP: (f64, f64) = (1.0, 0.0);

/// How far a probability may lie above its bound by rounding alone.
const ROUNDING: f64 = 1e-12;

/// A group that has a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Soft.
    Soft,
    /// Moulting.
    Moulting,
    /// About to moult.
    Due,
}

impl Group {
    /// All groups with a limit.
    pub const ALL: [Self; 3] = [Self::Soft, Self::Moulting, Self::Due];

    fn stages(self, settings: &Settings) -> &BTreeSet<Stage> {
        match self {
            Self::Soft => &settings.soft,
            Self::Moulting => &settings.moulting,
            Self::Due => &settings.due,
        }
    }

    /// The limit of the group, 0..1.
    pub const fn limit(self, settings: &Settings) -> f64 {
        match self {
            Self::Soft => settings.soft_limit.get(),
            Self::Moulting => settings.moulting_limit.get(),
            Self::Due => settings.due_limit.get(),
        }
    }
}

/// A share with its band.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Band {
    /// Expected share.
    pub expected: f64,
    /// Lower edge, at the confidence of the tests.
    pub low: f64,
    /// Upper edge, at the confidence of the tests; it decides.
    pub high: f64,
}

/// How a group stands to its limit at one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// The group.
    pub group: Group,
    /// Expected share, 0..1.
    pub expected: f64,
    /// Share of the called animals themselves, nothing added; absent when none was called.
    pub of_called: Option<f64>,
    /// Probability of being over the limit, with one more animal in the group.
    pub over_at_worst: f64,
    /// Probability of being at most at the limit, with one more animal outside it.
    pub under_at_best: f64,
    /// What follows from these.
    pub tested: Tested,
}

/// The called animals and all that carries them forward.
#[derive(Debug)]
pub struct Outlook<'a> {
    fates: Vec<Fates<'a>>,
    settings: &'a Settings,
    counts: [f64; STAGES],
    /// The called animals and one spread as the arcs.
    spread: [f64; STAGES],
    unread: f64,
}

impl<'a> Outlook<'a> {
    /// Carries counts per stage and a number of unread animals forward up to a night; `cycles` are
    /// the equally likely mean lengths in days.
    pub(crate) fn new(
        sample: (&[u64; STAGES], u64),
        settings: &'a Settings,
        arcs: &StageArcs,
        (law, clock): (&'a UnitGamma, &'a NightClock),
        (cycles, last_night): (&[f64], usize),
    ) -> Self {
        let counts = sample.0.map(|k| k as f64 / settings.design_effect);
        let mut spread = counts;
        for stage in Stage::ALL {
            // An animal in D4 is one more that would be called D3.
            let as_called = if stage == Stage::D4 { Stage::D3 } else { stage };
            spread[as_called.index()] += arcs.share(stage);
        }
        let fates = cycles
            .iter()
            .map(|&days| Fates::new(law, clock, arcs, days, last_night))
            .collect();
        let unread = sample.1 as f64 / settings.design_effect;
        Self {
            fates,
            settings,
            counts,
            spread,
            unread,
        }
    }

    /// The chances of every stage at a time in days from the netting, one table per mean cycle.
    pub fn tables(&self, e: f64) -> Vec<StageTable> {
        self.fates.iter().map(|fates| fates.at(e)).collect()
    }

    /// The expected share of a set of stages.
    pub(crate) fn expected(&self, tables: &[StageTable], stages: &BTreeSet<Stage>) -> f64 {
        mean_of_group(tables, stages, &self.spread)
    }

    /// The expected share of soft and due animals together: what would be soft if falling water set
    /// off every animal about to moult.
    pub(crate) fn pessimistic_soft(&self, tables: &[StageTable]) -> f64 {
        let both = self
            .settings
            .soft
            .union(&self.settings.due)
            .copied()
            .collect();
        self.expected(tables, &both)
    }

    /// The share of a group with its band.
    pub fn band(&self, tables: &[StageTable], group: Group) -> Band {
        let stages = group.stages(self.settings);
        let confidence = self.settings.confidence.get();
        let worst = shares_of(tables, stages, &self.counts, IN_GROUP);
        let best = shares_of(tables, stages, &self.counts, OUT_OF_GROUP);
        Band {
            expected: self.expected(tables, stages),
            low: mixture_quantile(&best, 1.0 - confidence),
            high: mixture_quantile(&worst, confidence),
        }
    }

    /// How a group stands to its limit.
    pub fn standing(&self, tables: &[StageTable], group: Group) -> Standing {
        let stages = group.stages(self.settings);
        let limit = group.limit(self.settings);
        let worst = shares_of(tables, stages, &self.counts, IN_GROUP);
        let best = shares_of(tables, stages, &self.counts, OUT_OF_GROUP);
        let over_at_worst = mean_of(&worst, |share| 1.0 - share.at_most(limit));
        let under_at_best = mean_of(&best, |share| share.at_most(limit));
        let called: f64 = self.counts.iter().sum();
        let of_called = (called > 0.0).then(|| mean_of_group(tables, stages, &self.counts));
        let at_limit = group == Group::Due && of_called.is_some_and(|s| s >= limit - ROUNDING);
        let bound = self.settings.confidence.complement().get() + ROUNDING;
        let tested = if at_limit || under_at_best <= bound {
            Tested::Over
        } else if over_at_worst <= bound && self.holds_with_unread(tables, stages, limit, bound) {
            Tested::Within
        } else {
            Tested::Open
        };
        let expected = self.expected(tables, stages);
        Standing {
            group,
            expected,
            of_called,
            over_at_worst,
            under_at_best,
            tested,
        }
    }

    /// Within also when every unread animal was just moulted.
    fn holds_with_unread(
        &self,
        tables: &[StageTable],
        stages: &BTreeSet<Stage>,
        limit: f64,
        bound: f64,
    ) -> bool {
        if self.unread == 0.0 {
            return true;
        }
        let mut counts = self.counts;
        counts[Stage::A.index()] += self.unread;
        let shares = shares_of(tables, stages, &counts, IN_GROUP);
        mean_of(&shares, |share| 1.0 - share.at_most(limit)) <= bound
    }
}

/// The distribution of a group's share, one per mean cycle, with Dirichlet weights per stage and
/// for one more part that is not staged.
fn shares_of(
    tables: &[StageTable],
    stages: &BTreeSet<Stage>,
    weights: &[f64; STAGES],
    one_more: (f64, f64),
) -> Vec<WeightedShare> {
    tables
        .iter()
        .map(|table| {
            let staged = weights.iter().copied().zip(chances(table, stages));
            WeightedShare::new(staged.chain([one_more]))
        })
        .collect()
}

/// The mean share of a group over the mean cycles.
fn mean_of_group(tables: &[StageTable], stages: &BTreeSet<Stage>, weights: &[f64; STAGES]) -> f64 {
    let one = |table| mean_share(weights.iter().copied().zip(chances(table, stages)));
    tables.iter().map(one).sum::<f64>() / tables.len() as f64
}

/// The chance of being in a group, per called stage.
fn chances(table: &StageTable, stages: &BTreeSet<Stage>) -> [f64; STAGES] {
    table.map(|row| {
        stages
            .iter()
            .map(|s| row[s.index()])
            .sum::<f64>()
            .clamp(0.0, 1.0)
    })
}

fn mean_of(shares: &[WeightedShare], of: impl Fn(&WeightedShare) -> f64) -> f64 {
    shares.iter().map(of).sum::<f64>() / shares.len() as f64
}
