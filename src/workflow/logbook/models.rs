//! The farm's models: taken in, put into use, gone back from, handed on with their cards.

use crate::logbook::View;
use crate::records::farm::KeptModel;
use crate::records::farm::ModelUse;
use crate::records::ids::ModelId;
use crate::records::table::Kept;
use crate::stage::model::Model;
use crate::stage::model::ModelError;
use crate::stage::model::shipped;
use crate::texts;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::exporting::files;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

impl Session {
    /// The model in use, ready to propose: the farm's own, or the one that comes with the program,
    /// which also stands in for one that was made for another version of it.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook or the model cannot be read.
    pub fn model_now(&self) -> Result<Arc<Model>, SessionError> {
        match self.model_in_use()?.map(|kept| unpacked(&kept)) {
            Some(Ok(model)) => Ok(Arc::new(model)),
            Some(Err(error)) if !is_outdated(&error) => Err(error),
            _ => Ok(shipped()?),
        }
    }

    /// Why the farm's model in use cannot be used with this version of the program, if it cannot.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn outdated_model(&self) -> Result<Option<String>, SessionError> {
        let kept = self.model_in_use()?.map(|kept| unpacked(&kept));
        Ok(kept.and_then(Result::err).map(|error| error.to_string()))
    }

    /// A model of the farm by the beginning of its id (name and hash); `shipped` is none.
    ///
    /// # Errors
    /// [`SessionError::NoModel`] unless it names exactly one.
    pub fn find_model(&self, given: &str) -> Result<Kept<KeptModel>, SessionError> {
        let wanted = given.trim();
        let mut found = self.models()?;
        found.retain(|kept| !wanted.is_empty() && model_id(&kept.body).starts_with(wanted));
        match (found.pop(), found.is_empty()) {
            (Some(one), true) => Ok(one),
            _ => Err(SessionError::NoModel(given.to_owned())),
        }
    }

    /// Keeps a model with its card; one that is here already is not kept twice.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn keep_model(&mut self, model: &Model) -> Result<ModelId, SessionError> {
        let known = self.models()?;
        let same =
            |kept: &&Kept<KeptModel>| kept.body.hash == model.hash && kept.body.name == model.name;
        if let Some(kept) = known.iter().find(same) {
            return Ok(kept.thing());
        }
        let file = model.to_text().map_err(|source| ModelError::NoModel {
            file: PathBuf::from(model.id()),
            source,
        })?;
        // What will be read later is read once now.
        Model::parse(file.as_bytes(), Path::new(&model.id()))?;
        self.add_model(&KeptModel {
            name: model.name.clone(),
            hash: model.hash.clone(),
            file,
            card: Some(texts::model_card::card(model)),
        })
    }

    /// Takes in a model file, after the checks of its versions, features, numbers and size.
    ///
    /// # Errors
    /// [`SessionError::Model`] for a file that cannot be used, or as [`Session::keep_model`].
    pub fn take_model(&mut self, file: &Path) -> Result<ModelId, SessionError> {
        self.keep_model(&Model::load(file)?)
    }

    /// Writes a model file and, beside it, its card; without an id the model that comes with the
    /// program. Gives where the card is.
    ///
    /// # Errors
    /// [`SessionError`] when there is no such model or a file cannot be written.
    pub fn export_model(&self, id: Option<ModelId>, to: &Path) -> Result<PathBuf, SessionError> {
        let model = match id {
            Some(id) => Arc::new(unpacked(&self.see(|view| view.standing::<KeptModel>(id))?)?),
            None => shipped()?,
        };
        save_with_card(&model, to)
    }

    /// Puts the model into use that was in use before the present one. Gives its name, or nothing
    /// for the one that comes with the program.
    ///
    /// # Errors
    /// [`SessionError::NoModelBefore`] when the model was never changed.
    pub fn go_back_to_model_before(&mut self) -> Result<Option<String>, SessionError> {
        let mut uses = self.see(View::all::<ModelUse>)?;
        uses.sort_by_key(|kept| kept.head.id);
        let now = uses.last().ok_or(SessionError::NoModelBefore)?.body.model;
        let before = uses
            .iter()
            .rev()
            .map(|kept| kept.body.model)
            .find(|model| *model != now)
            .flatten();
        if now.is_none() && before.is_none() {
            return Err(SessionError::NoModelBefore);
        }
        self.use_model(before, Some(texts::labels::GONE_BACK))?;
        let name = |id: ModelId| self.see(|view| view.standing::<KeptModel>(id));
        Ok(before
            .map(name)
            .transpose()?
            .map(|kept| model_id(&kept.body)))
    }
}

/// Writes a model file and its card beside it; gives where the card is.
///
/// # Errors
/// [`SessionError`] when one cannot be written.
pub fn save_with_card(model: &Model, to: &Path) -> Result<PathBuf, SessionError> {
    model.save(to)?;
    let card = to.with_extension("md");
    fs::write(&card, texts::model_card::card(model))
        .map_err(files("the card of the model cannot be written", &card))?;
    Ok(card)
}

/// What a reading keeps of a model: its name and the beginning of its hash.
pub fn model_id(kept: &KeptModel) -> String {
    let short: String = kept.hash.chars().take(12).collect();
    format!("{}-{short}", kept.name)
}

/// Whether a model was made for another version of the program.
const fn is_outdated(error: &SessionError) -> bool {
    matches!(
        error,
        SessionError::Model(ModelError::Version { .. } | ModelError::UnknownFeature { .. })
    )
}

fn unpacked(kept: &Kept<KeptModel>) -> Result<Model, SessionError> {
    let name = model_id(&kept.body);
    Ok(Model::parse(kept.body.file.as_bytes(), Path::new(&name))?)
}
