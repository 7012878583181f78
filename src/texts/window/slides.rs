//! Words of the place Slides and of the frame around all places.

use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::words::Unread;
use std::fmt::Display;
use std::fmt::Write as _;
use std::path::Path;

/// How many photos were taken into the sample.
pub fn photos_taken(count: usize) -> String {
    match count {
        0 => "no new photo: those are in the sample already".to_owned(),
        1 => "1 photo taken into the sample".to_owned(),
        more => format!("{more} photos taken into the sample"),
    }
}

/// A file that cannot be opened.
pub fn cannot_open(path: &Path, error: &dyn Display) -> String {
    format!(
        "cannot be opened, {error}; look whether it is still there: {}",
        path.display()
    )
}

/// What was called.
pub fn called(animal: &str, stage: Stage, proposal: Option<Stage>) -> String {
    match proposal {
        Some(proposed) if stage.as_proposed() == Some(proposed) => {
            format!("animal {animal} called {stage}, as proposed")
        }
        Some(proposed) => format!("animal {animal} called {stage}; the proposal was {proposed}"),
        None => format!("animal {animal} called {stage} by eye"),
    }
}

/// Why an animal stays unread.
pub const fn unread_because(why: Unread) -> &'static str {
    match why {
        Unread::Refused => "the photo cannot be read",
        Unread::Regenerated => "regrown, or clipped before",
        Unread::Dried => "dried",
        Unread::Preserved => "preserved",
        Unread::OtherPart => "another part: pleopod, telson",
        Unread::Lost => "animal or tip lost",
        Unread::Other => "another reason",
    }
}

/// What was refused.
pub fn refused(animal: &str, why: &str) -> String {
    format!("animal {animal} left unread: {why}")
}

/// A call that was taken off.
pub fn withdrawn(animal: &str) -> String {
    format!("the call of animal {animal} was withdrawn")
}

/// Whether another reader is wanted.
pub fn second(animal: &str, wanted: bool) -> String {
    if wanted {
        format!("animal {animal} marked for a second reader")
    } else {
        format!("animal {animal} no longer marked for a second reader")
    }
}

/// The shell as felt.
pub const fn shell(shell: Option<Shell>) -> &'static str {
    match shell {
        Some(Shell::Firm) => "firm",
        Some(Shell::Soft) => "soft",
        Some(Shell::Papery) => "papery",
        None => "not felt",
    }
}

/// What was noted about the shell.
pub fn shell_noted(animal: &str, felt: Option<Shell>) -> String {
    format!("shell of animal {animal}: {}", shell(felt))
}

/// A note was written.
pub fn noted(animal: &str) -> String {
    format!("note on animal {animal}")
}

/// A photo went to another animal.
pub fn assigned(animal: &str) -> String {
    format!("the photo belongs to animal {animal} now")
}

/// What was taken back.
pub fn undone(what: &str) -> String {
    format!("taken back: {what}")
}

/// What was done again.
pub fn redone(what: &str) -> String {
    format!("done again: {what}")
}

/// How far an animal is: no photo, waiting, refused, read, called, left unread.
pub const STANDINGS: [&str; 6] = [
    "no photo",
    "to be read",
    "refused",
    "uncalled",
    "called",
    "unread",
];

/// A call, in the tray.
pub fn called_stage(stage: Stage) -> String {
    format!("called {stage}")
}

/// An animal with its state.
pub fn animal_state(name: &str, station: Option<&str>, state: &str, second: bool) -> String {
    let at = station.map_or_else(String::new, |station| format!(", {station}"));
    let mark = if second { ", for a second reader" } else { "" };
    format!("animal {name}{at}, {state}{mark}")
}

/// An animal with several calls beside each other.
pub fn animal_with_rivals(name: &str, calls: usize) -> String {
    format!("animal {name}, {calls} calls to be settled")
}

/// A call beside another.
pub fn rival(stage: &str, reader: &str) -> String {
    format!("{stage} by {reader}")
}

/// Calls beside each other.
pub fn rivals(calls: &str) -> String {
    format!(
        "Called in two logbooks: {calls}. The last one is counted until you settle it: press the stage key of \
         the stage that shall stand."
    )
}

/// An animal with several photos.
pub fn with_photos(name: &str, photos: usize) -> String {
    format!("{name} ×{photos}")
}

/// Animals without a station.
pub const NO_STATION: &str = "station not noted";

/// The mark of an animal for a second reader.
pub const SECOND_MARK: &str = "2nd";

/// What the strip under the photo is.
pub const STRAIGHT_MARGIN: &str = "the margin straightened: bases in a row, the gap below them";

/// No straightened margin.
pub const NO_MARGIN: &str = "no margin to lay straight";

/// Nothing to look at.
pub const NO_SLIDE: &str = "No slides yet. Drop photos or a folder here, choose them, or watch the folder \
into which the camera saves.";

/// The photo is being made ready.
pub const COMING: &str = "the photo comes";

/// A photo that cannot be shown.
pub const NOT_SHOWN: &str = "this photo cannot be shown";

/// An animal that has no photo.
pub const NO_PHOTO: &str = "no photo of this animal yet: drop one here, or call it by eye";

/// A photo that waits to be read.
pub const NOT_READ: &str = "not read yet";

/// The proposal is kept back.
pub const HIDDEN: &str = "Call this one first: its proposal is shown after the call. One animal of five, \
drawn by chance, is called so; only these tell how reader and program agree.";

/// Nothing was called.
pub const UNCALLED: &str = "not called";

/// The heading of what is proposed.
pub const PROPOSAL: &str = "Proposal";

/// The heading of the call.
pub const CALL: &str = "Call";

/// The heading of the measures.
pub const MEASURES: &str = "What moved it";

/// The heading of the stage key.
pub const STAGE_KEY: &str = "Stage key";

/// The program cannot tell.
pub const CANNOT_TELL: &str = "cannot tell";

/// Enter does nothing here.
pub fn stage_key_needed(why: &str) -> String {
    format!("Enter does not agree here ({why}): press a stage key")
}

/// Why Enter does nothing: cannot tell, ambiguous, far, hidden, nothing read.
pub const NO_AGREEING: [&str; 5] = [
    "the program cannot tell",
    "marked for a second reader",
    "far from what the model was trained on",
    "called before the proposal is shown",
    "nothing was read",
];

/// How far a slide lies from what the model was trained on.
pub fn novelty(novelty: f64) -> String {
    if novelty > 1.0 {
        format!("far from what the model was trained on ({novelty:.1} of 1)")
    } else {
        format!("like what the model was trained on ({novelty:.1} of 1)")
    }
}

/// Which photo of an animal.
pub fn photo_of(position: usize, count: usize, name: &str) -> String {
    if count > 1 {
        format!("photo {position} of {count}: {name}")
    } else {
        name.to_owned()
    }
}

/// An animal as a heading.
pub fn animal(name: &str, station: Option<&str>) -> String {
    match station {
        Some(station) => format!("Animal {name}, {station}"),
        None => format!("Animal {name}"),
    }
}

/// A measure with its value and the usual range of a stage.
pub fn measure_with_range(
    name: &str,
    value: f64,
    stage: Stage,
    low: f64,
    high: f64,
    unit: &str,
) -> String {
    let places = if high < 1.2 { 2 } else { 1 };
    format!("{name} {value:.places$}{unit}; usual in {stage}: {low:.places$} to {high:.places$}")
}

/// A measure with its value alone.
pub fn measure(name: &str, value: f64, unit: &str) -> String {
    format!("{name} {value:.2}{unit}")
}

/// The unit of lengths in base widths.
pub const BASE_WIDTHS: &str = " base widths";

/// For which stage a measure speaks.
pub fn speaks_for(stage: Stage) -> String {
    format!("speaks for {stage}")
}

/// A call that a person made.
pub fn call_by(stage: Stage, reader: &str) -> String {
    if reader.is_empty() {
        stage.code().to_owned()
    } else {
        format!("{stage}, by {reader}")
    }
}

/// The proposal in words.
pub fn proposal(
    stage: Option<Stage>,
    probability: Option<f64>,
    second: bool,
    photos: usize,
) -> String {
    let mut said = match (stage, probability) {
        (Some(stage), Some(p)) => format!("{stage}, {:.0} %", 100.0 * p),
        (Some(stage), None) => stage.code().to_owned(),
        (None, _) => CANNOT_TELL.to_owned(),
    };
    if second {
        said.push_str("; for a second reader");
    }
    if photos > 1 {
        // Writing to a String cannot fail.
        write!(said, "; from {photos} photos").ok();
    }
    said
}

/// A note, where one stands.
pub fn note(note: &str) -> String {
    format!("Note: {note}")
}

/// The shell as felt, as a line.
pub fn shell_line(felt: Option<Shell>) -> String {
    format!("Shell: {}", shell(felt))
}

/// The field for a note.
pub const NOTE_FIELD: &str = "note on this animal";

/// Accepts what was written.
pub const KEEP: &str = "Keep";

/// Leaves things as they are.
pub const LEAVE: &str = "Leave";

/// How far reading is.
pub fn reading(done: usize, total: usize) -> String {
    format!("reading {done} of {total}")
}

/// How many animals are called.
pub fn calls(done: usize, all: usize) -> String {
    format!("{done} of {all} called")
}

/// Says that a folder is watched.
pub fn watching(folder: &Path) -> String {
    let name = folder.file_name().unwrap_or(folder.as_os_str());
    format!("watching {}", name.to_string_lossy())
}

/// Another folder is still being left.
pub const WATCH_AGAIN: &str =
    "the folder watched before is still being left: press F8 again in a moment";

/// A watched folder that is gone.
pub fn watch_lost(folder: &Path) -> String {
    format!(
        "the watched folder cannot be looked into; it is tried again every second: {}",
        folder.display()
    )
}

/// A watched folder that is back.
pub fn watch_back(folder: &Path) -> String {
    format!("the watched folder is there again: {}", folder.display())
}

/// No longer watching.
pub const WATCH_ENDED: &str = "the folder is no longer watched";

/// Reading was stopped.
pub const READING_STOPPED: &str = "reading stopped; what waits can be read later";
/// What runs is asked to stop.
pub const STOPPING: &str = "stopping at the next step";

/// Everything was called.
pub const ALL_CALLED: &str = "every animal is called or left unread: the tally is complete";

/// Nothing to go to.
pub const NO_MORE: &str = "there is no other such animal";

/// Nothing to take back or do again.
pub const NOTHING_TO_UNDO: &str = "nothing to take back";
/// Nothing to do again.
pub const NOTHING_TO_REDO: &str = "nothing to do again";

/// Title of the list of actions.
pub const LIST_OF_ACTIONS: &str = "Actions and keys";

/// The search field of the list of actions.
pub const SEARCH_FIELD: &str = "search actions";

/// Why a slide is refused.
pub const REFUSE_WHY: &str = "Leave this animal unread, because";

/// The program failed at something.
pub fn fault(what: &str) -> String {
    format!("{what}; please report it with the version of the program")
}

/// A job that could not be started.
pub fn no_thread(error: &dyn Display) -> String {
    format!(
        "the system gives the program no further thread ({error}); close other programs and try again"
    )
}

/// There is no display.
pub const NO_DISPLAY: &str = "there is no display to open a window on";

/// What to do without a display.
pub const NO_DISPLAY_HINT: &str = "`tailfan demo` and `tailfan read` work without one";

/// The window could not be opened.
pub fn no_window(error: &dyn Display) -> String {
    format!("the window cannot be opened: {error}")
}

/// This program was built without its window.
pub const BUILT_WITHOUT: &str = "this program was built without its window";

/// Takes what the path field names.
pub const TAKE: &str = "Take";

/// A hint with its key.
pub fn hint_with_key(hint: &str, key: &str) -> String {
    format!("{hint} ({key})")
}

/// What was measured was corrected by a person.
pub const BY_HAND: &str = "measured with corrections by hand";

/// A drawing of the stage key.
pub fn key_of(stage: Stage) -> String {
    format!("drawing of {stage} in the stage key")
}

/// A photo, for those who do not see it.
pub fn photo_label(name: &str) -> String {
    format!("photo {name}")
}

/// No action fits the search.
pub const NO_SUCH_ACTION: &str = "no action of that name";

/// What an action does, and in which place alone its key works.
pub fn action_line(hint: &str, place: &str) -> String {
    if place.is_empty() {
        hint.to_owned()
    } else {
        format!("{hint} (in {place})")
    }
}

/// Opens the system's dialog.
pub const CHOOSE: &str = "Choose in the system's dialog";
