//! Which stages count, against which limits, how surely.

use crate::cycle::Assumed;
use crate::cycle::arcs::StageArcs;
use crate::moult::Stage;
use crate::statistics::Interval;
use crate::statistics::multinomial::goodman;
use crate::statistics::multinomial::sison_glaz;
use crate::tally::limits::Probe;
use crate::units::Days;
use crate::units::Probability;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use thiserror::Error;

/// Joint confidence of the intervals of the stage table.
const TABLE_CONFIDENCE: f64 = 0.95;

const TRADE_ARTICLE: &str = "read in a trade article: Lucien-Brun 2016, critical decisions for \
    shrimp harvesting and packing, as reported at aquahoy.com";
const PRACTICE: &str = "common practice, no publication found";
const INDEPENDENT: &str = "our choice: animals as if drawn one by one; those of one throw are not";
const SOFT_STAGES: &str = "our choice, settable: post-moult by the shares of Corteel et al. 2012; a \
    trade article has shells rigid in 2 days (Marinho-Jr, panoramadaaquicultura.com.br), another \
    paper post-moult over in 1-16 hours (Rusaini & Owens 2011, P. monodon)";
const MOULTING_STAGES: &str = "our choice, settable: a shed shell, or none yet";
const DUE_STAGES: &str = "our choice, settable: late pre-moult";
const OUR_CHOICE: &str = "our choice: 20-30 animals can show little at a higher one";

/// Which simultaneous intervals stand in the table of stages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Intervals {
    /// Goodman's.
    #[default]
    Goodman,
    /// Those of Sison and Glaz.
    SisonGlaz,
}

impl Intervals {
    /// Name and joint confidence, as the table gives them.
    pub fn label(self) -> String {
        let name = match self {
            Self::Goodman => "goodman",
            Self::SisonGlaz => "sison-glaz",
        };
        format!("{name} {TABLE_CONFIDENCE}")
    }

    pub(crate) fn of(self, counts: &[u64]) -> Vec<Interval> {
        let confidence = Probability::clamped(TABLE_CONFIDENCE);
        match self {
            Self::Goodman => goodman(counts, confidence),
            Self::SisonGlaz => sison_glaz(counts, confidence),
        }
    }
}

/// How the animals were caught.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Catch {
    /// With a cast net, from several points.
    #[default]
    Net,
    /// From feed trays: only hungry, hard animals come; such a sample warns and never clears.
    FeedTray,
}

/// Soft as so many days since the moult, instead of whole stages: a stage counts for the part of its
/// arc that lies within.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RigidAfter {
    /// Days from the moult until a shell is rigid.
    pub days: Days,
    /// Length of the cycle, which turns them into a part of it.
    pub cycle: Days,
}

impl RigidAfter {
    /// The part of the cycle that counts as soft.
    pub const fn window(self) -> f64 {
        self.days.get() / self.cycle.get()
    }
}

/// A setting that allows no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum SettingsError {
    /// A confidence at which a test would be no better than a coin, or could never answer.
    #[error("a confidence of {0} leaves nothing to test: use 0.5 or more and less than 1")]
    Confidence(f64),
    /// A design effect that would make animals tell more than they can.
    #[error("a design effect of {0} cannot be: use 1 (animals are independent) to 20")]
    DesignEffect(f64),
    /// Shells that are rigid at once, or never within a cycle.
    #[error(
        "shells rigid after {days} days of a cycle of {cycle} days leave nothing to tell: use more than 0 days and less than half a cycle"
    )]
    RigidAfter {
        /// Days until rigid.
        days: f64,
        /// Length of the cycle.
        cycle: f64,
    },
    /// A group without stages.
    #[error("no stage counts as {0}: name at least one")]
    EmptyGroup(&'static str),
}

/// Which stages count as what, the limits, and how sure an answer must be.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Stages that count as soft.
    pub soft: BTreeSet<Stage>,
    /// Soft as days since the moult; it then takes the place of the stages. A shedding animal (E) is
    /// soft either way.
    pub rigid_after: Option<RigidAfter>,
    /// Stages that count as moulting.
    pub moulting: BTreeSet<Stage>,
    /// Stages that count as about to moult.
    pub due: BTreeSet<Stage>,
    /// The soft share must stay below it.
    pub soft_limit: Probability,
    /// The moulting share must stay below it.
    pub moulting_limit: Probability,
    /// The share about to moult must stay below it.
    pub due_limit: Probability,
    /// Confidence of each test.
    pub confidence: Probability,
    /// How many animals of a netting tell as much as one drawn by itself: 1 when they are
    /// independent, more when those of one throw are alike. It widens every test and interval of
    /// the limits, not the table of stages.
    pub design_effect: f64,
    /// How the animals were caught.
    pub catch: Catch,
    /// Says whether many shed shells were seen in the pond or the net.
    pub many_shed_shells: bool,
    /// Intervals of the stage table.
    pub intervals: Intervals,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            soft: BTreeSet::from([Stage::A, Stage::B, Stage::E]),
            rigid_after: None,
            moulting: BTreeSet::from([Stage::A, Stage::E]),
            due: BTreeSet::from([Stage::D2, Stage::D3, Stage::D4]),
            soft_limit: Probability::clamped(0.10),
            moulting_limit: Probability::clamped(0.05),
            due_limit: Probability::clamped(0.40),
            confidence: Probability::clamped(0.90),
            design_effect: 1.0,
            catch: Catch::Net,
            many_shed_shells: false,
            intervals: Intervals::Goodman,
        }
    }
}

impl Settings {
    /// Checks that the settings allow an answer.
    ///
    /// # Errors
    /// [`SettingsError`] for a confidence outside 0.5..1, a group without stages, or shells that are
    /// rigid at once or never.
    pub fn checked(self) -> Result<Self, SettingsError> {
        if !(0.5..1.0).contains(&self.confidence.get()) {
            return Err(SettingsError::Confidence(self.confidence.get()));
        }
        if !(1.0..=20.0).contains(&self.design_effect) {
            return Err(SettingsError::DesignEffect(self.design_effect));
        }
        if let Some(RigidAfter { days, cycle }) = self.rigid_after {
            let (days, cycle) = (days.get(), cycle.get());
            if !(days > 0.0 && days < 0.5 * cycle && cycle.is_finite()) {
                return Err(SettingsError::RigidAfter { days, cycle });
            }
        }
        let groups = [
            ("soft", &self.soft),
            ("moulting", &self.moulting),
            ("due", &self.due),
        ];
        if let Some((name, _)) = groups.into_iter().find(|(_, stages)| stages.is_empty()) {
            return Err(SettingsError::EmptyGroup(name));
        }
        Ok(self)
    }

    /// How much of an animal called at each stage counts as soft; stages that do not count are left
    /// out.
    pub fn soft_parts(&self, arcs: &StageArcs) -> BTreeMap<Stage, f64> {
        let Some(rigid_after) = self.rigid_after else {
            return self.soft.iter().map(|&stage| (stage, 1.0)).collect();
        };
        let part = |stage: Stage| {
            let (start, end) = arcs.arc_of_call(stage);
            let within = rigid_after.window() - start;
            if end > start {
                (within / (end - start)).clamp(0.0, 1.0)
            } else if within > 0.0 {
                1.0
            } else {
                0.0
            }
        };
        let parts = Stage::ALL.into_iter().map(|stage| (stage, part(stage)));
        parts.filter(|(_, part)| *part > 0.0).collect()
    }

    /// The groups that are defaults, as parts of an even cycle, with their sources.
    pub(crate) fn assumed_groups(&self, arcs: &StageArcs) -> Vec<Assumed> {
        let usual = Self::default();
        let groups = [
            ("soft", &self.soft, &usual.soft, SOFT_STAGES),
            ("moulting", &self.moulting, &usual.moulting, MOULTING_STAGES),
            ("due", &self.due, &usual.due, DUE_STAGES),
        ];
        let one = |(name, set, usual, source): (&str, &BTreeSet<Stage>, &BTreeSet<Stage>, _)| {
            let replaced = name == "soft" && self.rigid_after.is_some();
            (set == usual && !replaced).then(|| {
                let codes: Vec<&str> = set.iter().map(|stage| stage.code()).collect();
                let share = set.iter().map(|&stage| arcs.share(stage)).sum();
                let name = format!("{name} is {}, in an even pond", codes.join(", "));
                Assumed::new(&name, share, "", source)
            })
        };
        groups.into_iter().filter_map(one).collect()
    }

    /// A limit as it is tested.
    pub(crate) const fn probe(&self, limit: Probability) -> Probe {
        let (confidence, design_effect) = (self.confidence, self.design_effect);
        Probe {
            limit,
            confidence,
            design_effect,
        }
    }

    /// The settings that are defaults, with their sources.
    pub fn assumed(&self) -> Vec<Assumed> {
        let default = Self::default();
        let one = |name, set: Probability, usual: Probability, source| {
            (set == usual).then(|| Assumed::new(name, set.get(), "", source))
        };
        [
            one(
                "limit on soft",
                self.soft_limit,
                default.soft_limit,
                TRADE_ARTICLE,
            ),
            one(
                "limit on moulting",
                self.moulting_limit,
                default.moulting_limit,
                TRADE_ARTICLE,
            ),
            one("limit on due", self.due_limit, default.due_limit, PRACTICE),
            one(
                "confidence of the tests",
                self.confidence,
                default.confidence,
                OUR_CHOICE,
            ),
        ]
        .into_iter()
        .flatten()
        .chain(
            (self.design_effect == default.design_effect)
                .then(|| Assumed::new("design effect", self.design_effect, "", INDEPENDENT)),
        )
        .collect()
    }
}
