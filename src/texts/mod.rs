//! Words for every code: all text that a person sees.

pub mod forecast;
pub mod plan;
pub mod tally;
