//! The program from outside: exit codes, standard output and standard error.

use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::process::Output;
use std::process::Stdio;

fn tailfan() -> Command {
    Command::new(env!("CARGO_BIN_EXE_tailfan"))
}

fn tests() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests")
}

#[track_caller]
fn check(command: &mut Command, code: i32) -> (String, String) {
    let Output {
        status,
        stdout,
        stderr,
    } = command.output().unwrap();
    let (out, err) = (
        String::from_utf8(stdout).unwrap(),
        String::from_utf8(stderr).unwrap(),
    );
    assert_eq!(status.code(), Some(code), "stdout: {out}\nstderr: {err}");
    (out, err)
}

#[test]
fn the_help_is_as_written_down() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!("help", tailfan::cli::help()));
}

#[test]
fn help_and_version_are_done_and_misuse_is_two() {
    let (out, err) = check(tailfan().arg("--help"), 0);
    assert!(out.contains("read") && err.is_empty());
    check(tailfan().arg("--version"), 0);
    for wrong in [
        &["unknown"][..],
        &["read"],
        &["read", "x.jpg", "--scale", "0"],
        &[],
    ] {
        let (out, err) = check(tailfan().args(wrong), 2);
        assert!(out.is_empty() && err.contains("error"), "{wrong:?}: {err}");
    }
}

#[test]
fn nothing_to_read_is_two_and_names_the_path() {
    let folder = tempfile::tempdir().unwrap();
    let (out, err) = check(tailfan().arg("read").arg(folder.path()), 2);
    assert!(out.is_empty());
    assert!(
        err.contains("no photo in the folder") && err.contains("hint: "),
        "{err}"
    );
    assert!(err.contains(&folder.path().display().to_string()));
    let (out, err) = check(tailfan().args(["read", "no/such/tip.jpg"]), 2);
    assert!(out.is_empty());
    assert!(
        err.contains("no such file or folder: no/such/tip.jpg"),
        "{err}"
    );
}

#[test]
fn broken_photos_are_lines_in_order_and_the_exit_is_one() {
    let (out, err) = check(
        tailfan()
            .current_dir(tests())
            .args(["read", "bad", "--jsonl"]),
        1,
    );
    assert_eq!(err, "");
    let lines: Vec<serde_json::Value> = out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let files: Vec<&str> = lines
        .iter()
        .map(|line| line["file"].as_str().unwrap())
        .collect();
    assert!(files.is_sorted() && files.len() > 15, "{files:?}");
    for line in &lines {
        assert_eq!(line["usable"], false);
        assert_eq!(line["scale_source"], "none");
        assert!(line["proposal"].is_null() && line["setae"].as_array().unwrap().is_empty());
        assert!(line.get("elapsed_ms").is_none());
    }
    let reason = |file: &str| {
        let at = files.iter().position(|name| *name == file).unwrap();
        lines[at]["refusals"][0]["reason"].clone()
    };
    assert_eq!(reason("bad/empty.jpg"), "cannot_decode");
    assert_eq!(reason("bad/claims-30000x30000.png"), "too_large");
    assert_eq!(reason("bad/one-pixel.png"), "too_small");
}

#[test]
fn people_get_a_row_for_each_photo_and_a_summary() {
    let (out, _) = check(
        tailfan()
            .current_dir(tests())
            .args(["read", "bad/empty.jpg", "bad/words.jpg"]),
        1,
    );
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines.len(), 3, "{out}");
    assert!(
        lines[0].starts_with("bad/empty.jpg  refused: the file is empty"),
        "{out}"
    );
    assert!(lines[1].contains("refused: not a picture"), "{out}");
    assert_eq!(lines[2], "2 photos: 0 read, 2 refused");
}

#[test]
fn a_ruling_gives_its_scale_and_another_picture_is_refused() {
    let ruling = tests().join("data/ruling/ruling_period23p7_512x96.png");
    let mut command = tailfan();
    command.arg("scale").arg(&ruling).args(["--division", "10"]);
    let (out, err) = check(&mut command, 0);
    assert!(out.starts_with("0.4219") && err.is_empty(), "{out}{err}");
    assert!(out.contains("--scale 0.4219"), "{out}");
    let (out, _) = check(command.arg("--json"), 0);
    let object: serde_json::Value = serde_json::from_str(&out).unwrap();
    let scale = object["um_per_px"].as_f64().unwrap();
    assert!((scale - 10.0 / 23.7).abs() < 2e-4, "{out}");
    assert!(object["error_um_per_px"].as_f64().unwrap() > 0.0);
    let other = tests().join("data/kinds/rgb8.png");
    let (out, err) = check(
        tailfan().arg("scale").arg(other).args(["--division", "10"]),
        1,
    );
    assert!(
        out.is_empty() && err.contains("refused") && err.contains("hint"),
        "{err}"
    );
    let missing = ["scale", "no/such.png", "--division", "10"];
    let (_, err) = check(tailfan().args(missing), 2);
    assert!(err.contains("no/such.png"), "{err}");
}

/// A reader that closes the pipe early, as `head` does, is no failure.
#[test]
fn a_closed_pipe_is_no_failure() {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let mut command = tailfan();
    command
        .current_dir(tests())
        .args(["read", "bad", "--jsonl"]);
    let child = command.stdout(writer).stderr(Stdio::piped()).spawn();
    let done = child.unwrap().wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(0));
    assert_eq!(String::from_utf8(done.stderr).unwrap(), "");
}

/// Runs as nobody, since root may read everything; skipped where that cannot be done.
#[cfg(unix)]
#[test]
fn what_may_not_be_read_is_said_so() {
    use std::os::unix::fs::MetadataExt as _;
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let mode = |path: &Path, bits| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(bits)).unwrap();
    };
    let photo = folder.path().join("tip.jpg");
    std::fs::copy(tests().join("data/kinds/grey8.jpg"), &photo).unwrap();
    let locked = folder.path().join("locked");
    std::fs::create_dir(&locked).unwrap();
    let program = folder.path().join("tailfan");
    std::fs::copy(env!("CARGO_BIN_EXE_tailfan"), &program).unwrap();
    let is_root = std::fs::metadata(&photo).unwrap().uid() == 0;
    let mut command = if is_root {
        let found = Command::new("setpriv").arg("--version").output();
        if found.is_err() {
            println!("skipped: runs as root and there is no setpriv");
            return;
        }
        let mut command = Command::new("setpriv");
        command
            .args(["--reuid=65534", "--regid=65534", "--clear-groups"])
            .arg(&program);
        command
    } else {
        Command::new(&program)
    };
    mode(folder.path(), 0o755);
    mode(&photo, 0o000);
    mode(&locked, 0o000);
    let (out, _) = check(command.arg("read").arg(&photo), 1);
    assert!(
        out.contains("cannot be read") && out.contains("the right to read it"),
        "{out}"
    );
    let (out, err) = check(command.arg(&locked), 2);
    assert!(
        out.is_empty() && err.contains("cannot look into"),
        "{out}{err}"
    );
    mode(&locked, 0o755);
}
