//! The tally in words and as a table.

use crate::cycle::Assumed;
use crate::moult::Stage;
use crate::tally::Answer;
use crate::tally::Doubt;
use crate::tally::GroupReader;
use crate::tally::Leaning;
use crate::tally::LimitTally;
use crate::tally::MOST_MORE_ANIMALS;
use crate::tally::OnTheCount;
use crate::tally::StationDifference;
use crate::tally::Tally;
use crate::tally::Tested;
use crate::tally::fewest_to_clear;
use crate::tally::passes_on_the_limit;
use crate::units::Probability;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The whole tally as a page of text.
pub fn page(tally: &Tally) -> String {
    page_until(tally, None)
}

/// The whole tally as a page of text, with the moment at which it expires and whether that is past.
pub fn page_until(tally: &Tally, until: Option<(&str, bool)>) -> String {
    let until = until.map_or_else(String::new, |(expires, expired)| {
        format!("{}\n", expiry(expires, expired))
    });
    let parts = [
        format!("{}\n{until}", netted(tally)),
        paragraphs(tally),
        limit_table(tally),
        stage_table(tally),
        assumptions(&tally.assumed),
    ];
    parts.join("\n")
}

/// How many were netted, called and left unread.
pub fn netted(tally: &Tally) -> String {
    format!(
        "{} netted, {} called, {} unread",
        tally.animals, tally.called, tally.unread
    )
}

/// Until when a tally speaks.
pub fn expiry(expires: &str, expired: bool) -> String {
    if expired {
        format!("Expired at {expires}: a night has passed; carry forward or net again.")
    } else {
        format!("Speaks of the hour of netting; expires at {expires}.")
    }
}

/// The answer of the tests.
pub const fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::WithinLimits => "moult tally within limits",
        Answer::OverLimits => "moult tally over limits",
        Answer::TooFewAnimals => "too few animals to tell",
    }
}

/// Why a sample cannot clear a pond.
pub const fn doubt(doubt: Doubt) -> &'static str {
    match doubt {
        Doubt::FeedTray => "animals from feed trays can warn but never clear a pond: net some",
        Doubt::SoftOnesMissed => {
            "many shed shells but no animal in A or B: the net missed the soft ones"
        }
    }
}

/// The sentences of the tally, most important first.
pub fn sentences(tally: &Tally) -> Vec<String> {
    let mut said = on_the_count(tally);
    said.extend(tested(tally));
    said.extend(
        tally
            .doubts
            .iter()
            .map(|d| format!("Doubt: {}.", doubt(*d))),
    );
    said.extend(unread(tally));
    said.extend(even_pond(tally));
    said.extend(shells(tally));
    said.extend(reader(tally));
    said.extend(stations(tally));
    said.extend(synchrony(tally));
    said.push(
        "This speaks of the hour of netting only, and of moulting only: just-moulted animals hide \
         and shun the net; disease, local rules and the buyer's contract are not in it."
            .to_owned(),
    );
    said
}

fn paragraphs(tally: &Tally) -> String {
    let mut lines = sentences(tally).join("\n");
    lines.push('\n');
    lines
}

pub(in crate::texts) fn groups(tally: &Tally) -> impl Iterator<Item = (&'static str, &LimitTally)> {
    let in_hand = tally.soft_in_hand.as_ref().map(|g| ("soft in hand", g));
    let staged = [
        ("soft", &tally.soft),
        ("moulting", &tally.moulting),
        ("due", &tally.due),
    ];
    staged.into_iter().chain(in_hand)
}

fn on_the_count(tally: &Tally) -> Vec<String> {
    let Some(standing) = tally.on_the_count else {
        return vec!["On the count: nothing, since no animal was called.".to_owned()];
    };
    let at_or_over: Vec<String> = groups(tally)
        .filter(|(_, g)| g.on_the_count == Some(OnTheCount::AtOrOver))
        .map(|(name, g)| format!("{name} {} (must stay under {})", share(g), percent(g.limit)))
        .collect();
    let first = match standing {
        OnTheCount::UnderLimits => "On the count: under all limits.".to_owned(),
        OnTheCount::AtOrOver => format!("On the count: at or over, {}.", at_or_over.join(", ")),
    };
    let luck: Vec<String> = groups(tally)
        .map(|(name, g)| {
            let passes = passes_on_the_limit(g.of, Probability::clamped(g.limit));
            format!("{name} {:.0} %", 100.0 * passes.get())
        })
        .collect();
    let beside = format!(
        "With so many animals a pond exactly on a limit still counts under it this often: {}.",
        luck.join(", ")
    );
    vec![first, beside]
}

fn tested(tally: &Tally) -> Vec<String> {
    let names: Vec<String> = tally
        .decided_by
        .iter()
        .map(|n| n.replace('_', " "))
        .collect();
    let mut said = vec![format!(
        "Tested at {} confidence: {}; decided by {}.",
        percent(tally.confidence),
        answer(tally.at_netting),
        names.join(", ")
    )];
    said.extend(groups(tally).filter_map(|(name, group)| leaning(name, group)));
    let confidence = Probability::clamped(tally.confidence);
    let short = groups(tally).filter_map(|(name, group)| {
        let fewest = fewest_to_clear(
            Probability::clamped(group.limit),
            confidence,
            tally.design_effect,
        )?;
        (group.tested == Tested::Open && group.of < fewest).then(|| {
            let limit = percent(group.limit);
            format!("{name} under {limit} needs {fewest} animals with none in it")
        })
    });
    let short: Vec<String> = short.collect();
    if !short.is_empty() {
        said.push(format!(
            "So few animals can warn but not clear: {}.",
            short.join("; ")
        ));
    }
    if groups(tally).any(|(_, g)| g.more_animals.is_some()) {
        said.push(
            "A second netting is judged by a plan fixed before it, never by testing again."
                .to_owned(),
        );
    }
    said
}

/// What would settle each open group.
pub(in crate::texts) fn leaning(name: &str, group: &LimitTally) -> Option<String> {
    let way = match group.leans? {
        Leaning::Within => "within",
        Leaning::Over => "over",
    };
    let remedy = group.more_animals.map_or_else(
        || {
            format!(
                "too near its limit for netting to settle (more than {MOST_MORE_ANIMALS} further \
                 animals): treat as over"
            )
        },
        |more| format!("{more} more animals would settle it if the share stays"),
    );
    let share = share(group);
    Some(format!("Open: {name}, {share}, leans {way}; {remedy}."))
}

fn unread(tally: &Tally) -> Option<String> {
    let them = match tally.unread {
        0 => return None,
        1 => "the one".to_owned(),
        more => format!("all {more}"),
    };
    Some(format!(
        "Unread animals are often the freshly moulted ones. With {them} counted as soft and \
         moulting: {}.",
        answer(tally.with_unread_as_soft)
    ))
}

fn even_pond(tally: &Tally) -> Option<String> {
    let stages = tally.soft.stages.as_ref()?;
    let both = stages.contains(&Stage::A) && stages.contains(&Stage::B);
    if !both || tally.even_soft < tally.soft.limit {
        return None;
    }
    let alone = tally.counts.get(&Stage::A).copied().unwrap_or(0);
    Some(format!(
        "A pond that moults evenly always has about {:.0} % in {}: it can never meet {}. A alone: \
         {alone} of {}{}.",
        100.0 * tally.even_soft,
        codes(stages),
        percent(tally.soft.limit),
        tally.called,
        part(alone, tally.called)
    ))
}

fn shells(tally: &Tally) -> Option<String> {
    (tally.health_flags > 0).then(|| {
        format!(
            "{} soft in the hand but C, D0 or D1 under the microscope: that is no moult; ask the \
             animal-health professional.",
            tally.health_flags
        )
    })
}

/// Stations that differ as much by chance in one case of so many are pointed out.
const SELDOM: f64 = 0.05;

fn stations(tally: &Tally) -> Vec<String> {
    let places = [("station", &tally.stations), ("throw", &tally.throws)];
    let mut said: Vec<String> = places
        .into_iter()
        .filter_map(|(name, found)| found.as_ref().map(|found| compared(name, found)))
        .collect();
    let differ = [&tally.stations, &tally.throws]
        .into_iter()
        .flatten()
        .any(|found| found.by_chance.min(found.due_by_chance) <= SELDOM);
    let advice = if differ && tally.design_effect == 1.0 {
        "; animals of one place are alike, so give a design effect above 1"
    } else {
        ""
    };
    said.push(format!(
        "Design effect used: {} (1 takes the animals as drawn one by one){advice}.",
        tally.design_effect
    ));
    said
}

fn compared(name: &str, found: &StationDifference) -> String {
    let each = |places: &BTreeMap<String, (u64, u64)>| {
        let each: Vec<String> = places
            .iter()
            .map(|(name, (k, n))| format!("{name} {k} of {n}"))
            .collect();
        each.join(", ")
    };
    let meaning = |by_chance: f64| {
        let verdict = if by_chance <= SELDOM {
            "they differ"
        } else {
            "no difference is shown"
        };
        let often = 100.0 * by_chance;
        format!("as different by chance in {often:.0} of 100 shufflings, {verdict}")
    };
    let seen = found.design_effect_seen.map_or_else(String::new, |effect| {
        format!("; these animals show a design effect of about {effect:.1}")
    });
    format!(
        "Soft by {name}: {} ({}). Due by {name}: {} ({}){seen}.",
        each(&found.soft),
        meaning(found.by_chance),
        each(&found.due),
        meaning(found.due_by_chance)
    )
}

/// Where the animals gather, and what that does not show.
fn synchrony(tally: &Tally) -> Option<String> {
    let found = tally.synchrony?;
    let place = found.mean_phase.map_or_else(
        || "no common place on the cycle".to_owned(),
        |phase| {
            format!(
                "mean place {:.0} % of the way from moult to moult",
                100.0 * phase
            )
        },
    );
    let meaning = if found.rayleigh_p <= SELDOM {
        "one wave is seen"
    } else if found.second_harmonic > found.resultant {
        "no single wave is seen, and two opposed ones would look like this: the pond is not shown to be even"
    } else {
        "no wave is seen, which does not show the pond to be even"
    };
    Some(format!(
        "Synchrony: {place}, strength {:.2} of 1 (two waves: {:.2}); an even pond looks so gathered in \
         {:.0} of 100 samples: {meaning}.",
        found.resultant,
        found.second_harmonic,
        100.0 * found.rayleigh_p
    ))
}

/// What the known errors of the reader do to the answer.
fn reader(tally: &Tally) -> Vec<String> {
    let Some(effect) = &tally.reader else {
        return Vec::new();
    };
    let mut said: Vec<String> = effect
        .groups
        .iter()
        .map(|(name, group)| one_reader(name, group))
        .collect();
    let outcome = if effect.worsened {
        format!(
            "They make the answer worse: {} by the calls alone, {} with them.",
            answer(effect.without),
            answer(tally.at_netting)
        )
    } else {
        "They do not change the answer; they never improve it.".to_owned()
    };
    said.insert(
        0,
        format!(
            "Reader's known errors, from {} slides of known truth (worth {:.0} of equal weight): \
             {outcome}",
            effect.slides, effect.slides_by_weight
        ),
    );
    said
}

fn one_reader(name: &str, group: &GroupReader) -> String {
    let percent_of = |share: Option<f64>| share.map_or_else(|| "-".to_owned(), percent);
    let corrected = match (group.corrected, group.low, group.high) {
        (Some(share), Some(low), Some(high)) => format!(
            "{} behind the {} called ({} to {}), {} with all stages corrected together",
            percent(share),
            percent_of(group.observed),
            percent(low),
            percent(high),
            percent_of(group.by_all_stages)
        ),
        _ => "no estimate: too few slides, or the calls of this group say nothing".to_owned(),
    };
    format!(
        "  {name}: finds {} of those in it and {} of the rest; {corrected}; tested {}.",
        percent_of(group.sensitivity),
        percent_of(group.specificity),
        tested_word(group.tested)
    )
}

const fn tested_word(tested: Tested) -> &'static str {
    match tested {
        Tested::Within => "within",
        Tested::Open => "open",
        Tested::Over => "over",
    }
}

/// The intervals of the table of stages, "goodman 0.95", as people write it.
pub fn intervals(named: &str) -> String {
    let (name, confidence) = named.split_once(' ').unwrap_or((named, ""));
    let name = match name {
        "goodman" => "Goodman",
        "sison-glaz" => "Sison-Glaz",
        other => other,
    };
    match confidence.parse::<f64>() {
        Ok(part) => format!("{name} {:.0} %", 100.0 * part),
        Err(_) => named.to_owned(),
    }
}

fn stage_table(tally: &Tally) -> String {
    let mut table = format!(
        "stage  animals    share   interval ({}, joint)\n",
        intervals(&tally.intervals)
    );
    for (stage, at) in &tally.shares {
        let count = tally.counts.get(stage).copied().unwrap_or(0);
        let share = at
            .share
            .map_or_else(|| "-".to_owned(), |s| format!("{:.1} %", 100.0 * s));
        let (low, high) = (100.0 * at.low, 100.0 * at.high);
        // Writing to a String cannot fail.
        writeln!(
            table,
            "{stage:<5} {count:>8} {share:>8}   {low:.1} to {high:.1} %"
        )
        .ok();
    }
    if tally.counts.values().any(|k| *k < 5) {
        table.push_str("Stages with fewer than 5 animals make these intervals rough.\n");
    }
    table
}

fn limit_table(tally: &Tally) -> String {
    let mut table = String::from(
        "group          count     share   Wilson 95 %       limit   P(so few)  P(so many)  tested\n",
    );
    for (name, g) in groups(tally) {
        let count = g.counted.map_or_else(
            || format!("{}/{}", g.count, g.of),
            |counted| format!("{counted:.1}/{}", g.of),
        );
        let interval = format!("{:.1} to {:.1} %", 100.0 * g.low, 100.0 * g.high);
        let tested = tested_word(g.tested);
        writeln!(
            table,
            "{name:<12} {count:>7} {:>9}   {interval:<15} {:>7} {:>11.3} {:>11.3}  {tested}",
            share(g),
            percent(g.limit),
            g.p_within,
            g.p_over
        )
        .ok();
    }
    for (name, g) in groups(tally) {
        if let Some(parts) = &g.parts {
            let each: Vec<String> = parts
                .iter()
                .map(|(stage, part)| format!("{stage} {:.0} %", 100.0 * part))
                .collect();
            writeln!(
                table,
                "{name}: by days since the moult; a call counts {}",
                each.join(", ")
            )
            .ok();
        } else if let Some(stages) = &g.stages {
            writeln!(table, "{name}: {}", codes(stages)).ok();
        }
    }
    table
}

/// The assumptions, those of one source on one line.
pub fn assumptions(assumed: &[Assumed]) -> String {
    let mut list = String::from("Assumed, since nothing else was given:\n");
    for group in assumed.chunk_by(|a, b| a.source == b.source) {
        let items: Vec<String> = group
            .iter()
            .map(|item| format!("{} {}", item.name, amount(item)))
            .collect();
        let source = group.first().map_or("", |item| item.source);
        writeln!(list, "  {} ({source})", items.join(", ")).ok();
    }
    list
}

/// A share in percent, anything else with its unit.
pub(in crate::texts) fn amount(item: &Assumed) -> String {
    let hundredths = (100.0 * item.value).round() / 100.0;
    match item.unit {
        "" if item.value < 1.0 => percent(item.value),
        "" => format!("{hundredths}"),
        unit => format!("{hundredths} {unit}"),
    }
}

pub(in crate::texts) fn codes(stages: &[Stage]) -> String {
    stages
        .iter()
        .map(|s| s.code())
        .collect::<Vec<_>>()
        .join(", ")
}

pub(in crate::texts) fn share(group: &LimitTally) -> String {
    group
        .share
        .map_or_else(|| "-".to_owned(), |s| format!("{:.1} %", 100.0 * s))
}

fn part(k: u64, n: u64) -> String {
    if n == 0 {
        String::new()
    } else {
        format!(" = {:.1} %", 100.0 * k as f64 / n as f64)
    }
}

/// A share in percent with as many places as it needs, one at most.
pub(in crate::texts) fn percent(share: f64) -> String {
    let tenths = (1000.0 * share).round() / 10.0;
    format!("{tenths} %")
}
