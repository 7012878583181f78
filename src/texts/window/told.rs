//! What the window says of what was done, and of what could not be.

use crate::moult::Stage;
use crate::records::places::Outcome;
use crate::records::words::ActionKind;
use std::fmt::Display;
use std::path::Path;

/// The clerk failed.
pub const LOGBOOK_FAULT: &str = "the program failed while writing to the logbook";

/// The sample in hand as a sentence.
pub fn sample_sentence(
    [pond, netted]: [&str; 2],
    animals: usize,
    weight_g: Option<f64>,
    water_c: Option<f64>,
) -> String {
    let mut parts = Vec::new();
    if pond.is_empty() {
        parts.push("Photos without a sample".to_owned());
    } else {
        parts.push(format!("{pond}, netted {netted}"));
    }
    parts.push(match animals {
        1 => "1 animal".to_owned(),
        more => format!("{more} animals"),
    });
    parts.extend(weight_g.map(|w| format!("{w:.1} g")));
    parts.extend(water_c.map(|t| format!("water {t:.1} °C")));
    parts.join(" · ")
}

/// A call without a stage, in a table.
pub const UNREAD_CODE: &str = "unread";

/// What an action was, as Undo names it.
pub const fn kind(kind: ActionKind) -> &'static str {
    match kind {
        ActionKind::Reader => "a reader",
        ActionKind::Microscope => "a microscope profile",
        ActionKind::AddPond => "a new pond",
        ActionKind::EditPond => "a change of a pond",
        ActionKind::NewSample => "a new sample",
        ActionKind::EditSample => "a change of a sample",
        ActionKind::AddAnimals => "new animals",
        ActionKind::EditAnimal => "a change of an animal",
        ActionKind::ImportPhotos => "photos taken in",
        ActionKind::AssignPhoto => "a photo moved",
        ActionKind::EditPhoto => "a change of a photo",
        ActionKind::Read => "a reading",
        ActionKind::Call => "a call",
        ActionKind::SecondCall => "a second call",
        ActionKind::BlindRound => "a round for a second reader",
        ActionKind::Settle => "a settlement",
        ActionKind::Practice => "a practice round",
        ActionKind::Label => "a label",
        ActionKind::Model => "a model",
        ActionKind::Verdict => "a verdict",
        ActionKind::Outcome => "an outcome",
        ActionKind::Setting => "a setting",
        ActionKind::Withdraw => "a withdrawal",
        ActionKind::Undo => "an undoing",
        ActionKind::Redo => "a redoing",
        ActionKind::Demo => "the made-up farm",
    }
}

/// No logbook is open.
pub const NO_LOGBOOK: &str =
    "no logbook is open: open one or begin one first (Ctrl+O, Ctrl+Shift+N)";

/// No sample is in hand.
pub const NO_SAMPLE: &str = "no sample is in hand: begin one first (Ctrl+N)";

/// An animal that is not there.
pub const NO_SUCH_ANIMAL: &str = "this animal is not in the sample any more";

/// A sample needs a pond.
pub const NO_POND_NAME: &str = "a sample needs the name of its pond";

/// A text that is no moment.
pub fn no_moment(text: &str) -> String {
    format!("\"{text}\" is no moment: write date and hour, such as 2026-11-26 06:00")
}

/// A logbook was opened.
pub fn opened(file: &Path) -> String {
    format!("logbook {}", name_of(file))
}

/// Where a logbook lies.
pub fn lies_in(file: &Path) -> String {
    format!("logbook {}", file.display())
}

/// The name of a file without its folders, which would fill the line.
fn name_of(file: &Path) -> String {
    let name = file.file_name().unwrap_or(file.as_os_str());
    name.to_string_lossy().into_owned()
}

/// A sample was begun.
pub fn sample_begun(pond: &str) -> String {
    format!("sample of {pond} begun: now its photos")
}

/// Another sample is in hand.
pub const IN_HAND: &str = "another sample is in hand";

/// Another person reads.
pub fn reader(name: &str) -> String {
    format!("{name} reads now")
}

/// The limits were set.
pub const LIMITS_SET: &str = "limits set";

/// A profile was made.
pub fn profile_made(name: &str, um_per_px: f64) -> String {
    format!("profile {name}, {um_per_px:.4} µm per pixel: photos that come get this scale")
}

/// A profile was chosen.
pub const PROFILE_CHOSEN: &str = "photos that come get the scale of this profile";

/// An outcome was noted.
pub const OUTCOME_NOTED: &str = "outcome noted";

/// A reading was corrected.
pub const CORRECTED: &str = "corrected by hand; the proposal was made anew";

/// A table was saved.
pub fn saved(file: &Path) -> String {
    let folder = file.parent().and_then(Path::file_name);
    match folder {
        Some(folder) => format!("saved in {}: {}", folder.to_string_lossy(), name_of(file)),
        None => format!("saved: {}", name_of(file)),
    }
}

/// What a harvest turned out to be, in a line.
pub fn outcome_line(outcome: &Outcome) -> String {
    match (outcome.soft_found, outcome.animals_checked) {
        (Some(soft), Some(checked)) => {
            format!(
                "harvested {}: {soft} of {checked} soft",
                outcome.harvested.date()
            )
        }
        _ => format!("harvested {}", outcome.harvested.date()),
    }
}

/// Says that it is made up.
pub const MADE_UP: &str = "made up: no such pond, animals or people";
/// There is no folder for it.
pub const NO_MADE_UP_FOLDER: &str =
    "the system names no folder for the user's data: begin a new logbook instead";

/// The path fields: photos, a folder, a folder to watch, a logbook to open, one to begin, a table, a
/// page, a logbook to take in, slides of known truth, sent slides, an answer, a table of labels, a model to write, one to take in.
pub const PATH_FIELDS: [&str; 14] = [
    "photo to take into the sample",
    "folder of photos to take into the sample",
    "folder into which the camera saves",
    "logbook to open",
    "file of the new logbook, such as farm.logbook",
    "CSV file for the table (a name alone goes beside the logbook)",
    "PDF file for the page (a name alone goes beside the logbook)",
    "logbook to take in",
    "CSV file of slides of known truth (columns truth,call, and weight where they were chosen)",
    "file of slides that somebody sent you",
    "answer of a second reader",
    "table of labels to take in",
    "file for the model, such as farm.json (a name alone goes beside the logbook)",
    "model file to take in",
];

/// How to correct.
pub const CORRECTING: &str = "drag the blue base line or the orange edge on the photo, or use the buttons below it; Escape ends it";
/// Nothing to correct.
pub const NOTHING_TO_CORRECT: &str =
    "there is nothing to correct: this photo was not read, or it was refused";
/// What to click: a gap, a length.
pub const CLICKS: [&str; 2] = [
    "click the base line, then the edge of the epidermis in line with it",
    "click both ends of a length that you know",
];
/// Moves the base line outwards.
pub const ROW_OUT: &str = "Base line outwards";
/// Moves the base line inwards.
pub const ROW_IN: &str = "Base line inwards";
/// Moves the edge outwards.
pub const EDGE_OUT: &str = "Epidermis outwards";
/// Moves the edge inwards.
pub const EDGE_IN: &str = "Epidermis inwards";
/// A tenth of a base width.
pub const TENTH: &str = "each by a tenth of a base width";

/// No ruling, and what to do.
pub fn no_ruling(why: &dyn Display, remedy: &str) -> String {
    format!("{why}: {remedy}")
}

/// The logbook was removed under the running program.
pub fn logbook_gone(file: &Path) -> String {
    format!(
        "the logbook is gone, so nothing was written: put the file back, or open another (Ctrl+O): {}",
        file.display()
    )
}

/// How far painting is.
pub fn painting(done: usize, total: usize) -> String {
    format!("painting {done} of {total}")
}

/// The axis of samples.
pub const SAMPLES_IN_TIME: &str = "samples in time";
/// Hundredths.
pub const PERCENT_SIGN: &str = "%";

/// A stage with its count, in a list.
pub fn stage_count(stage: Stage, count: u64) -> String {
    format!("{stage} {count}")
}

/// Others have the logbook open.
pub fn also_open(others: &str) -> String {
    format!(
        "this logbook is also open elsewhere ({others}): what is called there is seen here after the next call"
    )
}

/// Rivals were settled.
pub fn settled(animal: &str, stage: Stage) -> String {
    format!("animal {animal} settled as {stage}")
}

/// Why they were settled so.
pub const SETTLED_BECAUSE: &str = "called anew with both calls in view";
/// How to settle.
pub const SETTLE_RIVALS: &str = "M in Slides goes to the next of them.";

/// Photos that did not come in.
pub fn photos_missing(count: usize) -> String {
    match count {
        1 => "1 photo was not found, or is not as it came.".to_owned(),
        many => format!("{many} photos were not found, or are not as they came."),
    }
}

/// Slides of known truth came in, or were left out.
pub fn reader_slides_taken(count: usize) -> String {
    match count {
        0 => "no slides of known truth are considered".to_owned(),
        1 => "1 slide of known truth is considered in every tally".to_owned(),
        many => format!("{many} slides of known truth are considered in every tally"),
    }
}

/// Heading of a sample that is changed.
pub const CHANGE_SAMPLE: &str = "Change the sample";
/// A sample was changed.
pub const SAMPLE_CHANGED: &str = "the sample was changed";
