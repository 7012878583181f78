//! Training a model from labelled photos.

use crate::measure::Measurements;
use crate::progress::Progress;
use crate::stage::evaluation::Judged;
use crate::stage::evaluation::Outcome;
use crate::stage::evaluation::Truth;
use crate::stage::features;
use crate::stage::fitting::Fitted;
use crate::stage::fitting::Row;
use crate::stage::fitting::Settings;
use crate::stage::fitting::Source;
use crate::stage::fitting::fit;
use crate::stage::logistic::FitError;
use crate::stage::model::ModelError;
use crate::workflow::labelled::LabelledError;
use crate::workflow::labelled::MeasuredSlide;
use crate::workflow::labelled::Slide;
use crate::workflow::labelled::measure_slides;
use std::path::Path;
use thiserror::Error;

/// Penalty of the shipped model.
///
/// # Source
/// On left-out conditions the log-loss was 0.403, 0.408, 0.423 and 0.448 at 0.3, 1, 3 and 10: the
/// largest that loses next to nothing (`docs/decisions/0007-stage-model.md`).
pub const DEFAULT_PENALTY: f64 = 1.0;

/// Why no model was trained.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TrainingError {
    /// The labelled photos could not be had.
    #[error(transparent)]
    Labelled(#[from] LabelledError),
    /// The fit failed.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// The model could not be written.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// Measures the slides, fits a model and writes it to `out`; `step` is called after each slide.
///
/// # Errors
/// [`TrainingError`] when there is too little to fit, or something cannot be read or written.
pub fn train(
    slides: &[Slide],
    settings: &Settings,
    out: &Path,
    progress: &Progress,
    step: impl FnMut(),
) -> Result<Fitted, TrainingError> {
    let measured = measure_slides(slides, progress, step)?;
    let fitted = fit_measured(&measured, settings)?;
    fitted.model.save(out)?;
    Ok(fitted)
}

/// Fits a model to measured slides.
///
/// # Errors
/// [`FitError`] when there is too little to fit or a fit fails.
pub fn fit_measured(measured: &[MeasuredSlide], settings: &Settings) -> Result<Fitted, FitError> {
    let (rows, refused) = rows(measured, Source::Painted);
    fit(&rows, &refused, settings)
}

/// The rows of measured slides, and the slides that were refused.
pub fn rows(measured: &[MeasuredSlide], source: Source) -> (Vec<Row>, Vec<Judged>) {
    let mut rows = Vec::new();
    let mut refused = Vec::new();
    for slide in measured {
        match &slide.outcome {
            Ok(measurements) => rows.push(Row {
                lengths: slide.compared(),
                ..row(
                    measurements,
                    slide.truth,
                    [&slide.condition, &slide.animal],
                    source,
                )
            }),
            Err(reason) => refused.push(Judged {
                truth: slide.truth,
                condition: slide.condition.clone(),
                outcome: Outcome::Refused(*reason),
                lengths: None,
            }),
        }
    }
    (rows, refused)
}

/// The row of one photo: its truth, its pond or condition, and its animal.
pub fn row(
    measurements: &Measurements,
    truth: Truth,
    [condition, animal]: [&str; 2],
    source: Source,
) -> Row {
    let setae = measurements.setae.iter();
    Row {
        features: features::of_photo(measurements),
        setae: setae
            .map(|seta| features::of_seta(&seta.measures))
            .collect(),
        truth,
        condition: condition.to_owned(),
        animal: animal.to_owned(),
        source,
        lengths: None,
    }
}
