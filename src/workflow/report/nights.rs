//! The nights ahead as ribbon and in words.

use crate::drawing::ribbon::Bracket;
use crate::drawing::ribbon::BracketKind;
use crate::drawing::ribbon::Cell;
use crate::drawing::ribbon::Ribbon;
use crate::texts;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::forecasting::DatedSpan;
use crate::workflow::moments::Moment;

/// A reason as a sentence, its moments as day, month and hour: "2026-11-27 04:00 (+07:00)", as
/// `texts::forecast::moment` writes them, becomes "27 Nov 04:00".
pub(in crate::workflow) fn spoken(reason: &str) -> String {
    let mut said: Vec<String> = Vec::new();
    let mut words = reason.split(' ').peekable();
    let mut waiting: Vec<&str> = Vec::new();
    while let Some(word) = words.next() {
        waiting.push(word);
        let ends = word.starts_with('(') && waiting.len() >= 3;
        let moment = ends.then(|| moment_of(&waiting)).flatten();
        if let Some((moment, rest)) = moment {
            let before = waiting.len() - 3;
            said.extend(waiting.drain(..).take(before).map(str::to_owned));
            let when = texts::dates::day_and_hour(moment.spoken());
            said.push(format!("{when}{rest}"));
        } else if words.peek().is_none() {
            said.extend(waiting.drain(..).map(str::to_owned));
        }
    }
    texts::page::because(&said.join(" "))
}

/// The moment that the last three words write, and what follows it.
fn moment_of<'a>(words: &[&'a str]) -> Option<(Moment, &'a str)> {
    let [.., date, time, offset] = words else {
        return None;
    };
    let (offset, rest) = offset.strip_prefix('(')?.split_once(')')?;
    let moment = format!("{date}T{time}{offset}").parse().ok()?;
    Some((moment, rest))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_in_a_reason_are_written_as_people_write_them() {
        let reason = "soft over its limit at 2026-11-27 22:30 (+07:00): 21.2 % expected (band)";
        assert_eq!(
            spoken(reason),
            "Soft over its limit at 27\u{a0}Nov\u{a0}22:30: 21.2 % expected (band)."
        );
        assert_eq!(
            spoken("nothing (at all) to say"),
            "Nothing (at all) to say."
        );
    }
}
