//! From photos and folders, as given, to the photos to read, in order.

use std::ffi::OsStr;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// A photo to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundPhoto {
    /// Where it is.
    pub path: PathBuf,
    /// Its path as given, with `/` between folder and name.
    pub given: String,
}

/// Why there is nothing to read.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CollectError {
    /// A path that leads nowhere.
    #[error("there is no such file or folder: {}", path.display())]
    Missing {
        /// The path as given.
        path: PathBuf,
    },
    /// A folder that holds no photo.
    #[error("there is no photo in the folder {}", path.display())]
    NoPhotos {
        /// The folder as given.
        path: PathBuf,
    },
    /// A path that the system would not let be looked into.
    #[error("cannot look into {}", path.display())]
    Unreadable {
        /// The path as given.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
}

/// Extensions of photos, in lower case. Formats that are not decoded are among them: such a photo
/// is refused by name, since an animal must not be dropped without a word.
const EXTENSIONS: &[&str] = &[
    "jpg", "jpeg", "jpe", "jfif", "png", "apng", "tif", "tiff", "btf", "bmp", "dib", "webp", "gif",
    "heic", "heif", "avif", "jxl", "jp2", "cr2", "cr3", "nef", "arw", "dng", "raf", "orf", "rw2",
    "czi", "nd2",
];

/// Lists the photos that the arguments name: a file as it is, a folder by the names of the photos
/// in it (not in folders below it; hidden files are left out).
///
/// # Errors
/// [`CollectError`] for the first path that is missing, cannot be looked into, or is a folder
/// without photos.
pub fn collect_photos(arguments: &[PathBuf]) -> Result<Vec<FoundPhoto>, CollectError> {
    let mut photos: Vec<FoundPhoto> = Vec::new();
    for path in arguments {
        let unreadable = |source: io::Error| CollectError::Unreadable {
            path: path.clone(),
            source,
        };
        let found = match std::fs::metadata(path) {
            Ok(metadata) if metadata.is_dir() => photos_in(path).map_err(unreadable)?,
            Ok(_) => vec![path.clone()],
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(CollectError::Missing { path: path.clone() });
            }
            Err(error) => return Err(unreadable(error)),
        };
        if found.is_empty() {
            return Err(CollectError::NoPhotos { path: path.clone() });
        }
        for photo in found {
            // A photo named twice, by itself and by its folder, is one photo.
            if !photos.iter().any(|known| known.path == photo) {
                photos.push(FoundPhoto {
                    given: as_given(&photo),
                    path: photo,
                });
            }
        }
    }
    Ok(photos)
}

/// The photos of a folder, by name: not in folders below it; hidden files are left out.
///
/// # Errors
/// What the system said when the folder cannot be looked into.
pub fn photos_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut photos = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if is_photo_name(&path) && !path.is_dir() {
            photos.push(path);
        }
    }
    photos.sort();
    Ok(photos)
}

fn is_photo_name(path: &Path) -> bool {
    let hidden = path
        .file_name()
        .is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
    let extension = path
        .extension()
        .and_then(OsStr::to_str)
        .map(str::to_ascii_lowercase);
    !hidden && extension.is_some_and(|extension| EXTENSIONS.contains(&extension.as_str()))
}

fn as_given(path: &Path) -> String {
    path.to_string_lossy().replace('\\', "/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_listed_by_name_without_what_is_no_photo() {
        let folder = tempfile::tempdir().unwrap();
        for name in [
            "b.JPG",
            "a.tiff",
            "c.heic",
            ".hidden.jpg",
            "notes.txt",
            "truth.jsonl",
        ] {
            std::fs::write(folder.path().join(name), b"").unwrap();
        }
        std::fs::create_dir(folder.path().join("d.jpg")).unwrap();
        let photos = collect_photos(&[
            folder.path().to_owned(),
            folder.path().join("b.JPG"),
            folder.path().join("notes.txt"),
        ])
        .unwrap();
        let names: Vec<_> = photos
            .iter()
            .map(|photo| photo.given.rsplit('/').next().unwrap())
            .collect();
        assert_eq!(names, ["a.tiff", "b.JPG", "c.heic", "notes.txt"]);
    }

    #[test]
    fn an_empty_folder_and_a_missing_path_are_errors() {
        let folder = tempfile::tempdir().unwrap();
        assert!(matches!(
            collect_photos(&[folder.path().to_owned()]),
            Err(CollectError::NoPhotos { .. })
        ));
        assert!(matches!(
            collect_photos(&[folder.path().join("none.jpg")]),
            Err(CollectError::Missing { .. })
        ));
    }
}
