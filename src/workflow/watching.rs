//! A folder into which a microscope's camera saves: photos are named as soon as they are whole.
//!
//! The system's events only hasten a look; what counts is what lies in the folder, so that shares
//! and phones that give no events work too, a second later.

use crate::micrograph::decode;
use crate::micrograph::decode::Limits;
use crate::progress::Progress;
use crate::workflow::collect::photos_in;
use notify::RecursiveMode;
use notify::Watcher as _;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::mpsc;
use std::time::Duration;
use std::time::Instant;

/// How long the size of a file must have stood still.
///
/// # Source
/// Our choice: cameras write a photo in one go, within some ten milliseconds of pauses.
pub const STILL: Duration = Duration::from_millis(300);
/// How often the folder is looked through when no event comes.
pub const POLL: Duration = Duration::from_secs(1);
/// How often files that are still being written are looked at.
const SOON: Duration = Duration::from_millis(60);
/// A file that stood still for so long and still does not decode is damaged, not unfinished.
const GIVEN_UP: Duration = Duration::from_secs(5);

/// What is told of a watched folder.
#[derive(Debug)]
pub enum Sighting {
    /// A photo is there and decodes, or stood still for so long that it will not get better.
    Photo(PathBuf),
    /// The folder cannot be looked into; it is tried again.
    Gone(io::Error),
    /// The folder can be looked into again.
    Back,
}

/// A file that is watched until it stands still.
#[derive(Debug, Clone, Copy)]
struct Seen {
    bytes: u64,
    since: Instant,
    tried: bool,
}

/// What is known of a folder.
#[derive(Debug, Default)]
struct Watch {
    told: BTreeSet<PathBuf>,
    growing: BTreeMap<PathBuf, Seen>,
}

impl Watch {
    /// Looks at every photo of the folder once, at the moment `now`, and returns the ones that
    /// became ready.
    fn look(&mut self, folder: &Path, now: Instant) -> io::Result<Vec<PathBuf>> {
        let mut ready = Vec::new();
        let mut there = BTreeSet::new();
        for path in photos_in(folder)? {
            there.insert(path.clone());
            if self.told.contains(&path) {
                continue;
            }
            let Ok(bytes) = fs::metadata(&path).map(|file| file.len()) else {
                continue;
            };
            let seen = self.growing.entry(path.clone()).or_insert(Seen {
                bytes,
                since: now,
                tried: false,
            });
            if seen.bytes != bytes {
                *seen = Seen {
                    bytes,
                    since: now,
                    tried: false,
                };
            }
            let still = now.duration_since(seen.since);
            let whole = still >= STILL && !seen.tried && bytes > 0 && {
                seen.tried = true;
                decode::decode_file(&path, &Limits::default()).is_ok()
            };
            if whole || still >= GIVEN_UP {
                ready.push(path);
            }
        }
        self.growing
            .retain(|path, _| there.contains(path) && !ready.contains(path));
        self.told.retain(|path| there.contains(path));
        self.told.extend(ready.iter().cloned());
        Ok(ready)
    }
}

/// The photos that lie in a folder whole: their size stands still while this waits.
///
/// # Errors
/// What the system said when it cannot be looked into.
pub fn whole_photos(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let size = |path: &PathBuf| fs::metadata(path).map(|file| file.len()).ok();
    let before: Vec<(PathBuf, Option<u64>)> = photos_in(folder)?
        .into_iter()
        .map(|path| {
            let bytes = size(&path);
            (path, bytes)
        })
        .collect();
    std::thread::sleep(STILL);
    let stands = |(path, bytes): &(PathBuf, Option<u64>)| {
        bytes.is_some_and(|bytes| bytes > 0) && *bytes == size(path)
    };
    let whole = before.into_iter().filter(stands);
    Ok(whole.map(|(path, _)| path).collect())
}

/// Watches `folder` until it is asked to stop, and tells of every photo that comes after those in
/// `known`.
pub fn watch(
    folder: &Path,
    known: BTreeSet<PathBuf>,
    progress: &Progress,
    mut tell: impl FnMut(Sighting),
) {
    let (nudge, nudges) = mpsc::channel();
    // Without events the folder is still looked through every second.
    let events = notify::recommended_watcher(move |_| {
        // Nobody waits any more when the watch has ended.
        nudge.send(()).ok();
    });
    let mut events = events.ok();
    let mut heard = events
        .as_mut()
        .is_some_and(|w| w.watch(folder, RecursiveMode::NonRecursive).is_ok());
    let mut watch = Watch {
        told: known,
        growing: BTreeMap::new(),
    };
    let mut gone = false;
    while progress.check().is_ok() {
        match watch.look(folder, Instant::now()) {
            Ok(ready) => {
                if gone {
                    gone = false;
                    heard = events
                        .as_mut()
                        .is_some_and(|w| w.watch(folder, RecursiveMode::NonRecursive).is_ok());
                    tell(Sighting::Back);
                }
                ready.into_iter().map(Sighting::Photo).for_each(&mut tell);
            }
            Err(error) if !gone => {
                gone = true;
                tell(Sighting::Gone(error));
            }
            Err(_) => {}
        }
        let pause = if watch.growing.values().any(|seen| !seen.tried) {
            SOON
        } else {
            POLL
        };
        rest(&nudges, pause, heard, progress);
    }
}

/// Waits for a nudge or the end of the pause, in parts, so that a stop is heard.
fn rest(nudges: &mpsc::Receiver<()>, pause: Duration, heard: bool, progress: &Progress) {
    let until = Instant::now() + pause;
    while progress.check().is_ok() {
        let left = until.saturating_duration_since(Instant::now()).min(SOON);
        if left.is_zero() {
            return;
        }
        if heard {
            if nudges.recv_timeout(left).is_ok() {
                while nudges.try_recv().is_ok() {}
                return;
            }
        } else {
            std::thread::sleep(left);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn photo() -> Vec<u8> {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/kinds/rgb8.png");
        fs::read(file).unwrap()
    }

    #[test]
    fn a_photo_is_ready_when_its_size_stood_still_and_it_decodes() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("tip.png");
        let bytes = photo();
        let mut watch = Watch::default();
        let begun = Instant::now();
        let at = |ms| begun + Duration::from_millis(ms);
        fs::write(&file, &bytes[..bytes.len() / 2]).unwrap();
        let ready = |watch: &mut Watch, ms| watch.look(folder.path(), at(ms)).unwrap();
        assert!(ready(&mut watch, 0).is_empty());
        // half a photo stands still for long enough, but does not decode
        assert!(ready(&mut watch, 400).is_empty());
        fs::write(&file, &bytes).unwrap();
        assert!(ready(&mut watch, 500).is_empty());
        assert!(ready(&mut watch, 750).is_empty());
        assert_eq!(ready(&mut watch, 801), std::slice::from_ref(&file));
        assert!(ready(&mut watch, 2000).is_empty());
    }

    #[test]
    fn a_damaged_photo_is_told_in_the_end_and_a_lost_one_is_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("tip.png");
        fs::write(&file, b"no photo").unwrap();
        let mut watch = Watch::default();
        let begun = Instant::now();
        assert!(watch.look(folder.path(), begun).unwrap().is_empty());
        let late = begun + GIVEN_UP;
        let ready = watch.look(folder.path(), late).unwrap();
        assert_eq!(ready, std::slice::from_ref(&file));
        fs::remove_file(&file).unwrap();
        assert!(watch.look(folder.path(), late).unwrap().is_empty());
        assert!(watch.told.is_empty());
    }

    #[test]
    fn a_photo_saved_by_a_camera_is_told_within_a_second() {
        let folder = tempfile::tempdir().unwrap();
        let old = folder.path().join("old.png");
        fs::write(&old, photo()).unwrap();
        let progress = Progress::silent();
        let (sender, told) = mpsc::channel();
        let (path, own) = (folder.path().to_owned(), progress.clone());
        let known = BTreeSet::from([old]);
        let watcher = std::thread::Builder::new()
            .spawn(move || watch(&path, known, &own, |sighting| drop(sender.send(sighting))))
            .unwrap();
        std::thread::sleep(Duration::from_millis(200));
        let new = folder.path().join("new.png");
        let saved = Instant::now();
        fs::write(&new, photo()).unwrap();
        match told.recv_timeout(Duration::from_secs(10)).unwrap() {
            Sighting::Photo(path) => assert_eq!(path, new),
            other => panic!("{other:?}"),
        }
        // A second as promised; twice that on a machine that is busy with other tests.
        assert!(
            saved.elapsed() < Duration::from_secs(2),
            "{:?}",
            saved.elapsed()
        );
        assert!(saved.elapsed() >= STILL);
        progress.stop();
        watcher.join().unwrap();
    }
}
