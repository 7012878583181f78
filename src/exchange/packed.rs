//! A folder as one zip file, and back: under limits, and never outside of the folder.

use std::fs;
use std::fs::File;
use std::io;
use std::io::BufReader;
use std::io::BufWriter;
use std::io::Read as _;
use std::path::Component;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;
use zip::CompressionMethod;
use zip::ZipArchive;
use zip::ZipWriter;
use zip::result::ZipError;
use zip::write::SimpleFileOptions;

/// Most files in a packed folder.
const MOST_FILES: usize = 500_000;
/// Most bytes that a packed folder may unpack to.
const MOST_BYTES: u64 = 64_000_000_000;

/// Why a folder could not be packed or unpacked.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PackError {
    /// Not a zip file, or a damaged one.
    #[error("not a zip file, or a damaged one ({source}): {}", file.display())]
    Zip {
        /// What went wrong.
        source: ZipError,
        /// The file.
        file: PathBuf,
    },
    /// A file could not be read or written.
    #[error("cannot be read or written ({source}): {}", file.display())]
    Io {
        /// What the system said.
        source: io::Error,
        /// The file.
        file: PathBuf,
    },
    /// A name that would lie outside of the folder.
    #[error("it holds \"{name}\", which would lie outside of its folder; nothing was written: {}", file.display())]
    Outside {
        /// The name.
        name: String,
        /// The file.
        file: PathBuf,
    },
    /// More than a logbook's export holds.
    #[error("it would unpack to more than {MOST_FILES} files or {MOST_BYTES} bytes; nothing was written: {}", file.display())]
    TooLarge {
        /// The file.
        file: PathBuf,
    },
}

/// Packs a folder into a zip file that is not there yet.
///
/// # Errors
/// [`PackError`] when it cannot be read or written.
pub fn pack(folder: &Path, file: &Path) -> Result<(), PackError> {
    let io_at = |path: &Path| {
        let file = path.to_owned();
        move |source| PackError::Io { source, file }
    };
    let zip_at = |source| PackError::Zip {
        source,
        file: file.to_owned(),
    };
    let out = File::create_new(file).map_err(io_at(file))?;
    let mut zip = ZipWriter::new(BufWriter::new(out));
    for path in files_below(folder).map_err(io_at(folder))? {
        let name = path.strip_prefix(folder).unwrap_or(&path);
        let name = name.to_string_lossy().replace('\\', "/");
        // Photos are compressed already.
        let method = if name.starts_with("photos/") {
            CompressionMethod::Stored
        } else {
            CompressionMethod::Deflated
        };
        let options = SimpleFileOptions::default()
            .compression_method(method)
            .large_file(true);
        zip.start_file(name, options).map_err(zip_at)?;
        let mut from = File::open(&path).map_err(io_at(&path))?;
        io::copy(&mut from, &mut zip).map_err(io_at(&path))?;
    }
    let out = zip.finish().map_err(zip_at)?;
    let out = out
        .into_inner()
        .map_err(|error| io_at(file)(error.into_error()))?;
    out.sync_all().map_err(io_at(file))
}

/// Unpacks a zip file into a folder that is there and empty. All names and sizes are checked before
/// anything is written.
///
/// # Errors
/// [`PackError`] for a file that is no zip file, holds too much, or names something outside of its
/// folder.
pub fn unpack(file: &Path, folder: &Path) -> Result<(), PackError> {
    let io_at = |path: &Path| {
        let file = path.to_owned();
        move |source| PackError::Io { source, file }
    };
    let zip_at = |source| PackError::Zip {
        source,
        file: file.to_owned(),
    };
    let open = File::open(file).map_err(io_at(file))?;
    let mut zip = ZipArchive::new(BufReader::new(open)).map_err(zip_at)?;
    let too_large = || PackError::TooLarge {
        file: file.to_owned(),
    };
    if zip.len() > MOST_FILES {
        return Err(too_large());
    }
    let mut places = Vec::with_capacity(zip.len());
    let mut bytes = 0_u64;
    for at in 0..zip.len() {
        let entry = zip.by_index_raw(at).map_err(zip_at)?;
        bytes = bytes.saturating_add(entry.size());
        let name = entry.name().map_err(zip_at)?.into_owned();
        let place = inside(&name).filter(|_| !entry.is_symlink());
        places.push(place.ok_or_else(|| PackError::Outside {
            name,
            file: file.to_owned(),
        })?);
    }
    if bytes > MOST_BYTES {
        return Err(too_large());
    }
    for (at, place) in places.iter().enumerate() {
        let mut entry = zip.by_index(at).map_err(zip_at)?;
        let to = folder.join(place);
        if entry.is_dir() {
            fs::create_dir_all(&to).map_err(io_at(&to))?;
            continue;
        }
        if let Some(parent) = to.parent() {
            fs::create_dir_all(parent).map_err(io_at(parent))?;
        }
        let stated = entry.size();
        let mut out = File::create_new(&to).map_err(io_at(&to))?;
        let mut limited = entry.by_ref().take(stated.saturating_add(1));
        let written = io::copy(&mut limited, &mut out).map_err(io_at(file))?;
        // A file that states less than it unpacks to is no honest one.
        if written > stated {
            return Err(too_large());
        }
    }
    Ok(())
}

/// A name as a path within a folder: plain names only, no way up, no root, no drive.
fn inside(name: &str) -> Option<PathBuf> {
    let plain = !name.is_empty() && !name.contains(['\\', '\0', ':']);
    let path = Path::new(name);
    let all_normal = path
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    (plain && all_normal && !name.starts_with('/')).then(|| path.to_owned())
}

fn files_below(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                files.push(path);
            }
        }
    }
    files.sort();
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_names_lie_inside() {
        for name in ["tables/pond.csv", "photos/ab/abcd.jpg", "a"] {
            assert!(inside(name).is_some(), "{name}");
        }
        for name in [
            "",
            "../a",
            "a/../../b",
            "/etc/passwd",
            "C:\\a",
            "a\\..\\b",
            "./a",
        ] {
            assert!(inside(name).is_none(), "{name}");
        }
    }
}
