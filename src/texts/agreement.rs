//! How far readers agree, in words.

/// Cohen's kappa with the name of its weighting, which always stands beside it, and its interval.
pub fn kappa(weighting: &str, value: f64, low: f64, high: f64) -> String {
    format!("Cohen's kappa, {weighting} weights: {value:.2} ({low:.2} to {high:.2})")
        .replace("plain weights", "plain")
}

/// A part of the animals with its interval.
pub fn part(name: &str, (part, low, high): (f64, f64, f64)) -> String {
    format!(
        "{name}: {:.0} % ({:.0} to {:.0} %)",
        100.0 * part,
        100.0 * low,
        100.0 * high
    )
}

/// Fleiss' kappa with its interval.
pub fn fleiss(value: f64, low: f64, high: f64) -> String {
    format!("All readers, Fleiss' kappa, plain: {value:.2} ({low:.2} to {high:.2})")
}

/// What the figures do not mean.
pub const NOTE: &str = "Intervals are 95 %. Stages nobody used stay in the table; D4 counts with D3. Kappas of \
different weightings are not to be compared, and agreeing is not being right: that takes slides of known truth.";
