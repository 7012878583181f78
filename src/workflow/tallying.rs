//! Tallying a table of calls.

use crate::cycle::arcs::StageArcs;
use crate::exchange::calls::CallLine;
use crate::exchange::calls::CallsError;
use crate::exchange::calls::read_calls;
use crate::tally::Animal;
use crate::tally::Settings;
use crate::tally::SettingsError;
use crate::tally::Tally;
use crate::tally::compare_stations;
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
    let calls = read_calls(file)?;
    let animals: Vec<Animal> = calls.iter().map(as_animal).collect();
    let mut tally = tally(&animals, &settings, &StageArcs::published());
    let stations: Vec<_> = calls
        .iter()
        .map(|c| (c.station.as_deref(), c.stage))
        .collect();
    tally.stations = compare_stations(&stations, &settings);
    Ok(tally)
}

const fn as_animal(call: &CallLine) -> Animal {
    Animal {
        stage: call.stage,
        shell: call.shell,
    }
}
