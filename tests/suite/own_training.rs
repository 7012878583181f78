//! Training on labelled slides: what it gains on another look, what it makes of wrong labels, of few
//! labels and of ponds.
//!
//! `tests/data/slides` holds what was measured in slides of two looks that an unrelated renderer
//! made (84 clear tips, 42 each), and in painted ones. With `TAILFAN_MEASURE_SLIDES` set they are
//! measured again: the former from `../shared/slides`, where that is.

#![expect(
    clippy::print_stdout,
    reason = "the figures are to be read, with --nocapture"
)]

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use tailfan::moult::Stage;
use tailfan::progress::Progress;
use tailfan::stage::comparison::Advice;
use tailfan::stage::comparison::Comparison;
use tailfan::stage::evaluation::Figures;
use tailfan::stage::evaluation::Truth;
use tailfan::stage::evaluation::figures;
use tailfan::stage::features;
use tailfan::stage::fitting::Row;
use tailfan::stage::fitting::Source;
use tailfan::stage::logistic::FitError;
use tailfan::stage::model::Model;
use tailfan::stage::model::shipped;
use tailfan::stage::own::OwnSettings;
use tailfan::stage::own::fit_own;
use tailfan::workflow::farm_training::DEFAULT_SHARE;
use tailfan::workflow::farm_training::FarmTraining;
use tailfan::workflow::farm_training::Wishes;
use tailfan::workflow::farm_training::compare_models;
use tailfan::workflow::farm_training::train_and_compare;
use tailfan::workflow::labelled::Slide;
use tailfan::workflow::labelled::collect_slides;
use tailfan::workflow::labelled::measure_slides;
use tailfan::workflow::labelled::painted_slides;
use tailfan::workflow::painted_rows::write_rows;
use tailfan::workflow::training::rows;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/slides")
}

/// The rows of a look, read from what was measured once.
fn look(name: &str) -> Vec<Row> {
    let text = fs::read_to_string(folder().join(format!("{name}.jsonl"))).unwrap();
    let mut lines = text.lines();
    let head: serde_json::Value = serde_json::from_str(lines.next().unwrap()).unwrap();
    let names: Vec<String> = serde_json::from_value(head["features"].clone()).unwrap();
    assert_eq!(
        names,
        features::names(),
        "the features have changed: measure the slides again with TAILFAN_MEASURE_SLIDES=1"
    );
    lines
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

fn measured(name: &str, slides: &[Slide], source: Source) {
    let measured = measure_slides(slides, &Progress::silent(), || {}).unwrap();
    let (mut rows, refused) = rows(&measured, source);
    println!("{name}: {} read, {} refused", rows.len(), refused.len());
    let rounded = |value: &mut f64| *value = (*value * 1e5).round() / 1e5;
    for row in &mut rows {
        row.features.iter_mut().for_each(rounded);
        if source == Source::Painted {
            // What the setae say by themselves is not needed of painted slides here.
            row.setae.clear();
            continue;
        }
        let file = Path::new(&row.animal).file_name().unwrap();
        row.animal = format!("{name} {}", file.to_string_lossy());
        row.setae.iter_mut().flatten().flatten().for_each(rounded);
    }
    write_rows(&folder().join(format!("{name}.jsonl")), &rows).unwrap();
}

#[test]
fn slides_are_measured_again_when_asked() {
    if std::env::var_os("TAILFAN_MEASURE_SLIDES").is_none() {
        println!("not asked");
        return;
    }
    let painted: Vec<Slide> = painted_slides(1, 7).into_iter().step_by(3).collect();
    measured("painted", &painted, Source::Painted);
    for name in ["bright", "warm"] {
        let shared = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/slides");
        measured(
            name,
            &collect_slides(&[shared.join(name)]).unwrap(),
            Source::Own,
        );
    }
}

fn wishes(painted: usize) -> Wishes {
    Wishes {
        name: "own".to_owned(),
        seed: 5,
        share: DEFAULT_SHARE,
        penalty: None,
        painted,
        command: "made for a test".to_owned(),
    }
}

fn trained(own: &[Row], painted: Vec<Row>) -> FarmTraining {
    let in_use = shipped().unwrap();
    train_and_compare(own, &[], painted, &in_use, &wishes(0), &Progress::silent()).unwrap()
}

fn print(name: &str, of: &Figures) {
    println!(
        "{name}: {} photos, exact {:.3}, within one {:.3}, soft errors {}, due errors {}, Brier {:.3}, calibration {:.3}",
        of.photos,
        of.exact.unwrap(),
        of.within_one.unwrap(),
        of.soft_errors,
        of.due_errors,
        of.brier.unwrap(),
        of.calibration_error.unwrap()
    );
}

/// The labels of a look, moved on by so many stages around the cycle.
fn mislabelled(rows: &[Row], by: usize) -> Vec<Row> {
    let wrong = |row: &Row| {
        let mut row = row.clone();
        if let Truth::Stage { stage, clear } = row.truth {
            let stage = Stage::PROPOSED[(stage.index() + by) % Stage::PROPOSED.len()];
            row.truth = Truth::Stage { stage, clear };
        }
        row
    };
    rows.iter().map(wrong).collect()
}

#[test]
fn labels_of_one_look_improve_another_or_leave_it() {
    let (bright, warm) = (look("bright"), look("warm"));
    let before = shipped().unwrap();
    let after = trained(&bright, look("painted")).fitted.model;
    let (comparison, _) = compare_models(&warm, &before, &after, 1);
    let (before, after) = (comparison.in_use.figures, comparison.new.figures);
    print("warm, shipped model", &before);
    print("warm, after training on bright", &after);
    // the shipped model reads all of them: one photo fewer is what so few can show
    let one_photo = 1.01 / before.photos as f64;
    assert!(after.exact.unwrap() >= before.exact.unwrap() - one_photo);
    assert!(after.within_one.unwrap() >= before.within_one.unwrap() - one_photo);
    assert!(after.soft_errors <= before.soft_errors);
    assert!(after.due_errors <= before.due_errors);
    assert!(after.brier.unwrap() <= before.brier.unwrap() + 0.015);
    assert_ne!(comparison.advice, Advice::Worse);
}

#[test]
fn wrong_labels_make_a_worse_model_that_is_not_recommended() {
    let (bright, warm) = (look("bright"), look("warm"));
    let in_use = shipped().unwrap();
    let wrong = trained(&mislabelled(&bright, 2), look("painted"))
        .fitted
        .model;
    let (comparison, seen) = compare_models(&warm, &in_use, &wrong, 1);
    print("warm, shipped model", &comparison.in_use.figures);
    print("warm, after wrong labels", &comparison.new.figures);
    println!("{:?} {:?}", comparison.mcnemar, comparison.brier_gain);
    assert_eq!(seen, 0);
    assert_eq!(comparison.advice, Advice::Worse);
    assert!(comparison.mcnemar.p < 0.05);
    assert!(comparison.brier_gain.unwrap().high < 0.0);
    // Labels that were drawn blindly show themselves within the training too.
    let blind: Vec<Row> = bright
        .iter()
        .enumerate()
        .flat_map(|(i, row)| mislabelled(std::slice::from_ref(row), i * 3 % 7))
        .collect();
    let advice = trained(&blind, Vec::new()).comparison.advice;
    assert_ne!(advice, Advice::Adopt);
}

#[test]
fn the_same_labels_and_seed_give_the_same_bytes() {
    let bright = look("bright");
    let text = |seed: u64| {
        let settings = OwnSettings {
            name: "own".to_owned(),
            seed,
            share: 1.0,
            penalty: None,
            command: String::new(),
        };
        let fitted = fit_own(&bright, &[], &settings, &Progress::silent()).unwrap();
        fitted.model.to_text().unwrap()
    };
    let one = text(3);
    assert_eq!(one, text(3));
    let model = Model::parse(one.as_bytes(), Path::new("own.json")).unwrap();
    let own = model.training.own.unwrap();
    assert_eq!(own.animals, own.seen.len());
    assert!(own.by_pond.is_none(), "one look is one pond");
    assert_eq!(model.training.left_out_by, "animal");
}

#[test]
fn whole_ponds_are_left_out_where_there_are_three() {
    let mut rows = look("bright");
    for (i, row) in rows.iter_mut().enumerate() {
        row.condition = format!("pond {}", i % 4);
    }
    let fitted = trained(&rows, Vec::new()).fitted;
    assert_eq!(fitted.model.training.left_out_by, "pond");
    let by_pond = fitted.by_pond.unwrap();
    assert_eq!(by_pond.judged.len(), fitted.own.len());
    assert_eq!(by_pond.penalties.len(), 4);
}

/// Photos of one animal that are copies of each other: if single photos were left out, each would be
/// known by heart although its label says nothing.
#[test]
fn an_animal_is_not_known_by_its_other_photos() {
    let bright = look("bright");
    let mut rows = Vec::new();
    for (i, row) in bright.iter().enumerate() {
        let blind = mislabelled(std::slice::from_ref(row), i * 3 % 7).remove(0);
        for _ in 0..4 {
            rows.push(blind.clone());
        }
    }
    let fitted = trained(&rows, Vec::new()).fitted;
    let exact = figures(&fitted.by_animal.judged).exact.unwrap();
    println!("exact with blind labels and four copies of each photo: {exact:.3}");
    assert!(exact < 0.45, "{exact}");
}

#[test]
fn stages_with_few_labels_are_told_and_painted_slides_stand_in() {
    let few: Vec<Row> = look("bright")
        .into_iter()
        .filter(|row| matches!(row.truth, Truth::Stage { stage, .. } if stage < Stage::D2))
        .collect();
    let alone = trained(&few, Vec::new()).fitted;
    assert_eq!(alone.model.stages, Stage::PROPOSED[..5]);
    let d3 = alone.gains.iter().find(|g| g.stage == Stage::D3).unwrap();
    assert_eq!((d3.animals, d3.if_doubled), (0, None));
    let words = tailfan::texts::training::most_helpful(&alone.gains);
    assert!(words.contains("D2"), "{words}");
    let beside = trained(&few, look("painted")).fitted;
    assert_eq!(beside.model.stages, Stage::PROPOSED);
    let card = tailfan::texts::model_card::card(&beside.model);
    assert!(card.contains("D3: 0 animals"), "{card}");
}

#[test]
fn too_little_and_a_stop_are_told() {
    let settings = OwnSettings {
        name: "own".to_owned(),
        seed: 1,
        share: 1.0,
        penalty: None,
        command: String::new(),
    };
    let bright = look("bright");
    let told =
        |rows: &[Row], progress: &Progress| fit_own(rows, &[], &settings, progress).unwrap_err();
    let silent = Progress::silent();
    assert!(matches!(
        told(&bright[..2], &silent),
        FitError::TooFewAnimals(2)
    ));
    let stopped = Progress::silent();
    stopped.stop();
    assert!(matches!(told(&bright, &stopped), FitError::Stopped(_)));
}

#[test]
fn few_animals_recommend_nothing_and_chance_is_no_gain() {
    let warm = look("warm");
    let model = shipped().unwrap();
    let compared = |rows: &[Row]| -> Comparison { compare_models(rows, &model, &model, 1).0 };
    assert_eq!(compared(&warm[..20]).advice, Advice::TooFewAnimals);
    let same = compared(&warm);
    assert_eq!(same.advice, Advice::NoMoreThanChance);
    let gain = same.brier_gain.unwrap();
    assert_eq!((gain.low, gain.value, gain.high), (0.0, 0.0, 0.0));
    let photos: usize = same.new.reliability.iter().map(|bin| bin.photos).sum();
    let staged = |row: &&Row| matches!(row.truth, Truth::Stage { .. });
    assert_eq!(photos, warm.iter().filter(staged).count());
}
