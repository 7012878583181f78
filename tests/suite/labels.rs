//! Labels, models and drift in the logbook.

use crate::model::made_up;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use tailfan::measure::Measurements;
use tailfan::moult::Stage;
use tailfan::progress::Progress;
use tailfan::records::Reading;
use tailfan::records::ids::AnimalId;
use tailfan::records::ids::SampleId;
use tailfan::records::measures::Measures;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::records::words::Evidence;
use tailfan::records::words::Keeping;
use tailfan::stage::model::shipped;
use tailfan::workflow::drift::drift;
use tailfan::workflow::farm_training::Wishes;
use tailfan::workflow::farm_training::opinions_of_labels;
use tailfan::workflow::farm_training::train_on_labels;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::calls::NewCall;
use tailfan::workflow::logbook::labels::Known;
use tailfan::workflow::logbook::labels::NoLabel;
use tailfan::workflow::logbook::photos::PhotoImport;
use tailfan::workflow::own_scores::own_scores;
use tailfan::workflow::painted_rows::PaintedStore;
use tailfan::workflow::reading::proposed_again;
use tailfan::workflow::reading_again::read_again;
use tempfile::TempDir;

/// A farm of three ponds with a sample each; every animal has a photo that was read and a call.
struct Farm {
    folder: TempDir,
    session: Session,
    samples: Vec<SampleId>,
    animals: Vec<AnimalId>,
}

fn usable(measurements: &Measurements) -> Reading {
    let bare = Reading {
        usable: true,
        ..Reading::refused("made up".to_owned(), Vec::new())
    };
    let model = shipped().unwrap();
    proposed_again(&bare, &Measures::of(measurements), &model).unwrap()
}

fn farm(per_stage: usize) -> Farm {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("farm.logbook");
    let mut session = Session::create(&file, "made-up farm", "One").unwrap();
    let mut dice = ChaCha8Rng::seed_from_u64(4);
    let (mut samples, mut animals) = (Vec::new(), Vec::new());
    for pond in ["North", "South", "West"] {
        let pond = session.add_pond(&Pond::named(pond)).unwrap();
        let sample = session
            .new_sample(&Sample::netted(pond, Session::now()))
            .unwrap();
        let stages = Stage::PROPOSED.into_iter().enumerate();
        let stages: Vec<(usize, Stage)> = stages
            .flat_map(|of| std::iter::repeat_n(of, per_stage))
            .collect();
        let files: Vec<PathBuf> = (0..stages.len())
            .map(|i| {
                let photo = folder.path().join(format!("{sample}-{i}.jpg"));
                fs::write(&photo, format!("photo {i} of {sample}")).unwrap();
                photo
            })
            .collect();
        let came = session
            .import_photos(sample, &files, PhotoImport::COPIED)
            .unwrap();
        for (photo, (at, stage)) in came.came.iter().zip(stages) {
            let measurements = made_up(at as f64, &mut dice);
            let reading = usable(&measurements);
            let measures = Measures::of(&measurements);
            let row = session
                .keep_measured(*photo, &reading, Some(&measures), None)
                .unwrap();
            let photos = session.photos_of(sample).unwrap();
            let own = photos.iter().find(|kept| kept.thing() == *photo).unwrap();
            let animal = own.body.animal.unwrap();
            let call = NewCall::with_reading(stage, row, reading.proposal);
            session.call(animal, call).unwrap();
            animals.push(animal);
        }
        samples.push(sample);
    }
    Farm {
        folder,
        session,
        samples,
        animals,
    }
}

fn wishes() -> Wishes {
    Wishes {
        name: "farm".to_owned(),
        seed: 2,
        share: 1.0,
        penalty: None,
        painted: 0,
        command: String::new(),
    }
}

#[test]
fn a_called_slide_becomes_a_label_and_is_withdrawn_with_the_reason() {
    let mut farm = farm(1);
    let session = &mut farm.session;
    let first = farm.animals[0];
    let (written, refused) = session.label_called(&[first], Known::OwnCall).unwrap();
    assert_eq!((written, refused.len()), (1, 0));
    // Labelled again on better evidence: one label, not two.
    let days = Known::DaysSinceMoult(0.5);
    session.label_called(&[first], days).unwrap();
    let labels = session.labels().unwrap();
    assert_eq!(labels.len(), 1);
    let body = &labels[0].body;
    assert_eq!((body.stage, body.evidence), (Stage::A, Evidence::KnownDays));
    assert_eq!(body.days_since_moult, Some(0.5));
    // Nothing was settled, and what is unread or E is no label.
    let (written, refused) = session.label_called(&[first], Known::Settled).unwrap();
    assert_eq!((written, refused[0].1), (0, NoLabel::NotSettled));
    session.call(first, NewCall::by_eye(Stage::E)).unwrap();
    let (_, refused) = session.label_called(&[first], Known::OwnCall).unwrap();
    assert_eq!(refused[0].1, NoLabel::Shedding);
    session
        .settle(farm.animals[1], Some(Stage::B), None, "seen together")
        .unwrap();
    let (written, _) = session
        .label_called(&[farm.animals[1]], Known::Settled)
        .unwrap();
    assert_eq!(written, 1);
    let id = labels[0].thing();
    session.withdraw_label(id, "the wrong clip").unwrap();
    assert_eq!(session.labels().unwrap().len(), 1);
    assert!(session.undo().unwrap().is_some());
    assert_eq!(session.labels().unwrap().len(), 2);
}

#[test]
fn what_was_measured_is_not_measured_again() {
    let mut farm = farm(2);
    for sample in farm.samples.clone() {
        farm.session.label_sample(sample, Known::OwnCall).unwrap();
    }
    fs::remove_dir_all(farm.session.photo_folder()).unwrap();
    let model = shipped().unwrap();
    let own = farm
        .session
        .own_slides(&model, &Progress::silent())
        .unwrap();
    assert_eq!(own.photos.len(), farm.animals.len());
    assert_eq!((own.measured_now, own.missing.len()), (0, 0));
    let ponds: std::collections::BTreeSet<&str> = own
        .photos
        .iter()
        .map(|p| p.row.condition.as_str())
        .collect();
    assert_eq!(ponds.len(), 3);
}

#[test]
fn a_model_is_trained_adopted_read_with_and_gone_back_from() {
    let mut farm = farm(3);
    let session = &mut farm.session;
    for sample in farm.samples.clone() {
        session.label_sample(sample, Known::OwnCall).unwrap();
    }
    let before: Vec<String> = all_calls(session, &farm.animals);
    let silent = Progress::silent();
    let store = PaintedStore::default();
    let (trained, own) = train_on_labels(session, &wishes(), &store, &silent, || {}).unwrap();
    assert_eq!(trained.fitted.model.training.left_out_by, "pond");
    assert_eq!(trained.comparison.photos, own.photos.len());
    assert_eq!(trained.seen_before, 0);
    let shipped_id = shipped().unwrap().id();
    assert_eq!(session.model_now().unwrap().id(), shipped_id);
    let kept = session.find_model("farm-").unwrap();
    assert!(
        kept.body
            .card
            .as_ref()
            .unwrap()
            .contains("# Model card: farm")
    );
    session
        .use_model(Some(kept.thing()), Some("better"))
        .unwrap();
    let own_id = trained.fitted.model.id();
    assert_eq!(session.model_now().unwrap().id(), own_id);
    let (written, _) = read_again(session, farm.samples[0], &silent).unwrap();
    assert_eq!(written, farm.animals.len() / 3);
    assert_eq!(read_again(session, farm.samples[0], &silent).unwrap().0, 0);
    assert_eq!(all_calls(session, &farm.animals), before);
    let photo = session.photos_of(farm.samples[0]).unwrap()[0].thing();
    let models: Vec<Option<String>> = session
        .readings_of(photo)
        .unwrap()
        .into_iter()
        .map(|kept| kept.body.model)
        .collect();
    assert_eq!(models, [Some(shipped_id.clone()), Some(own_id)]);
    // The animals it was trained on are no test of it.
    let again = train_on_labels(session, &wishes(), &store, &silent, || {})
        .unwrap()
        .0;
    assert_eq!(again.seen_before, farm.animals.len());
    assert_eq!(again.comparison.animals, 0);
    assert_eq!(session.go_back_to_model_before().unwrap(), None);
    assert_eq!(session.model_now().unwrap().id(), shipped_id);
    let file = farm.folder.path().join("handed on.json");
    let card = session.export_model(Some(kept.thing()), &file).unwrap();
    assert!(fs::read_to_string(card).unwrap().contains("## Limits"));
    assert_eq!(session.take_model(&file).unwrap(), kept.thing());
    let text = fs::read_to_string(&file)
        .unwrap()
        .replace("\"seed\": 2", "\"seed\": 3");
    fs::write(&file, text).unwrap();
    let told = session.take_model(&file).unwrap_err().to_string();
    assert!(told.contains("changed after it was trained"), "{told}");
}

fn all_calls(session: &Session, animals: &[AnimalId]) -> Vec<String> {
    animals
        .iter()
        .flat_map(|animal| session.history_of_call(*animal).unwrap())
        .map(|call| format!("{:?}", call.body))
        .collect()
}

#[test]
fn a_wrong_label_surprises_most() {
    let mut farm = farm(4);
    let session = &mut farm.session;
    let odd = farm.animals[2];
    assert_eq!(
        session.history_of_call(odd).unwrap()[0].body.stage,
        Some(Stage::A)
    );
    session.call(odd, NewCall::by_eye(Stage::D3)).unwrap();
    for sample in farm.samples.clone() {
        session.label_sample(sample, Known::OwnCall).unwrap();
    }
    let opinions = opinions_of_labels(session, &Progress::silent()).unwrap();
    assert_eq!(opinions.len(), farm.animals.len());
    let most = opinions
        .iter()
        .min_by(|a, b| a.1.of_label.total_cmp(&b.1.of_label));
    let (label, opinion) = most.unwrap();
    let labels = session.labels().unwrap();
    let of = labels.iter().find(|kept| kept.thing() == *label).unwrap();
    assert_eq!(of.body.animal, odd);
    assert_eq!(opinion.likeliest, Stage::A);
}

#[test]
fn a_table_of_labels_comes_in_once() {
    let mut farm = farm(1);
    let tips = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images");
    let folder = farm.folder.path().join("labelled");
    fs::create_dir(&folder).unwrap();
    for tip in ["tip-04.jpg", "tip-05.jpg"] {
        fs::copy(tips.join(tip), folder.join(tip)).unwrap();
    }
    let table = folder.join("labels.csv");
    let rows = "photo,stage,animal,pond,reader,evidence\ntip-04.jpg,C,a1,north,Two,watched\ntip-05.jpg,D0,a2,Heron 9,,\n";
    fs::write(&table, rows).unwrap();
    let session = &mut farm.session;
    let listed = session.latest_samples(50).unwrap().len();
    let taken = session.import_labels(&table, Keeping::Copied).unwrap();
    assert_eq!((taken.labels, taken.photos, taken.already), (2, 2, 0));
    let again = session.import_labels(&table, Keeping::Copied).unwrap();
    assert_eq!((again.labels, again.photos, again.already), (0, 0, 2));
    assert_eq!(session.latest_samples(50).unwrap().len(), listed);
    let slides = session.labelled_slides().unwrap();
    let ponds: Vec<&str> = slides.iter().map(|slide| slide.pond.as_str()).collect();
    // "north" is the pond North; Heron 9 was added.
    assert!(
        ponds.contains(&"North") && ponds.contains(&"Heron 9"),
        "{ponds:?}"
    );
    assert!(slides.iter().any(|slide| slide.label.body.reader == "Two"));
    let model = shipped().unwrap();
    let own = session.own_slides(&model, &Progress::silent()).unwrap();
    assert_eq!(own.measured_now, 2);
    let again = session.own_slides(&model, &Progress::silent()).unwrap();
    assert_eq!(
        (again.measured_now, again.photos.len()),
        (0, own.photos.len())
    );
    assert!(session.check().unwrap().file.is_well());
    fs::remove_file(folder.join("tip-05.jpg")).unwrap();
    assert!(session.import_labels(&table, Keeping::Copied).is_err());
}

#[test]
fn only_calls_before_the_proposal_tell_of_drift() {
    let mut farm = farm(1);
    let session = &mut farm.session;
    assert_eq!(drift(session, Session::now()).unwrap().recent.calls, 0);
    for (i, animal) in farm.animals.iter().enumerate() {
        let standing = session
            .history_of_call(*animal)
            .unwrap()
            .pop()
            .unwrap()
            .body;
        let call = NewCall {
            stage: if i == 0 {
                Some(Stage::D3)
            } else {
                standing.proposal
            },
            reading: standing.reading,
            proposal: standing.proposal,
            before_proposal: i % 5 == 0,
            ..NewCall::default()
        };
        session.call(*animal, call).unwrap();
    }
    let found = drift(session, Session::now()).unwrap();
    let blind = farm.animals.len().div_ceil(5) as u64;
    assert!(
        found.recent.calls <= blind && found.recent.calls > 0,
        "{found:?}"
    );
    assert!(found.recent.changed <= 1);
    let by_stage: u64 = found.by_stage.values().map(|of| of.calls).sum();
    assert_eq!(by_stage, found.recent.calls);
    assert_eq!(found.by_microscope[""].calls, found.recent.calls);
    let later = Session::now().later(200.0).unwrap();
    let found = drift(session, later).unwrap();
    assert_eq!(found.recent.calls, 0);
    assert!(found.earlier.calls > 0);
}

#[test]
fn a_hundred_own_slides_of_all_stages_take_the_place_of_the_sentence() {
    let mut farm = farm(5);
    let session = &mut farm.session;
    session
        .label_sample(farm.samples[0], Known::OwnCall)
        .unwrap();
    let few = own_scores(session).unwrap();
    assert_eq!((few.photos, few.enough), (35, false));
    for sample in &farm.samples[1..] {
        session.label_sample(*sample, Known::OwnCall).unwrap();
    }
    let all = own_scores(session).unwrap();
    assert_eq!((all.photos, all.enough), (105, true));
    // Those of one stage alone are not enough, however many.
    for label in session.labels().unwrap() {
        if label.body.stage == Stage::D2 {
            session
                .withdraw_label(label.thing(), "for the test")
                .unwrap();
        }
    }
    assert!(!own_scores(session).unwrap().enough);
}
