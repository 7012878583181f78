//! What a forecast costs: it must follow a water temperature that is being dragged.

use criterion::Criterion;
use criterion::criterion_group;
use criterion::criterion_main;
use std::hint::black_box;
use tailfan::cycle::arcs::StageArcs;
use tailfan::decision::verdict::judge;
use tailfan::forecast::Drain;
use tailfan::forecast::NightClock;
use tailfan::forecast::Spreads;
use tailfan::forecast::Start;
use tailfan::forecast::forecast;
use tailfan::moult::Stage;
use tailfan::tally::Animal;
use tailfan::tally::Settings;
use tailfan::tally::tally;
use tailfan::units::Days;

/// Thirty animals of all stages, forecast over 21 nights, with and without the verdict on a drain.
fn thirty_animals(criterion: &mut Criterion) {
    let counts = [2, 4, 5, 5, 7, 3, 3, 1];
    let animals: Vec<Animal> = Stage::ALL
        .into_iter()
        .zip(counts)
        .flat_map(|(stage, k)| {
            let animal = Animal {
                stage: Some(stage),
                shell: None,
            };
            std::iter::repeat_n(animal, k)
        })
        .collect();
    let (settings, arcs) = (Settings::default(), StageArcs::published());
    let Ok(clock) = NightClock::new(6.0, Vec::new()) else {
        return;
    };
    let sample = tally(&animals, &settings, &arcs);
    let start = Start {
        tally: &sample,
        settings: &settings,
        arcs: &arcs,
        cycle: Days::new(10.07),
        stretch_per_degree: 0.94,
        spreads: Spreads::default(),
        clock,
        nights: 21,
        drain: Drain {
            opens: Days::new(0.92),
            lasts: Days::new(1.0),
        },
    };
    let mut group = criterion.benchmark_group("forecast");
    group.bench_function("tally of 30", |b| {
        b.iter(|| tally(black_box(&animals), &settings, &arcs));
    });
    group.bench_function("30 animals over 21 nights", |b| {
        b.iter(|| forecast(black_box(&start)));
    });
    group.bench_function("verdict over a drain", |b| {
        b.iter(|| judge(black_box(&start)));
    });
    group.finish();
}

criterion_group!(benches, thirty_animals);
criterion_main!(benches);
