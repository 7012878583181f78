//! Second readings in a logbook: what is drawn, what is taken in, what is settled, and what it says
//! of the readers.

use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::path::Path;
use std::path::PathBuf;
use std::time::Instant;
use tailfan::moult::Stage;
use tailfan::records::Reading;
use tailfan::records::decisions::Label;
use tailfan::records::ids::AnimalId;
use tailfan::records::ids::SampleId;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::records::rounds::BlindCall;
use tailfan::records::words::Chosen;
use tailfan::records::words::Evidence;
use tailfan::tally::Answer;
use tailfan::units::Probability;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::calls::NewCall;
use tailfan::workflow::logbook::photos::PhotoImport;
use tailfan::workflow::second::error::SecondError;
use tailfan::workflow::second::rounds::RoundPlan;
use tailfan::workflow::second::rounds::TakenCalls;
use tempfile::TempDir;

/// A logbook with one sample of animals, each with a photo, a reading and a first call.
pub(crate) struct Farm {
    pub(crate) session: Session,
    pub(crate) sample: SampleId,
    pub(crate) animals: Vec<AnimalId>,
    pub(crate) folder: TempDir,
}

/// What the program is made to propose for an animal.
#[derive(Clone, Copy)]
pub(crate) enum Proposed {
    Clear,
    Ambiguous,
    Far,
    NearSoft,
}

fn reading(stage: Stage, proposed: Proposed) -> Reading {
    let stage = stage.as_proposed().unwrap_or(Stage::D3);
    let mut probabilities: BTreeMap<Stage, f64> =
        Stage::PROPOSED.iter().map(|s| (*s, 0.0)).collect();
    match proposed {
        Proposed::NearSoft => {
            probabilities.insert(Stage::B, 0.3);
            probabilities.insert(Stage::C, 0.7);
        }
        _ => {
            probabilities.insert(stage, 1.0);
        }
    }
    Reading {
        usable: true,
        probabilities: Some(probabilities),
        proposal: Some(stage),
        novelty: Some(if matches!(proposed, Proposed::Far) {
            1.4
        } else {
            0.4
        }),
        second_reader: matches!(proposed, Proposed::Ambiguous),
        model: Some("test".to_owned()),
        ..Reading::refused("tip.jpg".to_owned(), Vec::new())
    }
}

/// Small photos that differ from each other.
fn photos(folder: &Path, count: usize) -> Vec<PathBuf> {
    use tailfan::micrograph::Picture;
    use tailfan::micrograph::encode::encode_jpeg;
    let tip = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/tip-03.jpg");
    let whole = tailfan::workflow::pictures::whole(&tip).unwrap();
    let (w, h) = whole.dimensions();
    let small = Picture::from_fn(320, 240, |x, y| *whole.get_pixel(x * w / 320, y * h / 240));
    (0..count)
        .map(|number| {
            let mut own = small.clone();
            // one block of the coder in a grey of its own
            for (x, y) in (0..8).flat_map(|x| (0..8).map(move |y| (x, y))) {
                own.get_pixel_mut(x, y).0 = [(2 * number) as u8; 3];
            }
            let file = folder.join(format!("secretname-{number:03}.jpg"));
            let coded = encode_jpeg(&own, 100).unwrap();
            // a comment, as cameras and programs write them
            let comment = b"secret comment of Ana";
            let mut bytes = coded[..2].to_vec();
            bytes.extend([0xFF, 0xFE, 0, comment.len() as u8 + 2]);
            bytes.extend(comment);
            bytes.extend(&coded[2..]);
            std::fs::write(&file, bytes).unwrap();
            file
        })
        .collect()
}

impl Farm {
    pub(crate) fn new(animals: &[(Stage, Proposed)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("farm.logbook");
        let mut session = Session::create(&file, "made-up farm", "Ana").unwrap();
        let pond = session.add_pond(&Pond::named("Heron 4")).unwrap();
        let sample = Sample::netted(pond, Session::now());
        let sample = session.new_sample(&sample).unwrap();
        let files = photos(folder.path(), animals.len());
        let came = session
            .import_photos(sample, &files, PhotoImport::COPIED)
            .unwrap();
        assert_eq!(came.came.len(), animals.len());
        let hand = session.sample_in_hand(sample).unwrap();
        let mut ids = Vec::new();
        for (of, (stage, proposed)) in hand.animals.iter().zip(animals) {
            let reading = reading(*stage, *proposed);
            let photo = of.photos[0].thing();
            let row = session.keep_reading(photo, &reading, None).unwrap();
            let call = NewCall::with_reading(*stage, row, reading.proposal);
            session.call(of.id(), call).unwrap();
            ids.push(of.id());
        }
        Self {
            session,
            sample,
            animals: ids,
            folder,
        }
    }

    pub(crate) fn plan(&self) -> RoundPlan {
        RoundPlan::of(self.sample, "Ben")
    }
}

pub(crate) fn says(number: u32, stage: Stage, seconds: i64) -> BlindCall {
    let called = format!(
        "2026-11-26T08:{:02}:{:02}+07:00",
        seconds / 60,
        seconds % 60
    );
    BlindCall {
        number,
        stage: Some(stage),
        unread_because: None,
        called: called.parse().unwrap(),
        note: None,
    }
}

const MIXED: [(Stage, Proposed); 12] = [
    (Stage::C, Proposed::Clear),
    (Stage::B, Proposed::Ambiguous),
    (Stage::D0, Proposed::Clear),
    (Stage::D1, Proposed::Far),
    (Stage::C, Proposed::Clear),
    (Stage::D0, Proposed::Clear),
    (Stage::D2, Proposed::Clear),
    (Stage::A, Proposed::Clear),
    (Stage::C, Proposed::Clear),
    (Stage::D0, Proposed::Clear),
    (Stage::D1, Proposed::Clear),
    (Stage::D0, Proposed::Clear),
];

#[test]
fn marked_slides_and_a_tenth_of_the_clear_go_to_the_second_reader() {
    let mut farm = Farm::new(&MIXED);
    farm.session
        .annotate_call(farm.animals[5], None, true)
        .unwrap();
    let round = farm.session.draw_round(&farm.plan()).unwrap();
    let of = |animal: usize| {
        let slide = round
            .slides
            .iter()
            .find(|s| s.animal == farm.animals[animal]);
        slide.map(|slide| slide.chosen)
    };
    assert_eq!(of(1), Some(Chosen::Ambiguous));
    assert_eq!(of(3), Some(Chosen::Far));
    assert_eq!(of(5), Some(Chosen::Asked));
    // three marked, nine clear, of which a tenth is one slide
    assert_eq!((round.marked, round.clear, round.slides.len()), (3, 9, 4));
    let numbers: Vec<u32> = round.slides.iter().map(|s| s.number).collect();
    assert_eq!(numbers, [1, 2, 3, 4]);
    assert_eq!(farm.session.draw_round(&farm.plan()).unwrap(), round);
    // the first reader gets none of them, nor does the second one twice
    let own = RoundPlan::of(farm.sample, " ANA ");
    let refused = farm.session.draw_round(&own).unwrap_err();
    assert!(
        matches!(
            refused,
            SecondError::NoSlides {
                called_by_them: 12,
                ..
            }
        ),
        "{refused}"
    );
    farm.session.begin_round(&farm.plan()).unwrap();
    let rest = farm.session.draw_round(&farm.plan()).unwrap();
    assert!(rest.slides.iter().all(|s| s.chosen == Chosen::Clear));
    assert_eq!((rest.marked, rest.clear), (0, 8));
    let nobody = RoundPlan::of(farm.sample, " ");
    assert!(matches!(
        farm.session.draw_round(&nobody),
        Err(SecondError::NoReader)
    ));
}

#[test]
fn slides_near_a_border_are_marked_when_they_could_turn_the_verdict() {
    let mut animals = vec![(Stage::D0, Proposed::Clear); 39];
    animals.extend([(Stage::C, Proposed::NearSoft); 6]);
    let farm = Farm::new(&animals);
    let round = farm.session.draw_round(&farm.plan()).unwrap();
    let border = round
        .slides
        .iter()
        .filter(|s| s.chosen == Chosen::SoftBorder);
    assert_eq!(
        (border.count(), round.marked, round.slides.len()),
        (6, 6, 10)
    );
}

#[test]
fn an_answer_comes_in_once_however_often_it_is_taken() {
    let mut farm = Farm::new(&MIXED);
    let id = farm.session.begin_round(&farm.plan()).unwrap();
    let round = farm.session.round_in_hand(id).unwrap().round.body;
    let calls: Vec<BlindCall> = round
        .slides
        .iter()
        .map(|slide| says(slide.number, Stage::C, i64::from(slide.number)))
        .collect();
    let taken = farm.session.take_second_calls(id, &calls).unwrap();
    assert_eq!(taken.new, calls.len());
    assert!(farm.session.round_in_hand(id).unwrap().is_done());
    let again = farm.session.take_second_calls(id, &calls).unwrap();
    let known = TakenCalls {
        known: calls.len(),
        ..TakenCalls::default()
    };
    assert_eq!(again, known);
    // a later change of mind replaces, an older answer that comes late does not
    let later = says(1, Stage::B, 300);
    let changed = farm.session.take_second_calls(id, &[later]).unwrap();
    assert_eq!(changed.changed, 1);
    assert_eq!(farm.session.take_second_calls(id, &calls).unwrap(), known);
    let animal = round.slides[0].animal;
    let kept = farm.session.second_calls_of(animal).unwrap();
    assert_eq!((kept.len(), kept[0].body.stage), (1, Some(Stage::B)));
    assert_eq!(
        kept[0].body.chosen.as_deref(),
        Some(round.slides[0].chosen.code())
    );
    // a number that is not there: nothing is written
    let wrong = [says(2, Stage::A, 400), says(99, Stage::A, 401)];
    let refused = farm.session.take_second_calls(id, &wrong).unwrap_err();
    assert!(refused.to_string().contains("no slide 99"), "{refused}");
    assert_eq!(farm.session.take_second_calls(id, &calls).unwrap(), known);
    // the tally rests on first calls until something is settled
    let tally = farm.session.tally(farm.sample).unwrap();
    assert_eq!(tally.counts[&Stage::A], 1);
    // and taken back in one step
    farm.session.undo().unwrap();
    farm.session.undo().unwrap();
    assert!(farm.session.second_calls_of(animal).unwrap().is_empty());
}

#[test]
fn disagreements_are_settled_with_their_reason_and_both_calls_stay() {
    let mut farm = Farm::new(&MIXED);
    let plan = RoundPlan {
        clear_share: Probability::clamped(1.0),
        ..farm.plan()
    };
    let id = farm.session.begin_round(&plan).unwrap();
    let round = farm.session.round_in_hand(id).unwrap().round.body;
    let number = |animal: usize| {
        let id = farm.animals[animal];
        round.slides.iter().find(|s| s.animal == id).unwrap().number
    };
    // B read as C: apart on soft; D2 as D1: apart on due; D0 as D1: neither; C alike
    let calls = [
        says(number(2), Stage::D1, 3),
        says(number(6), Stage::D1, 2),
        says(number(1), Stage::C, 1),
        says(number(0), Stage::C, 4),
    ];
    farm.session.take_second_calls(id, &calls).unwrap();
    let open = farm.session.disagreements().unwrap();
    let seen: Vec<(AnimalId, bool, bool)> = open
        .iter()
        .map(|of| (of.pair.animal, of.on_soft, of.on_due))
        .collect();
    let wanted = [
        (farm.animals[1], true, false),
        (farm.animals[6], false, true),
        (farm.animals[2], false, false),
    ];
    assert_eq!(seen, wanted);
    let pair = open[0].pair.clone();
    assert_eq!(
        (pair.first_reader.as_str(), pair.second_reader.as_str()),
        ("Ana", "Ben")
    );
    let nothing = farm.session.settle_second(&pair, Some(Stage::C), "  ");
    assert!(matches!(nothing, Err(SecondError::NoReason)));
    farm.session
        .settle_second(&pair, Some(Stage::C), "base clear, line crisp")
        .unwrap();
    assert_eq!(farm.session.disagreements().unwrap().len(), 2);
    let tally = farm.session.tally(farm.sample).unwrap();
    assert_eq!((tally.counts[&Stage::B], tally.counts[&Stage::C]), (0, 4));
    let settled = farm.session.settlements_of(farm.animals[1]).unwrap();
    assert_eq!(settled[0].body.because, "base clear, line crisp");
    let history = farm.session.history_of_call(farm.animals[1]).unwrap();
    assert_eq!(history[0].body.stage, Some(Stage::B));
    // a settled slide keeps the second call it was settled with
    let late = says(number(1), Stage::A, 500);
    assert_eq!(
        farm.session.take_second_calls(id, &[late]).unwrap().known,
        1
    );
    let pairs = farm.session.paired_calls().unwrap();
    let own = pairs.iter().find(|p| p.animal == farm.animals[1]).unwrap();
    assert_eq!((own.first, own.second), (Some(Stage::B), Some(Stage::C)));
    assert_eq!(
        (own.settled, own.truth()),
        (Some(Some(Stage::C)), Some(Stage::C))
    );
    // undone, it waits again
    farm.session.undo().unwrap();
    assert_eq!(farm.session.disagreements().unwrap().len(), 3);
}

/// Worked by hand: two marked slides and ten clear ones, of which four are drawn. The readers agree
/// on neither of the marked and on three of four clear, so on 3 of 6 as drawn, and on
/// (0 x 2 + 0.75 x 10) / 12 = 0.625 of the daily work.
#[test]
fn agreement_of_the_daily_work_weights_why_slides_were_drawn() {
    let mut farm = Farm::new(&MIXED);
    let plan = RoundPlan {
        clear_share: Probability::clamped(0.4),
        ..farm.plan()
    };
    let id = farm.session.begin_round(&plan).unwrap();
    let round = farm.session.round_in_hand(id).unwrap().round.body;
    assert_eq!((round.marked, round.clear, round.slides.len()), (2, 10, 6));
    let first: BTreeMap<AnimalId, Stage> = farm
        .animals
        .iter()
        .copied()
        .zip(MIXED.iter().map(|(stage, _)| *stage))
        .collect();
    let mut clear = 0;
    for slide in &round.slides {
        let own = first[&slide.animal];
        let other = if own == Stage::D0 {
            Stage::C
        } else {
            Stage::D0
        };
        let alike = slide.chosen == Chosen::Clear && {
            clear += 1;
            clear > 1
        };
        let call = says(
            slide.number,
            if alike { own } else { other },
            i64::from(slide.number),
        );
        farm.session.take_second_calls(id, &[call]).unwrap();
    }
    let pairs = farm.session.readers_agreement().unwrap();
    assert_eq!(pairs.len(), 1);
    let pair = &pairs[0];
    assert_eq!(pair.agreement.exact.part, 0.5);
    assert!((pair.alike_in_daily_work.unwrap() - 0.625).abs() < 1e-12);
    assert_eq!(pair.months.len(), 1);
    let month = &pair.months[0];
    assert_eq!(
        (month.month.as_str(), month.slides, month.alike),
        ("2026-11", 6, 3)
    );
    // the same table gives the kappas that the library gives for it (tests of agreement.rs)
    assert_eq!(pair.agreement.table.iter().flatten().sum::<u64>(), 6);
}

/// Slides of known truth: of 2 marked and 10 clear ones 2 and 4 are drawn. One marked slide is
/// settled against the first reader, the other stays open and is no truth; the clear ones agree.
/// Weights by hand: 2 / 1 and 10 / 4.
#[test]
fn only_settled_truth_feeds_the_reader_s_errors_weighted_by_why_it_was_chosen() {
    let mut farm = Farm::new(&MIXED);
    let plan = RoundPlan {
        clear_share: Probability::clamped(0.4),
        ..farm.plan()
    };
    let id = farm.session.begin_round(&plan).unwrap();
    let round = farm.session.round_in_hand(id).unwrap().round.body;
    let first: BTreeMap<AnimalId, Stage> = farm
        .animals
        .iter()
        .copied()
        .zip(MIXED.iter().map(|(stage, _)| *stage))
        .collect();
    let calls: Vec<BlindCall> = round
        .slides
        .iter()
        .map(|slide| {
            let stage = match slide.chosen {
                Chosen::Clear => first[&slide.animal],
                _ => Stage::C,
            };
            says(slide.number, stage, i64::from(slide.number))
        })
        .collect();
    farm.session.take_second_calls(id, &calls).unwrap();
    let open = farm.session.disagreements().unwrap();
    assert_eq!(open.len(), 2);
    let ana: BTreeSet<String> = ["Ana".to_owned()].into();
    let before = farm.session.known_truth(&ana).unwrap();
    assert_eq!((before.by_agreeing, before.by_settling), (4, 0));
    assert!(before.slides.iter().all(|s| s.truth == s.call));
    farm.session
        .settle_second(&open[0].pair, Some(Stage::C), "seen together")
        .unwrap();
    let known = farm.session.known_truth(&ana).unwrap();
    assert_eq!(
        (known.by_agreeing, known.by_settling, known.by_days),
        (4, 1, 0)
    );
    let wrong: Vec<_> = known.slides.iter().filter(|s| s.truth != s.call).collect();
    assert_eq!(wrong.len(), 1);
    assert_eq!(
        (wrong[0].truth, wrong[0].call, wrong[0].weight),
        (Stage::C, Stage::B, 2.0)
    );
    assert!(
        known
            .slides
            .iter()
            .filter(|s| s.truth == s.call)
            .all(|s| s.weight == 2.5)
    );
    // the second reader called it right, and that counts for him
    let ben = farm
        .session
        .known_truth(&["BEN".to_owned()].into())
        .unwrap();
    assert!(ben.slides.iter().all(|s| s.truth == s.call));
    assert_eq!(ben.slides.len(), 5);
    // known days outweigh what readers think: an animal on whose stage both agreed wrongly
    let agreed = round
        .slides
        .iter()
        .find(|s| s.chosen == Chosen::Clear)
        .unwrap();
    let label = Label {
        animal: agreed.animal,
        photo: None,
        stage: Stage::D3,
        evidence: Evidence::KnownDays,
        days_since_moult: Some(11.0),
        reader: "Ana".to_owned(),
        note: None,
    };
    farm.session.add_label(&label).unwrap();
    let known = farm.session.known_truth(&ana).unwrap();
    assert_eq!((known.by_days, known.by_agreeing), (1, 3));
    let of_days = known.slides.iter().find(|s| s.truth == Stage::D3).unwrap();
    assert_eq!((of_days.call, of_days.weight), (first[&agreed.animal], 1.0));
    // a handful of slides is not held against a tally
    let tally = farm.session.tally(farm.sample).unwrap();
    assert!(tally.reader.is_none());
}

/// Enough slides of known truth, with a reader who takes half of the soft for firm: a pond without
/// a soft animal is then no longer within, and never better than by the calls alone.
#[test]
fn known_errors_worsen_a_verdict_and_never_improve_it() {
    let mut animals = vec![(Stage::D0, Proposed::Clear); 46];
    animals[..14].fill((Stage::C, Proposed::Clear));
    animals[14..24].fill((Stage::D2, Proposed::Clear));
    let mut farm = Farm::new(&animals);
    let within = farm.session.tally(farm.sample).unwrap();
    assert_eq!(within.at_netting, Answer::WithinLimits);
    let plan = RoundPlan {
        clear_share: Probability::clamped(1.0),
        ..farm.plan()
    };
    // the past: another sample of the same reader, read twice
    let pond = farm.session.sample(farm.sample).unwrap().body.pond;
    let past = Sample::netted(pond, Session::now().later(-9.0).unwrap());
    let past = farm.session.new_sample(&past).unwrap();
    let files = photos(farm.folder.path(), 46 + 46).split_off(46);
    farm.session
        .import_photos(past, &files, PhotoImport::COPIED)
        .unwrap();
    let hand = farm.session.sample_in_hand(past).unwrap();
    for (of, (stage, _)) in hand.animals.iter().zip(&animals) {
        let photo = of.photos[0].thing();
        let read = reading(*stage, Proposed::Clear);
        let row = farm.session.keep_reading(photo, &read, None).unwrap();
        let call = NewCall::with_reading(*stage, row, read.proposal);
        farm.session.call(of.id(), call).unwrap();
    }
    let plan = RoundPlan {
        samples: vec![past],
        ..plan
    };
    let id = farm.session.begin_round(&plan).unwrap();
    let round = farm.session.round_in_hand(id).unwrap().round.body;
    let truly: BTreeMap<AnimalId, Stage> = hand
        .animals
        .iter()
        .zip(&animals)
        .enumerate()
        .map(|(at, (of, (stage, _)))| (of.id(), if at < 7 { Stage::B } else { *stage }))
        .collect();
    let calls: Vec<BlindCall> = round
        .slides
        .iter()
        .map(|s| says(s.number, truly[&s.animal], i64::from(s.number)))
        .collect();
    farm.session.take_second_calls(id, &calls).unwrap();
    for open in farm.session.disagreements().unwrap() {
        farm.session
            .settle_second(&open.pair, Some(Stage::B), "the second reader saw pigment")
            .unwrap();
    }
    let begun = Instant::now();
    let with = farm.session.tally(farm.sample).unwrap();
    println!(
        "a tally with the readers' errors: {:.0} ms",
        begun.elapsed().as_secs_f64() * 1e3
    );
    let reader = with.reader.as_ref().unwrap();
    assert_eq!(reader.slides, 46);
    assert_eq!(reader.groups["soft"].sensitivity, Some(0.0));
    assert!(reader.worsened && with.at_netting > within.at_netting);
    assert_eq!(reader.without, Answer::WithinLimits);
}
