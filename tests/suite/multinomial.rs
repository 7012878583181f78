//! Simultaneous intervals against a library and the digits quoted from Sison & Glaz 1995.

use crate::reference::close;
use crate::reference::counts;
use crate::reference::json;
use crate::reference::number;
use crate::tolerance;
use tailfan::statistics::Interval;
use tailfan::statistics::multinomial::goodman;
use tailfan::statistics::multinomial::sison_glaz;
use tailfan::units::Probability;

fn p(value: f64) -> Probability {
    Probability::new(value).unwrap()
}

#[track_caller]
fn check(found: &[Interval], wanted: &serde_json::Value, tolerance: f64, what: &str) {
    let wanted = wanted.as_array().unwrap();
    assert_eq!(found.len(), wanted.len(), "{what}");
    for (found, wanted) in found.iter().zip(wanted) {
        close(found.low.get(), number(&wanted[0]), tolerance, what);
        close(found.high.get(), number(&wanted[1]), tolerance, what);
    }
}

/// statsmodels 0.15.0, all eight tables, at 95 % and 90 %.
#[test]
fn library_tables() {
    let file = json("a02_multinomial_ci.json");
    let tables = file
        .as_object()
        .unwrap()
        .iter()
        .filter(|(name, _)| *name != "_meta");
    let mut checked = 0;
    for (name, table) in tables {
        let cells = counts(&table["counts"]);
        for alpha in [0.05, 0.1] {
            let confidence = p(1.0 - alpha);
            let wanted = &table[format!("goodman_{alpha}")];
            check(
                &goodman(&cells, confidence),
                wanted,
                tolerance::CLOSED_FORM,
                name,
            );
            let wanted = &table[format!("sison_glaz_{alpha}")];
            check(
                &sison_glaz(&cells, confidence),
                wanted,
                tolerance::SISON_GLAZ,
                name,
            );
            checked += 1;
        }
    }
    assert_eq!(checked, 16);
}

/// Example 1 of Sison & Glaz 1995 as quoted in the tests of statsmodels: Goodman to three decimals,
/// their own interval as R's MultinomialCI gives it.
#[test]
fn sison_and_glaz_example_one() {
    let published = json("a02_multinomial_ci.json")["_meta"]["published"].clone();
    let find = |word: &str| {
        let entries = published.as_object().unwrap();
        let mut found = entries
            .iter()
            .filter(|(name, _)| name.starts_with("sison_glaz_1995_ex1") && name.contains(word));
        found.next().unwrap().1.clone()
    };
    let cells = [56, 72, 73, 59, 62, 87, 58];
    let ours = goodman(&cells, p(0.95));
    check(
        &ours,
        &find("Goodman"),
        tolerance::THREE_DECIMALS,
        "Goodman",
    );
    let ours = sison_glaz(&cells, p(0.95));
    check(
        &ours,
        &find("Sison-Glaz 95%"),
        tolerance::SISON_GLAZ,
        "Sison-Glaz",
    );
}

#[test]
fn an_empty_cell_starts_at_zero() {
    let cells = goodman(&[0, 0, 15, 5], p(0.95));
    assert_eq!(cells[0].low.get(), 0.0);
    assert!(cells[0].high.get() > 0.2);
    for method in [goodman, sison_glaz] {
        assert!(
            method(&[0, 0, 0], p(0.95))
                .iter()
                .all(|i| *i == Interval::whole())
        );
    }
}
