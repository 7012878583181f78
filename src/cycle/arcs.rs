//! How much of the cycle each stage takes.

use crate::cycle::Assumed;
use crate::moult::Stage;
use thiserror::Error;

/// Where the shares of A, B, C, early and late pre-moult come from.
const SHARES_SOURCE: &str = "midpoints of the ranges in the abstract of Corteel et al. 2012, \
    Aquacult. Int. 20:13-18 (P. vannamei and P. monodon, 27 °C), scaled to sum to 1; \
    that its early and late pre-moult are D0-D1 and D2-D4 is from memory";

/// Where the split of pre-moult into its stages comes from.
const SPLIT_SOURCE: &str = "midpoints of the stage durations of Sicyonia ingentis at 12-15 °C \
    (Namwong et al., conference abstract), used as ratios: another family in cold water, a weak prior";

/// Midpoints of the published ranges, in percent, for A, B, C, D0-D1 and D2-D4; they sum to 102.
const MIDPOINTS: [f64; 5] = [7.5, 12.5, 16.0, 32.0, 34.0];
/// Midpoints in days for D0 and D1.
const EARLY_SPLIT: [f64; 2] = [5.0, 11.0];
/// Midpoints in days for D2, D3 and D4.
const LATE_SPLIT: [f64; 3] = [10.5, 12.0, 10.0];

/// Shares that are no arcs.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ArcsError {
    /// A share that is negative or no number.
    #[error("a share of {0} of the cycle cannot be: use numbers of 0 or more")]
    Share(f64),
    /// Shares that are all 0.
    #[error("the shares of the cycle sum to {0}: at least one stage must take some time")]
    Empty(f64),
}

/// The arc of each stage on the cycle: A from 0 on, D4 up to 1, E the point 0.
#[derive(Debug, Clone, PartialEq)]
pub struct StageArcs {
    /// Where each of A to D4 begins, then 1.
    starts: [f64; 9],
}

impl StageArcs {
    /// Arcs from relative lengths of A, B, C, D0, D1, D2, D3, D4; they are scaled to sum to 1.
    ///
    /// # Errors
    /// [`ArcsError`] when a length is negative or none is above 0.
    pub fn from_lengths(lengths: [f64; 8]) -> Result<Self, ArcsError> {
        if let Some(&bad) = lengths.iter().find(|l| !l.is_finite() || **l < 0.0) {
            return Err(ArcsError::Share(bad));
        }
        let all: f64 = lengths.iter().sum();
        if all > 0.0 {
            Ok(Self::scaled(lengths, all))
        } else {
            Err(ArcsError::Empty(all))
        }
    }

    /// The arcs that are assumed when a farm has none of its own.
    pub fn published() -> Self {
        let [a, b, c, early, late] = MIDPOINTS;
        let split = |whole: f64, part: f64, parts: &[f64]| whole * part / parts.iter().sum::<f64>();
        let lengths = [
            a,
            b,
            c,
            split(early, EARLY_SPLIT[0], &EARLY_SPLIT),
            split(early, EARLY_SPLIT[1], &EARLY_SPLIT),
            split(late, LATE_SPLIT[0], &LATE_SPLIT),
            split(late, LATE_SPLIT[1], &LATE_SPLIT),
            split(late, LATE_SPLIT[2], &LATE_SPLIT),
        ];
        Self::scaled(lengths, MIDPOINTS.iter().sum())
    }

    /// Arcs whose post-, inter- and pre-moult take these parts, divided within as the published
    /// ones are.
    pub(crate) fn robertson(parts: [f64; 3]) -> Self {
        let general = Self::published();
        let groups: [&[Stage]; 3] = [
            &[Stage::A, Stage::B],
            &[Stage::C],
            &Stage::ALL[Stage::D0.index()..Stage::E.index()],
        ];
        let mut lengths = [0.0; 8];
        for (part, group) in parts.into_iter().zip(groups) {
            let whole: f64 = group.iter().map(|&s| general.share(s)).sum();
            for &stage in group {
                lengths[stage.index()] = part * general.share(stage) / whole;
            }
        }
        Self::scaled(lengths, parts.iter().sum())
    }

    fn scaled(lengths: [f64; 8], all: f64) -> Self {
        let mut starts = [0.0; 9];
        let mut sum = 0.0;
        for (start, length) in starts[1..].iter_mut().zip(lengths) {
            sum += length;
            *start = sum / all;
        }
        starts[8] = 1.0;
        Self { starts }
    }

    /// Where the stage's own arc begins and ends, 0..1; E is the point 0.
    pub fn arc(&self, stage: Stage) -> (f64, f64) {
        match stage {
            Stage::E => (0.0, 0.0),
            other => (self.starts[other.index()], self.starts[other.index() + 1]),
        }
    }

    /// Where an animal called so may stand: as [`arc`](Self::arc), but a call of D3 reaches to the
    /// moult, since D4 is folded into it unless a person calls it.
    pub fn arc_of_call(&self, stage: Stage) -> (f64, f64) {
        match stage {
            Stage::D3 => (self.starts[Stage::D3.index()], 1.0),
            other => self.arc(other),
        }
    }

    /// The middle of the arc of a call: the point that stands for it on the circle.
    pub fn centroid_of_call(&self, stage: Stage) -> f64 {
        let (start, end) = self.arc_of_call(stage);
        0.5 * (start + end)
    }

    /// The share of the cycle that the stage takes, D4 apart from D3.
    pub fn share(&self, stage: Stage) -> f64 {
        let (start, end) = self.arc(stage);
        end - start
    }

    /// The arcs as assumptions, with their sources; nothing when they are the farm's own.
    pub fn assumed(&self) -> Vec<Assumed> {
        if *self != Self::published() {
            return Vec::new();
        }
        let one = |stage: Stage| {
            let source = if stage <= Stage::C {
                SHARES_SOURCE
            } else {
                SPLIT_SOURCE
            };
            Assumed::new(
                &format!("share of the cycle in {stage}"),
                self.share(stage),
                "",
                source,
            )
        };
        Stage::ALL
            .into_iter()
            .filter(|s| *s != Stage::E)
            .map(one)
            .collect()
    }
}

impl Default for StageArcs {
    fn default() -> Self {
        Self::published()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_call_of_d3_reaches_to_the_moult_and_e_is_its_point() {
        let arcs = StageArcs::published();
        assert_eq!(arcs.arc_of_call(Stage::D3).1, 1.0);
        assert_eq!(arcs.arc_of_call(Stage::D4), arcs.arc(Stage::D4));
        assert_eq!(arcs.centroid_of_call(Stage::E), 0.0);
        assert!(arcs.assumed().iter().all(|a| !a.source.is_empty()));
    }

    #[test]
    fn impossible_lengths_are_refused() {
        assert!(StageArcs::from_lengths([0.0; 8]).is_err());
        assert!(StageArcs::from_lengths([1.0, -1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0]).is_err());
        let even = StageArcs::from_lengths([2.0; 8]).unwrap();
        assert_eq!(even.share(Stage::D2), 0.125);
        assert!(even.assumed().is_empty());
    }
}
