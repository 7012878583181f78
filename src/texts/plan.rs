//! Plans before netting, in words and tables.

/// How to spread the net, and what it misses.
pub const SPREAD_THE_NET: &str = "Take the animals from several points of the pond (five or more) and \
from more than one throw at each: animals of one throw are alike. Just-moulted animals hide and shun \
the net, so a netting shows a pond harder than it is; feed trays do so even more and never clear a \
pond.";

/// Why a second netting needs its own plan.
pub const SECOND_NETTING: &str = "Whether there is a second netting, and how many animals it has, is \
fixed before the first; testing again without a plan is wrong more often than the confidence says.";

/// A probability as a bar of up to twenty signs.
pub fn bar(probability: f64) -> String {
    "#".repeat((20.0 * probability.clamp(0.0, 1.0)).round() as usize)
}

/// "up to 3", or what stands for a number that is not there.
pub fn up_to(number: Option<u64>) -> String {
    number.map_or_else(|| "never".to_owned(), |k| format!("up to {k}"))
}

/// "from 3 on", or what stands for a number that is not there.
pub fn from(number: Option<u64>) -> String {
    number.map_or_else(|| "never".to_owned(), |k| format!("from {k} on"))
}
