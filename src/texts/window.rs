//! Words of the window beyond the names of actions.

use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::places::Outcome;
use crate::records::words::ActionKind;
use crate::records::words::Unread;
use crate::tally::Tested;
use std::fmt::Display;
use std::fmt::Write as _;
use std::path::Path;

/// Title of the window.
pub const TITLE: &str = "Tailfan";

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
    format!("watching {}", folder.display())
}

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

/// Everything was called.
pub const ALL_CALLED: &str = "every animal is called or left unread: the tally is complete";

/// Nothing to go to.
pub const NO_MORE: &str = "there is no other such animal";

/// Nothing to take back or do again.
pub const NOTHING_TO_UNDO: &str = "nothing to take back";
/// Nothing to do again.
pub const NOTHING_TO_REDO: &str = "nothing to do again";

/// What was dropped was refused.
pub const LIST_OF_ACTIONS: &str = "Actions and keys";

/// The search field of the list of actions.
pub const SEARCH_FIELD: &str = "search actions";

/// A place whose content is another part of the work.
pub const TRAINING_LATER: &str = "Labelled slides, training and practice rounds stand here in a coming version. On the command \
line: tailfan train, tailfan score.";

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

/// A path field, where no file dialog comes up.
pub const PATH_FIELD: &str = "path of a file or folder";

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
        ActionKind::Settle => "a settlement",
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
    format!("logbook {}", file.display())
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
    format!("saved: {}", file.display())
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

/// Name of the made-up farm.
pub const MADE_UP_FARM: &str = "Made-up farm";
/// Name of its pond.
pub const MADE_UP_POND: &str = "Pond 4 (made up)";
/// Name of its microscope.
pub const MADE_UP_MICROSCOPE: &str = "painted at 0.8 µm per pixel";
/// Says that it is made up.
pub const MADE_UP: &str = "made up: no such pond, animals or people";
/// There is no folder for it.
pub const NO_MADE_UP_FOLDER: &str =
    "the system names no folder for the user's data: begin a new logbook instead";

/// The path fields: photos, a folder, a folder to watch, a logbook to open, one to begin, a table, a
/// page.
pub const PATH_FIELDS: [&str; 7] = [
    "photo to take into the sample",
    "folder of photos to take into the sample",
    "folder into which the camera saves",
    "logbook to open",
    "file of the new logbook, such as farm.logbook",
    "CSV file for the table",
    "PDF file for the page",
];

/// The first start.
pub const WELCOME: &str = "Welcome";
/// What the program is for.
pub const WELCOME_WORDS: &str = "Photos of uropod tips come in, a stage is proposed for each animal, you agree or call \
another, and what you called is counted against the farm's limits. Only what a person called is ever counted.";
/// The first way in.
pub const WELCOME_MADE_UP: &str = "a morning's sample of 26 painted tips, to try everything on";
/// The second.
pub const WELCOME_NEW: &str = "an empty logbook for your own ponds";
/// The third.
pub const WELCOME_OPEN: &str = "a logbook that is there already";

/// Heading of a new sample.
pub const NEW_SAMPLE: &str = "New sample";
/// The pond.
pub const POND: &str = "Pond";
/// Ponds that are known.
pub const KNOWN_PONDS: &str = "known ponds";
/// When it was netted.
pub const NETTED: &str = "Netted (date and hour)";
/// Mean weight.
pub const WEIGHT: &str = "Mean weight, g";
/// Water temperature.
pub const WATER: &str = "Water, daily mean, °C";
/// Species.
pub const SPECIES: &str = "Species";
/// Nothing noted.
pub const NOT_NOTED: &str = "not noted";
/// Animals.
pub const ANIMALS_WANTED: &str = "Animals";
/// How it was caught.
pub const CAUGHT: &str = "Caught";
/// With a net.
pub const WITH_NET: &str = "with a net";
/// On a feed tray.
pub const ON_FEED_TRAY: &str = "on a feed tray";
/// Shed shells.
pub const SHED_SHELLS: &str = "Shed shells in the net";
/// How many.
pub const AMOUNTS: [&str; 4] = ["not noted", "none", "few", "many"];
/// The planned harvest.
pub const HARVEST: &str = "Gates open (planned, may stay empty)";
/// Length of the drain.
pub const DRAIN_HOURS: &str = "Drain, hours";
/// A note.
pub const SAMPLE_NOTE: &str = "Note";
/// Begins.
pub const BEGIN: &str = "Begin the sample";
/// Cautions.
pub const CAUTIONS: &str = "Cautions";
/// The group of moulting animals.
pub const MOULTING: &str = "moulting";
/// The group of soft animals.
pub const SOFT: &str = "soft";

/// What so many animals can show.
pub fn plan(group: &str, limit: f64, fewest: u64, enough: bool) -> String {
    let can = if enough {
        "so many can clear it"
    } else {
        "fewer can warn but not clear"
    };
    format!(
        "{group} under {:.0} %: {fewest} animals with none in it clear a pond; {can}",
        100.0 * limit
    )
}

/// Heading of counting by eye.
pub const COUNTING: &str = "Counting by eye";
/// How it works.
pub const COUNTING_WORDS: &str =
    "One stage key for each animal: A B C 0 1 2 3 4 E. Backspace takes the last one back.";

/// A stage with its count.
pub fn counted(stage: Stage, count: u64) -> String {
    format!("{stage}\n{count}")
}

/// Counts one animal.
pub fn count_one(stage: Stage) -> String {
    format!("count one {stage}")
}

/// A group as it runs.
pub fn running(group: &str, count: u64, of: u64, limit: f64) -> String {
    format!(
        "{group}: {count} of {of} ({:.1} %), limit {:.0} %",
        100.0 * count as f64 / of.max(1) as f64,
        100.0 * limit
    )
}

/// Whether counting may stop.
pub fn stop_rule(group: &str, settled: Tested) -> String {
    let said = match settled {
        Tested::Over => "may stop: over its limit",
        Tested::Within => "may stop: within its limit",
        Tested::Open => "go on: not settled yet",
    };
    format!("{group}, by the sequential plan: {said}")
}

/// Heading of the settings.
pub const SETTINGS: &str = "Settings";
/// The reader.
pub const READER: &str = "Who reads (stands beside each call)";
/// Another reader.
pub const READS_NOW: &str = "reads now";
/// Limits.
pub const LIMITS: &str = "Limits of the farm";
/// Limit of the moulting share.
pub const MOULTING_LIMIT: &str = "Moulting, below";
/// Limit of the soft share.
pub const SOFT_LIMIT: &str = "Soft, below";
/// Limit of the due share.
pub const DUE_LIMIT: &str = "About to moult, below";
/// Confidence.
pub const CONFIDENCE: &str = "Confidence of each test";
/// Design effect.
pub const DESIGN_EFFECT: &str = "Animals that count as one (design effect)";
/// Soft stages.
pub const SOFT_STAGES: &str = "Counts as soft";
/// Moulting stages.
pub const MOULTING_STAGES: &str = "Counts as moulting";
/// Due stages.
pub const DUE_STAGES: &str = "Counts as about to moult";
/// Sets the limits.
pub const SET_LIMITS: &str = "Set these limits";
/// Looks.
pub const LOOKS: &str = "Looks and folders";
/// Behind a number of hundredths.
pub const PERCENT: &str = " %";

/// A stage in a group.
pub fn stage_in_group(stage: Stage, group: &str) -> String {
    format!("{group}: {stage}")
}

/// Heading of the profiles.
pub const PROFILES: &str = "Microscope profile";
/// No profile.
pub const NO_PROFILE: &str = "none: lengths in pixels and base widths";
/// A profile to be made.
pub const MAKE_PROFILE: &str = "Make a profile from a photo of a ruling";
/// Its name.
pub const PROFILE_NAME: &str = "Name, such as camera and objective";
/// The photo.
pub const RULING_PHOTO: &str = "Photo of the ruling";
/// The division.
pub const DIVISION: &str = "Distance of two marks, µm";
/// Finds the marks.
pub const FIND_MARKS: &str = "Find the marks";
/// Looking.
pub const LOOKING: &str = "looking for the marks";
/// By a length.
pub const BY_LENGTH: &str = "Or a length that you know:";
/// In pixels.
pub const LENGTH_PX: &str = "pixels";
/// In micrometres.
pub const LENGTH_UM: &str = "µm";
/// By two clicks.
pub const TWO_CLICKS: &str = "Two clicks on the photo in view";
/// Keeps the profile.
pub const KEEP_PROFILE: &str = "Keep this profile";

/// A profile.
pub fn profile(name: &str, um_per_px: f64) -> String {
    format!("{name}: {um_per_px:.4} µm per pixel")
}

/// What a ruling gave.
pub fn scale_found(um_per_px: f64, error: f64) -> String {
    format!("{um_per_px:.5} µm per pixel, ± {error:.5}")
}

/// A scale that no microscope has.
pub const IMPLAUSIBLE: &str =
    "no microscope has such a scale: was the distance of two marks mistyped?";

/// Heading of an outcome.
pub fn outcome_of(pond: &str) -> String {
    format!("What the harvest of {pond} turned out to be")
}
/// When it was harvested.
pub const HARVESTED: &str = "Harvested (date and hour)";
/// Animals looked at.
pub const CHECKED: &str = "Animals looked at";
/// Soft ones.
pub const SOFT_FOUND: &str = "Soft ones among them";

/// A reader without a name.
pub const SOMEBODY: &str = "reader";

/// Nothing was counted.
pub const NOTHING_COUNTED: &str = "Nothing to count yet: call some animals first.";
/// The group about to moult.
pub const DUE: &str = "about to moult";
/// The group that is soft in the hand.
pub const SOFT_IN_HAND: &str = "soft in hand";
/// Columns of the groups.
pub const GROUP_COLUMNS: [&str; 5] = ["group", "on the count", "Wilson 95 %", "limit", "tested"];
/// Columns of the stages.
pub const STAGE_COLUMNS: [&str; 4] = ["stage", "animals", "share", "interval"];
/// Outcomes of a test.
pub const TESTED: [&str; 3] = ["within", "open", "over"];

/// The moult ring, for those who do not see it.
pub fn ring(called: &str, unread: u64) -> String {
    format!("moult ring: {called}; {unread} unread")
}

/// A count with its share.
pub fn count_of(count: u64, of: u64, share: Option<f64>) -> String {
    format!("{count} of {of}, {}", self::share(share))
}

/// A share in percent.
pub fn share(share: Option<f64>) -> String {
    share.map_or_else(|| "-".to_owned(), |share| format!("{:.1} %", 100.0 * share))
}

/// An interval in percent.
pub fn interval(low: f64, high: f64) -> String {
    format!("{:.1} to {:.1} %", 100.0 * low, 100.0 * high)
}

/// A limit.
pub fn below(limit: f64) -> String {
    format!("below {:.0} %", 100.0 * limit)
}

/// A stage's code with room around it.
pub fn padded(stage: Stage) -> String {
    format!(" {stage} ")
}

/// Unread animals, beside the counts.
pub fn unread_beside(unread: u64) -> String {
    format!(
        "beside these, {unread} unread or uncalled: in no share, and looked at as soft in the test"
    )
}

/// Nothing was carried forward yet.
pub const NO_FORECAST_YET: &str = "Nothing is carried forward yet: call some animals first.";
/// Behind a temperature.
pub const CELSIUS: &str = " °C";

/// Another temperature than noted.
pub fn other_water(noted: Option<f64>) -> String {
    match noted {
        Some(noted) => format!("tried out; noted were {noted:.1} °C"),
        None => "tried out; none was noted".to_owned(),
    }
}

/// The verdict for a planned harvest.
pub fn harvest_verdict(answer: &str, start: &str, end: &str) -> String {
    format!("From {} to {}: {answer}", moment(start), moment(end))
}

/// A moment for a person.
pub fn moment(text: &str) -> String {
    text.get(..16).unwrap_or(text).replacen('T', " ", 1)
}

/// When a verdict expires.
pub fn expires(at: &str) -> String {
    format!("expires {}", moment(at))
}

/// No harvest is planned.
pub const NO_HARVEST_PLANNED: &str =
    "No harvest is planned in this sample: the verdict above speaks of the hour of netting.";

/// The night ribbon, for those who do not see it.
pub fn ribbon(nights: usize) -> String {
    format!("night ribbon: soft share over {nights} nights")
}

/// The span by the expected shares.
pub const EXPECTED_SPAN: &str = "Expected under the limits";
/// The span in which every limit is shown to be kept.
pub const CONFIDENT_SPAN: &str = "Shown within the limits";

/// A span.
pub fn span(what: &str, opens: &str, drained: &str) -> String {
    format!(
        "{what}: gates from {}, drained by {}",
        moment(opens),
        moment(drained)
    )
}

/// No span.
pub fn no_span(what: &str) -> String {
    format!("{what}: no span long enough for the drain within one cycle")
}

/// The cycle.
pub fn cycle(days: f64, cv: f64) -> String {
    format!(
        "Moult cycle {days:.1} days, spread between animals {:.0} %.",
        100.0 * cv
    )
}

/// The moon is shown only.
pub const MOON_NOT_USED: &str = "The moon is shown, never used.";
/// Heading of the assumptions.
pub const ASSUMED: &str = "What was assumed";

/// The search field.
pub const SEARCH: &str = "search ponds, samples, notes";
/// No pond.
pub const NO_PONDS: &str = "No pond yet: begin a sample.";
/// Columns of the samples.
pub const SAMPLE_COLUMNS: [&str; 6] = [
    "netted",
    "called",
    "soft",
    "about to moult",
    "at netting",
    "harvest",
];
/// Takes a sample into hand.
pub const TAKE_IN_HAND: &str = "take this sample into hand";
/// Nothing counted.
pub const NOT_COUNTED: &str = "not counted";
/// No outcome.
pub const NO_OUTCOME: &str = "not entered";

/// How many things a search found.
pub fn found(count: usize) -> String {
    match count {
        0 => "nothing found".to_owned(),
        1 => "1 found".to_owned(),
        more => format!("{more} found"),
    }
}

/// A pond as a heading.
pub fn pond_heading(name: &str, species: Option<&str>) -> String {
    species.map_or_else(|| name.to_owned(), |species| format!("{name}, {species}"))
}

/// How many animals are called.
pub fn of_animals(called: usize, animals: usize) -> String {
    format!("{called} of {animals}")
}

/// The forecast failed.
pub const FORECAST_FAULT: &str = "the program failed while carrying the tally forward";
/// The made-up farm is being made.
pub const MAKING_FARM: &str = "the made-up farm is being made ready";
/// No other sample.
pub const NO_OTHER_SAMPLE: &str = "there is no other sample on this side";
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

/// Heading of a sample that is changed.
pub const CHANGE_SAMPLE: &str = "Change the sample";
/// A sample was changed.
pub const SAMPLE_CHANGED: &str = "the sample was changed";
