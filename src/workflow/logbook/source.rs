//! The clock and the ids of this machine.

use crate::logbook::Source;
use crate::records::ids::RowId;
use crate::records::stamp::Stamp;
use uuid::Uuid;

/// The clock of this machine, and ids that sort by the time they were made.
#[derive(Debug)]
pub(in crate::workflow) struct SystemSource;

impl SystemSource {
    pub(in crate::workflow) const fn new() -> Self {
        Self
    }
}

impl Source for SystemSource {
    fn id(&mut self) -> RowId {
        // Within one program later ids are greater even in the same millisecond.
        RowId::new(Uuid::now_v7())
    }

    fn now(&mut self) -> Stamp {
        now()
    }
}

/// A key that nobody can guess: 64 hexadecimal digits from ids of which each holds 74 random bits.
pub(in crate::workflow) fn fresh_key() -> String {
    let mut hasher = blake3::Hasher::new();
    for _ in 0..4 {
        hasher.update(Uuid::now_v7().as_bytes());
    }
    hasher.finalize().to_hex().to_string()
}

/// The present moment on the clock of this machine.
pub(in crate::workflow) fn now() -> Stamp {
    let now = jiff::ZonedDateTime::now();
    let minutes = i64::from(now.offset().seconds()) / 60;
    // A clock outside the calendar counts as 1970.
    Stamp::new(now.timestamp().as_millisecond(), minutes).unwrap_or(Stamp::EPOCH)
}
