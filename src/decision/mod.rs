//! Decisions: the verdict over a drain, plans before netting, reader error, the value of waiting.

pub mod verdict;
