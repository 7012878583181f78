//! Second readings by a file: slides out, read elsewhere in the same program, the answer back.

use crate::exchange::blind;
use crate::exchange::blind::BlindAnswer;
use crate::exchange::blind::BlindError;
use crate::exchange::blind::BlindList;
use crate::exchange::blind::BlindPhoto;
use crate::exchange::blind::BlindSlide;
use crate::exchange::blind::BlindWriter;
use crate::micrograph::decode;
use crate::micrograph::decode::Limits;
use crate::micrograph::encode::displayed;
use crate::micrograph::encode::encode_jpeg;
use crate::progress::Progress;
use crate::records::ids::AnimalId;
use crate::records::ids::BlindRoundId;
use crate::records::ids::ThingId as _;
use crate::records::pictures::Photo;
use crate::records::rounds::BlindCall;
use crate::records::rounds::BlindRound;
use crate::records::table::Kept;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::photos::read_limited;
use crate::workflow::logbook::photos::write_whole;
use crate::workflow::second::error::SecondError;
use crate::workflow::second::rounds::RoundPlan;
use crate::workflow::second::rounds::TakenCalls;
use crate::workflow::second::rounds::same_person;
use std::collections::BTreeMap;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::path::PathBuf;

/// Quality at which photos are coded anew.
///
/// # Source
/// Our choice: no loss that an eye sees, a third of the size of a lossless file.
const QUALITY: u8 = 93;

/// A round that was written into a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentRound {
    /// The round.
    pub round: BlindRoundId,
    /// Its slides.
    pub slides: usize,
    /// Marked slides among them.
    pub marked: usize,
    /// Size of the file in bytes.
    pub bytes: u64,
}

/// A file of blind slides that is being read.
#[derive(Debug, Clone, PartialEq)]
pub struct BlindInHand {
    /// The file.
    pub file: PathBuf,
    /// Where the answer is written, after every call.
    pub answer: PathBuf,
    /// Who is to read.
    pub reader: String,
    /// The slides: the places of the photos of each, with their hashes and scales.
    pub slides: Vec<BlindSlideInHand>,
    key: String,
    of: String,
    calls: BTreeMap<u32, BlindCall>,
}

/// A slide of a file that is being read.
#[derive(Debug, Clone, PartialEq)]
pub struct BlindSlideInHand {
    /// Its number.
    pub number: u32,
    /// Its photos.
    pub photos: Vec<BlindPhotoInHand>,
}

/// A photo of a slide that is read blind.
#[derive(Debug, Clone, PartialEq)]
pub struct BlindPhotoInHand {
    /// Where it lies.
    pub path: PathBuf,
    /// BLAKE3 hash of its bytes.
    pub hash: String,
    /// Micrometres per pixel, where known.
    pub um_per_px: Option<f64>,
}

impl BlindPhotoInHand {
    /// Lays the photo into a folder under its shuffled number, as its pixels alone. Gives its place.
    ///
    /// # Errors
    /// [`SecondError`] when it cannot be read or written.
    pub fn lay_into(&self, folder: &Path, number: u32, at: usize) -> Result<PathBuf, SecondError> {
        let place = folder.join(format!("slide-{number:03}-{at}.jpg"));
        let io_at = |file: &Path| {
            let file = file.to_owned();
            move |source| BlindError::Io { source, file }
        };
        let bytes = read_limited(&self.path).map_err(io_at(&self.path))?;
        let (bytes, _) = stripped(&bytes, &place.display().to_string())?;
        fs::create_dir_all(folder).map_err(io_at(folder))?;
        replace(&place, &bytes)?;
        Ok(place)
    }
}

/// The folder below which slides that are read blind are laid: in the cache of this user, else in
/// the folder in which the program runs.
pub fn slides_folder() -> PathBuf {
    let dirs = directories::ProjectDirs::from("", "", "tailfan");
    dirs.map(|dirs| dirs.cache_dir().to_owned())
        .unwrap_or_default()
}

impl Session {
    /// The slides of a round, as they are shown to its reader.
    ///
    /// # Errors
    /// [`SecondError`] when a photo is gone or was changed.
    pub fn round_slides(&self, round: &BlindRound) -> Result<Vec<BlindSlideInHand>, SecondError> {
        let mut slides = Vec::with_capacity(round.slides.len());
        for slide in &round.slides {
            let mut photos = Vec::with_capacity(slide.photos.len());
            for id in &slide.photos {
                let photo = self.see(|view| view.standing::<Photo>(*id))?.body;
                photos.push(BlindPhotoInHand {
                    path: self.photo_file(&photo),
                    hash: photo.hash.clone(),
                    um_per_px: photo.um_per_px,
                });
            }
            slides.push(BlindSlideInHand {
                number: slide.number,
                photos,
            });
        }
        Ok(slides)
    }

    /// The photos of an animal, as they are shown side by side.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn photos_of_animal(&self, id: AnimalId) -> Result<Vec<BlindPhotoInHand>, SessionError> {
        let mut photos = self.see(|view| view.naming::<Photo>("animal", id.row()))?;
        photos.sort_by_key(|photo| (photo.body.position, photo.head.of));
        let of = |photo: &Kept<Photo>| BlindPhotoInHand {
            path: self.photo_file(&photo.body),
            hash: photo.body.hash.clone(),
            um_per_px: photo.body.um_per_px,
        };
        Ok(photos.iter().map(of).collect())
    }

    /// Draws a round and writes its slides into one file, to be read elsewhere: photos coded anew
    /// under shuffled numbers, with their scale and nothing else of what is known of them. The file
    /// must not be there yet.
    ///
    /// # Errors
    /// [`SecondError`] when no slide is left, a photo is gone, or the file cannot be written; nothing
    /// is then kept.
    pub fn send_round(
        &mut self,
        plan: &RoundPlan,
        file: &Path,
        progress: &Progress,
    ) -> Result<SentRound, SecondError> {
        let drawn = self.draw_round(plan)?;
        if drawn.slides.len() > blind::MOST_SLIDES {
            return Err(SecondError::TooManySlides(drawn.slides.len()));
        }
        let mut out = BlindWriter::begin(file)?;
        let mut slides = Vec::with_capacity(drawn.slides.len());
        progress.begin(drawn.slides.len());
        for slide in &drawn.slides {
            let mut photos = Vec::with_capacity(slide.photos.len());
            for (at, id) in (1..).zip(&slide.photos) {
                let photo = self.see(|view| view.standing::<Photo>(*id))?.body;
                let (bytes, stated) = stripped(&self.photo_bytes(&photo)?, &photo.name)?;
                let um_per_px = photo.um_per_px.or(stated);
                photos.push(out.add(slide.number, at, &bytes, um_per_px)?);
            }
            slides.push(BlindSlide {
                number: slide.number,
                photos,
            });
            progress.step()?;
        }
        let key = Self::fresh_key();
        let sent = out.end(&BlindList::new(&drawn.reader, &key, slides))?;
        let round = BlindRound {
            sent: Some(sent),
            key: Some(key),
            ..drawn
        };
        match self.keep_round(&round) {
            Ok(id) => Ok(SentRound {
                round: id,
                slides: round.slides.len(),
                marked: round.marked as usize,
                bytes: fs::metadata(file).map_or(0, |about| about.len()),
            }),
            Err(error) => {
                // A file that the logbook does not know could never be answered.
                fs::remove_file(file).ok();
                Err(error.into())
            }
        }
    }

    /// Takes the answer of a reader elsewhere into the logbook; taken in twice, nothing changes.
    ///
    /// # Errors
    /// [`SecondError`] for a file that is no answer, was changed, or answers a round that this
    /// logbook did not send; nothing is then taken in.
    pub fn take_answer(&mut self, file: &Path) -> Result<(BlindRoundId, TakenCalls), SecondError> {
        let rounds = self.rounds()?;
        let sent_as = |of: &str| rounds.iter().find(|r| r.body.sent.as_deref() == Some(of));
        let unknown = || SecondError::UnknownRound {
            file: file.to_owned(),
        };
        let answer = blind::read_answer(file, |of| {
            let round = sent_as(of).ok_or_else(unknown)?;
            round.body.key.clone().ok_or_else(unknown)
        })?;
        let round = sent_as(&answer.of).ok_or_else(unknown)?;
        if !same_person(&round.body.reader, &answer.reader) {
            return Err(SecondError::OtherReader {
                wanted: round.body.reader.clone(),
                found: answer.reader,
                file: file.to_owned(),
            });
        }
        let id = round.thing();
        Ok((id, self.take_second_calls(id, &answer.calls)?))
    }
}

/// Opens a file of blind slides: everything in it is checked, then its photos are laid into a folder
/// of their own below `folder`. An answer that was begun beside the file is taken up.
///
/// # Errors
/// [`SecondError`] for a file that is foreign, cut off, changed or too large.
pub fn open_blind(file: &Path, folder: &Path) -> Result<BlindInHand, SecondError> {
    // The list is not known before the photos are handed over, so they go by their own hashes.
    let folder = folder.join("blind-slides");
    let place = |photo: &BlindPhoto| folder.join(format!("{}.jpg", photo.blake3));
    let (list, of) = blind::read_blind(file, |photo: &BlindPhoto, bytes: &[u8]| {
        let to = place(photo);
        write_whole(&to, bytes).map_err(|source| {
            SecondError::from(BlindError::Io {
                source,
                file: to.clone(),
            })
        })
    })?;
    let slides = list.slides.iter().map(|slide| BlindSlideInHand {
        number: slide.number,
        photos: slide
            .photos
            .iter()
            .map(|photo| BlindPhotoInHand {
                path: place(photo),
                hash: photo.blake3.clone(),
                um_per_px: photo.um_per_px,
            })
            .collect(),
    });
    let mut hand = BlindInHand {
        file: file.to_owned(),
        answer: answer_place(file),
        reader: list.reader.clone(),
        slides: slides.collect(),
        key: list.key,
        of,
        calls: BTreeMap::new(),
    };
    if hand.answer.exists() {
        let begun: BlindAnswer = blind::read_answer(&hand.answer, |of| {
            if of == hand.of {
                Ok(hand.key.clone())
            } else {
                Err(SecondError::OtherAnswer {
                    file: hand.answer.clone(),
                })
            }
        })?;
        hand.calls = begun.calls.into_iter().map(|c| (c.number, c)).collect();
    }
    Ok(hand)
}

/// Where the answer to a file of blind slides is written: beside it.
pub fn answer_place(file: &Path) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    file.with_file_name(format!("{stem}-answer.jsonl"))
}

impl BlindInHand {
    /// Takes a call; it is on the disk, in the answer, when this returns. A slide can be called anew.
    ///
    /// # Errors
    /// [`SecondError`] for a number that the file does not have, or an answer that cannot be written.
    pub fn call(&mut self, call: BlindCall) -> Result<(), SecondError> {
        if !self.slides.iter().any(|slide| slide.number == call.number) {
            return Err(SecondError::NoSlide {
                number: call.number,
                last: self.slides.len(),
            });
        }
        let mut calls = self.calls.clone();
        calls.insert(call.number, call);
        let answer = BlindAnswer::new(&self.of, &self.reader, calls.values().cloned().collect());
        let bytes = blind::answer_bytes(&answer, &self.key, &self.answer)?;
        replace(&self.answer, &bytes)?;
        self.calls = calls;
        Ok(())
    }

    /// The calls so far, by number.
    pub const fn calls(&self) -> &BTreeMap<u32, BlindCall> {
        &self.calls
    }
}

/// Puts a file in the place of what was there, whole or not at all.
fn replace(file: &Path, bytes: &[u8]) -> Result<(), BlindError> {
    let io_at = |source| BlindError::Io {
        source,
        file: file.to_owned(),
    };
    let part = file.with_extension(format!("part{}", std::process::id()));
    let written = fs::File::create(&part).and_then(|mut whole| {
        whole.write_all(bytes)?;
        whole.sync_all()
    });
    written
        .and_then(|()| fs::rename(&part, file))
        .map_err(|source| {
            fs::remove_file(&part).ok();
            io_at(source)
        })
}

/// A photo as its pixels alone, upright: no name, date, place, thumbnail or comment of the original.
/// The scale that its metadata state, in micrometres per pixel, is given beside it.
pub(in crate::workflow) fn stripped(
    bytes: &[u8],
    name: &str,
) -> Result<(Vec<u8>, Option<f64>), SecondError> {
    let decoded = decode::decode_bytes(bytes, &Limits::default()).map_err(|source| {
        let name = name.to_owned();
        SecondError::Photo { name, source }
    })?;
    let scale = decoded.scale.map(|scale| scale.value.get());
    let coded = encode_jpeg(&displayed(&decoded.micrograph), QUALITY);
    let coded = coded.map_err(|source| {
        let name = name.to_owned();
        SecondError::Encode { name, source }
    })?;
    Ok((coded, scale))
}
