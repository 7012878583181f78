//! The verdict over a drain.

use crate::forecast::tally_of;
use crate::forecast::with_start;
use crate::tolerance;
use tailfan::decision::verdict::Reason;
use tailfan::decision::verdict::judge;
use tailfan::forecast::Group;
use tailfan::forecast::Spreads;
use tailfan::moult::Stage;
use tailfan::statistics::binomial::Count;
use tailfan::statistics::binomial::exactly;
use tailfan::tally::Answer;
use tailfan::units::Probability;

fn answer(counts: &[(Stage, u64)], unread: u64, opens: f64, lasts: f64) -> (Answer, Vec<Reason>) {
    let tally = tally_of(counts, unread);
    let mut found = None;
    let spreads = Spreads::default();
    with_start(&tally, (10.07, 6.0, spreads), (opens, lasts), |start| {
        let verdict = judge(start).unwrap();
        assert_eq!(verdict.expires, start.drain.opens);
        found = Some((verdict.answer, verdict.because));
    });
    found.unwrap()
}

/// A pond that is exactly on a limit when the gates open is called within at most with
/// 1 - confidence, whatever was netted: summed over all outcomes. The drain begins at the netting, so
/// that the true share is known.
#[test]
fn a_pond_on_its_limit_is_seldom_called_within() {
    for n in [20, 25, 30, 45, 60] {
        for (stage, limit) in [(Stage::B, 0.10), (Stage::E, 0.05), (Stage::D2, 0.40)] {
            let wrong: f64 = (0..=n)
                .filter(|&k| {
                    let counts = [(stage, k), (Stage::C, n - k)];
                    answer(&counts, 0, 0.0, 0.3).0 == Answer::WithinLimits
                })
                .map(|k| {
                    let count = Count::new(k, n).unwrap();
                    exactly(count, Probability::new(limit).unwrap()).get()
                })
                .sum();
            assert!(
                wrong <= 0.1 + tolerance::CLOSED_FORM,
                "{stage} {n}: {wrong}"
            );
        }
    }
}

#[test]
fn a_hard_pond_is_within_while_it_stays_so() {
    let hard = [(Stage::C, 200)];
    assert_eq!(
        answer(&hard, 0, 0.9, 1.0),
        (Answer::WithinLimits, vec![Reason::AllWithin])
    );
    // By then they are about to moult.
    let (late, because) = answer(&hard, 0, 5.0, 1.0);
    assert_eq!(late, Answer::OverLimits);
    assert!(because.iter().any(|r| matches!(
        r,
        Reason::At {
            group: Group::Due,
            ..
        }
    )));
    // A drain that reaches beyond one cycle is not judged within.
    let (beyond, because) = answer(&[(Stage::A, 200)], 0, 9.9, 1.0);
    assert_ne!(beyond, Answer::WithinLimits);
    assert!(!because.is_empty());
}

/// The night within the drain counts, not only its ends: animals in D4 are hard in the morning of
/// the opening and soft the next.
#[test]
fn a_moult_wave_within_the_drain_is_seen() {
    let counts = [(Stage::C, 170), (Stage::D4, 30)];
    assert_eq!(answer(&counts, 0, 0.2, 0.3).0, Answer::WithinLimits);
    assert_eq!(answer(&counts, 0, 0.2, 1.0).0, Answer::OverLimits);
}

#[test]
fn unread_animals_take_a_within_away() {
    assert_eq!(
        answer(&[(Stage::C, 60)], 0, 0.5, 0.1).0,
        Answer::WithinLimits
    );
    assert_eq!(
        answer(&[(Stage::C, 60)], 5, 0.5, 0.1).0,
        Answer::TooFewAnimals
    );
}

#[test]
fn few_animals_are_too_few_for_any_drain() {
    let (found, because) = answer(&[(Stage::C, 44)], 0, 0.9, 1.0);
    assert_eq!(found, Answer::TooFewAnimals);
    let few = Reason::FewAnimals {
        called: 44,
        fewest: 45,
    };
    assert_eq!(because[0], few);
    assert!(because[1..].iter().all(|r| matches!(
        r,
        Reason::At {
            group: Group::Moulting,
            ..
        }
    )));
}
