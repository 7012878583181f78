//! Practice rounds: slides of settled stage read without any hint, timed, and what came of it.
//!
//! A farm without settled slides can practise on painted ones, whose truth is known because they
//! were painted so; rounds on them are marked, since they say nothing of real tips.

pub mod error;

pub mod plan;

pub mod score;

use crate::micrograph::encode::encode_jpeg;
use crate::moult::Stage;
use crate::painter::condition::Condition;
use crate::painter::paint;
use crate::painter::population::draw_scene;
use crate::progress::Progress;
use crate::records::ids::AnimalId;
use crate::records::ids::PhotoId;
use crate::records::ids::PracticeRoundId;
use crate::records::ids::ThingId as _;
use crate::records::pictures::Photo;
use crate::records::rounds::PracticeRound;
use crate::records::rounds::PractisedSlide;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::records::words::Evidence;
use crate::workflow::animals::animal_proposal;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::photos::write_whole;
use crate::workflow::practice::error::PracticeError;
use crate::workflow::practice::plan::PoolSlide;
use crate::workflow::practice::plan::Source;
use crate::workflow::practice::plan::draw;
use crate::workflow::practice::score::PracticeScore;
use crate::workflow::practice::score::Standard;
use crate::workflow::practice::score::score;
use crate::workflow::second::away::BlindPhotoInHand;
use crate::workflow::second::rounds::same_person;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::path::Path;

/// Slides of a round where nobody says.
///
/// # Source
/// Our choice: as many as a netting has animals, read in some minutes.
pub const USUAL_SLIDES: usize = 21;
/// Most slides of a round.
pub const MOST_SLIDES: usize = 200;
/// Key of the setting that holds the [`Standard`].
const STANDARD: &str = "practice_standard";

/// A slide to practise on; its stage is not to be shown before it is called.
#[derive(Debug, Clone, PartialEq)]
pub struct PracticeSlide {
    /// What it is.
    pub truth: Stage,
    /// Its photos.
    pub photos: Vec<BlindPhotoInHand>,
    /// The animal; absent for a painted slide.
    pub animal: Option<AnimalId>,
    /// Seed of a painted slide.
    pub painted: Option<u64>,
}

/// A practice round before it is read.
#[derive(Debug, Clone, PartialEq)]
pub struct PracticeInHand {
    /// Who practises.
    pub reader: String,
    /// Seed of the draw.
    pub seed: u64,
    /// Whether the slides are painted.
    pub painted: bool,
    /// The slides in the order of reading.
    pub slides: Vec<PracticeSlide>,
}

/// What a reader said of one practice slide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PracticeCall {
    /// The stage; absent when the reader could not tell.
    pub call: Option<Stage>,
    /// How long the reader looked, seconds.
    pub seconds: f64,
}

/// A practice round that was kept, with its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct PastPractice {
    /// The round.
    pub round: Kept<PracticeRound>,
    /// Its figures.
    pub score: PracticeScore,
}

impl PracticeInHand {
    /// The round as it is kept, of the slides that were called.
    pub fn ended(&self, calls: &[PracticeCall], standard: &Standard) -> PracticeRound {
        let slides = self
            .slides
            .iter()
            .zip(calls)
            .map(|(slide, call)| PractisedSlide {
                truth: slide.truth,
                call: call.call,
                seconds: call.seconds,
                animal: slide.animal,
                painted: slide.painted.map(|seed| seed as i64),
            });
        let round = PracticeRound {
            reader: self.reader.clone(),
            ended: Session::now(),
            seed: self.seed as i64,
            painted: self.painted,
            slides: slides.collect(),
            certificate: None,
        };
        let certificate = score(&round, standard).certificate(&round, standard);
        PracticeRound {
            certificate,
            ..round
        }
    }
}

/// Paints a practice round into a folder, under names that say nothing. The same reader, count and
/// seed give the same slides.
///
/// # Errors
/// [`PracticeError`] when a slide cannot be written, or the work was stopped.
pub fn paint_practice(
    reader: &str,
    slides: usize,
    seed: u64,
    folder: &Path,
    progress: &Progress,
) -> Result<PracticeInHand, PracticeError> {
    let slides = checked(reader, slides)?;
    let mut pool = Vec::new();
    for (at, stage) in Stage::PROPOSED.into_iter().enumerate() {
        pool.extend((0..slides as u64).map(|number| PoolSlide {
            truth: stage,
            near: false,
            seen: false,
            source: Source::Painted(painted_seed(seed, at as u64, number)),
        }));
    }
    let drawn = draw(&pool, slides, seed);
    progress.begin(drawn.len());
    let folder = folder.join("practice-slides");
    let slides: Vec<PracticeSlide> = drawn
        .par_iter()
        .map(|at| {
            let of = &pool[*at];
            let Source::Painted(seed) = of.source else {
                return Err(PracticeError::TooFew {
                    reader: reader.to_owned(),
                });
            };
            let painted = paint(&draw_scene(of.truth, Condition::Standard, seed));
            let bytes = encode_jpeg(&painted.picture, 92)?;
            let hash = blake3::hash(&bytes).to_hex().to_string();
            let path = folder.join(format!("{hash}.jpg"));
            write_whole(&path, &bytes).map_err(|source| PracticeError::Write {
                source,
                file: path.clone(),
            })?;
            progress.step()?;
            // A tip whose criteria are out of step is what the rule says, not what was asked for.
            let truth = painted.truth.stage.parse().unwrap_or(of.truth);
            Ok(PracticeSlide {
                truth,
                photos: vec![BlindPhotoInHand {
                    path,
                    hash,
                    um_per_px: Some(painted.truth.umpx),
                }],
                animal: None,
                painted: Some(seed),
            })
        })
        .collect::<Result<_, PracticeError>>()?;
    Ok(PracticeInHand {
        reader: reader.trim().to_owned(),
        seed,
        painted: true,
        slides,
    })
}

fn painted_seed(seed: u64, stage: u64, number: u64) -> u64 {
    let mut hasher = blake3::Hasher::new();
    for part in [seed, stage, number] {
        hasher.update(&part.to_le_bytes());
    }
    let mut own = [0; 8];
    own.copy_from_slice(&hasher.finalize().as_bytes()[..8]);
    u64::from_le_bytes(own) >> 1
}

fn checked(reader: &str, slides: usize) -> Result<usize, PracticeError> {
    if reader.trim().is_empty() {
        return Err(PracticeError::NoReader);
    }
    if !(1..=MOST_SLIDES).contains(&slides) {
        return Err(PracticeError::Slides(slides));
    }
    Ok(slides)
}

impl Session {
    /// Draws a practice round of settled slides for a reader: all stages, and the borders of soft
    /// and due more often; slides that the reader has not seen come first.
    ///
    /// # Errors
    /// [`PracticeError::TooFew`] when no slide is settled.
    pub fn begin_practice(
        &self,
        reader: &str,
        slides: usize,
        seed: u64,
    ) -> Result<PracticeInHand, PracticeError> {
        let slides = checked(reader, slides)?;
        let pool = self.settled_slides(reader)?;
        let drawn = draw(&pool, slides, seed);
        if drawn.is_empty() {
            return Err(PracticeError::TooFew {
                reader: reader.to_owned(),
            });
        }
        let mut slides = Vec::with_capacity(drawn.len());
        for at in drawn {
            let of = &pool[at];
            let Source::Settled(animal, photos) = &of.source else {
                continue;
            };
            let mut own = Vec::with_capacity(photos.len());
            for id in photos {
                let photo = self.see(|view| view.standing::<Photo>(*id))?.body;
                // A photo that is gone or changed is told before the round, not within it.
                self.photo_bytes(&photo)?;
                own.push(BlindPhotoInHand {
                    path: self.photo_file(&photo),
                    hash: photo.hash.clone(),
                    um_per_px: photo.um_per_px,
                });
            }
            slides.push(PracticeSlide {
                truth: of.truth,
                photos: own,
                animal: Some(*animal),
                painted: None,
            });
        }
        Ok(PracticeInHand {
            reader: reader.trim().to_owned(),
            seed,
            painted: false,
            slides,
        })
    }

    /// The animals whose stage is settled and which have a photo: by known days since a moult, by a
    /// label on a settled second reading, or by two blind calls.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn settled_slides(&self, reader: &str) -> Result<Vec<PoolSlide>, SessionError> {
        let mut truths: BTreeMap<AnimalId, Stage> = BTreeMap::new();
        for pair in self.paired_calls()? {
            if let Some(truth) = pair.truth() {
                truths.insert(pair.animal, truth);
            }
        }
        for label in self.labels()? {
            if matches!(label.body.evidence, Evidence::KnownDays | Evidence::Settled) {
                truths.insert(label.body.animal, label.body.stage);
            }
        }
        let seen = self.seen_by(reader, truths.keys())?;
        let mut pool = Vec::with_capacity(truths.len());
        for (animal, truth) in truths {
            let mut photos = self.see(|view| view.naming::<Photo>("animal", animal.row()))?;
            photos.sort_by_key(|photo| (photo.body.position, photo.head.of));
            if photos.is_empty() {
                continue;
            }
            let mut readings = Vec::with_capacity(photos.len());
            for photo in &photos {
                readings.extend(self.reading_of(photo.thing())?);
            }
            let found = animal_proposal(readings.iter().map(|kept| &kept.body.reading));
            let photos: Vec<PhotoId> = photos.iter().map(Kept::thing).collect();
            pool.push(PoolSlide {
                truth,
                near: found.is_some_and(|found| found.second_reader),
                seen: seen.contains(&animal),
                source: Source::Settled(animal, photos),
            });
        }
        Ok(pool)
    }

    /// The animals among these that a reader called or practised on.
    fn seen_by<'a>(
        &self,
        reader: &str,
        animals: impl Iterator<Item = &'a AnimalId>,
    ) -> Result<BTreeSet<AnimalId>, SessionError> {
        let mut seen = BTreeSet::new();
        for round in self.practice_rounds()? {
            if same_person(&round.body.reader, reader) {
                seen.extend(round.body.slides.iter().filter_map(|slide| slide.animal));
            }
        }
        for animal in animals {
            let first = self.history_of_call(*animal)?;
            let first = first.iter().any(|c| same_person(&c.body.reader, reader));
            let second = self.second_calls_of(*animal)?;
            if first || second.iter().any(|c| same_person(&c.body.reader, reader)) {
                seen.insert(*animal);
            }
        }
        Ok(seen)
    }

    /// Keeps a practice round.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn keep_practice(
        &mut self,
        round: &PracticeRound,
    ) -> Result<PracticeRoundId, SessionError> {
        self.act(ActionKind::Practice, None, |change| change.add(round))
    }

    /// All practice rounds, in the order in which they were ended.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn practice_rounds(&self) -> Result<Vec<Kept<PracticeRound>>, SessionError> {
        self.see(crate::logbook::View::all::<PracticeRound>)
    }

    /// The practice rounds of a reader with their figures, the first one first; of all readers when
    /// none is named.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn practice_history(&self, reader: &str) -> Result<Vec<PastPractice>, SessionError> {
        let standard = self.practice_standard()?;
        let own = |round: &Kept<PracticeRound>| {
            reader.trim().is_empty() || same_person(&round.body.reader, reader)
        };
        let rounds = self.practice_rounds()?.into_iter().filter(own);
        Ok(rounds
            .map(|round| PastPractice {
                score: score(&round.body, &standard),
                round,
            })
            .collect())
    }

    /// The standard at which a round earns its line, the usual one where none was set.
    ///
    /// # Errors
    /// [`SessionError::Setting`] when what is kept cannot be understood.
    pub fn practice_standard(&self) -> Result<Standard, SessionError> {
        let Some(value) = self.setting(STANDARD)? else {
            return Ok(Standard::default());
        };
        serde_json::from_value(value).map_err(|source| SessionError::Setting {
            key: STANDARD.to_owned(),
            source,
        })
    }

    /// Sets the standard.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn set_practice_standard(&mut self, standard: &Standard) -> Result<(), SessionError> {
        let value = serde_json::to_value(standard).map_err(|source| SessionError::Setting {
            key: STANDARD.to_owned(),
            source,
        })?;
        self.set_setting(STANDARD, value)
    }
}
