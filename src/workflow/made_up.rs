//! The made-up farm to try the window with: its logbook, with this morning's sample still to be read.
//! Everything in it is invented, and it says so.

use crate::exchange::sample::SampleError;
use crate::exchange::sample::SampleLine;
use crate::exchange::sample::read_sample;
use crate::progress::Progress;
use crate::records::ids::MicroscopeId;
use crate::records::ids::SampleId;
use crate::records::places::Animal;
use crate::records::table::Kept;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::made_up::MARK;
use crate::workflow::logbook::photos::PhotoImport;
use crate::workflow::logbook::photos::Shows;
use crate::workflow::painting::PaintError;
use crate::workflow::painting::paint_sample;
use serde_json::json;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Seed of the painted morning; the same as of the folder that is handed out.
const SEED: u64 = 26;
/// Scale of the painted photos, as their note states.
const UM_PER_PX: f64 = 0.8;
/// Why there is no made-up farm.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum MadeUpError {
    /// The folder cannot be made.
    #[error("no folder can be made for the made-up farm ({source}); choose one that you may write to: {}", folder.display())]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The photos cannot be painted.
    #[error(transparent)]
    Paint(#[from] PaintError),
    /// The list of the sample cannot be used.
    #[error(transparent)]
    List(#[from] SampleError),
    /// The logbook cannot be written.
    #[error(transparent)]
    Session(#[from] SessionError),
}

/// The logbook of the made-up farm in `folder`, made now where it is not there yet. Its photos are
/// those of `sample-images` in the present folder, or painted.
///
/// # Errors
/// [`MadeUpError`] when something cannot be written.
pub fn made_up_farm(
    folder: &Path,
    reader: &str,
    progress: &Progress,
) -> Result<PathBuf, MadeUpError> {
    fs::create_dir_all(folder).map_err(|source| MadeUpError::Folder {
        folder: folder.to_owned(),
        source,
    })?;
    // One that was left half made, by a program that was ended meanwhile, is passed over.
    let mut number = 1;
    loop {
        let name = match number {
            1 => "made-up-farm.logbook".to_owned(),
            more => format!("made-up-farm-{more}.logbook"),
        };
        let file = folder.join(name);
        if !file.exists() {
            make(&file, folder, reader, progress)?;
            return Ok(file);
        }
        let whole = Session::open(&file, reader).and_then(|session| session.setting(MARK));
        if matches!(whole, Ok(Some(_))) {
            return Ok(file);
        }
        number += 1;
    }
}

fn make(file: &Path, folder: &Path, reader: &str, progress: &Progress) -> Result<(), MadeUpError> {
    let here = PathBuf::from("sample-images");
    let images = if here.join("sample.csv").is_file() {
        here
    } else {
        let painted = folder.join("sample-images");
        if !painted.join("README.md").is_file() {
            paint_sample(&painted, SEED, progress)?;
        }
        painted
    };
    let lines = read_sample(&images.join("sample.csv"))?;
    let (mut session, sample) = Session::create_made_up_farm(file, &[], UM_PER_PX)?;
    session.set_reader(reader);
    let microscope = session.microscopes()?.first().map(Kept::thing);
    morning(&mut session, sample, microscope, &images, &lines)?;
    session.set_setting(MARK, json!(true))?;
    Ok(())
}

fn morning(
    session: &mut Session,
    sample: SampleId,
    microscope: Option<MicroscopeId>,
    images: &Path,
    lines: &[SampleLine],
) -> Result<(), MadeUpError> {
    for (i, line) in lines.iter().enumerate() {
        let animal = session.add_animal(&Animal {
            station: line.station.clone(),
            shell: line.shell,
            ..Animal::of(sample, line.animal.clone(), i as i64 + 1)
        })?;
        let how = PhotoImport {
            shows: Shows::This(animal),
            microscope,
            ..PhotoImport::COPIED
        };
        let came = session.import_photos(sample, &[images.join(&line.photo)], how)?;
        if let Some((_, error)) = came.failed.into_iter().next() {
            return Err(error.into());
        }
    }
    Ok(())
}
