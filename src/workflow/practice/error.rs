//! Why there is no practice round.

use crate::micrograph::encode::EncodeError;
use crate::progress::Stopped;
use crate::workflow::logbook::SessionError;
use crate::workflow::practice::MOST_SLIDES;
use std::io;
use std::path::PathBuf;
use thiserror::Error;

/// Why there is no practice round, and what to do.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PracticeError {
    /// The logbook could not be used.
    #[error(transparent)]
    Session(#[from] SessionError),
    /// Nobody is named.
    #[error("no reader is named; give the name of the person who practises")]
    NoReader,
    /// A count of slides that makes no round.
    #[error("{0} slides make no round; give 1 to {MOST_SLIDES}")]
    Slides(usize),
    /// No slide is settled.
    #[error(
        "no slide with a photo is settled yet for {reader} to practise on; settle second readings, label animals of known days, or practise on painted slides"
    )]
    TooFew {
        /// The reader.
        reader: String,
    },
    /// A painted slide cannot be coded.
    #[error("a painted slide cannot be encoded")]
    Encode(#[from] EncodeError),
    /// A painted slide cannot be written.
    #[error("cannot be written ({source}); choose a folder that you may write to: {}", file.display())]
    Write {
        /// What the system said.
        source: io::Error,
        /// The file.
        file: PathBuf,
    },
    /// It was stopped.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}
