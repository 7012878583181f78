//! A pond's own cycle from its dated samples: the length with which each sample best foretells the
//! next. Refused where the samples cannot tell lengths apart.

use crate::cycle::arcs::StageArcs;
use crate::forecast::clock::ClockError;
use crate::forecast::clock::NightClock;
use crate::forecast::fates::Fates;
use crate::moult::Stage;
use crate::statistics::gamma::SpreadError;
use crate::statistics::gamma::UnitGamma;
use crate::statistics::posterior::ln_dirichlet_multinomial_of;
use crate::units::Days;
use std::collections::BTreeMap;
use thiserror::Error;

const STAGES: usize = Stage::ALL.len();
/// Shortest and longest cycle that is looked for, in days: half of the shortest published one, and
/// about twice the longest of a pond that moults at all.
const SHORTEST: f64 = 2.5;
const LONGEST: f64 = 40.0;
/// From one length to the next that is tried.
const STEP: f64 = 1.01;
/// Lengths whose logarithmic probability lies so little below the best fit as well: half the 99 %
/// point of chi-square with one degree of freedom. Neighbouring pairs share a sample, so that half
/// the 95 % point held the true length of only four in five simulated ponds; of this one the tests
/// ask at least 85 in 100.
const AS_WELL: f64 = 3.317;
/// A range of lengths wider than this, as a factor, says no more than the published lengths.
const WIDEST: f64 = 1.5;
/// Least weight of a stage among those foretold, in animals: a rare misreading must not rule a length
/// out by itself.
const LEAST: f64 = 0.05;

/// One sample of a pond, with its day.
#[derive(Debug, Clone, PartialEq)]
pub struct DatedCounts {
    /// Days on the clock of the pond, from any fixed moment.
    pub day: f64,
    /// Hour of the netting on that clock, 0..24.
    pub hour: f64,
    /// Called animals by stage.
    pub counts: BTreeMap<Stage, u64>,
}

/// The length of a pond's own cycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnCycle {
    /// The length that fits best, the wait for the night included.
    pub days: Days,
    /// The shortest that fits as well (95 %).
    pub low: Days,
    /// The longest that fits as well (95 %).
    pub high: Days,
}

/// Samples that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum SeriesError {
    /// A day that is none.
    #[error("a sample has no day that can be: {0}")]
    Day(f64),
    /// Two samples of one moment.
    #[error("two samples of the same moment: put their animals into one")]
    SameMoment,
    /// An hour that is none.
    #[error(transparent)]
    Clock(#[from] ClockError),
    /// A spread out of range.
    #[error(transparent)]
    Spread(#[from] SpreadError),
}

/// Why no length is given.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum OwnCycleRefusal {
    /// Fewer than three samples with called animals.
    #[error("{0} samples with called animals cannot show a cycle: net at least 3 times")]
    TooFewSamples(usize),
    /// Two samples further apart than half a cycle: the pond may have gone round in between.
    #[error(
        "two samples lie {gap:.1} days apart, more than half of a cycle of {cycle:.1} days: between them the pond may have gone round unseen; net more often"
    )]
    TooFarApart {
        /// Longest gap, in days.
        gap: f64,
        /// The cycle it is compared with.
        cycle: f64,
    },
    /// Two lengths fit as well as each other.
    #[error(
        "cycles of {one:.1} and {other:.1} days fit the samples equally well: the pond shows no clear wave, or there are too few animals or samples"
    )]
    FitEqually {
        /// One length in days.
        one: f64,
        /// The other.
        other: f64,
    },
}

/// The length of a pond's own cycle; `expected` is a published one, for the rule that samples must
/// not lie further apart than half a cycle.
///
/// # Formula
/// Each sample, carried forward as a forecast is, gives the stages expected in the next; those have
/// there a Dirichlet-multinomial probability with the weight of the sample and one animal spread as
/// the arcs. The length is taken that makes the product largest; D4 is counted with D3 and E with A.
///
/// # Source
/// Our choice; the range is that of a likelihood ratio, widened until it held in simulated ponds.
///
/// # Errors
/// [`SeriesError`] for samples that cannot be.
pub fn own_cycle(
    samples: &[DatedCounts],
    arcs: &StageArcs,
    cycle_cv: f64,
    expected: Option<Days>,
) -> Result<Result<OwnCycle, OwnCycleRefusal>, SeriesError> {
    let mut called: Vec<&DatedCounts> = samples
        .iter()
        .filter(|s| s.counts.values().sum::<u64>() > 0)
        .collect();
    if let Some(bad) = called.iter().find(|s| !s.day.is_finite()) {
        return Err(SeriesError::Day(bad.day));
    }
    called.sort_by(|a, b| a.day.total_cmp(&b.day));
    if called
        .windows(2)
        .any(|pair| pair[1].day - pair[0].day < 1e-6)
    {
        return Err(SeriesError::SameMoment);
    }
    if called.len() < 3 {
        return Ok(Err(OwnCycleRefusal::TooFewSamples(called.len())));
    }
    let law = UnitGamma::new(cycle_cv)?;
    let clocks: Vec<NightClock> = called
        .iter()
        .map(|s| NightClock::new(s.hour, Vec::new()))
        .collect::<Result<_, _>>()?;
    let steps = ((LONGEST / SHORTEST).ln() / STEP.ln()) as i32;
    let fits: Vec<(f64, f64)> = (0..=steps)
        .map(|step| SHORTEST * STEP.powi(step))
        .map(|days| (days, ln_fit(&called, &clocks, arcs, &law, days)))
        .collect();
    let gaps = called.windows(2).map(|pair| pair[1].day - pair[0].day);
    let gap = gaps.fold(0.0, f64::max);
    Ok(conclude(&fits, gap, expected))
}

fn conclude(
    fits: &[(f64, f64)],
    gap: f64,
    expected: Option<Days>,
) -> Result<OwnCycle, OwnCycleRefusal> {
    let best = fits
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.1.total_cmp(&b.1.1))
        .map_or(0, |(at, _)| at);
    let as_well = |at: &usize| fits[*at].1 >= fits[best].1 - AS_WELL;
    let from = (0..=best).rev().take_while(as_well).last().unwrap_or(best);
    let to = (best..fits.len())
        .take_while(as_well)
        .last()
        .unwrap_or(best);
    let days = |at: usize| fits[at].0;
    let cycle = expected.map_or_else(|| days(best), |e| e.get().min(days(best)));
    if gap > 0.5 * cycle {
        return Err(OwnCycleRefusal::TooFarApart { gap, cycle });
    }
    let elsewhere = (0..fits.len())
        .filter(|at| !(from..=to).contains(at))
        .find(as_well);
    let (one, other) = match elsewhere {
        Some(at) => (days(best), days(at)),
        None if days(to) > WIDEST * days(from) => (days(from), days(to)),
        None => {
            return Ok(OwnCycle {
                days: Days::new(days(best)),
                low: Days::new(days(from)),
                high: Days::new(days(to)),
            });
        }
    };
    Err(OwnCycleRefusal::FitEqually { one, other })
}

/// Logarithm of the probability of every sample given the one before it.
fn ln_fit(
    samples: &[&DatedCounts],
    clocks: &[NightClock],
    arcs: &StageArcs,
    law: &UnitGamma,
    days: f64,
) -> f64 {
    let pairs = samples.windows(2).zip(clocks);
    pairs
        .map(|(pair, clock)| {
            let gap = pair[1].day - pair[0].day;
            let fates = Fates::new(law, clock, arcs, days, gap.ceil() as usize + 1);
            let table = fates.at(gap);
            let mut weights = [0.0; STAGES];
            for called in Stage::ALL {
                let counted = pair[0].counts.get(&called).copied().unwrap_or(0) as f64;
                let from = if called == Stage::D4 {
                    Stage::D3
                } else {
                    called
                };
                for (weight, chance) in weights.iter_mut().zip(table[called.index()]) {
                    *weight += counted * chance;
                }
                for (weight, chance) in weights.iter_mut().zip(table[from.index()]) {
                    *weight += arcs.share(called) * chance;
                }
            }
            let next = Stage::ALL.map(|s| pair[1].counts.get(&s).copied().unwrap_or(0));
            ln_dirichlet_multinomial_of(&folded(next), &folded(weights).map(|w| w.max(LEAST)))
        })
        .sum()
}

/// D4 counted with D3, and E with A.
fn folded<T: Copy + std::ops::Add<Output = T>>(all: [T; STAGES]) -> [T; 7] {
    let [a, b, c, d0, d1, d2, d3, d4, e] = all;
    [a + e, b, c, d0, d1, d2, d3 + d4]
}
