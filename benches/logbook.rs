//! How long the logbook takes at a farm's full size, and how that grows from a tenth of it.
//!
//! `cargo bench --bench logbook` makes two logbooks (100 ponds, 5,000 samples, 150,000 animals with
//! readings and calls; and a tenth of each), times what a person waits for, and prints the medians
//! side by side.

#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a bench that cannot go on should stop, and its table is for the terminal"
)]

use criterion::Criterion;
use std::collections::BTreeMap;
use std::fs;
use std::hint::black_box;
use std::path::Path;
use std::path::PathBuf;
use std::time::Duration;
use std::time::Instant;
use tailfan::logbook::Action;
use tailfan::logbook::Change;
use tailfan::logbook::Logbook;
use tailfan::logbook::LogbookError;
use tailfan::logbook::Source;
use tailfan::logbook::open::Journal;
use tailfan::logbook::open::NewLogbook;
use tailfan::moult::Stage;
use tailfan::records::Reading;
use tailfan::records::SetaReading;
use tailfan::records::decisions::Call;
use tailfan::records::ids::PondId;
use tailfan::records::ids::RowId;
use tailfan::records::ids::SampleId;
use tailfan::records::ids::ThingId as _;
use tailfan::records::pictures::KeptReading;
use tailfan::records::pictures::Photo;
use tailfan::records::places::Animal;
use tailfan::records::places::Pond;
use tailfan::records::places::Sample;
use tailfan::records::stamp::Stamp;
use tailfan::records::words::ActionKind;
use tailfan::records::words::Agreement;
use tailfan::workflow::logbook::Session;
use tailfan::workflow::logbook::calls::NewCall;

const ROUNDS: usize = 41;
const SAMPLES_OF_EACH: usize = 50;
const ANIMALS_OF_EACH: usize = 30;

struct Farm {
    file: PathBuf,
    pond: PondId,
    sample: SampleId,
}

/// Ids and moments that depend on nothing but their order.
struct Counted(u64);

impl Source for Counted {
    fn id(&mut self) -> RowId {
        self.0 += 1;
        let mut bytes = [0; 16];
        bytes[..8].copy_from_slice(&(self.0 << 16).to_be_bytes());
        // scattered as random bits are
        bytes[8..].copy_from_slice(&self.0.wrapping_mul(0x9e37_79b9_7f4a_7c15).to_be_bytes());
        RowId::from_bytes(bytes)
    }

    fn now(&mut self) -> Stamp {
        Stamp::new(1_795_561_200_000, 420).unwrap()
    }
}

fn farm(folder: &Path, ponds: usize) -> Farm {
    let file = folder.join(format!("{ponds}.logbook"));
    let begun = Instant::now();
    let mut source = Counted(0);
    let new = NewLogbook {
        farm: "made-up farm",
        id: source.id(),
        made_at: source.now(),
        journal: Journal::WriteAhead,
    };
    let mut book = Logbook::create(&file, &new).unwrap();
    let mut seen = None;
    for number in 0..ponds {
        let action = Action {
            kind: ActionKind::Demo,
            about: None,
            undoes: None,
            by: "Reader",
        };
        let write = |change: &mut Change<'_>| pond(change, number);
        let (written, _) = book.act(action, &mut source, write).unwrap();
        if number == ponds / 2 {
            seen = Some(written);
        }
    }
    let (pond, sample) = seen.unwrap();
    let bytes = fs::metadata(&file).unwrap().len();
    println!(
        "{ponds} ponds: {} MB written in {:.1} s",
        bytes / 1_000_000,
        begun.elapsed().as_secs_f64()
    );
    Farm { file, pond, sample }
}

/// A pond with its samples, animals, photos, readings and calls; gives it and a sample in the middle.
fn pond(change: &mut Change<'_>, number: usize) -> Result<(PondId, SampleId), LogbookError> {
    let pond = change.add(&Pond::named(format!("Pond {number}")))?;
    let mut middle = None;
    for day in 0..SAMPLES_OF_EACH {
        let netted = change.at().later(-(day as f64)).unwrap();
        let sample = change.add(&Sample {
            note: (number == 7 && day == 7).then(|| "a needle in the hay".to_owned()),
            ..Sample::netted(pond, netted)
        })?;
        if day == SAMPLES_OF_EACH / 2 {
            middle = Some(sample);
        }
        for position in 1..=ANIMALS_OF_EACH {
            animal(change, sample, number * 10_000 + day * 100 + position)?;
        }
    }
    Ok((pond, middle.unwrap()))
}

fn animal(change: &mut Change<'_>, sample: SampleId, number: usize) -> Result<(), LogbookError> {
    let position = (number % 100) as i64;
    let animal = change.add(&Animal::of(sample, format!("{position:02}"), position))?;
    let photo = change.add(&Photo {
        animal: Some(animal),
        ..Photo::of(
            sample,
            format!("tip-{number:07}.jpg"),
            format!("{number:064}"),
        )
    })?;
    let seta = SetaReading {
        x: 812.4,
        y: 377.9,
        edge_x: Some(806.1),
        edge_y: Some(398.2),
        gap_px: Some(21.3),
        gap_um: Some(20.9),
        stage: Some(Stage::D0),
    };
    let stage = Stage::PROPOSED[number % 7];
    let reading = change.add(&KeptReading {
        photo,
        reading: Reading {
            usable: true,
            setae: vec![seta; 15],
            gap_base_widths: Some(1.39),
            proposal: Some(stage),
            ..Reading::refused(format!("tip-{number:07}.jpg"), Vec::new())
        },
        program: "0.1.0".to_owned(),
        measuring_version: 1,
        model: Some("shipped".to_owned()),
        author: None,
        based_on: None,
    })?;
    let call = Call {
        animal,
        stage: Some(stage),
        unread_because: None,
        reader: "Reader".to_owned(),
        called: change.at(),
        reading: Some(reading.row()),
        proposal: Some(stage),
        agreement: Agreement::Agreed,
        before_proposal: false,
        second_wanted: false,
        note: (number.is_multiple_of(20)).then(|| format!("a note on animal {number}")),
    };
    let called = change.add(&call)?;
    // one call in ten is changed
    if number.is_multiple_of(10) {
        let agreement = Agreement::Changed;
        let stage = Some(Stage::C);
        change.edit(
            called,
            &Call {
                stage,
                agreement,
                ..call
            },
        )?;
    }
    Ok(())
}

/// The median time of some rounds, each with its own start.
fn median(mut round: impl FnMut()) -> Duration {
    round();
    let mut times: Vec<Duration> = (0..ROUNDS)
        .map(|_| {
            let begun = Instant::now();
            round();
            begun.elapsed()
        })
        .collect();
    times.sort();
    times[ROUNDS / 2]
}

fn times(farm: &Farm) -> BTreeMap<&'static str, Duration> {
    let open = || Session::open(&farm.file, "Reader").unwrap();
    let mut times = BTreeMap::new();
    times.insert(
        "1 open and list the ponds",
        median(|| {
            black_box(open().ponds().unwrap());
        }),
    );
    let session = open();
    times.insert(
        "2 the samples of a pond",
        median(|| {
            black_box(session.samples_of(farm.pond).unwrap());
        }),
    );
    times.insert(
        "3 a sample and its tally",
        median(|| {
            black_box(session.sample_in_hand(farm.sample).unwrap());
            black_box(session.tally(farm.sample).unwrap());
        }),
    );
    times.insert(
        "4 search: a rare word",
        median(|| {
            assert_eq!(session.search("needle", 50).unwrap().len(), 1);
        }),
    );
    times.insert(
        "5 search: a frequent word",
        median(|| {
            assert_eq!(session.search("note", 50).unwrap().len(), 50);
        }),
    );
    times.insert(
        "6 search: a photo",
        median(|| {
            assert!(!session.search("tip-00012", 50).unwrap().is_empty());
        }),
    );
    times.insert(
        "7 the samples netted last",
        median(|| {
            black_box(session.latest_samples(20).unwrap());
        }),
    );
    times
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let (small, large) = (farm(folder.path(), 10), farm(folder.path(), 100));
    let (tenth, full) = (times(&small), times(&large));
    println!(
        "\n{:<28} {:>10} {:>10} {:>8}",
        "median, ms", "a tenth", "full", "growth"
    );
    for (what, at_full) in &full {
        let (a, b) = (tenth[what].as_secs_f64() * 1e3, at_full.as_secs_f64() * 1e3);
        println!("{what:<28} {a:>10.2} {b:>10.2} {:>7.1}x", b / a);
    }
    let mut criterion = Criterion::default().sample_size(10).configure_from_args();
    let mut session = Session::open(&large.file, "Reader").unwrap();
    let animal = session.sample_in_hand(large.sample).unwrap().animals[0].id();
    criterion.bench_function("call an animal, on the disk", |bench| {
        let call = NewCall::by_eye(Stage::C);
        bench.iter(|| session.call(animal, call.clone()).unwrap());
    });
    criterion.final_summary();
}
