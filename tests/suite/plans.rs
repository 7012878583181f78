//! Plans before netting, reader error and the value of waiting.

use crate::reference::close;
use crate::reference::json;
use crate::reference::number;
use crate::reference::rows;
use crate::tolerance;
use tailfan::decision::plan::Acceptance;
use tailfan::decision::plan::SinglePlan;
use tailfan::decision::plan::animals_to_clear;
use tailfan::decision::reader_error::KnownErrors;
use tailfan::decision::reader_error::correct_all;
use tailfan::decision::reader_error::correct_group;
use tailfan::decision::reader_error::worse_of;
use tailfan::decision::sequential::SequentialPlan;
use tailfan::decision::two_stage::TwoStagePlan;
use tailfan::decision::waiting::Worth;
use tailfan::moult::Stage;
use tailfan::statistics::clustered::Clustered;
use tailfan::units::Probability;

fn p(value: f64) -> Probability {
    Probability::new(value).unwrap()
}

const ALONE: Clustered = Clustered::INDEPENDENT;
const LIMITS: [f64; 3] = [0.05, 0.10, 0.40];

/// 14 plans at 11 shares (scipy 1.17.1).
#[test]
fn operating_characteristics() {
    let table = rows("a08_oc_binomial.csv");
    assert_eq!(table.len(), 154);
    for row in table {
        let plan = Acceptance {
            animals: row["n"] as u64,
            at_most: row["c"] as u64,
        };
        let found = plan.passes(p(row["p"])).get();
        close(
            found,
            row["P_accept"],
            tolerance::CLOSED_FORM,
            &format!("{plan:?}"),
        );
    }
    for case in json("a08_forecast.json")["oc"]["points"]
        .as_array()
        .unwrap()
    {
        let plan = Acceptance {
            animals: case["n"].as_u64().unwrap(),
            at_most: case["c"].as_u64().unwrap(),
        };
        for (key, chance) in [
            ("p_at_Pa_0.95", 0.95),
            ("p_at_Pa_0.50", 0.5),
            ("p_at_Pa_0.10", 0.1),
        ] {
            let found = plan.share_passing(p(chance)).get();
            close(
                found,
                number(&case[key]),
                tolerance::QUANTILE,
                &format!("{plan:?} {key}"),
            );
        }
    }
}

/// n = 68, c = 2: published, seen at samplingplans.com (address in the README of the data).
#[test]
fn a_published_plan() {
    let plan = Acceptance {
        animals: 68,
        at_most: 2,
    };
    close(
        plan.share_passing(p(0.95)).get(),
        0.01213,
        5.1e-6,
        "passes 95 %",
    );
    close(
        plan.share_passing(p(0.05)).get(),
        0.089_704,
        5.1e-7,
        "passes 5 %",
    );
}

#[test]
fn a_single_netting_says_what_it_can_show() {
    let few = SinglePlan::new(44, p(0.05), p(0.9), ALONE);
    assert_eq!(few.within_up_to, None);
    assert_eq!(
        SinglePlan::new(45, p(0.05), p(0.9), ALONE).within_up_to,
        Some(0)
    );
    assert_eq!(
        SinglePlan::new(22, p(0.10), p(0.9), ALONE).within_up_to,
        Some(0)
    );
    for n in [20, 25, 30, 45, 60] {
        for limit in LIMITS {
            let on_it = SinglePlan::new(n, p(limit), p(0.9), ALONE).chances(p(limit));
            assert!(on_it.within <= 0.1 + tolerance::CLOSED_FORM);
            assert!(on_it.over <= 0.1 + tolerance::CLOSED_FORM);
            close(
                on_it.within + on_it.over + on_it.open,
                1.0,
                tolerance::CLOSED_FORM,
                "all",
            );
        }
    }
    let needed = animals_to_clear(p(0.10), p(0.9), p(0.02), p(0.8), ALONE).unwrap();
    assert!(
        SinglePlan::new(needed, p(0.10), p(0.9), ALONE)
            .chances(p(0.02))
            .within
            >= 0.8
    );
    assert!(
        SinglePlan::new(needed - 1, p(0.10), p(0.9), ALONE)
            .chances(p(0.02))
            .within
            < 0.8
    );
    assert_eq!(
        animals_to_clear(p(0.10), p(0.9), p(0.10), p(0.8), ALONE),
        None
    );
}

/// Both nettings together are wrong in a pond exactly on a limit at most with 1 - confidence, summed
/// over all outcomes here; and they clear a good pond more often than the first alone.
#[test]
fn two_nettings_keep_the_error_of_one() {
    for first in [20, 25, 30, 45, 60] {
        for second in [30, 60] {
            for limit in LIMITS {
                let plan = TwoStagePlan::new(first, second, p(limit), p(0.9), ALONE);
                let (within, over) = summed(&plan, limit);
                let found = plan.chances(p(limit));
                close(found.within, within, tolerance::CLOSED_FORM, "within");
                close(found.over, over, tolerance::CLOSED_FORM, "over");
                assert!(within <= 0.1 + tolerance::CLOSED_FORM, "{plan:?}: {within}");
                assert!(over <= 0.1 + tolerance::CLOSED_FORM, "{plan:?}: {over}");
                assert!(
                    plan.both_within_up_to < plan.both_over_from || plan.both_over_from.is_none()
                );
                assert!(found.animals >= first as f64 && found.animals <= (first + second) as f64);
            }
        }
    }
    let two = TwoStagePlan::new(30, 30, p(0.10), p(0.9), ALONE).chances(p(0.03));
    let one = SinglePlan::new(30, p(0.10), p(0.9), ALONE).chances(p(0.03));
    assert!(two.within > one.within);
}

/// "Within" and "over" of a two-stage plan, outcome by outcome.
fn summed(plan: &TwoStagePlan, share: f64) -> (f64, f64) {
    let mass = |k: u64, n: u64| {
        let ways: f64 = (0..k).map(|i| (n - i) as f64 / (i + 1) as f64).product();
        ways * share.powf(k as f64) * (1.0 - share).powf((n - k) as f64)
    };
    let (mut within, mut over) = (0.0, 0.0);
    for a in 0..=plan.first {
        for b in 0..=plan.second {
            let chance = mass(a, plan.first) * mass(b, plan.second);
            if plan.first_within_up_to.is_some_and(|c| a <= c) {
                within += chance;
            } else if plan.first_over_from.is_some_and(|r| a >= r) {
                over += chance;
            } else if plan.both_within_up_to.is_some_and(|c| a + b <= c) {
                within += chance;
            } else if plan.both_over_from.is_some_and(|r| a + b >= r) {
                over += chance;
            }
        }
    }
    (within, over)
}

/// Four plans with their lines and tables (numpy); the first is that of the NIST e-Handbook (its
/// text from memory): 0.01 against 0.10, accepted first after 24.
#[test]
fn sequential_plans() {
    let cases = json("a08_forecast.json")["sprt"]["cases"].clone();
    for case in cases.as_array().unwrap() {
        let value = |key: &str| p(number(&case[key]));
        let plan =
            SequentialPlan::new(value("p0"), value("p1"), value("alpha"), value("beta")).unwrap();
        for (key, found) in [
            ("h_accept", plan.h_accept),
            ("h_reject", plan.h_reject),
            ("slope", plan.slope),
        ] {
            close(found, number(&case[key]), tolerance::CLOSED_FORM, key);
        }
        for row in case["table_n_accept_reject"].as_array().unwrap() {
            let n = row[0].as_u64().unwrap();
            assert_eq!(plan.within_up_to(n), row[1].as_u64(), "{n}");
            assert_eq!(plan.over_from(n), row[2].as_u64(), "{n}");
        }
        assert_eq!(Some(plan.fewest()), case["min_n_accept_0"].as_u64());
        let (good, bad) = plan.average_animals();
        close(
            good,
            number(&case["ASN"]["p=p0"]),
            1e-9,
            "animals, good pond",
        );
        close(bad, number(&case["ASN"]["p=p1"]), 1e-9, "animals, bad pond");
    }
    let nist = SequentialPlan::new(p(0.01), p(0.10), p(0.05), p(0.10)).unwrap();
    assert_eq!((nist.fewest(), nist.over_from(24)), (24, Some(3)));
    assert!(SequentialPlan::new(p(0.1), p(0.1), p(0.1), p(0.1)).is_err());
}

/// Two animals that tell as much as one: twice as many are needed, a plan of twice as many is that of
/// the fewer, and a pond on the limit comes out within, or over, no more often than the error allows.
#[test]
fn plans_for_animals_that_are_alike() {
    for effect in [2.0, 3.0] {
        let clustered = Clustered(effect);
        for limit in LIMITS {
            for n in [22, 30, 45] {
                let netted = (effect * n as f64) as u64;
                let alike = SinglePlan::new(netted, p(limit), p(0.9), clustered);
                let alone = SinglePlan::new(n, p(limit), p(0.9), ALONE);
                // Between whole parts a count may pass that is no whole number of the fewer.
                let parts = |k: Option<u64>| k.map(|k| (k as f64 / effect).floor() as u64);
                assert_eq!(parts(alike.within_up_to), alone.within_up_to, "{alike:?}");
                let on_it = alike.chances(p(limit));
                assert!(on_it.within <= 0.1 + tolerance::CLOSED_FORM, "{on_it:?}");
                assert!(on_it.over <= 0.1 + tolerance::CLOSED_FORM, "{on_it:?}");
                let two = TwoStagePlan::new(netted, netted, p(limit), p(0.9), clustered);
                let on_it = two.chances(p(limit));
                assert!(on_it.within <= 0.1 + tolerance::CLOSED_FORM, "{two:?}");
                assert!(on_it.over <= 0.1 + tolerance::CLOSED_FORM, "{two:?}");
            }
            let alone = SequentialPlan::for_limit(p(limit / 4.0), p(limit), p(0.9)).unwrap();
            let alike = alone.among(clustered);
            for n in 1..60 {
                let netted = (effect * n as f64) as u64;
                let parts = alike
                    .within_up_to(netted)
                    .map(|k| (k as f64 / effect) as u64);
                assert_eq!(parts, alone.within_up_to(n), "{n}");
            }
        }
    }
    let needed = |clustered| animals_to_clear(p(0.10), p(0.9), p(0.02), p(0.8), clustered).unwrap();
    assert!(needed(Clustered(2.0)) <= 2 * needed(ALONE));
    assert!(needed(Clustered(2.0)) > needed(ALONE));
}

/// A pond exactly on the limit is called within at most with 1 - confidence, animal by animal, also
/// when calling ends after 20 to 60.
#[test]
fn sequential_plans_keep_their_error() {
    for limit in LIMITS {
        let plan = SequentialPlan::for_limit(p(limit / 4.0), p(limit), p(0.9)).unwrap();
        for last in [20, 25, 30, 45, 60, 400] {
            let on_it = plan.chances(p(limit), last);
            assert!(
                on_it.within <= 0.1 + tolerance::CLOSED_FORM,
                "{limit} {last}: {on_it:?}"
            );
            close(
                on_it.within + on_it.over + on_it.open,
                1.0,
                tolerance::CLOSED_FORM,
                "all",
            );
            assert!(on_it.animals <= last as f64);
        }
    }
}

/// Hand arithmetic: 12 % observed, sensitivity 0.9, specificity 0.95: (0.12 - 0.05) / 0.85.
#[test]
fn known_errors_of_a_reader() {
    let errors = KnownErrors {
        hits: 36.0,
        of_group: 40.0,
        right_rest: 76.0,
        of_rest: 80.0,
    };
    let found = errors.correct(p(0.12), 50, p(0.95)).unwrap();
    close(
        found.share,
        0.07 / 0.85,
        tolerance::CLOSED_FORM,
        "corrected",
    );
    assert!(found.low < found.share && found.share < found.high);
    assert_eq!(worse_of(p(0.12), Some(found)), p(0.12));
    let misses = KnownErrors {
        hits: 20.0,
        of_group: 40.0,
        right_rest: 80.0,
        of_rest: 80.0,
    };
    let worse = misses.correct(p(0.12), 50, p(0.95));
    close(
        worse_of(p(0.12), worse).get(),
        0.24,
        tolerance::CLOSED_FORM,
        "half are missed",
    );
    let coin = KnownErrors {
        hits: 20.0,
        of_group: 40.0,
        right_rest: 40.0,
        of_rest: 80.0,
    };
    assert_eq!(coin.correct(p(0.12), 50, p(0.95)), None);
    let sure = |of_group, of_rest| KnownErrors {
        hits: 0.9 * of_group,
        of_group,
        right_rest: 0.95 * of_rest,
        of_rest,
    };
    let width = |e: KnownErrors| {
        e.correct(p(0.12), 50, p(0.95))
            .map(|c| c.high - c.low)
            .unwrap()
    };
    assert!(width(sure(20.0, 20.0)) > width(sure(2000.0, 2000.0)));
}

/// A reader who calls a quarter of B as C: 10 % of B observed behind 30 of 100 true ones.
#[test]
fn known_errors_of_all_stages() {
    let mut table = [[0.0; 9]; 9];
    table[Stage::B.index()][Stage::B.index()] = 30.0;
    table[Stage::B.index()][Stage::C.index()] = 10.0;
    table[Stage::C.index()][Stage::C.index()] = 40.0;
    let mut counts = [0; 9];
    counts[Stage::B.index()] = 15;
    counts[Stage::C.index()] = 85;
    let found = correct_all(&counts, &table).unwrap();
    close(found[Stage::B.index()], 0.20, 1e-6, "B");
    close(found[Stage::C.index()], 0.80, 1e-6, "C");
    let pairs = |truth, call, n| std::iter::repeat_n((truth, call), n);
    let slides: Vec<(Stage, Stage)> = pairs(Stage::B, Stage::B, 30)
        .chain(pairs(Stage::B, Stage::C, 10))
        .chain(pairs(Stage::C, Stage::C, 40))
        .collect();
    let group = correct_group(&counts, &slides, &[Stage::B], p(0.9), (60, 5)).unwrap();
    assert!(group.low < 0.2 && group.high > 0.2, "{group:?}");
    assert_eq!(correct_all(&[0; 9], &table), None);
}

/// Hand arithmetic with round numbers.
#[test]
fn value_of_waiting() {
    let worth = Worth {
        biomass: 1000.0,
        survival_per_day: 0.99,
        growth_per_day: 0.02,
        price: 5.0,
        soft_discount: 0.4,
        feed_per_day: 30.0,
        other_per_day: 20.0,
    };
    let found = worth.checked().unwrap().by_night(&[0.25, 0.05]);
    close(found[0].value, 4500.0, 1e-9, "at once");
    close(
        found[1].value,
        1000.0 * 0.99 * 1.02 * 5.0 * 0.98 - 50.0,
        1e-9,
        "one night",
    );
    close(found[1].gain, found[1].value - 4500.0, 1e-9, "gain");
    assert!(
        Worth {
            soft_discount: 1.5,
            ..worth
        }
        .checked()
        .is_err()
    );
    assert!(
        Worth {
            price: -1.0,
            ..worth
        }
        .checked()
        .is_err()
    );
}
