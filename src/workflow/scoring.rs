//! Scoring a model on labelled photos.

use crate::moult::Stage;
use crate::progress::Progress;
use crate::stage::evaluation::Figures;
use crate::stage::evaluation::Judged;
use crate::stage::evaluation::Outcome;
use crate::stage::evaluation::Truth;
use crate::stage::evaluation::by_condition;
use crate::stage::evaluation::figures;
use crate::stage::model::Model;
use crate::stage::proposal::propose;
use crate::workflow::labelled::LabelledError;
use crate::workflow::labelled::MeasuredSlide;
use crate::workflow::labelled::Slide;
use crate::workflow::labelled::measure_slides;
use serde::Serialize;
use std::collections::BTreeMap;

/// How a model did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Scores {
    /// The model.
    pub model: String,
    /// Over all photos.
    pub all: Figures,
    /// For each condition, where asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by_condition: Option<BTreeMap<String, Figures>>,
}

/// What is asked of [`score`].
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Asked {
    /// Figures for each condition too.
    pub by_condition: bool,
    /// Tips near the border of their stage, or with criteria that disagree, are left out.
    pub clear_only: bool,
}

/// Reads the slides and scores the model on them; `step` is called after each slide.
///
/// # Errors
/// [`LabelledError`] when the program fails on a photo or was stopped.
pub fn score(
    slides: &[Slide],
    model: &Model,
    asked: Asked,
    progress: &Progress,
    step: impl FnMut(),
) -> Result<Scores, LabelledError> {
    let measured = measure_slides(slides, progress, step)?;
    let judged: Vec<Judged> = measured
        .iter()
        .filter(|slide| {
            !asked.clear_only || !matches!(slide.truth, Truth::Stage { clear: false, .. })
        })
        .map(|slide| judge(model, slide))
        .collect();
    Ok(Scores {
        model: model.id(),
        all: figures(&judged),
        by_condition: asked.by_condition.then(|| by_condition(&judged)),
    })
}

/// Sets what the model makes of a slide against its truth.
pub fn judge(model: &Model, slide: &MeasuredSlide) -> Judged {
    let (outcome, lengths) = match &slide.outcome {
        Err(reason) => (Outcome::Refused(*reason), None),
        Ok(measurements) => {
            let proposal = propose(model, measurements);
            let probabilities = Stage::PROPOSED
                .iter()
                .map(|stage| proposal.probabilities.get(stage).copied().unwrap_or(0.0))
                .collect();
            let outcome = Outcome::Read {
                probabilities,
                proposal: proposal.proposal,
                second_reader: proposal.second_reader,
                novelty: proposal.novelty,
            };
            (outcome, slide.compared())
        }
    };
    Judged {
        truth: slide.truth,
        condition: slide.condition.clone(),
        outcome,
        lengths,
    }
}
