//! Who has the logbook open: each program leaves a small note beside it while it does. The name of the
//! note says whose it is, so that one whose program was killed while it wrote can be told too.

use crate::records::stamp::Stamp;
use std::fs;
use std::path::Path;
use std::path::PathBuf;

/// The note of this program; it goes away with it.
#[derive(Debug)]
pub(in crate::workflow) struct Holding {
    logbook: PathBuf,
    note: PathBuf,
}

impl Holding {
    /// Leaves the note. Where it cannot be written, nobody is told: that harms nothing.
    pub(in crate::workflow) fn announce(logbook: &Path, reader: &str, since: Stamp) -> Self {
        let process = std::process::id();
        let machine = machine();
        let whose = format!("{process}-{}-{}", unique(), plain(&machine));
        let note = note(logbook, &whose);
        let text = format!(
            "tailfan (process {process} on {machine}), {reader}, since {}\n",
            since.date_and_hour()
        );
        drop(fs::write(&note, text));
        Self {
            logbook: logbook.to_owned(),
            note,
        }
    }

    /// The other programs that have the logbook open, in words. Notes of programs of this machine
    /// that are no more are swept away.
    pub(in crate::workflow) fn others(&self) -> Vec<String> {
        let Some(folder) = self.logbook.parent() else {
            return Vec::new();
        };
        let folder = if folder.as_os_str().is_empty() {
            Path::new(".")
        } else {
            folder
        };
        let beginning = note(&self.logbook, "");
        let beginning = beginning.file_name().unwrap_or_default().to_string_lossy();
        let mut others: Vec<String> = fs::read_dir(folder)
            .into_iter()
            .flatten()
            .filter_map(Result::ok)
            .filter(|entry| Some(&*entry.file_name()) != self.note.file_name())
            .filter_map(|entry| {
                let name = entry.file_name();
                other(&entry.path(), name.to_str()?.strip_prefix(&*beginning)?)
            })
            .collect();
        others.sort();
        others
    }
}

impl Drop for Holding {
    fn drop(&mut self) {
        // A note that stays behind is swept away by the next program.
        drop(fs::remove_file(&self.note));
    }
}

/// The note's words, unless its program is no more; `whose` is the end of its name.
fn other(note: &Path, whose: &str) -> Option<String> {
    let mut parts = whose.splitn(3, '-');
    let (process, _, host) = (parts.next()?, parts.next()?, parts.next()?);
    if host == plain(&machine()) && is_gone(process) {
        drop(fs::remove_file(note));
        return None;
    }
    fs::read_to_string(note)
        .ok()?
        .lines()
        .next()
        .map(str::to_owned)
}

/// A name as it may stand in the name of a file.
fn plain(name: &str) -> String {
    let kept = |c: char| if c.is_alphanumeric() { c } else { '_' };
    name.chars().map(kept).collect()
}

/// Whether a process of this machine is known to be no more.
fn is_gone(process: &str) -> bool {
    let processes = Path::new("/proc");
    let is_number = process.bytes().all(|b| b.is_ascii_digit());
    is_number && processes.join("self").exists() && !processes.join(process).exists()
}

fn note(logbook: &Path, whose: &str) -> PathBuf {
    let name = logbook.file_name().unwrap_or_default().to_string_lossy();
    logbook.with_file_name(format!(".{name}.open-{whose}"))
}

/// Tells the sessions of one program apart.
fn unique() -> u64 {
    use std::sync::atomic::AtomicU64;
    use std::sync::atomic::Ordering;
    static NEXT: AtomicU64 = AtomicU64::new(0);
    NEXT.fetch_add(1, Ordering::Relaxed)
}

/// The name under which this user is known to the system, for what a person does without saying
/// who.
pub fn user() -> String {
    let names = ["USER", "LOGNAME", "USERNAME"];
    let named = names.iter().filter_map(|name| std::env::var(name).ok());
    let mut given = named.filter(|name| !name.trim().is_empty());
    given.next().unwrap_or_else(|| "unnamed".to_owned())
}

fn machine() -> String {
    let told = fs::read_to_string("/etc/hostname").ok();
    let told = told.or_else(|| std::env::var("COMPUTERNAME").ok());
    told.map_or_else(|| "this machine".to_owned(), |name| name.trim().to_owned())
}

/// File systems that lie on another machine, as the kernel names them.
const NETWORK: [&str; 10] = [
    "nfs",
    "nfs4",
    "cifs",
    "smb3",
    "smbfs",
    "9p",
    "afs",
    "fuse.sshfs",
    "davfs",
    "ceph",
];

/// Whether the file's folder lies on another machine, as far as can be told: by the mounts of the
/// kernel, or by a path that begins with two backslashes.
pub(in crate::workflow) fn is_on_network(file: &Path) -> bool {
    if file.to_string_lossy().starts_with(r"\\") {
        return true;
    }
    let folder = file
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let Ok(folder) = folder.unwrap_or_else(|| Path::new(".")).canonicalize() else {
        return false;
    };
    let mounts = fs::read_to_string("/proc/self/mounts").unwrap_or_default();
    network_mount(&mounts, &folder)
}

/// Whether the innermost mount around a folder is one of another machine.
fn network_mount(mounts: &str, folder: &Path) -> bool {
    let around = mounts.lines().filter_map(|line| {
        let mut words = line.split(' ');
        let (_, place, kind) = (words.next()?, words.next()?, words.next()?);
        let place = place.replace(r"\040", " ");
        folder.starts_with(&place).then_some((place.len(), kind))
    });
    around
        .max_by_key(|(length, _)| *length)
        .is_some_and(|(_, kind)| NETWORK.contains(&kind))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_cut_short_is_swept_away_with_its_program() {
        let folder = tempfile::tempdir().unwrap();
        let logbook = folder.path().join("farm.logbook");
        let mine = Holding {
            note: note(&logbook, "mine"),
            logbook: logbook.clone(),
        };
        // no process has the number 0
        let gone = note(&logbook, &format!("0-1-{}", plain(&machine())));
        let elsewhere = note(&logbook, "0-1-another_machine");
        fs::write(&gone, "").unwrap();
        fs::write(&elsewhere, "tailfan elsewhere\n").unwrap();
        assert_eq!(mine.others(), ["tailfan elsewhere"]);
        assert_eq!(
            (gone.exists(), elsewhere.exists()),
            (!Path::new("/proc/self").exists(), true)
        );
    }

    #[test]
    fn the_innermost_mount_decides() {
        let mounts = "/dev/sda1 / ext4 rw 0 0\nserver:/x /mnt/farm\\040share nfs4 rw 0 0\n/dev/sdb1 /mnt/farm\\040share/disk ext4 rw 0 0\n";
        assert!(!network_mount(mounts, Path::new("/home/lab")));
        assert!(network_mount(mounts, Path::new("/mnt/farm share/lab")));
        assert!(!network_mount(
            mounts,
            Path::new("/mnt/farm share/disk/lab")
        ));
    }
}
