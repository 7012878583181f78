//! How the window looks, kept in the user's folder for settings: nothing of the farm.

use directories::ProjectDirs;
use serde::Deserialize;
use serde::Serialize;
use std::fs;
use std::path::PathBuf;

/// Looks of the window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Looks {
    /// Whether the window is dark.
    pub dark: bool,
    /// Factor on the size of everything.
    pub size: f32,
    /// The person who read last.
    pub reader: String,
    /// The folder watched last.
    pub watched: Option<PathBuf>,
}

impl Default for Looks {
    fn default() -> Self {
        Self {
            dark: false,
            size: 1.0,
            reader: String::new(),
            watched: None,
        }
    }
}

/// Where looks are kept; nowhere when the system names no folder.
#[derive(Debug, Clone, Default)]
pub struct LooksStore {
    file: Option<PathBuf>,
}

impl LooksStore {
    /// The store of this user.
    pub fn of_user() -> Self {
        let dirs = ProjectDirs::from("", "", "tailfan");
        Self {
            file: dirs.map(|dirs| dirs.config_dir().join("window.json")),
        }
    }

    /// A store in a file.
    pub const fn within(file: PathBuf) -> Self {
        Self { file: Some(file) }
    }

    /// The looks as kept, the usual ones where there are none or they cannot be understood.
    pub fn load(&self) -> Looks {
        let text = self
            .file
            .as_ref()
            .and_then(|file| fs::read_to_string(file).ok());
        let mut looks: Looks = text
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default();
        if !(0.5..=4.0).contains(&looks.size) {
            looks.size = 1.0;
        }
        looks
    }

    /// Keeps the looks; where that fails they are the usual ones the next time.
    pub fn keep(&self, looks: &Looks) {
        let Some(file) = &self.file else { return };
        let Ok(text) = serde_json::to_string_pretty(looks) else {
            return;
        };
        if let Some(folder) = file.parent() {
            fs::create_dir_all(folder).ok();
        }
        fs::write(file, text).ok();
    }
}

/// The folder of this user's data, where the made-up farm lies.
pub fn data_folder() -> Option<PathBuf> {
    ProjectDirs::from("", "", "tailfan").map(|dirs| dirs.data_dir().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn looks_come_back_and_nonsense_is_the_usual() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a/window.json");
        let store = LooksStore::within(file.clone());
        assert_eq!(store.load(), Looks::default());
        let looks = Looks {
            dark: true,
            size: 2.0,
            reader: "Test".to_owned(),
            watched: None,
        };
        store.keep(&looks);
        assert_eq!(store.load(), looks);
        fs::write(&file, "{\"size\": 90}").unwrap();
        assert_eq!(store.load().size, 1.0);
        fs::write(&file, "nonsense").unwrap();
        assert_eq!(store.load(), Looks::default());
    }
}
