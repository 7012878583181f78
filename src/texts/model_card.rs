//! The card of a model, for a person to read.

use crate::stage::model::Model;
use crate::stage::model::OwnTraining;
use crate::texts::readings::NO_REAL_MICROGRAPH;
use crate::texts::scores;
use crate::texts::training;
use std::fmt::Write as _;

/// The card, as a text document.
pub fn card(model: &Model) -> String {
    let of = &model.training;
    let mut card = format!("# Model card: {}\n\n", model.name);
    let mut line = |text: String| {
        card.push_str(&text);
        card.push('\n');
    };
    line(format!("* **Id**: {}", model.id()));
    line(format!(
        "* **For**: photos of uropod tips, measuring version {}, features version {} ({} numbers).",
        model.measuring,
        model.features_version,
        model.features.len()
    ));
    let stages: Vec<&str> = model.stages.iter().map(|stage| stage.code()).collect();
    line(format!(
        "* **Proposes**: {}. D4 counts as D3; E is never proposed.",
        stages.join(", ")
    ));
    match &of.own {
        Some(own) => line(own_line(own)),
        None => line(format!("* **Tested on**: {NO_REAL_MICROGRAPH}")),
    }
    let counts: Vec<String> = of
        .counts
        .iter()
        .map(|(stage, count)| format!("{stage} {count}"))
        .collect();
    line(format!(
        "* **Photos, painted and own**: {}; {} between stages; {} refused.",
        counts.join(", "),
        of.between,
        of.refused
    ));
    if !of.command.is_empty() {
        line(format!("* **Makes it again**: `{}`", of.command));
    }
    line(format!(
        "* **Seed and penalty**: {}, {}",
        of.seed, of.penalty
    ));
    line(String::new());
    line(format!(
        "## Scores on what was left out by {}\n",
        of.left_out_by
    ));
    line(format!(
        "```\n{}\n```",
        scores::page(&of.left_out).trim_end()
    ));
    if let Some(own) = &of.own {
        if own.by_pond.is_some() {
            line("\n## Scores with whole animals left out\n".to_owned());
            line(format!(
                "```\n{}\n```",
                scores::page(&own.by_animal).trim_end()
            ));
        }
        line("\n## Labels\n".to_owned());
        for gain in &own.gains {
            line(format!("* {}", training::gain(gain)));
        }
        line(format!("\n{}", training::most_helpful(&own.gains)));
    }
    line("\n## Limits\n".to_owned());
    line(LIMITS.to_owned());
    card
}

fn own_line(own: &OwnTraining) -> String {
    let mut text = format!(
        "* **Trained on**: {} labelled photos of {} animals from {} ponds",
        own.photos, own.animals, own.ponds
    );
    if own.share < 1.0 {
        let _fine = write!(
            text,
            "; they were to carry {} of a stage's weight beside painted slides",
            scores::percent(own.share)
        );
    }
    text.push_str(". Each was judged by fits that had not seen its animal.");
    text
}

/// What every model is limited by.
const LIMITS: &str = "* It knows the microscopes, the light and the animals it was trained on; far from them it says \"cannot tell\", but not always.
* Labels by a reader's own call teach it that reader's habits.
* Regenerated, dried or preserved tissue is nothing it knows.
* Its proposal is no call: a person decides.";
