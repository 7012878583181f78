//! Words of the dialogs: welcome, sample, counting by eye, settings, scale, outcome.

use crate::moult::Stage;
use crate::tally::Tested;

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
pub const DUE_LIMIT: &str = "Due, below";
/// Confidence.
pub const CONFIDENCE: &str = "Confidence of each test";
/// Design effect.
pub const DESIGN_EFFECT: &str = "Animals that count as one (design effect)";
/// Soft as days since the moult.
pub const RIGID_AFTER: &str = "Soft by days: rigid after the moult in";
/// Behind a number of days.
pub const DAYS: &str = " days";
/// Heading of the slides of known truth.
pub const READER_SLIDES: &str = "The reader's known errors";
/// What they do.
pub const READER_SLIDES_WORDS: &str = "Slides whose stage is known, and how they were called. They may worsen an answer, \
never improve it.";
/// Takes them in.
pub const READER_SLIDES_TAKE: &str = "Take slides of known truth in";
/// Leaves them out.
pub const READER_SLIDES_LEAVE_OUT: &str = "Leave them out";

/// The slides that are considered.
pub fn reader_slides_from(file: &str, slides: usize) -> String {
    format!("{slides} from {file}")
}

/// Soft stages.
pub const SOFT_STAGES: &str = "Counts as soft";
/// Moulting stages.
pub const MOULTING_STAGES: &str = "Counts as moulting";
/// Due stages.
pub const DUE_STAGES: &str = "Counts as due";
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
