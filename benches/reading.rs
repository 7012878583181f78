//! What a reading costs beside the decoding of its photo, and what a painted picture costs.

use criterion::Criterion;
use criterion::criterion_group;
use criterion::criterion_main;
use std::path::Path;
use tailfan::measure::measure;
use tailfan::micrograph::decode::Limits;
use tailfan::micrograph::decode::decode_file;
use tailfan::moult::Stage;
use tailfan::painter::paint;
use tailfan::painter::plain::Plain;

fn reading(criterion: &mut Criterion) {
    let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/tip-03.jpg");
    let limits = Limits::default();
    let Ok(decoded) = decode_file(&photo, &limits) else {
        return;
    };
    let mut group = criterion.benchmark_group("reading");
    group.sample_size(10);
    group.bench_function("decode", |b| b.iter(|| decode_file(&photo, &limits)));
    group.bench_function("measure", |b| b.iter(|| measure(&decoded.micrograph)));
    if let Some(plain) = Plain::new(Stage::D1) {
        let scene = plain.scene();
        group.bench_function("paint", |b| b.iter(|| paint(&scene)));
    }
    group.finish();
}

criterion_group!(benches, reading);
criterion_main!(benches);
