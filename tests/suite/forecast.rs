//! The forecast against an independent simulation and against what is known of single cases.

use crate::reference::close;
use crate::reference::json;
use crate::reference::number;
use crate::simulated::Pond;
use crate::simulated::Simulation;
use crate::tolerance;
use tailfan::cycle::arcs::StageArcs;
use tailfan::forecast::Drain;
use tailfan::forecast::Fates;
use tailfan::forecast::Group;
use tailfan::forecast::NightClock;
use tailfan::forecast::NoSpan;
use tailfan::forecast::Spreads;
use tailfan::forecast::Start;
use tailfan::forecast::forecast;
use tailfan::moult::Stage;
use tailfan::statistics::gamma::UnitGamma;
use tailfan::tally::Animal;
use tailfan::tally::Settings;
use tailfan::tally::Tally;
use tailfan::tally::Tested;
use tailfan::tally::tally;
use tailfan::units::Days;

pub(crate) fn tally_of(counts: &[(Stage, u64)], unread: u64) -> Tally {
    let animal = |stage| Animal { stage, shell: None };
    let called = counts
        .iter()
        .flat_map(|&(s, k)| (0..k).map(move |_| animal(Some(s))));
    let animals: Vec<Animal> = called.chain((0..unread).map(|_| animal(None))).collect();
    tally(&animals, &Settings::default(), &StageArcs::published())
}

/// Calls `check` with a start that has the default settings but for what is given.
pub(crate) fn with_start(
    tally: &Tally,
    (cycle, hour, spreads): (f64, f64, Spreads),
    (opens, lasts): (f64, f64),
    check: impl FnOnce(&Start<'_>),
) {
    let (settings, arcs) = (Settings::default(), StageArcs::published());
    check(&Start {
        tally,
        settings: &settings,
        arcs: &arcs,
        cycle: Days::new(cycle),
        stretch_per_degree: 1.844_f64.powf(-0.1),
        spreads,
        clock: NightClock::new(hour, Vec::new()).unwrap(),
        nights: 21,
        drain: Drain {
            opens: Days::new(opens),
            lasts: Days::new(lasts),
        },
    });
}

fn pond_of(name: &str) -> Vec<(Stage, u64)> {
    match name {
        "synchronous" => vec![(Stage::C, 6), (Stage::D0, 20), (Stage::D1, 19)],
        "two waves" => vec![
            (Stage::A, 10),
            (Stage::B, 9),
            (Stage::D0, 12),
            (Stage::D1, 14),
        ],
        _ => {
            let even = [3, 6, 7, 4, 10, 5, 6, 4];
            Stage::ALL.into_iter().zip(even).collect()
        }
    }
}

/// Chances of every stage, for cycles of three temperatures (P. vannamei of 14 g at 24, 28 and
/// 32 °C) and three netting hours.
#[test]
fn chances_of_every_stage_are_those_of_the_simulation() {
    let arcs = StageArcs::published();
    let law = UnitGamma::new(0.1).unwrap();
    let mut simulation = Simulation::new(1);
    for cycle in [12.87, 10.07, 7.88] {
        for hour in [6.0, 2.0, 20.0] {
            let clock = NightClock::new(hour, Vec::new()).unwrap();
            let fates = Fates::new(&law, &clock, &arcs, cycle, 24);
            let pond = Pond {
                cycle,
                cv: 0.1,
                hour,
            };
            for e in [1.0, 2.8, 7.0, 13.0] {
                let table = fates.at(e);
                for called in Stage::ALL {
                    if called == Stage::A && hour == 20.0 {
                        // Hardly any cycle is long enough for an animal to be in A so late.
                        continue;
                    }
                    let drawn = simulation.parts(pond, called.index(), e, 4_000);
                    for (stage, part) in Stage::ALL.into_iter().zip(drawn) {
                        let found = table[called.index()][stage.index()];
                        let what = format!("{called} to {stage}, {cycle} d, {hour} h, day {e}");
                        close(found, part, tolerance::SIMULATED_PART, &what);
                    }
                    let all: f64 = table[called.index()].iter().sum();
                    close(all, 1.0, 1e-6, "all stages");
                }
            }
        }
    }
}

/// Shares of three ponds drawn anew: sampling, animals, mean cycle and water. The upper edge, with
/// one more animal in the group, holds 90 % of them; so does the probability of being over.
#[test]
fn edges_and_tests_are_those_of_the_simulation() {
    let mut simulation = Simulation::new(2);
    let cases = [("synchronous", 4.7), ("two waves", 4.7), ("even", 2.0)];
    let conditions = [
        (12.87, 6.0),
        (12.87, 2.0),
        (10.07, 6.0),
        (10.07, 2.0),
        (7.88, 6.0),
        (7.88, 2.0),
    ];
    for ((name, days), (cycle, hour)) in cases
        .into_iter()
        .flat_map(|case| conditions.map(|condition| (case, condition)))
    {
        let e = days * cycle / 10.07;
        let tally = tally_of(&pond_of(name), 0);
        with_start(
            &tally,
            (cycle, hour, Spreads::default()),
            (0.0, 1.0),
            |start| {
                let law = start.law().unwrap();
                let outlook = start.outlook(&law, &start.cycles());
                let tables = outlook.tables(e);
                let groups = [&start.settings.soft, &start.settings.due];
                for (group, stages) in [Group::Soft, Group::Due].into_iter().zip(groups) {
                    let shares = drawn_shares(&mut simulation, start, stages, (hour, e));
                    let band = outlook.band(&tables, group);
                    let standing = outlook.standing(&tables, group);
                    let part = |test: &dyn Fn(f64) -> bool, of: &[f64]| {
                        of.iter().filter(|s| test(**s)).count() as f64 / of.len() as f64
                    };
                    let [worst, best, spread] = &shares;
                    let what = format!("{name} {group:?}, {cycle} d, {hour} h");
                    let limit = group.limit(start.settings);
                    let near = tolerance::SIMULATED_EDGE;
                    close(
                        part(&|s| s <= band.high, worst),
                        0.9,
                        near,
                        &format!("{what} upper edge"),
                    );
                    close(
                        part(&|s| s <= band.low, best),
                        0.1,
                        near,
                        &format!("{what} lower edge"),
                    );
                    let over = part(&|s| s > limit, worst);
                    close(standing.over_at_worst, over, near, &format!("{what} over"));
                    let mean = spread.iter().sum::<f64>() / spread.len() as f64;
                    close(band.expected, mean, near, &format!("{what} expected"));
                }
            },
        );
    }
}

/// Shares of a group with one more animal in it, outside it, and spread as the arcs.
fn drawn_shares(
    simulation: &mut Simulation,
    start: &Start<'_>,
    stages: &std::collections::BTreeSet<Stage>,
    (hour, e): (f64, f64),
) -> [Vec<f64>; 3] {
    let counts = Stage::ALL.map(|s| start.tally.counts[&s] as f64);
    let mut shares = [Vec::new(), Vec::new(), Vec::new()];
    for _ in 0..150 {
        let even = |u: f64| 2.0 * u - 1.0;
        let by_cycle = 1.0 + start.spreads.mean_cycle * even(simulation.uniform());
        let degrees = start.spreads.water_celsius * even(simulation.uniform());
        let factor = by_cycle * start.stretch_per_degree.powf(degrees);
        let pond = Pond {
            cycle: factor * start.cycle.get(),
            cv: 0.1,
            hour,
        };
        let chances: [f64; 9] = std::array::from_fn(|called| {
            let parts = simulation.parts(pond, called, e, 400);
            stages.iter().map(|s| parts[s.index()]).sum()
        });
        let mut spread = counts;
        for stage in Stage::ALL {
            let called = if stage == Stage::D4 { Stage::D3 } else { stage };
            spread[called.index()] += start.arcs.share(stage);
        }
        let cases = [(counts, 1.0, 1.0), (counts, 1.0, 0.0), (spread, 0.0, 0.0)];
        for (shares, (weights, one_more, its_chance)) in shares.iter_mut().zip(cases) {
            let all: [f64; 10] =
                std::array::from_fn(|i| weights.get(i).copied().unwrap_or(one_more));
            for _ in 0..40 {
                let drawn = simulation.shares(&all);
                let staged: f64 = drawn.iter().zip(&chances).map(|(w, c)| w * c).sum();
                shares.push(staged + drawn[9] * its_chance);
            }
        }
    }
    shares
}

/// All in C, 11 days, every cycle equal: none soft for 7 nights; all D3 or D4 moult within the
/// nights that 2.5 days hold (derived arithmetic; moults stand by night only).
#[test]
fn single_stages_with_equal_cycles() {
    let arcs = StageArcs::published();
    let law = UnitGamma::new(0.0).unwrap();
    let clock = NightClock::new(6.0, Vec::new()).unwrap();
    let fates = Fates::new(&law, &clock, &arcs, 11.0, 24);
    let soft = |table: &[[f64; 9]; 9], called: Stage| {
        let row = table[called.index()];
        row[Stage::A.index()] + row[Stage::B.index()] + row[Stage::E.index()]
    };
    for night in 1..=7 {
        assert_eq!(
            soft(&fates.at(f64::from(night)), Stage::C),
            0.0,
            "night {night}"
        );
    }
    assert!(soft(&fates.at(8.0), Stage::C) > 0.3);
    let late = fates.at(2.69)[Stage::D3.index()];
    close(
        late[Stage::A.index()] + late[Stage::B.index()],
        1.0,
        1e-9,
        "D3 and D4 moulted",
    );
}

/// At the hour of netting the edges are the exact tests of the tally.
#[test]
fn at_the_netting_the_standing_is_the_exact_test() {
    for (soft, all) in [(0, 22), (0, 21), (3, 25), (0, 45), (9, 30)] {
        let tally = tally_of(&[(Stage::B, soft), (Stage::C, all - soft)], 0);
        with_start(
            &tally,
            (10.0, 6.0, Spreads::default()),
            (0.0, 1.0),
            |start| {
                let law = start.law().unwrap();
                let outlook = start.outlook(&law, &start.cycles());
                let tables = outlook.tables(0.0);
                for (group, limit) in [
                    (Group::Soft, &tally.soft),
                    (Group::Moulting, &tally.moulting),
                    (Group::Due, &tally.due),
                ] {
                    let found = outlook.standing(&tables, group);
                    let what = format!("{soft}/{all} {group:?}");
                    close(
                        found.over_at_worst,
                        limit.p_within,
                        tolerance::QUANTILE,
                        &what,
                    );
                    close(
                        found.under_at_best,
                        limit.p_over,
                        tolerance::QUANTILE,
                        &what,
                    );
                    assert_eq!(found.tested, limit.tested, "{what}");
                }
            },
        );
    }
}

/// Fewer than 45 animals have no confident span under a 5 % limit on moulting; more may have one.
#[test]
fn few_animals_have_no_confident_span() {
    for (animals, has_one) in [(44, false), (300, true)] {
        let tally = tally_of(
            &[(Stage::C, animals / 2), (Stage::D0, animals - animals / 2)],
            0,
        );
        with_start(
            &tally,
            (10.07, 6.0, Spreads::default()),
            (1.0, 1.0),
            |start| {
                let found = forecast(start).unwrap();
                assert!(found.expected_span.is_some());
                assert_eq!(found.confident_span.is_some(), has_one, "{animals}");
                if !has_one {
                    let few = NoSpan::TooFewAnimals {
                        called: 44,
                        fewest: 45,
                    };
                    assert_eq!(found.no_span, Some(few));
                }
                let nights = found.nights.iter().filter(|n| n.within_confident);
                assert_eq!(nights.count() > 0, has_one);
            },
        );
    }
}

/// Spans stay within one cycle, are as long as the drain, and hold only nights that pass.
#[test]
fn spans_hold_what_they_promise() {
    let tally = tally_of(&[(Stage::C, 38), (Stage::D0, 7)], 0);
    with_start(
        &tally,
        (10.07, 6.0, Spreads::default()),
        (1.25, 1.5),
        |start| {
            let found = forecast(start).unwrap();
            let span = found.expected_span.unwrap();
            assert_eq!(span.opens.get().fract(), 0.25);
            assert!(span.drained_by.get() - span.opens.get() >= 1.5);
            assert!(span.drained_by.get() <= start.horizon());
            let law = start.law().unwrap();
            let outlook = start.outlook(&law, &start.cycles());
            for step in 0..=100 {
                let part = f64::from(step) / 100.0;
                let e = span.opens.get() * (1.0 - part) + span.drained_by.get() * part;
                let standing = outlook.standing(&outlook.tables(e), Group::Soft);
                assert!(
                    standing.expected < 0.1 + 1e-3,
                    "day {e}: {}",
                    standing.expected
                );
                assert_ne!(standing.tested, Tested::Over);
            }
        },
    );
}

#[test]
fn impossible_starts_are_errors() {
    let none = tally_of(&[], 5);
    with_start(
        &none,
        (10.0, 6.0, Spreads::default()),
        (1.0, 1.0),
        |start| {
            assert!(forecast(start).is_err());
        },
    );
    let some = tally_of(&[(Stage::C, 30)], 0);
    for drain in [(1.0, 0.0), (1.0, -1.0), (-0.5, 1.0), (1.0, f64::NAN)] {
        with_start(&some, (10.0, 6.0, Spreads::default()), drain, |start| {
            assert!(forecast(start).is_err(), "{drain:?}");
        });
    }
}

/// First moults of a Gamma renewal with a mean of 30 days (scipy 1.17.1).
#[test]
fn gamma_cycles() {
    let file = json("a08_forecast.json");
    for (cv, case) in file["gamma_renewal"].as_object().unwrap() {
        let law = UnitGamma::new(cv.parse().unwrap()).unwrap();
        let times = case["t"].as_array().unwrap();
        assert!(!times.is_empty());
        for (t, wanted) in times
            .iter()
            .zip(case["P_first_moult_by_t"].as_array().unwrap())
        {
            let found = law.below(number(t) / 30.0).0;
            close(
                found,
                number(wanted),
                tolerance::TABULATED,
                &format!("cv {cv}, day {t}"),
            );
        }
    }
}

/// How fast a wave flattens: the amplitude after one cycle is |1 - 2 pi i cv²| ^ (-1 / cv²) of what it was
/// (numpy), here from the tabulated distribution.
#[test]
fn damping_of_a_wave() {
    let file = json("a08_forecast.json");
    let factors = file["damping_rule"]["per_cycle_factor"]
        .as_object()
        .unwrap();
    assert_eq!(factors.len(), 5);
    for (cv, wanted) in factors {
        let law = UnitGamma::new(cv.parse().unwrap()).unwrap();
        let (mut real, mut imaginary, mut below) = (0.0, 0.0, 0.0);
        for step in 1..=40_000 {
            let x = f64::from(step) / 10_000.0;
            let here = law.below(x).0;
            let angle = std::f64::consts::TAU * (x - 0.000_05);
            real += (here - below) * angle.cos();
            imaginary += (here - below) * angle.sin();
            below = here;
        }
        let found = real.hypot(imaginary);
        close(found, number(wanted), 1e-6, &format!("cv {cv}"));
    }
}

/// The forecast flattens by the same rule: the wave of animals that shed together, from its third to its
/// fourth cycle, times sin(x) / x for the wait of up to a day for the night.
#[test]
fn a_forecast_wave_flattens_by_the_rule() {
    let (cycle, cv) = (10.07, 0.1);
    let arcs = StageArcs::published();
    let law = UnitGamma::new(cv).unwrap();
    let clock = NightClock::new(6.0, Vec::new()).unwrap();
    let fates = Fates::new(&law, &clock, &arcs, cycle, 60);
    let turn = std::f64::consts::TAU / cycle;
    let amplitude = |cycles: f64| {
        let (mut real, mut imaginary) = (0.0, 0.0);
        for step in 0..1_000 {
            let e = (cycles + f64::from(step) / 1_000.0) * cycle;
            let row = fates.at(e)[Stage::E.index()];
            let soft = row[Stage::A.index()] + row[Stage::B.index()];
            real += soft * (turn * e).cos();
            imaginary += soft * (turn * e).sin();
        }
        real.hypot(imaginary)
    };
    let angle = turn * (cycle - 0.5) * cv * cv;
    let gamma = (1.0 + angle * angle).powf(-0.5 / (cv * cv));
    let half = 0.5 * turn;
    let wanted = gamma * half.sin() / half;
    let found = amplitude(3.0) / amplitude(2.0);
    close(found, wanted, 0.02, "from the third to the fourth cycle");
}
