//! What the farm keeps for all its ponds: limits, readers, microscopes, models, labels, settings.

use crate::logbook::View;
use crate::moult::Stage;
use crate::records::decisions::Label;
use crate::records::farm::KeptModel;
use crate::records::farm::ModelUse;
use crate::records::farm::Reader;
use crate::records::farm::Setting;
use crate::records::ids::LabelId;
use crate::records::ids::MicroscopeId;
use crate::records::ids::ModelId;
use crate::records::ids::ReaderId;
use crate::records::ids::ThingId as _;
use crate::records::pictures::Microscope;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::tally::Intervals;
use crate::tally::Settings;
use crate::units::Probability;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use serde::Deserialize;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use serde_json::json;
use std::collections::BTreeSet;

/// Key of the setting that holds [`FarmLimits`].
const LIMITS: &str = "limits";

/// The farm's groups, limits and confidence, where its ponds have none of their own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FarmLimits {
    /// Stages that count as soft.
    pub soft: BTreeSet<Stage>,
    /// Stages that count as moulting.
    pub moulting: BTreeSet<Stage>,
    /// Stages that count as about to moult.
    pub due: BTreeSet<Stage>,
    /// The soft share must stay below it.
    pub soft_limit: Probability,
    /// The moulting share must stay below it.
    pub moulting_limit: Probability,
    /// The share about to moult must stay below it.
    pub due_limit: Probability,
    /// Confidence of each test.
    pub confidence: Probability,
    /// How many animals of a netting tell as much as one drawn by itself.
    pub design_effect: f64,
    /// Whether the table of stages has the intervals of Sison and Glaz, instead of Goodman's.
    pub sison_glaz: bool,
    /// Soft as days since the moult, in place of the soft stages: a shell is rigid after so many.
    #[serde(default)]
    pub rigid_after_days: Option<f64>,
}

impl Default for FarmLimits {
    fn default() -> Self {
        Self::from(Settings::default())
    }
}

impl From<Settings> for FarmLimits {
    fn from(settings: Settings) -> Self {
        Self {
            soft: settings.soft,
            moulting: settings.moulting,
            due: settings.due,
            soft_limit: settings.soft_limit,
            moulting_limit: settings.moulting_limit,
            due_limit: settings.due_limit,
            confidence: settings.confidence,
            design_effect: settings.design_effect,
            sison_glaz: settings.intervals == Intervals::SisonGlaz,
            rigid_after_days: settings.rigid_after.map(|rigid| rigid.days.get()),
        }
    }
}

impl FarmLimits {
    /// The settings of a tally with these limits, but for the days until a shell is rigid: those are
    /// set against the cycle of a sample.
    pub fn settings(self) -> Settings {
        Settings {
            soft: self.soft,
            moulting: self.moulting,
            due: self.due,
            soft_limit: self.soft_limit,
            moulting_limit: self.moulting_limit,
            due_limit: self.due_limit,
            confidence: self.confidence,
            design_effect: self.design_effect,
            intervals: if self.sison_glaz {
                Intervals::SisonGlaz
            } else {
                Intervals::Goodman
            },
            ..Settings::default()
        }
    }
}

impl Session {
    /// The farm's limits, the usual ones where none were set.
    ///
    /// # Errors
    /// [`SessionError::Setting`] when what is kept cannot be understood.
    pub fn farm_limits(&self) -> Result<FarmLimits, SessionError> {
        Ok(self.kept_setting(LIMITS)?.unwrap_or_default())
    }

    /// Sets the farm's limits.
    ///
    /// # Errors
    /// [`SessionError::Settings`] for limits that allow no answer.
    pub fn set_farm_limits(&mut self, limits: &FarmLimits) -> Result<(), SessionError> {
        limits.clone().settings().checked()?;
        self.keep_setting(LIMITS, limits)
    }

    /// A setting of the farm in its own form; absent when it was never set or left out again.
    pub(in crate::workflow) fn kept_setting<T: DeserializeOwned>(
        &self,
        key: &str,
    ) -> Result<Option<T>, SessionError> {
        let nothing = |value: &Value| value.as_object().is_some_and(serde_json::Map::is_empty);
        let value = self.setting(key)?.filter(|value| !nothing(value));
        let understood = value.map(serde_json::from_value).transpose();
        understood.map_err(|source| SessionError::Setting {
            key: key.to_owned(),
            source,
        })
    }

    /// Sets a setting of the farm in its own form; absent is kept as an object without fields, since
    /// a setting has a value.
    pub(in crate::workflow) fn keep_setting<T: Serialize>(
        &mut self,
        key: &str,
        kept: &T,
    ) -> Result<(), SessionError> {
        let value = serde_json::to_value(kept).map_err(|source| SessionError::Setting {
            key: key.to_owned(),
            source,
        })?;
        let absent = value.is_null();
        self.set_setting(key, if absent { json!({}) } else { value })
    }

    /// A setting of the farm; absent when it was never set.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn setting(&self, key: &str) -> Result<Option<Value>, SessionError> {
        let kept = self.see(|view| view.setting(key))?;
        Ok(kept.map(|kept| kept.body.value))
    }

    /// Sets a setting of the farm.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn set_setting(&mut self, key: &str, value: Value) -> Result<(), SessionError> {
        let key = key.to_owned();
        self.act(ActionKind::Setting, None, |change| {
            let standing = change.view().setting(&key)?;
            let setting = Setting { key, value };
            match standing {
                Some(kept) => change.edit(kept.thing(), &setting).map(drop),
                None => change.add(&setting).map(drop),
            }
        })
    }

    /// The readers, in the order of their names.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn readers(&self) -> Result<Vec<Kept<Reader>>, SessionError> {
        let mut readers = self.see(View::all::<Reader>)?;
        readers.sort_by(|a, b| a.body.name.cmp(&b.body.name));
        Ok(readers)
    }

    /// Adds a reader.
    ///
    /// # Errors
    /// [`SessionError`] for an empty name.
    pub fn add_reader(&mut self, reader: &Reader) -> Result<ReaderId, SessionError> {
        self.act(ActionKind::Reader, None, |change| change.add(reader))
    }

    /// Changes a reader.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn edit_reader(&mut self, id: ReaderId, reader: &Reader) -> Result<(), SessionError> {
        self.act(ActionKind::Reader, Some(id.row()), |change| {
            change.edit(id, reader).map(drop)
        })
    }

    /// The microscope profiles.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn microscopes(&self) -> Result<Vec<Kept<Microscope>>, SessionError> {
        self.see(View::all::<Microscope>)
    }

    /// Adds a microscope profile.
    ///
    /// # Errors
    /// [`SessionError`] for a scale that no microscope has.
    pub fn add_microscope(&mut self, profile: &Microscope) -> Result<MicroscopeId, SessionError> {
        self.act(ActionKind::Microscope, None, |change| change.add(profile))
    }

    /// Changes a microscope profile; photos that came before keep the scale they have.
    ///
    /// # Errors
    /// As [`Session::add_microscope`].
    pub fn edit_microscope(
        &mut self,
        id: MicroscopeId,
        profile: &Microscope,
    ) -> Result<(), SessionError> {
        self.act(ActionKind::Microscope, Some(id.row()), |change| {
            change.edit(id, profile).map(drop)
        })
    }

    /// The labels for training.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn labels(&self) -> Result<Vec<Kept<Label>>, SessionError> {
        self.see(View::all::<Label>)
    }

    /// Gives a label.
    ///
    /// # Errors
    /// [`SessionError`] when its animal is not there.
    pub fn add_label(&mut self, label: &Label) -> Result<LabelId, SessionError> {
        let about = Some(label.animal.row());
        self.act(ActionKind::Label, about, |change| change.add(label))
    }

    /// Withdraws a label with the reason, which is kept in its note.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn withdraw_label(&mut self, id: LabelId, because: &str) -> Result<(), SessionError> {
        self.act(ActionKind::Label, Some(id.row()), |change| {
            let label = change.view().standing::<Label>(id)?.body;
            let note = Some(because.to_owned());
            change.edit(id, &Label { note, ..label })?;
            change.withdraw::<Label>(id)
        })
    }

    /// The farm's own models.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn models(&self) -> Result<Vec<Kept<KeptModel>>, SessionError> {
        self.see(View::all::<KeptModel>)
    }

    /// Takes a model in.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn add_model(&mut self, model: &KeptModel) -> Result<ModelId, SessionError> {
        self.act(ActionKind::Model, None, |change| change.add(model))
    }

    /// The model in use now; absent for the one that comes with the program.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn model_in_use(&self) -> Result<Option<Kept<KeptModel>>, SessionError> {
        self.see(|view| {
            let uses = view.all::<ModelUse>()?;
            let latest = uses.into_iter().max_by_key(|kept| kept.head.id);
            let model = latest.and_then(|kept| kept.body.model);
            model.map(|id| view.standing::<KeptModel>(id)).transpose()
        })
    }

    /// Puts a model into use, or the one that comes with the program.
    ///
    /// # Errors
    /// [`SessionError`] when there is no such model.
    pub fn use_model(
        &mut self,
        model: Option<ModelId>,
        because: Option<&str>,
    ) -> Result<(), SessionError> {
        let because = because.map(str::to_owned);
        self.act(ActionKind::Model, model.map(ModelId::row), |change| {
            change.add(&ModelUse { model, because }).map(drop)
        })
    }
}
