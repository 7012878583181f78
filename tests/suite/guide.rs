//! The guide against the program: its commands are there and run, its pictures are there.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn pages() -> Vec<(PathBuf, String)> {
    let mut found: Vec<PathBuf> = fs::read_dir(root().join("docs/guide"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "md"))
        .collect();
    found.sort();
    found
        .into_iter()
        .map(|path| (path.clone(), fs::read_to_string(path).unwrap()))
        .collect()
}

/// The commands in fenced blocks, those of blocks without a language being meant to be run as they
/// stand; on indented lines; and between backticks.
fn commands(text: &str) -> Vec<(bool, String)> {
    let mut found = Vec::new();
    let mut inside: Option<String> = None;
    for line in text.lines() {
        let command = line.trim_start();
        if let Some(language) = command.strip_prefix("```") {
            inside = match inside {
                Some(_) => None,
                None => Some(language.to_owned()),
            };
        } else if command.starts_with("tailfan ") {
            let as_is = inside.as_ref().is_some_and(String::is_empty);
            found.push((as_is, command.to_owned()));
        } else {
            let between = line.split('`').skip(1).step_by(2);
            let named = between.filter(|code| code.starts_with("tailfan "));
            found.extend(named.map(|code| (false, code.to_owned())));
        }
    }
    found
}

#[test]
fn commands_are_found_wherever_they_stand() {
    let text = "see `tailfan key --out k.pdf` and `calls.csv`\n\n    tailfan plan\n\n1. so:\n   ```sh\n   tailfan \
                train x\n   ```\n```\ntailfan tally c.csv\n```\n";
    let wanted = [
        (false, "tailfan key --out k.pdf"),
        (false, "tailfan plan"),
        (false, "tailfan train x"),
        (true, "tailfan tally c.csv"),
    ];
    let wanted = wanted.map(|(as_is, line)| (as_is, line.to_owned()));
    assert_eq!(commands(text), wanted);
}

/// Splits at blanks outside of double quotes.
fn words(line: &str) -> Vec<String> {
    line.split('"')
        .enumerate()
        .flat_map(|(i, part)| {
            if i % 2 == 1 {
                vec![part.to_owned()]
            } else {
                part.split_whitespace().map(str::to_owned).collect()
            }
        })
        .collect()
}

/// Every command and option that the guide names is one that the program has.
#[test]
fn the_guide_names_only_commands_and_options_that_there_are() {
    let mut seen = 0;
    for (page, text) in pages() {
        for (_, line) in commands(&text) {
            let words = words(&line);
            let mut path = vec![words[1].clone()];
            if ["label", "logbook", "model", "second"].contains(&words[1].as_str()) {
                path.push(words[2].clone());
            }
            let help = Command::new(env!("CARGO_BIN_EXE_tailfan"))
                .args(&path)
                .arg("--help")
                .output()
                .unwrap();
            assert!(help.status.success(), "{}: {line}", page.display());
            let help = String::from_utf8(help.stdout).unwrap();
            for option in words.iter().filter(|word| word.starts_with("--")) {
                assert!(help.contains(option.as_str()), "{}: {line}", page.display());
            }
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen}");
}

#[test]
fn every_picture_of_the_guide_is_there_and_shown() {
    let mut shown = BTreeSet::new();
    for (page, text) in pages() {
        for part in text.split("](").skip(1) {
            let target = part.split(')').next().unwrap();
            assert!(
                root().join("docs/guide").join(target).is_file(),
                "{}: {target}",
                page.display()
            );
            if let Some(picture) = target.strip_prefix("pictures/") {
                shown.insert(picture.to_owned());
            }
        }
    }
    for entry in fs::read_dir(root().join("docs/guide/pictures")).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        assert!(shown.contains(&name), "{name} is in no page");
    }
}

/// Following the first morning word for word leads from a folder of photos to the page.
#[test]
fn a_first_morning_leads_from_photos_to_the_page() {
    let here = tempfile::tempdir().unwrap();
    let folder = here.path().join("sample-images");
    fs::create_dir(&folder).unwrap();
    // Three of the photos, so that it is quick; all of the calls.
    for name in ["tip-02.jpg", "tip-13.jpg", "tip-16.jpg", "calls.csv"] {
        fs::copy(root().join("sample-images").join(name), folder.join(name)).unwrap();
    }
    let mut run = 0;
    for page in ["first-morning.md", "photos.md"] {
        let text = fs::read_to_string(root().join("docs/guide").join(page)).unwrap();
        for (_, line) in commands(&text).into_iter().filter(|(as_is, _)| *as_is) {
            let done = Command::new(env!("CARGO_BIN_EXE_tailfan"))
                .current_dir(here.path())
                .args(&words(&line)[1..])
                .output()
                .unwrap();
            let told = String::from_utf8_lossy(&done.stderr).into_owned();
            assert!(matches!(done.status.code(), Some(0 | 1)), "{line}\n{told}");
            assert!(!done.stdout.is_empty(), "{line}");
            run += 1;
        }
    }
    assert!(run >= 6);
    let page = fs::read(here.path().join("page.pdf")).unwrap();
    assert!(page.starts_with(b"%PDF-"));
    assert!(here.path().join("drawn/tip-02-strip.jpg").is_file());
}
