//! Tallying a table of calls.

use crate::cycle::arcs::StageArcs;
use crate::exchange::calls::CallLine;
use crate::exchange::calls::CallsError;
use crate::exchange::calls::read_calls;
use crate::tally::Animal;
use crate::tally::Settings;
use crate::tally::SettingsError;
use crate::tally::Tally;
use crate::tally::tally;
use std::path::Path;
use thiserror::Error;

/// Why there is no tally.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TallyingError {
    /// The table of calls cannot be used.
    #[error(transparent)]
    Calls(#[from] CallsError),
    /// The settings allow no answer.
    #[error(transparent)]
    Settings(#[from] SettingsError),
}

/// Tallies the calls of a CSV file.
///
/// # Errors
/// [`TallyingError`] for a file that cannot be used or settings that allow no answer.
pub fn tally_calls_file(file: &Path, settings: Settings) -> Result<Tally, TallyingError> {
    let settings = settings.checked()?;
    let animals: Vec<Animal> = read_calls(file)?.iter().map(as_animal).collect();
    Ok(tally(&animals, &settings, &StageArcs::published()))
}

const fn as_animal(call: &CallLine) -> Animal {
    Animal {
        stage: call.stage,
        shell: call.shell,
    }
}
