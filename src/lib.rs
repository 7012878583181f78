//! Tailfan reads micrographs of shrimp uropod tips, proposes a moult stage for each animal, and
//! tallies what a person decided.
//!
//! The modules form layers: each names only those listed before it (`tests/suite/layers.rs` holds
//! the table). Everything below `workflow` is a function of its arguments: no clock, no
//! environment, no terminal, no randomness without a seed.

pub mod units;

pub mod progress;

pub mod geometry;

pub mod moult;

pub mod anatomy;

pub mod statistics;

pub mod micrograph;

pub mod margin;

pub mod measure;

pub mod painter;

pub mod stage;

pub mod cycle;

pub mod tally;

pub mod forecast;

pub mod decision;

pub mod records;

pub mod texts;

pub mod drawing;

pub mod exchange;

pub mod logbook;

pub mod report;

pub mod workflow;

pub mod cli;

#[cfg(feature = "desktop")]
pub mod desktop;
