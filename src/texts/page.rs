//! The words of the manager's page, the wall chart and the pond report.

use crate::cycle::Assumed;
use crate::cycle::species::Species;
use crate::moult::Stage;
use crate::tally::Answer;
use crate::tally::Leaning;
use crate::tally::LimitTally;
use crate::tally::OnTheCount;
use crate::tally::Tally;
use crate::tally::Tested;
use crate::texts;
use crate::texts::dates::Civil;
use crate::texts::dates::day_and_hour;
use crate::texts::dates::whole;
use crate::texts::tally::amount;
use crate::texts::tally::answer;
use crate::texts::tally::codes;
use crate::texts::tally::groups;
use crate::texts::tally::percent;
use crate::texts::tally::share;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use std::fmt::Write as _;

/// Name of the program with its version.
pub fn program(version: &str) -> String {
    format!("Tailfan {version}")
}

/// Headings.
pub const TALLY: &str = "Tally at the hour of netting";
/// Heading of the forecast.
pub const NIGHTS: &str = "The nights ahead";
/// Heading of the stage table.
pub const STAGES: &str = "Animals by stage";
/// Heading of what the tally says.
pub const SAYS: &str = "What the tally can and cannot show";
/// No span is shown.
pub const NOTHING_SHOWN: &str = "Shown within limits: no span of nights.";
/// Heading of the deciding slides.
pub const SLIDES: &str = "Slides that decided it";
/// Heading of who read.
pub const READERS: &str = "Who read";
/// Heading of what was refused.
pub const REFUSED: &str = "Not read, and why";
/// Heading of the assumptions.
pub const ASSUMED: &str = "Assumed, with sources";
/// Heading of the cautions.
pub const CAUTIONS: &str = "Cautions";
/// Heading of program and model.
pub const MADE_WITH: &str = "Made with";
/// Heading of notes.
pub const NOTES: &str = "What it rests on";

/// What stands on a page of made-up data.
pub const MADE_UP: &str = "MADE-UP DATA: no such farm, pond or animals.";

/// When a letter was in no typeface.
pub const NO_LETTERS: &str = "Some letters are in none of this page's typefaces and show as \"?\".";

/// Every animal was read.
pub const NONE_REFUSED: &str = "Every animal was read.";

/// Nothing is known of the readers.
pub const NO_READERS: &str = "The readers were not noted.";

/// Why there are no nights ahead.
pub const NO_FORECAST: &str = "No forecast: it needs species, weight and water temperature.";

/// Why there are no nights ahead when no animal was called.
pub const NOTHING_CALLED: &str = "No forecast: no animal was called.";

/// Why an animal has no call.
pub const UNREAD: &str = "unread";

/// Who opens a logbook only to make a page of it; nothing is written in that name.
pub const OPENED_BY: &str = "page";

/// An animal without a call.
pub const NOT_CALLED: &str = "not called";

/// What a harvest showed.
pub fn outcome(harvested: Civil, soft: Option<(i64, i64)>, note: Option<&str>) -> String {
    let mut said = format!("Harvested {}", day_and_hour(harvested));
    if let Some((soft, of)) = soft {
        let part = percent(soft as f64 / of.max(1) as f64);
        // Writing to a String cannot fail.
        write!(said, ": {soft} of {of} soft ({part})").ok();
    }
    if let Some(note) = note {
        write!(said, "; {note}").ok();
    }
    said.push('.');
    said
}

/// A verdict that was given, with its drain.
pub fn verdict_given(said: &str) -> String {
    sentence(said)
}

/// What a made-up reader is called on a page.
pub const MADE_UP_READER: &str = "a made-up reader";

/// The species as a fact.
pub fn species(species: Species) -> (String, String) {
    ("Species".to_owned(), format!("P. {species}"))
}

/// The weight as a fact.
pub fn weight(weight: Grams) -> (String, String) {
    ("Weight".to_owned(), weight.to_string())
}

/// The water as a fact.
pub fn water(water: DegreesCelsius) -> (String, String) {
    ("Water".to_owned(), water.to_string())
}

/// What the marks of the ribbon mean.
pub const RIBBON_KEY: &str = "Bar: band of the soft share, its upper edge at the confidence of the \
tests. Stroke: expected. Triangle: if draining sets off the due animals. Below: full square, every \
limit shown kept; open square, only the expected shares are under the limits; dash, neither. The \
moon is shown and not used.";

/// What the marks of the ring mean.
pub const RING_KEY: &str = "One dot per animal, clockwise from moult to moult. Shaded: soft. The arrow \
points where the animals gather, the longer the more they do.";

/// Name of the fact how many animals there are.
pub const ANIMALS: &str = "Animals";

/// Foot of a sheet.
pub fn page_of(number: usize, all: usize) -> String {
    format!("page {number} of {all}")
}

/// Title of the manager's page.
pub fn title(pond: &str, netted: Civil) -> String {
    format!("{}, netted {}", self::pond(pond), whole(netted))
}

/// How many animals, and how many of them were called.
pub fn animals(tally: &Tally) -> String {
    texts::tally::netted(tally)
}

/// A sentence with a capital and a full stop.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}

/// The verdict over a planned drain, in one sentence.
pub fn verdict_for(found: Answer, start: Civil, end: Civil) -> String {
    sentence(&format!(
        "{} for the drain from {} to {}",
        answer(found),
        day_and_hour(start),
        day_and_hour(end)
    ))
}

/// The answer at the hour of netting, in one sentence; an open one says which way it leans.
pub fn verdict_at_netting(tally: &Tally) -> String {
    let leans = match leaning(tally) {
        Some(Leaning::Over) => "; it leans over",
        Some(Leaning::Within) => "; it leans within",
        None => "",
    };
    sentence(&format!(
        "{} at the hour of netting{leans}",
        answer(tally.at_netting)
    ))
}

fn leaning(tally: &Tally) -> Option<Leaning> {
    if tally.at_netting != Answer::TooFewAnimals {
        return None;
    }
    let over = groups(tally).any(|(_, g)| g.leans == Some(Leaning::Over));
    let within = groups(tally).any(|(_, g)| g.leans == Some(Leaning::Within));
    match (over, within) {
        (true, _) => Some(Leaning::Over),
        (_, true) => Some(Leaning::Within),
        _ => None,
    }
}

/// When the verdict stops holding.
pub fn expires(at: Civil) -> String {
    format!("It expires when the gates open, {}.", day_and_hour(at))
}

/// When the tally stops holding.
pub const EXPIRES_AT_DUSK: &str = "It expires at the next dusk: a night of moults follows.";

/// A reason as a sentence.
pub fn because(reason: &str) -> String {
    sentence(reason)
}

/// The counts against the limits, in one sentence.
pub fn on_the_count(tally: &Tally) -> String {
    match tally.on_the_count {
        None => "No animal was called.".to_owned(),
        Some(OnTheCount::UnderLimits) => "On the count: under all limits.".to_owned(),
        Some(OnTheCount::AtOrOver) => {
            let over: Vec<String> = groups(tally)
                .filter(|(_, g)| g.on_the_count == Some(OnTheCount::AtOrOver))
                .map(|(name, g)| format!("{name} {} (limit {})", share(g), percent(g.limit)))
                .collect();
            format!("On the count: at or over, {}.", over.join(", "))
        }
    }
}

/// The table of limits: head and rows.
pub fn limit_rows(tally: &Tally) -> Vec<Vec<String>> {
    let head = [
        "Group",
        "Animals",
        "Share",
        "95 % interval",
        "Limit",
        "Tested",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(groups(tally).map(|(name, g)| {
        vec![
            name.to_owned(),
            format!("{} of {}", g.count, g.of),
            share(g),
            format!("{:.1} to {:.1} %", 100.0 * g.low, 100.0 * g.high),
            percent(g.limit),
            tested(g).to_owned(),
        ]
    }));
    rows
}

/// Which stages the groups hold.
pub fn groups_hold(tally: &Tally) -> String {
    let named: Vec<String> = groups(tally)
        .filter_map(|(name, g)| Some(format!("{name} {}", codes(g.stages.as_ref()?))))
        .collect();
    format!("Groups: {}.", named.join("; "))
}

const fn tested(group: &LimitTally) -> &'static str {
    match (group.tested, group.leans) {
        (Tested::Within, _) => "within",
        (Tested::Over, _) => "over",
        (Tested::Open, Some(Leaning::Within)) => "open, leans within",
        (Tested::Open, Some(Leaning::Over)) => "open, leans over",
        (Tested::Open, None) => "open",
    }
}

/// What would settle each open group, a sentence each.
pub fn open_groups(tally: &Tally) -> Vec<String> {
    groups(tally)
        .filter_map(|(name, group)| texts::tally::leaning(name, group))
        .collect()
}

/// The interval of a group in a table.
pub const WILSON: &str = "wilson 0.95";

/// What a test says, in one word.
pub const fn tested_code(tested: Tested) -> &'static str {
    match tested {
        Tested::Within => "within",
        Tested::Open => "open",
        Tested::Over => "over",
    }
}

/// The table of stages: head and rows.
pub fn stage_rows(tally: &Tally) -> Vec<Vec<String>> {
    let head = ["Stage", "", "Animals", "Share", "Interval"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(tally.shares.iter().map(|(stage, at)| {
        let count = tally.counts.get(stage).copied().unwrap_or(0);
        let share = at
            .share
            .map_or_else(|| "-".to_owned(), |s| format!("{:.1} %", 100.0 * s));
        vec![
            stage.code().to_owned(),
            texts::key::name(*stage).to_owned(),
            count.to_string(),
            share,
            format!("{:.1} to {:.1} %", 100.0 * at.low, 100.0 * at.high),
        ]
    }));
    rows
}

/// What the intervals of the table of stages are.
pub fn intervals(tally: &Tally) -> String {
    let rough = if tally.counts.values().any(|k| *k < 5) {
        " Stages with fewer than 5 animals make them rough."
    } else {
        ""
    };
    format!(
        "Intervals: {}, joint over all stages. Groups: Wilson 95 %, tested at {} confidence by the \
         exact binomial.{rough}",
        texts::tally::intervals(&tally.intervals),
        percent(tally.confidence)
    )
}

/// The table of assumptions: head and rows, those of one source on one row.
pub fn assumed_rows(assumed: &[Assumed]) -> Vec<Vec<String>> {
    let mut rows = vec![vec!["Assumed".to_owned(), "Source".to_owned()]];
    for group in assumed.chunk_by(|a, b| a.source == b.source) {
        let items: Vec<String> = group
            .iter()
            .map(|item| format!("{} {}", item.name, amount(item)))
            .collect();
        let source = group.first().map_or("", |item| item.source);
        rows.push(vec![items.join(", "), source.to_owned()]);
    }
    rows
}

/// The next span in which all limits are expected to be kept, or shown to be.
pub fn span(shown: bool, opens: Civil, drained: Civil) -> String {
    let (opens, drained) = (day_and_hour(opens), day_and_hour(drained));
    if shown {
        format!("Shown within limits: gates open from {opens}, drained by {drained}.")
    } else {
        format!(
            "By the expected shares alone, with no margin for chance: gates open from {opens}, \
             drained by {drained}."
        )
    }
}

/// Length of the cycle that the nights rest on.
pub fn cycle(days: f64, cv: f64) -> String {
    format!("Moult cycle: {days:.1} days on average, coefficient of variation {cv:.2}.")
}

/// How many animals a reader called.
pub fn reader(name: &str, animals: usize) -> String {
    format!("{name}: {}", counted(animals, "animal"))
}

/// How many animals a second reader read, and how often both agreed.
pub fn second_reader(name: &str, animals: usize, same: usize) -> String {
    format!(
        "{name}, second reader: {}, same stage in {same}",
        counted(animals, "animal")
    )
}

/// How many of the animals netted were not read.
pub fn how_many_unread(tally: &Tally) -> String {
    format!(
        "{} of {} animals, counted as unread.",
        tally.unread, tally.animals
    )
}

/// The animals that were not read for one reason.
pub fn refused_for(reason: &str, animals: &[String]) -> String {
    format!("{reason}: {}", animals.join(", "))
}

/// An animal that was not read, and why.
pub fn refused(animal: &str, reason: &str) -> String {
    format!("{animal}: {reason}")
}

/// A caption of a slide.
pub fn slide(animal: &str, stage: Stage) -> String {
    format!("{stage}  {animal}")
}

/// A slide for somebody who cannot see it.
pub fn slide_says(animal: &str, stage: Stage) -> String {
    format!("Slide of animal {animal}, called {stage}")
}

/// A number of things.
fn counted(number: usize, thing: &str) -> String {
    if number == 1 {
        format!("1 {thing}")
    } else {
        format!("{number} {thing}s")
    }
}

/// The model that proposed.
pub fn model(name: &str) -> String {
    format!("model {name}")
}

/// Heading of the samples of a season.
pub const SAMPLES: &str = "Samples";
/// Heading of the harvests.
pub const OUTCOMES: &str = "What the harvests showed";
/// No harvest was noted.
pub const NO_OUTCOMES: &str = "No harvest of this pond was noted.";

/// A pond by its name, which may say already that it is one.
pub fn pond(name: &str) -> String {
    if name.to_lowercase().contains("pond") {
        name.to_owned()
    } else {
        format!("Pond {name}")
    }
}

/// Title of the pond report.
pub fn season_title(pond: &str, from: Civil, to: Civil) -> String {
    format!(
        "{}, {} {} to {} {}",
        self::pond(pond),
        texts::dates::day(from),
        from.year,
        texts::dates::day(to),
        to.year
    )
}

/// The table of samples: head and rows.
pub fn season_rows(samples: &[(Civil, &Tally, Option<&str>)]) -> Vec<Vec<String>> {
    let head = [
        "Netted", "Animals", "Unread", "Soft", "Moulting", "Due", "Said",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(samples.iter().map(|(netted, tally, verdict)| {
        let said = verdict.map_or_else(|| verdict_at_netting(tally), str::to_owned);
        vec![
            day_and_hour(*netted),
            tally.animals.to_string(),
            tally.unread.to_string(),
            share(&tally.soft),
            share(&tally.moulting),
            share(&tally.due),
            said,
        ]
    }));
    rows
}
