//! Spans of nights in which a drain may begin and be over.

use crate::forecast::Start;
use crate::units::Days;

/// From when gates may open, and by when the pond must be drained; days from the netting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Gates may open from here on.
    pub opens: Days,
    /// The drain must be over by here.
    pub drained_by: Days,
}

/// What holds at an hour.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Look {
    /// All expected shares lie below their limits.
    pub(crate) expected: bool,
    /// Every limit is shown to be kept.
    pub(crate) confident: bool,
}

/// What holds at the drain's clock hour of one day, and after the moults of the night before it.
pub(crate) struct DayLook {
    e: f64,
    here: Look,
    night: Look,
}

/// Looks at the drain's clock hour of every day within one cycle, and at the nights between.
pub(crate) fn look_ahead(start: &Start<'_>, look: impl Fn(f64) -> Look) -> Vec<DayLook> {
    let first = start.drain.opens.get().fract();
    let days = (start.horizon() - first).floor().max(-1.0) as i64;
    (0..=days)
        .map(|day| {
            let e = first + day as f64;
            let mut night = Look {
                expected: true,
                confident: true,
            };
            if day > 0 {
                for look in nights_between(start, e - 1.0, e).map(&look) {
                    night.expected &= look.expected;
                    night.confident &= look.confident;
                }
            }
            DayLook {
                e,
                here: look(e),
                night,
            }
        })
        .collect()
}

/// The first span that is long enough for the drain and all of whose hours pass.
pub(crate) fn find(
    start: &Start<'_>,
    days: &[DayLook],
    passes: impl Fn(Look) -> bool,
) -> Option<Span> {
    let mut from: Option<f64> = None;
    let mut best = None;
    for day in days {
        match from {
            Some(opens) if passes(day.here) && passes(day.night) => {
                best = longer(start, opens, day.e).or(best);
            }
            Some(_) if best.is_some() => break,
            _ => from = passes(day.here).then_some(day.e),
        }
    }
    best
}

/// The hours just after the moults of the nights between two times.
pub(crate) fn nights_between<'a>(
    start: &'a Start<'_>,
    from: f64,
    to: f64,
) -> impl Iterator<Item = f64> + 'a {
    let first = start.clock.nights_by(from) + 1;
    let last = start.clock.nights_by(to);
    (first..=last).map(|night| start.clock.night(night))
}

fn longer(start: &Start<'_>, opens: f64, drained_by: f64) -> Option<Span> {
    (drained_by - opens >= start.drain.lasts.get() - 1e-9).then_some(Span {
        opens: Days::new(opens),
        drained_by: Days::new(drained_by),
    })
}
