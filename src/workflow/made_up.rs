//! The made-up farm: a logbook of its own with a morning's sample to be read and an older one that
//! was read. Everything in it is invented, and it says so.

use crate::exchange::sample::SampleError;
use crate::exchange::sample::SampleLine;
use crate::exchange::sample::read_sample;
use crate::moult::Stage;
use crate::progress::Progress;
use crate::records::ids::MicroscopeId;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::pictures::Microscope;
use crate::records::places::Animal;
use crate::records::places::Outcome;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::stamp::Stamp;
use crate::texts::window;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::calls::CalledByName;
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
/// The setting that stands in a made-up logbook once it is whole.
pub const MARK: &str = "made_up";

/// The calls of the older sample: as many animals in each stage.
const OLDER: [(Stage, usize); 7] = [
    (Stage::A, 1),
    (Stage::B, 2),
    (Stage::C, 4),
    (Stage::D0, 3),
    (Stage::D1, 7),
    (Stage::D2, 8),
    (Stage::D3, 5),
];

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
    let mut session = Session::create(file, window::MADE_UP_FARM, reader)?;
    let pond = session.add_pond(&Pond {
        species: Some("vannamei".to_owned()),
        note: Some(window::MADE_UP.to_owned()),
        ..Pond::named(window::MADE_UP_POND)
    })?;
    older(&mut session, pond)?;
    let microscope = session.add_microscope(&microscope())?;
    let now = Session::now();
    let sample = session.new_sample(&Sample {
        mean_weight_g: Some(14.0),
        water_c: Some(28.0),
        animals_wanted: Some(lines.len() as i64),
        note: Some(window::MADE_UP.to_owned()),
        harvest_start: now.later(1.0),
        drain_hours: Some(24.0),
        ..Sample::netted(pond, now)
    })?;
    morning(&mut session, sample, microscope, &images, &lines)?;
    session.set_setting(MARK, json!(true))?;
    Ok(())
}

/// A sample of some days before, called, with what the harvest turned out to be.
fn older(session: &mut Session, pond: PondId) -> Result<(), MadeUpError> {
    let now = Session::now();
    let then = now.later(-6.0).unwrap_or(now);
    let sample = session.new_sample(&Sample {
        mean_weight_g: Some(13.4),
        water_c: Some(28.5),
        note: Some(window::MADE_UP.to_owned()),
        ..Sample::netted(pond, then)
    })?;
    let stages = OLDER
        .iter()
        .flat_map(|(stage, count)| std::iter::repeat_n(*stage, *count));
    for (i, stage) in stages.enumerate() {
        let line = CalledByName {
            animal: format!("{:02}", i + 1),
            stage: Some(stage),
            shell: None,
            station: None,
        };
        session.call_by_name(sample, &line)?;
    }
    let harvested: Stamp = then.later(1.0).unwrap_or(then);
    session.add_outcome(&Outcome {
        pond,
        sample: Some(sample),
        harvested,
        ended: then.later(1.5),
        animals_checked: Some(60),
        soft_found: Some(9),
        harvest_kg: None,
        refused_kg: None,
        note: Some(window::MADE_UP.to_owned()),
    })?;
    Ok(())
}

fn microscope() -> Microscope {
    Microscope {
        name: window::MADE_UP_MICROSCOPE.to_owned(),
        camera: None,
        objective: None,
        um_per_px: UM_PER_PX,
        error_um_per_px: None,
        division_um: None,
        photo_hash: None,
        calibrated: None,
        note: Some(window::MADE_UP.to_owned()),
    }
}

fn morning(
    session: &mut Session,
    sample: SampleId,
    microscope: MicroscopeId,
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
            microscope: Some(microscope),
            ..PhotoImport::COPIED
        };
        let came = session.import_photos(sample, &[images.join(&line.photo)], how)?;
        if let Some((_, error)) = came.failed.into_iter().next() {
            return Err(error.into());
        }
    }
    Ok(())
}
