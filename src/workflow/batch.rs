//! Many photos at once, their readings in the order of the files.

use crate::measure::Refusal;
use crate::records::Reading;
use crate::records::SpokenRefusal;
use crate::workflow::collect::FoundPhoto;
use crate::workflow::overlays::DrawnFiles;
use crate::workflow::overlays::OverlayError;
use crate::workflow::overlays::OverlayFolder;
use crate::workflow::reading::PhotoReading;
use crate::workflow::reading::ReadOptions;
use crate::workflow::reading::read_photo;
use std::collections::BTreeMap;
use std::panic::AssertUnwindSafe;
use std::panic::catch_unwind;
use std::sync::mpsc;
use thiserror::Error;

/// A fault of the program while it read one photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("the program failed on this photo, which is a fault of the program")]
pub struct Panicked;

impl Panicked {
    /// What stands in the place of the reading: the photo must not be dropped without a word.
    pub fn in_place_of(self, photo: &FoundPhoto) -> PhotoReading {
        let refusal = SpokenRefusal {
            reason: Refusal::CannotDecode,
            say: self.to_string(),
        };
        PhotoReading {
            reading: Reading::refused(photo.given.clone(), vec![refusal]),
            scale_warnings: Vec::new(),
            tip_and_measurements: None,
        }
    }
}

/// Most photos decoded at the same time: each may take some hundred megabytes.
const MOST_AT_ONCE: usize = 6;

/// How many photos may be done and waiting for an earlier one, for each that is worked on.
const WAITING_PER_WORKER: usize = 4;

/// Reads the photos on all processors and hands each reading to `take` on the calling thread, in
/// the order of the photos, as soon as it and all before it are ready.
///
/// A panic while reading one photo is caught and handed over in its place.
///
/// # Errors
/// The first error of `take`; photos not yet begun are then left.
pub fn read_in_order<E>(
    photos: &[FoundPhoto],
    options: &ReadOptions,
    take: impl FnMut(&FoundPhoto, Result<PhotoReading, Panicked>) -> Result<(), E>,
) -> Result<(), E> {
    in_order(
        photos,
        |photo| read_photo(&photo.path, &photo.given, options),
        take,
    )
}

/// Reads the photos as [`read_in_order`] does and draws each reading into `folder`.
///
/// # Errors
/// The first error of `take`, which also gets what went wrong with an overlay; photos not yet begun
/// are then left.
pub fn read_and_draw<E>(
    photos: &[FoundPhoto],
    options: &ReadOptions,
    folder: &OverlayFolder,
    mut take: impl FnMut(&FoundPhoto, Result<DrawnReading, Panicked>) -> Result<(), E>,
) -> Result<(), E> {
    let named: Vec<(&FoundPhoto, &str)> = photos.iter().zip(folder.names()).collect();
    in_order(
        &named,
        |(photo, name)| {
            let read = read_photo(&photo.path, &photo.given, options);
            let overlay = folder.draw(name, &photo.path, &read.reading);
            (read, overlay)
        },
        |(photo, _), done| take(photo, done),
    )
}

/// A reading, and the files it was drawn into or why it was not.
pub type DrawnReading = (PhotoReading, Result<DrawnFiles, OverlayError>);

/// Works on the items on all processors and takes the results in order; see [`read_in_order`].
pub(in crate::workflow) fn in_order<T: Sync, R: Send, E>(
    items: &[T],
    work: impl Fn(&T) -> R + Sync,
    mut take: impl FnMut(&T, Result<R, Panicked>) -> Result<(), E>,
) -> Result<(), E> {
    let workers = rayon::current_num_threads().clamp(1, MOST_AT_ONCE);
    let work = &work;
    let (sender, receiver) = mpsc::channel();
    rayon::in_place_scope(|scope| {
        let mut begun = 0;
        let mut taken = 0;
        let mut waiting: BTreeMap<usize, Result<R, Panicked>> = BTreeMap::new();
        while taken < items.len() {
            while begun < items.len()
                && begun - taken - waiting.len() < workers
                && begun - taken < workers * WAITING_PER_WORKER
            {
                let (index, sender) = (begun, sender.clone());
                scope.spawn(move |_| {
                    let done = catch_unwind(AssertUnwindSafe(|| work(&items[index])));
                    // Nobody listens any more when `take` has failed: then the result is not wanted.
                    drop(sender.send((index, done.or(Err(Panicked)))));
                });
                begun += 1;
            }
            let Ok((index, result)) = receiver.recv() else {
                break;
            };
            waiting.insert(index, result);
            while let Some(result) = waiting.remove(&taken) {
                take(&items[taken], result)?;
                taken += 1;
            }
        }
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicUsize;
    use std::sync::atomic::Ordering;
    use std::time::Duration;

    #[test]
    fn results_come_in_order_and_a_panic_takes_its_own_place_only() {
        let items: Vec<u64> = (0..60).collect();
        let running = AtomicUsize::new(0);
        let most = AtomicUsize::new(0);
        let work = |item: &u64| {
            most.fetch_max(running.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
            std::thread::sleep(Duration::from_millis((item * 7) % 5));
            running.fetch_sub(1, Ordering::SeqCst);
            assert!(*item != 13, "made to fail");
            item * 2
        };
        let mut seen = Vec::new();
        let done: Result<(), ()> = in_order(&items, work, |item, result| {
            seen.push((*item, result));
            Ok(())
        });
        assert_eq!(done, Ok(()));
        assert_eq!(seen.len(), 60);
        for (at, (item, result)) in seen.into_iter().enumerate() {
            assert_eq!(item, at as u64);
            let wanted = if item == 13 {
                Err(Panicked)
            } else {
                Ok(item * 2)
            };
            assert_eq!(result, wanted);
        }
        assert!(most.load(Ordering::SeqCst) <= MOST_AT_ONCE);
    }

    #[test]
    fn an_error_of_the_taker_ends_the_work() {
        let items: Vec<u64> = (0..1000).collect();
        let worked = AtomicUsize::new(0);
        let work = |_: &u64| worked.fetch_add(1, Ordering::SeqCst);
        let mut left = 3;
        let done = in_order(&items, work, |_, _| {
            left -= 1;
            if left == 0 { Err("full") } else { Ok(()) }
        });
        assert_eq!(done, Err("full"));
        assert!(worked.load(Ordering::SeqCst) < 100);
    }
}
