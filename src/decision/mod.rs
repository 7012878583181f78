//! Decisions: the verdict over a drain, plans before netting, reader error, the value of waiting.

pub mod misreading;
pub mod plan;
pub mod reader_error;
pub mod sequential;
pub mod two_stage;
pub mod verdict;
pub mod waiting;
