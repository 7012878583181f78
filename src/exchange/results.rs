//! Readings as a table for a spreadsheet: one row a photo, units in the names of the columns.

use crate::moult::Stage;
use crate::records::Reading;
use thiserror::Error;

/// A reading with what is known of its animal.
#[derive(Debug, Clone, Copy)]
pub struct ResultRow<'a> {
    /// The reading.
    pub reading: &'a Reading,
    /// Name or number of the animal.
    pub animal: Option<&'a str>,
    /// Where it was netted.
    pub station: Option<&'a str>,
    /// What a person called: a stage or `unread`.
    pub call: Option<&'a str>,
}

/// A table that could not be written.
#[derive(Debug, Error)]
#[error("the table of results cannot be written")]
pub struct ResultsError(#[from] csv::Error);

/// Columns of texts and marks before the numbers.
const FIRST: [&str; 13] = [
    "file",
    "animal",
    "station",
    "usable",
    "refusal_reasons",
    "proposal",
    "call",
    "second_reader",
    "model",
    "novelty",
    "um_per_px",
    "scale_source",
    "setae",
];

/// Columns of what was measured.
const MEASURED: [&str; 15] = [
    "base_width_px",
    "base_width_um",
    "spacing_px",
    "spacing_um",
    "gap_px",
    "gap_um",
    "gap_base_widths",
    "gap_spread_base_widths",
    "base_pigment_od",
    "lumen_pigment_od",
    "base_pigment",
    "lumen_pigment",
    "base_line",
    "scallop_base_widths",
    "new_setae",
];

/// The bytes of a CSV file (UTF-8, commas, a header) with one row for each reading. Absent values
/// are empty cells; a text that a spreadsheet could take for a formula gets an apostrophe before it.
///
/// # Errors
/// [`ResultsError`] when there is no memory for it.
pub fn results_table(rows: &[ResultRow<'_>]) -> Result<Vec<u8>, ResultsError> {
    let mut table = csv::Writer::from_writer(Vec::new());
    let of_stages = Stage::PROPOSED.map(|stage| format!("probability_{stage}"));
    let header = FIRST
        .into_iter()
        .chain(of_stages.iter().map(String::as_str))
        .chain(MEASURED);
    table.write_record(header)?;
    for row in rows {
        table.write_record(cells(row))?;
    }
    table
        .into_inner()
        .map_err(|error| ResultsError(error.into_error().into()))
}

fn cells(row: &ResultRow<'_>) -> Vec<String> {
    let reading = row.reading;
    let text = |given: Option<&str>| given.map_or_else(String::new, harmless);
    let reasons: Vec<String> = reading
        .refusals
        .iter()
        .map(|refusal| code(&refusal.reason))
        .collect();
    let mut cells = vec![
        harmless(&reading.file),
        text(row.animal),
        text(row.station),
        yes_or_no(reading.usable),
        reasons.join(" "),
        reading.proposal.map_or_else(String::new, |s| s.to_string()),
        text(row.call),
        yes_or_no(reading.second_reader),
        text(reading.model.as_deref()),
        number(reading.novelty),
        number(reading.um_per_px),
        code(&reading.scale_source),
        reading.setae.len().to_string(),
    ];
    cells.extend(Stage::PROPOSED.map(|stage| {
        let all = reading.probabilities.as_ref();
        number(all.and_then(|all| all.get(&stage).copied()))
    }));
    let um = |px: Option<f64>| Some(px? * reading.um_per_px?);
    let measured: [Option<f64>; MEASURED.len()] = [
        reading.base_width_px,
        um(reading.base_width_px),
        reading.spacing_px,
        um(reading.spacing_px),
        reading.gap_px,
        reading.gap_um,
        reading.gap_base_widths,
        reading.gap_spread_base_widths,
        reading.base_pigment_od,
        reading.lumen_pigment_od,
        reading.base_pigment,
        reading.lumen_pigment,
        reading.base_line,
        reading.scallop_base_widths,
        reading.new_setae,
    ];
    cells.extend(measured.map(number));
    cells
}

/// A text that no spreadsheet takes for a formula.
///
/// # Source
/// The characters at which spreadsheets begin a formula, with the control characters and wide forms
/// they overlook before it: from memory of public advice on CSV injection.
pub fn harmless(text: &str) -> String {
    let begins = text.trim_start().chars().next();
    let formula = begins.is_some_and(|c| "=+-@＝＋－＠".contains(c));
    let control = text.starts_with(['\t', '\r', '\n']);
    if formula || control {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// The code of a value as in the reading's JSON.
fn code(value: &impl serde::Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(code)) => code,
        _ => String::new(),
    }
}

fn yes_or_no(value: bool) -> String {
    (if value { "yes" } else { "no" }).to_owned()
}

/// Six significant digits at most: no photo gives more.
fn number(value: Option<f64>) -> String {
    let Some(value) = value else {
        return String::new();
    };
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 {
            "0".to_owned()
        } else {
            String::new()
        };
    }
    let places = (5 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_plain() {
        let cases = [
            (0.0, "0"),
            (0.8, "0.8"),
            (1.0 / 3.0, "0.333333"),
            (-0.012_345_678, "-0.0123457"),
            (123_456.7, "123457"),
            (40.0, "40"),
            (1e-12, "0"),
        ];
        for (value, text) in cases {
            assert_eq!(number(Some(value)), text);
        }
        assert_eq!(number(None), "");
    }

    #[test]
    fn a_refused_photo_is_a_row_with_its_reasons() {
        let refusal = serde_json::from_str(r#"{"reason": "out_of_focus", "say": "-"}"#).unwrap();
        let reading = Reading::refused("a.jpg".to_owned(), vec![refusal]);
        let row = ResultRow {
            reading: &reading,
            animal: Some("S01"),
            station: None,
            call: Some("unread"),
        };
        let bytes = results_table(&[row]).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        let line = text.lines().nth(1).unwrap();
        assert!(
            line.starts_with("a.jpg,S01,,no,out_of_focus,,unread,no,,,,none,0,"),
            "{line}"
        );
    }
}
