//! What views return: nothing is done in a view.

use crate::desktop::actions::Action;
use crate::desktop::dialogs::Purpose;
use crate::desktop::keeper::Why;
use std::path::PathBuf;

/// Something to be done, with what it needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Deed {
    /// An action of the list.
    Do(Action),
    /// Look at the animal in this position.
    LookAt(usize),
    /// Look at the photo in this position of the animal.
    PhotoAt(usize),
    /// Take files and folders into the sample.
    Take(Vec<PathBuf>),
    /// Leave the animal in view unread.
    Refuse(Why),
    /// Note something about the animal in view.
    Note(String),
    /// Move a photo to the animal in this position.
    Assign {
        /// The photo.
        photo: String,
        /// Position of the animal.
        animal: usize,
    },
    /// Watch this folder.
    WatchFolder(PathBuf),
    /// Ask for files or a folder in the system's dialog.
    Choose(Purpose),
    /// Take away what was said last.
    Hush,
}
