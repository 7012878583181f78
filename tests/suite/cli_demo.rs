//! `tailfan demo` and `tailfan read --overlay` as a program.

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

fn sample() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images")
}

/// The whole made-up morning's calls, and three of its photos so that it is quick.
#[test]
fn the_demo_is_done_and_its_last_words_are_the_tally() {
    let here = tempfile::tempdir().unwrap();
    let folder = here.path().join("sample-images");
    fs::create_dir(&folder).unwrap();
    fs::copy(sample().join("calls.csv"), folder.join("calls.csv")).unwrap();
    let list = fs::read_to_string(sample().join("sample.csv")).unwrap();
    let some: Vec<&str> = list.lines().take(4).collect();
    fs::write(folder.join("sample.csv"), some.join("\n")).unwrap();
    for name in ["tip-01.jpg", "tip-02.jpg"] {
        fs::copy(sample().join(name), folder.join(name)).unwrap();
    }
    // a photo that is refused is part of the demo
    fs::write(folder.join("tip-03.jpg"), "no picture").unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_tailfan"))
        .current_dir(here.path())
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .arg("demo")
        .output()
        .unwrap();
    let said = String::from_utf8(done.stdout).unwrap();
    let complaints = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(0), "{complaints}");
    let lines: Vec<&str> = said.lines().collect();
    assert!(lines[0].starts_with("S01  gate"), "{said}");
    assert!(lines[2].contains("refused: cannot be opened"), "{said}");
    assert_eq!(lines.last(), Some(&"26 netted, 25 called, 1 unread"));
    assert!(said.contains("made up") && said.contains("No real micrograph"));
    let out = here.path().join("tailfan-demo");
    let table = fs::read_to_string(out.join("results.csv")).unwrap();
    assert_eq!(table.lines().count(), 4);
    assert!(out.join("overlays/tip-01-overlay.jpg").is_file());
    assert!(out.join("overlays/tip-01-strip.jpg").is_file());
    assert!(!out.join("overlays/tip-03-overlay.jpg").exists());
}

#[test]
fn overlays_have_the_size_of_their_photos_and_a_bad_folder_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let photo = sample().join("tip-01.jpg");
    let read = |into: &Path| {
        Command::new(env!("CARGO_BIN_EXE_tailfan"))
            .arg("read")
            .arg(&photo)
            .arg("--overlay")
            .arg(into)
            .output()
            .unwrap()
    };
    let out = folder.path().join("new/overlays");
    let done = read(&out);
    let said = String::from_utf8(done.stdout).unwrap();
    assert_eq!(done.status.code(), Some(0), "{said}");
    assert!(
        said.trim_end().ends_with("painted pictures only."),
        "{said}"
    );
    let overlay = image::image_dimensions(out.join("tip-01-overlay.jpg")).unwrap();
    assert_eq!(overlay, image::image_dimensions(&photo).unwrap());
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    let done = read(&file.join("out"));
    let complaints = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2));
    assert!(
        complaints.contains("cannot be made") && complaints.contains("hint"),
        "{complaints}"
    );
}
