//! The nights ahead as ribbon and in words.

use crate::drawing::ribbon::Bracket;
use crate::drawing::ribbon::BracketKind;
use crate::drawing::ribbon::Cell;
use crate::drawing::ribbon::Ribbon;
use crate::texts;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::DatedSpan;
use crate::workflow::moments::Moment;

/// A reason as a sentence, its moments as people write them.
pub(in crate::workflow) fn spoken(reason: &str) -> String {
    let word = |word: &str| {
        let bare = word.trim_end_matches([':', ',', ';', '.']);
        let rest = &word[bare.len()..];
        bare.parse::<Moment>().map_or_else(
            |_| word.to_owned(),
            |moment| format!("{}{rest}", texts::dates::day_and_hour(moment.spoken())),
        )
    };
    let words: Vec<String> = reason.split(' ').map(word).collect();
    texts::page::because(&words.join(" "))
}

/// The night ribbon of a forecast.
pub fn ribbon_of(found: &DatedForecast) -> Ribbon {
    let day_of = |night: usize| {
        let morning = found.netted.later(night as f64);
        morning.map_or_else(String::new, |m| texts::dates::day(m.spoken()))
    };
    let gain = |night: usize| {
        let waiting = found.waiting.as_ref()?;
        let worth = waiting.iter().find(|w| w.night as usize == night)?;
        Some(worth.gain)
    };
    let bracket = |from: &str, to: &str, kind| {
        let days = |text: &str| Some(text.parse::<Moment>().ok()?.days_since(found.netted));
        Some(Bracket {
            from_days: days(from)?,
            to_days: days(to)?,
            kind,
        })
    };
    let span = |span: &Option<DatedSpan>, kind| {
        let span = span.as_ref()?;
        bracket(&span.open_gates_from, &span.drained_by, kind)
    };
    let harvest = found.harvest.as_ref();
    Ribbon {
        cells: found
            .nights
            .iter()
            .map(|night| Cell {
                night: night.night,
                label: day_of(night.night),
                soft: night.soft,
                pessimistic_soft: night.pessimistic_soft,
                moon_lit: night.moon_lit,
                within_expected: night.within_expected,
                within_confident: night.within_confident,
                gain: gain(night.night),
            })
            .collect(),
        soft_limit: found.tally.soft.limit,
        brackets: [
            harvest.and_then(|h| bracket(&h.start, &h.end, BracketKind::Drain)),
            span(&found.expected_span, BracketKind::Expected),
            span(&found.confident_span, BracketKind::Confident),
        ]
        .into_iter()
        .flatten()
        .collect(),
    }
}

/// Spans first, then what to be careful about, and the sentence that ends every forecast.
pub(in crate::workflow) fn nights_in_words(found: &DatedForecast) -> Vec<String> {
    let moment = |text: &str| text.parse::<Moment>().map(Moment::spoken).ok();
    let span = |span: Option<&DatedSpan>, shown: bool| {
        let span = span?;
        let (opens, drained) = (moment(&span.open_gates_from)?, moment(&span.drained_by)?);
        Some(texts::page::span(shown, opens, drained))
    };
    let nothing_shown = || texts::page::NOTHING_SHOWN.to_owned();
    let mut said = vec![span(found.confident_span.as_ref(), true).unwrap_or_else(nothing_shown)];
    said.extend(found.no_span_because.as_deref().map(spoken));
    said.extend(span(found.expected_span.as_ref(), false));
    said.extend(found.warnings.iter().map(|w| spoken(w)));
    said.push(texts::page::cycle(found.cycle_days, found.cycle_cv));
    said.push(texts::forecast::LAST_SENTENCE.to_owned());
    said
}
