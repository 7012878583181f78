//! Training on a farm's own labelled slides, and comparing what came of it with the model in use.

use crate::moult::Stage;
use crate::progress::Progress;
use crate::records::ids::LabelId;
use crate::stage::comparison::Comparison;
use crate::stage::comparison::Pair;
use crate::stage::evaluation::Judged;
use crate::stage::evaluation::Outcome;
use crate::stage::evaluation::Truth;
use crate::stage::fitting::Row;
use crate::stage::logistic::FitError;
use crate::stage::model::Model;
use crate::stage::own::OwnFitted;
use crate::stage::own::OwnSettings;
use crate::stage::own::fit_own;
use crate::stage::own::judge_row;
use crate::stage::own::mark;
use crate::workflow::labelled::LabelledError;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::own_slides::OwnSlides;
use crate::workflow::logbook::own_slides::OwnSlidesError;
use crate::workflow::painted_rows::PaintedStore;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use thiserror::Error;

/// Part of a stage's weight that own slides carry beside painted ones, unless set otherwise.
///
/// # Source
/// Our choice: one's own microscope says more than the painter.
pub const DEFAULT_SHARE: f64 = 0.8;

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Wishes {
    /// Name of the model.
    pub name: String,
    /// Seed of everything that is drawn.
    pub seed: u64,
    /// Part of a stage's weight that own slides carry beside painted ones.
    pub share: f64,
    /// The penalty; chosen within the training parts where none is given.
    pub penalty: Option<f64>,
    /// Painted slides of each stage under each condition beside the own ones; 0 for none.
    pub painted: usize,
    /// The command that makes the model again.
    pub command: String,
}

/// Seed of painted slides that are fitted on beside own ones.
const PAINTED_SEED: u64 = 7;

/// Why nothing was trained.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum FarmTrainingError {
    /// The labelled slides could not be made ready.
    #[error(transparent)]
    Slides(#[from] OwnSlidesError),
    /// The logbook could not be read or written.
    #[error(transparent)]
    Session(#[from] SessionError),
    /// The painted slides could not be made.
    #[error(transparent)]
    Painted(#[from] LabelledError),
    /// The fit failed.
    #[error(transparent)]
    Fit(#[from] FitError),
}

/// What a fit that had not seen the animal says of a labelled photo.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelOpinion {
    /// Probability of the labelled stage.
    pub of_label: f64,
    /// The likeliest stage.
    pub likeliest: Stage,
    /// Its probability.
    pub of_likeliest: f64,
}

/// A model trained on own slides, with what it should be judged by.
#[derive(Debug, Clone)]
pub struct FarmTraining {
    /// What the fit gave.
    pub fitted: OwnFitted,
    /// The model in use and the new one on the same held-back animals.
    pub comparison: Comparison,
    /// Own animals that the model in use has seen in its own training: left out of the comparison.
    pub seen_before: usize,
    /// The name of the model in use.
    pub in_use: String,
}

/// Fits own slides, with painted ones beside them, and compares with the model in use.
///
/// # Errors
/// [`FitError`] when there is too little to fit, a fit fails, or it was stopped.
pub fn train_and_compare(
    own: &[Row],
    refused: &[Judged],
    painted: Vec<Row>,
    in_use: &Model,
    wishes: &Wishes,
    progress: &Progress,
) -> Result<FarmTraining, FitError> {
    let mut all = own.to_vec();
    all.extend(painted);
    let settings = OwnSettings {
        name: wishes.name.clone(),
        seed: wishes.seed,
        share: wishes.share,
        penalty: wishes.penalty,
        command: wishes.command.clone(),
    };
    let fitted = fit_own(&all, refused, &settings, progress)?;
    let seen = seen_by(in_use);
    let mut before: Vec<&str> = Vec::new();
    let mut pairs = Vec::new();
    for (at, new) in fitted.own.iter().zip(&fitted.strictest().judged) {
        let row = &all[*at];
        if seen.contains(&mark(&row.animal)) {
            before.push(&row.animal);
            continue;
        }
        pairs.push(Pair {
            animal: row.animal.clone(),
            in_use: judge_row(in_use, row),
            new: new.clone(),
        });
    }
    before.sort_unstable();
    before.dedup();
    Ok(FarmTraining {
        comparison: Comparison::of(&pairs, wishes.seed),
        seen_before: before.len(),
        in_use: in_use.id(),
        fitted,
    })
}

/// Two models on labelled slides that neither was trained on; animals that one has seen are left
/// out. Gives how many those were.
pub fn compare_models(rows: &[Row], in_use: &Model, new: &Model, seed: u64) -> (Comparison, usize) {
    let mut seen = seen_by(in_use);
    seen.extend(seen_by(new));
    let (mut pairs, mut before) = (Vec::new(), Vec::new());
    for row in rows {
        if seen.contains(&mark(&row.animal)) {
            before.push(row.animal.as_str());
            continue;
        }
        pairs.push(Pair {
            animal: row.animal.clone(),
            in_use: judge_row(in_use, row),
            new: judge_row(new, row),
        });
    }
    before.sort_unstable();
    before.dedup();
    (Comparison::of(&pairs, seed), before.len())
}

/// Trains on the labels of a logbook and compares with its model in use. The new model is kept in the
/// logbook; putting it into use is another matter. `step` is called after each painted slide.
///
/// # Errors
/// [`FarmTrainingError`] when there is too little to fit, something cannot be read or written, or it
/// was stopped; what was measured until then is kept.
pub fn train_on_labels(
    session: &mut Session,
    wishes: &Wishes,
    store: &PaintedStore,
    progress: &Progress,
    step: impl FnMut(),
) -> Result<(FarmTraining, OwnSlides), FarmTrainingError> {
    let in_use = session.model_now()?;
    let own = session.own_slides(&in_use, progress)?;
    let painted = painted_beside(wishes, store, progress, step)?;
    let trained = train_and_compare(
        &own.rows(),
        &own.refused,
        painted,
        &in_use,
        wishes,
        progress,
    )?;
    session.keep_model(&trained.fitted.model)?;
    Ok((trained, own))
}

/// The painted rows that are fitted on beside own ones.
///
/// # Errors
/// [`LabelledError`] when the program fails on a slide or was stopped.
pub fn painted_beside(
    wishes: &Wishes,
    store: &PaintedStore,
    progress: &Progress,
    step: impl FnMut(),
) -> Result<Vec<Row>, LabelledError> {
    if wishes.painted == 0 {
        return Ok(Vec::new());
    }
    store.rows(wishes.painted, PAINTED_SEED, progress, step)
}

/// What is asked for when only opinions of the labels are wanted.
fn wishes_for_opinions() -> Wishes {
    Wishes {
        name: "labels".to_owned(),
        seed: 1,
        share: 1.0,
        penalty: None,
        painted: 0,
        command: String::new(),
    }
}

/// What fits say of the labels that have not seen their animals; no model is kept.
///
/// # Errors
/// As [`train_on_labels`].
pub fn opinions_of_labels(
    session: &mut Session,
    progress: &Progress,
) -> Result<BTreeMap<LabelId, LabelOpinion>, FarmTrainingError> {
    let in_use = session.model_now()?;
    let own = session.own_slides(&in_use, progress)?;
    let trained = train_and_compare(
        &own.rows(),
        &own.refused,
        Vec::new(),
        &in_use,
        &wishes_for_opinions(),
        progress,
    )?;
    Ok(trained.opinions(&own))
}

impl FarmTraining {
    /// What fits that had not seen them say of the labels, each by its most surprising photo.
    pub fn opinions(&self, own: &OwnSlides) -> BTreeMap<LabelId, LabelOpinion> {
        let mut opinions: BTreeMap<LabelId, LabelOpinion> = BTreeMap::new();
        for (at, judged) in self.fitted.own.iter().zip(&self.fitted.strictest().judged) {
            let Some(photo) = own.photos.get(*at) else {
                continue;
            };
            let Some(opinion) = opinion(judged) else {
                continue;
            };
            let stands = opinions
                .get(&photo.label)
                .is_some_and(|known| known.of_label <= opinion.of_label);
            if !stands {
                opinions.insert(photo.label, opinion);
            }
        }
        opinions
    }
}

fn opinion(judged: &Judged) -> Option<LabelOpinion> {
    let Truth::Stage { stage, .. } = judged.truth else {
        return None;
    };
    let Outcome::Read { probabilities, .. } = &judged.outcome else {
        return None;
    };
    let (at, most) = probabilities
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1))?;
    Some(LabelOpinion {
        of_label: probabilities.get(stage.as_proposed()?.index()).copied()?,
        likeliest: *Stage::PROPOSED.get(at)?,
        of_likeliest: *most,
    })
}

/// Marks of the animals that a model was trained on.
pub(in crate::workflow) fn seen_by(model: &Model) -> BTreeSet<String> {
    let own = model.training.own.as_ref();
    own.map(|own| own.seen.iter().cloned().collect())
        .unwrap_or_default()
}
