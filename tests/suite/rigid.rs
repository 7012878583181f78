//! Soft as days since the moult: the part of a stage that counts, the error of the test, and what
//! becomes of it.

use crate::forecast::tally_of;
use crate::reference::close;
use crate::simulated::Pond;
use crate::simulated::Simulation;
use crate::tolerance;
use tailfan::cycle::arcs::StageArcs;
use tailfan::forecast::Drain;
use tailfan::forecast::Group;
use tailfan::forecast::NightClock;
use tailfan::forecast::Spreads;
use tailfan::forecast::Start;
use tailfan::moult::Stage;
use tailfan::tally::Animal;
use tailfan::tally::RigidAfter;
use tailfan::tally::Settings;
use tailfan::tally::Tally;
use tailfan::tally::Tested;
use tailfan::tally::tally;
use tailfan::units::Days;

fn rigid(days: f64, cycle: f64) -> Settings {
    Settings {
        rigid_after: Some(RigidAfter {
            days: Days::new(days),
            cycle: Days::new(cycle),
        }),
        ..Settings::default()
    }
}

fn of(counts: &[(Stage, u64)], settings: &Settings) -> Tally {
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

/// Rigid after 2 days of an 11-day cycle (a trade article's 2 days; 18.2 % of the cycle): A lies
/// within, of B the part (2/11 - 7.5/102) / (12.5/102) = 0.8836 (derived arithmetic).
#[test]
fn a_stage_counts_for_the_part_of_its_arc() {
    let settings = rigid(2.0, 11.0);
    let parts = settings.soft_parts(&StageArcs::published());
    let b = (2.0 / 11.0 - 7.5 / 102.0) / (12.5 / 102.0);
    close(parts[&Stage::B], b, tolerance::CLOSED_FORM, "B");
    close(b, 0.8836, tolerance::FOUR_DECIMALS, "by hand");
    assert_eq!((parts[&Stage::A], parts[&Stage::E]), (1.0, 1.0));
    assert_eq!(parts.len(), 3);
    let counts = [(Stage::A, 1), (Stage::B, 2), (Stage::C, 22)];
    let found = of(&counts, &settings);
    close(
        found.soft.share.unwrap(),
        (1.0 + 2.0 * b) / 25.0,
        1e-12,
        "share",
    );
    assert_eq!(found.soft.count, 3);
    close(found.even_soft, 2.0 / 11.0, 1e-12, "even pond");
    // Whole stages are the same as no rule: at 19.6 % of the cycle B ends.
    let whole = of(&counts, &rigid(20.0 / 102.0 * 11.0, 11.0));
    let plain = of(&counts, &Settings::default());
    close(whole.soft.p_within, plain.soft.p_within, 1e-9, "P(so few)");
    close(whole.soft.p_over, plain.soft.p_over, 1e-9, "P(so many)");
    assert!(found.soft.p_within < plain.soft.p_within);
    for (days, cycle) in [(0.0, 11.0), (6.0, 11.0), (f64::NAN, 11.0), (1.0, 0.0)] {
        assert!(rigid(days, cycle).checked().is_err(), "{days} of {cycle}");
    }
}

/// A pond whose soft share is exactly on the limit, in A and partly in B, is called within at most with
/// 1 - confidence: summed over all outcomes of both counts.
#[test]
fn parts_keep_the_error_of_the_test() {
    for days in [1.0, 1.5, 2.0] {
        let settings = rigid(days, 11.0);
        let part = settings.soft_parts(&StageArcs::published())[&Stage::B];
        for n in [20_u64, 25, 30, 45, 60] {
            for of_a in [0.0, 0.5, 1.0] {
                let (a, b) = (0.10 * of_a, 0.10 * (1.0 - of_a) / part);
                let mut wrong = 0.0;
                for in_a in 0..=n {
                    for in_b in 0..=(n - in_a) {
                        let mass = multinomial([in_a, in_b, n - in_a - in_b], [a, b, 1.0 - a - b]);
                        if mass < 1e-15 {
                            continue;
                        }
                        let counts = [
                            (Stage::A, in_a),
                            (Stage::B, in_b),
                            (Stage::C, n - in_a - in_b),
                        ];
                        if of(&counts, &settings).soft.tested == Tested::Within {
                            wrong += mass;
                        }
                    }
                }
                assert!(
                    wrong <= 0.1 + tolerance::CLOSED_FORM,
                    "{days} {n} {of_a}: {wrong}"
                );
            }
        }
    }
}

fn multinomial(counts: [u64; 3], shares: [f64; 3]) -> f64 {
    let mut all = 0;
    let mut mass = 1.0;
    for (count, share) in counts.into_iter().zip(shares) {
        for i in 1..=count {
            all += 1;
            mass *= f64::from(all) / i as f64 * share;
        }
    }
    mass
}

fn start_of<'a>(
    tally: &'a Tally,
    (settings, arcs): (&'a Settings, &'a StageArcs),
    hour: f64,
) -> Start<'a> {
    Start {
        tally,
        settings,
        arcs,
        cycle: Days::new(10.07),
        stretch_per_degree: 1.0,
        spreads: Spreads {
            mean_cycle: 0.0,
            water_celsius: 0.0,
            ..Spreads::default()
        },
        clock: NightClock::new(hour, Vec::new()).unwrap(),
        nights: 12,
        drain: Drain {
            opens: Days::new(1.0),
            lasts: Days::new(1.0),
        },
    }
}

/// At the netting the standing is the tally's test; later the chance of being soft is that of the
/// simulation, animal by animal, for calls from C on.
#[test]
fn days_since_the_moult_are_carried_forward() {
    let settings = rigid(1.5, 10.07);
    let arcs = StageArcs::published();
    let counts = [(Stage::B, 4), (Stage::C, 20), (Stage::D3, 6)];
    let tally = of(&counts, &settings);
    let at = start_of(&tally, (&settings, &arcs), 6.0);
    let law = at.law().unwrap();
    let outlook = at.outlook(&law, &at.cycles());
    let standing = outlook.standing(&outlook.tables(0.0), Group::Soft);
    let test = &tally.soft;
    close(standing.over_at_worst, test.p_within, 1e-12, "so few");
    close(standing.under_at_best, test.p_over, 1e-12, "so many");
    close(
        standing.of_called.unwrap(),
        tally.soft.share.unwrap(),
        1e-12,
        "share at the netting",
    );
    let mut simulation = Simulation::new(9);
    for hour in [6.0, 20.0] {
        for called in [Stage::C, Stage::D1, Stage::D3, Stage::D4, Stage::E] {
            let one = of(&[(called, 40)], &settings);
            let at = start_of(&one, (&settings, &arcs), hour);
            let law = at.law().unwrap();
            let outlook = at.outlook(&law, &at.cycles());
            for e in [1.0, 2.0, 4.0, 8.0] {
                let found = outlook.standing(&outlook.tables(e), Group::Soft);
                let pond = Pond {
                    cycle: 10.07,
                    cv: 0.1,
                    hour,
                };
                let soft = (0..4_000)
                    .filter(|_| {
                        let (stage, since) = simulation.fate(pond, called.index(), e);
                        stage == Stage::E.index() || since.is_some_and(|days| days <= 1.5)
                    })
                    .count() as f64
                    / 4_000.0;
                close(
                    found.of_called.unwrap(),
                    soft,
                    tolerance::SIMULATED_PART,
                    &format!("{called} {hour} h day {e}"),
                );
            }
        }
    }
}

/// Animals soft in the hand because they just moulted harden; those that are soft without a moult do
/// not, and are never within.
#[test]
fn soft_in_hand_is_carried_forward() {
    use tailfan::decision::verdict::judge;
    use tailfan::moult::Shell;
    use tailfan::tally::Answer;
    let felt = |counts: &[(Stage, Shell, u64)]| {
        let animals: Vec<Animal> = counts
            .iter()
            .flat_map(|&(stage, shell, k)| {
                (0..k).map(move |_| Animal {
                    stage: Some(stage),
                    shell: Some(shell),
                })
            })
            .collect();
        tally(&animals, &Settings::default(), &StageArcs::published())
    };
    let verdict = |tally: &Tally, opens: f64| {
        let mut found = None;
        let at = (10.07, 6.0, Spreads::default());
        crate::forecast::with_start(tally, at, (opens, 0.5), |start| {
            found = Some(judge(start).unwrap());
        });
        found.unwrap()
    };
    let moulted = felt(&[
        (Stage::A, Shell::Soft, 60),
        (Stage::B, Shell::Papery, 60),
        (Stage::C, Shell::Firm, 80),
    ]);
    assert_eq!(verdict(&moulted, 0.0).answer, Answer::OverLimits);
    assert_eq!(verdict(&moulted, 3.0).answer, Answer::WithinLimits);
    let ill = felt(&[(Stage::C, Shell::Soft, 60), (Stage::D0, Shell::Firm, 140)]);
    let found = verdict(&ill, 2.0);
    assert_eq!(found.answer, Answer::OverLimits);
    let by_hand = |r: &tailfan::decision::verdict::Reason| {
        matches!(
            r,
            tailfan::decision::verdict::Reason::At {
                group: Group::SoftInHand,
                ..
            }
        )
    };
    assert!(found.because.iter().any(by_hand), "{:?}", found.because);
    // Nobody felt a shell: nothing is said of the hand.
    let unfelt = tally_of(&[(Stage::C, 100), (Stage::D0, 100)], 0);
    assert_eq!(verdict(&unfelt, 1.0).answer, Answer::WithinLimits);
}

/// At the netting soft in hand is the exact test of the tally.
#[test]
fn soft_in_hand_at_the_netting_is_the_exact_test() {
    use tailfan::moult::Shell;
    for (soft, all) in [(0, 22), (0, 21), (3, 25), (9, 30)] {
        let animals: Vec<Animal> = (0..all)
            .map(|i| Animal {
                stage: Some(if i < soft { Stage::D2 } else { Stage::C }),
                shell: Some(if i < soft { Shell::Soft } else { Shell::Firm }),
            })
            .collect();
        let tally = tally(&animals, &Settings::default(), &StageArcs::published());
        let at = (10.0, 6.0, Spreads::default());
        crate::forecast::with_start(&tally, at, (0.0, 1.0), |start| {
            let law = start.law().unwrap();
            let outlook = start.outlook(&law, &start.cycles());
            let found = outlook.standing(&outlook.tables(0.0), Group::SoftInHand);
            let felt = tally.soft_in_hand.as_ref().unwrap();
            close(
                found.over_at_worst,
                felt.p_within,
                tolerance::QUANTILE,
                "so few",
            );
            close(
                found.under_at_best,
                felt.p_over,
                tolerance::QUANTILE,
                "so many",
            );
            assert_eq!(found.tested, felt.tested);
        });
    }
}
