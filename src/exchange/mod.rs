//! Files in and out: tables of calls, samples and results, with their limits.

pub mod calls;

pub mod results;

pub mod sample;
