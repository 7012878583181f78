//! Photos of a sample: bringing them in, assigning them, finding their files, keeping readings.

use crate::measure::MEASURING_VERSION;
use crate::micrograph::decode::Limits;
use crate::micrograph::scale::ScaleSource;
use crate::micrograph::size::size_as_displayed;
use crate::records::Reading;
use crate::records::ids::AnimalId;
use crate::records::ids::MicroscopeId;
use crate::records::ids::PhotoId;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::ids::ThingId as _;
use crate::records::measures::KeptMeasures;
use crate::records::measures::Measures;
use crate::records::pictures::KeptReading;
use crate::records::pictures::Microscope;
use crate::records::pictures::Photo;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::records::words::Branch;
use crate::records::words::Keeping;
use crate::records::words::Mount;
use crate::records::words::Side;
use crate::records::words::Site;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::own_slides::ComingReading;
use crate::workflow::logbook::samples::numbered;
use std::fs;
use std::fs::File;
use std::io;
use std::io::Read as _;
use std::io::Write as _;
use std::path::Path;
use std::path::PathBuf;

/// How photos come in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PhotoImport {
    /// Copied beside the logbook, or linked where they lie.
    pub keeping: Keeping,
    /// Which animals they show.
    pub shows: Shows,
    /// The microscope, whose profile gives the scale.
    pub microscope: Option<MicroscopeId>,
    /// Branch of the uropod.
    pub branch: Option<Branch>,
    /// Side of the animal.
    pub side: Option<Side>,
    /// Part of the margin.
    pub site: Option<Site>,
    /// What the tissue is.
    pub mount: Option<Mount>,
}

impl PhotoImport {
    /// Copied, each photo a new animal, nothing else known.
    pub const COPIED: Self = Self {
        keeping: Keeping::Copied,
        shows: Shows::NewAnimals,
        microscope: None,
        branch: None,
        side: None,
        site: None,
        mount: None,
    };
}

/// Which animals photos show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shows {
    /// Each a new animal, numbered on.
    NewAnimals,
    /// All of them this one.
    This(AnimalId),
    /// To be assigned later.
    ToBeAssigned,
}

/// What became of photos that were to come in.
#[derive(Debug, Default)]
pub struct ImportedPhotos {
    /// Those that came in.
    pub came: Vec<PhotoId>,
    /// Those that the sample had already, by content.
    pub already: Vec<PathBuf>,
    /// Those that could not be read or copied, and why.
    pub failed: Vec<(PathBuf, SessionError)>,
}

impl Session {
    /// Brings photos into a sample, in the order given, as one action. A photo that cannot be read
    /// does not keep the others out. Photos are on the disk before the action is confirmed.
    ///
    /// # Errors
    /// [`SessionError`] when the sample is not there or the logbook cannot be written.
    pub fn import_photos(
        &mut self,
        sample: SampleId,
        files: &[PathBuf],
        how: PhotoImport,
    ) -> Result<ImportedPhotos, SessionError> {
        let mut result = ImportedPhotos::default();
        let known = self.photos_of(sample)?;
        let mut hashes: Vec<String> = known.iter().map(|kept| kept.body.hash.clone()).collect();
        let scale = how
            .microscope
            .map(|id| self.see(|view| view.standing::<Microscope>(id)))
            .transpose()?;
        let mut photos = Vec::new();
        for file in files {
            match self.bring(sample, file, how.keeping) {
                Ok(photo) if hashes.contains(&photo.hash) => result.already.push(file.clone()),
                Ok(photo) => {
                    hashes.push(photo.hash.clone());
                    photos.push(photo);
                }
                Err(error) => result.failed.push((file.clone(), error)),
            }
        }
        let place = known
            .iter()
            .map(|kept| kept.body.position)
            .max()
            .unwrap_or(0);
        let animals_from = self.next_position(sample)?;
        if photos.is_empty() {
            return Ok(result);
        }
        result.came = self.act(ActionKind::ImportPhotos, Some(sample.row()), |change| {
            (1..)
                .zip(photos)
                .map(|(at, photo)| {
                    let animal = match how.shows {
                        Shows::NewAnimals => {
                            let animal = numbered(sample, animals_from + at - 1);
                            Some(change.add(&animal)?)
                        }
                        Shows::This(animal) => Some(animal),
                        Shows::ToBeAssigned => None,
                    };
                    change.add(&Photo {
                        animal,
                        position: place + at,
                        um_per_px: scale.as_ref().map(|kept| kept.body.um_per_px),
                        scale_source: if scale.is_some() {
                            ScaleSource::Profile
                        } else {
                            ScaleSource::None
                        },
                        microscope: how.microscope,
                        branch: how.branch,
                        side: how.side,
                        site: how.site,
                        mount: how.mount,
                        ..photo
                    })
                })
                .collect()
        })?;
        Ok(result)
    }

    /// Reads a photo's file and, where it is to be copied, copies it.
    pub(in crate::workflow::logbook) fn bring(
        &self,
        sample: SampleId,
        file: &Path,
        keeping: Keeping,
    ) -> Result<Photo, SessionError> {
        let failed = |what| {
            let path = file.to_owned();
            move |source| SessionError::Files { what, path, source }
        };
        let bytes = read_limited(file).map_err(failed("the photo cannot be read"))?;
        let hash = blake3::hash(&bytes).to_hex().to_string();
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        let link = match keeping {
            Keeping::Copied => {
                let copy = self.photo_folder().join(place_of(&hash, &name));
                write_whole(&copy, &bytes).map_err(|source| SessionError::Files {
                    what: "the photo cannot be copied beside the logbook",
                    path: copy,
                    source,
                })?;
                None
            }
            Keeping::Linked => {
                let place = std::path::absolute(file).map_err(failed("the photo has no place"))?;
                Some(place.to_string_lossy().into_owned())
            }
        };
        let size = size_as_displayed(&bytes);
        Ok(Photo {
            bytes: bytes.len() as i64,
            width_px: size.map(|size| i64::from(size.0)),
            height_px: size.map(|size| i64::from(size.1)),
            keeping,
            link,
            ..Photo::of(sample, name, hash)
        })
    }

    /// The photos of a sample.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn photos_of(&self, sample: SampleId) -> Result<Vec<Kept<Photo>>, SessionError> {
        self.see(|view| view.naming::<Photo>("sample", sample.row()))
    }

    /// Where a photo's file should lie now; not looked for. Only [`Session::photo_bytes`] tells
    /// whether it is still the same.
    pub fn photo_file(&self, photo: &Photo) -> PathBuf {
        let place = place_of(&photo.hash, &photo.name);
        let copy = self.photo_folder().join(place);
        match (photo.keeping, &photo.link) {
            // One that came with an export has a copy here.
            (Keeping::Linked, Some(link)) if Path::new(link).exists() || !copy.exists() => {
                PathBuf::from(link)
            }
            _ => copy,
        }
    }

    /// The bytes of a photo's file, checked against what came in.
    ///
    /// # Errors
    /// [`SessionError::PhotoGone`] or [`SessionError::PhotoChanged`] when it is not what came in.
    pub fn photo_bytes(&self, photo: &Photo) -> Result<Vec<u8>, SessionError> {
        let path = self.photo_file(photo);
        let name = photo.name.clone();
        let Ok(bytes) = read_limited(&path) else {
            return Err(SessionError::PhotoGone { name, path });
        };
        if blake3::hash(&bytes).to_hex().as_str() == photo.hash {
            Ok(bytes)
        } else {
            Err(SessionError::PhotoChanged { name, path })
        }
    }

    /// Assigns a photo to an animal, or to none.
    ///
    /// # Errors
    /// [`SessionError`] when photo or animal is not there.
    pub fn assign_photo(
        &mut self,
        id: PhotoId,
        animal: Option<AnimalId>,
    ) -> Result<(), SessionError> {
        self.act(ActionKind::AssignPhoto, Some(id.row()), |change| {
            let photo = change.view().standing::<Photo>(id)?.body;
            change.edit(id, &Photo { animal, ..photo }).map(drop)
        })
    }

    /// Changes what is known of a photo: scale, branch, side, mount, note.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn edit_photo(&mut self, id: PhotoId, photo: &Photo) -> Result<(), SessionError> {
        self.act(ActionKind::EditPhoto, Some(id.row()), |change| {
            change.edit(id, photo).map(drop)
        })
    }

    /// Takes a photo out of its sample; its file stays.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn withdraw_photo(&mut self, id: PhotoId) -> Result<(), SessionError> {
        self.act(ActionKind::Withdraw, Some(id.row()), |change| {
            change.withdraw::<Photo>(id)
        })
    }

    /// Keeps a reading of a photo. One that was never made by the program but corrected by hand
    /// names the reading it is `based_on`; its author is the person who opened the logbook. A reading is
    /// never changed: a later one is kept beside it. Gives the id of its row.
    ///
    /// # Errors
    /// [`SessionError`] when the photo is not there.
    pub fn keep_reading(
        &mut self,
        photo: PhotoId,
        reading: &Reading,
        based_on: Option<RowId>,
    ) -> Result<RowId, SessionError> {
        self.keep_measured(photo, reading, None, based_on)
    }

    /// As [`Session::keep_reading`], with everything that was measured, so that the photo need not be
    /// measured again for training or for another model.
    ///
    /// # Errors
    /// [`SessionError`] when the photo is not there.
    pub fn keep_measured(
        &mut self,
        photo: PhotoId,
        reading: &Reading,
        measures: Option<&Measures>,
        based_on: Option<RowId>,
    ) -> Result<RowId, SessionError> {
        let kept = KeptReading {
            photo,
            reading: reading.clone(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
            measuring_version: i64::from(MEASURING_VERSION),
            model: reading.model.clone(),
            author: based_on.map(|_| self.reader().to_owned()),
            based_on,
        };
        // What a person corrected can be taken back as every other edit; what the program read cannot.
        let kind = if based_on.is_some() {
            ActionKind::EditPhoto
        } else {
            ActionKind::Read
        };
        self.act(kind, Some(photo.row()), |change| {
            let reading = change.add(&kept)?.row();
            if let Some(measures) = measures {
                change.add(&KeptMeasures {
                    photo,
                    reading,
                    measuring_version: i64::from(MEASURING_VERSION),
                    measures: measures.clone(),
                })?;
            }
            Ok(reading)
        })
    }

    /// Keeps readings that the program made, with their measures, as one action.
    ///
    /// # Errors
    /// [`SessionError`] when a photo is not there.
    pub(in crate::workflow) fn keep_readings(
        &mut self,
        coming: &[ComingReading],
    ) -> Result<(), SessionError> {
        if coming.is_empty() {
            return Ok(());
        }
        self.act(ActionKind::Read, None, |change| {
            for (photo, reading, measures) in coming {
                let kept = change.add(&KeptReading {
                    photo: *photo,
                    reading: reading.clone(),
                    program: env!("CARGO_PKG_VERSION").to_owned(),
                    measuring_version: i64::from(MEASURING_VERSION),
                    model: reading.model.clone(),
                    author: None,
                    based_on: None,
                })?;
                if let Some(measures) = measures {
                    change.add(&KeptMeasures {
                        photo: *photo,
                        reading: kept.row(),
                        measuring_version: i64::from(MEASURING_VERSION),
                        measures: measures.clone(),
                    })?;
                }
            }
            Ok(())
        })
    }

    /// What was measured in a photo last under this program's version of the measuring; absent when it
    /// has to be measured again.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn measures_of(&self, photo: PhotoId) -> Result<Option<Measures>, SessionError> {
        let mut kept = self.see(|view| view.naming::<KeptMeasures>("photo", photo.row()))?;
        kept.retain(|kept| kept.body.measuring_version == i64::from(MEASURING_VERSION));
        let latest = kept.into_iter().max_by_key(|kept| kept.head.id);
        Ok(latest
            .map(|kept| kept.body.measures)
            .filter(Measures::is_sound))
    }

    /// The reading of a photo made last; absent when it was never read.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn reading_of(&self, photo: PhotoId) -> Result<Option<Kept<KeptReading>>, SessionError> {
        Ok(self.readings_of(photo)?.pop())
    }

    /// Every reading of a photo, the latest last.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn readings_of(&self, photo: PhotoId) -> Result<Vec<Kept<KeptReading>>, SessionError> {
        self.see(|view| view.naming::<KeptReading>("photo", photo.row()))
    }
}

/// Where a copied photo lies within the photo folder: by its hash, with the ending of its name as
/// far as that is letters and digits.
pub(in crate::workflow) fn place_of(hash: &str, name: &str) -> PathBuf {
    let ending = Path::new(name)
        .extension()
        .map(|ending| ending.to_string_lossy().to_ascii_lowercase())
        .filter(|ending| ending.len() <= 5 && ending.bytes().all(|b| b.is_ascii_alphanumeric()));
    let folder = hash.get(..2).unwrap_or("00");
    let file = match ending {
        Some(ending) => format!("{hash}.{ending}"),
        None => hash.to_owned(),
    };
    Path::new(folder).join(file)
}

/// Reads a file of at most the largest size of a photo.
pub(in crate::workflow) fn read_limited(file: &Path) -> io::Result<Vec<u8>> {
    let most = Limits::default().file_bytes;
    if !fs::metadata(file)?.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "not a file"));
    }
    let mut bytes = Vec::new();
    let read = File::open(file)?.take(most + 1).read_to_end(&mut bytes)?;
    if read as u64 > most {
        return Err(io::ErrorKind::FileTooLarge.into());
    }
    Ok(bytes)
}

/// Writes a file whole or not at all; one that is there already with as many bytes is left.
pub(in crate::workflow) fn write_whole(file: &Path, bytes: &[u8]) -> io::Result<()> {
    if fs::metadata(file).is_ok_and(|there| there.len() == bytes.len() as u64) {
        return Ok(());
    }
    let folder = file.parent().unwrap_or_else(|| Path::new(""));
    fs::create_dir_all(folder)?;
    let part = file.with_extension(format!("part{}", std::process::id()));
    let written = File::create(&part).and_then(|mut whole| {
        whole.write_all(bytes)?;
        whole.sync_all()
    });
    if let Err(error) = written.and_then(|()| fs::rename(&part, file)) {
        drop(fs::remove_file(&part));
        return Err(error);
    }
    sync_folder(folder)
}

/// Makes the names in a folder as safe as the files, where the system can.
pub(in crate::workflow) fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) && !folder.as_os_str().is_empty() {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}
