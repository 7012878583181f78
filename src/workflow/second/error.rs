//! Why a second reading could not go on.

use crate::exchange::blind::BlindError;
use crate::micrograph::decode::DecodeError;
use crate::micrograph::encode::EncodeError;
use crate::progress::Stopped;
use crate::workflow::logbook::SessionError;
use std::path::PathBuf;
use thiserror::Error;

/// Why a second reading could not go on, and what to do.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SecondError {
    /// The logbook could not be used.
    #[error(transparent)]
    Session(#[from] SessionError),
    /// Nobody is named.
    #[error("no second reader is named; give the name of the person who is to read")]
    NoReader,
    /// No slide is left for this reader.
    #[error(
        "there is no slide for {reader} to read: {called_by_them} of the animals they called themselves, \
         {sent_before} they were given before, {without} have no photo or no call; call the sample \
         first, or name another reader"
    )]
    NoSlides {
        /// The second reader.
        reader: String,
        /// Animals which that reader called first.
        called_by_them: usize,
        /// Animals which that reader was given before.
        sent_before: usize,
        /// Animals without a photo or without a call.
        without: usize,
    },
    /// No round of that name.
    #[error(
        "there is no file and no round \"{0}\"; give the file of slides that came, or the beginning of the round's id as it was printed when it was drawn"
    )]
    NoRound(String),
    /// A number that the round does not have.
    #[error("the round has no slide {number}; its slides are 1 to {last}")]
    NoSlide {
        /// The number.
        number: u32,
        /// The last number there is.
        last: usize,
    },
    /// More slides than one file may hold.
    #[error("{0} slides are more than one file may hold; send the samples one by one")]
    TooManySlides(usize),
    /// A file of slides or an answer that cannot be used.
    #[error(transparent)]
    Blind(#[from] BlindError),
    /// It was stopped.
    #[error(transparent)]
    Stopped(#[from] Stopped),
    /// A photo that cannot be sent.
    #[error("the photo \"{name}\" cannot be sent: {source}")]
    Photo {
        /// Its name as it came.
        name: String,
        /// What is wrong with it.
        source: DecodeError,
    },
    /// A photo that cannot be coded anew.
    #[error("the photo \"{name}\" cannot be coded anew")]
    Encode {
        /// Its name as it came.
        name: String,
        /// What is wrong with it.
        source: EncodeError,
    },
    /// An answer to slides that this logbook did not send.
    #[error("it answers slides that were not sent from this logbook; open the logbook they were sent from: {}", file.display())]
    UnknownRound {
        /// The file.
        file: PathBuf,
    },
    /// An answer of somebody else.
    #[error("it is an answer of {found}, but the slides were sent to {wanted}; nothing was taken in: {}", file.display())]
    OtherReader {
        /// Who was to read.
        wanted: String,
        /// Who read.
        found: String,
        /// The file.
        file: PathBuf,
    },
    /// An answer to other slides that lies where the answer is to be written.
    #[error("there is an answer to other slides already; move it away: {}", file.display())]
    OtherAnswer {
        /// The file.
        file: PathBuf,
    },
    /// A settlement without a reason.
    #[error("say in a few words why this stage stands: the reason is kept with it")]
    NoReason,
}
