//! What the place Training knows: the labels, the models, and the last training.

use crate::desktop::photo_view::Eye;
use crate::moult::Stage;
use crate::stage::comparison::Comparison;
use crate::stage::model::Model;
use crate::workflow::farm_training::DEFAULT_SHARE;
use crate::workflow::farm_training::LabelOpinion;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

/// The photo of a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LabelPhoto {
    /// Where it lies.
    pub path: PathBuf,
    /// BLAKE3 hash of its bytes.
    pub hash: String,
}

/// A label as the list shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LabelLine {
    /// What tells it from others.
    pub id: String,
    /// The stage.
    pub stage: Stage,
    /// The pond.
    pub pond: String,
    /// The animal.
    pub animal: String,
    /// Name of its first photo.
    pub photo: String,
    /// Its first photo.
    pub shown: Option<LabelPhoto>,
    /// Who says so.
    pub reader: String,
    /// On what evidence, in words.
    pub evidence: &'static str,
    /// When it was given.
    pub given: String,
}

/// What stands in the logbook for the place Training.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TrainingSheet {
    /// The logbook.
    pub file: PathBuf,
    /// The labels, the oldest first.
    pub labels: Vec<LabelLine>,
    /// The model in use.
    pub in_use: String,
    /// The farm's models, the latest last.
    pub models: Vec<String>,
    /// What is said of the model's test on real micrographs.
    pub tested: Vec<String>,
    /// How often proposals were changed, in words.
    pub drift: Vec<String>,
}

/// The last training.
#[derive(Debug, Clone)]
pub struct Trained {
    /// The new model.
    pub model: Arc<Model>,
    /// Names of the model in use and of the new one.
    pub names: [String; 2],
    /// The two on the same held-back animals.
    pub comparison: Comparison,
    /// Animals that the model in use had seen.
    pub seen_before: usize,
    /// Labelled photos that could not be used, in words.
    pub left_out: Vec<String>,
    /// What each stage's further labels promise, in words.
    pub gains: Vec<String>,
    /// What fits that had not seen them say of the labels.
    pub opinions: BTreeMap<String, LabelOpinion>,
}

/// In which order the labels are shown.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Order {
    /// As they were given.
    #[default]
    Oldest,
    /// Those first that the program believes least.
    Surprising,
}

/// The place Training.
#[derive(Debug)]
pub struct School {
    /// What stands in the logbook.
    pub sheet: Arc<TrainingSheet>,
    /// Whether the place shows labels and models, not readers.
    pub shown: bool,
    /// The last training.
    pub trained: Option<Arc<Trained>>,
    /// The order of the labels.
    pub order: Order,
    /// Only labels that hold these words.
    pub filter: String,
    /// The label that is chosen, by its id.
    pub chosen: Option<String>,
    /// Painted slides of each stage under each condition, beside the own ones.
    pub painted: usize,
    /// Part of a stage's weight that own slides carry beside painted ones.
    pub share: f64,
    /// How the photo of the chosen label is looked at.
    pub eye: Eye,
    /// The label that it belongs to.
    pub eye_of: Option<String>,
}

impl Default for School {
    fn default() -> Self {
        Self {
            sheet: Arc::default(),
            shown: false,
            trained: None,
            order: Order::default(),
            filter: String::new(),
            chosen: None,
            painted: 0,
            share: DEFAULT_SHARE,
            eye: Eye::default(),
            eye_of: None,
        }
    }
}

impl School {
    /// The labels to be shown, in their order.
    pub fn labels(&self) -> Vec<&LabelLine> {
        let words = self.filter.trim().to_lowercase();
        let holds = |line: &&LabelLine| {
            let text = [
                line.stage.code(),
                &line.pond,
                &line.animal,
                &line.photo,
                &line.reader,
                line.evidence,
            ];
            words
                .split_whitespace()
                .all(|word| text.iter().any(|part| part.to_lowercase().contains(word)))
        };
        let mut lines: Vec<&LabelLine> = self.sheet.labels.iter().filter(holds).collect();
        if self.order == Order::Surprising {
            let of = |line: &LabelLine| self.opinion(&line.id).map_or(2.0, |o| o.of_label);
            lines.sort_by(|a, b| of(a).total_cmp(&of(b)));
        }
        lines
    }

    /// What a fit that had not seen it says of a label.
    pub fn opinion(&self, label: &str) -> Option<&LabelOpinion> {
        self.trained.as_ref()?.opinions.get(label)
    }

    /// The chosen label, if it is still there.
    pub fn label(&self) -> Option<&LabelLine> {
        let chosen = self.chosen.as_ref()?;
        self.sheet.labels.iter().find(|line| line.id == *chosen)
    }

    /// Chooses the label so many places on in the list.
    pub fn turn(&mut self, by: isize) {
        let lines = self.labels();
        let at = lines
            .iter()
            .position(|line| Some(&line.id) == self.chosen.as_ref());
        let next = match at {
            Some(at) => at
                .saturating_add_signed(by)
                .min(lines.len().saturating_sub(1)),
            None => 0,
        };
        self.chosen = lines.get(next).map(|line| line.id.clone());
    }
}
