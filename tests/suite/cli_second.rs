//! `tailfan second` and `tailfan practice` as programs.

use crate::second_reader::Farm;
use crate::second_reader::Proposed;
use serde_json::Value;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::Command;
use std::process::Output;
use std::process::Stdio;
use tailfan::moult::Stage;
use tailfan::workflow::logbook::Session;

fn tailfan(folder: &Path, arguments: &[&str], input: &str) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_tailfan"))
        .args(arguments)
        .env("HOME", folder)
        .env("XDG_CACHE_HOME", folder.join("cache"))
        .env("XDG_CONFIG_HOME", folder.join("config"))
        .env("XDG_DATA_HOME", folder.join("data"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that ends early leaves the rest unread.
    program
        .stdin
        .take()
        .unwrap()
        .write_all(input.as_bytes())
        .ok();
    program.wait_with_output().unwrap()
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

const ANIMALS: [(Stage, Proposed); 8] = [
    (Stage::C, Proposed::Ambiguous),
    (Stage::B, Proposed::Ambiguous),
    (Stage::D1, Proposed::Ambiguous),
    (Stage::D0, Proposed::Ambiguous),
    (Stage::A, Proposed::Ambiguous),
    (Stage::D2, Proposed::Ambiguous),
    (Stage::D3, Proposed::Ambiguous),
    (Stage::C, Proposed::Clear),
];

#[test]
fn slides_go_out_in_a_file_and_the_answer_comes_back() {
    let farm = Farm::new(&ANIMALS);
    let (folder, sample) = (farm.folder, farm.sample.to_string());
    drop(farm.session);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (book, file) = (at("farm.logbook"), at("ben.zip"));
    let run = |arguments: &[&str], input: &str| tailfan(folder.path(), arguments, input);
    let send = [
        "second",
        "send",
        &sample,
        "--to",
        "Ben",
        "--out",
        &file,
        "--logbook",
        &book,
    ];
    let done = run(&send, "");
    assert_eq!(done.status.code(), Some(0), "{}", said(&done.stderr));
    assert_eq!(said(&done.stdout).trim(), file);
    assert!(said(&done.stderr).contains("8 slides for Ben: 7 marked, 1 clear"));
    // at the other farm
    let photos = at("photos");
    let read = ["second", "read", &file, "--photos", &photos];
    let done = run(&read, "1,C\n2,D1,new setae faint\nx,y\n3,unread\n");
    assert_eq!(done.status.code(), Some(1));
    assert_eq!(said(&done.stdout).lines().count(), 8);
    assert_eq!(fs::read_dir(&photos).unwrap().count(), 8);
    assert!(said(&done.stderr).contains("line 3"));
    assert!(said(&done.stderr).contains("3 of 8 slides called"));
    let rest = "4,C\n5,C\n6,C\n7,C\n8,C\n";
    assert_eq!(run(&["second", "read", &file], rest).status.code(), Some(0));
    // back at home, twice
    let answer = at("ben-answer.jsonl");
    let take = ["second", "take", &answer, "--logbook", &book];
    assert!(said(&run(&take, "").stdout).contains("8 second calls taken in"));
    let again = run(&take, "");
    assert!(said(&again.stdout).contains("0 second calls taken in, 0 replaced, 8 were there"));
    let listed = run(&["second", "settle", "--logbook", &book], "");
    let listed = said(&listed.stdout);
    assert!(listed.lines().count() >= 5, "{listed}");
    let first = listed.lines().next().unwrap();
    assert!(first.contains("apart on soft"), "{first}");
    let animal = first.split_whitespace().next().unwrap();
    let settle = ["second", "settle", animal, "B", "--logbook", &book];
    assert_eq!(run(&settle, "").status.code(), Some(2));
    let settle = [&settle[..], &["--because", "pigment in the base"]].concat();
    let done = run(&settle, "");
    assert_eq!(done.status.code(), Some(0), "{}", said(&done.stderr));
    assert!(said(&done.stdout).contains("B stands"));
    let left = said(&run(&["second", "settle", "--logbook", &book], "").stdout);
    assert_eq!(left.lines().count() + 1, listed.lines().count());
    let pairs = said(&run(&["agreement", "--logbook", &book], "").stdout);
    let month = Session::now().date();
    for word in [
        "Ana and Ben",
        "plain:",
        "quadratic weights:",
        &month[..7],
        "daily work",
    ] {
        assert!(pairs.contains(word), "no \"{word}\" in: {pairs}");
    }
    // what is no such file is refused with the reason, and exit 2
    let wrong = run(&["second", "take", &file, "--logbook", &book], "");
    assert_eq!(wrong.status.code(), Some(2));
    assert!(said(&wrong.stderr).contains("no answer of a second reader"));
}

#[test]
fn a_round_is_read_at_this_desk_and_practised_on_once_it_is_settled() {
    let farm = Farm::new(&ANIMALS);
    let (folder, sample) = (farm.folder, farm.sample.to_string());
    drop(farm.session);
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let book = at("farm.logbook");
    let run = |arguments: &[&str], input: &str| {
        tailfan(
            folder.path(),
            &[arguments, &["--logbook", &book]].concat(),
            input,
        )
    };
    // nothing is settled yet
    let none = run(&["practice", "--reader", "Cleo"], "");
    assert_eq!(none.status.code(), Some(2));
    assert!(
        said(&none.stderr).contains("painted"),
        "{}",
        said(&none.stderr)
    );
    let done = run(&["second", "send", &sample, "--to", "Ben"], "");
    let round = said(&done.stdout).trim().to_owned();
    let done = run(
        &["second", "read", &round[..20]],
        "1,C\n2,C\n3,C\n4,C\n5,C\n6,C\n7,C\n8,C\n",
    );
    assert!(
        said(&done.stderr).contains("8 of 8 slides called"),
        "{}",
        said(&done.stderr)
    );
    // the two Cs agreed, so they are known; Cleo has seen neither and calls one of them D2
    let out = at("practice");
    let practice = [
        "practice", "--reader", "Cleo", "--seed", "3", "--out", &out, "--json",
    ];
    let done = run(&practice, "D9\nC\nD2\n");
    assert_eq!(done.status.code(), Some(0), "{}", said(&done.stderr));
    assert!(said(&done.stderr).contains("\"D9\" is no stage"));
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(
        (&found["slides"], &found["kept"]),
        (&2.into(), &true.into())
    );
    assert_eq!(found["due_errors"]["part"], 0.5);
    assert_eq!(found["soft_errors"]["part"], 0.0);
    let mistake = &found["mistakes"][0];
    assert_eq!(
        (&mistake["truth"], &mistake["call"]),
        (&"C".into(), &"D2".into())
    );
    assert_eq!(found["certificate"], Value::Null);
    assert_eq!(fs::read_dir(&out).unwrap().count(), 2);
    let history = said(&run(&["practice", "--reader", "cleo", "--history"], "").stdout);
    assert_eq!(history.lines().count(), 1);
    assert!(history.contains("Cleo: 2 slides"), "{history}");
}

/// Painted slides are drawn by seed, so a second run with the truth of the first is without mistakes
/// and earns the line, which says that they were painted.
#[test]
fn a_new_farm_practises_on_painted_slides() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str], input: &str| tailfan(folder.path(), arguments, input);
    let practice = [
        "practice",
        "--reader",
        "Cleo",
        "--painted",
        "--seed",
        "8",
        "--slides",
        "21",
    ];
    let first = run(&practice, &"C\n".repeat(21));
    assert_eq!(first.status.code(), Some(0), "{}", said(&first.stderr));
    let page = said(&first.stdout);
    assert!(said(&first.stderr).contains("not kept"));
    for word in [
        "painted",
        "soft errors",
        "due errors",
        "called C",
        "The standard",
        "quadratic weights",
    ] {
        assert!(page.contains(word), "no \"{word}\" in: {page}");
    }
    // the stage key stands beside each mistake
    assert!(
        page.contains("Bases:") && page.contains("New setae:"),
        "{page}"
    );
    assert!(!page.contains("standard is reached"), "{page}");
    let mut truth = vec!["C"; 21];
    for line in page.lines().filter(|line| line.starts_with("slide ")) {
        let words: Vec<&str> = line.split([' ', ',']).collect();
        truth[words[1].parse::<usize>().unwrap() - 1] = Stage::ALL
            .iter()
            .find(|stage| stage.code() == words[3])
            .unwrap()
            .code();
    }
    // with a logbook it is kept
    let book = folder.path().join("new.logbook");
    let book = book.to_str().unwrap();
    let made = run(&["logbook", "new", book, "--farm", "made-up farm"], "");
    assert_eq!(made.status.code(), Some(0));
    let again = run(
        &[&practice[..], &["--logbook", book]].concat(),
        &(truth.join("\n") + "\n"),
    );
    let page = said(&again.stdout);
    assert!(page.contains("no mistakes"), "{page}");
    assert!(page.contains("standard is reached"), "{page}");
    assert!(
        page.contains("painted slides (they say nothing of real tips)"),
        "{page}"
    );
    let history = run(
        &[
            "practice",
            "--reader",
            "Cleo",
            "--history",
            "--logbook",
            book,
        ],
        "",
    );
    assert!(said(&history.stdout).contains("standard reached"));
}
