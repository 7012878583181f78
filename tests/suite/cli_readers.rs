//! `tailfan agreement` and `tailfan cycle` as programs.

use serde_json::Value;
use std::path::Path;
use std::process::Command;
use std::process::Output;

fn tailfan(arguments: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_tailfan"));
    program.args(arguments).output().unwrap()
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let file = folder.join(name);
    std::fs::write(&file, text).unwrap();
    file.to_str().unwrap().to_owned()
}

fn calls(stages: &[&str]) -> String {
    let lines = stages.iter().enumerate().map(|(i, s)| format!("{i},{s}\n"));
    std::iter::once("animal,stage\n".to_owned())
        .chain(lines)
        .collect()
}

/// Two readers of 50 animals in the 2 x 2 table 20, 5 / 10, 15: kappa 0.4 (from memory, an often printed
/// example).
#[test]
fn two_readers_and_three() {
    let folder = tempfile::tempdir().unwrap();
    let cells = [
        ("C", "C", 20),
        ("C", "D0", 5),
        ("D0", "C", 10),
        ("D0", "D0", 15),
    ];
    let of = |first: bool| {
        let each = |&(a, b, n): &(&'static str, &'static str, usize)| {
            std::iter::repeat_n(if first { a } else { b }, n)
        };
        calls(&cells.iter().flat_map(each).collect::<Vec<_>>())
    };
    let one = write(folder.path(), "one.csv", &of(true));
    let two = write(
        folder.path(),
        "two.csv",
        &format!("{}99,unread\n", of(false)),
    );
    let done = tailfan(&["agreement", &one, &two, "--json"]);
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(
        (&found["animals"], &found["left_out"]),
        (&50.into(), &1.into())
    );
    let pair = &found["pairs"][0];
    assert_eq!(pair["exact"]["part"], 0.7);
    assert_eq!(pair["within_one_stage"]["part"], 1.0);
    assert!((pair["kappas"][0]["value"].as_f64().unwrap() - 0.4).abs() < 1e-12);
    let weightings: Vec<&str> = pair["kappas"]
        .as_array()
        .unwrap()
        .iter()
        .map(|k| k["weighting"].as_str().unwrap())
        .collect();
    assert_eq!(weightings, ["plain", "linear", "quadratic"]);
    assert_eq!(found["stages"].as_array().unwrap().len(), 8);
    assert_eq!(found["all"], Value::Null);
    let many = tailfan(&["agreement", &one, &two, &one, "--json"]);
    let many: Value = serde_json::from_slice(&many.stdout).unwrap();
    assert_eq!(many["pairs"].as_array().unwrap().len(), 3);
    let all = &many["all"];
    let [low, value, high] = ["low", "fleiss", "high"].map(|f| all[f].as_f64().unwrap());
    assert!(low < value && value < high);
    let page = tailfan(&["agreement", &one, &two, &one]);
    let page = String::from_utf8(page.stdout).unwrap();
    for word in [
        "plain:",
        "linear weights:",
        "quadratic weights:",
        "Fleiss' kappa",
    ] {
        assert!(page.contains(word), "no \"{word}\" in: {page}");
    }
    let other = write(folder.path(), "other.csv", "animal,stage\nx,C\n");
    let none = tailfan(&["agreement", &one, &other]);
    assert_eq!(none.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&none.stderr).contains("same names"));
    assert_eq!(tailfan(&["agreement", &one]).status.code(), Some(2));
}

/// 3.812 x 14^0.3913 days, a tenth of a Q10 of 1.844 faster at 28 °C (derived arithmetic).
#[test]
fn published_and_own_lengths() {
    let usual = ["--species", "vannamei", "--weight", "14", "--water", "28"];
    let with = |more: &[&str]| tailfan(&[&["cycle"], more].concat());
    let done = with(&[usual.as_slice(), &["--json"]].concat());
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert!((found["from_published"]["days"].as_f64().unwrap() - 10.07).abs() < 0.005);
    assert_eq!(found["own"], Value::Null);
    let cold = with(&["--species", "vannamei", "--weight", "14", "--water", "20"]);
    assert_eq!(cold.status.code(), Some(1));
    let folder = tempfile::tempdir().unwrap();
    // A made-up wave that goes round in about ten days, netted every second day.
    let wave = ["C", "D0", "D1", "D2", "D3", "B", "C"];
    let mut table = "netted,stage\n".to_owned();
    for (netting, stage) in wave.iter().enumerate() {
        for animal in 0..20 {
            let next = wave[(netting + usize::from(animal % 4 == 0)) % 7];
            let stage = if animal % 4 == 0 { next } else { stage };
            let line = format!("2026-11-{:02}T06:00,{stage}\n", 1 + 2 * netting);
            table.push_str(&line);
        }
    }
    let file = write(folder.path(), "log.csv", &table);
    let done = with(&["--samples", &file, "--zone", "Asia/Bangkok", "--json"]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(matches!(done.status.code(), Some(0 | 1)), "{said}");
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    let own = &found["own"];
    assert_eq!((&own["samples"], &own["animals"]), (&7.into(), &140.into()));
    assert_ne!(own["days"].is_null(), own["refused"].is_null(), "{own}");
    let offset = with(&["--samples", &file]);
    assert_eq!(offset.status.code(), Some(2));
    let said = String::from_utf8_lossy(&offset.stderr).into_owned();
    assert!(said.contains("log.csv, line 2"), "{said}");
    assert_eq!(with(&[]).status.code(), Some(2));
}
