//! `tailfan forecast` as a program: the JSON object, refusals and misuse.

use serde_json::Value;
use std::process::Command;
use std::process::Output;

const CALLS: &str = "animal,stage\n1,C\n2,C\n3,D0\n4,D0\n5,D1\n6,D2\n7,B\n8,unread\n";
const USUAL: [&str; 8] = [
    "--species",
    "vannamei",
    "--weight",
    "14",
    "--water",
    "28",
    "--netted",
    "2026-11-26T06:00+07:00",
];

fn run(arguments: &[&str]) -> Output {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("calls.csv");
    std::fs::write(&file, CALLS).unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_tailfan"));
    program
        .arg("forecast")
        .arg(&file)
        .args(arguments)
        .output()
        .unwrap()
}

fn with(more: &[&str]) -> Output {
    run(&[USUAL.as_slice(), more].concat())
}

#[track_caller]
fn object(more: &[&str]) -> Value {
    let done = with(&[more, &["--json"]].concat());
    assert_eq!(
        done.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    serde_json::from_slice(&done.stdout).unwrap()
}

#[track_caller]
fn fields(value: &Value, wanted: &[&str]) {
    let object = value.as_object().unwrap();
    assert!(
        wanted.iter().all(|field| object.contains_key(*field)),
        "{object:?}"
    );
    assert_eq!(object.len(), wanted.len(), "{object:?}");
}

#[test]
fn the_object_has_the_fields_of_its_contract() {
    let drain = [
        "--drain-start",
        "2026-11-27T04:00+07:00",
        "--drain-hours",
        "24",
    ];
    let found = object(&drain);
    fields(
        &found,
        &[
            "cycle_days",
            "cycle_cv",
            "nights",
            "expected_span",
            "confident_span",
            "no_span_because",
            "harvest",
            "warnings",
            "assumed",
        ],
    );
    // 3.812 x 14^0.3913 days at 27 °C, a tenth of a Q10 of 1.844 faster at 28 °C.
    assert!((found["cycle_days"].as_f64().unwrap() - 10.07).abs() < 0.005);
    let night = &found["nights"][0];
    fields(
        night,
        &[
            "night",
            "morning",
            "soft",
            "moulting",
            "due",
            "pessimistic_soft",
            "moon_lit",
            "moon_waxing",
            "within_expected",
            "within_confident",
        ],
    );
    assert_eq!(
        (&night["night"], &night["morning"]),
        (&1.into(), &"2026-11-27".into())
    );
    for group in ["soft", "moulting", "due"] {
        fields(&night[group], &["expected", "low", "high"]);
        let [low, high] = ["low", "high"].map(|edge| night[group][edge].as_f64().unwrap());
        assert!(0.0 <= low && low < high && high <= 1.0);
    }
    fields(
        &found["harvest"],
        &[
            "start",
            "end",
            "verdict",
            "expires",
            "because",
            "worst_soft",
            "worst_pessimistic_soft",
        ],
    );
    assert_eq!(found["harvest"]["start"], "2026-11-27T04:00+07:00");
    assert_eq!(found["harvest"]["end"], "2026-11-28T04:00+07:00");
    assert_eq!(found["harvest"]["expires"], found["harvest"]["start"]);
    assert_eq!(found["harvest"]["verdict"], "too_few_animals");
    assert!(
        found["harvest"]["because"][0]
            .as_str()
            .unwrap()
            .contains("it takes 45")
    );
    assert_eq!(found["confident_span"], Value::Null);
    assert!(found["no_span_because"].as_str().unwrap().contains("45"));
    for item in found["assumed"].as_array().unwrap() {
        assert!(!item["source"].as_str().unwrap().is_empty());
    }
    assert_eq!(object(&[])["harvest"], Value::Null);
    assert_eq!(found, object(&drain));
}

#[test]
fn a_warm_week_runs_faster() {
    let soft = |water: &str| {
        let mut arguments = USUAL;
        arguments[5] = water;
        let done = run(&[arguments.as_slice(), &["--json"]].concat());
        let found: Value = serde_json::from_slice(&done.stdout).unwrap();
        found["nights"][3]["soft"]["expected"].as_f64().unwrap()
    };
    assert!(soft("28,31,31,31,31") > soft("28,28,28,28,28"));
    assert_eq!(soft("28"), soft("28,28"));
}

#[test]
fn where_the_science_gives_no_date_it_is_refused() {
    for (species, water) in [("vannamei", "23"), ("indicus", "28"), ("japonicus", "26")] {
        let done = run(&["--species", species, "--weight", "14", "--water", water]);
        assert_eq!(done.status.code(), Some(1), "{species} {water}");
        let said = String::from_utf8(done.stderr).unwrap();
        assert!(said.contains("cycle length of your own"), "{said}");
        assert!(done.stdout.is_empty());
    }
    let own = [
        "--species",
        "indicus",
        "--weight",
        "14",
        "--water",
        "28",
        "--cycle-days",
        "12",
    ];
    assert_eq!(run(&own).status.code(), Some(0));
}

#[test]
fn misuse_says_what_is_wrong() {
    for (more, word) in [
        (
            ["--drain-start", "2026-11-25T04:00+07:00"],
            "before the netting",
        ),
        (["--drain-hours", "-3"], "ends before it starts"),
        (["--drain-start", "2026-11-27"], "offset"),
        (["--cycle-cv", "3"], "0 to 0.4"),
        (["--q10", "7"], "1 (no effect) to 3"),
        (["--cycle-days", "0"], "2 to 150"),
    ] {
        let done = with(&more);
        let said = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(2), "{more:?}");
        assert!(said.contains(word), "no \"{word}\" in: {said}");
    }
    for (weight, water) in [("-1", "28"), ("14", "60"), ("14", "-2")] {
        let done = run(&[
            "--species",
            "vannamei",
            "--weight",
            weight,
            "--water",
            water,
        ]);
        assert_eq!(done.status.code(), Some(2), "{weight} g {water}");
    }
}

#[test]
fn the_page_ends_with_netting_again() {
    let done = with(&[]);
    let page = String::from_utf8(done.stdout).unwrap();
    assert!(
        page.trim_end()
            .ends_with("Net again the day before; this date only says when.")
    );
    assert!(!page.to_lowercase().contains("safe"), "{page}");
}

#[test]
fn the_value_of_waiting_needs_all_of_the_farms_numbers() {
    let all = [
        "--biomass",
        "4000",
        "--survival",
        "99.5",
        "--growth",
        "1.5",
        "--price",
        "6",
        "--soft-discount",
        "40",
        "--feed",
        "300",
        "--other",
        "100",
    ];
    let found = object(&all);
    let waiting = found["waiting"].as_array().unwrap();
    assert_eq!(waiting.len(), found["nights"].as_array().unwrap().len() + 1);
    assert_eq!(waiting[0]["gain"], 0.0);
    // At once: 4000 x 6 less two fifths of the soft share.
    let soft = 1.0 - waiting[0]["value"].as_f64().unwrap() / 24_000.0;
    assert!(soft > 0.0 && soft < 0.4, "{soft}");
    assert_eq!(with(&all[..4]).status.code(), Some(2));
    let mut wrong = all;
    wrong[3] = "150";
    assert_eq!(with(&wrong).status.code(), Some(2));
    assert!(object(&[]).get("waiting").is_none());
}

/// With a zone, moments need no offset, and the mornings keep their hour when the clocks change.
#[test]
fn a_zone_in_place_of_offsets() {
    let pond = [
        "--species",
        "vannamei",
        "--weight",
        "14",
        "--water",
        "28",
        "--zone",
        "Europe/Paris",
        "--netted",
        "2026-10-24T06:00",
        "--drain-start",
        "2026-10-25T04:00",
        "--json",
    ];
    let done = run(&pond);
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(found["zone"], "Europe/Paris");
    // Summer time ends on 2026-10-25 at 03:00.
    assert_eq!(found["harvest"]["start"], "2026-10-25T04:00+01:00");
    assert_eq!(found["harvest"]["end"], "2026-10-26T04:00+01:00");
    let asked = run(&pond[..6]);
    assert_eq!(asked.status.code(), Some(0));
    let wrong = with(&["--zone", "Europe/Pond"]);
    assert_eq!(wrong.status.code(), Some(2));
}

#[test]
fn own_numbers_replace_the_defaults_and_are_named() {
    let named = |found: &Value, name: &str| {
        let assumed = found["assumed"].as_array().unwrap().clone();
        assumed
            .into_iter()
            .find(|a| a["name"].as_str().unwrap().contains(name))
    };
    let plain = object(&[]);
    assert!(named(&plain, "hour of the moults").is_some());
    assert!(named(&plain, "range of the mean cycle").is_some());
    assert!(named(&plain, "soft is A, B, E").is_some());
    let own = object(&[
        "--moult-hour",
        "1",
        "--cycle-range",
        "5",
        "--water-range",
        "0.2",
        "--arcs",
        "1,1,2,1,2,1,1,1",
        "--rigid-after",
        "1.5",
    ]);
    assert!(named(&own, "hour of the moults").is_none());
    assert!(named(&own, "range of the mean cycle").is_none());
    assert!(named(&own, "soft is").is_none());
    let arc = named(&own, "share of the cycle in C").unwrap();
    assert_eq!(
        (&arc["value"], &arc["source"]),
        (&0.2.into(), &"the farm's own".into())
    );
    assert_ne!(own["nights"][2]["soft"], plain["nights"][2]["soft"]);
}

#[test]
fn known_errors_of_the_reader_widen_the_band() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("slides.csv");
    let mut table = "truth,call\n".to_owned();
    for _ in 0..30 {
        table.push_str("A,A\nB,B\nB,C\nC,C\nD0,D0\nD1,D1\nD2,D2\nD3,D3\n");
    }
    std::fs::write(&file, table).unwrap();
    let path = file.to_str().unwrap();
    let (plain, read) = (object(&[]), object(&["--reader-slides", path]));
    for night in 0..5 {
        let high = |found: &Value| found["nights"][night]["soft"]["high"].as_f64().unwrap();
        assert!(high(&read) >= high(&plain));
    }
    let soft = &read["reader"]["groups"]["soft"];
    assert!((soft["sensitivity"].as_f64().unwrap() - 2.0 / 3.0).abs() < 1e-12);
    assert_eq!(soft["specificity"], 1.0);
    assert!(soft["corrected"].as_f64().unwrap() > soft["observed"].as_f64().unwrap());
}
