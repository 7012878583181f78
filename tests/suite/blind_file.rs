//! Slides sent to a reader elsewhere in one file, and the answer that comes back.

use crate::second_reader::Farm;
use crate::second_reader::Proposed;
use crate::second_reader::says;
use std::fs;
use std::io::Read as _;
use std::io::Write as _;
use std::path::Path;
use std::path::PathBuf;
use tailfan::exchange::blind::BlindError;
use tailfan::moult::Stage;
use tailfan::progress::Progress;
use tailfan::records::rounds::BlindCall;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::second::away::BlindInHand;
use tailfan::workflow::second::away::open_blind;
use tailfan::workflow::second::error::SecondError;
use tailfan::workflow::second::rounds::RoundPlan;
use zip::CompressionMethod;
use zip::ZipArchive;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

const ANIMALS: [(Stage, Proposed); 6] = [
    (Stage::C, Proposed::Clear),
    (Stage::B, Proposed::Ambiguous),
    (Stage::D1, Proposed::Far),
    (Stage::D0, Proposed::Clear),
    (Stage::A, Proposed::Ambiguous),
    (Stage::D2, Proposed::Clear),
];

fn sent(farm: &mut Farm) -> PathBuf {
    let file = farm.folder.path().join("to-ben.zip");
    farm.session
        .send_round(&farm.plan(), &file, &Progress::silent())
        .unwrap();
    file
}

fn opened(file: &Path, farm: &Farm) -> Result<BlindInHand, SecondError> {
    open_blind(file, &farm.folder.path().join("elsewhere"))
}

#[track_caller]
fn refused(file: &Path, farm: &Farm, word: &str) -> BlindError {
    let error = opened(file, farm).unwrap_err();
    let said = error.to_string();
    assert!(said.contains(word), "no \"{word}\" in: {said}");
    assert!(said.contains(file.to_str().unwrap()), "{said}");
    match error {
        SecondError::Blind(error) => error,
        other => panic!("{other}"),
    }
}

fn holds(bytes: &[u8], what: &[u8]) -> bool {
    bytes.windows(what.len()).any(|window| window == what)
}

/// The bytes of a file without those of its photos.
fn without_photos(file: &Path, bytes: &[u8]) -> Vec<u8> {
    let mut zip = ZipArchive::new(fs::File::open(file).unwrap()).unwrap();
    let mut rest = bytes.to_vec();
    for at in 0..zip.len() {
        let mut entry = zip.by_index(at).unwrap();
        let mut own = Vec::new();
        entry.read_to_end(&mut own).unwrap();
        if entry.name().unwrap().starts_with("photos/") {
            let from = rest.windows(own.len()).position(|w| w == own).unwrap();
            rest.drain(from..from + own.len());
        }
    }
    rest
}

/// The bytes themselves are looked through: nothing in them is compressed.
#[test]
fn the_file_holds_no_call_no_proposal_and_no_name() {
    let mut farm = Farm::new(&ANIMALS);
    let file = sent(&mut farm);
    let bytes = fs::read(&file).unwrap();
    let words = [
        "secretname",
        "secret comment",
        "Heron",
        "made-up farm",
        "proposal",
        "probabilit",
        "stage",
        "chosen",
        "ambiguous",
        "second",
        "marked",
        "clear",
        "animal",
        "sample",
    ];
    for word in words {
        assert!(!holds(&bytes, word.as_bytes()), "it holds \"{word}\"");
    }
    // short words may stand in the pixels of a photo by chance: looked for in all the rest
    let rest = without_photos(&file, &bytes);
    for word in ["Ana", "call", "pond", "Exif", "\"D1\"", "\"B\"", "D2"] {
        assert!(!holds(&rest, word.as_bytes()), "it holds \"{word}\"");
    }
    let round = farm.session.rounds().unwrap().pop().unwrap().body;
    for slide in &round.slides {
        assert!(!holds(&bytes, slide.animal.to_string().as_bytes()));
        let hand = farm.session.sample_in_hand(farm.sample).unwrap();
        let of = hand
            .animals
            .iter()
            .find(|of| of.id() == slide.animal)
            .unwrap();
        assert!(!holds(&bytes, of.photos[0].body.hash.as_bytes()));
    }
    let mut zip = ZipArchive::new(fs::File::open(&file).unwrap()).unwrap();
    for at in 0..zip.len() {
        assert_eq!(
            zip.by_index_raw(at).unwrap().compression(),
            CompressionMethod::Stored
        );
    }
    let list: serde_json::Value =
        serde_json::from_reader(zip.by_name("slides.json").unwrap()).unwrap();
    let keys: Vec<&String> = list.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["format", "key", "reader", "slides", "version"]);
    let slide = list["slides"][0].as_object().unwrap();
    assert_eq!(slide.keys().collect::<Vec<_>>(), ["number", "photos"]);
    let photo = list["slides"][0]["photos"][0].as_object().unwrap();
    let keys: Vec<&String> = photo.keys().collect();
    assert_eq!(keys, ["blake3", "bytes", "file", "um_per_px"]);
    assert_eq!(photo["file"], "photos/001-1.jpg");
    // the originals do carry what must not travel
    let original = fs::read(farm.folder.path().join("secretname-000.jpg")).unwrap();
    assert!(holds(&original, b"secret comment"));
}

#[test]
fn slides_are_read_elsewhere_and_the_answer_is_taken_in_twice_without_harm() {
    let mut farm = Farm::new(&ANIMALS);
    let file = sent(&mut farm);
    let mut hand = opened(&file, &farm).unwrap();
    let round = farm.session.rounds().unwrap().pop().unwrap();
    assert_eq!(hand.slides.len(), round.body.slides.len());
    assert_eq!(hand.reader, "Ben");
    for slide in &hand.slides {
        assert!(slide.photos[0].path.is_file());
    }
    for slide in round.body.slides.iter().rev().skip(1) {
        hand.call(says(slide.number, Stage::C, i64::from(slide.number)))
            .unwrap();
    }
    // the program is ended and the file opened again: the calls are there
    let mut hand = opened(&file, &farm).unwrap();
    assert_eq!(hand.calls().len(), hand.slides.len() - 1);
    let last = hand.slides.len() as u32;
    hand.call(BlindCall {
        stage: None,
        ..says(last, Stage::C, 99)
    })
    .unwrap();
    assert!(matches!(
        hand.call(says(77, Stage::C, 1)),
        Err(SecondError::NoSlide { .. })
    ));
    let answer = hand.answer.clone();
    let (id, taken) = farm.session.take_answer(&answer).unwrap();
    assert_eq!((id, taken.new), (round.thing(), hand.slides.len()));
    assert!(farm.session.round_in_hand(id).unwrap().is_done());
    let rows = farm.session.info().unwrap().rows;
    let (_, again) = farm.session.take_answer(&answer).unwrap();
    assert_eq!(
        (again.new, again.changed, again.known),
        (0, 0, hand.slides.len())
    );
    assert_eq!(farm.session.info().unwrap().rows, rows);
    assert!(!farm.session.disagreements().unwrap().is_empty());
    // a file that is there is not written over, and nothing is drawn for it
    let taken = farm.session.send_round(
        &RoundPlan::of(farm.sample, "Cleo"),
        &file,
        &Progress::silent(),
    );
    assert!(matches!(
        taken,
        Err(SecondError::Blind(BlindError::Io { .. }))
    ));
    assert_eq!(farm.session.rounds().unwrap().len(), 1);
}

#[test]
fn files_that_are_cut_off_changed_or_foreign_are_refused_with_the_reason() {
    let mut farm = Farm::new(&ANIMALS);
    let file = sent(&mut farm);
    let whole = fs::read(&file).unwrap();
    let at = |name: &str, bytes: &[u8]| {
        let file = farm.folder.path().join(name);
        fs::write(&file, bytes).unwrap();
        file
    };
    for part in [10, 40, 60, 90, 99] {
        let cut = at("cut.zip", &whole[..whole.len() * part / 100]);
        let error = refused(&cut, &farm, "not whole");
        assert!(matches!(error, BlindError::Truncated { .. }));
    }
    let mut changed = whole.clone();
    let middle = changed.len() / 2;
    changed[middle] ^= 1;
    refused(&at("changed.zip", &changed), &farm, "changed or damaged");
    let tip = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/tip-01.jpg");
    for foreign in [
        at("photo.zip", &fs::read(tip).unwrap()),
        at("empty.zip", &[]),
    ] {
        refused(&foreign, &farm, "no zip file");
    }
    let export = farm.folder.path().join("export.zip");
    farm.session.export(&export).unwrap();
    refused(&export, &farm, "no file of blind slides");
    refused(farm.folder.path(), &farm, "");
    let gone = farm.folder.path().join("gone.zip");
    refused(&gone, &farm, "cannot be read");
    // nothing was laid anywhere
    assert!(!farm.folder.path().join("elsewhere").exists());
}

/// The parts of a file: names and contents.
type Parts = Vec<(String, Vec<u8>)>;

/// The parts of a file, changed by `change`, as a file again. The list is sealed anew with the key
/// it holds when `seal` says so, as somebody could who has the file.
fn forged(from: &Path, to: &Path, seal: bool, change: impl FnOnce(&mut Parts)) -> PathBuf {
    let mut zip = ZipArchive::new(fs::File::open(from).unwrap()).unwrap();
    let mut parts: Vec<(String, Vec<u8>)> = (0..zip.len())
        .map(|at| {
            let mut entry = zip.by_index(at).unwrap();
            let mut bytes = Vec::new();
            entry.read_to_end(&mut bytes).unwrap();
            (entry.name().unwrap().into_owned(), bytes)
        })
        .collect();
    change(&mut parts);
    if seal {
        let list = &parts
            .iter()
            .find(|(name, _)| name == "slides.json")
            .unwrap()
            .1;
        let json: serde_json::Value = serde_json::from_slice(list).unwrap();
        let key = blake3::Hash::from_hex(json["key"].as_str().unwrap()).unwrap();
        let sealed = blake3::keyed_hash(key.as_bytes(), list)
            .to_hex()
            .to_string();
        parts
            .iter_mut()
            .find(|(name, _)| name == "seal.txt")
            .unwrap()
            .1 = sealed.into_bytes();
    }
    let mut out = ZipWriter::new(fs::File::create(to).unwrap());
    for (name, bytes) in parts {
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        out.start_file(name, options).unwrap();
        out.write_all(&bytes).unwrap();
    }
    out.finish().unwrap();
    to.to_owned()
}

fn replace(list: &mut [u8], from: &str, to: &str) {
    let text = String::from_utf8(list.to_vec()).unwrap();
    assert!(text.contains(from) && from.len() == to.len());
    list.copy_from_slice(text.replacen(from, to, 1).as_bytes());
}

#[test]
fn forged_files_are_refused_with_the_reason() {
    let mut farm = Farm::new(&ANIMALS);
    let file = sent(&mut farm);
    let to = farm.folder.path().join("forged.zip");
    let list = |parts: &mut Parts| {
        parts
            .iter()
            .position(|(name, _)| name == "slides.json")
            .unwrap()
    };
    // as it is, only packed anew: it opens
    assert!(opened(&forged(&file, &to, false, |_| {}), &farm).is_ok());
    let forge = |seal, change: &dyn Fn(&mut Parts)| forged(&file, &to, seal, change);
    let other = forge(false, &|parts| {
        let at = list(parts);
        replace(&mut parts[at].1, "\"Ben\"", "\"Eve\"");
    });
    refused(&other, &farm, "slides.json was changed");
    let other = forge(false, &|parts| {
        let (_, bytes) = parts
            .iter_mut()
            .find(|(name, _)| name.starts_with("photos/"))
            .unwrap();
        bytes[200] ^= 1;
    });
    refused(&other, &farm, "photos/001-1.jpg was changed");
    let other = forge(false, &|parts| {
        parts.push(("photos/999-1.jpg".to_owned(), vec![1]));
    });
    refused(&other, &farm, "not in its list");
    let other = forge(false, &|parts| {
        parts.push(("readme.txt".to_owned(), vec![1]));
    });
    refused(&other, &farm, "it holds \"readme.txt\"");
    for name in [
        "../evil.jpg",
        "/etc/evil",
        "photos/../../evil.jpg",
        "C:\\evil.jpg",
    ] {
        let other = forge(false, &|parts| parts.push((name.to_owned(), vec![1])));
        let error = refused(&other, &farm, "outside of its folder");
        assert!(matches!(error, BlindError::Outside { .. }));
    }
    let other = forge(false, &|parts| {
        parts.retain(|(name, _)| name != "photos/001-1.jpg");
    });
    refused(&other, &farm, "\"photos/001-1.jpg\" is missing");
    let other = forge(false, &|parts| parts.retain(|(name, _)| name != "seal.txt"));
    refused(&other, &farm, "\"seal.txt\" is missing");
    let other = forge(true, &|parts| {
        let at = list(parts);
        replace(&mut parts[at].1, "\"version\": 1", "\"version\": 9");
    });
    assert!(matches!(
        refused(&other, &farm, "later version"),
        BlindError::Newer { .. }
    ));
    // a photo that unpacks to more than its list says
    let other = forge(true, &|parts| {
        let own = parts
            .iter_mut()
            .find(|(name, _)| name == "photos/001-1.jpg")
            .unwrap();
        own.1.resize(own.1.len() + 50_000_000, 0);
    });
    assert!(matches!(
        refused(&other, &farm, "unpacks to more"),
        BlindError::TooLarge { .. }
    ));
    // a list that says it is enormous, before anything of it is unpacked
    let other = forge(true, &|parts| {
        let at = list(parts);
        let text = String::from_utf8(parts[at].1.clone()).unwrap();
        let from = text.find("\"bytes\": ").unwrap() + 9;
        let digits = text[from..].find(',').unwrap();
        parts[at].1 = format!("{}9000000000{}", &text[..from], &text[from + digits..]).into_bytes();
    });
    refused(&other, &farm, "more than such a file may hold");
    let other = forge(false, &|parts| {
        parts.extend((0..3000).map(|at| (format!("photos/{at}-9.jpg"), Vec::new())));
    });
    refused(&other, &farm, "files, more than such a file may hold");
    // a list that unpacks to more than any list
    let other = forge(false, &|parts| {
        let at = list(parts);
        parts[at].1.resize(5_000_000, b' ');
    });
    refused(&other, &farm, "unpacks to more than");
}

#[test]
fn answers_that_are_changed_cut_off_or_foreign_are_refused_and_nothing_is_taken() {
    let mut farm = Farm::new(&ANIMALS);
    let file = sent(&mut farm);
    let mut hand = opened(&file, &farm).unwrap();
    for number in 1..=hand.slides.len() as u32 {
        hand.call(says(number, Stage::D1, i64::from(number)))
            .unwrap();
    }
    let whole = fs::read_to_string(&hand.answer).unwrap();
    let rows = farm.session.info().unwrap().rows;
    let bad = farm.folder.path().join("bad.jsonl");
    let mut refused = |text: &str, word: &str| {
        fs::write(&bad, text).unwrap();
        let said = farm.session.take_answer(&bad).unwrap_err().to_string();
        assert!(said.contains(word) && said.contains("bad.jsonl"), "{said}");
        assert_eq!(farm.session.info().unwrap().rows, rows);
    };
    refused(&whole.replacen("\"D1\"", "\"D2\"", 1), "changed or damaged");
    refused(&whole.replacen("Ben", "Eve", 1), "changed or damaged");
    for part in [20, 60, 90] {
        refused(&whole[..whole.len() * part / 100], "not whole");
    }
    refused("animal,stage\n1,A\n", "no answer of a second reader");
    refused("", "no answer of a second reader");
    refused(&" ".repeat(5_000_000), "more than such a file may hold");
    refused(
        &whole.replacen("\"version\":1", "\"version\":4", 1),
        "later version",
    );
    let of = whole.find("\"of\":\"").unwrap() + 6;
    let other = format!("{}{}{}", &whole[..of], "0".repeat(64), &whole[of + 64..]);
    refused(&other, "were not sent from this logbook");
    // another logbook knows nothing of it
    let elsewhere = farm.folder.path().join("other.logbook");
    let mut other = Session::create(&elsewhere, "other farm", "Dan").unwrap();
    assert!(matches!(
        other.take_answer(&hand.answer),
        Err(SecondError::UnknownRound { .. })
    ));
    // and the true one is still taken
    assert_eq!(
        farm.session.take_answer(&hand.answer).unwrap().1.new,
        hand.slides.len()
    );
    // an answer to other slides in the place of the answer is not written over
    fs::write(&hand.answer, other_answer(&whole)).unwrap();
    assert!(opened(&file, &farm).is_err());
}

fn other_answer(whole: &str) -> String {
    let of = whole.find("\"of\":\"").unwrap() + 6;
    format!("{}{}{}", &whole[..of], "1".repeat(64), &whole[of + 64..])
}
