//! The moult cycle as a circle of circumference 1 from moult to moult.
//!
//! Every number here is a default that a farm's own log may replace, and carries its source.

pub mod arcs;
pub mod length;
pub mod moon;
pub mod species;

use serde::Serialize;

/// A number that was taken because nobody gave another, and where it is from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assumed {
    /// What it is.
    pub name: String,
    /// Its value.
    pub value: f64,
    /// Its unit; empty for shares and counts.
    pub unit: &'static str,
    /// Where it is from.
    pub source: &'static str,
}

impl Assumed {
    /// A number with its unit and source.
    pub fn new(name: &str, value: f64, unit: &'static str, source: &'static str) -> Self {
        Self {
            name: name.to_owned(),
            value,
            unit,
            source,
        }
    }
}
