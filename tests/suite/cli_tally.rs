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
