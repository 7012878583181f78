//! Words of second readings, settling and practice in the window.

use crate::moult::Stage;
use std::path::Path;

/// Heading of the second readings.
pub const SECOND_READINGS: &str = "Second reader";
/// What they are.
pub const SECOND_WORDS: &str = "Slides that are marked, and a tenth of the clear ones, are read again by somebody who has \
not seen the first call. Here: set your own name as reader in the settings and begin. Elsewhere: send them in one file, and take the answer in.";
/// Heading of practice.
pub const PRACTICE: &str = "Practice";

/// What practice is, and what there is to practise on.
pub fn practice_words(settled: usize) -> String {
    format!(
        "Slides of known stage, without hints, timed; all stages come, the borders of soft and due more \
         often. {settled} slides of this farm are settled. A new farm can practise on painted ones."
    )
}

/// A slide that is read blind.
pub fn blind_slide(number: u32, of: usize) -> String {
    format!("Slide {number} of {of}")
}

/// Who reads a round at this desk.
pub fn blind_of(reader: &str) -> String {
    format!("second reading by {reader}; no call and no proposal is shown")
}

/// Who reads a file.
pub fn blind_from_file(reader: &str) -> String {
    format!("slides sent to {reader}; the answer is written as you call")
}

/// Who practises.
pub fn practice_of(reader: &str, painted: bool) -> String {
    let of = if painted {
        "painted slides"
    } else {
        "settled slides"
    };
    format!("practice of {reader} on {of}; Escape ends the round early")
}

/// How far it is.
pub fn blind_called(called: usize, of: usize) -> String {
    format!("{called} of {of} called")
}

/// The scale of the photo.
pub fn blind_scale(um_per_px: Option<f64>) -> String {
    um_per_px.map_or_else(
        || "no scale".to_owned(),
        |um| format!("{um:.3} µm per pixel"),
    )
}

/// A photo among several.
pub fn photo_number(number: usize) -> String {
    format!("photo {number}")
}

/// Every slide of a file was called.
pub fn answer_ready(answer: &Path) -> String {
    format!(
        "All slides are called. Send this file back: {}",
        answer.display()
    )
}

/// Every slide of a round was called.
pub const ROUND_DONE: &str =
    "All slides are called; Escape leaves. What differs from the first calls waits to be settled.";

/// A call was kept.
pub fn blind_call_kept(number: u32) -> String {
    format!("slide {number} called")
}

/// A practice round was kept.
pub const PRACTICE_KEPT: &str = "the practice round is kept in the logbook";
/// A round goes on.
pub const ROUND_GOES_ON: &str = "the round that was begun goes on";
/// No slide is read blind.
pub const NO_BLIND_SLIDE: &str =
    "no slide is being read here; begin a second reading or a practice round";
/// Practice slides are drawn.
pub const DRAWING_PRACTICE: &str = "drawing the slides of the round";
/// Practice slides are there while the person is in another place.
pub const PRACTICE_WAITS: &str = "the practice slides are ready, in Training";
/// It was stopped.
pub const SLIDES_STOPPED: &str = "stopped; nothing was kept";

/// How far slides are written or painted.
pub fn slides_step(done: usize, total: usize) -> String {
    if total == 0 {
        return "slides".to_owned();
    }
    format!("slide {done} of {total}")
}

/// Heading of the practice standard.
pub const STANDARD: &str = "Practice standard";
/// What it is for.
pub const STANDARD_WORDS: &str = "A practice round that reaches all of this earns a line for the farm's records. \
The usual values are this program's own choice; no published standard was found.";
/// Least slides.
pub const STANDARD_SLIDES: &str = "Slides, at least";
/// Least stages.
pub const STANDARD_STAGES: &str = "Stages among them, at least";
/// Least kappa.
pub const STANDARD_KAPPA: &str = "Kappa with quadratic weights, at least";
/// Most soft errors.
pub const STANDARD_SOFT: &str = "Soft errors, up to";
/// Most due errors.
pub const STANDARD_DUE: &str = "Due errors, up to";
/// Most that was not told.
pub const STANDARD_NOT_TOLD: &str = "Not told, up to";
/// From when it holds.
pub const STANDARD_FROM_NOW: &str =
    "It holds for rounds that end from now on; lines that were earned stay.";
/// Sets it.
pub const STANDARD_SET_BUTTON: &str = "Set this standard";
/// The usual values again.
pub const STANDARD_USUAL: &str = "The usual values";
/// It was set.
pub const STANDARD_SET: &str = "the practice standard is set";

/// Slides are written.
pub const WRITING_SLIDES: &str = "writing the slides into one file";
/// A file is opened.
pub const OPENING_SLIDES: &str = "looking through the file";
/// Something of this kind runs already.
pub const SLIDES_BUSY: &str = "slides are being written or opened already; wait for them";

/// Slides were written.
pub fn slides_written(drawn: &str, file: &Path) -> String {
    format!("{drawn}; send this file: {}", file.display())
}

/// Slides were opened.
pub fn slides_opened(slides: usize, reader: &str) -> String {
    format!("{slides} slides for {reader}; everything in the file was checked")
}

/// A round in the list.
pub fn round_line([drawn, reader]: [&str; 2], [called, of]: [usize; 2], sent: bool) -> String {
    let way = if sent {
        "sent as a file"
    } else {
        "at this desk"
    };
    format!("{drawn}: {of} slides for {reader}, {way}, {called} called")
}

/// Two readers.
pub fn two_readers(first: &str, second: &str) -> String {
    format!("{first} (first) and {second} (second)")
}

/// Called alike.
pub const SAME_STAGE: &str = "same stage";
/// At most one stage apart.
pub const WITHIN_ONE: &str = "within one stage";
/// Apart on the borders.
pub const APART: &str = "apart on soft, on due";
/// Weighted for why slides were drawn.
pub const IN_DAILY_WORK: &str = "same stage over the daily work";

/// A part with its interval.
pub fn part_of(part: f64, low: f64, high: f64) -> String {
    format!(
        "{:.0} % ({:.0} to {:.0} %)",
        100.0 * part,
        100.0 * low,
        100.0 * high
    )
}

/// The name of a kappa with its weighting.
pub fn kappa_of(weighting: &str) -> String {
    format!("kappa, {weighting} weights").replace("plain weights", "plain")
}

/// A kappa.
pub fn kappa(value: f64, low: f64, high: f64) -> String {
    format!("{value:.2} ({low:.2} to {high:.2})")
}

/// Counts of the borders.
pub fn apart(soft: u64, due: u64) -> String {
    format!("{soft}, {due}")
}

/// Called alike in a month.
pub fn alike(alike: u64, of: u64) -> String {
    format!("{alike} of {of} alike")
}

/// Which disagreement is being settled.
pub fn settling(number: usize, of: usize) -> String {
    format!("Settling {number} of {of}")
}

/// What is being settled.
pub fn settling_of(place: &str, animal: &str) -> String {
    format!("{place}, animal {animal}")
}

/// Which border is in question.
pub const fn settling_border(apart: (bool, bool)) -> &'static str {
    match apart {
        (true, true) => "The readers differ on soft and on due.",
        (true, false) => "The readers differ on soft.",
        (false, true) => "The readers differ on due.",
        (false, false) => "",
    }
}

/// The first call.
pub const FIRST_CALL: &str = "First call";
/// The second call.
pub const SECOND_CALL: &str = "Second call";
/// What a practice slide is.
pub const IT_IS: &str = "It is";
/// What it was called.
pub const IT_WAS_CALLED: &str = "It was called";

/// A stage and who called it.
pub fn called_by(stage: &str, reader: &str) -> String {
    format!("{stage}, {reader}")
}

/// The reason.
pub const BECAUSE: &str = "Why (kept with it)";
/// The stage that stands.
pub const WHAT_STANDS: &str = "What stands:";
/// A reason is wanted first.
pub const REASON_FIRST: &str = "write the reason first, then choose the stage that stands";

/// Lets a stage stand.
pub fn stands(stage: Stage) -> String {
    format!("{stage} stands")
}

/// Heading of sending.
pub const SEND_SLIDES: &str = "Send slides to a second reader";
/// What is sent.
pub const SEND_WORDS: &str = "The marked slides of the sample in hand and a tenth of the clear ones, in one file, under shuffled \
numbers: photos and scale, no call, no proposal, no original name. What stands written within a picture itself stays there.";
/// Who is to read.
pub const SEND_TO: &str = "Who is to read";
/// The file.
pub const SEND_FILE: &str = "File, such as to-ben.zip (a name alone goes beside the logbook)";

/// Where a file will be.
pub fn will_lie_in(file: &Path) -> String {
    format!("It will lie here: {}", file.display())
}

/// Writes it.
pub const SEND: &str = "Write the file";
/// Slides that somebody sent.
pub const WELCOME_SLIDES: &str = "slides that somebody sent you to read; no logbook is needed";
