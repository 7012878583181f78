//! What reading a photo costs beside the decoding of its file, at 2, 5 and 12 megapixels, on one
//! thread; and what a painted picture costs.

use criterion::BenchmarkId;
use criterion::Criterion;
use criterion::criterion_group;
use criterion::criterion_main;
use std::path::PathBuf;
use tailfan::margin::blade::find_blade;
use tailfan::margin::find_tips;
use tailfan::measure::measure;
use tailfan::micrograph::decode::Limits;
use tailfan::micrograph::decode::decode_file;
use tailfan::micrograph::light::Lights;
use tailfan::moult::Stage;
use tailfan::painter::paint;
use tailfan::painter::plain::Plain;
use tailfan::progress::Progress;
use tailfan::stage::model::shipped;
use tailfan::stage::proposal::propose;
use tailfan::workflow::painting::Order;
use tailfan::workflow::painting::paint_folder;
use tailfan::workflow::painting::parse_condition;
use tailfan::workflow::reading::ReadOptions;
use tailfan::workflow::reading::read_photo;

/// A painted tip in D1 at so many megapixels.
fn photo(folder: &std::path::Path, condition: &str) -> Option<PathBuf> {
    let order = Order {
        per_stage: 1,
        seed: 11,
        condition: parse_condition(condition).ok()?,
        between: 0,
        negatives: 0,
    };
    let folder = folder.join(condition);
    let truths = paint_folder(&folder, &order, &Progress::silent()).ok()?;
    let truth = truths.iter().find(|truth| truth.stage == "D1")?;
    Some(folder.join(&truth.file))
}

fn reading(criterion: &mut Criterion) {
    let one_thread = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build_global();
    let (Ok(()), Ok(folder), Ok(model)) = (one_thread, tempfile::tempdir(), shipped()) else {
        return;
    };
    let limits = Limits::default();
    let options = ReadOptions::default();
    let mut group = criterion.benchmark_group("reading");
    group.sample_size(10);
    for condition in ["standard", "megapixels-5", "megapixels-12"] {
        let Some(path) = photo(folder.path(), condition) else {
            continue;
        };
        let Ok(decoded) = decode_file(&path, &limits) else {
            continue;
        };
        let micrograph = &decoded.micrograph;
        let lights = Lights::of(micrograph);
        let name = |what: &str| BenchmarkId::new(what, condition);
        group.bench_function(name("decode"), |b| b.iter(|| decode_file(&path, &limits)));
        group.bench_function(name("light"), |b| b.iter(|| Lights::of(micrograph)));
        group.bench_function(name("blade"), |b| b.iter(|| find_blade(&lights)));
        group.bench_function(name("tip"), |b| {
            b.iter(|| find_tips(&lights).map(|mut tips| tips.next()));
        });
        group.bench_function(name("measure"), |b| b.iter(|| measure(micrograph)));
        if let Ok((_, measurements)) = measure(micrograph) {
            group.bench_function(name("propose"), |b| {
                b.iter(|| propose(&model, &measurements));
            });
        }
        group.bench_function(name("read"), |b| {
            b.iter(|| read_photo(&path, "photo", &options));
        });
    }
    if let Some(plain) = Plain::new(Stage::D1) {
        let scene = plain.scene();
        group.bench_function("paint", |b| b.iter(|| paint(&scene)));
    }
    group.finish();
}

criterion_group!(benches, reading);
criterion_main!(benches);
