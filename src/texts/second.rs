//! Second readings in words.

use crate::moult::Stage;
use crate::records::words::Chosen;

/// Why a slide was chosen.
pub const fn chosen(why: Chosen) -> &'static str {
    match why {
        Chosen::Asked => "the first reader asked",
        Chosen::Ambiguous => "between two stages, or its photos or criteria disagree",
        Chosen::CannotTell => "the program cannot tell",
        Chosen::Far => "far from what the model was trained on",
        Chosen::SoftBorder => "near the border of soft, where the verdict could turn",
        Chosen::DueBorder => "near the border of due, where the verdict could turn",
        Chosen::Clear => "clear, drawn at random",
    }
}

/// A round that was drawn.
pub fn drawn(reader: &str, slides: usize, marked: usize) -> String {
    let clear = slides.saturating_sub(marked);
    format!(
        "{slides} slides for {reader}: {marked} marked, {clear} clear ones mixed in, in shuffled order"
    )
}

/// How to read a round at this desk.
pub fn read_here(id: &str) -> String {
    format!("read them with `tailfan second read {id}`, or in the window under Training")
}

/// What to do with a file that was written.
pub const SEND_IT: &str = "Send the file by mail or stick. It holds no call, no proposal and no original name; what stands \
written within a picture itself stays there, so look at the photos first. The answer comes back as a small file: take it in with `tailfan second take`.";

/// A slide to be read.
pub fn slide(number: u32, photo: &str) -> String {
    format!("{number},{photo}")
}

/// How to call.
pub const HOW_TO_CALL: &str = "Write one line a slide: number,stage (or number,unread), with a note after a second comma if there is one.";

/// A line of calls that cannot be used.
pub fn bad_line(line: usize, found: &str) -> String {
    format!("line {line}: \"{found}\" is no call; write number,stage such as 3,D1, or 3,unread")
}

/// How far a reading is.
pub fn so_far(called: usize, slides: usize) -> String {
    format!("{called} of {slides} slides called")
}

/// Where the answer lies.
pub fn answer_lies(place: &str) -> String {
    format!("send this answer back: {place}")
}

/// What an answer brought.
pub fn taken(new: usize, changed: usize, known: usize) -> String {
    format!("{new} second calls taken in, {changed} replaced, {known} were there already")
}

/// Disagreements that wait.
pub fn waiting(count: usize) -> String {
    match count {
        0 => "nothing waits to be settled".to_owned(),
        1 => "1 slide waits to be settled".to_owned(),
        more => format!("{more} slides wait to be settled"),
    }
}

/// A stage called, or unread.
pub fn called(stage: Option<Stage>) -> &'static str {
    stage.map_or("unread", Stage::code)
}

/// A disagreement on one line.
pub fn disagreement(
    [id, place, animal]: [&str; 3],
    [first, second]: [(&str, Option<Stage>); 2],
    (on_soft, on_due): (bool, bool),
) -> String {
    let border = match (on_soft, on_due) {
        (true, true) => ", apart on soft and due",
        (true, false) => ", apart on soft",
        (false, true) => ", apart on due",
        (false, false) => "",
    };
    format!(
        "{id}  {place}, animal {animal}: {} {}, {} {}{border}",
        first.0,
        called(first.1),
        second.0,
        called(second.1)
    )
}

/// The month of a pair of readers.
pub fn month(month: &str, [slides, alike, soft, due]: [u64; 4]) -> String {
    format!("  {month}: {alike} of {slides} alike, apart on soft {soft}, on due {due}")
}

/// Agreement as it would be over the daily work.
pub fn daily_work(share: f64) -> String {
    format!(
        "  same stage over the daily work, slides weighted for why they were drawn: {:.0} %",
        100.0 * share
    )
}

/// Slides that one called and the other left unread.
pub fn unread_apart(count: u64) -> String {
    format!("  called by one and left unread by the other: {count}")
}

/// The slides of known truth of a reader.
pub fn known(reader: &str, [days, settled, agreed]: [usize; 3], enough: bool) -> String {
    let use_of = if enough {
        "they are held against the tallies of this reader, and may worsen them"
    } else {
        "too few to be held against a tally yet"
    };
    format!(
        "{reader}: known truth of {} slides ({days} by days since a moult, {settled} settled, {agreed} called alike by two blind readers): {use_of}",
        days + settled + agreed
    )
}

/// No second reading yet.
pub const NO_PAIRS: &str =
    "no animal was called by two readers yet; draw slides with `tailfan second send`";

/// What is settled.
pub fn settled(animal: &str, stage: Option<Stage>) -> String {
    format!("{animal}: {} stands, both calls are kept", called(stage))
}

/// An animal that is not named clearly.
pub const NOT_ONE_ANIMAL: &str = "no slide that waits, or more than one, begins with this id";
/// What to do about it.
pub const NAME_ONE: &str = "`tailfan second settle` without more lists them with their ids";
/// A stage that is none.
pub const NO_STAGE: &str = "this is no stage";
/// What to do about it.
pub const NAME_STAGE: &str = "write A, B, C, D0, D1, D2, D3, D4, E or unread";
