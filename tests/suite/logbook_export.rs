//! Exports: everything out and in again, and what tries to come in that should not.

use crate::logbook_merge::contents;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::path::PathBuf;
use tailfan::logbook::schema::STEPS;
use tailfan::moult::Stage;
use tailfan::records::ids::SampleId;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::records::words::Keeping;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::calls::NewCall;
use tailfan::workflow::logbook::photos::PhotoImport;

/// Texts that a spreadsheet would take for formulas, and others that are hard on a table.
const HARD_TEXTS: [&str; 7] = [
    "=HYPERLINK(\"http://x\")",
    "+1+1",
    "-2",
    "@SUM(A1)",
    "'quoted, \"twice\"",
    "  =1\r\nsecond line; third",
    "ทะเล 池塘 ø\u{301} 🦐",
];

fn photos() -> [PathBuf; 2] {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/kinds");
    [tests.join("grey8.jpg"), tests.join("rgb8.png")]
}

fn farm(file: &Path) -> (Session, SampleId) {
    let mut session = Session::create(file, "made-up farm", "=cmd|' /C calc'!A0").unwrap();
    let mut pond = Pond::named("=Pond 4");
    pond.area_m2 = Some(0.1 + 0.2);
    pond.soft_limit = Some(1.0 / 3.0);
    let pond = session.add_pond(&pond).unwrap();
    let netted = "2026-11-26T06:00:00.123-03:30".parse().unwrap();
    let sample = session.new_sample(&Sample::netted(pond, netted)).unwrap();
    session
        .import_photos(sample, &photos()[..1], PhotoImport::COPIED)
        .unwrap();
    let linked = PhotoImport {
        keeping: Keeping::Linked,
        ..PhotoImport::COPIED
    };
    session
        .import_photos(sample, &photos()[1..], linked)
        .unwrap();
    for (stage, text) in Stage::ALL.into_iter().zip(HARD_TEXTS) {
        let animal = session.add_animals(sample, 1).unwrap()[0];
        let call = NewCall {
            note: Some(text.to_owned()),
            ..NewCall::by_eye(stage)
        };
        session.call(animal, call).unwrap();
    }
    session.undo().unwrap();
    let value = serde_json::json!({"a": [1, -2.5, null, "=1"], "b": {"c": true}});
    session.set_setting("odd", value).unwrap();
    (session, sample)
}

#[test]
fn an_export_comes_back_equal_with_its_photos_as_a_folder_and_as_a_zip_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let (session, sample) = farm(&path("farm.logbook"));
    let wanted = contents(&path("farm.logbook"));
    for (to, name) in [("export", "one"), ("export.zip", "two")] {
        let exported = session.export(&path(to)).unwrap();
        assert_eq!(exported.rows, wanted.len() as u64);
        assert_eq!((exported.photos, exported.photos_missing.len()), (2, 0));
        let error = session.export(&path(to)).unwrap_err().to_string();
        assert!(error.contains("nothing is overwritten"), "{error}");
        let new = path(&format!("{name}.logbook"));
        let mut other = Session::create(&new, "another farm", "Reader").unwrap();
        for round in 0..2_u64 {
            let taken = other.import(&path(to)).unwrap();
            assert_eq!(taken.photos, 2 * (1 - round));
            assert_eq!(taken.rows.total().new, (1 - round) * wanted.len() as u64);
            assert_eq!(taken.rows.total().differing, 0);
        }
        assert_eq!(contents(&new), wanted);
        assert!(other.check().unwrap().file.is_well());
        for (kept, photo) in other.photos_of(sample).unwrap().iter().zip(photos()) {
            assert_eq!(
                other.photo_bytes(&kept.body).unwrap(),
                fs::read(photo).unwrap()
            );
        }
    }
    let mut left: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains("part") || name.contains("unpacked"))
        .collect();
    left.sort();
    assert!(left.is_empty(), "{left:?}");
}

/// Read with a reader of our own choice of quoting: Python's csv and most spreadsheets follow the
/// same rules (RFC 4180).
#[test]
fn no_cell_of_an_export_begins_like_a_formula_and_every_column_is_explained() {
    let folder = tempfile::tempdir().unwrap();
    let (session, _) = farm(&folder.path().join("farm.logbook"));
    let out = folder.path().join("export");
    session.export(&out).unwrap();
    let mut tables: Vec<PathBuf> = fs::read_dir(out.join("tables"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    tables.extend([out.join("standing_calls.csv"), out.join("dictionary.csv")]);
    let dictionary = fs::read_to_string(out.join("dictionary.csv")).unwrap();
    let mut cells = 0;
    for table in &tables {
        let mut csv = csv::Reader::from_path(table).unwrap();
        let name = table.file_stem().unwrap().to_string_lossy().into_owned();
        for column in &csv.headers().unwrap().clone() {
            let explained = dictionary.contains(&format!("\n{name},{column},"))
                || dictionary.contains(&format!("\n(every table),{column},"));
            assert!(
                explained || name == "standing_calls" || name == "dictionary",
                "{name} {column}"
            );
        }
        for record in csv.records() {
            for cell in &record.unwrap() {
                cells += 1;
                let number = cell.parse::<f64>().is_ok();
                let begins = cell.trim_start().starts_with(['=', '+', '-', '@']);
                assert!(number || !begins, "{}: {cell}", table.display());
            }
        }
    }
    assert!(cells > 500);
    assert_eq!(tables.len(), 22);
    let standing = fs::read_to_string(out.join("standing_calls.csv")).unwrap();
    assert!(standing.contains("'=HYPERLINK") && standing.contains("'=Pond 4"));
}

/// An export changed by `change`, and what importing it says; nothing must have come in.
#[track_caller]
fn refused(change: impl FnOnce(&Path), words: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let (session, _) = farm(&path("farm.logbook"));
    session.export(&path("export")).unwrap();
    change(&path("export"));
    let mut other = Session::create(&path("new.logbook"), "another farm", "Reader").unwrap();
    let said = other.import(&path("export")).unwrap_err().to_string();
    for word in words {
        assert!(said.contains(word), "{said}");
    }
    assert!(contents(&path("new.logbook")).is_empty());
    assert!(!other.photo_folder().exists());
}

/// Replaces text in a table of an export.
fn replace(export: &Path, table: &str, from: &str, to: &str) {
    let file = export.join("tables").join(table);
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains(from), "{text}");
    fs::write(file, text.replacen(from, to, 1)).unwrap();
}

#[test]
fn changed_exports_are_refused_whole_with_file_and_line() {
    refused(
        |e| replace(e, "pond.csv", "area_m2", "area_ha"),
        &["area_ha", "pond.csv"],
    );
    refused(
        |e| replace(e, "call.csv", ",note\n", ",note,colour\n"),
        &["call.csv"],
    );
    refused(
        |e| {
            replace(
                e,
                "sample.csv",
                "2026-11-26T06:00:00.123-03:30",
                "26/11/2026",
            );
        },
        &["no moment", "sample.csv", "line 2"],
    );
    refused(
        |e| replace(e, "pond.csv", "0.30000000000000004", "lots"),
        &["area_m2", "lots", "line 2"],
    );
    refused(
        |e| replace(e, "pond.csv", "0.30000000000000004", "-5"),
        &["area_m2"],
    );
    refused(
        |e| replace(e, "call.csv", ",A,", ",Z,"),
        &["unknown variant"],
    );
    refused(
        |e| fs::remove_file(e.join("tables/animal.csv")).unwrap(),
        &["animal.csv", "whole"],
    );
    refused(
        |e| fs::remove_file(e.join("logbook.json")).unwrap(),
        &["not an export"],
    );
    refused(
        |e| {
            let note = fs::read_to_string(e.join("logbook.json")).unwrap();
            fs::write(
                e.join("logbook.json"),
                note.replace(&format!("\"schema\": {}", STEPS.len()), "\"schema\": 99"),
            )
            .unwrap();
        },
        &["newer program"],
    );
    refused(
        |e| {
            // cut after whole lines, as by a full disk
            let file = e.join("tables/journal.csv");
            let text = fs::read_to_string(&file).unwrap();
            let lines: Vec<&str> = text.lines().collect();
            fs::write(file, lines[..lines.len() - 1].join("\n")).unwrap();
        },
        &["journal.csv", "was cut or changed"],
    );
    refused(
        |e| {
            let file = e.join("tables/call.csv");
            let mut bytes = fs::read(&file).unwrap();
            let at = bytes.len() - 20;
            bytes[at] = 0xff;
            fs::write(file, bytes).unwrap();
        },
        &["call.csv", "UTF-8"],
    );
}

/// An outcome that ends before it begins, in a table as a person might change it.
#[test]
fn dates_out_of_order_are_refused() {
    refused(
        |e| {
            let file = e.join("tables/sample.csv");
            let text = fs::read_to_string(&file).unwrap();
            let mut lines = text.lines();
            let names: Vec<&str> = lines.next().unwrap().split(',').collect();
            let at = names
                .iter()
                .position(|name| *name == "harvest_start")
                .unwrap();
            let mut cells: Vec<&str> = lines.next().unwrap().split(',').collect();
            cells[at] = "2026-11-25T06:00:00.000-03:30";
            fs::write(file, format!("{}\n{}\n", names.join(","), cells.join(","))).unwrap();
        },
        &["lies before netted"],
    );
}

/// Hashes as names are the only way into the photo folder; a hash that climbs is none.
#[test]
fn no_path_of_an_export_leads_outside() {
    let climbing = "../".repeat(21) + "x";
    assert_eq!(climbing.len(), 64);
    let hash = blake3::hash(&fs::read(&photos()[0]).unwrap())
        .to_hex()
        .to_string();
    refused(
        |e| replace(e, "photo.csv", &hash, &climbing),
        &["no BLAKE3 hash"],
    );
    // a photo that is a link to another file is not taken, for its content is another
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let (session, sample) = farm(&path("farm.logbook"));
    session.export(&path("export")).unwrap();
    let inside = path("export/photos")
        .join(&hash[..2])
        .join(format!("{hash}.jpg"));
    fs::write(path("secret"), "not for others").unwrap();
    fs::remove_file(&inside).unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink(path("secret"), &inside).unwrap();
    let mut other = Session::create(&path("new.logbook"), "another farm", "Reader").unwrap();
    let taken = other.import(&path("export")).unwrap();
    assert_eq!(
        (taken.photos, taken.photos_missing),
        (1, vec!["grey8.jpg".to_owned()])
    );
    let kept = &other.photos_of(sample).unwrap()[0].body;
    assert!(!other.photo_file(kept).exists());
}

#[test]
fn a_zip_file_that_climbs_out_of_its_folder_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    fs::create_dir(path("inner")).unwrap();
    let mut session = Session::create(&path("inner/farm.logbook"), "farm", "Reader").unwrap();
    for name in [
        "../evil.txt",
        "/tmp/tailfan-evil.txt",
        "a/../../evil.txt",
        "c:\\evil.txt",
    ] {
        let zipped = path("bad.zip");
        let mut zip = zip::ZipWriter::new(fs::File::create(&zipped).unwrap());
        let options = zip::write::SimpleFileOptions::default();
        zip.start_file("logbook.json", options).unwrap();
        zip.write_all(b"{}").unwrap();
        zip.start_file(name, options).unwrap();
        zip.write_all(b"evil").unwrap();
        zip.finish().unwrap();
        let error = session.import(&zipped).unwrap_err().to_string();
        assert!(error.contains("outside of its folder"), "{name}: {error}");
        assert!(!path("evil.txt").exists() && !Path::new("/tmp/tailfan-evil.txt").exists());
    }
    fs::write(path("cut.zip"), &fs::read(path("bad.zip")).unwrap()[..60]).unwrap();
    fs::write(path("words.zip"), "pond 4").unwrap();
    for name in ["cut.zip", "words.zip", "missing.zip"] {
        let error = session.import(&path(name)).unwrap_err().to_string();
        assert!(error.contains(name), "{error}");
    }
    let left: Vec<_> = fs::read_dir(path("inner"))
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert!(
        left.iter()
            .all(|name| !name.to_string_lossy().contains("unpacked")),
        "{left:?}"
    );
}
