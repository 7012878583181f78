//! How the model in use does on the farm's own slides, and what takes the place of the sentence on
//! painted pictures once that is known well enough.

use crate::moult::Stage;
use crate::stage::evaluation::Truth;
use crate::stage::evaluation::figures;
use crate::stage::fitting::Source;
use crate::stage::own::judge_row;
use crate::stage::own::mark;
use crate::texts;
use crate::workflow::farm_training::seen_by;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::training::row;

/// Own slides that have to be scored, of all stages, before their figures stand in place of the
/// sentence on painted pictures.
pub const ENOUGH_TO_REPLACE: usize = 100;

/// How the model in use did on the farm's own slides that it was not trained on.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnScores {
    /// The model.
    pub model: String,
    /// Photos scored.
    pub photos: usize,
    /// Share with the right stage.
    pub exact: f64,
    /// Soft errors.
    pub soft_errors: usize,
    /// Due errors.
    pub due_errors: usize,
    /// Says whether all stages from A to D3 are among them, and enough slides.
    pub enough: bool,
}

/// Scores the model in use on the labelled slides that were measured already.
///
/// # Errors
/// [`SessionError`] for a logbook that cannot be read.
pub fn own_scores(session: &Session) -> Result<OwnScores, SessionError> {
    let model = session.model_now()?;
    let seen = seen_by(&model);
    let measures = session.every_measures()?;
    let mut judged = Vec::new();
    for slide in session.labelled_slides()? {
        let Some(stage) = slide.label.body.stage.as_proposed() else {
            continue;
        };
        if seen.contains(&mark(&slide.animal_key())) {
            continue;
        }
        let truth = Truth::Stage { stage, clear: true };
        for photo in &slide.photos {
            let found = measures.get(&photo.thing());
            if let Some(measurements) = found.and_then(|m| m.measurements(None)) {
                let names = [slide.pond.as_str(), &slide.animal];
                let row = row(&measurements, truth, names, Source::Own);
                judged.push(judge_row(&model, &row));
            }
        }
    }
    let figures = figures(&judged);
    let all_stages = figures.confusion.len() == Stage::PROPOSED.len();
    Ok(OwnScores {
        model: model.id(),
        photos: figures.photos,
        exact: figures.exact.unwrap_or(0.0),
        soft_errors: figures.soft_errors,
        due_errors: figures.due_errors,
        enough: all_stages && figures.photos >= ENOUGH_TO_REPLACE,
    })
}

/// What the model in use was tested with: the sentence on painted pictures, until enough own slides
/// of all stages were scored.
///
/// # Errors
/// [`SessionError`] for a logbook that cannot be read.
pub fn tested(session: &Session) -> Result<String, SessionError> {
    let own = own_scores(session)?;
    Ok(if own.enough {
        texts::training::own_slides(own.photos, own.exact, own.soft_errors, own.due_errors)
    } else {
        texts::readings::NO_REAL_MICROGRAPH.to_owned()
    })
}
