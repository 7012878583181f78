//! Merging: any copies, any order, any number of times, the same contents.

use proptest::prelude::*;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use tailfan::logbook::Logbook;
use tailfan::logbook::LogbookError;
use tailfan::logbook::schema::TABLES;
use tailfan::moult::Shell;
use tailfan::moult::Stage;
use tailfan::records::ids::SampleId;
use tailfan::records::places::Animal;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::records::table::RawRow;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::calls::NewCall;
use tailfan::workflow::logbook::photos::PhotoImport;
use tailfan::workflow::logbook::samples::AnimalInHand;

/// Everything that is merged: every row of every table.
pub(crate) fn contents(file: &Path) -> Vec<(&'static str, RawRow)> {
    let book = Logbook::open(file, |_| Ok(())).unwrap();
    let mut rows = Vec::new();
    for table in TABLES {
        let take = |row| -> Result<(), LogbookError> {
            rows.push((table.name, row));
            Ok(())
        };
        book.view().each_row(table, take).unwrap();
    }
    rows
}

fn farm(file: &Path) -> SampleId {
    let mut session = Session::create(file, "made-up farm", "Reader One").unwrap();
    let pond = session.add_pond(&Pond::named("Pond 4")).unwrap();
    let netted = "2026-11-26T06:00+07:00".parse().unwrap();
    let sample = session.new_sample(&Sample::netted(pond, netted)).unwrap();
    let animals = session.add_animals(sample, 3).unwrap();
    session.call(animals[0], NewCall::by_eye(Stage::C)).unwrap();
    sample
}

/// One step of a history: what is done, and to which.
fn step(session: &mut Session, sample: SampleId, what: u8, which: u8) {
    let hand = session.sample_in_hand(sample).unwrap();
    let animal = hand
        .animals
        .get(usize::from(which) % hand.animals.len().max(1));
    let stage = Stage::ALL[usize::from(which) % 9];
    match (what, animal) {
        (0, _) => drop(session.add_animals(sample, 1).unwrap()),
        (1..=3, Some(animal)) => {
            session.call(animal.id(), NewCall::by_eye(stage)).unwrap();
        }
        (4, Some(animal)) => session.take_call_back(animal.id()).unwrap(),
        (5, Some(animal)) => {
            let soft = Animal {
                shell: Some(Shell::Soft),
                note: Some(format!("note {which}")),
                ..animal.animal.body.clone()
            };
            session.edit_animal(animal.id(), &soft).unwrap();
        }
        (6, Some(animal)) => {
            session
                .settle(animal.id(), Some(stage), None, "looked again")
                .unwrap();
        }
        (7, _) => drop(session.undo()),
        (8, _) => drop(session.redo()),
        (9, _) => session.set_setting("language", which.into()).unwrap(),
        _ => drop(
            session
                .add_pond(&Pond::named(format!("Pond {which}")))
                .unwrap(),
        ),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    /// Three copies of one logbook go their own ways, and meet in every order.
    #[test]
    fn three_copies_merged_in_any_order_hold_the_same(
        histories in prop::array::uniform3(prop::collection::vec((0_u8..11, any::<u8>()), 0..12)),
        early in any::<bool>(),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        let sample = farm(&path("first.logbook"));
        let copies: Vec<PathBuf> = (0..3).map(|copy| path(&format!("copy{copy}.logbook"))).collect();
        for (copy, history) in copies.iter().zip(&histories) {
            fs::copy(path("first.logbook"), copy).unwrap();
            let mut session = Session::open(copy, "Reader").unwrap();
            for (at, (what, which)) in history.iter().enumerate() {
                // the second copy has met the first in the midst of its way, in half of the cases
                if early && at == 4 && *copy == copies[1] {
                    session.merge(&copies[0]).unwrap();
                }
                step(&mut session, sample, *what, *which);
            }
        }
        let orders = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];
        let mut seen: Option<(Vec<_>, String)> = None;
        for order in orders {
            let into = path(&format!("merged{order:?}.logbook"));
            fs::copy(&copies[order[0]], &into).unwrap();
            let mut session = Session::open(&into, "Reader").unwrap();
            for other in &order[1..] {
                session.merge(&copies[*other]).unwrap();
            }
            let again = session.merge(&copies[order[1]]).unwrap();
            prop_assert_eq!(again.rows.total().new, 0);
            prop_assert_eq!(again.rows.total().differing, 0);
            prop_assert!(session.check().unwrap().file.is_well());
            let hand = session.sample_in_hand(sample).unwrap();
            let standing = format!("{:?}", hand.animals);
            drop(session);
            let now = (contents(&into), standing);
            if let Some(before) = &seen {
                prop_assert_eq!(before, &now);
            } else {
                seen = Some(now);
            }
        }
        // nothing of any copy is missing
        let (all, _) = seen.unwrap();
        for copy in &copies {
            for row in contents(copy) {
                prop_assert!(all.contains(&row));
            }
        }
    }
}

#[test]
fn rival_calls_of_two_copies_are_shown_and_settled_for_both() {
    let folder = tempfile::tempdir().unwrap();
    let (mine, theirs) = (
        folder.path().join("mine.logbook"),
        folder.path().join("theirs.logbook"),
    );
    let sample = farm(&mine);
    fs::copy(&mine, &theirs).unwrap();
    let mut one = Session::open(&mine, "Reader One").unwrap();
    let mut two = Session::open(&theirs, "Reader Two").unwrap();
    let animals: Vec<_> = one
        .sample_in_hand(sample)
        .unwrap()
        .animals
        .iter()
        .map(AnimalInHand::id)
        .collect();
    // the same call changed by both, and a first call by both
    for animal in &animals[..2] {
        one.call(*animal, NewCall::by_eye(Stage::D1)).unwrap();
        two.call(*animal, NewCall::by_eye(Stage::D2)).unwrap();
    }
    let report = one.merge(&theirs).unwrap();
    assert_eq!(report.rows.animals_with_rivals, 2);
    let hand = one.sample_in_hand(sample).unwrap();
    assert_eq!(hand.animals[0].calls.len(), 2);
    // the later one stands until it is settled; it counts once
    assert_eq!(hand.animals[0].stage(), Some(Stage::D2));
    assert_eq!(one.tally(sample).unwrap().called, 2);
    for animal in &animals[..2] {
        one.settle(*animal, Some(Stage::D1), None, "new setae are faint")
            .unwrap();
    }
    drop(two);
    let mut two = Session::open(&theirs, "Reader Two").unwrap();
    assert_eq!(two.merge(&mine).unwrap().rows.animals_with_rivals, 0);
    for session in [&one, &two] {
        let hand = session.sample_in_hand(sample).unwrap();
        assert_eq!(hand.animals[0].calls.len(), 1);
        assert_eq!(hand.animals[1].stage(), Some(Stage::D1));
        let settled = session.settlements_of(animals[1]).unwrap();
        assert_eq!(settled[0].body.because, "new setae are faint");
    }
    // settling is undone as a whole
    one.undo().unwrap();
    let hand = one.sample_in_hand(sample).unwrap();
    assert_eq!(hand.animals[1].calls.len(), 2);
}

#[test]
fn two_farms_come_together_without_doubles_and_with_their_photos() {
    let folder = tempfile::tempdir().unwrap();
    let (mine, theirs) = (
        folder.path().join("mine.logbook"),
        folder.path().join("theirs.logbook"),
    );
    farm(&mine);
    let their_sample = farm(&theirs);
    let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/kinds/grey8.jpg");
    let mut other = Session::open(&theirs, "Reader Two").unwrap();
    other
        .import_photos(
            their_sample,
            std::slice::from_ref(&photo),
            PhotoImport::COPIED,
        )
        .unwrap();
    let before = contents(&theirs);
    let mut session = Session::open(&mine, "Reader One").unwrap();
    let rows = contents(&mine).len();
    for round in 0..2 {
        let report = session.merge(&theirs).unwrap();
        assert_eq!(report.photos, 1 - round);
        assert_eq!(report.rows.ponds_of_one_name, ["Pond 4"]);
        assert!(report.photos_missing.is_empty());
        assert!(report.backup.is_file());
        assert_eq!(contents(&mine).len(), rows + before.len());
    }
    assert_eq!(session.info().unwrap().origins.len(), 2);
    let kept = &session.photos_of(their_sample).unwrap()[0].body;
    assert_eq!(session.photo_bytes(kept).unwrap(), fs::read(photo).unwrap());
    // the other was only read, even while it was open
    assert_eq!(contents(&theirs), before);
    // the backup is the logbook as it was
    let first = session.backups().into_iter().next().unwrap();
    assert_eq!(first.reason, "before-merge");
    assert_eq!(contents(&first.file).len(), rows);
    // what is no logbook changes nothing
    let words = folder.path().join("words");
    fs::write(&words, "pond 4").unwrap();
    let error = session.merge(&words).unwrap_err().to_string();
    assert!(
        error.contains("not a logbook") && error.contains("words"),
        "{error}"
    );
    assert!(session.merge(folder.path()).is_err());
    let left = fs::read_dir(folder.path()).unwrap().filter(|entry| {
        entry
            .as_ref()
            .unwrap()
            .file_name()
            .to_string_lossy()
            .contains("-merge")
    });
    assert_eq!(left.count(), 0);
}
