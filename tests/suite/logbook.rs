//! The logbook as its user knows it: what is written stands, is undone, and is found again.

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use tailfan::logbook::LogbookError;
use tailfan::logbook::schema;
use tailfan::moult::Shell;
use tailfan::moult::Stage;
use tailfan::records::ids::AnimalId;
use tailfan::records::ids::PondId;
use tailfan::records::ids::SampleId;
use tailfan::records::places::Animal;
use tailfan::records::places::Outcome;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::records::stamp::Stamp;
use tailfan::records::table::HEAD_COLUMNS;
use tailfan::records::words::Keeping;
use tailfan::records::words::Unread;
use tailfan::texts;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::SessionError;
use tailfan::workflow::logbook::calls::CalledByName;
use tailfan::workflow::logbook::calls::NewCall;
use tailfan::workflow::logbook::photos::PhotoImport;
use tailfan::workflow::logbook::photos::Shows;
use tailfan::workflow::logbook::samples::AnimalInHand;

fn stamp(text: &str) -> Stamp {
    text.parse().unwrap()
}

/// A farm with a pond and a sample of three animals.
struct Farm {
    folder: tempfile::TempDir,
    session: Session,
    pond: PondId,
    sample: SampleId,
    animals: Vec<AnimalId>,
}

fn farm() -> Farm {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("farm.logbook");
    let mut session = Session::create(&file, "made-up farm", "Reader One").unwrap();
    let pond = session.add_pond(&Pond::named("Pond 4")).unwrap();
    let netted = stamp("2026-11-26T06:00+07:00");
    let sample = session.new_sample(&Sample::netted(pond, netted)).unwrap();
    let animals = session.add_animals(sample, 3).unwrap();
    Farm {
        folder,
        session,
        pond,
        sample,
        animals,
    }
}

fn stages(session: &Session, sample: SampleId) -> Vec<Option<Stage>> {
    let hand = session.sample_in_hand(sample).unwrap();
    hand.animals.iter().map(AnimalInHand::stage).collect()
}

#[test]
fn what_is_written_is_there_when_the_logbook_is_opened_again() {
    let mut farm = farm();
    farm.session
        .call(farm.animals[0], NewCall::by_eye(Stage::D1))
        .unwrap();
    let unread = NewCall::unread(Unread::Regenerated);
    farm.session.call(farm.animals[1], unread).unwrap();
    let file = farm.session.file().to_owned();
    drop(farm.session);
    let session = Session::open(&file, "Reader Two").unwrap();
    assert_eq!(session.farm(), "made-up farm");
    assert_eq!(stages(&session, farm.sample), [Some(Stage::D1), None, None]);
    let hand = session.sample_in_hand(farm.sample).unwrap();
    let unread = hand.animals[1].call().unwrap();
    assert_eq!(unread.body.unread_because, Some(Unread::Regenerated));
    assert_eq!(unread.head.written_by, "Reader One");
    let tally = session.tally(farm.sample).unwrap();
    assert_eq!((tally.animals, tally.called, tally.unread), (3, 1, 2));
    let listed = session.samples_of(farm.pond).unwrap();
    assert_eq!((listed[0].animals, listed[0].called), (3, 1));
}

#[test]
fn a_changed_call_is_a_new_row_and_the_old_one_stays() {
    let mut farm = farm();
    let animal = farm.animals[0];
    let first = farm
        .session
        .call(animal, NewCall::by_eye(Stage::C))
        .unwrap();
    let second = farm
        .session
        .call(animal, NewCall::by_eye(Stage::D0))
        .unwrap();
    let history = farm.session.history_of_call(animal).unwrap();
    assert_eq!(history.len(), 2);
    assert_eq!(history[0].head.id, first);
    assert_eq!(history[1].head.supersedes, Some(first));
    assert_eq!(history[1].head.of, history[0].head.of);
    let hand = farm.session.sample_in_hand(farm.sample).unwrap();
    assert_eq!(hand.animals[0].calls.len(), 1);
    assert_eq!(hand.animals[0].call().unwrap().head.id, second);
}

#[test]
fn all_can_be_undone_to_the_start_and_done_again_to_the_end() {
    let mut farm = farm();
    let (animal, sample) = (farm.animals[0], farm.sample);
    farm.session
        .call(animal, NewCall::by_eye(Stage::C))
        .unwrap();
    farm.session
        .call(animal, NewCall::by_eye(Stage::D0))
        .unwrap();
    farm.session.take_call_back(animal).unwrap();
    farm.session
        .call(animal, NewCall::by_eye(Stage::A))
        .unwrap();
    let soft = Animal {
        shell: Some(Shell::Soft),
        ..farm.session.animal(animal).unwrap().body
    };
    farm.session.edit_animal(animal, &soft).unwrap();
    let end = farm.session.sample_in_hand(sample).unwrap();
    let mut seen = vec![stages(&farm.session, sample)[0]];
    while farm.session.undo().unwrap().is_some() {
        if farm
            .session
            .sample(sample)
            .is_ok_and(|kept| !kept.head.withdrawn)
        {
            seen.extend(stages(&farm.session, sample).first().copied());
        }
    }
    let wanted = [
        Some(Stage::A),
        Some(Stage::A),
        None,
        Some(Stage::D0),
        Some(Stage::C),
        None,
    ];
    assert_eq!(seen, wanted);
    assert!(farm.session.ponds().unwrap().is_empty());
    let mut again = 0;
    while farm.session.redo().unwrap().is_some() {
        again += 1;
    }
    assert_eq!(again, 8);
    let now = farm.session.sample_in_hand(sample).unwrap();
    let bodies = |hand: &tailfan::workflow::logbook::samples::SampleInHand| {
        let of = |animal: &AnimalInHand| (animal.animal.body.clone(), animal.stage());
        hand.animals.iter().map(of).collect::<Vec<_>>()
    };
    assert_eq!(bodies(&now), bodies(&end));
    // a new action closes the way forward
    farm.session.undo().unwrap();
    farm.session
        .call(animal, NewCall::by_eye(Stage::B))
        .unwrap();
    assert!(farm.session.redo().unwrap().is_none());
}

#[test]
fn one_undoes_ones_own_only_and_not_what_another_changed_since() {
    let mut farm = farm();
    let animal = farm.animals[0];
    farm.session
        .call(animal, NewCall::by_eye(Stage::C))
        .unwrap();
    let mut other = Session::open(farm.session.file(), "Reader Two").unwrap();
    other.call(animal, NewCall::by_eye(Stage::D2)).unwrap();
    let refused = farm.session.undo().unwrap_err();
    assert!(refused.to_string().contains("changed since"), "{refused}");
    assert_eq!(stages(&farm.session, farm.sample)[0], Some(Stage::D2));
    farm.session.set_reader("Reader Three");
    assert!(farm.session.undo().unwrap().is_none());
}

#[test]
fn a_line_of_a_table_calls_an_animal_by_name_and_adds_it_when_new() {
    let mut farm = farm();
    let line = |animal: &str, stage| CalledByName {
        animal: animal.to_owned(),
        stage,
        shell: Some(Shell::Firm),
        station: Some("gate".to_owned()),
    };
    farm.session
        .call_by_name(farm.sample, &line("02", Some(Stage::D1)))
        .unwrap();
    farm.session
        .call_by_name(farm.sample, &line("S17", None))
        .unwrap();
    let hand = farm.session.sample_in_hand(farm.sample).unwrap();
    assert_eq!(hand.animals.len(), 4);
    assert_eq!(hand.animals[1].stage(), Some(Stage::D1));
    assert_eq!(hand.animals[1].animal.body.station.as_deref(), Some("gate"));
    assert_eq!(hand.animals[3].animal.body.name, "S17");
    assert_eq!(hand.animals[3].call().unwrap().body.stage, None);
    farm.session.undo().unwrap();
    farm.session.undo().unwrap();
    let hand = farm.session.sample_in_hand(farm.sample).unwrap();
    assert_eq!(hand.animals.len(), 3);
    assert_eq!(hand.animals[1].animal.body.station, None);
}

fn photo(name: &str) -> PathBuf {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    tests.join("data/kinds").join(name)
}

#[test]
fn photos_are_copied_by_content_and_one_that_changes_or_goes_is_told() {
    let mut farm = farm();
    let files = [photo("grey8.jpg"), photo("rgb8.png"), photo("no such.jpg")];
    let came = farm
        .session
        .import_photos(farm.sample, &files, PhotoImport::COPIED)
        .unwrap();
    assert_eq!((came.came.len(), came.failed.len()), (2, 1));
    assert!(came.failed[0].1.to_string().contains("no such.jpg"));
    let again = farm
        .session
        .import_photos(farm.sample, &files[..1], PhotoImport::COPIED)
        .unwrap();
    assert_eq!((again.came.len(), again.already.len()), (0, 1));
    let hand = farm.session.sample_in_hand(farm.sample).unwrap();
    assert_eq!(hand.animals.len(), 5);
    let kept = &hand.animals[3].photos[0].body;
    assert!(kept.width_px.is_some_and(|width| width > 0));
    let bytes = farm.session.photo_bytes(kept).unwrap();
    assert_eq!(bytes, fs::read(&files[0]).unwrap());
    fs::write(farm.session.photo_file(kept), "other").unwrap();
    assert!(matches!(
        farm.session.photo_bytes(kept),
        Err(SessionError::PhotoChanged { .. })
    ));
    // the photo folder gone: calls go on, the photo says where it was
    fs::remove_dir_all(farm.session.photo_folder()).unwrap();
    let gone = farm.session.photo_bytes(kept).unwrap_err().to_string();
    assert!(
        gone.contains("grey8.jpg") && gone.contains("put it back"),
        "{gone}"
    );
    farm.session
        .call(hand.animals[3].id(), NewCall::by_eye(Stage::C))
        .unwrap();
    assert_eq!(farm.session.tally(farm.sample).unwrap().called, 1);
}

#[test]
fn a_linked_photo_stays_where_it_lies_and_is_assigned_later() {
    let mut farm = farm();
    let mine = farm.folder.path().join("from the camera.png");
    fs::copy(photo("rgb8.png"), &mine).unwrap();
    let how = PhotoImport {
        keeping: Keeping::Linked,
        shows: Shows::ToBeAssigned,
        ..PhotoImport::COPIED
    };
    let files = [mine.clone()];
    let came = farm
        .session
        .import_photos(farm.sample, &files, how)
        .unwrap();
    assert!(!farm.session.photo_folder().exists());
    let hand = farm.session.sample_in_hand(farm.sample).unwrap();
    assert_eq!(hand.unassigned.len(), 1);
    farm.session
        .assign_photo(came.came[0], Some(farm.animals[1]))
        .unwrap();
    let hand = farm.session.sample_in_hand(farm.sample).unwrap();
    assert_eq!(
        farm.session.photo_file(&hand.animals[1].photos[0].body),
        mine
    );
    farm.session.undo().unwrap();
    let hand = farm.session.sample_in_hand(farm.sample).unwrap();
    assert_eq!(hand.unassigned.len(), 1);
}

#[test]
fn samples_are_named_by_pond_and_date_or_by_their_id() {
    let mut farm = farm();
    let later = Sample::netted(farm.pond, stamp("2026-11-26T17:30+07:00"));
    farm.session.new_sample(&later).unwrap();
    let id = farm.sample.to_string();
    for name in [
        id.as_str(),
        "pond 4@2026-11-26T06",
        "Pond 4@2026-11-26 06:00",
    ] {
        assert_eq!(
            farm.session.find_sample(name).unwrap().thing(),
            farm.sample,
            "{name}"
        );
    }
    let many = farm.session.find_sample("Pond 4@2026-11-26").unwrap_err();
    assert!(many.to_string().contains("names 2 samples"), "{many}");
    for name in ["", "@", "Pond 4@", "Pond 5@2026-11-26", "ffff", "Pond 4@%"] {
        assert!(farm.session.find_sample(name).is_err(), "{name}");
    }
}

#[test]
fn values_that_do_not_go_together_are_refused_and_nothing_is_written() {
    let mut farm = farm();
    let before = farm.session.journal(100).unwrap().len();
    let backwards = Sample {
        harvest_start: Some(stamp("2026-11-25T06:00+07:00")),
        ..Sample::netted(farm.pond, stamp("2026-11-26T06:00+07:00"))
    };
    let error = farm.session.new_sample(&backwards).unwrap_err().to_string();
    assert!(error.contains("lies before netted"), "{error}");
    let hot = Sample {
        water_c: Some(280.0),
        ..backwards
    };
    assert!(farm.session.new_sample(&hot).is_err());
    let outcome = Outcome {
        pond: farm.pond,
        sample: Some(farm.sample),
        harvested: stamp("2026-11-27T04:00+07:00"),
        ended: None,
        animals_checked: Some(100),
        soft_found: Some(101),
        harvest_kg: None,
        refused_kg: None,
        note: None,
    };
    assert!(farm.session.add_outcome(&outcome).is_err());
    assert!(farm.session.add_pond(&Pond::named(" ")).is_err());
    let nowhere = PondId::from(tailfan::records::ids::RowId::from_bytes([7; 16]));
    let orphan = Sample::netted(nowhere, stamp("2026-11-26T06:00+07:00"));
    let error = farm.session.new_sample(&orphan).unwrap_err().to_string();
    assert!(error.contains("not in the logbook"), "{error}");
    assert_eq!(farm.session.journal(100).unwrap().len(), before);
}

#[test]
fn notes_ponds_and_photos_are_found_by_their_words() {
    let mut farm = farm();
    let call = NewCall {
        note: Some("shell like 100%_paper".to_owned()),
        ..NewCall::by_eye(Stage::B)
    };
    farm.session.call(farm.animals[0], call).unwrap();
    let files = [photo("grey8.jpg")];
    farm.session
        .import_photos(farm.sample, &files, PhotoImport::COPIED)
        .unwrap();
    let tables = |words: &str| {
        let found = farm.session.search(words, 10).unwrap();
        found
            .into_iter()
            .map(|found| found.table)
            .collect::<Vec<_>>()
    };
    assert_eq!(tables("pond"), ["pond"]);
    assert_eq!(tables("100%_P"), ["call"]);
    assert_eq!(tables("GREY"), ["photo"]);
    assert!(tables("rey8").is_empty() && tables("%").len() == 1 && tables(" ").is_empty());
    assert!(tables("'; DROP TABLE call; --").is_empty());
}

#[test]
fn every_column_of_every_table_has_its_words() {
    for table in schema::TABLES {
        for column in table.columns {
            let words = texts::columns::COLUMNS
                .iter()
                .filter(|(of, name, _)| (*of, *name) == (table.name, column.name));
            assert_eq!(words.count(), 1, "{} {}", table.name, column.name);
        }
    }
    let named: usize = schema::TABLES.iter().map(|table| table.columns.len()).sum();
    assert_eq!(texts::columns::COLUMNS.len(), named);
    let heads: Vec<&str> = texts::columns::HEAD.iter().map(|(name, _)| *name).collect();
    assert_eq!(heads, HEAD_COLUMNS.map(|column| column.name));
}

#[test]
fn what_is_no_logbook_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    fs::write(path("empty"), "").unwrap();
    fs::write(path("words"), "pond 4, all in C").unwrap();
    fs::write(
        path("random"),
        (0..9999_u32)
            .map(|i| (i * 7919 % 251) as u8)
            .collect::<Vec<_>>(),
    )
    .unwrap();
    fs::create_dir(path("folder")).unwrap();
    for name in ["empty", "words", "random", "folder", "missing"] {
        let before = fs::read(path(name)).ok();
        let error = Session::open(&path(name), "Reader").err().unwrap();
        let SessionError::Logbook { source, .. } = &error else {
            panic!("{name}: {error}");
        };
        let fits = match name {
            "folder" => matches!(source, LogbookError::NoFile),
            "missing" => matches!(source, LogbookError::Missing),
            _ => matches!(source, LogbookError::NotSqlite),
        };
        assert!(fits, "{name}: {error}");
        assert!(error.to_string().contains(name), "{error}");
        assert_eq!(fs::read(path(name)).ok(), before);
    }
    let exists = Session::create(&path("words"), "farm", "Reader")
        .err()
        .unwrap();
    assert!(
        exists.to_string().contains("nothing is overwritten"),
        "{exists}"
    );
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 4);
}
