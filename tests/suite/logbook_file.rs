//! The file itself: its tables over time, files that are none, damage and what is saved from it.

use crate::logbook_merge::contents;
use rusqlite::Connection;
use std::fs;
use std::fs::OpenOptions;
use std::io::Seek as _;
use std::io::SeekFrom;
use std::io::Write as _;
use std::path::Path;
use std::process::Command;
use tailfan::logbook::schema::APPLICATION_ID;
use tailfan::logbook::schema::STEPS;
use tailfan::moult::Stage;
use tailfan::records::ids::SampleId;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::calls::NewCall;

/// The tables and indices of a file, in a form that does not hang on spaces.
fn schema(connection: &Connection) -> Vec<(String, String, String)> {
    let mut select = connection
        .prepare(
            "SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY type, name",
        )
        .unwrap();
    let rows = select.query_map([], |row| {
        let sql: String = row.get(2)?;
        let words: Vec<&str> = sql.split_whitespace().collect();
        Ok((row.get(0)?, row.get(1)?, words.join(" ")))
    });
    rows.unwrap().map(Result::unwrap).collect()
}

/// A file of an older program, from SQL frozen when that program was current.
fn frozen(file: &Path, version: &str) {
    let sql =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/data/logbook/{version}.sql"));
    let connection = Connection::open(file).unwrap();
    connection
        .execute_batch(&fs::read_to_string(sql).unwrap())
        .unwrap();
}

fn fresh(file: &Path) -> Session {
    Session::create(file, "made-up farm", "Reader One").unwrap()
}

#[test]
fn a_file_of_every_older_step_becomes_equal_to_a_fresh_one_and_keeps_its_data() {
    let folder = tempfile::tempdir().unwrap();
    drop(fresh(&folder.path().join("fresh.logbook")));
    let wanted = schema(&Connection::open(folder.path().join("fresh.logbook")).unwrap());
    assert!(wanted.len() > 40);
    for step in 1..=STEPS.len() {
        let file = folder.path().join(format!("v{step}.logbook"));
        frozen(&file, &format!("v{step}"));
        let session = Session::open(&file, "Reader Two").unwrap();
        let ponds = session.ponds().unwrap();
        assert_eq!(ponds[0].body.name, "Frozen pond");
        assert_eq!(ponds[0].body.area_m2, Some(4000.5));
        let listed = session.samples_of(ponds[0].thing()).unwrap();
        assert_eq!((listed[0].animals, listed[0].called), (2, 1));
        let tally = session.tally(listed[0].sample.thing()).unwrap();
        assert_eq!((tally.counts[&Stage::D1], tally.unread), (1, 1));
        // a step was taken behind a backup, and only then
        assert_eq!(session.backups().len(), usize::from(step < STEPS.len()));
        assert!(session.check().unwrap().file.is_well());
        drop(session);
        assert_eq!(schema(&Connection::open(&file).unwrap()), wanted, "v{step}");
    }
}

/// Raising the last step without freezing its file fails here.
#[test]
fn every_step_has_its_frozen_file_and_stays_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    for step in 1..=STEPS.len() {
        let file = folder.path().join(format!("v{step}.logbook"));
        frozen(&file, &format!("v{step}"));
        let connection = Connection::open(&file).unwrap();
        let version: i64 = connection
            .query_row("PRAGMA user_version", [], |row| row.get(0))
            .unwrap();
        let application: i64 = connection
            .query_row("PRAGMA application_id", [], |row| row.get(0))
            .unwrap();
        assert_eq!((version, application), (step as i64, APPLICATION_ID));
        let taken = Connection::open_in_memory().unwrap();
        for step in &STEPS[..step] {
            taken.execute_batch(step.sql).unwrap();
        }
        assert_eq!(
            schema(&taken),
            schema(&connection),
            "step {step} was changed"
        );
    }
}

#[test]
fn a_newer_file_and_one_of_another_program_are_refused_unchanged() {
    let folder = tempfile::tempdir().unwrap();
    let newer = folder.path().join("newer.logbook");
    drop(fresh(&newer));
    let connection = Connection::open(&newer).unwrap();
    connection
        .execute_batch("UPDATE logbook SET needs_program = '7.3.0'; PRAGMA user_version = 99;")
        .unwrap();
    drop(connection);
    let other = folder.path().join("other.sqlite");
    Connection::open(&other)
        .unwrap()
        .execute_batch("CREATE TABLE pond (id); INSERT INTO pond VALUES (1);")
        .unwrap();
    for (file, words) in [
        (&newer, "needs tailfan 7.3.0 or later"),
        (&other, "another program"),
    ] {
        let before = fs::read(file).unwrap();
        let said = Session::open(file, "Reader").err().unwrap().to_string();
        assert!(said.contains(words), "{said}");
        assert!(said.contains(file.to_str().unwrap()), "{said}");
        assert_eq!(fs::read(file).unwrap(), before);
    }
}

#[cfg(unix)]
#[test]
fn a_loop_of_links_is_an_error_of_the_system() {
    let folder = tempfile::tempdir().unwrap();
    let (one, two) = (folder.path().join("one"), folder.path().join("two"));
    std::os::unix::fs::symlink(&one, &two).unwrap();
    std::os::unix::fs::symlink(&two, &one).unwrap();
    assert!(Session::open(&one, "Reader").is_err());
    assert!(Session::create(&one, "farm", "Reader").is_err());
    assert!(Session::salvage(&one, &folder.path().join("new"), "Reader").is_err());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}

/// A logbook of some hundred pages: a sample with a called animal, and 3,000 more such calls.
fn large(file: &Path) -> SampleId {
    let mut session = fresh(file);
    let pond = session.add_pond(&Pond::named("Pond 4")).unwrap();
    let netted = "2026-11-26T06:00+07:00".parse().unwrap();
    let sample = session.new_sample(&Sample::netted(pond, netted)).unwrap();
    let animals = session.add_animals(sample, 40).unwrap();
    session
        .call(animals[0], NewCall::by_eye(Stage::D1))
        .unwrap();
    drop(session);
    let mut connection = Connection::open(file).unwrap();
    let all = connection.transaction().unwrap();
    let columns = "supersedes, withdrawn, origin, sequence, written_at_utc_ms, written_at_offset_min, \
         written_by, animal, stage, reader, called_utc_ms, called_offset_min, agreement, \
         before_proposal, second_wanted";
    let sql = format!(
        "INSERT INTO call (id, of, note, {columns}) SELECT ?1, ?1, ?2, {columns} FROM call WHERE rowid = 1"
    );
    for number in 0_u128..3000 {
        let id = (number + 1).to_be_bytes();
        let note = format!("{number} {}", "some room, ".repeat(20));
        assert_eq!(all.execute(&sql, rusqlite::params![id, note]).unwrap(), 1);
    }
    all.commit().unwrap();
    sample
}

fn check(folder: &Path, file: &Path) -> (Option<i32>, String) {
    let done = Command::new(env!("CARGO_BIN_EXE_tailfan"))
        .env("HOME", folder)
        .env("XDG_CONFIG_HOME", folder.join("config"))
        .args(["logbook", "check", "--logbook"])
        .arg(file)
        .output()
        .unwrap();
    let said = String::from_utf8(done.stdout).unwrap() + &String::from_utf8(done.stderr).unwrap();
    (done.status.code(), said)
}

#[test]
fn a_damaged_file_is_left_as_it_is_and_what_can_be_read_is_saved() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("farm.logbook");
    large(&file);
    let session = Session::open(&file, "Reader").unwrap();
    let backup = session.back_up("kept").unwrap();
    assert!(fs::metadata(&file).unwrap().len() > 1_000_000);
    drop(session);
    let whole = contents(&file);
    let (code, said) = check(folder.path(), &file);
    assert_eq!(code, Some(0), "{said}");
    let size = fs::metadata(&file).unwrap().len();
    // one page in ten of the second half is overwritten
    let mut open = OpenOptions::new().write(true).open(&file).unwrap();
    for page in (size / 8192..size / 4096).step_by(10) {
        open.seek(SeekFrom::Start(page * 4096)).unwrap();
        open.write_all(&[0x5a; 4096]).unwrap();
    }
    drop(open);
    let damaged = fs::read(&file).unwrap();
    let (code, said) = check(folder.path(), &file);
    assert!(matches!(code, Some(1 | 2)), "{code:?} {said}");
    assert!(
        said.contains("salvage") && said.contains(backup.to_str().unwrap()),
        "{said}"
    );
    let saved = folder.path().join("saved.logbook");
    let (session, report) = Session::salvage(&file, &saved, "Reader").unwrap();
    assert!(!report.rows.broken.is_empty());
    assert!(session.check().unwrap().file.is_well());
    let rows = contents(&saved);
    let kept = whole.iter().filter(|row| rows.contains(row)).count();
    println!(
        "{kept} of {} rows saved from a file with a tenth of its second half gone",
        whole.len()
    );
    assert!(kept * 10 > whole.len() * 7, "{kept} of {}", whole.len());
    assert_eq!(fs::read(&file).unwrap(), damaged);
    // the samples can be opened, and their tallies made
    for sample in session.latest_samples(100).unwrap() {
        session.tally(sample.thing()).unwrap();
    }
    // nothing is overwritten by salvaging again
    assert!(Session::salvage(&file, &saved, "Reader").is_err());
    // the backup is whole
    assert_eq!(contents(&backup), whole);
}

#[test]
fn a_truncated_file_is_told_and_saved_as_far_as_it_goes() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("farm.logbook");
    large(&file);
    let rows = contents(&file).len();
    let bytes = fs::read(&file).unwrap();
    for (keep, most) in [
        (bytes.len() * 3 / 4, true),
        (bytes.len() / 2 + 100, false),
        (300, false),
    ] {
        let cut = folder.path().join(format!("cut{keep}.logbook"));
        fs::write(&cut, &bytes[..keep]).unwrap();
        let (code, said) = check(folder.path(), &cut);
        assert!(matches!(code, Some(1 | 2)), "{keep}: {code:?} {said}");
        let saved = folder.path().join(format!("saved{keep}.logbook"));
        match Session::salvage(&cut, &saved, "Reader") {
            Ok((session, report)) => {
                let read: u64 = report.rows.rows.values().sum();
                println!(
                    "{read} of {rows} rows saved from {keep} of {} bytes",
                    bytes.len()
                );
                assert!(session.check().unwrap().file.is_well());
                assert!(!most || read as usize * 10 > rows * 3, "{read} of {rows}");
            }
            Err(error) => {
                assert!(!most, "{error}");
                assert!(!saved.exists());
                assert!(error.to_string().contains("cut"), "{error}");
            }
        }
        assert_eq!(fs::read(&cut).unwrap(), &bytes[..keep]);
    }
}

#[test]
fn backups_are_made_when_due_and_a_backup_opens_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("farm.logbook");
    let mut session = fresh(&file);
    assert_eq!(session.back_up_if_due().unwrap(), None);
    session.add_pond(&Pond::named("Pond 4")).unwrap();
    // while another program is in the midst of writing
    let holder = Connection::open(&file).unwrap();
    holder
        .execute_batch("BEGIN IMMEDIATE; DELETE FROM pond")
        .unwrap();
    let made = session.back_up_if_due().unwrap().unwrap();
    holder.execute_batch("ROLLBACK").unwrap();
    assert_eq!(session.back_up_if_due().unwrap(), None);
    let backup = Session::open(&made, "Reader").unwrap();
    assert_eq!(backup.ponds().unwrap()[0].body.name, "Pond 4");
    assert_eq!(backup.farm(), "made-up farm");
}

/// In a shared folder a rollback journal is used, and no file of a write-ahead log is left.
#[test]
fn a_shared_folder_gets_a_rollback_journal_and_a_warning() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("farm.logbook");
    let mut session = Session::create_shared(&file, "made-up farm", "Reader").unwrap();
    session.add_pond(&Pond::named("Pond 4")).unwrap();
    assert!(session.warning().unwrap().contains("share"));
    assert!(!folder.path().join("farm.logbook-wal").exists());
    drop(session);
    let session = Session::open(&file, "Reader").unwrap();
    assert!(session.warning().is_some());
    assert_eq!(session.ponds().unwrap().len(), 1);
    assert!(
        fresh(&folder.path().join("local.logbook"))
            .warning()
            .is_none()
    );
}
