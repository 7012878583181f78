//! One group of animals against one limit.

use crate::moult::Stage;
use crate::statistics::binomial::Count;
use crate::statistics::binomial::at_least;
use crate::statistics::binomial::at_most;
use crate::statistics::binomial::wilson;
use crate::statistics::posterior::Beta;
use crate::statistics::posterior::Prior;
use crate::units::Probability;
use serde::Serialize;

/// More animals than this are never asked for: the share is then too near its limit for netting
/// to settle.
pub const MOST_MORE_ANIMALS: u64 = 150;

/// Confidence of the interval of one share.
const SHARE_CONFIDENCE: f64 = 0.95;

/// How far a probability may lie above its bound by rounding alone: one soft animal of one at a
/// limit of 10 % is over at 90 %, though 1 - 0.9 is a little below 0.1 in binary.
const ROUNDING: f64 = 1e-12;

/// The observed share against the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OnTheCount {
    /// Strictly below.
    UnderLimits,
    /// At the limit or above it.
    AtOrOver,
}

/// What the exact test says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tested {
    /// So few would be rare in a pond on the limit.
    Within,
    /// Neither.
    Open,
    /// So many would be rare in a pond on the limit.
    Over,
}

/// The way an open answer would go if the share stayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Leaning {
    /// The share lies strictly below the limit.
    Within,
    /// The share lies at the limit or above it.
    Over,
}

/// One group of animals against its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitTally {
    /// The stages of the group; absent where it is felt, not staged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stages: Option<Vec<Stage>>,
    /// Animals in the group.
    pub count: u64,
    /// Animals looked at.
    pub of: u64,
    /// Their share; absent when none was looked at.
    pub share: Option<f64>,
    /// Lower end of Wilson's 95 % interval.
    pub low: f64,
    /// Upper end of Wilson's 95 % interval.
    pub high: f64,
    /// The limit.
    pub limit: f64,
    /// The share against the limit.
    pub on_the_count: Option<OnTheCount>,
    /// P(X <= count) in a pond exactly on the limit.
    pub p_within: f64,
    /// P(X >= count) in a pond exactly on the limit.
    pub p_over: f64,
    /// Posterior probability that the pond is over the limit, Jeffreys prior; decides nothing.
    pub jeffreys_over: f64,
    /// What the exact test says.
    pub tested: Tested,
    /// The way an open answer leans; absent otherwise.
    pub leans: Option<Leaning>,
    /// How many more animals would settle an open answer if the share stayed; absent otherwise,
    /// and when it would take more than [`MOST_MORE_ANIMALS`].
    pub more_animals: Option<u64>,
}

impl LimitTally {
    /// Sets a count against a limit.
    pub(crate) fn judge(count: Count, limit: Probability, confidence: Probability) -> Self {
        let share = count.share();
        let bounds = wilson(count, Probability::clamped(SHARE_CONFIDENCE));
        let on_the_count = share.map(|s| on_the_count(s, limit));
        let tested = test(count, limit, confidence);
        let leans = match on_the_count {
            Some(OnTheCount::UnderLimits) => Some(Leaning::Within),
            Some(OnTheCount::AtOrOver) => Some(Leaning::Over),
            None => None,
        }
        .filter(|_| tested == Tested::Open);
        Self {
            stages: None,
            count: count.k(),
            of: count.n(),
            share: share.map(Probability::get),
            low: bounds.low.get(),
            high: bounds.high.get(),
            limit: limit.get(),
            on_the_count,
            p_within: at_most(count, limit).get(),
            p_over: at_least(count, limit).get(),
            jeffreys_over: Beta::after(count, Prior::Jeffreys).over(limit).get(),
            tested,
            leans,
            more_animals: leans.and_then(|_| more_animals(count, limit, confidence)),
        }
    }

    pub(crate) fn of_stages(self, stages: Option<Vec<Stage>>) -> Self {
        Self { stages, ..self }
    }

    /// The rule for animals about to moult: at the limit on the count is over, without a test,
    /// since falling water sets the moult off.
    pub(crate) fn over_when_at_limit(self) -> Self {
        if self.on_the_count == Some(OnTheCount::AtOrOver) {
            Self {
                tested: Tested::Over,
                leans: None,
                more_animals: None,
                ..self
            }
        } else {
            self
        }
    }
}

/// How often a pond exactly on the limit comes out under it on the count with so many animals.
pub fn passes_on_the_limit(animals: u64, limit: Probability) -> Probability {
    let under = |k: &u64| {
        let share = count(*k, animals).share();
        share.is_some_and(|s| on_the_count(s, limit) == OnTheCount::UnderLimits)
    };
    let about = (limit.get() * animals as f64).ceil() as u64;
    let from = about.saturating_sub(2);
    let most = (from..=(about + 1).min(animals)).rev().find(under);
    most.map_or_else(
        || Probability::clamped(0.0),
        |k| at_most(count(k, animals), limit),
    )
}

/// The fewest animals that can show a share below `limit`: so many, with none in the group. Absent
/// when no number can (a limit of 0).
pub fn fewest_to_clear(limit: Probability, confidence: Probability) -> Option<u64> {
    if limit.get() <= 0.0 {
        return None;
    }
    (1..=1_000_000).find(|&n| test(count(0, n), limit, confidence) == Tested::Within)
}

/// A count that is right by construction; more hits than animals count as all of them.
pub(crate) fn count(k: u64, n: u64) -> Count {
    Count::new(k.min(n), n).unwrap_or_else(|_| Count::none_of(n))
}

fn on_the_count(share: Probability, limit: Probability) -> OnTheCount {
    if share.get() < limit.get() - ROUNDING {
        OnTheCount::UnderLimits
    } else {
        OnTheCount::AtOrOver
    }
}

fn test(count: Count, limit: Probability, confidence: Probability) -> Tested {
    let bound = confidence.complement().get() + ROUNDING;
    if count.n() == 0 {
        Tested::Open
    } else if at_most(count, limit).get() <= bound {
        Tested::Within
    } else if at_least(count, limit).get() <= bound {
        Tested::Over
    } else {
        Tested::Open
    }
}

/// The fewest further animals that settle the test when the share stays as nearly as whole animals
/// allow.
fn more_animals(seen: Count, limit: Probability, confidence: Probability) -> Option<u64> {
    let share = seen.share()?.get();
    (1..=MOST_MORE_ANIMALS).find(|more| {
        let n = seen.n() + more;
        let k = (share * n as f64).round() as u64;
        test(count(k, n), limit, confidence) != Tested::Open
    })
}
