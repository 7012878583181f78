//! The verdict over a drain against an independent simulation, and how often it says "within" in a
//! pond exactly on a limit.

use crate::reference::close;
use crate::simulated::Pond;
use crate::simulated::Simulation;
use crate::tolerance;
use std::collections::BTreeSet;
use tailfan::cycle::arcs::StageArcs;
use tailfan::decision::verdict::judge;
use tailfan::forecast::Drain;
use tailfan::forecast::Fates;
use tailfan::forecast::NightClock;
use tailfan::forecast::Spreads;
use tailfan::forecast::Start;
use tailfan::moult::Stage;
use tailfan::statistics::binomial::Count;
use tailfan::statistics::binomial::exactly;
use tailfan::statistics::gamma::UnitGamma;
use tailfan::tally::Animal;
use tailfan::tally::Answer;
use tailfan::tally::Settings;
use tailfan::tally::Tally;
use tailfan::tally::tally;
use tailfan::units::Days;
use tailfan::units::Probability;

const STRETCH_PER_DEGREE: f64 = 0.9406;

fn tally_with(counts: &[(Stage, u64)], settings: &Settings) -> Tally {
    let animal = |stage| Animal {
        stage: Some(stage),
        shell: None,
    };
    let animals: Vec<Animal> = counts
        .iter()
        .flat_map(|&(s, k)| (0..k).map(move |_| animal(s)))
        .collect();
    tally(&animals, settings, &StageArcs::published())
}

fn verdict(
    tally: &Tally,
    settings: &Settings,
    (cycle, hour, spreads): (f64, f64, Spreads),
    (opens, lasts): (f64, f64),
) -> Answer {
    let arcs = StageArcs::published();
    let start = Start {
        tally,
        settings,
        arcs: &arcs,
        cycle: Days::new(cycle),
        stretch_per_degree: STRETCH_PER_DEGREE,
        spreads,
        clock: NightClock::new(hour, Vec::new()).unwrap(),
        nights: 12,
        drain: Drain {
            opens: Days::new(opens),
            lasts: Days::new(lasts),
        },
    };
    judge(&start).unwrap().answer
}

/// The hours at which limits must hold: start, after the moults (22.5 h) of every night, end.
fn hours((opens, lasts): (f64, f64), hour: f64) -> Vec<f64> {
    let first = (22.5 - hour) / 24.0;
    let ends = opens + lasts;
    let nights = (-1..20).map(|n| first + f64::from(n));
    let within = nights.filter(|t| *t > opens && *t <= ends);
    [opens].into_iter().chain(within).chain([ends]).collect()
}

/// What the simulation says: the largest probability of being over a limit with one more animal in the
/// group, and the smallest of being at most at one with one more outside it.
fn simulated(
    simulation: &mut Simulation,
    tally: &Tally,
    settings: &Settings,
    (cycle, hour): (f64, f64),
    drain: (f64, f64),
) -> (f64, f64, bool) {
    let counts = Stage::ALL.map(|s| tally.counts[&s] as f64);
    let (mut over, mut under, mut due_at_limit) = (0.0_f64, 1.0_f64, false);
    let groups: [(&BTreeSet<Stage>, f64); 3] = [
        (&settings.soft, 0.10),
        (&settings.moulting, 0.05),
        (&settings.due, 0.40),
    ];
    for e in hours(drain, hour) {
        let mut seen = [[0.0; 2]; 3];
        let mut of_called = 0.0;
        for i in 0..40 {
            let spread = 2.0 * (f64::from(i) + simulation.uniform()) / 40.0 - 1.0;
            let degrees = 0.5 * (2.0 * simulation.uniform() - 1.0);
            let pond = Pond {
                cycle: cycle * (1.0 + 0.15 * spread) * STRETCH_PER_DEGREE.powf(degrees),
                cv: 0.1,
                hour,
            };
            let chances: Vec<[f64; 9]> = (0..9)
                .map(|called| match counts[called] > 0.0 {
                    true if e > 0.0 => simulation.parts(pond, called, e, 200),
                    true => std::array::from_fn(|stage| f64::from(u8::from(stage == called))),
                    false => [0.0; 9],
                })
                .collect();
            for (which, (stages, limit)) in groups.iter().enumerate() {
                let of = |called: usize| -> f64 {
                    stages.iter().map(|s| chances[called][s.index()]).sum()
                };
                let weights: [f64; 10] =
                    std::array::from_fn(|at| counts.get(at).copied().unwrap_or(1.0));
                for _ in 0..40 {
                    let drawn = simulation.shares(&weights);
                    let staged: f64 = (0..9).map(|called| drawn[called] * of(called)).sum();
                    let one = |hit: bool| f64::from(u8::from(hit)) / 1_600.0;
                    seen[which][0] += one(staged + drawn[9] > *limit);
                    seen[which][1] += one(staged <= *limit);
                }
                if which == 2 {
                    let all: f64 = counts.iter().sum();
                    let due: f64 = (0..9).map(|called| counts[called] / all * of(called)).sum();
                    of_called += due / 40.0;
                }
            }
        }
        for [over_here, under_here] in seen {
            over = over.max(over_here);
            under = under.min(under_here);
        }
        due_at_limit |= of_called >= 0.40;
    }
    (over, under, due_at_limit)
}

fn pond_of(name: &str) -> Vec<(Stage, u64)> {
    match name {
        "synchronous" => vec![(Stage::C, 90), (Stage::D0, 80), (Stage::D1, 10)],
        "two waves" => vec![
            (Stage::A, 12),
            (Stage::B, 20),
            (Stage::D0, 60),
            (Stage::D1, 50),
        ],
        _ => {
            let even = [9, 15, 19, 12, 26, 13, 15, 12];
            Stage::ALL.into_iter().zip(even).collect()
        }
    }
}

/// Synchronous, even and two-wave ponds at three temperatures (P. vannamei of 14 g at 24, 28 and
/// 32 °C) and two netting hours, with drains at once and later in the cycle: the verdict is that of the
/// simulation, except where the simulation lies within its own drawing error of the bound.
#[test]
fn verdicts_over_a_drain_are_those_of_the_simulation() {
    let settings = Settings::default();
    let mut simulation = Simulation::new(5);
    let mut seen = BTreeSet::new();
    let mut decided = 0;
    for name in ["synchronous", "two waves", "even"] {
        let tally = tally_with(&pond_of(name), &settings);
        for cycle in [12.87, 10.07, 7.88] {
            for hour in [6.0, 2.0] {
                for part in [0.02, 0.25, 0.45] {
                    let drain = (part * cycle, 0.11 * cycle);
                    let found =
                        verdict(&tally, &settings, (cycle, hour, Spreads::default()), drain);
                    let (over, under, due) =
                        simulated(&mut simulation, &tally, &settings, (cycle, hour), drain);
                    let near = tolerance::SIMULATED_VERDICT;
                    let what = format!(
                        "{name} {cycle} d {hour} h {drain:?}: {found:?}, over {over}, under {under}, due {due}"
                    );
                    match found {
                        Answer::WithinLimits => assert!(over < 0.1 + near && !due, "{what}"),
                        Answer::OverLimits => assert!(under < 0.1 + near || due, "{what}"),
                        Answer::TooFewAnimals => {
                            assert!(over > 0.1 - near && under > 0.1 - near, "{what}");
                        }
                    }
                    seen.insert(found);
                    decided += usize::from(found != Answer::TooFewAnimals);
                }
            }
        }
    }
    assert_eq!(seen.len(), 3, "every answer is met");
    assert!(decided >= 20, "{decided} of 54 are decided");
}

/// A pond whose true soft share is exactly on its limit at the worst hour of a drain some days ahead is
/// called within at most with 1 - confidence: summed over all outcomes. Animals of one stage carry the
/// coming wave; the other limits are out of the way.
#[test]
fn a_pond_on_its_limit_within_a_later_drain_is_seldom_called_within() {
    let settings = Settings {
        moulting_limit: Probability::clamped(1.0),
        due_limit: Probability::clamped(1.0),
        ..Settings::default()
    };
    let arcs = StageArcs::published();
    let mut highest = 0.0_f64;
    for (stage, cycle, hour, drain) in [
        (Stage::D3, 10.07, 6.0, (0.9, 1.0)),
        (Stage::D2, 10.07, 6.0, (2.9, 1.5)),
        (Stage::D1, 7.88, 20.0, (2.2, 1.0)),
        (Stage::D4, 12.87, 6.0, (0.0, 1.0)),
    ] {
        let (law, clock) = (
            UnitGamma::new(0.1).unwrap(),
            NightClock::new(hour, Vec::new()).unwrap(),
        );
        let fates = Fates::new(&law, &clock, &arcs, cycle, 12);
        let soft = |e: f64| -> f64 {
            let row = fates.at(e)[stage.index()];
            settings.soft.iter().map(|s| row[s.index()]).sum()
        };
        let worst = hours(drain, hour).into_iter().map(soft).fold(0.0, f64::max);
        let share = 0.10 / worst;
        assert!(share <= 1.0, "{stage}: {worst}");
        for n in [20, 25, 30, 45, 60] {
            for spreads in [
                Spreads::default(),
                Spreads {
                    mean_cycle: 0.0,
                    water_celsius: 0.0,
                    ..Spreads::default()
                },
            ] {
                let within = |k: u64| {
                    let tally = tally_with(&[(stage, k), (Stage::C, n - k)], &settings);
                    let found = verdict(&tally, &settings, (cycle, hour, spreads), drain);
                    found == Answer::WithinLimits
                };
                let p = Probability::new(share).unwrap();
                let passing = (0..=n).take_while(|&k| within(k));
                let wrong: f64 = passing
                    .map(|k| exactly(Count::new(k, n).unwrap(), p).get())
                    .sum();
                highest = highest.max(wrong);
                assert!(
                    wrong <= 0.1 + tolerance::CLOSED_FORM,
                    "{stage} of {n}, {drain:?}: {wrong}"
                );
            }
        }
    }
    assert!(highest > 0.0, "some pond on its limit can come out within");
}

/// Fewer than 45 animals are never within over any drain at the default limits, whatever was called.
#[test]
fn fewer_than_45_are_never_within() {
    let settings = Settings::default();
    for n in [20, 30, 44] {
        for stage in [Stage::C, Stage::D0] {
            let tally = tally_with(&[(stage, n)], &settings);
            for opens in [0.0, 1.0, 2.5, 4.0] {
                let at = (10.07, 6.0, Spreads::default());
                let found = verdict(&tally, &settings, at, (opens, 1.0));
                assert_ne!(found, Answer::WithinLimits, "{n} {stage} {opens}");
            }
        }
    }
}

/// The worked hours themselves: netted at 6, gates open 22 hours later for a day.
#[test]
fn a_drain_is_looked_at_when_it_starts_after_its_nights_and_when_it_ends() {
    let found = hours((22.0 / 24.0, 1.0), 6.0);
    for (found, wanted) in found.iter().zip([22.0, 40.5, 46.0]) {
        close(24.0 * found, wanted, 1e-9, "hour");
    }
    assert_eq!(found.len(), 3);
}
