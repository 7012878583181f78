//! Reads the check values of `tests/data`; their origin is in its README.

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name)
}

/// A JSON file of check values.
pub(crate) fn json(name: &str) -> Value {
    serde_json::from_slice(&std::fs::read(path(name)).unwrap()).unwrap()
}

/// The rows of a CSV file of numbers, by column.
pub(crate) fn rows(name: &str) -> Vec<BTreeMap<String, f64>> {
    csv::Reader::from_path(path(name))
        .unwrap()
        .deserialize()
        .map(|row| row.unwrap())
        .collect()
}

/// The number at a JSON value.
#[track_caller]
pub(crate) fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("no number: {value}"))
}

/// The whole numbers of a JSON list.
#[track_caller]
pub(crate) fn counts(value: &Value) -> Vec<u64> {
    value
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_u64().unwrap())
        .collect()
}

/// Asserts that two numbers agree within a tolerance of `tolerance.rs`.
#[track_caller]
pub(crate) fn close(found: f64, wanted: f64, tolerance: f64, what: &str) {
    let apart = (found - wanted).abs();
    assert!(
        apart <= tolerance,
        "{what}: {found} instead of {wanted}, {apart:e} apart"
    );
}
