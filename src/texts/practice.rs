//! Practice rounds in words.

use crate::moult::Stage;
use crate::texts::key;

/// The name that stands for the truth in a table of agreement.
pub const TRUTH: &str = "settled stage";

/// The line of a round that reached the standard.
pub fn certificate(
    [date, reader]: [&str; 2],
    [slides, soft, due]: [u64; 3],
    (kappa, low, high): (f64, f64, f64),
    wanted: f64,
    painted: bool,
) -> String {
    let of = if painted {
        "painted slides (they say nothing of real tips)"
    } else {
        "settled slides"
    };
    format!(
        "{date}: {reader} read {slides} {of} without hints: kappa with quadratic weights {kappa:.2} \
         ({low:.2} to {high:.2}), soft errors {soft}, due errors {due}. The farm's standard is reached \
         (kappa {wanted:.2} or more)."
    )
}

/// What a round is, before it begins.
pub fn begins(slides: usize, painted: bool) -> String {
    let of = if painted {
        "painted slides: their truth is known because they were painted so"
    } else {
        "slides whose stage is settled"
    };
    format!(
        "{slides} {of}. One stage a line, or unread; the time of each is taken. No hints until the end."
    )
}

/// The slide in turn.
pub fn turn(number: usize, of: usize, photo: &str) -> String {
    format!("slide {number} of {of}: {photo}")
}

/// A line that is no stage.
pub fn not_a_stage(found: &str) -> String {
    format!("\"{found}\" is no stage; write A, B, C, D0, D1, D2, D3, D4, E or unread")
}

/// A round that ended before its last slide.
pub fn ended_early(called: usize, of: usize) -> String {
    format!("ended after {called} of {of} slides; only these count")
}

/// The head of the figures.
pub fn head(reader: &str, slides: u64, not_told: u64, seconds: f64, painted: bool) -> String {
    let painted = if painted { ", painted" } else { "" };
    format!(
        "{reader}: {slides} slides{painted}, {not_told} not told, {seconds:.0} s a slide (median)"
    )
}

/// A share of errors.
pub fn errors(name: &str, (part, low, high): (f64, f64, f64)) -> String {
    format!(
        "{name} errors: {:.0} % ({:.0} to {:.0} %)",
        100.0 * part,
        100.0 * low,
        100.0 * high
    )
}

/// The name of the errors that change what is soft.
pub const SOFT: &str = "soft";
/// The name of the errors that change what is due.
pub const DUE: &str = "due";

/// A mistake.
pub fn mistake(number: usize, truth: Stage, call: Option<Stage>, border: (bool, bool)) -> String {
    let border = match border {
        (true, true) => " (a soft and a due error)",
        (true, false) => " (a soft error)",
        (false, true) => " (a due error)",
        (false, false) => "",
    };
    match call {
        Some(call) => format!("slide {number} is {truth}, called {call}{border}"),
        None => format!("slide {number} is {truth}, not told"),
    }
}

/// The criteria of the stage key for a stage, one a line.
pub fn criteria(stage: Stage) -> Vec<String> {
    let of = key::criteria(stage).iter();
    of.map(|said| format!("{stage}  {}: {}", said.of, said.text))
        .collect()
}

/// No mistakes.
pub const NO_MISTAKES: &str = "no mistakes";

/// A round of the history.
pub fn past(date: &str, head: &str, kappa: Option<f64>, reached: bool) -> String {
    let kappa = kappa.map_or_else(
        || "kappa undefined".to_owned(),
        |kappa| format!("kappa with quadratic weights {kappa:.2}"),
    );
    let reached = if reached { ", standard reached" } else { "" };
    format!("{date}  {head}, {kappa}{reached}")
}

/// What the standard asks for.
pub fn standard([slides, stages]: [usize; 2], [kappa, soft, due, not_told]: [f64; 4]) -> String {
    format!(
        "The standard: {slides} slides or more of {stages} stages or more, kappa with quadratic weights \
         {kappa:.2} or more, soft errors up to {:.0} %, due errors up to {:.0} %, not told up to {:.0} %.",
        100.0 * soft,
        100.0 * due,
        100.0 * not_told
    )
}

/// A round that is not kept.
pub const NOT_KEPT: &str = "no logbook is open, so this round is not kept";
/// The history is empty.
pub const NO_HISTORY: &str = "no practice round was ended yet";

/// The name of the share called exactly.
pub const SAME_STAGE: &str = "same stage";
