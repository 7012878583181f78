//! Words of how a model did.

use crate::moult::Stage;
use crate::stage::evaluation::Figures;
use crate::texts::refusals;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// The columns of the confusion table after the stages.
const OTHERS: [&str; 2] = ["cannot tell", "refused"];

/// The figures as a page of lines; what is not known is left out.
pub fn page(figures: &Figures) -> String {
    let mut page = String::new();
    let mut line = |name: &str, value: String| {
        // Writing to a string cannot fail.
        let _fine = writeln!(page, "{name:44} {value}");
    };
    line("photos of known stage", figures.photos.to_string());
    for (name, share) in [
        ("read", figures.usable),
        ("exact", figures.exact),
        ("within one stage", figures.within_one),
        ("exact among the proposals", figures.exact_of_proposed),
        ("cannot tell, of those read", figures.cannot_tell),
    ] {
        if let Some(share) = share {
            line(name, percent(share));
        }
    }
    line("soft errors", figures.soft_errors.to_string());
    line("due errors", figures.due_errors.to_string());
    for (name, value) in [
        ("Brier score", figures.brier),
        ("expected calibration error", figures.calibration_error),
    ] {
        if let Some(value) = value {
            line(name, format!("{value:.3}"));
        }
    }
    let between = format!("second reader, between stages ({})", figures.between);
    for (name, share) in [
        ("second reader, clear", figures.second_reader_clear),
        ("second reader, unclear", figures.second_reader_unclear),
        (between.as_str(), figures.second_reader_between),
        ("second reader, between B and C", figures.second_reader_b_c),
        ("row or base width misread", figures.misread),
        ("true bases found", figures.base_recall),
        ("bases found that are true", figures.base_precision),
        ("base width off by", figures.base_width_error),
    ] {
        if let Some(share) = share {
            line(name, percent(share));
        }
    }
    if let (Some(half), Some(most)) = (figures.gap_error_um, figures.gap_error_um_p90) {
        line(
            "gap off by, half and nine in ten within",
            format!("{half:.1} µm, {most:.1} µm"),
        );
    }
    for (reason, count) in &figures.refused {
        line(
            &format!("refused: {}", refusals::name(*reason)),
            count.to_string(),
        );
    }
    if figures.no_tip > 0 {
        line("photos without a tip", figures.no_tip.to_string());
        line("a stage proposed", figures.no_tip_proposed.to_string());
        for (reason, count) in &figures.no_tip_refused {
            line(
                &format!("refused: {}", refusals::name(*reason)),
                count.to_string(),
            );
        }
    }
    page.push_str(&confusion(figures));
    page
}

/// A row for each condition, as a table of a text document; soft and due errors are counts.
pub fn table(conditions: &BTreeMap<String, Figures>) -> String {
    let mut table = String::from(
        "| condition | photos | read % | exact % | cannot tell % | soft | due | bases found % | bases true % \
         | width off % | gap off µm, half | gap off µm, 9 in 10 | second reader, clear % |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    let share =
        |value: Option<f64>| value.map_or_else(String::new, |v| format!("{:.1}", 100.0 * v));
    let length = |value: Option<f64>| value.map_or_else(String::new, |v| format!("{v:.1}"));
    for (condition, figures) in conditions {
        let cells = [
            condition.clone(),
            figures.photos.to_string(),
            share(figures.usable),
            share(figures.exact),
            share(figures.cannot_tell),
            figures.soft_errors.to_string(),
            figures.due_errors.to_string(),
            share(figures.base_recall),
            share(figures.base_precision),
            share(figures.base_width_error),
            length(figures.gap_error_um),
            length(figures.gap_error_um_p90),
            share(figures.second_reader_clear),
        ];
        let _fine = writeln!(table, "| {} |", cells.join(" | "));
    }
    table
}

/// True stages down, proposals across.
pub(in crate::texts) fn confusion(figures: &Figures) -> String {
    let columns: Vec<&str> = Stage::PROPOSED
        .iter()
        .map(|stage| stage.code())
        .chain(OTHERS)
        .collect();
    let mut table = String::from("true");
    for column in &columns {
        let width = column.len().max(4) + 2;
        let _fine = write!(table, "{column:>width$}");
    }
    table.push('\n');
    for (stage, row) in &figures.confusion {
        let _fine = write!(table, "{:4}", stage.code());
        for column in &columns {
            let width = column.len().max(4) + 2;
            let count = row.get(*column).copied().unwrap_or(0);
            let _fine = write!(table, "{count:>width$}");
        }
        table.push('\n');
    }
    table
}

/// A share in percent with one place, so that columns stay in line.
pub(in crate::texts) fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}
