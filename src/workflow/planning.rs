//! Planning a netting: what so many animals can and cannot show about each limit.

use crate::cycle::Assumed;
use crate::decision::plan::CatchBias;
use crate::decision::plan::Chances;
use crate::decision::plan::SinglePlan;
use crate::decision::plan::animals_to_clear;
use crate::decision::sequential::SequentialError;
use crate::decision::sequential::SequentialPlan;
use crate::decision::two_stage::TwoStageChances;
use crate::decision::two_stage::TwoStagePlan;
use crate::forecast::Group;
use crate::statistics::clustered::Clustered;
use crate::tally::Settings;
use crate::tally::SettingsError;
use crate::tally::fewest_to_clear;
use crate::units::Probability;
use serde::Serialize;
use thiserror::Error;

/// Animals planned for when nobody says: a usual sample.
pub const USUAL_ANIMALS: u64 = 30;
/// Most animals that are planned for.
const MOST_ANIMALS: u64 = 1_000;
/// True shares at which a plan is shown, as multiples of the limit.
const MULTIPLES: [f64; 9] = [0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0];
/// Points of the curve, evenly from no animal in the group to three times the limit.
const CURVE_POINTS: usize = 49;
/// How readily animals of a group are caught, in the examples of catch bias.
const CATCHABILITIES: [f64; 3] = [1.0, 0.75, 0.5];
/// Fewest points of the pond at which the net is thrown.
const STATIONS: u64 = 5;
/// A good pond, as a part of the limit.
const GOOD_PART: f64 = 0.25;
/// The wanted probability of clearing a good pond.
const POWER: f64 = 0.80;

const SAMPLE_SOURCE: &str = "common practice is 20-30 animals, no publication found";
const STATIONS_SOURCE: &str = "as in a farm study that took 125 animals from 5 points (Almeida Neto & \
    Freire 2007)";
const CATCH_SOURCE: &str = "examples of ours: just-moulted animals hide and shun the net, but no figure \
    is published";
const OUR_CHOICE: &str = "our choice";

/// Why there is no plan.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum PlanningError {
    /// No animals, or more than anybody stages.
    #[error("{0} animals cannot be planned for: use 1 to {MOST_ANIMALS}")]
    Animals(u64),
    /// Settings that allow no answer.
    #[error(transparent)]
    Settings(#[from] SettingsError),
}

/// What a netting can show.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NettingPlan {
    /// Animals of the (first) netting.
    pub animals: u64,
    /// Confidence of the tests.
    pub confidence: f64,
    /// How many animals of the netting tell as much as one drawn by itself.
    pub design_effect: f64,
    /// The fewest animals that can show every limit kept, with none in any group; absent where no
    /// number can.
    pub fewest_for_all: Option<u64>,
    /// Points of the pond from which the animals are taken.
    pub stations: u64,
    /// Animals from each of them.
    pub animals_per_station: u64,
    /// One plan per limit.
    pub limits: Vec<LimitPlan>,
    /// The defaults that went in, with their sources.
    pub assumed: Vec<Assumed>,
}

/// What a netting can show about one limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitPlan {
    /// The group.
    pub group: Group,
    /// Its limit.
    pub limit: f64,
    /// The fewest animals that can show it kept, with none in the group.
    pub fewest_to_clear: Option<u64>,
    /// One netting.
    pub single: SinglePlan,
    /// How it comes out in ponds of several true shares: its operating characteristic.
    pub chances: Vec<Chances>,
    /// The same as a curve, from a share of 0 to three times the limit.
    pub curve: Vec<Chances>,
    /// How it comes out in a pond on the limit when the group shuns the net.
    pub catch_bias: Vec<CatchBias>,
    /// A pond that should pass: a quarter of the limit.
    pub good_share: f64,
    /// Animals with which such a pond is shown to keep the limit four times out of five.
    pub animals_for_good: Option<u64>,
    /// Two nettings of so many each, fixed beforehand.
    pub two_stage: TwoStagePlan,
    /// How the two come out.
    pub two_stage_chances: Vec<TwoStageChances>,
    /// A plan for calling animals one by one; absent where the limit allows none.
    pub sequential: Option<Sequence>,
}

/// A plan for calling animals one by one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sequence {
    /// Its lines.
    pub plan: SequentialPlan,
    /// The fewest animals that can give the answer within.
    pub fewest: u64,
    /// Animal by animal: where an answer stands.
    pub steps: Vec<Step>,
}

/// Where the answer of a sequential plan stands after so many animals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Step {
    /// Animals called.
    pub animals: u64,
    /// Within up to so many.
    pub within_up_to: Option<u64>,
    /// Over from so many.
    pub over_from: Option<u64>,
}

/// Plans a netting of so many animals.
///
/// # Errors
/// [`PlanningError`] for a number of animals or settings that cannot be.
pub fn plan_netting(
    animals: Option<u64>,
    settings: Settings,
) -> Result<NettingPlan, PlanningError> {
    let settings = settings.checked()?;
    let wanted = animals.unwrap_or(USUAL_ANIMALS);
    if !(1..=MOST_ANIMALS).contains(&wanted) {
        return Err(PlanningError::Animals(wanted));
    }
    let mut assumed = settings.assumed();
    if animals.is_none() {
        assumed.push(Assumed::new(
            "animals",
            USUAL_ANIMALS as f64,
            "animals",
            SAMPLE_SOURCE,
        ));
    }
    assumed.push(Assumed::new(
        "good pond, as a part of the limit",
        GOOD_PART,
        "",
        OUR_CHOICE,
    ));
    assumed.push(Assumed::new(
        "chance of clearing a good pond",
        POWER,
        "",
        OUR_CHOICE,
    ));
    let stations = STATIONS.min(wanted);
    assumed.push(Assumed::new(
        "stations",
        stations as f64,
        "stations",
        STATIONS_SOURCE,
    ));
    assumed.push(Assumed::new(
        "how readily animals of a group are caught, at worst",
        CATCHABILITIES[2],
        "",
        CATCH_SOURCE,
    ));
    let limits = Group::ALL.map(|group| limit_plan(group, wanted, &settings));
    let fewest: Option<Vec<u64>> = limits.iter().map(|limit| limit.fewest_to_clear).collect();
    Ok(NettingPlan {
        animals: wanted,
        confidence: settings.confidence.get(),
        design_effect: settings.design_effect,
        fewest_for_all: fewest.and_then(|each| each.into_iter().max()),
        stations,
        animals_per_station: wanted.div_ceil(stations),
        limits: limits.to_vec(),
        assumed,
    })
}

fn limit_plan(group: Group, animals: u64, settings: &Settings) -> LimitPlan {
    let confidence = settings.confidence;
    let limit = Probability::clamped(group.limit(settings));
    let good = Probability::clamped(GOOD_PART * limit.get());
    let clustered = Clustered(settings.design_effect);
    let single = SinglePlan::new(animals, limit, confidence, clustered);
    let two_stage = TwoStagePlan::new(animals, animals, limit, confidence, clustered);
    let shares: Vec<Probability> = MULTIPLES
        .into_iter()
        .map(|times| times * limit.get())
        .filter(|share| *share <= 1.0)
        .map(Probability::clamped)
        .collect();
    let power = Probability::clamped(POWER);
    LimitPlan {
        group,
        limit: limit.get(),
        fewest_to_clear: fewest_to_clear(limit, confidence, settings.design_effect),
        chances: shares.iter().map(|share| single.chances(*share)).collect(),
        curve: (0..CURVE_POINTS)
            .map(|point| 3.0 * limit.get() * point as f64 / (CURVE_POINTS - 1) as f64)
            .filter(|share| *share <= 1.0)
            .map(|share| single.chances(Probability::clamped(share)))
            .collect(),
        catch_bias: CATCHABILITIES
            .map(|caught| single.with_catch_bias(caught))
            .to_vec(),
        single,
        good_share: good.get(),
        animals_for_good: animals_to_clear(limit, confidence, good, power, clustered),
        two_stage_chances: shares
            .iter()
            .map(|share| two_stage.chances(*share))
            .collect(),
        two_stage,
        sequential: one_by_one(limit, settings).map_or_else(
            |_: SequentialError| None,
            |plan| Some(steps(plan, 2 * animals)),
        ),
    }
}

/// The plan for calling animals one by one against a limit: between a pond on it and a good one.
///
/// # Errors
/// [`SequentialError`] for a limit of nothing or everything.
pub fn one_by_one(
    limit: Probability,
    settings: &Settings,
) -> Result<SequentialPlan, SequentialError> {
    let good = Probability::clamped(GOOD_PART * limit.get());
    let plan = SequentialPlan::for_limit(good, limit, settings.confidence)?;
    Ok(plan.among(Clustered(settings.design_effect)))
}

/// The animals after which the numbers of a sequential plan change.
fn steps(plan: SequentialPlan, last: u64) -> Sequence {
    let mut steps: Vec<Step> = Vec::new();
    for animals in 1..=last.max(plan.fewest()) {
        let step = Step {
            animals,
            within_up_to: plan.within_up_to(animals),
            over_from: plan.over_from(animals),
        };
        let numbers = |s: &Step| (s.within_up_to, s.over_from);
        let before = steps.last().map_or((None, None), numbers);
        if numbers(&step) != before {
            steps.push(step);
        }
    }
    Sequence {
        plan,
        fewest: plan.fewest(),
        steps,
    }
}
