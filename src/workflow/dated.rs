//! A forecast with the dates of the pond's own clock.

use crate::cycle::Assumed;
use crate::cycle::length::CycleLength;
use crate::cycle::moon::lit;
use crate::cycle::moon::waxing;
use crate::decision::verdict::Verdict;
use crate::decision::waiting::NightWorth;
use crate::forecast::Band;
use crate::forecast::Forecast;
use crate::forecast::Night;
use crate::forecast::Span;
use crate::forecast::Start;
use crate::tally::Answer;
use crate::tally::ReaderEffect;
use crate::tally::Tally;
use crate::texts;
use crate::units::Days;
use crate::workflow::moments::Moment;
use crate::workflow::moments::PondClock;
use serde::Serialize;

/// A forecast with its dates: the object that `tailfan forecast --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DatedForecast {
    /// Mean length of the cycle in days, the wait for the night included.
    pub cycle_days: f64,
    /// Its coefficient of variation between animals.
    pub cycle_cv: f64,
    /// The nights.
    pub nights: Vec<DatedNight>,
    /// When gates may open and the drain be over, by the expected shares.
    pub expected_span: Option<DatedSpan>,
    /// The same, with every limit shown to be kept.
    pub confident_span: Option<DatedSpan>,
    /// Why a span is missing.
    pub no_span_because: Option<String>,
    /// The verdict for the planned harvest.
    pub harvest: Option<Harvest>,
    /// The value of waiting, by night; only where the farm gave its numbers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waiting: Option<Vec<NightWorth>>,
    /// What to be careful about.
    pub warnings: Vec<String>,
    /// The defaults that went in, with their sources.
    pub assumed: Vec<Assumed>,
    /// The tally it starts from.
    #[serde(skip)]
    pub tally: Tally,
    /// When it was netted.
    #[serde(skip)]
    pub netted: Moment,
    /// The time zone of the pond; absent where a fixed offset was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// What the known errors of the reader do to the tally; absent without slides of known truth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reader: Option<ReaderEffect>,
}

/// One night.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DatedNight {
    /// 1 is the night that follows the netting.
    pub night: usize,
    /// Date of the morning after it.
    pub morning: String,
    /// Soft animals.
    pub soft: Band,
    /// Moulting animals.
    pub moulting: Band,
    /// Animals about to moult.
    pub due: Band,
    /// Animals soft in the hand; absent when no shell was felt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub soft_in_hand: Option<Band>,
    /// Expected soft share if falling water set off every animal about to moult.
    pub pessimistic_soft: f64,
    /// Lit part of the moon; shown, never used. Absent outside 1900-2100.
    pub moon_lit: Option<f64>,
    /// Says whether it grows.
    pub moon_waxing: Option<bool>,
    /// All expected shares lie below their limits.
    pub within_expected: bool,
    /// Every limit is shown to be kept.
    pub within_confident: bool,
}

/// A span with dates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DatedSpan {
    /// Gates may open from here on.
    pub open_gates_from: String,
    /// The pond must be drained by here.
    pub drained_by: String,
}

/// The verdict for a planned harvest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Harvest {
    /// Gates open.
    pub start: String,
    /// Pond drained.
    pub end: String,
    /// The verdict.
    pub verdict: Answer,
    /// It expires here.
    pub expires: String,
    /// Why.
    pub because: Vec<String>,
    /// The largest expected soft share at its start, after its nights and at its end.
    pub worst_soft: f64,
    /// The same if falling water set off every animal about to moult.
    pub worst_pessimistic_soft: f64,
}

/// What is given dates.
pub(in crate::workflow) struct Parts<'a> {
    pub(in crate::workflow) start: &'a Start<'a>,
    pub(in crate::workflow) found: &'a Forecast,
    pub(in crate::workflow) verdict: Option<Verdict>,
    pub(in crate::workflow) waiting: Option<Vec<NightWorth>>,
    pub(in crate::workflow) length: &'a CycleLength,
    pub(in crate::workflow) netted: Moment,
    pub(in crate::workflow) clock: &'a PondClock,
}

/// Gives a forecast its dates.
pub(in crate::workflow) fn dated(parts: Parts<'_>, assumed: Vec<Assumed>) -> DatedForecast {
    let Parts {
        start,
        found,
        verdict,
        waiting,
        length,
        netted,
        clock,
    } = parts;
    let when = |days: Days| {
        clock
            .later(netted, days.get())
            .map_or_else(String::new, |m| m.to_string())
    };
    let span = |span: Span| DatedSpan {
        open_gates_from: when(span.opens),
        drained_by: when(span.drained_by),
    };
    let ends = Days::new(start.drain.opens.get() + start.drain.lasts.get());
    let mut warnings: Vec<String> = length
        .warnings
        .iter()
        .map(texts::forecast::length_warning)
        .collect();
    warnings.extend(found.warnings.iter().map(texts::forecast::warning));
    DatedForecast {
        cycle_days: start.cycle.get(),
        cycle_cv: start.spreads.animals,
        nights: found
            .nights
            .iter()
            .map(|night| dated_night(night, netted, clock))
            .collect(),
        expected_span: found.expected_span.map(span),
        confident_span: found.confident_span.map(span),
        no_span_because: found.no_span.as_ref().map(texts::forecast::no_span),
        harvest: verdict.map(|verdict| Harvest {
            start: when(start.drain.opens),
            end: when(ends),
            verdict: verdict.answer,
            expires: when(verdict.expires),
            because: verdict
                .because
                .iter()
                .map(|r| texts::forecast::reason(r, |days| texts::forecast::moment(&when(days))))
                .collect(),
            worst_soft: verdict.worst_soft,
            worst_pessimistic_soft: verdict.worst_pessimistic_soft,
        }),
        waiting,
        warnings,
        assumed,
        reader: start.tally.reader.clone(),
        tally: start.tally.clone(),
        netted,
        zone: clock.name().map(str::to_owned),
    }
}

fn dated_night(night: &Night, netted: Moment, clock: &PondClock) -> DatedNight {
    let morning = clock.later(netted, night.elapsed.get());
    DatedNight {
        night: night.night,
        morning: morning.map_or_else(String::new, Moment::date),
        soft: night.soft,
        moulting: night.moulting,
        due: night.due,
        soft_in_hand: night.soft_in_hand,
        pessimistic_soft: night.pessimistic_soft,
        moon_lit: morning.and_then(|m| lit(m.julian_day()).ok()),
        moon_waxing: morning.and_then(|m| waxing(m.julian_day()).ok()),
        within_expected: night.within_expected,
        within_confident: night.within_confident,
    }
}
