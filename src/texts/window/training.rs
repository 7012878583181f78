//! Words of the place Training.

use crate::moult::Stage;

/// What the place shows: readers, or labels.
pub const TRAINING_VIEWS: [&str; 2] = ["Readers and practice", "Labels and models"];
/// Heading over training.
pub const TRAIN_HEADING: &str = "Train on the farm's own slides";
/// Heading over the models.
pub const MODELS_HEADING: &str = "Models";
/// Heading over the labels.
pub const LABELS_HEADING: &str = "Labelled slides";
/// Heading over the comparison.
pub const COMPARED_HEADING: &str = "The new model beside the one in use";
/// Heading over what further labels promise.
pub const MORE_LABELS_HEADING: &str = "Which further labels would help";
/// Painted slides beside own ones.
pub const PAINTED_BESIDE: &str = "Painted slides beside them, of each stage and condition";
/// What they cost.
pub const PAINTED_BESIDE_HINT: &str =
    "0 for none; 2 take some minutes the first time and are kept then";
/// Part of the weight that own slides carry.
pub const OWN_SHARE: &str = "part of a stage's weight that own slides carry";
/// What it means.
pub const OWN_SHARE_HINT: &str = "1 leaves painted slides no say where there are own ones; stages with few own ones lean on painted ones";
/// The filter over the labels.
pub const FILTER: &str = "Show only";
/// Order of the labels.
pub const OLDEST_FIRST: &str = "the oldest first";
/// Order of the labels.
pub const SURPRISING_FIRST: &str =
    "those first that the program, trained without that animal, believes least";
/// Order of the labels, without a training.
pub const TRAIN_FIRST: &str = "train once, then the most surprising labels can stand first";
/// Columns of the labels.
pub const LABEL_COLUMNS: [&str; 6] = [
    "label",
    "photo",
    "reader",
    "evidence",
    "given",
    "the program, trained without it",
];
/// No labels.
pub const NO_LABELS: &str =
    "No labels here. On Slides, label an animal that was called; or take in a table of labels.";
/// No label holds the words of the filter.
pub const NONE_OF_THESE: &str = "No label holds these words.";
/// No label is chosen.
pub const NO_LABEL_CHOSEN: &str = "choose a label first";
/// A label was withdrawn.
pub const LABEL_WITHDRAWN: &str = "label withdrawn; it stays in the logbook with the reason";
/// Asked for when a label is withdrawn.
pub const WITHDRAW_WHY: &str = "Why is this label withdrawn?";
/// Nothing was trained yet.
pub const NOT_TRAINED: &str =
    "nothing was trained since the window opened; choose a model below to use it";
/// The training stopped.
pub const TRAINING_STOPPED: &str = "training stopped; nothing was changed";
/// The training begins.
pub const TRAINING_BEGINS: &str = "training";
/// A new model is there.
pub const TRAINED: &str = "a new model is there; it is kept, and not in use until it is adopted";
/// What stands beside the photo of the chosen label: what it was labelled, what the program believes.
pub const LABEL_BESIDE: [&str; 2] = ["Labelled", "The program, trained without it"];
/// How to look nearer.
pub const LABEL_PHOTO_HINT: &str = "double-click or Ctrl+wheel to look nearer";
/// No label is chosen for a look.
pub const CHOOSE_LABEL: &str =
    "Choose a label to see its photo beside the stage key (Up and Down go through the list).";
/// Roles of the two models.
pub const ROLES: [&str; 2] = ["in use", "new"];
/// The reliability plot.
pub const RELIABILITY: &str = "Probability stated, and how often it came true";
/// How it is read.
pub const RELIABILITY_HINT: &str = "dotted: as often as stated; bars: 95 %";
/// Its axes.
pub const STATED: &str = "stated";
/// Its axes.
pub const CAME_TRUE: &str = "came true";
/// Its diagonal.
pub const HONEST: &str = "honest";
/// Rows of the confusion table.
pub const LABELLED: &str = "labelled";
/// Its last column.
pub const CANNOT_TELL_SHORT: &str = "cannot tell";
/// As the figures name it.
pub const CANNOT_TELL_CODE: &str = "cannot tell";

/// How many labels there are.
pub fn labels_so_far(count: usize) -> String {
    match count {
        0 => "There are no labels yet. Label the called animals of the sample in hand, or take in a table of labels; both stand below.".to_owned(),
        1 => "There is 1 label.".to_owned(),
        more => format!("There are {more} labels."),
    }
}

/// The command that does the same as a training in the window.
pub fn training_command(seed: u64) -> String {
    format!("tailfan train --labels --seed {seed} --out farm.json")
}

/// How far a training is.
pub fn training_step(done: usize, total: usize) -> String {
    format!("training, {done} of {total} steps")
}

/// The button that puts a model into use.
pub fn use_model(name: &str) -> String {
    format!("Use {name}")
}

/// A model that was taken in.
pub fn model_taken(name: &str) -> String {
    format!("{name} taken in; it is not in use until it is chosen")
}

/// A model by its role.
pub fn role(role: &str, name: &str) -> String {
    format!("{role}: {name}")
}

/// Heading of a confusion table.
pub fn confusion_of(name: &str) -> String {
    format!("Proposed by {name}")
}

/// A label in the list.
pub fn label_row(stage: Stage, pond: &str, animal: &str) -> String {
    format!("{}  {pond}, {animal}", stage.code())
}

/// Labels that the list does not show.
pub fn more_labels(count: usize) -> String {
    format!("{count} more; narrow the list with words")
}

/// Name of a model that is trained in the window.
pub const FARM_MODEL: &str = "farm";
