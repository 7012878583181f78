//! Bad input to the tally, the forecast and the plan: a clear answer or a clear error, never a panic.

use std::process::Command;
use std::process::Output;

const POND: [&str; 8] = [
    "--species",
    "vannamei",
    "--weight",
    "14",
    "--water",
    "28",
    "--netted",
    "2026-11-26T06:00+07:00",
];

fn run(command: &str, table: &str, more: &[&str]) -> Output {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("calls.csv");
    std::fs::write(&file, table).unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_tailfan"));
    program.arg(command).arg(&file).args(more).output().unwrap()
}

fn forecast(table: &str, more: &[&str]) -> Output {
    run("forecast", table, &[POND.as_slice(), more].concat())
}

/// Says what was wanted on standard error, and nothing on standard output.
#[track_caller]
fn refused(done: &Output, word: &str) {
    let said = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(2), "{said}");
    assert!(done.stdout.is_empty());
    assert!(said.contains(word), "no \"{word}\" in: {said}");
    assert!(!said.contains("panicked"), "{said}");
}

#[track_caller]
fn answered(done: &Output, word: &str) {
    let said = String::from_utf8_lossy(&done.stdout);
    let failed = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(0), "{failed}");
    assert!(said.contains(word), "no \"{word}\" in: {said}");
}

fn table(stage: &str, animals: usize) -> String {
    let lines = (1..=animals).map(|i| format!("{i},{stage}\n"));
    std::iter::once("animal,stage\n".to_owned())
        .chain(lines)
        .collect()
}

#[test]
fn no_animals_one_animal_and_very_many() {
    refused(&run("tally", "animal,stage\n", &[]), "no animals");
    refused(&forecast("animal,stage\n", &[]), "no animals");
    answered(
        &run("tally", &table("C", 1), &[]),
        "too few animals to tell",
    );
    answered(&forecast(&table("C", 1), &[]), "Net again the day before");
    let many = table("C", 100_000);
    answered(&run("tally", &many, &[]), "moult tally within limits");
    answered(&forecast(&many, &[]), "Confident span: open gates from");
}

#[test]
fn nothing_called_and_everything_shedding() {
    let unread = table("unread", 25);
    answered(
        &run("tally", &unread, &[]),
        "25 netted, 0 called, 25 unread",
    );
    answered(&run("tally", &unread, &[]), "too few animals to tell");
    refused(&forecast(&unread, &[]), "no animal was called");
    let shedding = table("E", 25);
    answered(&run("tally", &shedding, &[]), "moult tally over limits");
    let drain = ["--drain-start", "2026-11-26T07:00+07:00"];
    answered(&forecast(&shedding, &drain), "moult tally over limits");
}

#[test]
fn unknown_stages_and_animals_twice() {
    for command in ["tally", "forecast"] {
        let more: &[&str] = if command == "forecast" { &POND } else { &[] };
        refused(&run(command, "animal,stage\n1,D9\n", more), "line 2");
        refused(
            &run(command, "animal,stage\n1,C\n1,D0\n", more),
            "line 2 already",
        );
    }
}

#[test]
fn weights_temperatures_and_limits() {
    let calls = table("C", 30);
    for (at, value, word) in [
        (3, "-2", "no weight of a shrimp"),
        (3, "0", "no weight of a shrimp"),
        (3, "nan", "no weight of a shrimp"),
        (5, "99", "no water temperature"),
        (5, "-3", "no water temperature"),
    ] {
        let mut pond = POND;
        pond[at] = value;
        refused(&run("forecast", &calls, &pond), word);
    }
    for limit in ["0", "100"] {
        let limits = [
            "--soft-limit",
            limit,
            "--moulting-limit",
            limit,
            "--due-limit",
            limit,
        ];
        let word = if limit == "0" {
            "over limits"
        } else {
            "within limits"
        };
        answered(&run("tally", &calls, &limits), word);
        answered(&forecast(&calls, &limits), "span");
        let program = env!("CARGO_BIN_EXE_tailfan");
        let plan = Command::new(program)
            .arg("plan")
            .args(limits)
            .output()
            .unwrap();
        assert_eq!(plan.status.code(), Some(0));
    }
    refused(&run("tally", &calls, &["--soft-limit", "101"]), "0 to 100");
    refused(
        &run("tally", &calls, &["--confidence", "100"]),
        "less than 100",
    );
}

#[test]
fn drains_that_cannot_be() {
    let calls = table("C", 30);
    let start = "--drain-start";
    refused(
        &forecast(
            &calls,
            &[start, "2026-11-27T04:00+07:00", "--drain-hours", "-1"],
        ),
        "ends before it starts",
    );
    refused(
        &forecast(
            &calls,
            &[start, "2026-11-27T04:00+07:00", "--drain-hours", "0"],
        ),
        "ends before it starts",
    );
    refused(
        &forecast(&calls, &[start, "2026-11-25T04:00+07:00"]),
        "before the netting",
    );
    refused(&forecast(&calls, &[start, "27 November"]), "no moment");
}

#[test]
fn own_numbers_that_cannot_be() {
    let calls = table("C", 30);
    for (more, word) in [
        (["--zone", "Pond/North"], "no time zone"),
        (["--arcs", "1,2,3"], "eight numbers"),
        (["--arcs", "0,0,0,0,0,0,0,0"], "sum to 0"),
        (["--moult-hour", "12"], "not at night"),
        (["--cycle-range", "90"], "0 to 0.5"),
        (["--water-range", "-1"], "0 to 5"),
        (["--rigid-after", "0"], "less than half a cycle"),
        (["--rigid-after", "9"], "less than half a cycle"),
        (["--reader-slides", "none.csv"], "check its name"),
    ] {
        refused(&forecast(&calls, &more), word);
    }
    refused(
        &run("tally", &calls, &["--rigid-after", "2"]),
        "length of the cycle",
    );
}
