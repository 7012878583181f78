//! Reading again with another model: every reading keeps the model that made it, and calls stay.

use crate::progress::Progress;
use crate::records::ids::SampleId;
use crate::records::measures::Measures;
use crate::units::MicrometresPerPixel;
use crate::workflow::batch::in_order;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::own_slides::OwnSlidesError;
use crate::workflow::reading::ReadOptions;
use crate::workflow::reading::proposed_again;
use crate::workflow::reading::read_photo;
use std::sync::Arc;

/// Reads a sample again with the model in use, calls untouched: from kept measures where they are of
/// this version, else from the photo. Gives how many readings were written and how many of them
/// propose another stage than before.
///
/// # Errors
/// [`OwnSlidesError`] for a logbook that cannot be read or written, or when it was stopped.
pub fn read_again(
    session: &mut Session,
    sample: SampleId,
    progress: &Progress,
) -> Result<(usize, usize), OwnSlidesError> {
    let model = session.model_now()?;
    let photos = session.photos_of(sample)?;
    progress.begin(photos.len());
    let mut work = Vec::new();
    for photo in photos {
        let last = session.reading_of(photo.thing())?;
        let Some(last) = last.filter(|last| last.body.model.as_deref() != Some(&model.id())) else {
            continue;
        };
        let measures = session.measures_of(photo.thing())?;
        // What a person corrected is never measured over.
        if measures.is_none() && last.body.author.is_some() {
            continue;
        }
        let path = session.photo_file(&photo.body);
        work.push((photo, path, last, measures));
    }
    let (mut written, mut changed) = (0, 0);
    let mut coming = Vec::new();
    let done = in_order(
        &work,
        |(photo, path, last, measures)| {
            let again = measures.as_ref().and_then(|measures| {
                proposed_again(&last.body.reading, measures, &model).map(|reading| (reading, None))
            });
            again.or_else(|| {
                let profile = photo.body.um_per_px.map(MicrometresPerPixel::new);
                let options = ReadOptions {
                    profile: profile.and_then(Result::ok),
                    model: Some(Arc::clone(&model)),
                    ..ReadOptions::default()
                };
                path.is_file().then(|| {
                    let read = read_photo(path, &photo.body.name, &options);
                    let measured = read.tip_and_measurements.as_ref();
                    (read.reading, measured.map(|(_, m)| Measures::of(m)))
                })
            })
        },
        |(photo, _, last, _), read| -> Result<(), OwnSlidesError> {
            if let Ok(Some((reading, measures))) = read {
                written += 1;
                changed += usize::from(reading.proposal != last.body.reading.proposal);
                coming.push((photo.thing(), reading, measures));
            }
            Ok(progress.step()?)
        },
    );
    session.keep_readings(&coming)?;
    done.map(|()| (written, changed))
}
