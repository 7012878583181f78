//! What a reader's known errors do to a share. Known errors come from slides of known truth; they may
//! worsen a verdict and never improve it.

use crate::moult::Stage;
use crate::statistics::normal_upper;
use crate::statistics::posterior::Beta;
use crate::statistics::resampling::bootstrap;
use crate::units::Probability;

const STAGES: usize = Stage::ALL.len();
/// Rounds of the fit of all stages; each moves less than the last.
const ROUNDS: usize = 2_000;
/// The fit stands when no share moves more than this in a round.
const STANDS: f64 = 1e-8;
/// Equally likely values of sensitivity and of specificity over which a test is averaged.
const STEPS: usize = 25;

/// How a reader called slides of known truth, for one group against the rest. Slides may carry
/// weights for why they were chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownErrors {
    /// Weight of slides in the group that were called so.
    pub hits: f64,
    /// Weight of all slides in the group.
    pub of_group: f64,
    /// Weight of slides of the rest that were called so.
    pub right_rest: f64,
    /// Weight of all slides of the rest.
    pub of_rest: f64,
}

/// A slide of known truth, and how the reader called it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownSlide {
    /// What it is.
    pub truth: Stage,
    /// What it was called.
    pub call: Stage,
    /// How many slides of the reader's daily work it stands for; 1 when it was chosen blindly.
    pub weight: f64,
}

/// A share with what is known about the reader taken into account.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corrected {
    /// The share, 0..1.
    pub share: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
}

impl KnownErrors {
    /// How a group was called, from slides of known truth with their weights. Slides of unequal weight
    /// tell as much as (Σ w)² / Σ w² slides of equal weight.
    ///
    /// # Source
    /// The effective number is Kish's (from memory).
    pub fn of_slides(slides: &[KnownSlide], in_group: impl Fn(Stage) -> bool) -> Self {
        let look = |inside: bool| {
            let (mut right, mut all, mut squares) = (0.0, 0.0, 0.0);
            for slide in slides.iter().filter(|s| in_group(s.truth) == inside) {
                all += slide.weight;
                squares += slide.weight * slide.weight;
                if in_group(slide.call) == inside {
                    right += slide.weight;
                }
            }
            let effective = if squares > 0.0 {
                all * all / squares
            } else {
                0.0
            };
            let part = if all > 0.0 { right / all } else { 0.0 };
            (part * effective, effective)
        };
        let ((hits, of_group), (right_rest, of_rest)) = (look(true), look(false));
        Self {
            hits,
            of_group,
            right_rest,
            of_rest,
        }
    }

    /// Part of the group's slides that were called so; absent without such slides.
    pub fn sensitivity(self) -> Option<f64> {
        (self.of_group > 0.0).then(|| self.hits / self.of_group)
    }

    /// Part of the other slides that were called so; absent without such slides.
    pub fn specificity(self) -> Option<f64> {
        (self.of_rest > 0.0).then(|| self.right_rest / self.of_rest)
    }

    /// The mean of a probability over what the slides leave open about sensitivity and specificity
    /// (Jeffreys posteriors, by equally likely values); `at` gives it for the share of calls that a
    /// pond on `limit` shows. Where both sum to 1 or less the calls say nothing, and it is 1. Absent
    /// without slides in the group and outside it.
    ///
    /// # Formula
    /// A pond of share p shows p se + (1 - p) (1 - sp).
    pub fn averaged(self, limit: Probability, at: impl Fn(Probability) -> f64) -> Option<f64> {
        if self.of_group <= 0.0 || self.of_rest <= 0.0 {
            return None;
        }
        let likely = |hits: f64, of: f64| -> Vec<f64> {
            let posterior = Beta::of_part((hits, of), 1.0, [0.5, 0.5]);
            (0..STEPS)
                .map(|i| Probability::clamped((i as f64 + 0.5) / STEPS as f64))
                .map(|p| posterior.quantile(p).get())
                .collect()
        };
        let sensitivities = likely(self.hits, self.of_group);
        let specificities = likely(self.right_rest, self.of_rest);
        let p = limit.get();
        let mut sum = 0.0;
        for &se in &sensitivities {
            for &sp in &specificities {
                sum += if se + sp <= 1.0 {
                    1.0
                } else {
                    at(Probability::clamped(p * se + (1.0 - p) * (1.0 - sp)))
                };
            }
        }
        Some(sum / (STEPS * STEPS) as f64)
    }

    /// The true share behind an observed one, with the uncertainty of sample and slides; absent when
    /// sensitivity and specificity sum to 1 or less, or without slides.
    ///
    /// # Formula
    /// (observed + specificity - 1) / (sensitivity + specificity - 1), held in 0..1; variance
    /// (o (1 - o) / n + p² se (1 - se) / n_se + (1 - p)² sp (1 - sp) / n_sp) / (se + sp - 1)².
    ///
    /// # Source
    /// Rogan & Gladen 1978 (from memory).
    pub fn correct(
        self,
        observed: Probability,
        animals: u64,
        confidence: Probability,
    ) -> Option<Corrected> {
        if self.of_group <= 0.0 || self.of_rest <= 0.0 || animals == 0 {
            return None;
        }
        let sensitivity = self.hits / self.of_group;
        let specificity = self.right_rest / self.of_rest;
        let together = sensitivity + specificity - 1.0;
        if together <= 0.0 {
            return None;
        }
        let o = observed.get();
        let share = ((o + specificity - 1.0) / together).clamp(0.0, 1.0);
        let variance = o * (1.0 - o) / animals as f64
            + share.powi(2) * sensitivity * (1.0 - sensitivity) / self.of_group
            + (1.0 - share).powi(2) * specificity * (1.0 - specificity) / self.of_rest;
        let z = normal_upper((1.0 - confidence.get()) / 2.0);
        let reach = z * variance.sqrt() / together;
        Some(Corrected {
            share,
            low: (share - reach).max(0.0),
            high: (share + reach).min(1.0),
        })
    }
}

/// The share to judge by: a reader's known errors may worsen it and never improve it.
pub fn worse_of(observed: Probability, corrected: Option<Corrected>) -> Probability {
    corrected.map_or(observed, |c| {
        Probability::clamped(c.share.max(observed.get()))
    })
}

/// How slides of each true stage (rows) were called (columns), weights allowed.
pub type ReaderTable = [[f64; STAGES]; STAGES];

/// The true shares of all stages behind observed counts: the most likely ones, none negative.
/// Absent without animals; a stage without slides counts as always called right.
///
/// # Formula
/// p_i <- p_i Σ_j q_j M_ij / Σ_k p_k M_kj until it stands, with q the observed shares and M the rows
/// of the table as parts.
///
/// # Source
/// The matrix form of Rogan & Gladen, solved by expectation and maximisation so that no share turns
/// negative (our choice).
pub fn correct_all(counts: &[u64; STAGES], table: &ReaderTable) -> Option<[f64; STAGES]> {
    let called: u64 = counts.iter().sum();
    if called == 0 {
        return None;
    }
    let observed = counts.map(|k| k as f64 / called as f64);
    Some(shares_behind(&observed, &rows_as_parts(table)))
}

/// The most likely true shares behind observed ones, with the rows of the table as parts.
pub(crate) fn shares_behind(observed: &[f64; STAGES], parts: &ReaderTable) -> [f64; STAGES] {
    let mut shares = [1.0 / STAGES as f64; STAGES];
    for _ in 0..ROUNDS {
        let mixed: [f64; STAGES] =
            std::array::from_fn(|j| (0..STAGES).map(|k| shares[k] * parts[k][j]).sum());
        let factor = |row: &[f64; STAGES]| -> f64 {
            let terms = row.iter().zip(observed).zip(mixed);
            terms
                .filter(|(_, m)| *m > 0.0)
                .map(|((part, q), m)| q * part / m)
                .sum()
        };
        let next: [f64; STAGES] = std::array::from_fn(|i| shares[i] * factor(&parts[i]));
        let all: f64 = next.iter().sum();
        let next = next.map(|p| p / all);
        let moved = next.iter().zip(shares).map(|(a, b)| (a - b).abs());
        let most = moved.fold(0.0, f64::max);
        shares = next;
        if most < STANDS {
            break;
        }
    }
    shares
}

/// The interval of the true share of some stages, by drawing animals and slides anew.
pub fn correct_group(
    counts: &[u64; STAGES],
    slides: &[(Stage, Stage)],
    group: &[Stage],
    confidence: Probability,
    (resamples, seed): (usize, u64),
) -> Option<Corrected> {
    let share_of = |counts: &[u64; STAGES], slides: &[(Stage, Stage)]| -> Option<f64> {
        let mut table = [[0.0; STAGES]; STAGES];
        for (truth, call) in slides {
            table[truth.index()][call.index()] += 1.0;
        }
        let shares = correct_all(counts, &table)?;
        Some(group.iter().map(|s| shares[s.index()]).sum())
    };
    let animals: Vec<Drawn> = Stage::ALL
        .into_iter()
        .flat_map(|s| std::iter::repeat_n(Drawn::Animal(s), counts[s.index()] as usize))
        .chain(
            slides
                .iter()
                .map(|&(truth, call)| Drawn::Slide(truth, call)),
        )
        .collect();
    let share = share_of(counts, slides)?;
    let drawn = bootstrap(&animals, resamples, seed, |sample| {
        let (mut counts, mut slides) = ([0; STAGES], Vec::new());
        for item in sample {
            match item {
                Drawn::Animal(stage) => counts[stage.index()] += 1,
                Drawn::Slide(truth, call) => slides.push((*truth, *call)),
            }
        }
        share_of(&counts, &slides)
    });
    let tail = (1.0 - confidence.get()) / 2.0;
    Some(Corrected {
        share,
        low: drawn.percentile(tail)?,
        high: drawn.percentile(1.0 - tail)?,
    })
}

#[derive(Debug, Clone, Copy)]
enum Drawn {
    Animal(Stage),
    Slide(Stage, Stage),
}

pub(crate) fn rows_as_parts(table: &ReaderTable) -> ReaderTable {
    std::array::from_fn(|truth| {
        let all: f64 = table[truth].iter().sum();
        if all > 0.0 {
            table[truth].map(|x| x / all)
        } else {
            std::array::from_fn(|call| if call == truth { 1.0 } else { 0.0 })
        }
    })
}
