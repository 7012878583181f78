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
use crate::statistics::robust::sorted_quantile;
use crate::tally::PondDraw;
use crate::tally::RigidAfter;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::tally::Tested;
use serde::Serialize;
use std::collections::BTreeMap;
use std::collections::BTreeSet;

const STAGES: usize = Stage::ALL.len();
/// Places of animals by how they were felt: soft by call, then firm by call; the last of each is for
/// those not called.
const FELT: usize = 2 * (STAGES + 1);

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
    /// Soft between the fingers; only where shells were felt.
    SoftInHand,
}

impl Group {
    /// All groups of stages with a limit.
    pub const ALL: [Self; 3] = [Self::Soft, Self::Moulting, Self::Due];

    /// The limit of the group, 0..1.
    pub const fn limit(self, settings: &Settings) -> f64 {
        match self {
            Self::Soft | Self::SoftInHand => settings.soft_limit.get(),
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

/// The chances of every stage at one hour, one table per mean cycle.
#[derive(Debug, Clone)]
pub struct Hour {
    tables: Vec<StageTable>,
    /// Chance of being soft per called stage, one row per mean cycle.
    soft: Vec<[f64; STAGES]>,
    /// Says whether it is the hour of the netting itself.
    at_netting: bool,
}

/// Weights of parts of a pond, and the chance of each of being in a group, one row per mean cycle.
struct Mixture {
    weights: Vec<f64>,
    /// The same with one more animal spread as the arcs.
    spread: Vec<f64>,
    chances: Vec<Vec<f64>>,
}

/// The called animals and all that carries them forward.
#[derive(Debug)]
pub struct Outlook<'a> {
    fates: Vec<Fates<'a>>,
    settings: &'a Settings,
    counts: [f64; STAGES],
    /// One animal spread as the arcs, by what it would be called.
    even: [f64; STAGES],
    unread: f64,
    /// Animals by how they were felt; absent when none was.
    felt: Option<[f64; FELT]>,
    /// What a call counts as soft at the netting.
    parts: BTreeMap<Stage, f64>,
    /// Ponds that the calls and the known errors of the reader allow.
    ponds: &'a [PondDraw],
}

impl<'a> Outlook<'a> {
    /// Carries a tally forward up to a night; `cycles` are the equally likely mean lengths in days.
    pub(crate) fn new(
        tally: &'a Tally,
        settings: &'a Settings,
        arcs: &StageArcs,
        (law, clock): (&'a UnitGamma, &'a NightClock),
        (cycles, last_night): (&[f64], usize),
    ) -> Self {
        let effect = settings.design_effect;
        let counted = |stage: &Stage| tally.counts.get(stage).copied().unwrap_or(0) as f64;
        let mut even = [0.0; STAGES];
        for stage in Stage::ALL {
            // An animal in D4 is one more that would be called D3.
            let as_called = if stage == Stage::D4 { Stage::D3 } else { stage };
            even[as_called.index()] += arcs.share(stage);
        }
        let felt: [f64; FELT] = std::array::from_fn(|place| {
            let felt = tally.felt.soft.iter().chain(&tally.felt.firm);
            felt.copied().nth(place).unwrap_or(0) as f64 / effect
        });
        let fates = cycles
            .iter()
            .map(|&days| Fates::new(law, clock, arcs, days, last_night))
            .collect();
        Self {
            fates,
            settings,
            counts: Stage::ALL.map(|stage| counted(&stage) / effect),
            even,
            unread: tally.unread as f64 / effect,
            felt: felt.iter().any(|w| *w > 0.0).then_some(felt),
            parts: settings.soft_parts(arcs),
            ponds: tally.reader.as_ref().map_or(&[], |reader| &reader.ponds),
        }
    }

    /// The groups that have a limit here: those of the stages, and soft in hand where shells were
    /// felt.
    pub fn groups(&self) -> impl Iterator<Item = Group> + use<> {
        let in_hand = self.felt.is_some().then_some(Group::SoftInHand);
        Group::ALL.into_iter().chain(in_hand)
    }

    /// The chances of every stage at a time in days from the netting.
    pub fn tables(&self, e: f64) -> Hour {
        let tables: Vec<StageTable> = self.fates.iter().map(|fates| fates.at(e)).collect();
        let at_netting = e <= 0.0;
        let soft = match self.settings.rigid_after {
            Some(rigid_after) if !at_netting => self.soft_since_moult(e, rigid_after),
            Some(_) => {
                let part = |stage| self.parts.get(&stage).copied().unwrap_or(0.0);
                tables.iter().map(|_| Stage::ALL.map(part)).collect()
            }
            None => tables
                .iter()
                .map(|table| chances(table, &self.settings.soft))
                .collect(),
        };
        Hour {
            tables,
            soft,
            at_netting,
        }
    }

    fn soft_since_moult(&self, e: f64, rigid_after: RigidAfter) -> Vec<[f64; STAGES]> {
        let one = |fates: &Fates<'_>| fates.soft_within(e, rigid_after);
        self.fates.iter().map(one).collect()
    }

    /// The expected share of soft and due animals together: what would be soft if falling water set
    /// off every animal about to moult.
    pub(crate) fn pessimistic_soft(&self, hour: &Hour) -> f64 {
        let soft_stages: BTreeSet<Stage> = self.parts.keys().copied().collect();
        let others: BTreeSet<Stage> = self
            .settings
            .due
            .difference(&soft_stages)
            .copied()
            .collect();
        let rows = hour.tables.iter().zip(&hour.soft).map(|(table, soft)| {
            let due = chances(table, &others);
            let both = soft.iter().zip(due).map(|(s, d)| (s + d).min(1.0));
            both.collect()
        });
        self.staged(rows.collect()).expected()
    }

    /// The share of a group with its band.
    pub fn band(&self, hour: &Hour, group: Group) -> Band {
        let mixture = self.mixture(hour, group);
        let confidence = self.settings.confidence.get();
        let worst = mixture.shares(&mixture.weights, IN_GROUP);
        let best = mixture.shares(&mixture.weights, OUT_OF_GROUP);
        let high = mixture_quantile(&worst, confidence);
        let misread = self.drawn_quantile(&mixture, group, confidence);
        Band {
            expected: mixture.expected(),
            low: mixture_quantile(&best, 1.0 - confidence),
            high: misread.map_or(high, |other| other.max(high)),
        }
    }

    /// How a group stands to its limit.
    pub fn standing(&self, hour: &Hour, group: Group) -> Standing {
        let mixture = self.mixture(hour, group);
        let limit = group.limit(self.settings);
        let worst = mixture.shares(&mixture.weights, IN_GROUP);
        let best = mixture.shares(&mixture.weights, OUT_OF_GROUP);
        let mut over_at_worst = mean_of(&worst, |share| 1.0 - share.at_most(limit));
        let mut under_at_best = mean_of(&best, |share| share.at_most(limit));
        if let Some((over, under)) = self.drawn_standing(&mixture, group, limit) {
            over_at_worst = over_at_worst.max(over);
            under_at_best = under_at_best.min(under);
        }
        let of_called = mixture.of_called();
        let at_limit = group == Group::Due && of_called.is_some_and(|s| s >= limit - ROUNDING);
        let bound = self.settings.confidence.complement().get() + ROUNDING;
        let tested = if at_limit || under_at_best <= bound {
            Tested::Over
        } else if over_at_worst <= bound && self.holds_with_unread(&mixture, group, limit, bound) {
            Tested::Within
        } else {
            Tested::Open
        };
        let expected = mixture.expected();
        Standing {
            group,
            expected,
            of_called,
            over_at_worst,
            under_at_best,
            tested,
        }
    }

    /// Says whether the expected share of a group lies below its limit, and whether it is shown to be
    /// kept, which is only looked at where `wanted` and the first holds.
    pub(crate) fn keeps(&self, hour: &Hour, group: Group, wanted: bool) -> (bool, bool) {
        let mixture = self.mixture(hour, group);
        let limit = group.limit(self.settings);
        let of_called = mixture.of_called();
        let at_limit = group == Group::Due && of_called.is_some_and(|s| s >= limit - ROUNDING);
        if at_limit || mixture.expected() >= limit {
            return (false, false);
        }
        let confident = wanted && {
            let bound = self.settings.confidence.complement().get() + ROUNDING;
            let worst = mixture.shares(&mixture.weights, IN_GROUP);
            let over = mean_of(&worst, |share| 1.0 - share.at_most(limit));
            let misread = self.drawn_standing(&mixture, group, limit);
            over.max(misread.map_or(0.0, |(over, _)| over)) <= bound
                && self.holds_with_unread(&mixture, group, limit, bound)
        };
        let over_for_the_reader =
            !self.ponds.is_empty() && self.standing(hour, group).tested == Tested::Over;
        (!over_for_the_reader, confident && !over_for_the_reader)
    }

    fn mixture(&self, hour: &Hour, group: Group) -> Mixture {
        let of_stages = |stages: &BTreeSet<Stage>| {
            let rows = hour.tables.iter().map(|t| chances(t, stages).to_vec());
            self.staged(rows.collect())
        };
        match group {
            Group::Soft => self.staged(hour.soft.iter().map(|row| row.to_vec()).collect()),
            Group::Moulting => of_stages(&self.settings.moulting),
            Group::Due => of_stages(&self.settings.due),
            Group::SoftInHand => self.in_hand(hour),
        }
    }

    fn staged(&self, chances: Vec<Vec<f64>>) -> Mixture {
        let spread = self.counts.iter().zip(self.even).map(|(k, even)| k + even);
        Mixture {
            weights: self.counts.to_vec(),
            spread: spread.collect(),
            chances,
        }
    }

    fn in_hand(&self, hour: &Hour) -> Mixture {
        let weights = self.felt.unwrap_or([0.0; FELT]).to_vec();
        let mut spread = weights.clone();
        for stage in Stage::ALL {
            let soft = matches!(stage, Stage::A | Stage::B | Stage::E);
            let place = if soft { 0 } else { STAGES + 1 };
            spread[place + stage.index()] += self.even[stage.index()];
        }
        let row = |table| felt_chances(table, &self.even, hour.at_netting).to_vec();
        Mixture {
            weights,
            spread,
            chances: hour.tables.iter().map(row).collect(),
        }
    }

    /// Within also when every unread animal was just moulted.
    fn holds_with_unread(&self, mixture: &Mixture, group: Group, limit: f64, bound: f64) -> bool {
        if self.unread == 0.0 || group == Group::SoftInHand {
            return true;
        }
        let mut counts = mixture.weights.clone();
        counts[Stage::A.index()] += self.unread;
        let shares = mixture.shares(&counts, IN_GROUP);
        mean_of(&shares, |share| 1.0 - share.at_most(limit)) <= bound
    }

    /// Probabilities of being over the limit at worst and under it at best, by the ponds drawn;
    /// absent when nothing is known of the reader's errors.
    fn drawn_standing(&self, mixture: &Mixture, group: Group, limit: f64) -> Option<(f64, f64)> {
        let all = (self.ponds.len() * mixture.chances.len()) as f64;
        if all == 0.0 || group == Group::SoftInHand {
            return None;
        }
        let part = |test: &dyn Fn(&(f64, f64)) -> bool| {
            self.drawn(mixture).filter(test).count() as f64 / all
        };
        let over = part(&|(share, one_more)| share * (1.0 - one_more) + one_more > limit);
        let under = part(&|(share, one_more)| share * (1.0 - one_more) <= limit);
        Some((over, under))
    }

    fn drawn_quantile(&self, mixture: &Mixture, group: Group, part: f64) -> Option<f64> {
        if self.ponds.is_empty() || group == Group::SoftInHand {
            return None;
        }
        let worst = self
            .drawn(mixture)
            .map(|(share, one_more)| share * (1.0 - one_more) + one_more);
        let mut worst: Vec<f64> = worst.collect();
        worst.sort_by(f64::total_cmp);
        sorted_quantile(&worst, part)
    }

    /// The share of a group in every pond drawn and for every mean cycle, with the weight of one more
    /// animal.
    fn drawn<'b>(&'b self, mixture: &'b Mixture) -> impl Iterator<Item = (f64, f64)> + 'b {
        self.ponds.iter().flat_map(|pond| {
            mixture.chances.iter().map(|row| {
                let share = pond.shares.iter().zip(row).map(|(p, c)| p * c).sum();
                (share, pond.one_more)
            })
        })
    }
}

impl Mixture {
    /// The distribution of the group's share, one per mean cycle, with Dirichlet weights and for one
    /// more part that is not staged.
    fn shares(&self, weights: &[f64], one_more: (f64, f64)) -> Vec<WeightedShare> {
        let one = |row: &Vec<f64>| {
            let staged = weights.iter().copied().zip(row.iter().copied());
            WeightedShare::new(staged.chain([one_more]))
        };
        self.chances.iter().map(one).collect()
    }

    /// The mean share with one more animal spread as the arcs.
    fn expected(&self) -> f64 {
        self.mean(&self.spread)
    }

    /// The mean share of the animals themselves; absent when there are none.
    fn of_called(&self) -> Option<f64> {
        let all: f64 = self.weights.iter().sum();
        (all > 0.0).then(|| self.mean(&self.weights))
    }

    fn mean(&self, weights: &[f64]) -> f64 {
        let one = |row: &Vec<f64>| mean_share(weights.iter().copied().zip(row.iter().copied()));
        self.chances.iter().map(one).sum::<f64>() / self.chances.len() as f64
    }
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

/// The chance of being soft between the fingers, by how an animal was felt at the netting.
///
/// What was felt holds at the netting. Later an animal is soft while it stands in A, B or E; one that
/// was soft though called C, D0 or D1 stays so, since that is no moult; one called D2 to D4 until it has
/// moulted and hardened; one that was firm though called A, B or E moults as one in C does. Of those not
/// called, the soft stay soft, the firm are spread over C to D4 as the arcs.
fn felt_chances(table: &StageTable, even: &[f64; STAGES], at_netting: bool) -> [f64; FELT] {
    let of = |row: &[f64; STAGES], stages: &[Stage]| {
        stages
            .iter()
            .map(|s| row[s.index()])
            .sum::<f64>()
            .clamp(0.0, 1.0)
    };
    let firm_stages = [
        Stage::C,
        Stage::D0,
        Stage::D1,
        Stage::D2,
        Stage::D3,
        Stage::D4,
    ];
    let moulted = |called: Stage| of(&table[called.index()], &[Stage::A, Stage::B, Stage::E]);
    let mut felt = [0.0; FELT];
    let (soft, firm) = felt.split_at_mut(STAGES + 1);
    for called in Stage::ALL {
        let row = &table[called.index()];
        let (if_soft, if_firm) = match called {
            Stage::A | Stage::B | Stage::E => (moulted(called), moulted(Stage::C)),
            Stage::C | Stage::D0 | Stage::D1 => (1.0, moulted(called)),
            Stage::D2 | Stage::D3 | Stage::D4 => (
                1.0 - of(row, &[Stage::C, Stage::D0, Stage::D1]),
                moulted(called),
            ),
        };
        soft[called.index()] = if at_netting { 1.0 } else { if_soft };
        firm[called.index()] = if at_netting { 0.0 } else { if_firm };
    }
    soft[STAGES] = 1.0;
    let spread = firm_stages
        .iter()
        .map(|s| (even[s.index()], firm[s.index()]));
    firm[STAGES] = mean_share(spread);
    felt
}

fn mean_of(shares: &[WeightedShare], of: impl Fn(&WeightedShare) -> f64) -> f64 {
    shares.iter().map(of).sum::<f64>() / shares.len() as f64
}
