//! Which stages count, against which limits, how surely.

use crate::cycle::Assumed;
use crate::moult::Stage;
use crate::statistics::Interval;
use crate::statistics::multinomial::goodman;
use crate::statistics::multinomial::sison_glaz;
use crate::units::Probability;
use std::collections::BTreeSet;
use thiserror::Error;

/// Joint confidence of the intervals of the stage table.
const TABLE_CONFIDENCE: f64 = 0.95;

const TRADE_ARTICLE: &str = "read in a trade article: Lucien-Brun 2016, critical decisions for \
    shrimp harvesting and packing, as reported at aquahoy.com";
const PRACTICE: &str = "common practice, no publication found";
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

/// A setting that allows no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum SettingsError {
    /// A confidence at which a test would be no better than a coin, or could never answer.
    #[error("a confidence of {0} leaves nothing to test: use 0.5 or more and less than 1")]
    Confidence(f64),
    /// A group without stages.
    #[error("no stage counts as {0}: name at least one")]
    EmptyGroup(&'static str),
}

/// Which stages count as what, the limits, and how sure an answer must be.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Stages that count as soft.
    pub soft: BTreeSet<Stage>,
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
    /// Intervals of the stage table.
    pub intervals: Intervals,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            soft: BTreeSet::from([Stage::A, Stage::B, Stage::E]),
            moulting: BTreeSet::from([Stage::A, Stage::E]),
            due: BTreeSet::from([Stage::D2, Stage::D3, Stage::D4]),
            soft_limit: Probability::clamped(0.10),
            moulting_limit: Probability::clamped(0.05),
            due_limit: Probability::clamped(0.40),
            confidence: Probability::clamped(0.90),
            intervals: Intervals::Goodman,
        }
    }
}

impl Settings {
    /// Checks that the settings allow an answer.
    ///
    /// # Errors
    /// [`SettingsError`] for a confidence outside 0.5..1 or a group without stages.
    pub fn checked(self) -> Result<Self, SettingsError> {
        if !(0.5..1.0).contains(&self.confidence.get()) {
            return Err(SettingsError::Confidence(self.confidence.get()));
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
        .collect()
    }
}
