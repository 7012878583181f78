//! How long frames work on the window's thread.

use std::time::Duration;
use std::time::Instant;

/// A counter of the work in each frame.
#[derive(Debug, Clone, Default)]
pub struct Work {
    begun: Option<Instant>,
    spent: Duration,
    frames: u64,
    longest: Duration,
    over: u64,
}

/// A frame may work this long and still be on time at sixty a second.
pub const ON_TIME: Duration = Duration::from_millis(16);

impl Work {
    /// A part of a frame begins.
    pub fn begin(&mut self) {
        self.begun = Some(Instant::now());
    }

    /// The part ends; with `last` the frame does.
    pub fn end(&mut self, last: bool) {
        if let Some(begun) = self.begun.take() {
            self.spent += begun.elapsed();
        }
        if last {
            self.frames += 1;
            self.longest = self.longest.max(self.spent);
            self.over += u64::from(self.spent > ON_TIME);
            self.spent = Duration::ZERO;
        }
    }

    /// Begins counting anew.
    pub fn reset(&mut self) {
        *self = Self::default();
    }

    /// Frames since the last reset.
    pub const fn frames(&self) -> u64 {
        self.frames
    }

    /// The longest work in one frame since the last reset.
    pub const fn longest(&self) -> Duration {
        self.longest
    }

    /// Frames that worked longer than [`ON_TIME`].
    pub const fn over(&self) -> u64 {
        self.over
    }
}
