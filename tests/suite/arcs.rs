//! The arcs of the stages against the published ranges.

use crate::reference::close;
use crate::tolerance;
use tailfan::cycle::arcs::StageArcs;
use tailfan::moult::Stage;

fn share(stages: &[Stage]) -> f64 {
    let arcs = StageArcs::published();
    stages.iter().map(|&s| arcs.share(s)).sum()
}

const GROUPS: [&[Stage]; 5] = [
    &[Stage::A],
    &[Stage::B],
    &[Stage::C],
    &[Stage::D0, Stage::D1],
    &[Stage::D2, Stage::D3, Stage::D4],
];

/// Corteel et al. 2012 (abstract): ranges in percent for P. vannamei and P. monodon at 27 °C.
#[test]
fn shares_lie_in_the_published_ranges() {
    let ranges = [
        (5.0, 10.0),
        (9.0, 16.0),
        (12.0, 20.0),
        (28.0, 36.0),
        (30.0, 38.0),
    ];
    for (stages, (low, high)) in GROUPS.into_iter().zip(ranges) {
        let found = 100.0 * share(stages);
        assert!((low..=high).contains(&found), "{stages:?}: {found}");
    }
    close(
        share(&Stage::ALL),
        1.0,
        tolerance::CLOSED_FORM,
        "all stages",
    );
}

/// Normalised midpoints and the boundaries they give (derived arithmetic).
#[test]
fn normalised_shares_and_boundaries() {
    let shares = [7.3529, 12.2549, 15.6863, 31.3725, 33.3333];
    let boundaries = [0.0735, 0.1961, 0.3529, 0.6667, 1.0];
    let arcs = StageArcs::published();
    for ((stages, wanted), end) in GROUPS.into_iter().zip(shares).zip(boundaries) {
        close(
            share(stages),
            wanted / 100.0,
            tolerance::CYCLE_SHARE,
            "share",
        );
        let last = stages[stages.len() - 1];
        close(arcs.arc(last).1, end, tolerance::CYCLE_SHARE, "boundary");
    }
}

/// Stage lengths of an 11-day and a 5-day cycle (derived arithmetic), in days and hours.
#[test]
fn stage_lengths() {
    for (stages, days) in GROUPS.into_iter().zip([0.81, 1.35, 1.73, 3.45, 3.67]) {
        close(
            11.0 * share(stages),
            days,
            0.0051,
            "days of an 11-day cycle",
        );
    }
    for (stages, hours) in GROUPS.into_iter().zip([8.8, 14.7, 18.8]) {
        close(
            5.0 * 24.0 * share(stages),
            hours,
            0.051,
            "hours of a 5-day cycle",
        );
    }
}
