//! What a screen shows of photos: previews, tips for a tray and straightened margins.
//!
//! They are made where a photo is read, from the pixels that are decoded anyway, and kept in a
//! folder of the user's cache. All of them can be made again from the photo, so a cache that is full
//! or gone costs time and nothing else.

use crate::drawing::straight::StraightMargin;
use crate::micrograph::Picture;
use crate::micrograph::decode;
use crate::micrograph::decode::DecodeError;
use crate::micrograph::decode::Limits;
use crate::micrograph::encode::displayed;
use crate::micrograph::encode::encode_jpeg;
use crate::micrograph::shrink::shrunk;
use crate::records::Reading;
use crate::workflow::reading::PhotoReading;
use crate::workflow::reading::ReadOptions;
use crate::workflow::reading::read_decoded;
use crate::workflow::reading::refusal;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::time::SystemTime;

/// Longer side of a preview, in pixels.
pub const PREVIEW_LONGEST: u32 = 2048;
/// Longer side of a tip in the tray, in pixels.
pub const TIP_LONGEST: u32 = 160;
/// Quality of kept pictures: for the eye only.
const QUALITY: u8 = 88;
/// What the cache may hold, in bytes; the oldest pictures go first.
const MOST_BYTES: u64 = 1_500_000_000;

/// Which picture of a photo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// The photo with its longer side at [`PREVIEW_LONGEST`] or less.
    Preview,
    /// The photo as small as the tray shows it.
    Tip,
    /// The straightened margin of a reading, which a word tells from other readings.
    Margin(String),
}

impl Kind {
    fn file_name(&self, hash: &str) -> String {
        match self {
            Self::Preview => format!("{hash}-preview.jpg"),
            Self::Tip => format!("{hash}-tip.jpg"),
            Self::Margin(reading) => format!("{hash}-{reading}.jpg"),
        }
    }
}

/// The folder of kept pictures.
#[derive(Debug, Clone, Default)]
pub struct PictureStore {
    folder: Option<PathBuf>,
}

impl PictureStore {
    /// A store in `folder`.
    pub const fn within(folder: PathBuf) -> Self {
        Self {
            folder: Some(folder),
        }
    }

    /// The store of this user; one that keeps nothing where the system names no cache.
    pub fn of_user() -> Self {
        let dirs = directories::ProjectDirs::from("", "", "tailfan");
        Self {
            folder: dirs.map(|dirs| dirs.cache_dir().join("pictures")),
        }
    }

    /// Its folder; absent for one that keeps nothing.
    pub fn folder(&self) -> Option<&Path> {
        self.folder.as_deref()
    }

    fn file(&self, hash: &str, kind: &Kind) -> Option<PathBuf> {
        let part = hash.get(..2)?;
        Some(self.folder.as_ref()?.join(part).join(kind.file_name(hash)))
    }

    /// A kept picture, if there is one.
    pub fn load(&self, hash: &str, kind: &Kind) -> Option<Picture> {
        let limits = Limits {
            shortest_side: 1,
            ..Limits::default()
        };
        let photo = decode::decode_file(&self.file(hash, kind)?, &limits).ok()?;
        Some(displayed(&photo.micrograph))
    }

    /// Keeps a picture; where that fails it will be made again.
    pub fn keep(&self, hash: &str, kind: &Kind, picture: &Picture) {
        if let Some(file) = self.file(hash, kind) {
            // A cache that cannot be written to costs time only.
            write_whole(&file, picture).ok();
        }
    }

    /// Removes the oldest pictures until the store is no larger than it may be.
    pub fn trim(&self) {
        let Some(folder) = &self.folder else { return };
        let mut files: Vec<(SystemTime, u64, PathBuf)> = Vec::new();
        for part in entries(folder) {
            for file in entries(&part) {
                if let Ok(about) = fs::metadata(&file) {
                    let when = about.modified().unwrap_or(SystemTime::UNIX_EPOCH);
                    files.push((when, about.len(), file));
                }
            }
        }
        let mut bytes: u64 = files.iter().map(|(_, size, _)| size).sum();
        files.sort();
        for (_, size, file) in files {
            if bytes <= MOST_BYTES {
                break;
            }
            if fs::remove_file(file).is_ok() {
                bytes -= size;
            }
        }
    }
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let found = fs::read_dir(folder).map(|entries| entries.flatten().map(|e| e.path()).collect());
    found.unwrap_or_default()
}

/// Writes beside the file and renames, so that no half picture is ever found.
fn write_whole(file: &Path, picture: &Picture) -> io::Result<()> {
    let Some(folder) = file.parent() else {
        return Ok(());
    };
    fs::create_dir_all(folder)?;
    let bytes = encode_jpeg(picture, QUALITY).map_err(io::Error::other)?;
    let beside = file.with_extension(format!("part{:?}", std::thread::current().id()));
    fs::write(&beside, bytes)?;
    fs::rename(&beside, file)
}

/// The hash by which a photo's pictures are kept: of the bytes of its file.
///
/// # Errors
/// What the system said when the file cannot be read.
pub fn hash_of(file: &Path) -> io::Result<String> {
    Ok(blake3::hash(&fs::read(file)?).to_hex().to_string())
}

/// A photo as read, with what the tray shows of it.
#[derive(Debug, Clone)]
pub struct ReadForTheEye {
    /// The reading.
    pub read: PhotoReading,
    /// Width and height of the photo in pixels; absent when it does not decode.
    pub size: Option<[u32; 2]>,
    /// The photo as small as the tray shows it.
    pub tip: Option<Picture>,
}

/// Reads a photo and keeps its pictures under `hash`, from one decoding.
pub fn read_for_the_eye(
    path: &Path,
    given: &str,
    hash: &str,
    options: &ReadOptions,
    store: &PictureStore,
) -> ReadForTheEye {
    match decode::decode_file(path, &Limits::default()) {
        Ok(photo) => {
            let read = read_decoded(&photo, given, options);
            let picture = displayed(&photo.micrograph);
            let size = [picture.width(), picture.height()];
            drop(photo);
            if let Some(margin) = margin(&read.reading, &picture) {
                store.keep(hash, &Kind::Margin(margin_name(&read.reading)), &margin);
            }
            let preview = shrunk(&picture, PREVIEW_LONGEST);
            drop(picture);
            store.keep(hash, &Kind::Preview, &preview);
            let tip = shrunk(&preview, TIP_LONGEST);
            store.keep(hash, &Kind::Tip, &tip);
            ReadForTheEye {
                read,
                size: Some(size),
                tip: Some(tip),
            }
        }
        Err(error) => ReadForTheEye {
            read: PhotoReading {
                reading: Reading::refused(given.to_owned(), vec![refusal(&error)]),
                scale_warnings: Vec::new(),
                tip_and_measurements: None,
            },
            size: None,
            tip: None,
        },
    }
}

/// The straightened margin of a usable reading.
fn margin(reading: &Reading, picture: &Picture) -> Option<Picture> {
    let margin = StraightMargin::of(reading).filter(|_| reading.usable)?;
    Some(margin.straighten(picture))
}

/// A word that tells the margin of this reading from that of another of the same photo.
pub fn margin_name(reading: &Reading) -> String {
    let mut hasher = blake3::Hasher::new();
    for seta in &reading.setae {
        for value in [seta.x, seta.y, seta.gap_px.unwrap_or(-1.0)] {
            hasher.update(&value.to_le_bytes());
        }
    }
    hasher.update(&reading.base_width_px.unwrap_or(0.0).to_le_bytes());
    let mut name = hasher.finalize().to_hex().to_string();
    name.truncate(16);
    format!("margin-{name}")
}

/// The whole photo as it looks on a screen.
///
/// # Errors
/// [`DecodeError`] when the photo cannot be decoded.
pub fn whole(path: &Path) -> Result<Picture, DecodeError> {
    let photo = decode::decode_file(path, &Limits::default())?;
    Ok(displayed(&photo.micrograph))
}

/// The kept preview, else one made from the photo and kept.
///
/// # Errors
/// [`DecodeError`] when it has to be made and the photo cannot be decoded.
pub fn preview(path: &Path, hash: &str, store: &PictureStore) -> Result<Picture, DecodeError> {
    if let Some(kept) = store.load(hash, &Kind::Preview) {
        return Ok(kept);
    }
    let preview = shrunk(&whole(path)?, PREVIEW_LONGEST);
    store.keep(hash, &Kind::Preview, &preview);
    Ok(preview)
}

/// The kept tip, else one made from the preview and kept.
///
/// # Errors
/// [`DecodeError`] when it has to be made and the photo cannot be decoded.
pub fn tip(path: &Path, hash: &str, store: &PictureStore) -> Result<Picture, DecodeError> {
    if let Some(kept) = store.load(hash, &Kind::Tip) {
        return Ok(kept);
    }
    let tip = shrunk(&preview(path, hash, store)?, TIP_LONGEST);
    store.keep(hash, &Kind::Tip, &tip);
    Ok(tip)
}

/// The kept straightened margin, else one made from the photo and kept; `None` when the reading has
/// none.
///
/// # Errors
/// [`DecodeError`] when it has to be made and the photo cannot be decoded.
pub fn straightened(
    path: &Path,
    hash: &str,
    reading: &Reading,
    store: &PictureStore,
) -> Result<Option<Picture>, DecodeError> {
    let Some(shape) = StraightMargin::of(reading).filter(|_| reading.usable) else {
        return Ok(None);
    };
    let kind = Kind::Margin(margin_name(reading));
    let wanted = (shape.width(), shape.height());
    if let Some(kept) = store.load(hash, &kind).filter(|p| p.dimensions() == wanted) {
        return Ok(Some(kept));
    }
    let picture = shape.straighten(&whole(path)?);
    store.keep(hash, &kind, &picture);
    Ok(Some(picture))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_are_kept_and_made_again() {
        let folder = tempfile::tempdir().unwrap();
        let store = PictureStore::within(folder.path().to_owned());
        let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/tip-04.jpg");
        let hash = hash_of(&photo).unwrap();
        let done = read_for_the_eye(&photo, "tip-04.jpg", &hash, &ReadOptions::default(), &store);
        let reading = done.read.reading;
        assert!(reading.usable);
        let whole = whole(&photo).unwrap();
        assert_eq!(done.size, Some([whole.width(), whole.height()]));
        let kept = store.load(&hash, &Kind::Preview).unwrap();
        assert!(kept.width().max(kept.height()) <= PREVIEW_LONGEST);
        let margin = straightened(&photo, &hash, &reading, &store)
            .unwrap()
            .unwrap();
        let shape = StraightMargin::of(&reading).unwrap();
        assert_eq!(margin.dimensions(), (shape.width(), shape.height()));
        // a store that keeps nothing gives the same sizes
        let none = PictureStore::default();
        assert_eq!(
            preview(&photo, &hash, &none).unwrap().dimensions(),
            kept.dimensions()
        );
        assert_eq!(
            tip(&photo, &hash, &none).unwrap().dimensions(),
            done.tip.unwrap().dimensions()
        );
        assert!(none.load(&hash, &Kind::Tip).is_none());
    }
}
