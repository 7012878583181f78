//! The integration tests, one binary: each file is a module declared here.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop with the line it stopped at"
)]

mod agreement;
mod arcs;
mod binomial;
mod calibration;
mod cli_forecast;
mod cli_plan;
mod cli_tally;
mod cycle;
mod forecast;
mod layers;
mod multinomial;
mod plans;
mod posterior;
mod reference;
mod simulated;
mod tally;
mod tolerance;
mod verdict;
