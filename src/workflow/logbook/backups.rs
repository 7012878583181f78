//! Backups beside the logbook: made while it is in use, kept by age, and looking through the file.

use crate::logbook::LogbookError;
use crate::logbook::View;
use crate::logbook::check::CheckReport;
use crate::records::ids::RowId;
use crate::records::pictures::Photo;
use crate::records::stamp::Stamp;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::beside;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::path::PathBuf;

/// Milliseconds of an hour, a day, a week.
const HOUR: i64 = 3_600_000;
const DAY: i64 = 24 * HOUR;
const WEEK: i64 = 7 * DAY;

/// A backup beside a logbook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptBackup {
    /// The file.
    pub file: PathBuf,
    /// When it was made, in milliseconds of universal time.
    pub utc_ms: i64,
    /// Why: `kept` for the regular ones, else what it was made before.
    pub reason: String,
}

/// A photo whose file is not as it came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoFault {
    /// The photo's row.
    pub photo: RowId,
    /// What is wrong, with the path.
    pub what: String,
}

/// What was found by looking through a logbook and its photos.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FullCheck {
    /// The file.
    pub file: CheckReport,
    /// Photos that are not as they came.
    pub photos: Vec<PhotoFault>,
}

impl Session {
    /// Makes a backup beside the logbook; `reason` is `kept` or what it is made before, in one
    /// word. Gives the file.
    ///
    /// # Errors
    /// [`SessionError`] when the folder or the copy cannot be written.
    pub fn back_up(&self, reason: &str) -> Result<PathBuf, SessionError> {
        let file = backup_place(self.file(), Self::now(), reason)?;
        self.book
            .back_up_to(&file)
            .map_err(|e| SessionError::of(&file, e))?;
        Ok(file)
    }

    /// Makes a backup when something was written since the last one and that is an hour old or
    /// more, then lets go of those that age has made superfluous. Gives the new one.
    ///
    /// # Errors
    /// As [`Session::back_up`].
    pub fn back_up_if_due(&self) -> Result<Option<PathBuf>, SessionError> {
        let newest = self.journal(1)?.pop();
        let Some(written) = newest.map(|line| line.head.written_at) else {
            return Ok(None);
        };
        let now = Self::now();
        let last = backups_of(self.file()).last().map(|kept| kept.utc_ms);
        let due = last.is_none_or(|last| written.utc_ms() > last && now.utc_ms() - last >= HOUR);
        if !due {
            return Ok(None);
        }
        let made = self.back_up(KEPT)?;
        thin(self.file(), now.utc_ms());
        Ok(Some(made))
    }

    /// The backups beside the logbook, the oldest first.
    pub fn backups(&self) -> Vec<KeptBackup> {
        backups_of(self.file())
    }

    /// Looks through the whole file and every photo.
    ///
    /// # Errors
    /// [`SessionError`] when the file cannot be looked through at all.
    pub fn check(&self) -> Result<FullCheck, SessionError> {
        let file = self.book.check().map_err(|error| self.told(error))?;
        let mut photos = Vec::new();
        let kept = self.see(View::all::<Photo>);
        for photo in kept.unwrap_or_default() {
            if let Err(error) = self.photo_bytes(&photo.body) {
                photos.push(PhotoFault {
                    photo: photo.head.of,
                    what: error.to_string(),
                });
            }
        }
        Ok(FullCheck { file, photos })
    }
}

/// The reason of a regular backup.
const KEPT: &str = "kept";

/// The backups beside a logbook, which need not be readable any more; the oldest first.
pub fn backups_of(logbook: &Path) -> Vec<KeptBackup> {
    let folder = beside(logbook, "backups");
    let mut found: Vec<KeptBackup> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .filter_map(|entry| as_backup(&entry.ok()?.path()))
        .collect();
    found.sort_by(|a, b| (a.utc_ms, &a.file).cmp(&(b.utc_ms, &b.file)));
    found
}

/// Reads a backup's name: moment, then reason.
fn as_backup(file: &Path) -> Option<KeptBackup> {
    if file.extension()? != "logbook" {
        return None;
    }
    let name = file.file_stem()?.to_str()?;
    let (moment, reason) = name.split_once('_')?;
    let [date, time] = <[&str; 2]>::try_from(moment.split('T').collect::<Vec<_>>()).ok()?;
    let time = time.strip_suffix('Z')?;
    let parts: Vec<&str> = time.split('-').collect();
    let [hours, minutes, seconds, millis] = <[&str; 4]>::try_from(parts).ok()?;
    let text = format!("{date}T{hours}:{minutes}:{seconds}.{millis}Z");
    let stamp: Stamp = text.parse().ok()?;
    Some(KeptBackup {
        file: file.to_owned(),
        utc_ms: stamp.utc_ms(),
        reason: reason.to_owned(),
    })
}

/// Where a backup of this moment goes; its folder is made.
pub(in crate::workflow) fn backup_place(
    logbook: &Path,
    now: Stamp,
    reason: &str,
) -> Result<PathBuf, SessionError> {
    let folder = beside(logbook, "backups");
    fs::create_dir_all(&folder).map_err(|source| SessionError::Files {
        what: "the folder for backups cannot be made",
        path: folder.clone(),
        source,
    })?;
    let universal = Stamp::new(now.utc_ms(), 0)
        .unwrap_or(Stamp::EPOCH)
        .to_string();
    let moment = universal
        .trim_end_matches("+00:00")
        .replace([':', '.'], "-");
    let mut file = folder.join(format!("{moment}Z_{reason}.logbook"));
    // Two backups within one millisecond.
    let mut more = 1;
    while file.exists() {
        more += 1;
        file = folder.join(format!("{moment}Z_{reason}{more}.logbook"));
    }
    Ok(file)
}

/// Makes a backup of a file that is about to take a step to newer tables.
pub(in crate::workflow) fn back_up_before_steps(
    logbook: &Path,
    now: Stamp,
) -> Result<(), LogbookError> {
    let place = backup_place(logbook, now, "before-upgrade").map_err(|error| match error {
        SessionError::Files { source, .. } => LogbookError::from(source),
        _ => LogbookError::ReadOnly,
    })?;
    crate::logbook::backup::back_up_file(logbook, &place)
}

/// Deletes the backups that age has made superfluous. One that cannot be deleted stays.
fn thin(logbook: &Path, now: i64) {
    let backups = backups_of(logbook);
    let ages: Vec<(i64, bool)> = backups
        .iter()
        .map(|kept| (kept.utc_ms, kept.reason.starts_with(KEPT)))
        .collect();
    for (backup, _) in backups
        .iter()
        .zip(superfluous(&ages, now))
        .filter(|(_, superfluous)| *superfluous)
    {
        drop(fs::remove_file(&backup.file));
    }
}

/// Which backups (moment, regular or not; the oldest first) may go: of the regular ones the newest
/// of each hour stays for a day, of each day for 30 days, of each week for a year; others stay for
/// 90 days; the newest of all always.
///
/// # Source
/// Our choice.
fn superfluous(backups: &[(i64, bool)], now: i64) -> Vec<bool> {
    let mut seen = BTreeSet::new();
    let mut gone: Vec<bool> = backups
        .iter()
        .rev()
        .enumerate()
        .map(|(place, (at, regular))| {
            let age = now - at;
            let mut first_of = |span: i64| *regular && seen.insert((span, at.div_euclid(span)));
            // Every regular backup stands for its hour, day and week, whatever keeps it.
            let (hour, day, week) = (first_of(HOUR), first_of(DAY), first_of(WEEK));
            let kept = place == 0
                || age < 0
                || (!regular && age < 90 * DAY)
                || (hour && age < DAY)
                || (day && age < 30 * DAY)
                || (week && age < 52 * WEEK);
            !kept
        })
        .collect();
    gone.reverse();
    gone
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn backups_thin_out_with_age_and_cover_every_span() {
        let now = 400 * DAY;
        // one every ten minutes for 399 days
        let all: Vec<(i64, bool)> = (0..399 * 144).map(|i| (DAY + i * HOUR / 6, true)).collect();
        let gone = superfluous(&all, now);
        let kept: Vec<i64> = all
            .iter()
            .zip(&gone)
            .filter(|(_, gone)| !**gone)
            .map(|((at, _), _)| *at)
            .collect();
        let within = |from: i64, to: i64| {
            let of = |at: &&i64| (from..to).contains(&(now - **at));
            kept.iter().filter(of).count()
        };
        // one an hour for a day
        assert_eq!(within(0, DAY), 24);
        assert_eq!(within(DAY, 30 * DAY), 29);
        assert!(
            (47..=49).contains(&within(30 * DAY, 52 * WEEK)),
            "{}",
            within(30 * DAY, 52 * WEEK)
        );
        assert_eq!(within(52 * WEEK, 500 * DAY), 0);
        // thinning again takes nothing more
        let again: Vec<(i64, bool)> = kept.iter().map(|at| (*at, true)).collect();
        assert!(superfluous(&again, now).iter().all(|gone| !gone));
    }

    #[test]
    fn the_last_one_stays_and_those_before_a_merge_stay_long() {
        let now = 400 * DAY;
        assert_eq!(superfluous(&[(0, true)], now), [false]);
        let some = [(DAY, false), (now - 89 * DAY, false), (now - 2 * DAY, true)];
        assert_eq!(superfluous(&some, now), [true, false, false]);
    }

    #[test]
    fn names_tell_moment_and_reason() {
        let file = Path::new("x/2026-11-26T06-00-00-123Z_before-merge.logbook");
        let kept = as_backup(file).unwrap();
        assert_eq!(kept.reason, "before-merge");
        let stamp: Stamp = "2026-11-26T06:00:00.123Z".parse().unwrap();
        assert_eq!(kept.utc_ms, stamp.utc_ms());
        for other in ["x/farm.logbook", "x/2026_kept.logbook", "x/a.part1"] {
            assert!(as_backup(Path::new(other)).is_none());
        }
    }
}
