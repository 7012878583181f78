//! The verdict for a harvest with a start and an end.

use crate::forecast::ForecastError;
use crate::forecast::Group;
use crate::forecast::Start;
use crate::forecast::fewest_for_all;
use crate::forecast::nights_between;
use crate::tally::Answer;
use crate::tally::Doubt;
use crate::tally::Tested;
use crate::units::Days;

/// The verdict over a drain.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Within limits at every hour, over limits at one, or neither.
    pub answer: Answer,
    /// Why, the worst first.
    pub because: Vec<Reason>,
    /// When gates open, in days from the netting: the verdict expires then.
    pub expires: Days,
    /// The largest expected soft share at the hours looked at.
    pub worst_soft: f64,
    /// The largest of them if falling water set off every animal about to moult.
    pub worst_pessimistic_soft: f64,
}

/// Why a verdict is what it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// A group stands so at an hour of the drain (days from the netting).
    At {
        /// The group.
        group: Group,
        /// Days from the netting.
        elapsed: Days,
        /// Expected share.
        expected: f64,
        /// How it stands.
        tested: Tested,
    },
    /// The sample cannot clear a pond.
    Doubt(Doubt),
    /// The drain ends more than one cycle after the netting.
    BeyondOneCycle,
    /// Fewer animals were called than can show every limit kept, whatever they are.
    FewAnimals {
        /// Animals called.
        called: u64,
        /// Animals it takes, with none in any group.
        fewest: u64,
    },
    /// Every hour of the drain is within.
    AllWithin,
}

/// Judges the drain of `start`: at its start, after every night within it, and at its end.
///
/// # Errors
/// [`ForecastError`] when nothing was called, or a spread or the drain cannot be.
pub fn judge(start: &Start<'_>) -> Result<Verdict, ForecastError> {
    start.drain.checked()?;
    if start.tally.called == 0 {
        return Err(ForecastError::NothingCalled);
    }
    let law = start.law()?;
    let outlook = start.outlook(&law, &start.cycles());
    let (opens, ends) = (
        start.drain.opens.get(),
        start.drain.opens.get() + start.drain.lasts.get(),
    );
    let mut worst: Vec<Reason> = Vec::new();
    let (mut worst_soft, mut pessimistic) = (0.0_f64, 0.0_f64);
    for e in hours(start, opens, ends) {
        let tables = outlook.tables(e);
        pessimistic = pessimistic.max(outlook.pessimistic_soft(&tables));
        for group in outlook.groups() {
            let standing = outlook.standing(&tables, group);
            if group == Group::Soft {
                worst_soft = worst_soft.max(standing.expected);
            }
            let elapsed = Days::new(e);
            let (expected, tested) = (standing.expected, standing.tested);
            note(
                &mut worst,
                Reason::At {
                    group,
                    elapsed,
                    expected,
                    tested,
                },
            );
        }
    }
    let (called, fewest) = (start.tally.called, fewest_for_all(start));
    if let Some(fewest) = fewest.filter(|fewest| called < *fewest) {
        worst.insert(0, Reason::FewAnimals { called, fewest });
    }
    worst.extend(start.tally.doubts.iter().copied().map(Reason::Doubt));
    if ends > start.horizon() {
        worst.push(Reason::BeyondOneCycle);
    }
    let mut verdict = conclude(worst, start.drain.opens, worst_soft);
    verdict.worst_pessimistic_soft = pessimistic;
    Ok(verdict)
}

/// The largest expected soft share of drains begun so many whole days after the netting, for 0 to
/// `days`.
///
/// # Errors
/// [`ForecastError`] when nothing was called or a spread cannot be.
pub fn worst_soft_by_day(start: &Start<'_>, days: usize) -> Result<Vec<f64>, ForecastError> {
    let law = start.law()?;
    let outlook = start.outlook(&law, &start.cycles());
    let soft = |e: f64| outlook.standing(&outlook.tables(e), Group::Soft).expected;
    let worst = |day: usize| {
        let opens = day as f64;
        hours(start, opens, opens + start.drain.lasts.get())
            .into_iter()
            .map(soft)
            .fold(0.0, f64::max)
    };
    Ok((0..=days).map(worst).collect())
}

/// The hours at which a drain is judged.
fn hours(start: &Start<'_>, opens: f64, ends: f64) -> Vec<f64> {
    let mut hours = vec![opens];
    hours.extend(nights_between(start, opens, ends));
    hours.push(ends);
    hours
}

const fn tested(reason: &Reason) -> Tested {
    match reason {
        Reason::At { tested, .. } => *tested,
        Reason::BeyondOneCycle | Reason::Doubt(_) | Reason::FewAnimals { .. } => Tested::Open,
        Reason::AllWithin => Tested::Within,
    }
}

/// Keeps for each group the hour at which it stands worst.
fn note(worst: &mut Vec<Reason>, new: Reason) {
    let rank = |reason: &Reason| match reason {
        Reason::At {
            group,
            expected,
            tested,
            ..
        } => Some((*group, *tested, *expected)),
        _ => None,
    };
    let Some((group, tested, expected)) = rank(&new) else {
        return;
    };
    let same = worst
        .iter_mut()
        .find(|old| rank(old).is_some_and(|(g, ..)| g == group));
    match same {
        None => worst.push(new),
        Some(old) => {
            let worse = rank(old).is_some_and(|(_, t, e)| (tested, expected) > (t, e));
            if worse {
                *old = new;
            }
        }
    }
}

fn conclude(mut reasons: Vec<Reason>, expires: Days, worst_soft: f64) -> Verdict {
    let worst = reasons.iter().map(tested).max().unwrap_or(Tested::Open);
    reasons.retain(|reason| tested(reason) == worst);
    let answer = match worst {
        Tested::Within => Answer::WithinLimits,
        Tested::Open => Answer::TooFewAnimals,
        Tested::Over => Answer::OverLimits,
    };
    let because = if worst == Tested::Within {
        vec![Reason::AllWithin]
    } else {
        reasons
    };
    Verdict {
        answer,
        because,
        expires,
        worst_soft,
        worst_pessimistic_soft: worst_soft,
    }
}
