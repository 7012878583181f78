//! The model file: everything that is needed to propose, and what it was made from.

use crate::measure::MEASURING_VERSION;
use crate::moult::Stage;
use crate::stage::core::Core;
use crate::stage::core::KINDS;
use crate::stage::evaluation::Figures;
use crate::stage::features;
use crate::stage::features::FEATURES;
use crate::stage::features::FEATURES_VERSION;
use crate::stage::gains::Gain;
use crate::stage::limits::Limits;
use crate::stage::logistic::Logistic;
use crate::stage::witness::QUESTIONS;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::OnceLock;
use thiserror::Error;

/// Version of the file's form.
pub const FORMAT: u32 = 2;

/// Largest model file that is read; a model takes well below a hundredth of it.
pub const MOST_BYTES: u64 = 8 * 1024 * 1024;

/// The model that comes with the program.
const SHIPPED: &str = include_str!("../../models/shipped.json");

/// What a model was made from, and how it does on conditions it had not seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Training {
    /// The command that makes it again.
    pub command: String,
    /// The seed.
    pub seed: u64,
    /// Penalty of the logistic fits.
    pub penalty: f64,
    /// Animals.
    pub animals: usize,
    /// Photos of each stage.
    pub counts: BTreeMap<Stage, usize>,
    /// Photos of each condition.
    pub conditions: BTreeMap<String, usize>,
    /// Photos between two stages: used for limits only.
    pub between: usize,
    /// Photos that were refused.
    pub refused: usize,
    /// By what photos were left out: `condition`, `animal` or `pond`.
    pub left_out_by: String,
    /// Scores on what was left out.
    pub left_out: Figures,
    /// The farm's own slides; absent in a model of painted ones alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own: Option<OwnTraining>,
}

/// What a model learned from a farm's own slides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnTraining {
    /// Own photos.
    pub photos: usize,
    /// Own animals.
    pub animals: usize,
    /// Ponds they came from.
    pub ponds: usize,
    /// Part of a stage's weight that its own slides were to carry beside painted ones.
    pub share: f64,
    /// Scores with whole animals left out.
    pub by_animal: Figures,
    /// Scores with whole ponds left out; absent with fewer than three ponds.
    pub by_pond: Option<Figures>,
    /// What further labels of each stage promise.
    pub gains: Vec<Gain>,
    /// Marks of the animals, so that they are not taken for held back later.
    pub seen: Vec<String>,
}

/// A model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// [`FORMAT`].
    pub format: u32,
    /// Its name.
    pub name: String,
    /// Hash of all that follows from `format` and `name` on, in hexadecimal.
    pub hash: String,
    /// The measuring version whose values it understands.
    pub measuring: u32,
    /// The features version.
    pub features_version: u32,
    /// Names of the features, in order.
    pub features: Vec<String>,
    /// The stages it knows, in cycle order.
    pub stages: Vec<Stage>,
    /// The fits.
    pub core: Core,
    /// The limits.
    pub limits: Limits,
    /// What it was made from.
    pub training: Training,
}

/// A model file that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ModelError {
    /// The file cannot be read.
    #[error("the model cannot be read; check its name and that you may open it: {}", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The file cannot be written.
    #[error("the model cannot be written; choose a folder that you may write to: {}", file.display())]
    Unwritable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// The file is larger than any model.
    #[error("{bytes} bytes are no model file, which has at most {MOST_BYTES}; give one that `tailfan train` wrote: {}", file.display())]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size.
        bytes: u64,
    },
    /// The file holds no model.
    #[error("this is no model file; give one that `tailfan train` wrote: {}", file.display())]
    NoModel {
        /// The file.
        file: PathBuf,
        /// What is wrong with it.
        #[source]
        source: serde_json::Error,
    },
    /// Another version of the file's form, the measures or the features.
    #[error("the model's {what} version is {found} and this program's is {wanted}; train the model again with this program: {}", file.display())]
    Version {
        /// The file.
        file: PathBuf,
        /// What has versions.
        what: &'static str,
        /// Version of the file.
        found: u32,
        /// Version of the program.
        wanted: u32,
    },
    /// A feature that this program does not have, or has at another place.
    #[error("the model wants the feature \"{found}\" where this program has \"{wanted}\"; train the model again with this program: {}", file.display())]
    UnknownFeature {
        /// The file.
        file: PathBuf,
        /// Feature of the file, or nothing.
        found: String,
        /// Feature of the program, or nothing.
        wanted: String,
    },
    /// Numbers that are missing, not finite or out of range.
    #[error("the model's {what} cannot be used; it was damaged: take it from where it was trained, or train it again: {}", file.display())]
    Damaged {
        /// The file.
        file: PathBuf,
        /// The part.
        what: &'static str,
    },
    /// The content does not belong to its hash.
    #[error("the model was changed after it was trained; take it from where it was trained, or train it again: {}", file.display())]
    Changed {
        /// The file.
        file: PathBuf,
    },
}

impl Model {
    /// Puts a model together; its hash follows from the rest.
    pub fn new(
        name: String,
        stages: Vec<Stage>,
        core: Core,
        limits: Limits,
        training: Training,
    ) -> Self {
        let mut model = Self {
            format: FORMAT,
            name,
            hash: String::new(),
            measuring: MEASURING_VERSION,
            features_version: FEATURES_VERSION,
            features: features::names(),
            stages,
            core,
            limits,
            training,
        };
        model.hash = model.content_hash();
        model
    }

    /// Name and the beginning of the hash: what a reading keeps of the model.
    pub fn id(&self) -> String {
        let short: String = self.hash.chars().take(12).collect();
        format!("{}-{short}", self.name)
    }

    /// Reads a model file.
    ///
    /// # Errors
    /// [`ModelError`] for a file that cannot be used with this program.
    pub fn load(file: &Path) -> Result<Self, ModelError> {
        let unreadable = |source| ModelError::Unreadable {
            file: file.to_owned(),
            source,
        };
        let bytes = fs::metadata(file).map_err(unreadable)?.len();
        if bytes > MOST_BYTES {
            let file = file.to_owned();
            return Err(ModelError::TooLarge { file, bytes });
        }
        Self::parse(&fs::read(file).map_err(unreadable)?, file)
    }

    /// Reads a model from the bytes of `file`, which only gives errors its name.
    ///
    /// # Errors
    /// [`ModelError`] for content that cannot be used with this program.
    pub fn parse(bytes: &[u8], file: &Path) -> Result<Self, ModelError> {
        let no_model = |source| ModelError::NoModel {
            file: file.to_owned(),
            source,
        };
        // Versions first: a later form need not fit the rest.
        let head: Head = serde_json::from_slice(bytes).map_err(no_model)?;
        head.check(file)?;
        let model: Self = serde_json::from_slice(bytes).map_err(no_model)?;
        model.check(file)?;
        Ok(model)
    }

    /// The file's text: the same model gives the same bytes.
    ///
    /// # Errors
    /// [`serde_json::Error`] when a value cannot be written.
    pub fn to_text(&self) -> Result<String, serde_json::Error> {
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        Ok(text)
    }

    /// Writes the model file, after the checks that reading it will make.
    ///
    /// # Errors
    /// [`ModelError`] when the model is not sound or the file cannot be written.
    pub fn save(&self, file: &Path) -> Result<(), ModelError> {
        let text = self.to_text().map_err(|source| ModelError::NoModel {
            file: file.to_owned(),
            source,
        })?;
        Self::parse(text.as_bytes(), file)?;
        fs::write(file, text).map_err(|source| ModelError::Unwritable {
            file: file.to_owned(),
            source,
        })
    }

    fn content_hash(&self) -> String {
        let bare = Self {
            hash: String::new(),
            ..self.clone()
        };
        let text = serde_json::to_vec(&bare).unwrap_or_default();
        blake3::hash(&text).to_hex().to_string()
    }

    fn check(&self, file: &Path) -> Result<(), ModelError> {
        let file = file.to_owned();
        let own = features::names();
        for at in 0..own.len().max(self.features.len()) {
            let (found, wanted) = (self.features.get(at), own.get(at));
            if found != wanted {
                return Err(ModelError::UnknownFeature {
                    file,
                    found: found.cloned().unwrap_or_default(),
                    wanted: wanted.cloned().unwrap_or_default(),
                });
            }
        }
        let (of, width) = (self.stages.len(), FEATURES.len());
        let in_order = self.stages.windows(2).all(|pair| pair[0] < pair[1]);
        let known = self.stages.iter().all(|s| Stage::PROPOSED.contains(s));
        let faults = [
            ("list of stages", of >= 2 && in_order && known),
            ("coefficients", sound(&self.core.logistic, of, width)),
            ("novelty", self.novelty_is_sound(of, own.len())),
            ("criteria", self.witnesses_are_sound(of, width)),
            ("borders", self.borders_are_sound(of, width)),
            ("limits", self.limits_are_sound()),
        ];
        if let Some((what, _)) = faults.into_iter().find(|(_, fine)| !fine) {
            return Err(ModelError::Damaged { file, what });
        }
        if self.hash != self.content_hash() {
            return Err(ModelError::Changed { file });
        }
        Ok(())
    }

    fn novelty_is_sound(&self, of: usize, width: usize) -> bool {
        let novelty = &self.core.novelty;
        let triangle = novelty.whitening.iter().enumerate();
        table(&novelty.centres, of, width)
            && finite(&novelty.sd, width)
            && novelty.sd.iter().all(|sd| *sd > 0.0)
            && novelty.whitening.len() == width
            && triangle.into_iter().all(|(i, row)| finite(row, i + 1))
    }

    fn witnesses_are_sound(&self, of: usize, width: usize) -> bool {
        let asked = QUESTIONS.iter().map(|(a, b, _)| a.max(b) + 1).max();
        let witnesses = &self.core.witnesses;
        Some(witnesses.len()) == asked
            && witnesses.iter().all(|w| {
                w.features.iter().all(|at| *at < width) && sound(&w.fit, of, w.features.len())
            })
    }

    fn borders_are_sound(&self, of: usize, width: usize) -> bool {
        let borders = &self.core.borders;
        borders.len() + 1 == of && borders.iter().flatten().all(|fit| sound(fit, KINDS, width))
    }

    fn limits_are_sound(&self) -> bool {
        let limits = &self.limits;
        let shares = [
            limits.least_top,
            limits.least_hard,
            limits.sure,
            limits.sure_of_side,
        ];
        let positive = |value: f64| value.is_finite() && value > 0.0;
        limits.calibration.is_sound()
            && positive(limits.distance)
            && limits.border.iter().all(|b| (0.0..=1.0).contains(b))
            && shares.iter().all(|s| (0.0..=1.0).contains(s))
            && finite(&limits.split, 2)
            && finite(&limits.contradiction, QUESTIONS.len())
    }
}

/// The versions of a file.
#[derive(Deserialize)]
struct Head {
    format: u32,
    measuring: u32,
    features_version: u32,
}

impl Head {
    fn check(&self, file: &Path) -> Result<(), ModelError> {
        let versions = [
            ("format", self.format, FORMAT),
            ("measuring", self.measuring, MEASURING_VERSION),
            ("features", self.features_version, FEATURES_VERSION),
        ];
        match versions.into_iter().find(|(_, f, w)| f != w) {
            Some((what, found, wanted)) => Err(ModelError::Version {
                file: file.to_owned(),
                what,
                found,
                wanted,
            }),
            None => Ok(()),
        }
    }
}

fn finite(values: &[f64], of: usize) -> bool {
    values.len() == of && values.iter().all(|v| v.is_finite())
}

fn table(rows: &[Vec<f64>], of: usize, width: usize) -> bool {
    rows.len() == of && rows.iter().all(|row| finite(row, width))
}

fn sound(fit: &Logistic, of: usize, width: usize) -> bool {
    table(&fit.coefficients, of, width)
        && finite(&fit.intercepts, of)
        && finite(&fit.mean, width)
        && finite(&fit.sd, width)
        && fit.sd.iter().all(|sd| *sd > 0.0)
}

/// The model that comes with the program, read once.
///
/// # Errors
/// [`ModelError`] when it was made for another version of this program.
pub fn shipped() -> Result<Arc<Model>, ModelError> {
    static MODEL: OnceLock<Arc<Model>> = OnceLock::new();
    if let Some(model) = MODEL.get() {
        return Ok(Arc::clone(model));
    }
    let model = Model::parse(SHIPPED.as_bytes(), Path::new("the shipped model"))?;
    Ok(Arc::clone(MODEL.get_or_init(|| Arc::new(model))))
}
