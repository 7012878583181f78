//! Intervals of one share against Newcombe 1998 and a library.

use crate::reference::close;
use crate::reference::json;
use crate::reference::number;
use crate::reference::rows;
use crate::tolerance;
use serde_json::Value;
use tailfan::statistics::Interval;
use tailfan::statistics::binomial::Count;
use tailfan::statistics::binomial::at_most;
use tailfan::statistics::binomial::clopper_pearson;
use tailfan::statistics::binomial::jeffreys;
use tailfan::statistics::binomial::mid_p;
use tailfan::statistics::binomial::upper_bound;
use tailfan::statistics::binomial::wilson;
use tailfan::statistics::binomial::wilson_corrected;
use tailfan::units::Probability;

type Ends = (f64, f64);
type Method = fn(Count, Probability) -> Interval;

fn p(value: f64) -> Probability {
    Probability::new(value).unwrap()
}

#[track_caller]
fn check(method: Method, k: u64, n: u64, confidence: f64, wanted: (f64, f64), tolerance: f64) {
    let found = method(Count::new(k, n).unwrap(), p(confidence));
    close(
        found.low.get(),
        wanted.0,
        tolerance,
        &format!("{k}/{n} lower"),
    );
    close(
        found.high.get(),
        wanted.1,
        tolerance,
        &format!("{k}/{n} upper"),
    );
}

/// Newcombe 1998, Stat Med 17:857-872, Table I, four decimals; which cells were seen quoted and
/// which are from memory stands in the README of the data.
#[test]
fn newcombe_table_one() {
    let table: [(u64, u64, [Ends; 4]); 4] = [
        (
            81,
            263,
            [
                (0.2553, 0.3662),
                (0.2527, 0.3676),
                (0.2535, 0.3682),
                (0.2544, 0.3658),
            ],
        ),
        (
            15,
            148,
            [
                (0.0624, 0.1605),
                (0.0578, 0.1617),
                (0.0598, 0.1644),
                (0.0601, 0.1581),
            ],
        ),
        (
            0,
            20,
            [(0.0, 0.1611), (0.0, 0.1684), (0.0, 0.2005), (0.0, 0.1391)],
        ),
        (
            1,
            29,
            [
                (0.0061, 0.1718),
                (0.0009, 0.1776),
                (0.0018, 0.1963),
                (0.0017, 0.1585),
            ],
        ),
    ];
    let methods: [Method; 4] = [wilson, clopper_pearson, wilson_corrected, mid_p];
    for (k, n, wanted) in table {
        for (method, wanted) in methods.into_iter().zip(wanted) {
            check(method, k, n, 0.95, wanted, tolerance::FOUR_DECIMALS);
        }
    }
}

/// The same pairs at full precision (statsmodels 0.15.0, scipy 1.17.1).
#[test]
fn newcombe_pairs_at_full_precision() {
    let file = json("a01_newcombe1998.json");
    let methods: [(&str, Method); 5] = [
        ("wilson", wilson),
        ("clopper_pearson", clopper_pearson),
        ("jeffreys", jeffreys),
        ("wilson_cc", wilson_corrected),
        ("mid_p", mid_p),
    ];
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 4);
    for case in cases {
        let (k, n) = (case["k"].as_u64().unwrap(), case["n"].as_u64().unwrap());
        for (name, method) in methods {
            let pair = |v: &Value| (number(&v[0]), number(&v[1]));
            check(method, k, n, 0.95, pair(&case[name]), tolerance::QUANTILE);
        }
    }
}

/// Every k of n = 20, 24, 25, 30 at two confidences (statsmodels 0.15.0).
#[test]
fn library_table_of_small_samples() {
    let table = rows("a01_binomial_ci.csv");
    assert_eq!(table.len(), 206);
    for row in table {
        let (k, n) = (row["k"] as u64, row["n"] as u64);
        let confidence = 1.0 - row["alpha"];
        let pair = |low: &str, high: &str| (row[low], row[high]);
        let wilsons = pair("wilson_lo", "wilson_hi");
        check(wilson, k, n, confidence, wilsons, tolerance::CLOSED_FORM);
        check(
            clopper_pearson,
            k,
            n,
            confidence,
            pair("cp_lo", "cp_hi"),
            tolerance::QUANTILE,
        );
        let jeffreys_ends = pair("jeffreys_lo", "jeffreys_hi");
        check(
            jeffreys,
            k,
            n,
            confidence,
            jeffreys_ends,
            tolerance::QUANTILE,
        );
    }
}

/// One-sided 95 % bounds of the small samples a pond yields, in percent (derived arithmetic).
#[test]
fn one_sided_upper_bounds() {
    let table = [
        (0, 20, 13.91),
        (0, 25, 11.29),
        (0, 30, 9.50),
        (1, 30, 14.86),
        (2, 30, 19.53),
        (3, 30, 23.86),
        (0, 60, 4.87),
        (1, 60, 7.66),
        (2, 60, 10.12),
    ];
    for (k, n, percent) in table {
        let found = upper_bound(Count::new(k, n).unwrap(), p(0.95)).get();
        close(
            found,
            percent / 100.0,
            tolerance::PERCENT_TWO_DECIMALS,
            &format!("{k}/{n}"),
        );
    }
}

/// Wilson's 95 % interval of 0 to 3 of 30, in percent (derived arithmetic).
#[test]
fn wilson_intervals_of_thirty() {
    let table = [
        (0, 0.0, 11.35),
        (1, 0.59, 16.67),
        (2, 1.85, 21.32),
        (3, 3.46, 25.62),
    ];
    for (k, low, high) in table {
        let wanted = (low / 100.0, high / 100.0);
        check(wilson, k, 30, 0.95, wanted, tolerance::PERCENT_TWO_DECIMALS);
    }
}

/// Chances of seeing none (derived arithmetic), and the fewest animals that clear a limit at 95 %.
#[test]
fn chances_of_seeing_none() {
    for (n, share, chance) in [(30, 0.05, 0.2146), (30, 0.10, 0.0424), (20, 0.05, 0.3585)] {
        let found = at_most(Count::none_of(n), p(share)).get();
        close(
            found,
            chance,
            tolerance::FOUR_DECIMALS,
            &format!("none of {n}"),
        );
    }
    let fewest = |limit| tailfan::tally::fewest_to_clear(p(limit), p(0.95));
    assert_eq!(fewest(0.05), Some(59));
    assert_eq!(fewest(0.10), Some(29));
}
