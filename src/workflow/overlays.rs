//! Readings drawn into files: the photo with what was found in it, and its margin straightened.

use crate::drawing::overlay::overlay;
use crate::drawing::raster::RasterError;
use crate::drawing::raster::render;
use crate::drawing::straight::StraightMargin;
use crate::micrograph::Picture;
use crate::micrograph::decode;
use crate::micrograph::decode::Limits;
use crate::micrograph::encode::EncodeError;
use crate::micrograph::encode::displayed;
use crate::micrograph::encode::encode_jpeg;
use crate::records::Reading;
use crate::workflow::collect::FoundPhoto;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Quality of the JPEG files: marks a pixel wide must stay clean.
const QUALITY: u8 = 92;

/// Why overlays could not be written.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OverlayError {
    /// The folder cannot be made.
    #[error("the folder for overlays cannot be made: {}", folder.display())]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// A file cannot be written.
    #[error("the overlay cannot be written: {}", file.display())]
    Write {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The shapes cannot be drawn.
    #[error(transparent)]
    Raster(#[from] RasterError),
    /// The picture cannot be encoded.
    #[error(transparent)]
    Encode(#[from] EncodeError),
}

/// The files that one reading was drawn into.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DrawnFiles {
    /// The photo with its overlay; absent when the photo cannot be decoded.
    pub overlay: Option<PathBuf>,
    /// The straightened margin; absent when the photo was refused.
    pub strip: Option<PathBuf>,
}

/// A folder for overlays, with a name for every photo that no other photo has.
#[derive(Debug, Clone)]
pub struct OverlayFolder {
    folder: PathBuf,
    names: Vec<String>,
    among_photos: bool,
}

impl OverlayFolder {
    /// Makes the folder, if it is not there, and settles the names: that of the photo without its
    /// ending, with a number after it where another photo has it or a photo would be overwritten.
    ///
    /// # Errors
    /// [`OverlayError::Folder`] when it cannot be made.
    pub fn prepare(folder: &Path, photos: &[FoundPhoto]) -> Result<Self, OverlayError> {
        let failed = |source| OverlayError::Folder {
            folder: folder.to_owned(),
            source,
        };
        fs::create_dir_all(folder).map_err(failed)?;
        let real = folder.canonicalize().map_err(failed)?;
        let inputs: BTreeSet<PathBuf> = photos
            .iter()
            .filter_map(|photo| photo.path.canonicalize().ok())
            .collect();
        let lower = |path: &Path| path.to_string_lossy().to_lowercase();
        // File names that differ in case only are one file on some systems.
        let mut taken: BTreeSet<String> = inputs.iter().map(|path| lower(path)).collect();
        let mut names = Vec::with_capacity(photos.len());
        for photo in photos {
            let stem = photo.path.file_stem().unwrap_or_default().to_string_lossy();
            let mut name = stem.clone().into_owned();
            let mut number = 1;
            while files(&real, &name)
                .iter()
                .any(|file| taken.contains(&lower(file)))
            {
                number += 1;
                name = format!("{stem}-{number}");
            }
            taken.extend(files(&real, &name).iter().map(|file| lower(file)));
            names.push(name);
        }
        let among_photos = inputs.iter().any(|path| path.parent() == Some(&real));
        Ok(Self {
            folder: folder.to_owned(),
            names,
            among_photos,
        })
    }

    /// The name of each photo, in their order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.names.iter().map(String::as_str)
    }

    /// Whether photos lie in the same folder, which would be read with the overlays the next time.
    pub const fn among_photos(&self) -> bool {
        self.among_photos
    }

    /// Draws the reading of the photo at `path` under one of the names. A photo that cannot be
    /// decoded is left out: there is nothing to draw on.
    ///
    /// # Errors
    /// [`OverlayError`] when a file cannot be drawn, encoded or written.
    pub fn draw(
        &self,
        name: &str,
        path: &Path,
        reading: &Reading,
    ) -> Result<DrawnFiles, OverlayError> {
        let mut drawn = DrawnFiles::default();
        let Ok(photo) = decode::decode_file(path, &Limits::default()) else {
            return Ok(drawn);
        };
        let [overlay_file, strip_file] = files(&self.folder, name);
        let mut picture = displayed(&photo.micrograph);
        let margin = StraightMargin::of(reading).filter(|_| reading.usable);
        if let Some(margin) = margin {
            let mut strip = margin.straighten(&picture);
            render(&margin.drawing(reading), &mut strip)?;
            write(&strip_file, &strip)?;
            drawn.strip = Some(strip_file);
        }
        let shapes = overlay(reading, picture.width(), picture.height());
        render(&shapes, &mut picture)?;
        write(&overlay_file, &picture)?;
        drawn.overlay = Some(overlay_file);
        Ok(drawn)
    }
}

/// Where the overlay and the strip of a name go.
fn files(folder: &Path, name: &str) -> [PathBuf; 2] {
    ["overlay", "strip"].map(|kind| folder.join(format!("{name}-{kind}.jpg")))
}

fn write(file: &Path, picture: &Picture) -> Result<(), OverlayError> {
    let bytes = encode_jpeg(picture, QUALITY)?;
    fs::write(file, bytes).map_err(|source| OverlayError::Write {
        file: file.to_owned(),
        source,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(path: &Path) -> FoundPhoto {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, b"photo").unwrap();
        FoundPhoto {
            given: path.to_string_lossy().into_owned(),
            path: path.to_owned(),
        }
    }

    #[test]
    fn every_photo_has_a_name_of_its_own_and_no_photo_is_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| found(&folder.path().join(name));
        let photos = [
            at("gate/tip.jpg"),
            at("middle/tip.jpg"),
            at("middle/TIP.png"),
            at("out/tip-4-overlay.jpg"),
            at("far/tip.tif"),
        ];
        let out = OverlayFolder::prepare(&folder.path().join("out"), &photos).unwrap();
        let names: Vec<&str> = out.names().collect();
        assert_eq!(names, ["tip", "tip-2", "TIP-3", "tip-4-overlay", "tip-5"]);
        assert!(out.among_photos());
        let apart = OverlayFolder::prepare(&folder.path().join("apart"), &photos).unwrap();
        assert!(!apart.among_photos());
    }

    #[test]
    fn a_folder_that_cannot_be_made_is_an_error_that_names_it() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, b"").unwrap();
        let error = OverlayFolder::prepare(&file.join("out"), &[]).unwrap_err();
        assert!(error.to_string().contains("out"), "{error}");
    }
}
