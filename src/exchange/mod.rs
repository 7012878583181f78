//! Files in and out: tables of calls and labels, truth of folders, with their limits.

pub mod calls;

pub mod labels;

pub mod truth;
