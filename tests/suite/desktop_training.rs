//! Labels, training and models in the window, without a screen.

use crate::desktop::Bench;
use crate::desktop::tip;
use egui::Key;
use egui::Modifiers;
use std::fs;
use std::path::Path;
use tailfan::desktop::actions::Action;
use tailfan::desktop::actions::Place;
use tailfan::desktop::dialogs::Dialog;
use tailfan::moult::Stage;

/// What each action of the place does, in the order of the list.
pub(crate) fn try_action(bench: &mut Bench, action: Action) {
    match action {
        Action::LabelsOrReaders => {
            let before = bench.app().school().shown;
            bench.press(action);
            assert_ne!(bench.app().school().shown, before);
        }
        Action::LabelAnimal
        | Action::LabelSample
        | Action::ImportLabels
        | Action::NextLabel
        | Action::PreviousLabel
        | Action::WithdrawLabel => labels(bench, action),
        _ => trains(bench, action),
    }
}

/// Types a path into the dialog that asks for it.
fn answer_path(bench: &mut Bench, path: &Path) -> String {
    bench.step();
    assert!(matches!(bench.app().dialog(), Some(Dialog::Path { .. })));
    bench.type_text(&path.display().to_string());
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settled();
    bench.app().said().unwrap().words.clone()
}

fn labels(bench: &mut Bench, action: Action) {
    let chosen = |bench: &Bench| bench.app().school().chosen.clone();
    let count = |bench: &Bench| bench.app().school().sheet.labels.len();
    match action {
        Action::LabelAnimal => {
            bench.look_at(0);
            bench.press(Action::Call(Stage::C));
            bench.settled();
            bench.look_at(0);
            bench.press(action);
            bench.settled();
            bench.press(Action::Go(Place::Training));
            bench.settled();
            assert_eq!(count(bench), 1);
            assert_eq!(bench.app().school().sheet.labels[0].stage, Stage::C);
        }
        Action::LabelSample => {
            for (at, stage) in [Stage::C, Stage::D0, Stage::D1, Stage::D0, Stage::C]
                .into_iter()
                .enumerate()
            {
                bench.look_at(at);
                bench.press(Action::Call(stage));
                bench.settled();
            }
            bench.press(action);
            bench.settled();
            assert_eq!(count(bench), 5, "{:?}", bench.app().said());
        }
        Action::ImportLabels => {
            let folder = bench.folder.path().join("labelled");
            fs::create_dir_all(&folder).unwrap();
            fs::copy(tip(10), folder.join("one.jpg")).unwrap();
            let table = folder.join("labels.csv");
            let head = "photo,stage,animal,pond,reader,evidence";
            fs::write(&table, format!("{head}\none.jpg,D1,a,Pond 9,Two,seen\n")).unwrap();
            bench.press(action);
            let said = answer_path(bench, &table);
            assert!(said.contains("1 label with"), "{said}");
            assert_eq!(count(bench), 6);
        }
        Action::NextLabel => {
            bench.press(action);
            assert_eq!(
                chosen(bench),
                Some(bench.app().school().sheet.labels[0].id.clone())
            );
            bench.press(action);
            assert_eq!(
                chosen(bench),
                Some(bench.app().school().sheet.labels[1].id.clone())
            );
        }
        Action::PreviousLabel => {
            let before = chosen(bench);
            bench.press(action);
            assert_ne!(chosen(bench), before);
        }
        _ => {
            bench.press(Action::NextLabel);
            bench.press(action);
            bench.step();
            assert!(matches!(
                bench.app().dialog(),
                Some(Dialog::WithdrawLabel(_))
            ));
            bench.type_text("the wrong clip");
            bench.key(Modifiers::NONE, Key::Enter);
            bench.settled();
            assert_eq!(count(bench), 5);
            bench.press(Action::Undo);
            bench.settled();
            assert_eq!(count(bench), 6);
        }
    }
}

fn trains(bench: &mut Bench, action: Action) {
    let in_use = |bench: &Bench| bench.app().school().sheet.in_use.clone();
    let file = bench.folder.path().join("handed-on.json");
    match action {
        Action::Train => {
            bench.press(action);
            bench.until("a model is trained", |app| app.school().trained.is_some());
            bench.settled();
            let school = bench.app().school();
            let trained = school.trained.as_ref().unwrap();
            assert_eq!(trained.names[0], school.sheet.in_use);
            assert!(school.sheet.models.contains(&trained.names[1]));
            assert_eq!(trained.opinions.len(), 6);
            assert!(bench.sees("Not recommended"));
        }
        Action::LabelOrder => {
            let before = bench.app().school().order;
            bench.press(action);
            assert_ne!(bench.app().school().order, before);
            let school = bench.app().school();
            let beliefs: Vec<f64> = school
                .labels()
                .iter()
                .map(|line| school.opinion(&line.id).unwrap().of_label)
                .collect();
            assert!(
                beliefs.windows(2).all(|pair| pair[0] <= pair[1]),
                "{beliefs:?}"
            );
        }
        Action::Adopt => {
            let new = bench.app().school().trained.as_ref().unwrap().names[1].clone();
            bench.press(action);
            bench.settled();
            assert_eq!(in_use(bench), new);
        }
        Action::ReadSampleAgain => {
            let calls = bench.called();
            bench.press(action);
            bench.settled();
            let said = bench.app().said().unwrap().words.clone();
            assert!(said.contains("photos read again"), "{said}");
            assert_eq!(bench.called(), calls);
            let own = in_use(bench);
            let sample = bench.app().sample();
            let photos = sample.animals.iter().flat_map(|animal| &animal.photos);
            let models = photos.filter_map(|photo| photo.reading.as_ref()?.model.as_ref());
            assert!(models.clone().count() > 0);
            assert!(models.into_iter().all(|model| *model == own));
        }
        Action::GoBack => {
            let before = in_use(bench);
            bench.press(action);
            bench.settled();
            assert_ne!(in_use(bench), before);
        }
        Action::ExportModel => {
            bench.press(action);
            answer_path(bench, &file);
            assert!(file.is_file() && file.with_extension("md").is_file());
        }
        _ => {
            let models = bench.app().school().sheet.models.len();
            bench.press(action);
            let said = answer_path(bench, &file);
            assert!(said.contains("taken in"), "{said}");
            assert_eq!(bench.app().school().sheet.models.len(), models + 1);
        }
    }
}
