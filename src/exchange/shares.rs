//! A tally as a tidy table: one row a share, units in the names of the columns.

use thiserror::Error;

/// A share with its interval and limit.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareRow {
    /// Of what: `stage` or `group`.
    pub kind: &'static str,
    /// Its code or name.
    pub name: String,
    /// Animals in it.
    pub animals: u64,
    /// Animals looked at.
    pub of_animals: u64,
    /// The share, 0..1; absent when none was looked at.
    pub share: Option<f64>,
    /// Lower end of the interval, 0..1.
    pub low: f64,
    /// Upper end of the interval, 0..1.
    pub high: f64,
    /// Which interval.
    pub interval: String,
    /// The limit, 0..1; absent for stages.
    pub limit: Option<f64>,
    /// What the test says; absent for stages.
    pub tested: Option<String>,
}

/// A table that could not be written.
#[derive(Debug, Error)]
#[error("the table of shares cannot be written")]
pub struct SharesError(#[from] csv::Error);

const COLUMNS: [&str; 10] = [
    "kind",
    "name",
    "animals",
    "of_animals",
    "share_percent",
    "low_percent",
    "high_percent",
    "interval",
    "limit_percent",
    "tested",
];

/// The table as CSV with full digits; what is absent is an empty cell.
///
/// # Errors
/// [`SharesError`] when there is no memory for it.
pub fn shares_table(rows: &[ShareRow]) -> Result<Vec<u8>, SharesError> {
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record(COLUMNS)?;
    let percent = |share: f64| (100.0 * share).to_string();
    for row in rows {
        table.write_record([
            row.kind.to_owned(),
            row.name.clone(),
            row.animals.to_string(),
            row.of_animals.to_string(),
            row.share.map_or_else(String::new, percent),
            percent(row.low),
            percent(row.high),
            row.interval.clone(),
            row.limit.map_or_else(String::new, percent),
            row.tested.clone().unwrap_or_default(),
        ])?;
    }
    table
        .into_inner()
        .map_err(|error| SharesError(error.into_error().into()))
}
