//! `tailfan plan` as a program.

use serde_json::Value;
use std::process::Command;
use std::process::Output;

fn run(arguments: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_tailfan"));
    program.arg("plan").args(arguments).output().unwrap()
}

#[test]
fn the_object_holds_every_limit_and_its_plans() {
    let done = run(&["--json"]);
    assert_eq!(done.status.code(), Some(0));
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(found["animals"], 30);
    let limits = found["limits"].as_array().unwrap();
    assert_eq!(limits.len(), 3);
    // ln(0.1) / ln(0.95) = 44.9 and ln(0.1) / ln(0.9) = 21.9 animals.
    let fewest: Vec<&Value> = limits.iter().map(|l| &l["fewest_to_clear"]).collect();
    assert_eq!(fewest[..2], [&Value::from(22), &Value::from(45)]);
    for limit in limits {
        let on_it = limit["chances"].as_array().unwrap();
        let on_it = on_it.iter().find(|c| c["share"] == limit["limit"]).unwrap();
        assert!(on_it["within"].as_f64().unwrap() <= 0.1);
        assert!(limit["sequential"]["steps"].as_array().unwrap().len() > 1);
        let curve = limit["curve"].as_array().unwrap();
        let within = |p: &Value| p["within"].as_f64().unwrap();
        assert_eq!(curve[0]["share"], 0.0);
        assert!(
            curve
                .windows(2)
                .all(|p| within(&p[1]) <= within(&p[0]) + 1e-12)
        );
        // A group that shuns the net makes a pond on its limit look better.
        let bias = limit["catch_bias"].as_array().unwrap();
        assert_eq!(bias[0]["shown"], limit["limit"]);
        assert!(within(&bias[2]) >= within(&bias[0]));
    }
    assert!(
        found["assumed"]
            .as_array()
            .unwrap()
            .iter()
            .any(|a| a["name"] == "animals")
    );
}

#[test]
fn the_page_says_what_so_few_cannot_show() {
    let done = run(&["--animals", "30"]);
    let page = String::from_utf8(done.stdout).unwrap();
    assert!(page.contains("It takes 45 animals with none in it to show this (more than planned)."));
    assert!(page.contains("6 from each of 5 points"));
    assert!(page.contains("30 animals can warn but never clear this pond"));
    assert!(!page.to_lowercase().contains("safe"), "{page}");
}

/// Two animals that tell as much as one: twice ln(0.1) / ln(0.95) = 44.9 animals show 5 % kept.
#[test]
fn a_design_effect_asks_for_more_animals() {
    let done = run(&["--design-effect", "2", "--animals", "90", "--json"]);
    assert_eq!(done.status.code(), Some(0));
    let found: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(found["design_effect"], 2.0);
    assert_eq!(found["fewest_for_all"], 90);
    assert_eq!(found["limits"][1]["single"]["within_up_to"], 0);
    let page = run(&["--design-effect", "2", "--animals", "90"]);
    let page = String::from_utf8(page.stdout).unwrap();
    assert!(
        page.contains("90 animals tell as much as 45 drawn one by one"),
        "{page}"
    );
}

#[test]
fn no_animals_and_limits_without_a_plan() {
    for wrong in ["0", "5000"] {
        let done = run(&["--animals", wrong]);
        assert_eq!(done.status.code(), Some(2));
        assert!(
            String::from_utf8(done.stderr)
                .unwrap()
                .contains("1 to 1000")
        );
    }
    for limit in ["0", "100"] {
        let done = run(&["--soft-limit", limit, "--json"]);
        assert_eq!(done.status.code(), Some(0), "{limit}");
        let found: Value = serde_json::from_slice(&done.stdout).unwrap();
        assert_eq!(found["limits"][0]["sequential"], Value::Null);
    }
}
