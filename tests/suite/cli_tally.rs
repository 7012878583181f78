//! `tailfan tally` as a program: exit codes, messages and the JSON object.

use serde_json::Value;
use std::path::PathBuf;
use std::process::Command;
use std::process::Output;
use tempfile::TempDir;

fn run(content: impl AsRef<[u8]>, more: &[&str]) -> (Output, TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("calls.csv");
    std::fs::write(&file, content).unwrap();
    (tailfan(&file, more), folder)
}

fn tailfan(file: &PathBuf, more: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_tailfan"));
    program.arg("tally").arg(file).args(more).output().unwrap()
}

#[track_caller]
fn tallied(content: impl AsRef<[u8]>, more: &[&str]) -> Value {
    let arguments: Vec<&str> = more.iter().copied().chain(["--json"]).collect();
    let (done, _folder) = run(content, &arguments);
    assert_eq!(
        done.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    serde_json::from_slice(&done.stdout).unwrap()
}

/// Runs on a table that cannot be used and looks for what the message must name.
#[track_caller]
fn fails(content: impl AsRef<[u8]>, words: &[&str]) {
    let (done, _folder) = run(content, &[]);
    let said = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2), "{said}");
    assert!(done.stdout.is_empty());
    for word in words.iter().chain(&["calls.csv"]) {
        assert!(said.contains(word), "no \"{word}\" in: {said}");
    }
}

#[test]
fn the_object_has_the_fields_of_its_contract_in_order() {
    let calls = "animal,stage,shell\n1,A,soft\n2,C,firm\n3,D3,\n4,unread,\n";
    let (done, _folder) = run(calls, &["--json"]);
    let text = String::from_utf8(done.stdout).unwrap();
    let fields = [
        "animals",
        "called",
        "unread",
        "counts",
        "shares",
        "intervals",
        "soft",
        "moulting",
        "due",
        "soft_in_hand",
        "confidence",
        "on_the_count",
        "at_netting",
        "with_unread_as_soft",
        "decided_by",
        "synchrony",
        "assumed",
        "doubts",
        "design_effect",
        "stations",
        "throws",
        "even_soft",
        "health_flags",
        "netted",
        "expires",
        "expired",
    ];
    let object: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(object.as_object().unwrap().len(), fields.len());
    assert!(fields.iter().all(|field| object.get(field).is_some()));
    let limit = [
        "stages",
        "count",
        "of",
        "share",
        "low",
        "high",
        "limit",
        "on_the_count",
        "p_within",
        "p_over",
        "jeffreys_over",
        "tested",
        "leans",
        "more_animals",
    ];
    for group in ["soft", "moulting", "due"] {
        let group = object[group].as_object().unwrap();
        assert!(
            limit.iter().all(|field| group.contains_key(*field)),
            "{group:?}"
        );
        assert_eq!(group.len(), limit.len());
    }
    assert_eq!(object["soft_in_hand"]["of"], 2);
    assert_eq!(object["counts"].as_object().unwrap().len(), 9);
    assert!(
        text.find("\"A\"") < text.find("\"D4\""),
        "stages stand in cycle order"
    );
    for field in ["mean_phase", "resultant", "second_harmonic", "rayleigh_p"] {
        assert!(object["synchrony"].get(field).is_some());
    }
    for item in object["assumed"].as_array().unwrap() {
        assert!(!item["source"].as_str().unwrap().is_empty());
        assert!(item["value"].is_number() && item["unit"].is_string());
    }
    assert_eq!(text.lines().count(), 1);
}

/// The same table in the shapes that spreadsheets write.
#[test]
fn order_of_columns_quotes_and_line_ends_do_not_matter() {
    let plain = tallied("animal,stage\n1,A\n2,D2\n3,unread\n", &[]);
    let shapes = [
        "stage,animal\nA,1\nD2,2\nunread,3\n",
        "\u{feff}animal,stage\r\n1,A\r\n2,D2\r\n3,unread\r\n",
        "\"Animal\",\"Stage\"\n\"1\",\"a\"\n\"2\",\" d2 \"\n\"3\",\"Unread\"\n",
        "station,animal,note,stage\nnorth,1,,A\nnorth,2,\"torn, tip\",D2\nsouth,3,,unread\n",
        "animal;stage\n1;A\n2;D2\n3;unread\n\n",
    ];
    for shape in shapes {
        assert_eq!(tallied(shape, &[]), plain, "{shape}");
    }
}

#[test]
fn settings_are_taken_and_then_no_longer_assumed() {
    let calls = "animal,stage\n1,A\n2,B\n3,C\n4,D2\n";
    let found = tallied(
        calls,
        &[
            "--soft-limit",
            "30",
            "--moulting-limit",
            "8",
            "--due-limit",
            "20",
            "--confidence",
            "95",
            "--soft-stages",
            "A,E",
            "--intervals",
            "sison-glaz",
        ],
    );
    assert_eq!(found["soft"]["limit"], 0.3);
    assert_eq!(found["soft"]["count"], 1);
    assert_eq!(found["soft"]["stages"], serde_json::json!(["A", "E"]));
    assert_eq!(found["moulting"]["limit"], 0.08);
    assert_eq!(found["due"]["limit"], 0.2);
    assert_eq!(found["confidence"], 0.95);
    assert_eq!(found["intervals"], "sison-glaz 0.95");
    let assumed = found["assumed"].as_array().unwrap();
    assert!(
        !assumed
            .iter()
            .any(|a| a["name"].as_str().unwrap().contains("limit"))
    );
}

#[test]
fn faulty_tables_name_file_line_and_remedy() {
    fails(
        "animal,stage\n1,A\n2,D5\n",
        &["line 3", "\"D5\"", "use A, B, C", "unread"],
    );
    fails(
        "animal,phase\n1,A\n",
        &["line 1", "\"stage\"", "animal,stage"],
    );
    fails("stage\nA\n", &["line 1", "\"animal\""]);
    fails(
        "animal,stage\n7,A\n8,C\n\n7,D0\n",
        &["line 5", "line 2", "\"7\"", "delete one"],
    );
    fails("animal,stage\r\n7,A\r\n7,D0\r\n", &["line 3", "line 2"]);
    fails(
        "animal,stage,shell\n1,A,hard\n",
        &["line 2", "\"hard\"", "firm, soft or papery"],
    );
    fails("animal,stage\n1,\n", &["line 2", "\"1\"", "unread"]);
    fails("animal,stage\n,A\n", &["line 2", "no animal"]);
    fails("animal,stage\n1,A,C\n", &["line 2", "3 fields"]);
    fails("animal,stage,stage\n1,A,C\n", &["line 1", "twice"]);
    fails("", &["no animals", "animal,stage"]);
    fails("animal,stage\n", &["no animals", "line 2"]);
    fails(b"animal,stage\n1,A\n\xff\xfe,C\n", &["line 3", "UTF-8"]);
}

#[test]
fn a_missing_file_and_wrong_arguments_are_misuse() {
    let folder = tempfile::tempdir().unwrap();
    let done = tailfan(&folder.path().join("none.csv"), &[]);
    let said = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2));
    assert!(
        said.contains("none.csv") && said.contains("check its name"),
        "{said}"
    );
    for wrong in [
        ["--soft-limit", "110"],
        ["--confidence", "10"],
        ["--soft-stages", "A,F"],
    ] {
        let (done, _folder) = run("animal,stage\n1,A\n", &wrong);
        assert_eq!(done.status.code(), Some(2), "{wrong:?}");
        assert!(!done.stderr.is_empty());
    }
}

#[test]
fn the_page_says_what_was_netted_first() {
    let (done, _folder) = run("animal,stage\n1,A\n2,unread\n", &[]);
    assert_eq!(done.status.code(), Some(0));
    let page = String::from_utf8(done.stdout).unwrap();
    assert!(page.starts_with("2 netted, 1 called, 1 unread\n"), "{page}");
    let place = |word| {
        page.find(word)
            .unwrap_or_else(|| panic!("no \"{word}\" in: {page}"))
    };
    assert!(place("On the count:") < place("Tested at 90 % confidence:"));
}

#[test]
fn a_tally_expires_at_dusk() {
    let calls = "animal,stage\n1,C\n2,C\n";
    let found = tallied(calls, &["--netted", "2024-03-01T06:00+07:00"]);
    assert_eq!(found["expires"], "2024-03-01T18:00+07:00");
    assert_eq!(found["expired"], true);
    let zoned = tallied(
        calls,
        &[
            "--zone",
            "America/Guayaquil",
            "--netted",
            "2090-03-01T06:00",
        ],
    );
    assert_eq!(zoned["expires"], "2090-03-01T18:00-05:00");
    assert_eq!(zoned["expired"], false);
    assert_eq!(tallied(calls, &[])["expires"], Value::Null);
    let (done, _folder) = run(calls, &["--netted", "2024-03-01T06:00+07:00"]);
    let page = String::from_utf8(done.stdout).unwrap();
    assert!(
        page.contains("a night has passed; carry forward or net again"),
        "{page}"
    );
}

/// Stations and throws are compared, trays and shed shells raise doubts, and the page says so.
#[test]
fn what_is_known_of_the_netting_is_said() {
    let mut calls = "animal,stage,shell,station,throw\n".to_owned();
    for i in 0..60 {
        let (stage, station) = if i < 12 {
            ("D2", "inlet")
        } else {
            ("C", "bank")
        };
        let line = format!("{i},{stage},firm,{station},{}\n", i / 6);
        calls.push_str(&line);
    }
    let found = tallied(
        &calls,
        &["--feed-tray", "--shed-shells", "--design-effect", "1.5"],
    );
    assert_eq!(
        found["doubts"],
        serde_json::json!(["feed_tray", "soft_ones_missed"])
    );
    assert_eq!(
        found["stations"]["due"]["inlet"],
        serde_json::json!([12, 12])
    );
    assert!(found["stations"]["due_by_chance"].as_f64().unwrap() < 0.01);
    assert!(found["throws"]["design_effect_seen"].as_f64().unwrap() > 2.0);
    assert_eq!(found["design_effect"], 1.5);
    assert_ne!(found["at_netting"], "within_limits");
    let (done, _folder) = run(&calls, &["--feed-tray", "--shed-shells"]);
    let page = String::from_utf8(done.stdout).unwrap();
    for word in [
        "can warn but never clear",
        "the net missed the soft ones",
        "Due by station: bank 0 of 48, inlet 12 of 12",
        "give a design effect above 1",
        "Synchrony:",
    ] {
        assert!(page.contains(word), "no \"{word}\" in: {page}");
    }
}

#[test]
fn soft_as_days_and_known_errors_of_the_reader() {
    let calls = "animal,stage\n1,A\n2,B\n3,C\n4,C\n";
    let days = tallied(calls, &["--rigid-after", "2", "--cycle-days", "11"]);
    // (2/11 - 7.5/102) / (12.5/102) of B.
    let b = days["soft"]["parts"]["B"].as_f64().unwrap();
    assert!((b - 0.883_6).abs() < 1e-4, "{b}");
    assert!((days["soft"]["share"].as_f64().unwrap() - (1.0 + b) / 4.0).abs() < 1e-12);
    assert_eq!(days["soft"]["count"], 2);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("slides.csv");
    std::fs::write(&file, "truth,call,weight\nA,A,1\nA,C,3\nC,C,1\nC,C,1\n").unwrap();
    let read = tallied(calls, &["--reader-slides", file.to_str().unwrap()]);
    assert_eq!(read["reader"]["slides"], 4);
    assert_eq!(read["reader"]["groups"]["soft"]["sensitivity"], 0.25);
    let (done, _folder) = run(calls, &["--reader-slides", file.to_str().unwrap()]);
    let page = String::from_utf8(done.stdout).unwrap();
    assert!(
        page.contains("Reader's known errors, from 4 slides"),
        "{page}"
    );
}
