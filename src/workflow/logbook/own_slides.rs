//! The farm's labelled slides as rows for a fit: what was measured once is not measured again.

use crate::measure::MEASURING_VERSION;
use crate::measure::Measurements;
use crate::measure::Refusal;
use crate::progress::Progress;
use crate::progress::Stopped;
use crate::records::Reading;
use crate::records::ids::LabelId;
use crate::records::ids::PhotoId;
use crate::records::measures::Measures;
use crate::records::pictures::Photo;
use crate::records::table::Kept;
use crate::stage::evaluation::Judged;
use crate::stage::evaluation::Outcome;
use crate::stage::evaluation::Truth;
use crate::stage::fitting::Row;
use crate::stage::fitting::Source;
use crate::stage::model::Model;
use crate::units::MicrometresPerPixel;
use crate::workflow::batch::Panicked;
use crate::workflow::batch::in_order;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::labels::LabelledSlide;
use crate::workflow::reading::ReadOptions;
use crate::workflow::reading::read_photo;
use crate::workflow::training::row;
use std::path::PathBuf;
use std::sync::Arc;
use thiserror::Error;

/// Readings that are written together.
const TOGETHER: usize = 50;

/// Why labelled slides could not be made ready.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OwnSlidesError {
    /// The logbook could not be read or written.
    #[error(transparent)]
    Session(#[from] SessionError),
    /// It was stopped; what was measured until then is kept.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// A labelled photo that was read.
#[derive(Debug, Clone)]
pub struct OwnPhoto {
    /// Its label.
    pub label: LabelId,
    /// The photo.
    pub photo: PhotoId,
    /// What was measured.
    pub measurements: Measurements,
    /// The row of the fit.
    pub row: Row,
}

/// The farm's labelled slides, ready for a fit.
#[derive(Debug, Clone, Default)]
pub struct OwnSlides {
    /// The photos that were read.
    pub photos: Vec<OwnPhoto>,
    /// Those that were refused.
    pub refused: Vec<Judged>,
    /// Names of photos whose files are gone or changed.
    pub missing: Vec<String>,
    /// Photos that had to be measured now.
    pub measured_now: usize,
}

impl OwnSlides {
    /// The rows of the fit, in the order of the photos.
    pub fn rows(&self) -> Vec<Row> {
        self.photos.iter().map(|photo| photo.row.clone()).collect()
    }
}

/// A photo that has to be measured.
struct ToMeasure<'a> {
    slide: &'a LabelledSlide,
    photo: &'a Kept<Photo>,
    path: PathBuf,
}

impl Session {
    /// The labelled slides as rows. Photos that were never measured by this version of the measuring
    /// are measured now, on all processors, and their readings kept with `model`'s proposal.
    ///
    /// # Errors
    /// [`OwnSlidesError`] for a logbook that cannot be read or written, or when it was stopped.
    pub fn own_slides(
        &mut self,
        model: &Arc<Model>,
        progress: &Progress,
    ) -> Result<OwnSlides, OwnSlidesError> {
        let slides = self.labelled_slides()?;
        let measures = self.every_measures()?;
        let mut own = OwnSlides::default();
        let mut to_measure = Vec::new();
        for slide in &slides {
            for photo in &slide.photos {
                if let Some(measurements) = measures
                    .get(&photo.thing())
                    .and_then(|measures| measures.measurements(None))
                {
                    own.take(slide, photo, Ok(measurements));
                } else if let Some(reason) = self.refusal_of(photo.thing())? {
                    own.take(slide, photo, Err(reason));
                } else if self.photo_bytes(&photo.body).is_err() {
                    own.missing.push(photo.body.name.clone());
                } else {
                    let path = self.photo_file(&photo.body);
                    to_measure.push(ToMeasure { slide, photo, path });
                }
            }
        }
        self.measure_now(&to_measure, model, progress, &mut own)?;
        Ok(own)
    }

    /// Why a photo was refused last by this version of the measuring; absent when it was not.
    fn refusal_of(&self, photo: PhotoId) -> Result<Option<Refusal>, SessionError> {
        let last = self.reading_of(photo)?;
        let own = last.filter(|kept| {
            kept.body.measuring_version == i64::from(MEASURING_VERSION) && !kept.body.reading.usable
        });
        Ok(own.and_then(|kept| Some(kept.body.reading.refusals.first()?.reason)))
    }

    fn measure_now(
        &mut self,
        photos: &[ToMeasure<'_>],
        model: &Arc<Model>,
        progress: &Progress,
        own: &mut OwnSlides,
    ) -> Result<(), OwnSlidesError> {
        if photos.is_empty() {
            return Ok(());
        }
        progress.begin(photos.len());
        let mut coming: Vec<ComingReading> = Vec::new();
        let done = in_order(
            photos,
            |of| {
                let profile = of.photo.body.um_per_px.map(MicrometresPerPixel::new);
                let options = ReadOptions {
                    profile: profile.and_then(Result::ok),
                    model: Some(Arc::clone(model)),
                    ..ReadOptions::default()
                };
                read_photo(&of.path, &of.photo.body.name, &options)
            },
            |of, read: Result<_, Panicked>| -> Result<(), OwnSlidesError> {
                let Ok(read) = read else {
                    own.take(of.slide, of.photo, Err(Refusal::CannotDecode));
                    return Ok(());
                };
                let measurements = read.tip_and_measurements.map(|(_, found)| found);
                let measures = measurements.as_ref().map(Measures::of);
                let refused = read.reading.refusals.first().map(|r| r.reason);
                let reason = refused.unwrap_or(Refusal::CannotDecode);
                coming.push((of.photo.thing(), read.reading, measures));
                own.take(of.slide, of.photo, measurements.ok_or(reason));
                own.measured_now += 1;
                if coming.len() >= TOGETHER {
                    self.keep_readings(&std::mem::take(&mut coming))?;
                }
                Ok(progress.step()?)
            },
        );
        self.keep_readings(&coming)?;
        done
    }
}

/// A reading to be kept, with its measures.
pub(in crate::workflow) type ComingReading = (PhotoId, Reading, Option<Measures>);

impl OwnSlides {
    fn take(
        &mut self,
        slide: &LabelledSlide,
        photo: &Kept<Photo>,
        outcome: Result<Measurements, Refusal>,
    ) {
        let Some(stage) = slide.label.body.stage.as_proposed() else {
            return;
        };
        let truth = Truth::Stage { stage, clear: true };
        match outcome {
            Ok(measurements) => self.photos.push(OwnPhoto {
                label: slide.label.thing(),
                photo: photo.thing(),
                row: row(
                    &measurements,
                    truth,
                    [&slide.pond, &slide.animal_key()],
                    Source::Own,
                ),
                measurements,
            }),
            Err(reason) => self.refused.push(Judged {
                truth,
                condition: slide.pond.clone(),
                outcome: Outcome::Refused(reason),
                lengths: None,
            }),
        }
    }
}
