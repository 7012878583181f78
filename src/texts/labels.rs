//! Words of labelled slides and of the farm's models.

use crate::records::words::Evidence;
use crate::texts::scores::percent;
use std::fmt::Write as _;
use std::path::Path;

/// The pond of labels that name none.
pub const UNNAMED_POND: &str = "labelled slides";

/// Why a model is in use again.
pub const GONE_BACK: &str = "gone back";

/// Why a model is in use.
pub const ADOPTED: &str = "adopted";

/// The note of a sample that holds labels from a table.
pub fn imported_sample(table: &Path) -> String {
    let name = table.file_name().unwrap_or_default().to_string_lossy();
    format!("labelled slides taken in from {name}")
}

/// On what evidence a stage is known.
pub const fn evidence(evidence: Evidence) -> &'static str {
    match evidence {
        Evidence::Call => "own call",
        Evidence::Settled => "settled second call",
        Evidence::KnownDays => "known days since a seen moult",
        Evidence::Imported => "table of labels",
    }
}

/// Names of the reasons for which an animal gets no label, in the order of the codes.
pub const NO_LABEL: [&str; 4] = [
    "it was not called",
    "it has no photo",
    "E shows on no photo of setal bases",
    "no second call agreed, and nothing was settled",
];

/// What was labelled.
pub fn labelled(written: usize, refused: usize) -> String {
    let written = labels(written);
    match refused {
        0 => format!("{written} written"),
        1 => format!("{written} written, 1 animal could not be labelled"),
        more => format!("{written} written, {more} animals could not be labelled"),
    }
}

fn labels(count: usize) -> String {
    match count {
        1 => "1 label".to_owned(),
        more => format!("{more} labels"),
    }
}

/// An animal that got no label.
pub fn not_labelled(animal: &str, why: &str) -> String {
    format!("{animal}: no label, {why}")
}

/// What came in from a table.
pub fn taken(labels: usize, photos: usize, already: usize) -> String {
    let photos = match photos {
        1 => "1 photo".to_owned(),
        more => format!("{more} photos"),
    };
    let mut words = format!("{} with {photos} taken in", self::labels(labels));
    if already > 0 {
        let _fine = write!(words, "; {already} photos were labelled already");
    }
    words
}

/// What the model's own left-out fit says of a label.
pub fn opinion(of_label: f64, likeliest: &str, of_likeliest: f64) -> String {
    format!(
        "{} for the label, {} for {likeliest}",
        percent(of_label),
        percent(of_likeliest)
    )
}

/// Which model is in use.
pub fn in_use(model: &str) -> String {
    format!("in use: {model}")
}

/// What reading again did.
pub fn read_again(written: usize, changed: usize) -> String {
    format!(
        "{written} photos read again, {changed} of them with another proposal; calls stay as they are"
    )
}

/// A model that was kept or written, and its card.
pub fn model_written(model: &Path, card: &Path) -> String {
    format!("{} with its card {}", model.display(), card.display())
}
