//! Agreement between readers against statsmodels 0.15.0, scikit-learn 1.9.1 and published values.

use crate::reference::close;
use crate::reference::counts;
use crate::reference::json;
use crate::reference::number;
use crate::reference::rows;
use crate::tolerance;
use serde_json::Value;
use tailfan::statistics::agreement::Kappa;
use tailfan::statistics::agreement::PairTable;
use tailfan::statistics::agreement::Weighting;
use tailfan::statistics::agreement::fleiss;
use tailfan::statistics::agreement::fleiss_interval;
use tailfan::units::Probability;

fn p(value: f64) -> Probability {
    Probability::new(value).unwrap()
}

fn table(rows: &Value) -> PairTable {
    PairTable::new(rows.as_array().unwrap().iter().map(counts).collect()).unwrap()
}

fn kappa(table: &PairTable, weighting: Weighting) -> Kappa {
    table.kappa(weighting, p(0.95)).unwrap()
}

#[test]
fn library_tables_of_two_readers() {
    let file = json("a03_agreement.json");
    let mut checked = 0;
    for (name, case) in file.as_object().unwrap() {
        let rows = &case["table_rows_reader1_cols_reader2"];
        if rows.is_null() {
            continue;
        }
        let table = table(rows);
        let agreed = table.agreement().unwrap().get();
        close(
            agreed,
            number(&case["percent_agreement"]),
            tolerance::CLOSED_FORM,
            name,
        );
        for (key, weighting) in [
            ("unweighted", Weighting::Plain),
            ("linear", Weighting::Linear),
            ("quadratic", Weighting::Quadratic),
        ] {
            let (wanted, found) = (&case[key], kappa(&table, weighting));
            let pairs = [
                ("kappa", found.value),
                ("sklearn", found.value),
                ("ase", found.standard_error),
                ("ci95_low", found.low),
                ("ci95_upp", found.high),
                ("ase0", found.standard_error_by_chance),
            ];
            for (field, value) in pairs {
                let what = format!("{name} {key} {field}");
                // The library's weighted error of the 2 x 2 paradox table differs from its own
                // unweighted one by 4e-14; everything else is closer.
                close(value, number(&wanted[field]), tolerance::CLOSED_FORM, &what);
            }
            checked += 1;
        }
    }
    assert_eq!(checked, 18);
}

/// A SAS printout quoted in the tests of statsmodels: four decimals.
#[test]
fn published_printout() {
    let rows = vec![vec![0, 4, 1], vec![0, 8, 0], vec![0, 1, 5]];
    let table = PairTable::new(rows).unwrap();
    let plain = kappa(&table, Weighting::Plain);
    close(plain.value, 0.4842, tolerance::FOUR_DECIMALS, "kappa");
    close(
        plain.standard_error,
        0.1380,
        tolerance::FOUR_DECIMALS,
        "its error",
    );
    close(plain.low, 0.2137, tolerance::FOUR_DECIMALS, "lower end");
    close(plain.high, 0.7547, tolerance::FOUR_DECIMALS, "upper end");
    let linear = kappa(&table, Weighting::Linear);
    close(
        linear.value,
        0.4701,
        tolerance::FOUR_DECIMALS,
        "linear kappa",
    );
    close(
        linear.standard_error,
        0.1457,
        tolerance::FOUR_DECIMALS,
        "its error",
    );
}

/// A class that nobody used stays in the table, or the weighted figures would change: 0.1459
/// without it (R's irr, as quoted in the tests of statsmodels), 0.1262 with it.
#[test]
fn unused_classes_change_the_weighted_figures() {
    let file = json("a03_agreement.json");
    let linear = |name: &str| {
        let table = table(&file[name]["table_rows_reader1_cols_reader2"]);
        kappa(&table, Weighting::Linear).value
    };
    let dropped = linear("irr_anxiety_rater2_rater3");
    let kept = linear("irr_anxiety_rater2_rater3_all_six_levels");
    close(
        dropped,
        0.1459,
        tolerance::FOUR_DECIMALS,
        "unused class dropped",
    );
    close(kept, 0.1262, tolerance::FOUR_DECIMALS, "unused class kept");
}

#[test]
fn within_one_stage_counts_the_diagonal_and_its_neighbours() {
    let table = PairTable::new(vec![vec![4, 2, 1], vec![0, 3, 0], vec![2, 0, 8]]).unwrap();
    assert_eq!(table.agreement().unwrap().get(), 0.75);
    assert_eq!(table.agreement_within_one().unwrap().get(), 0.85);
    // Wilson's interval of 15 and 17 of 20, as the library computes it.
    for (k, found) in [
        (15.0, table.agreement_interval(p(0.95))),
        (17.0, table.within_one_interval(p(0.95))),
    ] {
        let row = rows("a01_binomial_ci.csv");
        let row = row
            .iter()
            .find(|r| r["n"] == 20.0 && r["k"] == k && r["alpha"] == 0.05)
            .unwrap();
        close(
            found.low.get(),
            row["wilson_lo"],
            tolerance::CLOSED_FORM,
            "low",
        );
        close(
            found.high.get(),
            row["wilson_hi"],
            tolerance::CLOSED_FORM,
            "high",
        );
    }
}

/// Fleiss 1971 (.430, table and value quoted in the tests of statsmodels) and a 10 x 14 x 5 example
/// (.210).
#[test]
fn kappa_of_many_readers() {
    let file = json("a03_agreement.json");
    for (name, published) in [("fleiss_1971_30x6x5", 0.430), ("wikipedia_10x14x5", 0.210)] {
        let rows: Vec<Vec<u64>> = file[name]["counts"]
            .as_array()
            .unwrap()
            .iter()
            .map(counts)
            .collect();
        let found = fleiss(&rows).unwrap().unwrap();
        close(
            found,
            number(&file[name]["fleiss_kappa"]),
            tolerance::CLOSED_FORM,
            name,
        );
        close(found, published, tolerance::THREE_DECIMALS, name);
        let (low, high) = fleiss_interval(&rows, p(0.95), 500, 1).unwrap().unwrap();
        assert!(low < found && found < high, "{name}: {low} to {high}");
    }
}
