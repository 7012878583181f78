//! Background work: named jobs, pools of workers and clerks, all of which report and can be stopped.
//!
//! Whoever waits for results gives a [`Wake`], which is called after each of them; a window asks for
//! a new frame there, a test or a command may leave it empty. Nothing here knows windows.

use crate::progress::Progress;
use std::collections::BTreeMap;
use std::collections::VecDeque;
use std::io;
use std::panic::AssertUnwindSafe;
use std::panic::catch_unwind;
use std::sync::Arc;
use std::sync::Condvar;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::sync::mpsc;
use std::thread;
use thiserror::Error;

/// Called when there is something to collect.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// A wake that wakes nobody.
pub fn nobody() -> Wake {
    Arc::new(|| {})
}

/// A fault of the program in background work.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the program failed at \"{0}\", which is a fault of the program")]
pub struct Failed(pub String);

/// Where workers lay their results.
pub struct Outbox<R> {
    sender: mpsc::Sender<R>,
    wake: Wake,
}

impl<R> Clone for Outbox<R> {
    fn clone(&self) -> Self {
        Self {
            sender: self.sender.clone(),
            wake: Arc::clone(&self.wake),
        }
    }
}

impl<R> Outbox<R> {
    /// An outbox and the end where its results are collected.
    pub fn new(wake: Wake) -> (Self, mpsc::Receiver<R>) {
        let (sender, receiver) = mpsc::channel();
        (Self { sender, wake }, receiver)
    }

    /// Lays a result into the outbox; when nobody collects any more, it is not wanted.
    pub fn send(&self, result: R) {
        drop(self.sender.send(result));
        (self.wake)();
    }
}

/// Jobs that are known by their names; one of a name runs at a time.
pub struct Jobs<R> {
    outbox: Outbox<R>,
    results: mpsc::Receiver<R>,
    ends: mpsc::Receiver<End>,
    end: Outbox<End>,
    running: BTreeMap<&'static str, Progress>,
}

struct End {
    name: &'static str,
    failed: bool,
}

impl<R: Send + 'static> Jobs<R> {
    /// No job yet.
    pub fn new(wake: Wake) -> Self {
        let (outbox, results) = Outbox::new(Arc::clone(&wake));
        let (end, ends) = Outbox::new(wake);
        Self {
            outbox,
            results,
            ends,
            end,
            running: BTreeMap::new(),
        }
    }

    /// The outbox whose results [`Jobs::collect`] returns; pools and clerks may use it too.
    pub fn outbox(&self) -> Outbox<R> {
        self.outbox.clone()
    }

    /// Starts `work` in a thread of that name, unless one of the name runs; says whether it did.
    ///
    /// # Errors
    /// What the system said when it has no thread to give.
    pub fn start(
        &mut self,
        name: &'static str,
        work: impl FnOnce(&Progress, &Outbox<R>) + Send + 'static,
    ) -> io::Result<bool> {
        if self.running.contains_key(name) {
            return Ok(false);
        }
        let wake = Arc::clone(&self.outbox.wake);
        let progress = Progress::watched(move |_, _| wake());
        let (own, outbox, end) = (progress.clone(), self.outbox.clone(), self.end.clone());
        thread::Builder::new()
            .name(name.to_owned())
            .spawn(move || {
                let done = catch_unwind(AssertUnwindSafe(|| work(&own, &outbox)));
                end.send(End {
                    name,
                    failed: done.is_err(),
                });
            })?;
        self.running.insert(name, progress);
        Ok(true)
    }

    /// The results since the last time, and the jobs that failed.
    pub fn collect(&mut self) -> (Vec<R>, Vec<Failed>) {
        let ends: Vec<End> = self.ends.try_iter().collect();
        let mut failed = Vec::new();
        for end in ends {
            self.running.remove(end.name);
            if end.failed {
                failed.push(Failed(end.name.to_owned()));
            }
        }
        (self.results.try_iter().collect(), failed)
    }

    /// Asks a job to stop.
    pub fn stop(&self, name: &str) {
        if let Some(progress) = self.running.get(name) {
            progress.stop();
        }
    }

    /// Whether a job runs.
    pub fn runs(&self, name: &str) -> bool {
        self.running.contains_key(name)
    }

    /// Steps done and steps in all of each job that runs.
    pub fn running(&self) -> impl Iterator<Item = (&'static str, (usize, usize))> {
        self.running
            .iter()
            .map(|(name, progress)| (*name, progress.counts()))
    }
}

impl<R> Drop for Jobs<R> {
    fn drop(&mut self) {
        for progress in self.running.values() {
            progress.stop();
        }
    }
}

/// A task of a [`Pool`], known by a key.
pub trait Task: Send + 'static {
    /// What tells tasks apart.
    type Key: Clone + PartialEq + Send + 'static;
    /// The key of this one.
    fn key(&self) -> Self::Key;
}

/// Workers that take tasks from the front of one queue, which may be put into another order at any
/// time.
pub struct Pool<T: Task> {
    shared: Arc<Shared<T>>,
}

struct Shared<T: Task> {
    state: Mutex<State<T>>,
    more: Condvar,
}

struct State<T: Task> {
    queue: VecDeque<T>,
    in_hand: Vec<T::Key>,
    closed: bool,
}

impl<T: Task> Shared<T> {
    // A worker that panics does so outside of the lock, so what is locked is whole.
    fn lock(&self) -> MutexGuard<'_, State<T>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next task; `None` when the pool is closed.
    fn take(&self) -> Option<T> {
        let mut state = self.lock();
        loop {
            if state.closed {
                return None;
            }
            if let Some(task) = state.queue.pop_front() {
                state.in_hand.push(task.key());
                return Some(task);
            }
            state = self
                .more
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }

    fn lay_down(&self, key: &T::Key) {
        let mut state = self.lock();
        if let Some(at) = state.in_hand.iter().position(|own| own == key) {
            state.in_hand.swap_remove(at);
        }
    }
}

impl<T: Task> Pool<T> {
    /// Starts `workers` threads that hand each task to `work`. A task at which the program fails is
    /// handed to `failed` in its place.
    ///
    /// # Errors
    /// What the system said when it has no thread to give.
    pub fn start<R: Send + 'static>(
        name: &str,
        workers: usize,
        outbox: &Outbox<R>,
        work: impl Fn(&T) -> R + Send + Sync + 'static,
        failed: impl Fn(&T) -> R + Send + Sync + 'static,
    ) -> io::Result<Self> {
        let shared = Arc::new(Shared {
            state: Mutex::new(State {
                queue: VecDeque::new(),
                in_hand: Vec::new(),
                closed: false,
            }),
            more: Condvar::new(),
        });
        let (work, failed) = (Arc::new(work), Arc::new(failed));
        for number in 1..=workers.max(1) {
            let (shared, outbox) = (Arc::clone(&shared), outbox.clone());
            let (work, failed) = (Arc::clone(&work), Arc::clone(&failed));
            thread::Builder::new()
                .name(format!("{name}-{number}"))
                .spawn(move || {
                    while let Some(task) = shared.take() {
                        let done = catch_unwind(AssertUnwindSafe(|| work(&task)));
                        let result = done.unwrap_or_else(|_| failed(&task));
                        // Laid down when the result is there: the pool is never idle before.
                        outbox.send(result);
                        shared.lay_down(&task.key());
                    }
                })?;
        }
        Ok(Self { shared })
    }

    /// Replaces the tasks that wait by these, in this order; those that are in hand are left out.
    pub fn order(&self, tasks: impl IntoIterator<Item = T>) {
        let mut state = self.shared.lock();
        let in_hand = state.in_hand.clone();
        state.queue = tasks
            .into_iter()
            .filter(|task| !in_hand.contains(&task.key()))
            .collect();
        drop(state);
        self.shared.more.notify_all();
    }

    /// Tasks that wait and tasks in hand.
    pub fn load(&self) -> (usize, usize) {
        let state = self.shared.lock();
        (state.queue.len(), state.in_hand.len())
    }
}

impl<T: Task> Drop for Pool<T> {
    fn drop(&mut self) {
        self.shared.lock().closed = true;
        self.shared.more.notify_all();
    }
}

/// One thread that works off what it is given, in order.
pub struct Clerk<T> {
    inbox: mpsc::Sender<T>,
}

impl<T: Send + 'static> Clerk<T> {
    /// Starts the thread with a desk that is made in it.
    ///
    /// # Errors
    /// What the system said when it has no thread to give.
    pub fn start<R: Send + 'static>(
        name: &str,
        outbox: Outbox<R>,
        mut work: impl FnMut(T) -> R + Send + 'static,
        failed: impl Fn() -> R + Send + 'static,
    ) -> io::Result<Self> {
        let (inbox, letters) = mpsc::channel();
        thread::Builder::new()
            .name(name.to_owned())
            .spawn(move || {
                while let Ok(letter) = letters.recv() {
                    let done = catch_unwind(AssertUnwindSafe(|| work(letter)));
                    outbox.send(done.unwrap_or_else(|_| failed()));
                }
            })?;
        Ok(Self { inbox })
    }

    /// Gives the clerk something to do; says whether it still works.
    pub fn give(&self, letter: T) -> bool {
        self.inbox.send(letter).is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;
    use std::time::Instant;

    fn wait<R>(receiver: &mpsc::Receiver<R>) -> R {
        receiver.recv_timeout(Duration::from_secs(20)).unwrap()
    }

    #[test]
    fn a_name_is_not_started_twice_and_a_job_stops_when_asked() {
        let mut jobs: Jobs<u32> = Jobs::new(nobody());
        let work = |progress: &Progress, outbox: &Outbox<u32>| {
            outbox.send(1);
            while progress.check().is_ok() {
                thread::sleep(Duration::from_millis(1));
            }
            outbox.send(2);
        };
        assert!(jobs.start("job", work).unwrap());
        assert!(!jobs.start("job", work).unwrap());
        jobs.stop("job");
        let mut got = Vec::new();
        let begun = Instant::now();
        while jobs.runs("job") && begun.elapsed() < Duration::from_secs(20) {
            got.extend(jobs.collect().0);
        }
        got.extend(jobs.collect().0);
        assert_eq!(got, [1, 2]);
        assert!(jobs.start("job", |_, _| {}).unwrap());
    }

    #[test]
    fn a_job_that_fails_is_named() {
        let mut jobs: Jobs<u32> = Jobs::new(nobody());
        jobs.start("job", |_, _| assert!(jobs_fail(), "made to fail"))
            .unwrap();
        let begun = Instant::now();
        let mut failed = Vec::new();
        while failed.is_empty() && begun.elapsed() < Duration::from_secs(20) {
            failed = jobs.collect().1;
        }
        assert_eq!(failed, [Failed("job".to_owned())]);
    }

    const fn jobs_fail() -> bool {
        false
    }

    impl Task for u32 {
        type Key = Self;
        fn key(&self) -> Self {
            *self
        }
    }

    #[test]
    fn a_pool_works_in_the_order_last_given_and_survives_a_failure() {
        let (outbox, results) = Outbox::new(nobody());
        let (gate, opened) = mpsc::channel::<()>();
        let opened = Mutex::new(opened);
        let work = move |task: &u32| {
            if *task == 0 {
                opened.lock().unwrap().recv().unwrap();
            }
            assert!(*task != 7, "made to fail");
            *task * 10
        };
        let pool = Pool::start("pool", 1, &outbox, work, |task| *task).unwrap();
        pool.order([0]);
        while pool.load() != (0, 1) {
            thread::sleep(Duration::from_millis(1));
        }
        pool.order([1, 2, 3]);
        pool.order([0, 3, 7, 1]);
        assert_eq!(pool.load(), (3, 1));
        gate.send(()).unwrap();
        let got: Vec<u32> = (0..4).map(|_| wait(&results)).collect();
        assert_eq!(got, [0, 30, 7, 10]);
    }

    #[test]
    fn a_clerk_works_in_order_and_goes_on_after_a_failure() {
        let (outbox, results) = Outbox::new(nobody());
        let mut sum = 0;
        let work = move |number: u32| {
            assert!(number != 3, "made to fail");
            sum += number;
            Some(sum)
        };
        let clerk = Clerk::start("clerk", outbox, work, || None).unwrap();
        for number in 1..=4 {
            assert!(clerk.give(number));
        }
        let got: Vec<_> = (0..4).map(|_| wait(&results)).collect();
        assert_eq!(got, [Some(1), Some(3), None, Some(7)]);
    }
}
