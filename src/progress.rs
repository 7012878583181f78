//! How long work reports how far it is and learns that it should stop.
//!
//! A worker calls [`Progress::step`] at each step and passes the error on with `?`; whoever
//! started it may watch or stop it from another thread. Nothing here knows terminals or windows.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;
use thiserror::Error;

/// The work was asked to stop before it was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("stopped on request")]
pub struct Stopped;

/// Called after each step with steps done and steps in all.
type Watcher = Box<dyn Fn(usize, usize) + Send + Sync>;

/// A counter shared between a worker and its watchers.
#[derive(Clone)]
pub struct Progress {
    shared: Arc<Shared>,
}

struct Shared {
    done: AtomicUsize,
    total: AtomicUsize,
    stop: AtomicBool,
    watcher: Option<Watcher>,
}

impl Progress {
    /// Progress that nobody watches.
    pub fn silent() -> Self {
        Self::with(None)
    }

    /// Progress that calls `watcher` with (steps done, steps in all) after each step.
    pub fn watched(watcher: impl Fn(usize, usize) + Send + Sync + 'static) -> Self {
        Self::with(Some(Box::new(watcher)))
    }

    fn with(watcher: Option<Watcher>) -> Self {
        Self {
            shared: Arc::new(Shared {
                done: AtomicUsize::new(0),
                total: AtomicUsize::new(0),
                stop: AtomicBool::new(false),
                watcher,
            }),
        }
    }

    /// Starts counting anew towards `total` steps.
    pub fn begin(&self, total: usize) {
        self.shared.done.store(0, Ordering::Relaxed);
        self.shared.total.store(total, Ordering::Relaxed);
        self.wake();
    }

    /// Counts one finished step.
    ///
    /// # Errors
    /// [`Stopped`] when somebody asked for it.
    pub fn step(&self) -> Result<(), Stopped> {
        self.shared.done.fetch_add(1, Ordering::Relaxed);
        self.wake();
        self.check()
    }

    /// Says whether the work should go on.
    ///
    /// # Errors
    /// [`Stopped`] when somebody asked for it.
    pub fn check(&self) -> Result<(), Stopped> {
        if self.shared.stop.load(Ordering::Relaxed) {
            Err(Stopped)
        } else {
            Ok(())
        }
    }

    /// Asks the work to stop at its next step.
    pub fn stop(&self) {
        self.shared.stop.store(true, Ordering::Relaxed);
    }

    /// Steps done and steps in all.
    pub fn counts(&self) -> (usize, usize) {
        (
            self.shared.done.load(Ordering::Relaxed),
            self.shared.total.load(Ordering::Relaxed),
        )
    }

    fn wake(&self) {
        if let Some(watcher) = &self.shared.watcher {
            let (done, total) = self.counts();
            watcher(done, total);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stopped_worker_learns_it_at_its_next_step() {
        let progress = Progress::silent();
        progress.begin(3);
        assert_eq!(progress.step(), Ok(()));
        progress.clone().stop();
        assert_eq!(progress.step(), Err(Stopped));
        assert_eq!(progress.counts(), (2, 3));
    }
}
