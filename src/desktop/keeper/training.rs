//! Labels and models, as letters ask for them.

use crate::desktop::keeper::kept::Kept;
use crate::desktop::keeper::kept::Trouble;
use crate::desktop::keeper::kept::Work;
use crate::desktop::keeper::kept::id;
use crate::desktop::keeper::kept::told;
use crate::desktop::training::LabelLine;
use crate::desktop::training::LabelPhoto;
use crate::desktop::training::TrainingSheet;
use crate::progress::Progress;
use crate::records::ids::LabelId;
use crate::records::words::Keeping;
use crate::texts;
use crate::texts::window;
use crate::workflow::drift::Changed;
use crate::workflow::drift::drift;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::labels::Known;
use crate::workflow::logbook::models::model_id;
use crate::workflow::own_scores::ENOUGH_TO_REPLACE;
use crate::workflow::own_scores::own_scores;
use crate::workflow::own_scores::tested;
use crate::workflow::reading_again::read_again;
use std::path::Path;
use std::sync::Arc;

impl Kept {
    /// Labels one animal by its call, or all of the sample in hand.
    pub(in crate::desktop::keeper) fn label(
        &mut self,
        animal: Option<&str>,
    ) -> Result<Work, Trouble> {
        let known = Known::OwnCall;
        let (written, refused) = if let Some(animal) = animal {
            let animal = id(animal)?;
            self.session()?.label_called(&[animal], known)
        } else {
            let sample = self.in_hand()?;
            self.session()?.label_sample(sample, known)
        }
        .map_err(told)?;
        self.tested = None;
        if let (0, Some((name, why))) = (written, refused.first()) {
            let why = texts::labels::NO_LABEL[*why as usize];
            return Err(texts::labels::not_labelled(name, why));
        }
        Ok(Work::training(texts::labels::labelled(
            written,
            refused.len(),
        )))
    }

    pub(in crate::desktop::keeper) fn withdraw_label(
        &mut self,
        label: &str,
        because: &str,
    ) -> Result<Work, Trouble> {
        let label: LabelId = id(label)?;
        self.session()?
            .withdraw_label(label, because)
            .map_err(told)?;
        self.tested = None;
        Ok(Work::training(window::LABEL_WITHDRAWN))
    }

    pub(in crate::desktop::keeper) fn import_labels(
        &mut self,
        table: &Path,
    ) -> Result<Work, Trouble> {
        let table = self.found(table)?;
        let taken = self
            .session()?
            .import_labels(&table, Keeping::Copied)
            .map_err(told)?;
        self.tested = None;
        Ok(Work::training(texts::labels::taken(
            taken.labels,
            taken.photos,
            taken.already,
        )))
    }

    /// Puts a model of the farm into use, by its name.
    pub(in crate::desktop::keeper) fn adopt(&mut self, name: &str) -> Result<Work, Trouble> {
        let session = self.session()?;
        let model = session.find_model(name).map_err(told)?;
        session
            .use_model(Some(model.thing()), Some(texts::labels::ADOPTED))
            .map_err(told)?;
        self.tested = None;
        Ok(Work::training(texts::labels::in_use(name)))
    }

    pub(in crate::desktop::keeper) fn go_back(&mut self) -> Result<Work, Trouble> {
        let session = self.session()?;
        session.go_back_to_model_before().map_err(told)?;
        let now = session.model_now().map_err(told)?.id();
        self.tested = None;
        Ok(Work::training(texts::labels::in_use(&now)))
    }

    /// Writes the model in use with its card.
    pub(in crate::desktop::keeper) fn export_model(&mut self, to: &Path) -> Result<Work, Trouble> {
        let to = &self.placed(to)?;
        let session = self.session()?;
        let model = session.model_in_use().map_err(told)?;
        let card = session
            .export_model(model.map(|kept| kept.thing()), to)
            .map_err(told)?;
        Ok(Work::training(texts::labels::model_written(to, &card)))
    }

    pub(in crate::desktop::keeper) fn import_model(
        &mut self,
        file: &Path,
    ) -> Result<Work, Trouble> {
        let file = self.found(file)?;
        let session = self.session()?;
        let id = session.take_model(&file).map_err(told)?;
        let models = session.models().map_err(told)?;
        let kept = models.iter().find(|kept| kept.thing() == id);
        let name = kept.map_or_else(String::new, |kept| model_id(&kept.body));
        Ok(Work::training(window::model_taken(&name)))
    }

    /// Reads the sample in hand again with the model in use.
    pub(in crate::desktop::keeper) fn read_sample_again(&mut self) -> Result<Work, Trouble> {
        let sample = self.in_hand()?;
        let again = read_again(self.session()?, sample, &Progress::silent());
        let (written, changed) = again.map_err(|error| error.to_string())?;
        self.readings.clear();
        Ok(Work::sample(texts::labels::read_again(written, changed)))
    }

    /// The sentence on what the model in use was tested with.
    pub(in crate::desktop::keeper) fn tested(&mut self) -> Result<String, Trouble> {
        if let Some(known) = &self.tested {
            return Ok(known.clone());
        }
        let sentence = tested(self.session()?).map_err(told)?;
        self.tested = Some(sentence.clone());
        Ok(sentence)
    }

    /// What stands in the logbook for the place Training.
    pub(in crate::desktop::keeper) fn training_sheet(&mut self) -> Result<TrainingSheet, Trouble> {
        let mut tested = vec![self.tested()?];
        let session = self.session()?;
        let own = own_scores(session).map_err(told)?;
        if !own.enough && own.photos > 0 {
            tested.push(texts::training::own_slides(
                own.photos,
                own.exact,
                own.soft_errors,
                own.due_errors,
            ));
        }
        if !own.enough {
            let so_far = texts::training::own_slides_so_far(own.photos, ENOUGH_TO_REPLACE);
            tested.push(so_far);
        }
        tested.extend(session.outdated_model().map_err(told)?);
        let labels = session.labelled_slides().map_err(told)?;
        let models = session.models().map_err(told)?;
        Ok(TrainingSheet {
            file: session.file().to_owned(),
            labels: labels
                .into_iter()
                .map(|slide| LabelLine {
                    shown: slide.photos.first().map(|photo| LabelPhoto {
                        path: session.photo_file(&photo.body),
                        hash: photo.body.hash.clone(),
                    }),
                    id: slide.label.thing().to_string(),
                    stage: slide.label.body.stage,
                    photo: slide
                        .photos
                        .first()
                        .map_or_else(String::new, |photo| photo.body.name.clone()),
                    pond: slide.pond,
                    animal: slide.animal,
                    reader: slide.label.body.reader,
                    evidence: texts::labels::evidence(slide.label.body.evidence),
                    given: slide.label.head.written_at.date_and_hour(),
                })
                .collect(),
            in_use: session.model_now().map_err(told)?.id(),
            models: models.iter().map(|kept| model_id(&kept.body)).collect(),
            tested,
            drift: drift_in_words(session)?,
        })
    }

    /// The model in use, for the readers.
    pub(in crate::desktop::keeper) fn model_now(
        &mut self,
    ) -> Result<Arc<crate::stage::model::Model>, Trouble> {
        self.session()?.model_now().map_err(told)
    }
}

fn drift_in_words(session: &Session) -> Result<Vec<String>, Trouble> {
    let found = drift(session, Session::now()).map_err(told)?;
    let line = |name: &str, of: Changed| {
        let share = of.share();
        let share = share.map(|(share, around)| (share, around.low.get(), around.high.get()));
        texts::training::changed(name, of.calls, share)
    };
    let [all, earlier, nameless] = texts::training::DRIFT_NAMES;
    let mut lines = vec![line(all, found.recent), line(earlier, found.earlier)];
    lines.extend(
        found
            .by_stage
            .iter()
            .map(|(stage, of)| line(stage.code(), *of)),
    );
    lines.extend(found.by_microscope.iter().map(|(name, of)| {
        let name = if name.is_empty() { nameless } else { name };
        line(name, *of)
    }));
    Ok(lines)
}
