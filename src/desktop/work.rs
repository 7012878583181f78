//! How long frames work on the window's thread.

use std::fs;
use std::time::Duration;
use std::time::Instant;

/// A counter of the work in each frame.
///
/// Where the system tells, it is the time in which the thread was on a processor: on a machine that
/// is busy with other things a clock on the wall would count their work too.
#[derive(Debug, Clone, Default)]
pub struct Work {
    begun: Option<(Instant, Option<Duration>)>,
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
        self.begun = Some((Instant::now(), on_processor()));
    }

    /// The part ends; with `last` the frame does.
    pub fn end(&mut self, last: bool) {
        if let Some((begun, before)) = self.begun.take() {
            let own = before.zip(on_processor());
            let spent = own.map(|(before, after)| after.saturating_sub(before));
            self.spent += spent.unwrap_or_else(|| begun.elapsed());
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

/// How long this thread was on a processor so far; Linux tells, in nanoseconds.
fn on_processor() -> Option<Duration> {
    let text = fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds = text.split_whitespace().next()?.parse().ok()?;
    Some(Duration::from_nanos(nanoseconds))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_of_a_frame_are_added_and_the_longest_is_kept() {
        let mut work = Work::default();
        let busy = |ms| {
            let begun = Instant::now();
            while begun.elapsed() < Duration::from_millis(ms) {
                std::hint::black_box(0);
            }
        };
        for (first, second) in [(1, 1), (20, 20), (1, 1)] {
            work.begin();
            busy(first);
            work.end(false);
            work.begin();
            busy(second);
            work.end(true);
        }
        assert_eq!(work.frames(), 3);
        assert!(work.longest() > Duration::from_millis(5));
        work.reset();
        assert_eq!((work.frames(), work.longest()), (0, Duration::ZERO));
    }
}
