//! Files in and out: tables of calls, with their limits.

pub mod calls;
