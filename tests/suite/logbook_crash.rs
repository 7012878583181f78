//! What was confirmed is never lost: the program killed at any instant, the disk full, a folder
//! that may not be written to, two programs at once.

use std::collections::BTreeSet;
use std::fs;
use std::io::BufRead as _;
use std::io::BufReader;
use std::io::Write as _;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;
use tailfan::logbook::LogbookError;
use tailfan::moult::Stage;
use tailfan::records::ids::RowId;
use tailfan::records::ids::SampleId;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::SessionError;
use tailfan::workflow::logbook::calls::CalledByName;
use tailfan::workflow::logbook::calls::NewCall;

/// A logbook with one sample of no animals.
fn logbook(folder: &Path) -> (PathBuf, SampleId) {
    let file = folder.join("farm.logbook");
    let mut session = Session::create(&file, "made-up farm", "Reader One").unwrap();
    let pond = session.add_pond(&Pond::named("Pond 4")).unwrap();
    let netted = "2026-11-26T06:00+07:00".parse().unwrap();
    let sample = session.new_sample(&Sample::netted(pond, netted)).unwrap();
    (file, sample)
}

fn tailfan(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tailfan"));
    // Nothing of the person who runs the tests is touched.
    command
        .env("HOME", folder)
        .env("XDG_CONFIG_HOME", folder.join("config"));
    command
}

fn call(folder: &Path, file: &Path) -> Command {
    let mut command = tailfan(folder);
    command.args([
        "call",
        "Pond 4@2026-11-26",
        "--reader",
        "Reader One",
        "--logbook",
    ]);
    command
        .arg(file)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped());
    command
}

/// Confirms calls as fast as it can until it is killed after `life`; gives the ids it printed.
fn killed_after(mut child: Child, life: Duration) -> Vec<RowId> {
    let mut input = child.stdin.take().unwrap();
    let writer = std::thread::Builder::new().spawn(move || {
        for line in 0_u64.. {
            let stage = Stage::ALL[(line % 9) as usize];
            // the pipe closes when the program is killed
            if writeln!(input, "{:02},{stage}", line % 40).is_err() {
                break;
            }
        }
    });
    let output = child.stdout.take().unwrap();
    let reader = std::thread::Builder::new().spawn(move || {
        let lines = BufReader::new(output).split(b'\n').map_while(Result::ok);
        // a line cut short was not acknowledged
        let whole = lines.filter_map(|line| String::from_utf8(line).ok()?.parse().ok());
        whole.collect::<Vec<RowId>>()
    });
    std::thread::sleep(life);
    child.kill().unwrap();
    child.wait().unwrap();
    writer.unwrap().join().unwrap();
    reader.unwrap().join().unwrap()
}

/// How long the program takes from its start to its first call, on this machine now: the longest of
/// three.
fn time_to_first_call(folder: &Path, file: &Path) -> Duration {
    let once = |_| {
        let begun = Instant::now();
        let mut child = call(folder, file).spawn().unwrap();
        child.stdin.take().unwrap().write_all(b"00,C\n").unwrap();
        let mut line = String::new();
        let output = child.stdout.take().unwrap();
        BufReader::new(output).read_line(&mut line).unwrap();
        let took = begun.elapsed();
        assert!(child.wait().unwrap().success());
        took
    };
    (0..3).map(once).max().unwrap()
}

/// 200 kills with SIGKILL, at instants spread evenly over the life of the program by a fixed rule;
/// every call that was acknowledged is there, and the file is whole.
#[test]
fn two_hundred_kills_lose_no_call_that_was_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let (file, sample) = logbook(folder.path());
    let mut acknowledged: Vec<RowId> = Vec::new();
    let mut silent = 0;
    let first = time_to_first_call(folder.path(), &file);
    for round in 0_u64..200 {
        // from nothing to three times what the first call takes, in steps of the golden section:
        // while it starts, writes, waits for the disk
        let part = (round as f64 * 0.618_033_988_75).fract();
        let life = first.mul_f64(3.0 * part);
        let child = call(folder.path(), &file)
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let ids = killed_after(child, life);
        silent += u64::from(ids.is_empty());
        acknowledged.extend(ids);
        let session = Session::open(&file, "Reader Two").unwrap();
        for id in acknowledged.iter().rev().take(200) {
            assert!(session.call_row(*id).is_ok(), "round {round}: {id} is lost");
        }
        let found = session.check().unwrap();
        assert!(found.file.is_well(), "round {round}: {:?}", found.file);
    }
    let session = Session::open(&file, "Reader Two").unwrap();
    for id in &acknowledged {
        assert!(session.call_row(*id).is_ok(), "{id} is lost");
    }
    let once: BTreeSet<_> = acknowledged.iter().collect();
    assert_eq!(once.len(), acknowledged.len());
    println!(
        "{} calls acknowledged in 200 rounds, {silent} killed before the first",
        acknowledged.len()
    );
    assert!(
        acknowledged.len() > 200 && silent < 170,
        "{} {silent}",
        acknowledged.len()
    );
    assert!(session.tally(sample).unwrap().animals <= 40);
    // nothing is left of the killed programs but what the next one sweeps away
    assert!(session.others().is_empty());
    let notes = fs::read_dir(folder.path()).unwrap().filter(|entry| {
        let name = entry.as_ref().unwrap().file_name();
        name.to_string_lossy().contains(".open-")
    });
    assert_eq!(notes.count(), 1);
}

fn line(animal: usize) -> CalledByName {
    CalledByName {
        animal: animal.to_string(),
        stage: Some(Stage::D1),
        shell: None,
        station: None,
    }
}

/// The disk full, as SQLite sees it: the file may not grow. The call that does not fit is refused
/// whole, those before it stay, and with room it goes on.
#[test]
fn a_full_disk_refuses_the_call_that_does_not_fit_and_loses_none() {
    let folder = tempfile::tempdir().unwrap();
    let (file, sample) = logbook(folder.path());
    let mut session = Session::open(&file, "Reader One").unwrap();
    session.limit_growth(12).unwrap();
    let mut confirmed = 0;
    let error = loop {
        match session.call_by_name(sample, &line(confirmed)) {
            Ok(_) => confirmed += 1,
            Err(error) => break error,
        }
        assert!(confirmed < 10_000);
    };
    let full = |error: &SessionError| {
        matches!(
            error,
            SessionError::Logbook {
                source: LogbookError::Full,
                ..
            }
        )
    };
    assert!(full(&error), "{error}");
    assert!(
        error.to_string().contains("make room and try again"),
        "{error}"
    );
    assert!(confirmed > 10);
    assert!(full(
        &session.call_by_name(sample, &line(confirmed)).unwrap_err()
    ));
    assert_eq!(session.tally(sample).unwrap().called, confirmed as u64);
    assert!(session.check().unwrap().file.is_well());
    drop(session);
    let mut session = Session::open(&file, "Reader One").unwrap();
    assert_eq!(session.tally(sample).unwrap().called, confirmed as u64);
    session.call_by_name(sample, &line(confirmed)).unwrap();
    assert_eq!(session.tally(sample).unwrap().called, confirmed as u64 + 1);
}

/// The disk full in earnest: a small file system in memory, where the system lets one be mounted.
/// Where it does not, this says so and the test above stands for it.
#[cfg(target_os = "linux")]
#[test]
fn a_full_file_system_loses_nothing_that_was_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let disk = folder.path().join("disk");
    fs::create_dir(&disk).unwrap();
    let mounted = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=1500k", "tmpfs"])
        .arg(&disk)
        .output();
    if !mounted.is_ok_and(|done| done.status.success()) {
        println!(
            "NOT TESTED: no small file system may be mounted here; see the test with a limit on pages"
        );
        return;
    }
    let (file, sample) = logbook(&disk);
    let lines: Vec<String> = (0..4000).map(|animal| format!("{animal},D0")).collect();
    let mut child = call(folder.path(), &file)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    let writer = std::thread::Builder::new()
        .spawn(move || drop(input.write_all(lines.join("\n").as_bytes())));
    let done = child.wait_with_output().unwrap();
    writer.unwrap().join().unwrap();
    let said = String::from_utf8(done.stderr).unwrap();
    let ids: Vec<RowId> = String::from_utf8(done.stdout)
        .unwrap()
        .lines()
        .map(|id| id.parse().unwrap())
        .collect();
    let checked = (|| {
        let session = Session::open(&file, "Reader Two").ok()?;
        let all = ids.iter().all(|id| session.call_row(*id).is_ok());
        Some((
            all,
            session.check().ok()?.file,
            session.tally(sample).ok()?.called,
        ))
    })();
    let off = Command::new("umount")
        .arg("-l")
        .arg(&disk)
        .status()
        .unwrap();
    assert!(off.success());
    assert_eq!(done.status.code(), Some(2), "{said}");
    assert!(
        said.contains("disk is full") || said.contains("safe"),
        "{said}"
    );
    let (all_there, found, called) = checked.unwrap();
    assert!(all_there && found.is_well(), "{found:?}");
    assert!(
        ids.len() > 20 && called >= ids.len() as u64,
        "{} {called}",
        ids.len()
    );
}

/// As another user, since root may write everywhere.
#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_to_is_said_so_and_nothing_is_changed() {
    use std::os::unix::fs::MetadataExt as _;
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let mode = |path: &Path, bits| {
        fs::set_permissions(path, fs::Permissions::from_mode(bits)).unwrap();
    };
    let theirs = folder.path().join("theirs");
    fs::create_dir(&theirs).unwrap();
    let (file, _) = logbook(&theirs);
    let program = folder.path().join("tailfan");
    fs::copy(env!("CARGO_BIN_EXE_tailfan"), &program).unwrap();
    mode(folder.path(), 0o755);
    mode(&theirs, 0o555);
    mode(&file, 0o444);
    let before = fs::read(&file).unwrap();
    let is_root = fs::metadata(&file).unwrap().uid() == 0;
    let mut command = if is_root {
        let found = Command::new("setpriv").arg("--version").output();
        assert!(
            found.is_ok(),
            "the tests run as root and there is no setpriv to run the program as another user"
        );
        let mut command = Command::new("setpriv");
        command
            .args(["--reuid=65534", "--regid=65534", "--clear-groups"])
            .arg(&program);
        command
    } else {
        Command::new(&program)
    };
    command
        .env("HOME", "/nonexistent")
        .env_remove("XDG_CONFIG_HOME")
        .args([
            "call",
            "Pond 4@2026-11-26",
            "--reader",
            "Reader One",
            "--logbook",
        ])
        .arg(&file)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    drop(child.stdin.take().unwrap().write_all(b"01,C\n"));
    let done = child.wait_with_output().unwrap();
    mode(&theirs, 0o755);
    let said = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2), "{said}");
    assert!(done.stdout.is_empty());
    assert!(said.contains("farm.logbook"), "{said}");
    assert!(
        said.contains("may not be written to") || said.contains("the right to read and write"),
        "{said}"
    );
    assert_eq!(fs::read(&file).unwrap(), before);
    let session = Session::open(&file, "Reader One").unwrap();
    assert!(session.check().unwrap().file.is_well());
}

/// Into a file that was deleted or replaced under the program nothing is confirmed; what is open can
/// still be saved.
#[test]
fn a_logbook_that_vanishes_under_the_program_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let (file, sample) = logbook(folder.path());
    let mut session = Session::open(&file, "Reader One").unwrap();
    session.call_by_name(sample, &line(1)).unwrap();
    let aside = folder.path().join("aside");
    fs::rename(&file, &aside).unwrap();
    let error = session
        .call_by_name(sample, &line(2))
        .unwrap_err()
        .to_string();
    assert!(error.contains("moved, deleted or replaced"), "{error}");
    fs::write(&file, "something else").unwrap();
    assert!(session.call_by_name(sample, &line(2)).is_err());
    assert_eq!(session.tally(sample).unwrap().called, 1);
    session.export(&folder.path().join("saved")).unwrap();
    fs::rename(&aside, &file).unwrap();
    session.call_by_name(sample, &line(2)).unwrap();
    drop(session);
    let session = Session::open(&file, "Reader One").unwrap();
    assert_eq!(session.tally(sample).unwrap().called, 2);
}

#[test]
fn two_programs_take_turns_and_a_busy_one_says_who_holds_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let (file, sample) = logbook(folder.path());
    let mut sessions: Vec<Session> = ["One", "Two"]
        .map(|reader| Session::open(&file, reader).unwrap())
        .into();
    std::thread::scope(|scope| {
        for (number, session) in sessions.iter_mut().enumerate() {
            let work = move || {
                for animal in 0..40 {
                    session
                        .call_by_name(sample, &line(number * 100 + animal))
                        .unwrap();
                }
            };
            std::thread::Builder::new()
                .spawn_scoped(scope, work)
                .unwrap();
        }
    });
    assert_eq!(sessions[0].tally(sample).unwrap().called, 80);
    assert!(sessions[0].others()[0].contains("Two"));
    // one that never lets go
    let holder = rusqlite::Connection::open(&file).unwrap();
    holder.execute_batch("BEGIN IMMEDIATE").unwrap();
    let mut other = Session::open(&file, "Three").unwrap();
    let animals = other.sample_in_hand(sample).unwrap().animals;
    let call = NewCall::by_eye(Stage::A);
    let error = other.call(animals[0].id(), call.clone()).unwrap_err();
    let said = error.to_string();
    assert!(said.contains("another program is writing"), "{said}");
    assert!(
        said.contains("Two") && said.contains("farm.logbook"),
        "{said}"
    );
    holder.execute_batch("ROLLBACK").unwrap();
    other.call(animals[0].id(), call).unwrap();
}

#[test]
fn lines_that_cannot_be_used_are_refused_one_by_one() {
    let folder = tempfile::tempdir().unwrap();
    let (file, sample) = logbook(folder.path());
    let mut child = call(folder.path(), &file)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let lines =
        b"animal,stage\n01,C\n\n02,D7\n03;D1;soft;gate\n04,unread\n\xff\xfe,C\n,C\n05,e\n01,D0\n";
    child.stdin.take().unwrap().write_all(lines).unwrap();
    let done = child.wait_with_output().unwrap();
    let (out, said) = (
        String::from_utf8(done.stdout).unwrap(),
        String::from_utf8(done.stderr).unwrap(),
    );
    assert_eq!(done.status.code(), Some(1), "{said}");
    assert_eq!(out.lines().count(), 5, "{out}");
    for words in [
        "line 4: \"D7\" is no stage",
        "line 7: not UTF-8",
        "line 8: no animal",
    ] {
        assert!(said.contains(words), "{said}");
    }
    let session = Session::open(&file, "Reader One").unwrap();
    let tally = session.tally(sample).unwrap();
    assert_eq!((tally.animals, tally.called, tally.unread), (4, 3, 1));
    assert_eq!((tally.counts[&Stage::D0], tally.counts[&Stage::E]), (1, 1));
    // without --logbook the one used last is taken
    let mut last = tailfan(folder.path());
    let done = last.args(["logbook", "info"]).output().unwrap();
    let out = String::from_utf8(done.stdout).unwrap();
    assert!(
        out.contains("made-up farm") && out.contains("animals"),
        "{out}"
    );
    let nobody = tempfile::tempdir().unwrap();
    let done = tailfan(nobody.path())
        .args(["logbook", "info"])
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2));
    let said = String::from_utf8(done.stderr).unwrap();
    assert!(said.contains("--logbook FILE"), "{said}");
}
