//! The options that set a pond's own numbers, for the tally and the forecast.

use crate::cycle::arcs::ArcsError;
use crate::cycle::arcs::StageArcs;
use crate::workflow::moments::Moment;
use crate::workflow::moments::MomentError;
use crate::workflow::moments::PondClock;
use crate::workflow::moments::ZoneError;
use clap::Args;
use std::path::PathBuf;
use thiserror::Error;

/// A pond's own numbers, each optional.
#[derive(Debug, Args)]
pub(in crate::cli) struct OwnArgs {
    /// When it was netted, such as 2026-11-26T06:00+07:00, or 2026-11-26T06:00 with --zone
    #[arg(long, value_name = "MOMENT")]
    pub(in crate::cli) netted: Option<String>,
    /// Time zone of the pond, such as Asia/Ho_Chi_Minh
    #[arg(long, value_name = "ZONE", value_parser = zone)]
    pub(in crate::cli) zone: Option<PondClock>,
    /// How long A, B, C, D0, D1, D2, D3 and D4 last in this pond: eight numbers, in any unit
    #[arg(long, value_name = "A,B,C,D0,D1,D2,D3,D4", value_parser = arcs)]
    pub(in crate::cli) arcs: Option<StageArcs>,
    /// Soft as days since the moult, in place of the soft stages: a shell is rigid after so many
    #[arg(long, value_name = "DAYS", allow_negative_numbers = true)]
    pub(in crate::cli) rigid_after: Option<f64>,
    /// CSV file with the columns truth,call and optional weight: how this reader called slides of
    /// known truth. It may worsen an answer, never improve it
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) reader_slides: Option<PathBuf>,
}

impl OwnArgs {
    /// Reads a moment on the clock of the pond, where a zone was given.
    ///
    /// # Errors
    /// [`MomentError`] for a text that is no moment.
    pub(in crate::cli) fn moment(
        &self,
        text: Option<&String>,
    ) -> Result<Option<Moment>, MomentError> {
        let read = |text: &String| match &self.zone {
            Some(clock) => clock.read(text),
            None => text.parse(),
        };
        text.map(read).transpose()
    }
}

pub(in crate::cli) fn zone(text: &str) -> Result<PondClock, ZoneError> {
    PondClock::of_zone(text)
}

#[derive(Debug, Error)]
pub(in crate::cli) enum ArcsArgError {
    #[error(
        "\"{0}\" are not eight numbers: write how long A, B, C, D0, D1, D2, D3 and D4 last, separated by commas"
    )]
    NotEight(String),
    #[error(transparent)]
    Arcs(#[from] ArcsError),
}

/// Arcs from eight lengths.
pub(in crate::cli) fn arcs(text: &str) -> Result<StageArcs, ArcsArgError> {
    let wrong = || ArcsArgError::NotEight(text.to_owned());
    let lengths: Vec<f64> = text
        .split(',')
        .map(|part| part.trim().parse().ok())
        .collect::<Option<_>>()
        .ok_or_else(wrong)?;
    let lengths: [f64; 8] = lengths.try_into().ok().ok_or_else(wrong)?;
    Ok(StageArcs::from_lengths(lengths)?)
}
