//! What training on 2,000 labelled readings costs on one thread, their measures already made; and
//! reading again from kept measures, on one thread and on all.

use criterion::Criterion;
use criterion::criterion_group;
use criterion::criterion_main;
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::hint::black_box;
use tailfan::geometry::Point;
use tailfan::measure::MEASURES;
use tailfan::measure::Measured;
use tailfan::measure::Measurements;
use tailfan::measure::Seta;
use tailfan::moult::Stage;
use tailfan::progress::Progress;
use tailfan::stage::evaluation::Truth;
use tailfan::stage::fitting::Row;
use tailfan::stage::fitting::Source;
use tailfan::stage::model::shipped;
use tailfan::stage::own::OwnSettings;
use tailfan::stage::own::fit_own;
use tailfan::stage::proposal::propose;
use tailfan::units::Pixels;
use tailfan::workflow::training::row;

/// A made-up tip whose measures overlap with those of its neighbours in the cycle.
fn made_up(at: f64, dice: &mut ChaCha8Rng) -> Measurements {
    let of_animal: f64 = dice.random::<f64>() - 0.5;
    let mut noise = |width: f64| width * (dice.random::<f64>() - 0.5) + 0.5 * width * of_animal;
    let value = |name: &str, n: f64| match name {
        "gap_base_widths" => (at - 2.0).max(0.0) * 1.7 + 2.0 * n,
        "base_fill" | "lumen_fill" | "base_pigment" | "lumen_pigment" => (2.0 - at).max(0.0) + n,
        "base_line" => (at * 0.5).min(1.0) + n,
        "new_setae" | "scallop_base_widths" => ((at - 3.0) * 0.4).max(0.0) + n,
        _ => 0.3 + n,
    };
    let setae: Vec<Seta> = (0..14)
        .map(|i| Seta {
            base: Point::new(40.0 * f64::from(i), 100.0),
            edge: None,
            gap: None,
            measures: std::array::from_fn(|i| Some(value(MEASURES[i], noise(1.6)))),
        })
        .collect();
    let measures = std::array::from_fn(|i| {
        let values: Vec<f64> = setae.iter().filter_map(|s| s.measures[i]).collect();
        Measured::of(&values)
    });
    Measurements {
        setae,
        base_width: Pixels::new(15.0),
        spacing: Pixels::new(40.0),
        measures,
        shafts: None,
    }
}

fn slides(count: usize) -> Vec<(Stage, Measurements)> {
    let mut dice = ChaCha8Rng::seed_from_u64(5);
    (0..count)
        .map(|i| {
            let class = i % Stage::PROPOSED.len();
            let at = class as f64 + 0.9 * (dice.random::<f64>() - 0.5);
            (Stage::PROPOSED[class], made_up(at, &mut dice))
        })
        .collect()
}

fn labelled(slides: &[(Stage, Measurements)]) -> Vec<Row> {
    let with_number = slides.iter().enumerate();
    with_number
        .map(|(i, (stage, measurements))| {
            let truth = Truth::Stage {
                stage: *stage,
                clear: true,
            };
            let (pond, animal) = (format!("pond {}", i % 9), format!("animal {}", i / 2));
            row(measurements, truth, [&pond, &animal], Source::Own)
        })
        .collect()
}

fn training(criterion: &mut Criterion) {
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let all = rayon::ThreadPoolBuilder::new().build();
    let (Ok(one), Ok(all), Ok(model)) = (one, all, shipped()) else {
        return;
    };
    let slides = slides(2_000);
    let rows = labelled(&slides);
    let settings = OwnSettings {
        name: "bench".to_owned(),
        seed: 1,
        share: 1.0,
        penalty: None,
        command: String::new(),
    };
    let mut group = criterion.benchmark_group("training");
    group.sample_size(10);
    let train = || fit_own(black_box(&rows), &[], &settings, &Progress::silent());
    group.bench_function("2000 labelled readings, one thread", |b| {
        b.iter(|| one.install(train));
    });
    group.bench_function("2000 labelled readings, all threads", |b| {
        b.iter(|| all.install(train));
    });
    let again = || {
        let proposals = slides
            .par_iter()
            .map(|(_, m)| propose(&model, black_box(m)));
        proposals.filter(|p| p.proposal.is_some()).count()
    };
    group.bench_function("reading 2000 again from measures, one thread", |b| {
        b.iter(|| one.install(again));
    });
    group.bench_function("reading 2000 again from measures, all threads", |b| {
        b.iter(|| all.install(again));
    });
    group.finish();
}

criterion_group!(benches, training);
criterion_main!(benches);
