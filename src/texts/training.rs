//! Words of training and of comparing models.

use crate::moult::Stage;
use crate::stage::comparison::Advice;
use crate::stage::comparison::Between;
use crate::stage::comparison::Comparison;
use crate::stage::comparison::Side;
use crate::stage::gains::FEW_ANIMALS;
use crate::stage::gains::Gain;
use crate::texts::scores;
use crate::texts::scores::percent;
use std::fmt::Write as _;

/// What the comparison advises.
pub const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::Adopt => {
            "Recommended: better by more than chance on animals that neither model has seen, without more soft or due errors."
        }
        Advice::NoMoreThanChance => {
            "Not recommended: the two are no more than chance apart on these animals."
        }
        Advice::MoreErrorsThatMatter => {
            "Not recommended: it reads more slides rightly, but makes more soft or due errors, which change verdicts."
        }
        Advice::LabelsInDoubt => {
            "Not recommended: it reads fewer than half of the held-back slides as they are labelled; look through the labels first."
        }
        Advice::Worse => "Not recommended: worse by more than chance than the model in use.",
        Advice::TooFewAnimals => {
            "Not recommended: too few held-back animals to tell; label more, at least 30 of them."
        }
    }
}

/// Names of the figures of a comparison, in their order.
pub const FIGURES: [&str; 7] = [
    "exact",
    "within one stage",
    "animals with a soft error",
    "animals with a due error",
    "Brier score (less is better)",
    "calibration error (less is better)",
    "cannot tell, of those read",
];

/// The figures of one model, in the order of [`FIGURES`].
pub fn figures(side: &Side) -> [String; 7] {
    let share = |b: Option<Between>| b.map_or_else(String::new, |b| shares(&b));
    let number = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{v:.3}"));
    [
        share(side.exact),
        share(side.within_one),
        shares(&side.soft_errors),
        shares(&side.due_errors),
        side.brier.map_or_else(String::new, |b| {
            format!("{:.3} ({:.3} to {:.3})", b.value, b.low, b.high)
        }),
        number(side.figures.calibration_error),
        side.figures.cannot_tell.map_or_else(String::new, percent),
    ]
}

fn shares(of: &Between) -> String {
    format!(
        "{} ({} to {})",
        percent(of.value),
        percent(of.low),
        percent(of.high)
    )
}

/// How many animals the comparison rests on.
pub fn basis(animals: usize, photos: usize, seen_before: usize) -> String {
    let mut words = format!("{photos} photos of {animals} animals that neither model has seen");
    if seen_before > 0 {
        let _fine = write!(
            words,
            "; {seen_before} more are left out, since the model in use was trained on them"
        );
    }
    words
}

/// The paired test in words.
pub fn paired(comparison: &Comparison) -> String {
    let test = &comparison.mcnemar;
    let mut words = format!(
        "right by the new model alone: {} animals, by the one in use alone: {} (McNemar, exact: p = {:.3})",
        test.second_only, test.first_only, test.p
    );
    if let Some(gain) = comparison.brier_gain {
        let _fine = write!(
            words,
            "; Brier score lower by {:.3} ({:.3} to {:.3}, animals drawn anew; below 0 the new model is worse)",
            gain.value, gain.low, gain.high
        );
    }
    words
}

/// The comparison as a page of lines.
pub fn page(comparison: &Comparison, names: [&str; 2], seen_before: usize) -> String {
    let mut page = basis(comparison.animals, comparison.photos, seen_before);
    page.push('\n');
    let _fine = writeln!(page, "{:36} {:32} new: {}", "", names[0], names[1]);
    let (before, after) = (figures(&comparison.in_use), figures(&comparison.new));
    for ((name, before), after) in FIGURES.iter().zip(before).zip(after) {
        let _fine = writeln!(page, "{name:36} {before:32} {after}");
    }
    let _fine = writeln!(page, "{}", paired(comparison));
    for (name, side) in names.iter().zip([&comparison.in_use, &comparison.new]) {
        let _fine = writeln!(page, "{name}: probability stated, how often it came true:");
        for bin in &side.reliability {
            let _fine = writeln!(
                page,
                "  {:>7} {:>7} ({} to {}) of {}",
                percent(bin.stated),
                percent(bin.came_true),
                percent(bin.low),
                percent(bin.high),
                bin.photos
            );
        }
        page.push_str(&scores::confusion(&side.figures));
    }
    page.push_str(advice(comparison.advice));
    page.push('\n');
    page
}

/// What is said of each stage's labels: how many there are, and what more of them promise.
pub fn gain(of: &Gain) -> String {
    let stage = of.stage.code();
    if of.animals < FEW_ANIMALS {
        let more = FEW_ANIMALS - of.animals;
        return format!(
            "{stage}: {} animals; label {more} more before anything can be said",
            of.animals
        );
    }
    match of.if_doubled {
        Some(gain) => format!(
            "{stage}: {} animals; {} more should lower the log-loss by {gain:.3}",
            of.animals, of.animals
        ),
        None => format!("{stage}: {} animals", of.animals),
    }
}

/// Which stage's further labels help most; nothing when none would.
pub fn most_helpful(gains: &[Gain]) -> String {
    let fewest = gains
        .iter()
        .filter(|gain| gain.animals < FEW_ANIMALS)
        .min_by_key(|gain| gain.animals);
    if let Some(gain) = fewest {
        return format!(
            "Most helpful now: at least {} more labelled animals in {} ({} so far).",
            FEW_ANIMALS - gain.animals,
            gain.stage.code(),
            gain.animals
        );
    }
    let best = gains.iter().max_by(|a, b| {
        let of = |gain: &Gain| gain.if_doubled.unwrap_or(0.0);
        of(a).total_cmp(&of(b)).then(b.stage.cmp(&a.stage))
    });
    match best {
        Some(gain) if gain.if_doubled.unwrap_or(0.0) > 0.0 => format!(
            "Most helpful now: about {} more labelled animals in {}.",
            gain.animals,
            gain.stage.code()
        ),
        _ => "No stage's further labels promise much now.".to_owned(),
    }
}

/// What a training rests on.
pub fn rests_on(photos: usize, animals: usize, ponds: usize, by: &str) -> String {
    let ponds = many(ponds as u64, "pond", "ponds");
    format!(
        "{photos} labelled photos of {animals} animals from {ponds}; scores on what was left out by {by}, never by photo"
    )
}

/// Stages without a label of one's own.
pub fn without_labels(stages: &[Stage]) -> String {
    let codes: Vec<&str> = stages.iter().map(|stage| stage.code()).collect();
    format!(
        "No label of {}: the model cannot propose what it has never seen, unless painted slides stand in.",
        codes.join(", ")
    )
}

/// Labelled photos that could not be read.
pub fn refused(count: usize) -> String {
    format!(
        "{}, left out of the training",
        many(
            count as u64,
            "labelled photo was refused",
            "labelled photos were refused"
        )
    )
}

/// A share of the weight that is none.
pub const NO_SHARE: &str = "give a share from 0 to 1, such as 0.8";

/// Photos that could not be used.
pub fn missing(count: usize) -> String {
    format!(
        "{} or changed since, left out of the training",
        many(
            count as u64,
            "labelled photo is gone",
            "labelled photos are gone"
        )
    )
}

/// The sentence that stands wherever the model is spoken of, once enough own slides were scored.
pub fn own_slides(photos: usize, exact: f64, soft: usize, due: usize) -> String {
    format!(
        "On {photos} of this farm's own labelled slides the model in use proposed the labelled stage in {}, with {soft} soft and {due} due errors.",
        percent(exact)
    )
}

/// How far the farm is from that sentence.
pub fn own_slides_so_far(photos: usize, wanted: usize) -> String {
    format!("{photos} of the farm's own slides scored; {wanted}, of all stages, are needed")
}

/// How often proposals were changed.
pub fn changed(name: &str, calls: u64, share: Option<(f64, f64, f64)>) -> String {
    match share {
        Some((share, low, high)) => format!(
            "{name}: {} changed ({} to {}) of {}",
            percent(share),
            percent(low),
            percent(high),
            many(calls, "call", "calls")
        ),
        None => format!("{name}: no call before its proposal"),
    }
}

/// Heading of the drift.
pub const DRIFT: &str = "How often readers changed the proposal, of calls made before it was shown, in the last 90 days";

/// Names within the drift: all, before that, no microscope.
pub const DRIFT_NAMES: [&str; 3] = ["all", "before that", "no microscope noted"];

fn many(count: u64, one: &str, several: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { several })
}
