//! Words in and about the diagrams.

use crate::moult::Stage;
use crate::tally::Synchrony;
use crate::tally::Tally;
use crate::texts::tally::percent;

/// The arc of stages that count as soft.
pub const SOFT: &str = "soft";

/// The arc of stages about to moult.
pub const DUE: &str = "due";

/// Where the cycle begins and ends.
pub const MOULT: &str = "moult";

/// Where a row of nights begins.
pub const NETTED: &str = "netted";

/// The span in which the expected shares stay under the limits.
pub const EXPECTED_SPAN: &str = "expected under limits";

/// The span in which every limit is shown to be kept.
pub const CONFIDENT_SPAN: &str = "shown within limits";

/// The planned drain.
pub const DRAIN: &str = "planned drain";

/// The row of moons.
pub const MOON: &str = "moon";

/// The row of values of waiting.
pub const WAITING: &str = "gain";

/// The chart of soft shares.
pub const SOFT_SHARE: &str = "soft";

/// How many were not read.
pub fn unread(animals: u64) -> String {
    format!("{animals} unread")
}

/// A limit beside its line.
pub fn limit(share: f64) -> String {
    format!("limit {}", percent(share))
}

/// A share in whole percent.
pub fn whole_percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// How much the animals gather.
pub fn synchrony(found: &Synchrony) -> String {
    format!("synchrony {:.2}", found.resultant)
}

/// The moult ring for somebody who cannot see it.
pub fn ring(tally: &Tally) -> String {
    let counts: Vec<String> = tally
        .counts
        .iter()
        .map(|(stage, count)| format!("{stage} {count}"))
        .collect();
    let gathers = tally
        .synchrony
        .as_ref()
        .map_or_else(String::new, |found| format!("; {}", synchrony(found)));
    format!(
        "Moult ring, one dot per animal on the cycle from moult to moult: {}; {}{gathers}.",
        counts.join(", "),
        unread(tally.unread)
    )
}

/// The night ribbon for somebody who cannot see it.
pub fn ribbon(nights: usize, limit: f64) -> String {
    format!(
        "Night ribbon: the soft share expected on each of {nights} nights with its band, against \
         the limit of {}.",
        percent(limit)
    )
}

/// The stair for somebody who cannot see it.
pub fn stair(probabilities: &[(Stage, f64)]) -> String {
    let each: Vec<String> = probabilities
        .iter()
        .map(|(stage, p)| format!("{stage} {}", whole_percent(*p)))
        .collect();
    format!("Probability of each stage: {}.", each.join(", "))
}
