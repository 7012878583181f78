//! The calls of a sample counted by stage, with intervals, and set against the limits: what the
//! sample says about the pond at the hour of netting.
//!
//! Calls go in, a [`Tally`] comes out, which is also the object that `tailfan tally --json` prints.
//! Nothing here looks ahead: harvests with a start and an end are judged elsewhere.

mod limits;
mod reader;
mod settings;
mod stations;

pub use crate::tally::limits::Leaning;
pub use crate::tally::limits::LimitTally;
pub use crate::tally::limits::MOST_MORE_ANIMALS;
pub use crate::tally::limits::OnTheCount;
pub(crate) use crate::tally::limits::Probe;
pub use crate::tally::limits::Tested;
pub use crate::tally::limits::fewest_to_clear;
pub use crate::tally::limits::passes_on_the_limit;
pub use crate::tally::reader::GroupReader;
pub use crate::tally::reader::PondDraw;
pub use crate::tally::reader::ReaderEffect;
pub use crate::tally::settings::Catch;
pub use crate::tally::settings::Intervals;
pub use crate::tally::settings::RigidAfter;
pub use crate::tally::settings::Settings;
pub use crate::tally::settings::SettingsError;
pub use crate::tally::stations::StationDifference;
pub use crate::tally::stations::compare_stations;

use crate::cycle::Assumed;
use crate::cycle::arcs::StageArcs;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::statistics::binomial::Count;
use crate::statistics::circular::gather;
use serde::Serialize;
use std::collections::BTreeMap;

/// One netted animal as it enters the tally.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Animal {
    /// The standing call; absent for an animal that could not be read or was not called.
    pub stage: Option<Stage>,
    /// The shell as felt; absent when it was not felt.
    pub shell: Option<Shell>,
}

/// What the tests say about the pond at the hour of netting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// Every limit is shown to be kept.
    WithinLimits,
    /// Neither shown.
    TooFewAnimals,
    /// Some limit is shown to be exceeded.
    OverLimits,
}

/// Why a sample cannot clear a pond, whatever was called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// It came from feed trays.
    FeedTray,
    /// Many shells were shed, and yet no animal was called A or B: the net missed the soft ones.
    SoftOnesMissed,
}

/// How many animals felt soft or papery, and how many firm, by what they were called; the last place
/// is for those that were not called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Felt {
    /// Soft or papery.
    pub soft: [u64; Stage::ALL.len() + 1],
    /// Firm.
    pub firm: [u64; Stage::ALL.len() + 1],
}

impl Felt {
    fn of(animals: &[Animal]) -> Self {
        let mut felt = Self::default();
        for animal in animals.iter().filter(|a| a.shell.is_some()) {
            let place = animal.stage.map_or(Stage::ALL.len(), Stage::index);
            if feels_soft(*animal) {
                felt.soft[place] += 1;
            } else {
                felt.firm[place] += 1;
            }
        }
        felt
    }

    fn count(&self) -> Option<Count> {
        let soft: u64 = self.soft.iter().sum();
        let all = soft + self.firm.iter().sum::<u64>();
        (all > 0).then(|| Count::capped(soft, all))
    }
}

/// The share of one stage with its simultaneous interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StageShare {
    /// Share of the called animals; absent when none was called.
    pub share: Option<f64>,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Where the called animals gather on the moult cycle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Synchrony {
    /// Mean direction, 0 (moult) to 1; absent when there is none.
    pub mean_phase: Option<f64>,
    /// Length of the mean vector, 0..1.
    pub resultant: f64,
    /// Length of the mean vector of the doubled phases, 0..1.
    pub second_harmonic: f64,
    /// Chance of so long a mean vector from an even pond; never a proof of evenness, since two
    /// opposed waves have no mean direction.
    pub rayleigh_p: f64,
}

/// A sample counted and set against the limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tally {
    /// Animals netted.
    pub animals: u64,
    /// Animals called.
    pub called: u64,
    /// Animals netted and not called.
    pub unread: u64,
    /// Called animals at each stage, none left out.
    pub counts: BTreeMap<Stage, u64>,
    /// Share of each stage with its simultaneous interval.
    pub shares: BTreeMap<Stage, StageShare>,
    /// Which intervals, and their joint confidence.
    pub intervals: String,
    /// The soft group against its limit.
    pub soft: LimitTally,
    /// The moulting group against its limit.
    pub moulting: LimitTally,
    /// The group about to moult against its limit.
    pub due: LimitTally,
    /// Animals soft or papery in the hand, of those felt; absent when none was felt.
    pub soft_in_hand: Option<LimitTally>,
    /// Confidence of the tests.
    pub confidence: f64,
    /// The observed shares against the limits; absent when none was called.
    pub on_the_count: Option<OnTheCount>,
    /// What the tests say, unread animals considered.
    pub at_netting: Answer,
    /// What the tests say when every unread animal is counted as soft and moulting.
    pub with_unread_as_soft: Answer,
    /// The groups that stand worst and so decide the answer.
    pub decided_by: Vec<&'static str>,
    /// Where the animals gather on the cycle; absent when none was called.
    pub synchrony: Option<Synchrony>,
    /// The defaults that went in, with their sources.
    pub assumed: Vec<Assumed>,
    /// Why the sample cannot clear the pond, if anything.
    pub doubts: Vec<Doubt>,
    /// How many animals of a netting count as one drawn by itself.
    pub design_effect: f64,
    /// How the stations differ; absent unless two or more are named.
    pub stations: Option<StationDifference>,
    /// How the throws of the net differ; absent unless two or more are named.
    pub throws: Option<StationDifference>,
    /// The share of an evenly moulting pond that stands in the soft group.
    pub even_soft: f64,
    /// Animals soft or papery in the hand though called C, D0 or D1.
    pub health_flags: u64,
    /// What the known errors of the reader do to the answer; absent without slides of known truth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reader: Option<ReaderEffect>,
    /// How shells felt, by call.
    #[serde(skip)]
    pub felt: Felt,
}

/// Counts `animals` and sets them against the limits.
pub fn tally(animals: &[Animal], settings: &Settings, arcs: &StageArcs) -> Tally {
    let mut counts: BTreeMap<Stage, u64> = Stage::ALL.into_iter().map(|s| (s, 0)).collect();
    for stage in animals.iter().filter_map(|a| a.stage) {
        *counts.entry(stage).or_default() += 1;
    }
    let called: u64 = counts.values().sum();
    let unread = animals.len() as u64 - called;
    let felt = Felt::of(animals);
    let parts = settings.soft_parts(arcs);
    let judge = |unread| Groups::judge(&counts, unread, (&felt, &parts), settings);
    let (read, with_unread) = (judge(0), judge(unread));
    let doubts = doubts(&counts, settings);
    let turned = read.answer() == Answer::WithinLimits && with_unread.answer() != read.answer();
    let doubted = read.answer() == Answer::WithinLimits && !doubts.is_empty();
    let at_netting = if turned || doubted {
        Answer::TooFewAnimals
    } else {
        read.answer()
    };
    let decided_by = if turned {
        with_unread.worst()
    } else {
        read.worst()
    };
    let mut assumed = settings.assumed();
    assumed.extend(settings.assumed_groups(arcs));
    assumed.extend(arcs.assumed());
    Tally {
        animals: animals.len() as u64,
        called,
        unread,
        shares: shares(&counts, settings.intervals),
        intervals: settings.intervals.label(),
        confidence: settings.confidence.get(),
        on_the_count: read.on_the_count(),
        at_netting,
        with_unread_as_soft: with_unread.answer(),
        decided_by,
        synchrony: synchrony(&counts, arcs),
        assumed,
        doubts,
        design_effect: settings.design_effect,
        stations: None,
        throws: None,
        reader: None,
        felt,
        even_soft: parts.iter().map(|(&s, part)| part * arcs.share(s)).sum(),
        health_flags: animals.iter().filter(|a| is_health_flag(**a)).count() as u64,
        soft: read.soft,
        moulting: read.moulting,
        due: read.due,
        soft_in_hand: read.soft_in_hand,
        counts,
    }
}

/// The four groups that decide.
struct Groups {
    soft: LimitTally,
    moulting: LimitTally,
    due: LimitTally,
    soft_in_hand: Option<LimitTally>,
}

impl Groups {
    /// Judges the groups with `unread` animals counted as soft and moulting.
    fn judge(
        counts: &BTreeMap<Stage, u64>,
        unread: u64,
        (felt, parts): (&Felt, &BTreeMap<Stage, f64>),
        settings: &Settings,
    ) -> Self {
        let all = counts.values().sum::<u64>() + unread;
        let count = |stages: &std::collections::BTreeSet<Stage>, more: u64| {
            let k = stages.iter().filter_map(|s| counts.get(s)).sum::<u64>() + more;
            Count::capped(k, all)
        };
        let probe = |limit| settings.probe(limit);
        let stages = |set: &std::collections::BTreeSet<Stage>| Some(set.iter().copied().collect());
        let soft_stages: std::collections::BTreeSet<Stage> = parts.keys().copied().collect();
        let soft_count = count(&soft_stages, unread);
        let soft_probe = probe(settings.soft_limit);
        let soft = if settings.rigid_after.is_some() {
            let mixed = parts.iter().map(|(stage, part)| {
                let animals = counts.get(stage).copied().unwrap_or(0);
                (animals as f64, *part)
            });
            let mixed = mixed.chain([(unread as f64, 1.0)]).collect();
            LimitTally::judge_parts(soft_count, mixed, parts, soft_probe)
        } else {
            LimitTally::judge(soft_count, soft_probe)
        };
        let moulting = LimitTally::judge(
            count(&settings.moulting, unread),
            probe(settings.moulting_limit),
        );
        let due = LimitTally::judge(count(&settings.due, 0), probe(settings.due_limit));
        Self {
            soft: soft.of_stages(stages(&soft_stages)),
            moulting: moulting.of_stages(stages(&settings.moulting)),
            due: due.over_when_at_limit().of_stages(stages(&settings.due)),
            soft_in_hand: felt.count().map(|felt| LimitTally::judge(felt, soft_probe)),
        }
    }

    fn named(&self) -> impl Iterator<Item = (&'static str, &LimitTally)> {
        let groups = [
            ("soft", &self.soft),
            ("moulting", &self.moulting),
            ("due", &self.due),
        ];
        let in_hand = self.soft_in_hand.as_ref().map(|g| ("soft_in_hand", g));
        groups.into_iter().chain(in_hand)
    }

    fn answer(&self) -> Answer {
        let one = |(_, g): (&str, &LimitTally)| match g.tested {
            Tested::Within => Answer::WithinLimits,
            Tested::Open => Answer::TooFewAnimals,
            Tested::Over => Answer::OverLimits,
        };
        self.named().map(one).max().unwrap_or(Answer::TooFewAnimals)
    }

    fn on_the_count(&self) -> Option<OnTheCount> {
        self.named().filter_map(|(_, g)| g.on_the_count).max()
    }

    /// The groups that stand worst: over before open and leaning over before open before within.
    fn worst(&self) -> Vec<&'static str> {
        let rank = |g: &LimitTally| (g.tested, g.leans == Some(Leaning::Over));
        let worst = self.named().map(|(_, g)| rank(g)).max();
        let stands_so = |(_, g): &(&str, &LimitTally)| Some(rank(g)) == worst;
        self.named()
            .filter(stands_so)
            .map(|(name, _)| name)
            .collect()
    }
}

const fn feels_soft(animal: Animal) -> bool {
    matches!(animal.shell, Some(Shell::Soft | Shell::Papery))
}

/// Soft in the hand but firm under the microscope; D2 to D4 may feel soft by themselves.
const fn is_health_flag(animal: Animal) -> bool {
    feels_soft(animal) && matches!(animal.stage, Some(Stage::C | Stage::D0 | Stage::D1))
}

fn doubts(counts: &BTreeMap<Stage, u64>, settings: &Settings) -> Vec<Doubt> {
    let soft: u64 = [Stage::A, Stage::B]
        .iter()
        .filter_map(|s| counts.get(s))
        .sum();
    let tray = (settings.catch == Catch::FeedTray).then_some(Doubt::FeedTray);
    let missed = (settings.many_shed_shells && soft == 0).then_some(Doubt::SoftOnesMissed);
    tray.into_iter().chain(missed).collect()
}

fn shares(counts: &BTreeMap<Stage, u64>, intervals: Intervals) -> BTreeMap<Stage, StageShare> {
    let cells: Vec<u64> = counts.values().copied().collect();
    let all: u64 = cells.iter().sum();
    let bounds = intervals.of(&cells);
    counts
        .iter()
        .zip(bounds)
        .map(|((&stage, &k), bound)| {
            let share = StageShare {
                share: (all > 0).then(|| k as f64 / all as f64),
                low: bound.low.get(),
                high: bound.high.get(),
            };
            (stage, share)
        })
        .collect()
}

fn synchrony(counts: &BTreeMap<Stage, u64>, arcs: &StageArcs) -> Option<Synchrony> {
    let phases: Vec<(f64, u64)> = counts
        .iter()
        .map(|(&stage, &k)| (arcs.centroid_of_call(stage), k))
        .collect();
    gather(&phases).map(|g| Synchrony {
        mean_phase: g.mean_phase,
        resultant: g.resultant,
        second_harmonic: g.second_harmonic,
        rayleigh_p: g.rayleigh_p,
    })
}

#[cfg(test)]
mod tests;
