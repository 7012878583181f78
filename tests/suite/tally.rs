//! The tally: worked examples, common practice and the figures a pond on its limits gives.

use crate::reference::close;
use crate::tolerance;
use tailfan::cycle::arcs::StageArcs;
use tailfan::moult::Stage;
use tailfan::tally::Animal;
use tailfan::tally::Answer;
use tailfan::tally::Leaning;
use tailfan::tally::OnTheCount;
use tailfan::tally::Settings;
use tailfan::tally::Tally;
use tailfan::tally::Tested;
use tailfan::tally::tally;
use tailfan::units::Probability;

fn of(counts: &[(Stage, u64)], unread: u64) -> Tally {
    let animal = |stage| Animal { stage, shell: None };
    let called = counts
        .iter()
        .flat_map(|&(s, k)| (0..k).map(move |_| animal(Some(s))));
    let animals: Vec<Animal> = called.chain((0..unread).map(|_| animal(None))).collect();
    tally(&animals, &Settings::default(), &StageArcs::published())
}

/// 25 called animals: shares by Goodman over nine declared stages, soft by Wilson; the exact tails
/// and the Jeffreys probability were computed by hand from the definitions, to three decimals.
#[test]
fn worked_example() {
    let counts = [
        (Stage::A, 1),
        (Stage::B, 2),
        (Stage::C, 6),
        (Stage::D0, 7),
        (Stage::D1, 5),
        (Stage::D2, 3),
        (Stage::D3, 1),
    ];
    let found = of(&counts, 1);
    assert_eq!((found.animals, found.called, found.unread), (26, 25, 1));
    let a = found.shares[&Stage::A];
    let three = tolerance::THREE_DECIMALS;
    close(a.share.unwrap(), 0.04, three, "share of A");
    close(a.low, 0.004, three, "lower end of A");
    close(a.high, 0.292, three, "upper end of A");
    let soft = &found.soft;
    assert_eq!((soft.count, soft.of), (3, 25));
    close(soft.low, 0.042, three, "lower end of soft");
    close(soft.high, 0.300, three, "upper end of soft");
    close(soft.p_within, 0.764, three, "P(so few)");
    close(soft.p_over, 0.463, three, "P(so many)");
    close(soft.jeffreys_over, 0.660, three, "Jeffreys");
    assert_eq!(soft.on_the_count, Some(OnTheCount::AtOrOver));
    assert_eq!(
        (soft.tested, soft.leans),
        (Tested::Open, Some(Leaning::Over))
    );
    assert_eq!(soft.more_animals, None);
    assert_eq!(found.at_netting, Answer::TooFewAnimals);
    assert_eq!(found.with_unread_as_soft, Answer::TooFewAnimals);
    assert_eq!(found.decided_by, ["soft"]);
}

/// Lucien-Brun's criteria as reported in a trade article: less than 5 % moulting, less than 10 %
/// soft.
#[test]
fn on_the_count_strictly_below_is_under() {
    let moulting = |k| {
        of(&[(Stage::A, k), (Stage::C, 30 - k)], 0)
            .moulting
            .on_the_count
    };
    let soft = |k| {
        of(&[(Stage::B, k), (Stage::C, 30 - k)], 0)
            .soft
            .on_the_count
    };
    assert_eq!(moulting(1), Some(OnTheCount::UnderLimits));
    assert_eq!(moulting(2), Some(OnTheCount::AtOrOver));
    assert_eq!(soft(2), Some(OnTheCount::UnderLimits));
    assert_eq!(soft(3), Some(OnTheCount::AtOrOver));
}

/// Common practice, without a source: with 40 % due to moult the gates stay shut.
#[test]
fn ten_of_25_due_is_over() {
    let found = of(&[(Stage::C, 15), (Stage::D2, 6), (Stage::D3, 4)], 0);
    assert_eq!(found.due.tested, Tested::Over);
    assert_eq!(found.at_netting, Answer::OverLimits);
    assert_eq!(found.decided_by, ["due"]);
}

/// A pond that moults evenly has 19.6 % in A and B by the published shares: on the count it never
/// meets 10 %, and enough animals show it over.
#[test]
fn an_even_pond_fails_the_soft_limit() {
    let arcs = StageArcs::published();
    let even = |n: f64| {
        let counts: Vec<(Stage, u64)> = Stage::ALL
            .iter()
            .map(|&s| (s, (arcs.share(s) * n).round() as u64))
            .collect();
        of(&counts, 0)
    };
    assert_eq!(even(30.0).soft.on_the_count, Some(OnTheCount::AtOrOver));
    assert_eq!(even(100.0).at_netting, Answer::OverLimits);
    close(
        even(30.0).even_soft,
        0.1961,
        tolerance::CYCLE_SHARE,
        "even share",
    );
    let page = tailfan::texts::tally::page(&even(30.0));
    assert!(
        page.contains("it can never meet 10 %. A alone: 2 of "),
        "{page}"
    );
}

/// In a pond exactly on a limit the test says within with at most 1 - confidence, whatever the
/// limit: summed over all outcomes.
#[test]
fn a_pond_on_its_limit_is_seldom_called_within() {
    for n in [20, 25, 30, 45, 60] {
        for (stage, limit) in [(Stage::B, 0.10), (Stage::E, 0.05), (Stage::D2, 0.40)] {
            let p = Probability::new(limit).unwrap();
            let wrong: f64 = (0..=n)
                .filter(|&k| {
                    let found = of(&[(stage, k), (Stage::C, n - k)], 0);
                    let group = match stage {
                        Stage::B => &found.soft,
                        Stage::E => &found.moulting,
                        _ => &found.due,
                    };
                    assert_eq!((group.count, group.limit), (k, limit));
                    group.tested == Tested::Within
                })
                .map(|k| {
                    let count = tailfan::statistics::binomial::Count::new(k, n).unwrap();
                    tailfan::statistics::binomial::exactly(count, p).get()
                })
                .sum();
            assert!(
                wrong <= 0.1 + tolerance::CLOSED_FORM,
                "{stage} {n}: {wrong}"
            );
        }
    }
}

/// The page never gives leave to drain.
#[test]
fn words_of_the_page() {
    let page = tailfan::texts::tally::page(&of(&[(Stage::C, 60)], 0));
    assert!(page.contains("moult tally within limits"), "{page}");
    assert!(!page.to_lowercase().contains("safe"), "{page}");
    assert!(page.starts_with("60 netted, 60 called, 0 unread"));
}
