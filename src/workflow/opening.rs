//! With what the window opens.

use std::path::PathBuf;

/// What was asked for when the window was opened.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Opening {
    /// The logbook; absent for the one used last.
    pub logbook: Option<PathBuf>,
    /// Photos and folders to take into the sample.
    pub photos: Vec<PathBuf>,
    /// Whether to show the made-up farm.
    pub made_up: bool,
}
