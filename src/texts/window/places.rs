//! Words of the places Tally, Forecast and Ponds.

use crate::moult::Stage;
use crate::texts;
use crate::texts::forecast::moment;

/// Nothing was counted.
pub const NOTHING_COUNTED: &str = "Nothing to count yet: call some animals first.";
/// The group about to moult.
pub const DUE: &str = "due";
/// The group that is soft in the hand.
pub const SOFT_IN_HAND: &str = "soft in hand";
/// Columns of the groups.
pub const GROUP_COLUMNS: [&str; 5] = ["group", "on the count", "Wilson 95 %", "limit", "tested"];
/// Columns of the stages.
pub const STAGE_COLUMNS: [&str; 4] = ["stage", "animals", "share", "interval"];
/// Outcomes of a test.
pub const TESTED: [&str; 3] = ["within", "open", "over"];

/// The moult ring, for those who do not see it.
pub fn ring(called: &str, unread: u64) -> String {
    format!("moult ring: {called}; {unread} unread")
}

/// A count with its share.
pub fn count_of(count: u64, of: u64, share: Option<f64>) -> String {
    format!("{count} of {of}, {}", self::share(share))
}

/// A share in percent.
pub fn share(share: Option<f64>) -> String {
    share.map_or_else(|| "-".to_owned(), |share| format!("{:.1} %", 100.0 * share))
}

/// An interval in percent.
pub fn interval(low: f64, high: f64) -> String {
    format!("{:.1} to {:.1} %", 100.0 * low, 100.0 * high)
}

/// A limit.
pub fn below(limit: f64) -> String {
    format!("below {:.0} %", 100.0 * limit)
}

/// A stage's code with room around it.
pub fn padded(stage: Stage) -> String {
    format!(" {stage} ")
}

/// Unread animals, beside the counts.
pub fn unread_beside(unread: u64) -> String {
    format!(
        "beside these, {unread} unread or uncalled: in no share, and looked at as soft in the test"
    )
}

/// Nothing was carried forward yet.
pub const NO_FORECAST_YET: &str = "Nothing is carried forward yet: call some animals first.";
/// Behind a temperature.
pub const CELSIUS: &str = " °C";

/// Another temperature than noted.
pub fn other_water(noted: Option<f64>) -> String {
    match noted {
        Some(noted) => format!("tried out; noted were {noted:.1} °C"),
        None => "tried out; none was noted".to_owned(),
    }
}

/// The drain at another night than planned.
pub fn other_drain(later: i32) -> String {
    let nights = later.unsigned_abs();
    let nights = if nights == 1 {
        "1 night".to_owned()
    } else {
        format!("{nights} nights")
    };
    let side = if later > 0 { "later" } else { "earlier" };
    format!("the drain tried out {nights} {side} than planned")
}

/// Heading of the value of waiting.
pub const WORTH_HEADING: &str = "Value of waiting";
/// What is entered.
pub const WORTH_WORDS: &str = "The farm's own numbers for this pond, in any currency: none has a usual value. They are \
kept in the logbook and stand on the page.";
/// Biomass, price, survival, growth, discount, feed, other costs.
pub const WORTH_FIELDS: [&str; 7] = [
    "Live weight in the pond",
    "Price of a unit of weight",
    "Survival of a day",
    "Growth of a day",
    "Loss of price when soft",
    "Feed of a day",
    "Other costs of a day",
];
/// Columns of the value of waiting.
pub const WORTH_COLUMNS: [&str; 3] = ["night", "worth if drained then", "against now"];
/// Keeps the numbers.
pub const WORTH_KEEP: &str = "Keep and work it out";
/// Leaves them out.
pub const WORTH_LEAVE_OUT: &str = "Leave the numbers out";
/// They were kept.
pub const WORTH_KEPT: &str = "the numbers for the value of waiting are kept";
/// They were left out.
pub const WORTH_LEFT_OUT: &str = "the value of waiting is left out";

/// What a night brings.
pub fn worth(value: f64) -> String {
    format!("{value:.0}")
}

/// What a night brings more, or less, than tonight.
pub fn gain(gain: f64) -> String {
    format!("{gain:+.0}")
}

/// The intervals of the table of stages.
pub fn intervals(named: &str) -> String {
    format!("{}, joint over all stages", texts::tally::intervals(named))
}

/// Animals of the sample with several calls.
pub fn rivals_in_sample(animals: usize) -> String {
    let animals = match animals {
        1 => "1 animal has".to_owned(),
        many => format!("{many} animals have"),
    };
    format!(
        "{animals} two calls beside each other: the later one is counted until they are settled in Slides (M)"
    )
}

/// Soft as days since the moult cannot be used.
pub const RIGID_NOT_USED: &str = "soft as days since the moult is not used here: it takes species, weight and water of \
this sample, and fewer days than half of the cycle; the soft stages stand";

/// The verdict for a planned harvest.
pub fn harvest_verdict(answer: &str, start: &str, end: &str) -> String {
    format!("From {} to {}: {answer}", moment(start), moment(end))
}

/// When a verdict expires.
pub fn expires(at: &str) -> String {
    format!("expires {}", moment(at))
}

/// No harvest is planned.
pub const NO_HARVEST_PLANNED: &str =
    "No harvest is planned in this sample: the verdict above speaks of the hour of netting.";

/// The night ribbon, for those who do not see it.
pub fn ribbon(nights: usize) -> String {
    format!("night ribbon: soft share over {nights} nights")
}

/// The span by the expected shares.
pub const EXPECTED_SPAN: &str = "Expected under the limits";
/// The span in which every limit is shown to be kept.
pub const CONFIDENT_SPAN: &str = "Shown within the limits";

/// A span.
pub fn span(what: &str, opens: &str, drained: &str) -> String {
    format!(
        "{what}: gates from {}, drained by {}",
        moment(opens),
        moment(drained)
    )
}

/// No span.
pub fn no_span(what: &str) -> String {
    format!("{what}: no span long enough for the drain within one cycle")
}

/// The cycle.
pub fn cycle(days: f64, cv: f64) -> String {
    format!(
        "Moult cycle {days:.1} days, spread between animals {:.0} %.",
        100.0 * cv
    )
}

/// The moon is shown only.
pub const MOON_NOT_USED: &str = "The moon is shown, never used.";
/// Heading of the assumptions.
pub const ASSUMED: &str = "What was assumed";

/// The search field.
pub const SEARCH: &str = "search ponds, samples, notes";
/// No pond.
pub const NO_PONDS: &str = "No pond yet: begin a sample.";
/// Columns of the samples.
pub const SAMPLE_COLUMNS: [&str; 6] = ["netted", "called", "soft", "due", "at netting", "harvest"];
/// Takes a sample into hand.
pub const TAKE_IN_HAND: &str = "take this sample into hand";
/// Nothing counted.
pub const NOT_COUNTED: &str = "not counted";
/// No outcome.
pub const NO_OUTCOME: &str = "not entered";

/// How many things a search found.
pub fn found(count: usize) -> String {
    match count {
        0 => "nothing found".to_owned(),
        1 => "1 found".to_owned(),
        more => format!("{more} found"),
    }
}

/// A pond as a heading.
pub fn pond_heading(name: &str, species: Option<&str>) -> String {
    species.map_or_else(|| name.to_owned(), |species| format!("{name}, {species}"))
}

/// How many animals are called.
pub fn of_animals(called: usize, animals: usize) -> String {
    format!("{called} of {animals}")
}

/// The forecast failed.
pub const FORECAST_FAULT: &str = "the program failed while carrying the tally forward";
/// The made-up farm is being made.
pub const MAKING_FARM: &str = "the made-up farm is being made ready";
/// No other sample.
pub const NO_OTHER_SAMPLE: &str = "there is no other sample on this side";
