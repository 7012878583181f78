//! The integration tests, one binary: each file is a module declared here.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on should stop with the line it stopped at"
)]

mod bad;
mod cli;
mod colour;
mod decode;
mod layers;
mod ruling;
mod scale;
