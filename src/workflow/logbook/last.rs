//! Which logbook was used last: one line in the user's folder for settings.

use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use directories::ProjectDirs;
use std::fs;
use std::path::Path;
use std::path::PathBuf;

/// The logbook used last, if any; it need not be there any more.
pub fn last_logbook() -> Option<PathBuf> {
    let text = fs::read_to_string(note()?).ok()?;
    let line = text.lines().next()?.trim();
    (!line.is_empty()).then(|| PathBuf::from(line))
}

/// Keeps in mind that this logbook was used. Where that cannot be written nothing is lost: it has
/// to be named the next time.
pub fn remember(logbook: &Path) {
    let (Some(note), Ok(place)) = (note(), std::path::absolute(logbook)) else {
        return;
    };
    if let Some(folder) = note.parent() {
        drop(fs::create_dir_all(folder));
    }
    drop(fs::write(note, format!("{}\n", place.display())));
}

impl Session {
    /// Opens the logbook named, else the one used last, and keeps it in mind for the next time.
    ///
    /// # Errors
    /// [`SessionError::NoLast`] when none is named and none was used, or as [`Session::open`].
    pub fn open_or_last(named: Option<&Path>, reader: &str) -> Result<Self, SessionError> {
        let file = match named {
            Some(file) => file.to_owned(),
            None => last_logbook().ok_or(SessionError::NoLast)?,
        };
        let session = Self::open(&file, reader)?;
        remember(&file);
        Ok(session)
    }
}

fn note() -> Option<PathBuf> {
    let folders = ProjectDirs::from("", "", "tailfan")?;
    Some(folders.config_dir().join("last-logbook"))
}
