//! Tallying a table of calls.

use crate::cycle::Assumed;
use crate::cycle::arcs::StageArcs;
use crate::decision::misreading::consider;
use crate::decision::reader_error::KnownSlide;
use crate::exchange::calls::CallLine;
use crate::exchange::calls::CallsError;
use crate::exchange::calls::read_calls;
use crate::exchange::known::KnownError;
use crate::exchange::known::read_known;
use crate::forecast::DAWN_HOUR;
use crate::forecast::DUSK_HOUR;
use crate::moult::Stage;
use crate::tally::Animal;
use crate::tally::Settings;
use crate::tally::SettingsError;
use crate::tally::Tally;
use crate::tally::compare_stations;
use crate::tally::tally;
use crate::workflow::moments::Moment;
use crate::workflow::moments::PondClock;
use serde::Serialize;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

const FARMS_OWN: &str = "the farm's own";

/// Why there is no tally.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TallyingError {
    /// The table of calls cannot be used.
    #[error(transparent)]
    Calls(#[from] CallsError),
    /// The table of slides of known truth cannot be used.
    #[error(transparent)]
    Known(#[from] KnownError),
    /// The settings allow no answer.
    #[error(transparent)]
    Settings(#[from] SettingsError),
}

/// What a tally may take beside the calls.
#[derive(Debug, Clone, Default)]
pub struct TallyOptions {
    /// Arcs of the stages; absent for the published ones.
    pub arcs: Option<StageArcs>,
    /// CSV file of slides of known truth, for the reader's errors.
    pub reader_slides: Option<PathBuf>,
}

/// A tally with the time for which it speaks: the object that `tailfan tally --json` prints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TimedTally {
    /// The tally.
    #[serde(flatten)]
    pub tally: Tally,
    /// When it was netted; absent when nobody said.
    pub netted: Option<String>,
    /// When it expires; absent when nobody said when it was netted.
    pub expires: Option<String>,
    /// Says whether it has expired; absent when nobody said when it was netted.
    pub expired: Option<bool>,
}

/// Tallies the calls of a CSV file.
///
/// # Errors
/// [`TallyingError`] for a file that cannot be used or settings that allow no answer.
pub fn tally_calls_file(file: &Path, settings: Settings) -> Result<Tally, TallyingError> {
    tally_calls_with(file, settings, &TallyOptions::default())
}

/// As [`tally_calls_file`], with arcs and known errors of the reader.
///
/// # Errors
/// [`TallyingError`] for a file that cannot be used or settings that allow no answer.
pub fn tally_calls_with(
    file: &Path,
    settings: Settings,
    options: &TallyOptions,
) -> Result<Tally, TallyingError> {
    let settings = settings.checked()?;
    let calls = read_calls(file)?;
    let animals: Vec<Animal> = calls.iter().map(as_animal).collect();
    let arcs = options.arcs.clone().unwrap_or_default();
    let mut tally = tally(&animals, &settings, &arcs);
    let placed = |place: fn(&CallLine) -> Option<&str>| {
        let places: Vec<_> = calls.iter().map(|c| (place(c), c.stage)).collect();
        compare_stations(&places, &settings)
    };
    tally.stations = placed(|c| c.station.as_deref());
    tally.throws = placed(|c| c.throw.as_deref());
    if let Some(own) = &options.arcs {
        tally.assumed.extend(own_arcs(own));
    }
    if let Some(slides) = &options.reader_slides {
        let known: Vec<KnownSlide> = read_known(slides)?
            .into_iter()
            .map(|line| KnownSlide {
                truth: line.truth,
                call: line.call,
                weight: line.weight,
            })
            .collect();
        consider(&mut tally, &settings, &known);
    }
    Ok(tally)
}

/// Arcs that somebody gave, for the list of what went in.
pub(in crate::workflow) fn own_arcs(arcs: &StageArcs) -> Vec<Assumed> {
    let stages = Stage::ALL.into_iter().filter(|s| *s != Stage::E);
    let one = |stage: Stage| {
        let name = format!("share of the cycle in {stage}");
        Assumed::new(&name, arcs.share(stage), "", FARMS_OWN)
    };
    stages.map(one).collect()
}

/// Adds the time for which a tally speaks, seen at `now`.
pub fn timed(tally: Tally, netted: Option<(Moment, &PondClock)>, now: Moment) -> TimedTally {
    let expires = netted.and_then(|(netted, clock)| expiry(netted, clock));
    TimedTally {
        tally,
        netted: netted.map(|(netted, _)| netted.to_string()),
        expires: expires.map(|m| m.to_string()),
        expired: expires.map(|expires| now.days_since(expires) >= 0.0),
    }
}

/// When a tally expires: at the next dusk; one netted by night, at the dawn that ends it, since the
/// moults of that night may still come.
pub fn expiry(netted: Moment, clock: &PondClock) -> Option<Moment> {
    let hour = clock.see(netted).hour();
    let by_night = !(DAWN_HOUR..DUSK_HOUR).contains(&hour);
    clock.next_hour(netted, if by_night { DAWN_HOUR } else { DUSK_HOUR })
}

const fn as_animal(call: &CallLine) -> Animal {
    Animal {
        stage: call.stage,
        shell: call.shell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tally_lasts_until_dusk_and_one_of_the_night_until_dawn() {
        for (netted, expires) in [
            ("2026-11-26T06:00+07:00", "2026-11-26T18:00+07:00"),
            ("2026-11-26T17:59+07:00", "2026-11-26T18:00+07:00"),
            ("2026-11-26T18:00+07:00", "2026-11-27T06:00+07:00"),
            ("2026-11-26T02:30+07:00", "2026-11-26T06:00+07:00"),
        ] {
            let netted: Moment = netted.parse().unwrap();
            let found = expiry(netted, &PondClock::of_moment(netted)).unwrap();
            assert_eq!(found.to_string(), expires);
        }
    }
}
