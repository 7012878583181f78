//! The length of the cycle in words.

/// The published length, or why none is given.
pub fn published(days: Option<f64>, refused: Option<&str>) -> String {
    match (days, refused) {
        (Some(days), _) => format!(
            "From published lengths, carried to this weight and water: {days:.1} days from moult to moult."
        ),
        (None, why) => format!("From published lengths: {}.", why.unwrap_or("none")),
    }
}

/// A warning.
pub fn careful(warning: &str) -> String {
    format!("Careful: {warning}.")
}

/// The pond's own length with its range, or why none is given; from so many samples and animals.
pub fn own(
    range: Option<(f64, f64, f64)>,
    (samples, animals): (usize, u64),
    refused: Option<&str>,
) -> String {
    let from = format!("{samples} samples, {animals} animals");
    match range {
        Some((days, low, high)) => format!(
            "This pond's own: {days:.1} days, {low:.1} to {high:.1} fit nearly as well ({from}).\n\
             Forecast with --cycle-days {days:.1} --cycle-range {:.0}; it holds for the weight and the \
             water of these samples.",
            100.0 * (high / days - 1.0).max(1.0 - low / days)
        ),
        None => format!(
            "This pond's own: no length, since {} ({from}).",
            refused.unwrap_or("the samples do not tell")
        ),
    }
}
