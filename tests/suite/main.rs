//! The integration tests, one binary: each file is a module declared here.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop with the line it stopped at"
)]

mod agreement;
mod arcs;
mod bad;
mod bad_input;
mod binomial;
mod blind_file;
mod calibration;
mod cli;
mod cli_demo;
mod cli_forecast;
mod cli_plan;
mod cli_readers;
mod cli_second;
mod cli_tally;
mod colour;
mod cycle;
mod decode;
#[cfg(feature = "desktop")]
mod desktop;
#[cfg(feature = "desktop")]
mod desktop_readers;
#[cfg(feature = "desktop")]
mod desktop_training;
mod diagrams;
mod drain;
mod drawing;
mod filters;
mod forecast;
mod guide;
mod labels;
mod layers;
mod logbook;
mod logbook_crash;
mod logbook_export;
mod logbook_file;
mod logbook_merge;
mod logistic;
mod misreading;
mod model;
mod multinomial;
mod negatives;
mod own_cycle;
mod own_training;
mod page;
mod painted;
mod paired;
mod plans;
mod posterior;
mod reference;
mod results;
mod rigid;
mod ruling;
mod scale;
mod second_reader;
mod simulated;
mod stress;
mod tally;
mod tolerance;
mod verdict;
mod weighted;
