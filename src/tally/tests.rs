//! Checks of the tally that need no file.

use super::*;
use crate::units::Probability;

fn animals(counts: &[(Stage, u64)], unread: u64) -> Vec<Animal> {
    let call = |stage| Animal { stage, shell: None };
    let called = counts
        .iter()
        .flat_map(|&(s, k)| (0..k).map(move |_| call(Some(s))));
    called.chain((0..unread).map(|_| call(None))).collect()
}

fn of(counts: &[(Stage, u64)], unread: u64) -> Tally {
    tally(
        &animals(counts, unread),
        &Settings::default(),
        &StageArcs::published(),
    )
}

#[test]
fn fewer_than_45_animals_cannot_show_moulting_below_5_percent() {
    let confidence = Probability::clamped(0.9);
    assert_eq!(
        fewest_to_clear(Probability::clamped(0.05), confidence),
        Some(45)
    );
    assert_eq!(
        fewest_to_clear(Probability::clamped(0.10), confidence),
        Some(22)
    );
    assert_eq!(of(&[(Stage::C, 44)], 0).at_netting, Answer::TooFewAnimals);
    assert_eq!(of(&[(Stage::C, 45)], 0).at_netting, Answer::WithinLimits);
    assert_eq!(of(&[(Stage::C, 44)], 0).moulting.more_animals, Some(1));
}

#[test]
fn unread_animals_can_take_a_within_away_but_never_give_one() {
    let read = of(&[(Stage::C, 45)], 1);
    assert_eq!(read.at_netting, Answer::TooFewAnimals);
    assert_eq!(read.decided_by, ["moulting"]);
    let over = of(&[(Stage::A, 10), (Stage::C, 15)], 40);
    assert_eq!(over.at_netting, Answer::OverLimits);
}

#[test]
fn nothing_but_unread_animals_is_an_open_answer() {
    let none = of(&[], 5);
    assert_eq!((none.called, none.unread), (0, 5));
    assert_eq!(none.at_netting, Answer::TooFewAnimals);
    assert_eq!(none.on_the_count, None);
    assert_eq!(none.synchrony, None);
    assert_eq!(of(&[], 0).animals, 0);
}

#[test]
fn one_animal_and_a_hundred_thousand_get_an_answer() {
    assert_eq!(of(&[(Stage::A, 1)], 0).soft.tested, Tested::Over);
    assert_eq!(of(&[(Stage::E, 30)], 0).at_netting, Answer::OverLimits);
    let many = of(&[(Stage::A, 4_000), (Stage::C, 96_000)], 0);
    assert_eq!(many.at_netting, Answer::WithinLimits);
}

#[test]
fn limits_of_none_and_all_are_taken_at_their_word() {
    let settings = Settings {
        soft_limit: Probability::clamped(0.0),
        moulting_limit: Probability::clamped(1.0),
        ..Settings::default()
    };
    let read = tally(
        &animals(&[(Stage::A, 1), (Stage::C, 29)], 0),
        &settings,
        &StageArcs::default(),
    );
    assert_eq!(read.soft.tested, Tested::Over);
    assert_eq!(read.moulting.tested, Tested::Within);
    assert_eq!(
        fewest_to_clear(settings.soft_limit, settings.confidence),
        None
    );
}

#[test]
fn shells_are_judged_by_the_hand_and_flagged_where_the_microscope_says_firm() {
    let mut sample = animals(&[(Stage::C, 20), (Stage::A, 2)], 0);
    sample[0].shell = Some(Shell::Papery);
    sample[1].shell = Some(Shell::Firm);
    sample[20].shell = Some(Shell::Soft);
    let read = tally(&sample, &Settings::default(), &StageArcs::default());
    let felt = read.soft_in_hand.unwrap();
    assert_eq!((felt.count, felt.of, read.health_flags), (2, 3, 1));
    assert_eq!(felt.tested, Tested::Over);
    assert!(read.decided_by.contains(&"soft_in_hand"));
}

#[test]
fn the_order_of_the_animals_does_not_matter() {
    let mut sample = animals(&[(Stage::C, 9), (Stage::A, 2), (Stage::D2, 4)], 3);
    let forward = tally(&sample, &Settings::default(), &StageArcs::default());
    sample.reverse();
    assert_eq!(
        forward,
        tally(&sample, &Settings::default(), &StageArcs::default())
    );
}

#[test]
fn a_confidence_that_tests_nothing_is_refused() {
    for bad in [0.0, 0.4, 1.0] {
        let confidence = Probability::clamped(bad);
        let settings = Settings {
            confidence,
            ..Settings::default()
        };
        assert!(settings.checked().is_err());
    }
}
