//! The known errors of a reader in tally and forecast: they may worsen an answer, never improve it.

use crate::forecast::tally_of;
use crate::forecast::with_start;
use crate::reference::close;
use crate::tolerance;
use tailfan::decision::misreading::consider;
use tailfan::decision::reader_error::KnownErrors;
use tailfan::decision::reader_error::KnownSlide;
use tailfan::decision::verdict::judge;
use tailfan::forecast::Group;
use tailfan::forecast::Spreads;
use tailfan::moult::Stage;
use tailfan::statistics::binomial::Count;
use tailfan::statistics::binomial::at_most;
use tailfan::tally::Answer;
use tailfan::tally::Settings;
use tailfan::tally::Tally;
use tailfan::units::Probability;

fn slides(counts: &[(Stage, Stage, usize)]) -> Vec<KnownSlide> {
    let one = |&(truth, call, n): &(Stage, Stage, usize)| {
        let weight = 1.0;
        let slide = KnownSlide {
            truth,
            call,
            weight,
        };
        std::iter::repeat_n(slide, n)
    };
    counts.iter().flat_map(one).collect()
}

fn faultless(each: usize) -> Vec<KnownSlide> {
    let counts: Vec<(Stage, Stage, usize)> = Stage::ALL.iter().map(|&s| (s, s, each)).collect();
    slides(&counts)
}

fn with(mut tally: Tally, known: &[KnownSlide]) -> Tally {
    consider(&mut tally, &Settings::default(), known);
    tally
}

fn ponds() -> Vec<Tally> {
    vec![
        tally_of(&[(Stage::C, 60)], 0),
        tally_of(&[(Stage::C, 40), (Stage::D0, 60)], 0),
        tally_of(&[(Stage::A, 2), (Stage::C, 28)], 0),
        tally_of(&[(Stage::A, 12), (Stage::B, 10), (Stage::C, 30)], 1),
        tally_of(&[(Stage::C, 15), (Stage::D2, 10)], 0),
        tally_of(&[(Stage::B, 1), (Stage::C, 80), (Stage::E, 1)], 0),
    ]
}

#[test]
fn a_faultless_reader_changes_nothing() {
    let known = faultless(3_000);
    for plain in ponds() {
        let found = with(plain.clone(), &known);
        assert_eq!(found.at_netting, plain.at_netting);
        let effect = found.reader.unwrap();
        assert!(!effect.worsened);
        let soft = &effect.groups["soft"];
        close(
            soft.corrected.unwrap(),
            plain.soft.share.unwrap(),
            1e-12,
            "corrected",
        );
        close(
            soft.by_all_stages.unwrap(),
            plain.soft.share.unwrap(),
            1e-6,
            "all stages",
        );
        close(soft.p_within, plain.soft.p_within, 0.002, "P(so few)");
    }
    let mut none = tally_of(&[(Stage::C, 60)], 0);
    consider(&mut none, &Settings::default(), &[]);
    assert_eq!(none.reader, None);
}

/// Any reader, on any of these ponds: the answer is the same or worse.
#[test]
fn no_reader_improves_an_answer() {
    let all = Stage::ALL;
    let mut worsened = 0;
    for shift in 0..6_usize {
        // Calls slip to the next stage in `shift` of 6 cases; or only A is missed so often.
        let slips: Vec<(Stage, Stage, usize)> = (0..9)
            .flat_map(|i| {
                let next = all[(i + 1) % 9];
                [(all[i], all[i], 6 - shift), (all[i], next, shift)]
            })
            .collect();
        let mut misses: Vec<(Stage, Stage, usize)> = all[1..8].iter().map(|&s| (s, s, 6)).collect();
        misses.extend([(Stage::A, Stage::A, 6 - shift), (Stage::A, Stage::C, shift)]);
        let known = slides(if shift % 2 == 0 { &slips } else { &misses });
        for plain in ponds() {
            let found = with(plain.clone(), &known);
            assert!(found.at_netting >= plain.at_netting);
            let effect = found.reader.as_ref().unwrap();
            assert_eq!(effect.without, plain.at_netting);
            assert_eq!(effect.worsened, found.at_netting != plain.at_netting);
            worsened += usize::from(effect.worsened);
            for opens in [0.0, 1.0, 4.0] {
                let judged = |tally: &Tally| {
                    let mut answer = None;
                    let at = (10.07, 6.0, Spreads::default());
                    with_start(tally, at, (opens, 1.0), |start| {
                        answer = Some(judge(start).unwrap().answer);
                    });
                    answer.unwrap()
                };
                assert!(judged(&found) >= judged(&plain), "{shift} {opens}");
            }
        }
    }
    assert!(worsened > 0);
}

/// 60 animals with none moulting are within 5 % by the calls alone; a reader who finds half of those in
/// A or E would see none of 60 in 22 of 100 ponds on the limit (0.975^60 = 0.219).
#[test]
fn a_reader_who_misses_half_cannot_clear() {
    let known = slides(&[
        (Stage::A, Stage::A, 400),
        (Stage::A, Stage::C, 400),
        (Stage::B, Stage::B, 400),
        (Stage::C, Stage::C, 800),
    ]);
    let plain = tally_of(&[(Stage::C, 60)], 0);
    assert_eq!(plain.at_netting, Answer::WithinLimits);
    let found = with(plain, &known);
    assert_eq!(found.at_netting, Answer::TooFewAnimals);
    assert_eq!(found.decided_by, ["moulting"]);
    let moulting = &found.reader.unwrap().groups["moulting"];
    assert_eq!(moulting.sensitivity, Some(0.5));
    close(moulting.p_within, 0.975_f64.powi(60), 0.01, "P(so few)");
}

#[test]
fn a_reader_who_guesses_shows_nothing() {
    let known = slides(&[
        (Stage::A, Stage::A, 20),
        (Stage::A, Stage::C, 20),
        (Stage::C, Stage::C, 20),
        (Stage::C, Stage::A, 20),
    ]);
    let found = with(tally_of(&[(Stage::C, 100)], 0), &known);
    assert_ne!(found.at_netting, Answer::WithinLimits);
    let soft = &found.reader.unwrap().groups["soft"];
    assert_eq!(soft.corrected, None);
    assert!(soft.p_within > 0.3);
}

/// The mean over what few slides leave open, against a plain sum over a fine grid of both Jeffreys
/// posteriors.
#[test]
fn uncertainty_of_few_slides_is_carried() {
    let (hits, of_group, right_rest, of_rest) = (9.0, 10.0, 38.0, 40.0);
    let errors = KnownErrors {
        hits,
        of_group,
        right_rest,
        of_rest,
    };
    let limit = Probability::new(0.10).unwrap();
    let count = Count::new(1, 40).unwrap();
    let found = errors
        .averaged(limit, |shown| at_most(count, shown).get())
        .unwrap();
    let (mut sum, mut all) = (0.0, 0.0);
    let steps = 600;
    let density = |x: f64, k: f64, n: f64| x.powf(k - 0.5) * (1.0 - x).powf(n - k - 0.5);
    for i in 0..steps {
        for j in 0..steps {
            let (se, sp) = (
                (f64::from(i) + 0.5) / f64::from(steps),
                (f64::from(j) + 0.5) / f64::from(steps),
            );
            let weight = density(se, hits, of_group) * density(sp, right_rest, of_rest);
            let shown = 0.1 * se + 0.9 * (1.0 - sp);
            let q = 1.0 - shown;
            let p = if se + sp <= 1.0 {
                1.0
            } else {
                q.powi(40) + 40.0 * shown * q.powi(39)
            };
            sum += weight * p;
            all += weight;
        }
    }
    close(found, sum / all, 0.003, "averaged");
    let sure = KnownErrors {
        hits: 900.0,
        of_group: 1_000.0,
        right_rest: 3_800.0,
        of_rest: 4_000.0,
    };
    let known = sure
        .averaged(limit, |shown| at_most(count, shown).get())
        .unwrap();
    assert!((known - found).abs() > 0.001, "few slides leave more open");
}

/// Kish: two slides of weight 1 and one of weight 2 tell as much as 16 / 6 of equal weight.
#[test]
fn weighted_slides_tell_less_than_their_number() {
    let slide = |call, weight| KnownSlide {
        truth: Stage::A,
        call,
        weight,
    };
    let known = [
        slide(Stage::A, 1.0),
        slide(Stage::B, 1.0),
        slide(Stage::C, 2.0),
    ];
    let errors = KnownErrors::of_slides(&known, |s| s == Stage::A);
    close(errors.of_group, 16.0 / 6.0, 1e-12, "slides");
    close(errors.sensitivity().unwrap(), 0.25, 1e-12, "sensitivity");
    assert_eq!(errors.specificity(), None);
}

/// Drawn ponds of a faultless reader give the bands and tests of the exact way within their drawing
/// error.
#[test]
fn drawn_ponds_agree_with_the_exact_way() {
    let plain = tally_of(&[(Stage::B, 3), (Stage::C, 50), (Stage::D0, 30)], 0);
    let found = with(plain.clone(), &faultless(5_000));
    let at = (10.07, 6.0, Spreads::default());
    let look = |tally: &Tally, e: f64| {
        let mut seen = Vec::new();
        with_start(tally, at, (1.0, 1.0), |start| {
            let law = start.law().unwrap();
            let outlook = start.outlook(&law, &start.cycles());
            let tables = outlook.tables(e);
            for group in Group::ALL {
                let standing = outlook.standing(&tables, group);
                seen.push((standing.over_at_worst, outlook.band(&tables, group).high));
            }
        });
        seen
    };
    for e in [0.0, 2.0, 5.0] {
        for (exact, drawn) in look(&plain, e).into_iter().zip(look(&found, e)) {
            assert!(drawn.0 >= exact.0 && drawn.1 >= exact.1);
            close(drawn.0, exact.0, tolerance::DRAWN_PONDS, "over at worst");
            close(drawn.1, exact.1, tolerance::DRAWN_PONDS, "upper edge");
        }
    }
}
