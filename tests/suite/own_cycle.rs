//! A pond's own cycle from dated samples, drawn by the independent simulation.

use crate::simulated::Pond;
use crate::simulated::Simulation;
use std::collections::BTreeMap;
use tailfan::cycle::arcs::StageArcs;
use tailfan::forecast::DatedCounts;
use tailfan::forecast::OwnCycle;
use tailfan::forecast::OwnCycleRefusal;
use tailfan::forecast::own_cycle;
use tailfan::moult::Stage;
use tailfan::units::Days;

/// Samples of `animals` of a pond that began in some stages, every so many days.
fn samples(
    begun: &[Stage],
    cycle: f64,
    (every, nettings, animals): (f64, u32, usize),
    seed: u64,
) -> Vec<DatedCounts> {
    let mut simulation = Simulation::new(seed);
    let pond = Pond {
        cycle,
        cv: 0.1,
        hour: 6.0,
    };
    (0..nettings)
        .map(|netting| {
            let day = every * f64::from(netting);
            let mut counts: BTreeMap<Stage, u64> = BTreeMap::new();
            for animal in 0..animals {
                let called = begun[animal % begun.len()];
                let stage = if netting == 0 {
                    called.index()
                } else {
                    simulation.stage_later(pond, called.index(), day)
                };
                // As readers call it: D4 is folded into D3.
                let stage = Stage::ALL[stage];
                let stage = if stage == Stage::D4 { Stage::D3 } else { stage };
                *counts.entry(stage).or_default() += 1;
            }
            DatedCounts {
                day,
                hour: 6.0,
                counts,
            }
        })
        .collect()
}

fn estimate(samples: &[DatedCounts], expected: Option<f64>) -> Result<OwnCycle, OwnCycleRefusal> {
    own_cycle(
        samples,
        &StageArcs::published(),
        0.1,
        expected.map(Days::new),
    )
    .unwrap()
}

/// Waves of three true lengths, netted every second day: the true length lies in the range, and the
/// estimate within a tenth of it.
#[test]
fn a_wave_shows_its_length() {
    for (cycle, seed) in [(7.9, 1), (10.1, 2), (12.9, 3)] {
        let begun = [Stage::C, Stage::D0, Stage::D0];
        let found = estimate(&samples(&begun, cycle, (2.0, 8, 60), seed), None).unwrap();
        let days = found.days.get();
        assert!((days / cycle - 1.0).abs() < 0.1, "{cycle}: {found:?}");
        assert!(found.low.get() <= days && days <= found.high.get());
        assert!(
            found.low.get() * 0.97 <= cycle && cycle <= found.high.get() * 1.03,
            "{cycle}: {found:?}"
        );
    }
}

/// Over many ponds the 95 % range holds the true length in most.
#[test]
fn the_range_holds_the_true_length() {
    let found: Vec<_> = (0..24)
        .map(|seed| {
            let begun = [Stage::C, Stage::D0, Stage::D1];
            estimate(&samples(&begun, 10.1, (2.0, 7, 40), 100 + seed), None)
        })
        .collect();
    let ranges: Vec<_> = found.iter().flatten().collect();
    let holds = |own: &&&OwnCycle| own.low.get() <= 10.1 && 10.1 <= own.high.get();
    let holding = ranges.iter().filter(holds).count();
    assert!(ranges.len() >= 12, "{found:?}");
    // At 95 %, fewer than 85 % of some twenty would be met once in fifty times.
    assert!(holding * 100 >= 85 * ranges.len(), "{holding} of {found:?}");
}

#[test]
fn samples_that_cannot_tell_are_refused() {
    let wave = [Stage::C, Stage::D0];
    let far = estimate(&samples(&wave, 10.1, (6.0, 5, 60), 4), Some(10.1));
    assert!(
        matches!(far, Err(OwnCycleRefusal::TooFarApart { gap, .. }) if gap == 6.0),
        "{far:?}"
    );
    let two = estimate(&samples(&wave, 10.1, (2.0, 2, 60), 5), None);
    assert_eq!(two, Err(OwnCycleRefusal::TooFewSamples(2)));
    let few = estimate(&samples(&wave, 10.1, (2.0, 3, 3), 6), None);
    assert!(
        matches!(few, Err(OwnCycleRefusal::FitEqually { .. })),
        "{few:?}"
    );
    // An evenly moulting pond has no wave to follow.
    let even: Vec<Stage> = Stage::ALL
        .iter()
        .zip([3, 5, 6, 4, 9, 4, 9, 0])
        .flat_map(|(&stage, k)| std::iter::repeat_n(stage, k))
        .collect();
    let none = estimate(&samples(&even, 10.1, (2.0, 6, 40), 7), None);
    assert!(
        matches!(none, Err(OwnCycleRefusal::FitEqually { .. })),
        "{none:?}"
    );
    let same = [
        samples(&wave, 10.1, (2.0, 3, 10), 8),
        samples(&wave, 10.1, (2.0, 1, 10), 9),
    ]
    .concat();
    assert!(own_cycle(&same, &StageArcs::published(), 0.1, None).is_err());
}
