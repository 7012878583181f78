//! One group of animals against one limit.

use crate::moult::Stage;
use crate::statistics::binomial::Count;
use crate::statistics::binomial::at_most;
use crate::statistics::binomial::wilson_of;
use crate::statistics::clustered::Clustered;
use crate::statistics::functional::WeightedShare;
use crate::statistics::posterior::Beta;
use crate::units::Probability;
use serde::Serialize;
use std::collections::BTreeMap;

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

/// A limit, and how surely it is tested.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Probe {
    /// The limit.
    pub(crate) limit: Probability,
    /// Confidence of the test.
    pub(crate) confidence: Probability,
    /// How many animals of a netting tell as much as one drawn by itself; 1 or more.
    pub(crate) design_effect: f64,
}

/// One group of animals against its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitTally {
    /// The stages of the group; absent where it is felt, not staged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stages: Option<Vec<Stage>>,
    /// How much of an animal counts, stage by stage, where a stage lies in the group with a part of
    /// its arc only; absent where stages count whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parts: Option<BTreeMap<Stage, f64>>,
    /// Animals in the group: called at one of its stages.
    pub count: u64,
    /// What they count together, where stages count in part; the share and the tests go by it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted: Option<f64>,
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
    /// P(X <= count) in a pond exactly on the limit; with a design effect above 1, of the part of the
    /// animals that counts, by the Beta distribution that continues the sum. Where animals count in
    /// part: the probability that the pond is over the limit, with one more animal in the group, which
    /// is the same where all count whole.
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
    pub(crate) fn judge(count: Count, probe: Probe) -> Self {
        Self::judge_seen(count, &Seen::whole(count), probe)
    }

    /// Sets animals that count in part against a limit: how many there are, and how many count by
    /// which part, those that count whole included.
    pub(crate) fn judge_parts(
        count: Count,
        mixed: Vec<(f64, f64)>,
        parts: &BTreeMap<Stage, f64>,
        probe: Probe,
    ) -> Self {
        let seen = Seen::in_parts(mixed, count.n() as f64);
        let counted = seen.k;
        Self {
            parts: Some(parts.clone()),
            counted: Some(counted),
            ..Self::judge_seen(count, &seen, probe)
        }
    }

    /// What was seen of the group, for a test of another limit.
    pub(crate) fn seen(&self, counts: &BTreeMap<Stage, u64>) -> Seen {
        let Some(parts) = &self.parts else {
            return Seen::whole(Count::capped(self.count, self.of));
        };
        let count = |stage: &Stage| counts.get(stage).copied().unwrap_or(0) as f64;
        let mixed = parts.iter().map(|(stage, part)| (count(stage), *part));
        Seen::in_parts(mixed.collect(), self.of as f64)
    }

    fn judge_seen(count: Count, seen: &Seen, probe: Probe) -> Self {
        let limit = probe.limit;
        let share = seen.share();
        let confidence = Probability::clamped(SHARE_CONFIDENCE);
        let bounds = wilson_of((seen.k, seen.n), confidence, probe.design_effect);
        let on_the_count = share.map(|s| on_the_count(s, limit));
        let tested = probe.test(seen);
        let leans = match on_the_count {
            Some(OnTheCount::UnderLimits) => Some(Leaning::Within),
            Some(OnTheCount::AtOrOver) => Some(Leaning::Over),
            None => None,
        }
        .filter(|_| tested == Tested::Open);
        Self {
            stages: None,
            parts: None,
            counted: None,
            count: count.k(),
            of: count.n(),
            share: share.map(Probability::get),
            low: bounds.low.get(),
            high: bounds.high.get(),
            limit: limit.get(),
            on_the_count,
            p_within: probe.p_within(seen).get(),
            p_over: probe.p_over(seen).get(),
            jeffreys_over: Beta::of_part((seen.k, seen.n), probe.design_effect, [0.5, 0.5])
                .over(limit)
                .get(),
            tested,
            leans,
            more_animals: leans.and_then(|way| probe.more_animals(seen, way)),
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
        let share = Count::capped(*k, animals).share();
        share.is_some_and(|s| on_the_count(s, limit) == OnTheCount::UnderLimits)
    };
    let about = (limit.get() * animals as f64).ceil() as u64;
    let from = about.saturating_sub(2);
    let most = (from..=(about + 1).min(animals)).rev().find(under);
    most.map_or_else(
        || Probability::clamped(0.0),
        |k| at_most(Count::capped(k, animals), limit),
    )
}

/// The fewest animals that can show a share below `limit`: so many, with none in the group, when
/// `design_effect` of them tell as much as one drawn by itself. Absent when no number can (a limit of
/// 0).
pub fn fewest_to_clear(
    limit: Probability,
    confidence: Probability,
    design_effect: f64,
) -> Option<u64> {
    let probe = Probe {
        limit,
        confidence,
        design_effect,
    };
    let clears = |n: &u64| probe.test(&Seen::whole(Count::none_of(*n))) == Tested::Within;
    (1..=1_000_000)
        .take_while(|_| limit.get() > 0.0)
        .find(clears)
}

fn on_the_count(share: Probability, limit: Probability) -> OnTheCount {
    if share.get() < limit.get() - ROUNDING {
        OnTheCount::UnderLimits
    } else {
        OnTheCount::AtOrOver
    }
}

/// How many animals count, in whole or in part, of how many.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Seen {
    /// What counts.
    k: f64,
    /// Animals looked at.
    n: f64,
    /// Animals and the part by which they count, the others left out; absent where all count whole.
    mixed: Option<Vec<(f64, f64)>>,
}

impl Seen {
    pub(crate) const fn whole(count: Count) -> Self {
        Self {
            k: count.k() as f64,
            n: count.n() as f64,
            mixed: None,
        }
    }

    fn in_parts(mixed: Vec<(f64, f64)>, n: f64) -> Self {
        let k = mixed.iter().map(|(animals, part)| animals * part).sum();
        let mixed = Some(mixed);
        Self { k, n, mixed }
    }

    fn share(&self) -> Option<Probability> {
        (self.n > 0.0).then(|| Probability::clamped(self.k / self.n))
    }

    /// The same shares among `n` animals, as nearly as whole animals allow where they count whole.
    fn among(&self, n: f64) -> Self {
        let by = n / self.n;
        let mixed = self.mixed.as_ref().map(|mixed| {
            let scaled = mixed.iter().map(|(animals, part)| (animals * by, *part));
            scaled.collect()
        });
        let k = if mixed.is_some() {
            self.k * by
        } else {
            (self.k * by).round()
        };
        Self { k, n, mixed }
    }

    /// The distribution of the pond's share with one more animal in the group (1) or outside it (0).
    fn distribution(&self, design_effect: f64, one_more: f64) -> Option<WeightedShare> {
        let mixed = self.mixed.as_ref()?;
        let counted: f64 = mixed.iter().map(|(animals, _)| animals).sum();
        let others = [(self.n - counted, 0.0)];
        let parts = mixed.iter().copied().chain(others);
        let parts = parts.map(|(animals, part)| (animals / design_effect, part));
        let all: Vec<(f64, f64)> = parts.chain([(1.0, one_more)]).collect();
        Some(WeightedShare::new(all.into_iter()))
    }
}

impl Probe {
    /// The same test of another limit.
    pub(crate) const fn with_limit(self, limit: Probability) -> Self {
        Self { limit, ..self }
    }

    /// P(X <= k) in a pond on the limit, for the part of the animals that counts.
    pub(crate) fn p_within(self, seen: &Seen) -> Probability {
        if seen.k >= seen.n {
            return Probability::clamped(1.0);
        }
        if let Some(share) = seen.distribution(self.design_effect, 1.0) {
            return Probability::clamped(1.0 - share.at_most(self.limit.get()));
        }
        Clustered(self.design_effect).at_most((seen.k, seen.n), self.limit)
    }

    /// P(X >= k) in a pond on the limit, for the part of the animals that counts.
    pub(crate) fn p_over(self, seen: &Seen) -> Probability {
        if seen.k <= 0.0 {
            return Probability::clamped(1.0);
        }
        if let Some(share) = seen.distribution(self.design_effect, 0.0) {
            return Probability::clamped(share.at_most(self.limit.get()));
        }
        Clustered(self.design_effect).at_least((seen.k, seen.n), self.limit)
    }

    /// The largest probability that still counts as rare.
    pub(crate) const fn bound(self) -> f64 {
        self.confidence.complement().get() + ROUNDING
    }

    fn test(self, seen: &Seen) -> Tested {
        let bound = self.bound();
        if seen.n <= 0.0 {
            Tested::Open
        } else if self.p_within(seen).get() <= bound {
            Tested::Within
        } else if self.p_over(seen).get() <= bound {
            Tested::Over
        } else {
            Tested::Open
        }
    }

    /// The fewest further animals that settle the test the way it leans when the share stays as
    /// nearly as whole animals allow.
    fn more_animals(self, seen: &Seen, way: Leaning) -> Option<u64> {
        let wanted = match way {
            Leaning::Within => Tested::Within,
            Leaning::Over => Tested::Over,
        };
        (1..=MOST_MORE_ANIMALS).find(|more| {
            let more = seen.among(seen.n + *more as f64);
            self.test(&more) == wanted
        })
    }
}
