//! The manager's page, opened by readers that are not ours (poppler and qpdf).
//!
//! Where they are not installed these tests say so and pass, unless `TAILFAN_TOOLS` is set to
//! `needed`, as `.ci/run` does.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use tailfan::moult::Stage;
use tailfan::records::decisions::SecondCall;
use tailfan::records::places::Outcome;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::records::stamp::Stamp;
use tailfan::records::words::Unread;
use tailfan::report::Paper;
use tailfan::report::SamplePage;
use tailfan::report::sample_page;
use tailfan::report::season;
use tailfan::report::wall_chart;
use tailfan::tally::Answer;
use tailfan::tally::Settings;
use tailfan::texts;
use tailfan::units::DegreesCelsius;
use tailfan::units::Grams;
use tailfan::workflow::forecasting::DatedForecast;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::calls::NewCall;
use tailfan::workflow::report::CallsPage;
use tailfan::workflow::report::forecast_of;
use tailfan::workflow::report::page_of_calls;
use tailfan::workflow::report::page_of_sample;
use tailfan::workflow::report::season_of;
use tempfile::TempDir;

/// Says whether a tool of poppler or qpdf can be run.
#[expect(clippy::print_stderr, reason = "what was left out must be seen")]
fn has(tool: &str) -> bool {
    let found = Command::new(tool).arg("--version").output().is_ok();
    let needed = std::env::var("TAILFAN_TOOLS").is_ok_and(|v| v == "needed");
    assert!(found || !needed, "{tool} is not installed");
    if !found {
        eprintln!("{tool} is not installed: its part of this test was left out");
    }
    found
}

fn run(tool: &str, arguments: &[&str]) -> String {
    let done = Command::new(tool).args(arguments).output().unwrap();
    let told = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.success(), "{tool}: {told}");
    // Poppler says this of every document that rightly states that it has no suspects.
    let told = told.replace("Syntax Error: Suspects object is wrong type (boolean)", "");
    assert!(!told.to_lowercase().contains("error"), "{tool}: {told}");
    String::from_utf8(done.stdout).unwrap()
}

/// The words of a PDF file as poppler reads them, blanks and line ends as one blank.
fn words(bytes: &[u8]) -> Option<String> {
    if !has("pdftotext") {
        return None;
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.pdf");
    fs::write(&file, bytes).unwrap();
    let text = run("pdftotext", &["-enc", "UTF-8", file.to_str().unwrap(), "-"]);
    Some(one_blank(&text))
}

fn one_blank(text: &str) -> String {
    text.split(|c: char| c.is_whitespace())
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

#[track_caller]
fn says(text: &str, wanted: &str) {
    let wanted = one_blank(wanted);
    assert!(text.contains(&wanted), "\"{wanted}\" is not in:\n{text}");
}

struct Made {
    _folder: TempDir,
    request: CallsPage,
}

fn calls(of: &[(&str, usize)]) -> Made {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("calls.csv");
    let mut table = "animal,stage\n".to_owned();
    let mut number = 0;
    for (stage, n) in of {
        for _ in 0..*n {
            number += 1;
            writeln!(table, "T{number:03},{stage}").unwrap();
        }
    }
    fs::write(&file, table).unwrap();
    Made {
        request: request(file),
        _folder: folder,
    }
}

fn request(calls: PathBuf) -> CallsPage {
    CallsPage {
        calls,
        settings: Settings::default(),
        pond: "Heron 4".to_owned(),
        netted: "2026-11-26T06:00+07:00".parse().unwrap(),
        species: Some("vannamei".parse().unwrap()),
        weight: Some(Grams::new(14.0)),
        water: vec![DegreesCelsius::new(28.0)],
        drain_start: Some("2026-11-27T04:00+07:00".parse().unwrap()),
        drain_hours: None,
        readers: vec!["Reader One: 25 animals".to_owned()],
        made_up: true,
    }
}

fn made(request: &CallsPage) -> (SamplePage, DatedForecast) {
    let page = page_of_calls(request).unwrap();
    let ahead = forecast_of(request).unwrap().unwrap();
    (page, ahead)
}

/// One, 25 and 150 animals; every verdict; both papers.
#[test]
fn pages_open_in_two_readers_and_say_their_verdict() {
    let cases: [(&[(&str, usize)], Answer); 4] = [
        (&[("D0", 1)], Answer::TooFewAnimals),
        (
            &[
                ("A", 1),
                ("B", 2),
                ("C", 6),
                ("D0", 7),
                ("D1", 5),
                ("D2", 3),
                ("unread", 1),
            ],
            Answer::TooFewAnimals,
        ),
        (&[("C", 60), ("D0", 90)], Answer::WithinLimits),
        (
            &[
                ("A", 30),
                ("B", 30),
                ("C", 20),
                ("D1", 30),
                ("D3", 30),
                ("E", 4),
                ("unread", 6),
            ],
            Answer::OverLimits,
        ),
    ];
    let folder = tempfile::tempdir().unwrap();
    for (number, (of, answer)) in cases.into_iter().enumerate() {
        let given = calls(of);
        let (page, ahead) = made(&given.request);
        assert_eq!(ahead.harvest.unwrap().verdict, answer, "{of:?}");
        for paper in [Paper::A4, Paper::Letter] {
            let bytes = sample_page(&page, paper).unwrap();
            let file = folder.path().join(format!("page-{number}.pdf"));
            fs::write(&file, &bytes).unwrap();
            let name = file.to_str().unwrap();
            if has("qpdf") {
                run("qpdf", &["--check", name]);
            }
            if has("pdfinfo") {
                let told = run("pdfinfo", &[name]);
                let size = if paper == Paper::A4 { "A4" } else { "letter" };
                assert!(told.contains("Tagged:          yes"), "{told}");
                assert!(told.contains(size), "{told}");
                let sheets = told.lines().find_map(|line| line.strip_prefix("Pages:"));
                let sheets: usize = sheets.unwrap().trim().parse().unwrap();
                assert!(sheets <= 3, "{sheets} sheets");
                assert!(
                    told.contains("CreationDate:    ") && told.contains("2026"),
                    "{told}"
                );
            }
            if has("pdffonts") {
                let told = run("pdffonts", &[name]);
                for font in told.lines().skip(2) {
                    assert!(
                        font.contains("Noto") && font.contains("yes yes yes"),
                        "{font}"
                    );
                }
            }
            if has("pdftoppm") {
                let to = folder.path().join("sheet");
                run(
                    "pdftoppm",
                    &["-r", "40", "-gray", name, to.to_str().unwrap()],
                );
                assert!(inked(&folder.path().join("sheet-1.pgm")) > 0.02);
            }
            let Some(text) = words(&bytes) else {
                continue;
            };
            says(&text, &page.verdict);
            says(
                &text,
                texts::tally::answer(answer).trim_start_matches("moult tally "),
            );
            says(&text, "MADE-UP DATA");
            says(&text, "page 1 of ");
        }
    }
}

/// The part of a grey picture (PGM, binary) that is darker than half.
fn inked(file: &Path) -> f64 {
    let bytes = fs::read(file).unwrap();
    let pixels = &bytes[bytes.len() - bytes.len() * 9 / 10..];
    let dark = pixels.iter().filter(|value| **value < 128).count();
    dark as f64 / pixels.len() as f64
}

/// Every number of tally, forecast and assumptions stands on the page as the library has it.
#[test]
fn the_page_says_what_the_library_computed() {
    let given = calls(&[
        ("A", 2),
        ("B", 3),
        ("C", 21),
        ("D0", 17),
        ("D1", 11),
        ("D2", 5),
        ("D3", 2),
        ("D4", 1),
        ("E", 1),
        ("unread", 2),
    ]);
    let (page, ahead) = made(&given.request);
    let Some(text) = words(&sample_page(&page, Paper::A4).unwrap()) else {
        return;
    };
    let tally = &ahead.tally;
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    for group in [&tally.soft, &tally.moulting, &tally.due] {
        says(&text, &format!("{} of {}", group.count, group.of));
        says(&text, &percent(group.share.unwrap()));
        says(
            &text,
            &format!("{:.1} to {:.1} %", 100.0 * group.low, 100.0 * group.high),
        );
    }
    for (stage, at) in &tally.shares {
        let (name, count) = (texts::key::name(*stage), tally.counts[stage]);
        let (low, high) = (100.0 * at.low, 100.0 * at.high);
        says(
            &text,
            &format!(
                "{stage} {name} {count} {} {low:.1} to {high:.1} %",
                percent(at.share.unwrap())
            ),
        );
    }
    says(
        &text,
        &format!("synchrony {:.2}", tally.synchrony.unwrap().resultant),
    );
    says(&text, "65 netted, 63 called, 2 unread");
    says(&text, &format!("Moult cycle: {:.1} days", ahead.cycle_days));
    for night in &ahead.nights {
        let day = night.morning[8..].trim_start_matches('0').to_owned();
        let month = if night.morning[5..7] == *"11" {
            "Nov"
        } else {
            "Dec"
        };
        // Every second night is labelled where they stand close.
        if night.night % 2 == 1 {
            says(&text, &format!("{day} {month}"));
        }
    }
    let harvest = ahead.harvest.as_ref().unwrap();
    for because in &harvest.because {
        // Moments are written as people do.
        let (before, after) = because
            .split_once(" at 2026-")
            .map_or((&**because, ""), |(a, b)| {
                (a, b.split_once(')').map_or("", |(_, rest)| rest))
            });
        says(&text.to_lowercase(), &before.to_lowercase());
        says(&text, after);
    }
    says(&text, &percent(harvest.worst_soft));
    assert!(!text.contains("(+07:00)"), "{text}");
    for warning in &ahead.warnings {
        says(&text.to_lowercase(), &warning.to_lowercase());
    }
    for sentence in texts::tally::sentences(tally) {
        says(&text, &sentence);
    }
    for item in &ahead.assumed {
        says(&text, item.source);
    }
    for caution in texts::cautions::HARVEST {
        says(&text, caution);
    }
    says(&text, "Reader One: 25 animals");
    says(&text, "2 of 65 animals, counted as unread.");
    says(&text, "unread: T064, T065");
    says(&text, texts::readings::NO_REAL_MICROGRAPH);
    says(&text, &format!("Tailfan {}", env!("CARGO_PKG_VERSION")));
}

#[test]
fn names_in_other_scripts_keep_their_letters() {
    let long = "Ao nuôi tôm số 7, khu Đông Nguyễn Thị Ánh Tuyết ".repeat(6);
    let names = [
        "Estanque Peñón número 3, ría de l'Àger",
        "Ao số 12 Nguyễn Văn Đức",
        "บ่อกุ้งที่ 4 ฟาร์มเหนือ",
        // sara am, which shaping takes apart
        "บ่อน้ำ 4 กำแพงเพชร",
        "Łódź 1 Żółw, Çeşme, Ærø",
        long.trim(),
    ];
    for name in names {
        let given = calls(&[("C", 20)]);
        let request = CallsPage {
            pond: name.to_owned(),
            ..given.request.clone()
        };
        let (page, _) = made(&request);
        let Some(text) = words(&sample_page(&page, Paper::A4).unwrap()) else {
            return;
        };
        // Lines may break within long names.
        let letters =
            |text: &str| -> String { text.chars().filter(|c| !c.is_whitespace()).collect() };
        let (found, wanted) = (letters(&text), letters(name));
        assert!(found.contains(&wanted), "{wanted} is not in {found}");
        assert!(!text.contains(texts::page::NO_LETTERS), "{name}");
    }
    let given = calls(&[("C", 20)]);
    let request = CallsPage {
        pond: "\u{6c60}\u{1f990}".to_owned(),
        ..given.request.clone()
    };
    let (page, _) = made(&request);
    if let Some(text) = words(&sample_page(&page, Paper::A4).unwrap()) {
        says(&text, "Pond ??, netted");
        says(&text, texts::page::NO_LETTERS);
    }
}

/// The names of readers are set small: marks over and under their letters must not fall out of them,
/// whether the text is taken by blocks or by lines.
#[test]
fn names_with_marks_stay_in_one_piece_in_small_letters() {
    if !has("pdftotext") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.pdf");
    for name in [
        "ปิ่นแก้ว ศรีสุข",
        "ผู้อ่าน ที่หนึ่ง",
        "ปู่ ย่า ฝั่งโน้น",
        "ชื่อผู้ใหญ่ ตั้งอยู่",
        "เพ็ญศรี ทวีสิทธิ์",
        "น้ำค้าง กำแพงเพชร",
        "Nguyễn Thị Ánh Tuyết",
    ] {
        let given = calls(&[("C", 20)]);
        let request = CallsPage {
            readers: vec![name.to_owned()],
            ..given.request.clone()
        };
        let (page, _) = made(&request);
        fs::write(&file, sample_page(&page, Paper::A4).unwrap()).unwrap();
        for order in ["-reading-order", "-layout", "-raw"] {
            let mut arguments = vec!["-enc", "UTF-8", file.to_str().unwrap(), "-"];
            if order != "-reading-order" {
                arguments.insert(0, order);
            }
            let text = run("pdftotext", &arguments);
            assert!(text.contains(name), "{order}: {name} is not in\n{text}");
        }
    }
}

#[test]
fn the_same_values_give_the_same_bytes_from_one_run_to_the_next() {
    let given = calls(&[("B", 2), ("C", 11), ("D2", 9), ("unread", 3)]);
    let (page, _) = made(&given.request);
    let first = sample_page(&page, Paper::A4).unwrap();
    assert_eq!(first, sample_page(&page, Paper::A4).unwrap());
    let folder = tempfile::tempdir().unwrap();
    let runs: Vec<Vec<u8>> = ["a.pdf", "b.pdf"]
        .into_iter()
        .map(|name| {
            let file = folder.path().join(name);
            let done = Command::new(env!("CARGO_BIN_EXE_tailfan"))
                .args([
                    "report",
                    "--pond",
                    "Heron 4",
                    "--netted",
                    "2026-11-26T06:00+07:00",
                ])
                .args(["--species", "vannamei", "--weight", "14", "--water", "28"])
                .arg("--calls")
                .arg(&given.request.calls)
                .arg("--out")
                .arg(&file)
                .output()
                .unwrap();
            assert!(
                done.status.success(),
                "{}",
                String::from_utf8_lossy(&done.stderr)
            );
            fs::read(&file).unwrap()
        })
        .collect();
    assert_eq!(runs[0], runs[1]);
    assert!(runs[0].starts_with(b"%PDF-"));
    assert!(!folder.path().join("a.pdf.part").exists());
}

/// What is from memory or assumed must not be printed as if it were published: the words that have
/// to stand with each such value.
#[test]
fn nothing_assumed_is_printed_as_published() {
    let given = calls(&[("C", 20), ("D2", 4)]);
    let (_, ahead) = made(&given.request);
    let marks = [
        "our choice",
        "from memory",
        "common practice",
        "trade article",
        "weak prior",
    ];
    let unmarked = |name: &str| {
        let item = ahead.assumed.iter().find(|item| item.name.contains(name));
        let source = item.map_or("", |item| item.source);
        assert!(item.is_some(), "{name} is not among the assumptions");
        !marks.iter().any(|mark| source.contains(mark))
    };
    for name in [
        "share of the cycle in A",
        "share of the cycle in D1",
        "share of the cycle in D4",
        "limit on soft",
        "limit on moulting",
        "limit on due",
        "confidence",
        "spread of the cycle",
        "length of the drain",
        "range of the mean cycle",
        "range of the water",
    ] {
        assert!(!unmarked(name), "{name} looks published");
    }
    // The effect of the temperature was published as not significant, and says so.
    let q10 = ahead
        .assumed
        .iter()
        .find(|item| item.name == "Q10")
        .unwrap();
    assert!(q10.source.contains("not significant"));
}

#[test]
fn without_species_or_calls_there_is_a_page_without_nights() {
    let given = calls(&[("C", 20)]);
    let request = CallsPage {
        species: None,
        drain_start: None,
        ..given.request.clone()
    };
    let page = page_of_calls(&request).unwrap();
    assert!(
        page.verdict
            .starts_with("Too few animals to tell at the hour of netting")
    );
    if let Some(text) = words(&sample_page(&page, Paper::A4).unwrap()) {
        says(&text, texts::page::NO_FORECAST);
    }
    let none = calls(&[("unread", 3)]);
    let page = page_of_calls(&CallsPage {
        drain_start: None,
        ..none.request.clone()
    });
    if let Some(text) = words(&sample_page(&page.unwrap(), Paper::A4).unwrap()) {
        says(&text, texts::page::NOTHING_CALLED);
        says(&text, "No animal was called.");
    }
}

/// The stage key fits one sheet and marks where each sentence is from.
#[test]
fn the_wall_chart_is_one_sheet_with_every_stage() {
    let about = tailfan::report::About {
        title: texts::key::TITLE.to_owned(),
        program: "Tailfan".to_owned(),
        foot: "Tailfan".to_owned(),
        made: None,
    };
    for paper in [Paper::A3, Paper::A4, Paper::Letter] {
        let bytes = wall_chart(&about, paper).unwrap();
        let Some(text) = words(&bytes) else {
            return;
        };
        says(&text, "page 1 of 1");
        says(&text, texts::key::OWN_RULE);
        for stage in Stage::ALL {
            says(&text, &format!("{stage} {}", texts::key::name(stage)));
            for one in texts::key::criteria(stage) {
                says(
                    &text,
                    &format!("{}: {} [{}]", one.of, one.text, one.source.mark()),
                );
            }
        }
        for source in texts::key::SOURCES {
            says(&text, source);
        }
    }
}

/// A sample and its pond as the logbook has them: readers, second readers, unread animals, limits
/// of the pond, outcome.
#[test]
fn pages_of_the_logbook_say_what_was_kept() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("farm.logbook");
    let mut session = Session::create(&file, "made-up farm", "Reader One").unwrap();
    let pond = session
        .add_pond(&Pond {
            species: Some("vannamei".to_owned()),
            soft_limit: Some(0.08),
            note: Some("made up".to_owned()),
            ..Pond::named("Heron 4")
        })
        .unwrap();
    let stamp = |text: &str| text.parse::<Stamp>().unwrap();
    let sample = session
        .new_sample(&Sample {
            mean_weight_g: Some(14.0),
            water_c: Some(28.5),
            harvest_start: Some(stamp("2026-11-28T04:00+07:00")),
            drain_hours: Some(12.0),
            ..Sample::netted(pond, stamp("2026-11-26T06:00+07:00"))
        })
        .unwrap();
    let animals = session.add_animals(sample, 24).unwrap();
    for (i, animal) in animals.iter().enumerate() {
        let call = match i {
            0 => NewCall::unread(Unread::Regenerated),
            1..=2 => NewCall::by_eye(Stage::B),
            3 => continue,
            4..=12 => NewCall::by_eye(Stage::C),
            _ => NewCall::by_eye(Stage::D1),
        };
        session.call(*animal, call).unwrap();
    }
    for (animal, stage) in [(animals[1], Stage::B), (animals[2], Stage::C)] {
        session
            .second_call(&SecondCall {
                animal,
                stage: Some(stage),
                unread_because: None,
                reader: "Reader Two".to_owned(),
                called: stamp("2026-11-26T09:00+07:00"),
                chosen: None,
                note: None,
            })
            .unwrap();
    }
    let page = page_of_sample(&session, sample).unwrap();
    assert_eq!(page.tally, session.tally(sample).unwrap());
    assert!(page.made_up);
    let bytes = sample_page(&page, Paper::A4).unwrap();
    if let Some(text) = words(&bytes) {
        says(&text, "for the drain from 28 Nov 04:00 to 28 Nov 16:00");
        says(&text, "Reader One: 22 animals");
        says(
            &text,
            "Reader Two, second reader: 2 animals, same stage in 1",
        );
        says(&text, "regrown, or clipped before");
        says(&text, texts::page::NOT_CALLED);
        says(&text, "limit 8 %");
        says(&text, "Water 28.5 °C");
    }
    let outcome = Outcome {
        animals_checked: Some(200),
        soft_found: Some(15),
        pond,
        sample: Some(sample),
        harvested: stamp("2026-11-28T04:00+07:00"),
        ended: None,
        harvest_kg: None,
        refused_kg: None,
        note: None,
    };
    session.add_outcome(&outcome).unwrap();
    let report = season_of(&session, pond).unwrap();
    let Some(text) = words(&season(&report, Paper::Letter).unwrap()) else {
        return;
    };
    says(&text, "Pond Heron 4, 26 Nov 2026 to 26 Nov 2026");
    says(&text, "24 2 ");
    says(&text, "15 of 200 soft (7.5 %)");
    // The same by the command line, with the table.
    let (out, table) = (
        folder.path().join("page.pdf"),
        folder.path().join("page.csv"),
    );
    drop(session);
    let done = Command::new(env!("CARGO_BIN_EXE_tailfan"))
        .env("HOME", folder.path())
        .args(["report", "heron 4@2026-11-26", "--logbook"])
        .args([
            &file,
            Path::new("--out"),
            &out,
            Path::new("--table"),
            &table,
        ])
        .output()
        .unwrap();
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    assert_eq!(fs::read(out).unwrap(), bytes);
    let table = fs::read_to_string(table).unwrap();
    assert_eq!(table.lines().count(), 1 + 9 + 3);
    let soft = &page.tally.soft;
    let row = format!(
        "group,soft,{},{},{}",
        soft.count,
        soft.of,
        100.0 * soft.share.unwrap()
    );
    assert!(table.contains(&row), "{table}");
}
