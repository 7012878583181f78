//! Second readers and practice in the window, without a screen.

use crate::desktop::Bench;
use crate::second_reader::Farm;
use crate::second_reader::Proposed;
use egui::Key;
use egui::Modifiers;
use egui::accesskit::Role;
use egui_kittest::kittest::Queryable as _;
use std::fs;
use std::path::Path;
use tailfan::desktop::actions::Action;
use tailfan::desktop::actions::Place;
use tailfan::desktop::deeds::Deed;
use tailfan::desktop::dialogs::Dialog;
use tailfan::desktop::room::RoomOf;
use tailfan::moult::Stage;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::opening::Opening;
use tailfan::workflow::practice::score::Standard;

const ANIMALS: [(Stage, Proposed); 5] = [
    (Stage::C, Proposed::Ambiguous),
    (Stage::B, Proposed::Ambiguous),
    (Stage::D1, Proposed::Ambiguous),
    (Stage::D2, Proposed::Ambiguous),
    (Stage::D0, Proposed::Ambiguous),
];

/// What each action does where no slide is there to be read: it says so, or asks.
pub(crate) fn try_without_slides(bench: &mut Bench, action: Action) {
    bench.press(action);
    match action {
        Action::SecondSend => {
            assert!(matches!(bench.app().dialog(), Some(Dialog::Send { .. })));
            bench.close();
        }
        Action::Standard => sets_standard(bench),
        Action::SecondOpen | Action::SecondTake => {
            assert!(matches!(bench.app().dialog(), Some(Dialog::Path { .. })));
            bench.close();
        }
        Action::PractisePainted => {
            bench.until("painted slides are there", |app| app.room().is_some());
            bench.press(Action::BlindCall(Stage::C));
            bench.key(Modifiers::NONE, Key::Escape);
            bench.settled();
            let practised = bench.app().readers_desk().practised.as_ref().unwrap();
            assert_eq!(practised.score.slides, 1);
            bench.key(Modifiers::NONE, Key::Escape);
            bench.step();
            assert!(bench.app().readers_desk().practised.is_none());
        }
        Action::SecondHere | Action::Practise => {
            bench.settled();
            bench.step();
            assert!(bench.app().room().is_none());
            assert!(bench.app().said().unwrap().trouble);
        }
        Action::Settle => {
            let said = &bench.app().said().unwrap().words;
            assert!(said.contains("nothing waits"), "{said}");
        }
        Action::BlindCall(_) | Action::BlindUnread => {
            let said = &bench.app().said().unwrap().words;
            assert!(said.contains("no slide is being read"), "{said}");
        }
        _ => assert!(bench.app().room().is_none()),
    }
}

/// The form sets the standard that the next round is held against, and gives the usual one back.
fn sets_standard(bench: &mut Bench) {
    bench.step();
    let usual = bench.app().readers().standard;
    bench.harness.check_accessibility();
    bench.ask(Deed::Standard(Standard { slides: 7, ..usual }));
    bench.close();
    bench.settled();
    assert_eq!(bench.app().readers().standard.slides, 7);
    bench.press(Action::Go(Place::Training));
    bench.settled();
    assert!(bench.sees("The standard: 7 slides or more"));
    bench.press(Action::Standard);
    bench.step();
    bench.click(Role::Button, "The usual values");
    bench.step();
    bench.click(Role::Button, "Set this standard");
    bench.settled();
    assert!(bench.app().dialog().is_none());
    assert_eq!(bench.app().readers().standard, usual);
}

/// A window over a farm whose sample was called by Ana; the window's reader is Test.
fn bench(animals: &[(Stage, Proposed)]) -> Bench {
    let farm = Farm::new(animals);
    let file = farm.folder.path().join("farm.logbook");
    drop(farm.session);
    let opening = Opening {
        logbook: Some(file),
        ..Opening::default()
    };
    let mut bench = Bench::open(farm.folder, opening);
    bench.until("the sample is in hand", |app| !app.sample().id.is_empty());
    bench.press(Action::Go(Place::Training));
    bench.settled();
    bench
}

fn session(bench: &Bench) -> Session {
    Session::open(&bench.folder.path().join("farm.logbook"), "Looker").unwrap()
}

#[test]
fn a_second_reader_reads_blind_at_this_desk_and_what_differs_is_settled_side_by_side() {
    let mut bench = bench(&ANIMALS);
    bench.press(Action::SecondHere);
    bench.until("the slides are there", |app| app.room().is_some());
    bench.settled();
    assert_eq!(bench.app().room().unwrap().slides.len(), 5);
    // nothing of the first call, the proposal or the photo's name is to be seen
    for word in ["Ana", "secretname", "proposed", "Proposal"] {
        assert!(!bench.sees(word), "{word}");
    }
    bench.harness.check_accessibility();
    for at in 0..5 {
        assert_eq!(bench.app().room().unwrap().at, at);
        bench.press(Action::BlindCall(Stage::C));
        bench.settled();
    }
    assert!(bench.app().room().unwrap().is_done());
    // one can go back and call anew
    bench.press(Action::BlindBack);
    assert_eq!(bench.app().room().unwrap().at, 3);
    bench.press(Action::BlindOn);
    assert_eq!(bench.app().room().unwrap().at, 4);
    bench.key(Modifiers::NONE, Key::Escape);
    bench.settled();
    assert!(bench.app().room().is_none());
    let pairs = session(&bench).paired_calls().unwrap();
    assert_eq!(pairs.len(), 5);
    assert!(
        pairs
            .iter()
            .all(|pair| pair.second == Some(Stage::C) && pair.second_reader == "Test")
    );
    // four differ; the one on soft comes first
    assert_eq!(bench.app().readers().disagreements.len(), 4);
    bench.press(Action::Settle);
    bench.step();
    assert!(bench.sees("The readers differ on soft."));
    assert!(bench.sees("First call") && bench.sees("Second call"));
    bench.harness.check_accessibility();
    // without a reason nothing is settled
    bench.click(Role::Button, "B stands");
    bench.settled();
    assert_eq!(bench.app().readers().disagreements.len(), 4);
    bench
        .harness
        .get_by_role_and_label(Role::TextInput, "Why (kept with it)")
        .focus();
    bench.step();
    bench.type_text("pigment left in the base");
    bench.click(Role::Button, "B stands");
    bench.settled();
    assert_eq!(bench.app().readers().disagreements.len(), 3);
    let settled = session(&bench).paired_calls().unwrap();
    let settled: Vec<_> = settled.iter().filter_map(|pair| pair.settled).collect();
    assert_eq!(settled, [Some(Stage::B)]);
    bench.key(Modifiers::NONE, Key::Escape);
    bench.step();
    // the pair of readers stands there with its kappas and their weightings
    assert!(bench.sees("Ana (first) and Test (second)"));
    assert!(bench.sees("kappa, quadratic weights"));
    // two slides are known now: both Cs, and the settled one; none was practised on by another
    bench.press(Action::Undo);
    bench.settled();
    assert_eq!(bench.app().readers().disagreements.len(), 4);
}

#[test]
fn a_slide_called_by_mistake_is_taken_back_with_one_key() {
    let mut bench = bench(&ANIMALS);
    bench.press(Action::SecondHere);
    bench.until("the slides are there", |app| app.room().is_some());
    bench.settled();
    bench.press(Action::BlindUnread);
    bench.settled();
    assert_eq!(bench.app().room().unwrap().called.len(), 1);
    bench.press(Action::Undo);
    bench.settled();
    assert!(bench.app().room().unwrap().called.is_empty());
    // left and begun again, the round goes on
    bench.press(Action::BlindCall(Stage::D1));
    bench.settled();
    bench.key(Modifiers::NONE, Key::Escape);
    bench.step();
    bench.press(Action::SecondHere);
    bench.until("the slides are there again", |app| app.room().is_some());
    bench.settled();
    assert_eq!(bench.app().room().unwrap().called.len(), 1);
    assert_eq!(session(&bench).rounds().unwrap().len(), 1);
}

fn write_field(bench: &mut Bench, label: &str, text: &str) {
    bench
        .harness
        .get_by_role_and_label(Role::TextInput, label)
        .focus();
    bench.step();
    bench.type_text(text);
}

fn type_path(bench: &mut Bench, path: &Path) {
    bench.step();
    bench.type_text(&path.display().to_string());
    bench.key(Modifiers::NONE, Key::Enter);
}

#[test]
fn slides_are_sent_read_by_somebody_without_a_logbook_and_the_answer_is_taken_in() {
    let mut home = bench(&ANIMALS);
    let file = home.folder.path().join("to-ben.zip");
    home.press(Action::SecondSend);
    home.step();
    home.step();
    write_field(&mut home, "Who is to read", "Ben");
    write_field(
        &mut home,
        "File, such as to-ben.zip (a name alone goes beside the logbook)",
        &file.display().to_string(),
    );
    home.click(Role::Button, "Write the file");
    home.until("the file is written", |app| {
        app.said()
            .is_some_and(|said| said.words.contains("send this file"))
    });
    home.settled();
    assert_eq!(home.app().readers().rounds.len(), 1);
    // elsewhere: no logbook, the welcome offers it
    let mut away = Bench::open(tempfile::tempdir().unwrap(), Opening::default());
    away.settled();
    let sent = away.folder.path().join("slides.zip");
    fs::copy(&file, &sent).unwrap();
    let open = Deed::OpenSlides(sent.clone());
    away.close_welcome();
    away.ask(open);
    away.until("the slides are there", |app| app.room().is_some());
    away.settled();
    assert!(matches!(away.app().room().unwrap().of, RoomOf::File(_)));
    for _ in 0..5 {
        away.press(Action::BlindCall(Stage::D0));
        away.settled();
    }
    assert!(away.sees("Send this file back"));
    let answer = away.folder.path().join("slides-answer.jsonl");
    // back at home, taken in twice
    for said in ["5 second calls taken in", "0 second calls taken in"] {
        home.press(Action::SecondTake);
        type_path(&mut home, &answer);
        home.settled();
        let words = &home.app().said().unwrap().words;
        assert!(words.contains(said), "{words}");
    }
    assert_eq!(home.app().readers().rounds[0].called, 5);
    // a file that is none is refused with its reason
    home.press(Action::SecondTake);
    type_path(&mut home, &file);
    home.settled();
    let said = home.app().said().unwrap();
    assert!(
        said.trouble && said.words.contains("no answer"),
        "{}",
        said.words
    );
    home.press(Action::SecondOpen);
    type_path(&mut home, &answer);
    home.until("it is told", |app| {
        app.said()
            .is_some_and(|said| said.trouble && said.words.contains("no zip file"))
    });
}

#[test]
fn practice_shows_mistakes_with_the_stage_key_only_at_its_end() {
    let mut bench = bench(&[(Stage::C, Proposed::Ambiguous); 3]);
    bench.press(Action::SecondHere);
    bench.until("the slides are there", |app| app.room().is_some());
    for _ in 0..3 {
        bench.settled();
        bench.press(Action::BlindCall(Stage::C));
    }
    bench.settled();
    bench.key(Modifiers::NONE, Key::Escape);
    bench.settled();
    // three slides on which both agreed
    assert_eq!(bench.app().readers().settled, 3);
    bench.press(Action::Practise);
    bench.until("practice begins", |app| app.room().is_some());
    bench.settled();
    for word in ["Mistaken for", "It is", "pigment"] {
        assert!(!bench.sees(word), "a hint: {word}");
    }
    for stage in [Stage::C, Stage::D2] {
        bench.press(Action::BlindCall(stage));
        bench.step();
    }
    // there is no way back in practice
    bench.press(Action::BlindBack);
    assert_eq!(bench.app().room().unwrap().called.len(), 2);
    bench.press(Action::BlindCall(Stage::C));
    bench.settled();
    let practised = bench.app().readers_desk().practised.clone().unwrap();
    assert_eq!(practised.score.mistakes.len(), 1);
    assert!(practised.score.mistakes[0].due_error);
    assert!(practised.round.certificate.is_none());
    assert!(bench.sees("is C, called D2 (a due error)"));
    assert!(bench.sees("Bases:") && bench.sees("It was called"));
    bench.harness.check_accessibility();
    let history = session(&bench).practice_history("test").unwrap();
    assert_eq!(history.len(), 1);
    assert_eq!(history[0].score, practised.score);
    bench.key(Modifiers::NONE, Key::Escape);
    bench.settled();
    assert!(bench.sees("Test: 3 slides"));
}
