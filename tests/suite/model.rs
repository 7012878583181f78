//! The model file: round trip, what is refused, repeatable bytes, and proposals that sum to 1.

use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use serde_json::Value;
use serde_json::json;
use std::path::Path;
use tailfan::geometry::Point;
use tailfan::measure::MEASURES;
use tailfan::measure::Measured;
use tailfan::measure::Measurements;
use tailfan::measure::Seta;
use tailfan::moult::Stage;
use tailfan::stage::evaluation::Truth;
use tailfan::stage::fitting::Settings;
use tailfan::stage::model::Model;
use tailfan::stage::model::shipped;
use tailfan::stage::proposal::propose;
use tailfan::units::Pixels;
use tailfan::workflow::labelled::MeasuredSlide;
use tailfan::workflow::training::fit_measured;

/// A made-up tip: its gap grows with the stage, its pigment clears in A to C, new setae come in D1.
pub(crate) fn made_up(at: f64, dice: &mut ChaCha8Rng) -> Measurements {
    let mut noise = |width: f64| width * (dice.random::<f64>() - 0.5);
    let value = |name: &str, n: f64| match name {
        "gap_base_widths" => (at - 2.0).max(0.0) * 1.7 + n,
        "base_fill" | "lumen_fill" | "base_pigment" | "lumen_pigment" => (2.0 - at).max(0.0) + n,
        "base_line" => (at * 0.5).min(1.0) + n,
        "new_setae" | "scallop_base_widths" => ((at - 3.0) * 0.4).max(0.0) + n,
        _ => 0.3 + n,
    };
    let mut one = || -> [Option<f64>; MEASURES.len()] {
        std::array::from_fn(|i| Some(value(MEASURES[i], noise(0.3))))
    };
    let setae: Vec<Seta> = (0..8)
        .map(|i| Seta {
            base: Point::new(40.0 * f64::from(i), 100.0),
            edge: None,
            gap: Some(Pixels::new(10.0)),
            measures: one(),
        })
        .collect();
    let measures = std::array::from_fn(|i| {
        let values: Vec<f64> = setae.iter().filter_map(|s| s.measures[i]).collect();
        Measured::of(&values)
    });
    Measurements {
        setae,
        base_width: Pixels::new(15.0),
        spacing: Pixels::new(40.0),
        measures,
        shafts: None,
    }
}

fn slides() -> Vec<MeasuredSlide> {
    let mut dice = ChaCha8Rng::seed_from_u64(5);
    let mut slides = Vec::new();
    for condition in ["one", "two", "three", "four"] {
        for (at, stage) in Stage::PROPOSED.into_iter().enumerate() {
            for i in 0..6 {
                let measurements = made_up(at as f64, &mut dice);
                slides.push(MeasuredSlide {
                    truth: Truth::Stage { stage, clear: true },
                    condition: condition.to_owned(),
                    animal: format!("{condition} {stage} {i}"),
                    lengths: None,
                    outcome: Ok(measurements),
                });
            }
            if stage != Stage::D3 {
                slides.push(MeasuredSlide {
                    truth: Truth::Between { stage },
                    condition: condition.to_owned(),
                    animal: format!("{condition} after {stage}"),
                    lengths: None,
                    outcome: Ok(made_up(at as f64 + 0.5, &mut dice)),
                });
            }
        }
    }
    slides
}

fn settings(seed: u64) -> Settings {
    Settings {
        name: "made-up".to_owned(),
        penalty: 1.0,
        seed,
        command: "made up".to_owned(),
    }
}

fn trained() -> Model {
    fit_measured(&slides(), &settings(3)).unwrap().model
}

#[test]
fn the_same_slides_and_seed_give_the_same_bytes() {
    let text = trained().to_text().unwrap();
    assert_eq!(text, trained().to_text().unwrap());
    let other = fit_measured(&slides(), &settings(4)).unwrap().model;
    assert_ne!(text, other.to_text().unwrap());
}

#[test]
fn a_model_comes_back_from_its_file() {
    let model = trained();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("made-up.json");
    model.save(&file).unwrap();
    assert_eq!(Model::load(&file).unwrap(), model);
    assert!(model.id().starts_with("made-up-"));
}

/// Changes the file's JSON and asserts the error that reading it gives.
#[track_caller]
fn refused(change: impl FnOnce(&mut Value), wanted: &str) {
    let mut file: Value = serde_json::from_str(&trained().to_text().unwrap()).unwrap();
    change(&mut file);
    let error = Model::parse(file.to_string().as_bytes(), Path::new("m.json")).unwrap_err();
    let words = error.to_string();
    assert!(
        words.contains(wanted) && words.ends_with("m.json"),
        "{words}"
    );
}

#[test]
fn models_that_do_not_fit_are_refused_by_name() {
    refused(|m| m["format"] = json!(99), "format version is 99");
    refused(|m| m["measuring"] = json!(0), "measuring version is 0");
    refused(
        |m| m["features_version"] = json!(77),
        "features version is 77",
    );
    refused(
        |m| m["features"][1] = json!("colour_of_eyes"),
        "\"colour_of_eyes\"",
    );
    refused(|m| m["features"] = json!([]), "feature \"\"");
    refused(
        |m| m["core"]["logistic"]["sd"][0] = json!(0.0),
        "coefficients",
    );
    refused(
        |m| m["core"]["logistic"]["intercepts"] = json!([1.0]),
        "coefficients",
    );
    refused(
        |m| m["core"]["novelty"]["whitening"][3] = json!([]),
        "novelty",
    );
    refused(
        |m| m["core"]["witnesses"][0]["features"][0] = json!(4000),
        "criteria",
    );
    refused(
        |m| m["limits"]["calibration"]["temperature"] = json!(-1.0),
        "limits",
    );
    refused(|m| m["stages"][0] = json!("D4"), "list of stages");
    refused(
        |m| m["limits"]["sure"] = json!(0.123),
        "changed after it was trained",
    );
    refused(|m| m["limits"]["sure"] = Value::Null, "no model file");
    refused(|m| m["surprise"] = json!(1), "no model file");
    refused(|m| *m = json!([1, 2]), "no model file");
}

#[test]
fn numbers_beyond_all_bounds_and_large_files_are_refused() {
    let text = trained().to_text().unwrap();
    let first = text.find("\"temperature\": ").unwrap() + "\"temperature\": ".len();
    let end = first + text[first..].find(',').unwrap();
    let wild = format!("{}1e999{}", &text[..first], &text[end..]);
    let error = Model::parse(wild.as_bytes(), Path::new("m.json")).unwrap_err();
    assert!(error.to_string().contains("no model file"), "{error}");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("large.json");
    std::fs::write(&file, vec![b' '; 8 * 1024 * 1024 + 1]).unwrap();
    let error = Model::load(&file).unwrap_err();
    assert!(error.to_string().contains("are no model file"), "{error}");
}

#[test]
fn proposals_sum_to_one_and_say_why() {
    let model = trained();
    let mut dice = ChaCha8Rng::seed_from_u64(11);
    for (at, stage) in Stage::PROPOSED.into_iter().enumerate() {
        let tip = made_up(at as f64, &mut dice);
        let proposal = propose(&model, &tip);
        let sum: f64 = proposal.probabilities.values().sum();
        assert!((sum - 1.0).abs() < 1e-12, "{sum}");
        assert_eq!(proposal.probabilities.len(), Stage::PROPOSED.len());
        assert_eq!(proposal.proposal, Some(stage));
        let shares: f64 = proposal.seta_stages.values().sum();
        assert!((shares - 1.0).abs() < 1e-12, "{shares}");
        assert!((2..=3).contains(&proposal.because.len()));
        assert!(
            proposal
                .because
                .iter()
                .all(|r| MEASURES.contains(&r.measure))
        );
        assert!(
            proposal
                .because
                .windows(2)
                .all(|w| w[0].weight >= w[1].weight)
        );
    }
}

#[test]
fn what_was_never_seen_is_not_told() {
    let model = trained();
    let mut dice = ChaCha8Rng::seed_from_u64(12);
    let mut tip = made_up(4.0, &mut dice);
    for (name, measure) in MEASURES.iter().zip(&mut tip.measures) {
        if name.ends_with("hue") || name.ends_with("od") {
            *measure = Measured::of(&[2.0, -0.2, 1.5]);
        }
    }
    let proposal = propose(&model, &tip);
    assert!(proposal.novelty > 1.0 && proposal.second_reader);
    assert_eq!(proposal.proposal, None);
}

#[test]
fn the_shipped_model_fits_this_program() {
    let model = shipped().unwrap();
    assert_eq!(model.stages, Stage::PROPOSED);
    assert!(model.training.command.contains("--paint"));
}
