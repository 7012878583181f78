//! Files in and out: tables of calls, labels, samples and results, with their limits; truth of
//! folders.

pub mod blind;

pub mod calls;

pub mod known;

pub mod labels;

pub mod packed;

pub mod results;

pub mod sample;

pub mod series;

pub mod shares;

pub mod sheet;

pub mod tables;

pub mod truth;
