//! Fitting a farm's own labelled slides, with painted ones beside them where wanted.
//!
//! Whole animals and whole ponds are left out in turn. The penalty is chosen within what is left,
//! limits and probabilities are set on animals that the fit has not seen, and only then is the model
//! fitted on everything.

use crate::moult::Stage;
use crate::progress::Progress;
use crate::stage::core::Core;
use crate::stage::core::Example;
use crate::stage::core::Opinion;
use crate::stage::evaluation::Judged;
use crate::stage::evaluation::figures;
use crate::stage::features::FEATURES;
use crate::stage::fitting::Row;
use crate::stage::fitting::Source;
use crate::stage::fitting::as_judged;
use crate::stage::fitting::known;
use crate::stage::fitting::stages;
use crate::stage::fitting::training;
use crate::stage::gains::Gain;
use crate::stage::gains::gains;
use crate::stage::limits::Known;
use crate::stage::limits::LeftOut;
use crate::stage::limits::Limits;
use crate::stage::logistic::FitError;
use crate::stage::model::Model;
use crate::stage::model::OwnTraining;
use crate::stage::splits::Member;
use crate::stage::splits::deal;
use crate::stage::splits::groups;
use crate::stage::weighted::ROUGH;
use crate::stage::weighted::SETTLED;
use crate::stage::weighted::Weighted;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Penalties that are tried, the largest first.
///
/// # Source
/// Our choice: steps of four about the shipped model's 1.
pub const PENALTIES: [f64; 4] = [16.0, 4.0, 1.0, 0.25];

/// Parts of animals or ponds that are left out in turn.
const PARTS: usize = 4;

/// Fewest groups for leaving them out in turn.
const FEWEST_GROUPS: usize = 3;

/// Fewest own photos on which limits are set without painted ones.
const ENOUGH_FOR_LIMITS: usize = 100;

/// Own photos of a stage that count as much as the share they were given: with fewer, the painted
/// ones of that stage keep more weight.
const TRUSTED_FROM: f64 = 5.0;

/// Most times that a photo of a rare stage may weigh more than one of the most frequent.
const MOST_WEIGHT: f64 = 20.0;

/// Tolerance of fits that judge what was left out.
const JUDGING: f64 = 1e-5;

/// How to fit.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnSettings {
    /// Name of the model.
    pub name: String,
    /// Seed of everything that is drawn.
    pub seed: u64,
    /// Part of the weight of a stage that its own slides carry beside painted ones, 0 to 1.
    pub share: f64,
    /// The penalty; chosen within each training part where none is given.
    pub penalty: Option<f64>,
    /// The command that makes this model.
    pub command: String,
}

/// The own rows as fits judged them that had not seen their group.
#[derive(Debug, Clone)]
pub struct HeldBack {
    /// One for each own row of known stage, in the order of [`OwnFitted::own`].
    pub judged: Vec<Judged>,
    /// The penalty chosen for each part.
    pub penalties: Vec<f64>,
}

/// What fitting own slides gave.
#[derive(Debug, Clone)]
pub struct OwnFitted {
    /// The model.
    pub model: Model,
    /// The positions of the own rows of known stage among the rows given.
    pub own: Vec<usize>,
    /// With whole animals left out.
    pub by_animal: HeldBack,
    /// With whole ponds left out; absent with fewer than three ponds.
    pub by_pond: Option<HeldBack>,
    /// What further labels of each stage promise.
    pub gains: Vec<Gain>,
}

impl OwnFitted {
    /// The stricter of the two: by pond where there are enough ponds.
    pub fn strictest(&self) -> &HeldBack {
        self.by_pond.as_ref().unwrap_or(&self.by_animal)
    }
}

/// Rows with what the fits need of them.
pub(in crate::stage) struct Slides<'a> {
    pub(in crate::stage) rows: &'a [Row],
    pub(in crate::stage) stages: Vec<Stage>,
    /// What is known of each row; absent for rows that are not fitted on.
    pub(in crate::stage) known: Vec<Option<Known>>,
    share: f64,
}

impl Slides<'_> {
    /// The class of a row of one stage.
    pub(in crate::stage) fn class(&self, at: usize) -> Option<usize> {
        match self.known[at]? {
            Known::Stage { class, .. } => Some(class),
            Known::Between { .. } => None,
        }
    }

    pub(in crate::stage) fn is_own(&self, at: usize) -> bool {
        self.rows[at].source == Source::Own
    }

    /// The part of a row that tells stages apart.
    pub(in crate::stage) fn judged(&self, at: usize) -> &[f64] {
        let features = &self.rows[at].features;
        &features[..features.len().min(FEATURES.len())]
    }

    /// Whether a row may be fitted on.
    fn fits(&self, at: usize) -> bool {
        self.known[at].is_some() && !self.rows[at].lengths.is_some_and(|l| l.misread)
    }

    /// The rows that are fitted on, and their weights: every stage weighs the same, and within a
    /// stage own slides carry the share asked for, less where they are few.
    ///
    /// # Formula
    /// share of own = s n / (n + 5), n the own photos of the stage and s the share asked for; all of it
    /// where there are no painted ones.
    pub(in crate::stage) fn weighed(&self, kept: impl Fn(usize) -> bool) -> (Vec<usize>, Vec<f64>) {
        let used: Vec<usize> = (0..self.rows.len())
            .filter(|at| kept(*at) && self.fits(*at))
            .collect();
        let mut counts = vec![[0.0_f64; 2]; self.stages.len()];
        for at in &used {
            if let Some(class) = self.class(*at) {
                counts[class][usize::from(self.is_own(*at))] += 1.0;
            }
        }
        let most = counts.iter().map(|[p, o]| p + o).fold(0.0, f64::max);
        let weights = used
            .iter()
            .map(|at| {
                let Some(class) = self.class(*at) else {
                    return 1.0;
                };
                let [painted, own] = counts[class];
                let share = if painted > 0.0 {
                    self.share * own / (own + TRUSTED_FROM)
                } else {
                    1.0
                };
                let weight = if self.is_own(*at) {
                    most * share / own
                } else if own > 0.0 {
                    most * (1.0 - share) / painted
                } else {
                    most / painted
                };
                weight.clamp(1e-6, MOST_WEIGHT)
            })
            .collect();
        (used, weights)
    }

    /// The plain rows of known stage among those kept, ready to be fitted.
    pub(in crate::stage) fn ready(
        &self,
        kept: impl Fn(usize) -> bool,
    ) -> Result<Weighted, FitError> {
        let (used, weights) = self.weighed(kept);
        let mut rows = Vec::with_capacity(used.len());
        let mut classes = Vec::with_capacity(used.len());
        let mut own = Vec::with_capacity(used.len());
        for (at, weight) in used.into_iter().zip(weights) {
            if let Some(class) = self.class(at) {
                rows.push(self.judged(at));
                classes.push(class);
                own.push(weight);
            }
        }
        Weighted::new(&rows, &classes, &own, self.stages.len())
    }

    fn core(
        &self,
        kept: impl Fn(usize) -> bool,
        (penalty, seed, tolerance): (f64, u64, f64),
    ) -> Result<Core, FitError> {
        let (used, weights) = self.weighed(kept);
        let examples: Vec<Example<'_>> = used
            .iter()
            .filter_map(|at| {
                Some(Example {
                    row: &self.rows[*at].features,
                    known: self.known[*at]?,
                })
            })
            .collect();
        let of = self.stages.len();
        Core::fit_weighted(&examples, &weights, of, (penalty, seed, tolerance))
    }
}

/// Fits own slides; painted rows are fitted on beside them and never judge the model. `refused` own
/// photos of known stage count in its figures.
///
/// # Errors
/// [`FitError`] when there is too little to fit, a fit fails, or it was stopped.
pub fn fit_own(
    rows: &[Row],
    refused: &[Judged],
    settings: &OwnSettings,
    progress: &Progress,
) -> Result<OwnFitted, FitError> {
    let stages = stages(rows);
    let slides = Slides {
        known: rows.iter().map(|row| known(row, &stages)).collect(),
        rows,
        stages,
        share: if rows.iter().any(|row| row.source == Source::Painted) {
            settings.share.clamp(0.0, 1.0)
        } else {
            1.0
        },
    };
    let own: Vec<usize> = (0..rows.len())
        .filter(|at| slides.is_own(*at) && slides.class(*at).is_some())
        .collect();
    let by = |group: fn(&Row) -> &str| -> Vec<Member<'_>> {
        let member = |at: &usize| Member {
            group: group(&rows[*at]),
            class: slides.class(*at).unwrap_or(0),
        };
        own.iter().map(member).collect()
    };
    let (animals, ponds) = (by(|row| &row.animal), by(|row| &row.condition));
    if groups(&animals) < FEWEST_GROUPS {
        return Err(FitError::TooFewAnimals(groups(&animals)));
    }
    let with_ponds = groups(&ponds) >= FEWEST_GROUPS;
    let rounds = PARTS * (PARTS - 1) / 2 + PARTS;
    progress.begin(rounds * (1 + usize::from(with_ponds)) + slides.stages.len() + 2);
    let split = |members: &[Member<'_>]| left_out(&slides, &own, members, settings, progress);
    let by_animal = split(&animals)?;
    let by_pond = if with_ponds {
        Some(split(&ponds)?)
    } else {
        None
    };
    let strictest = by_pond.as_ref().unwrap_or(&by_animal);
    let limits = Limits::choose(&slides.stages, &strictest.for_limits(&slides, &own));
    progress.step()?;
    let penalty = strictest.penalty;
    let core = slides.core(|_| true, (penalty, settings.seed, SETTLED))?;
    progress.step()?;
    let gains = gains(&slides, &own, (penalty, settings.seed), ROUGH, progress)?;
    let held_back = |split: &Split| HeldBack {
        judged: split.judged(&slides, &own),
        penalties: split.penalties.clone(),
    };
    let (by_animal, by_pond) = (held_back(&by_animal), by_pond.as_ref().map(held_back));
    let scores = |held: &HeldBack| {
        let mut all = held.judged.clone();
        all.extend_from_slice(refused);
        figures(&all)
    };
    let left_out = scores(by_pond.as_ref().unwrap_or(&by_animal));
    let by = if by_pond.is_some() { "pond" } else { "animal" };
    let mut of = training(
        rows,
        refused,
        by,
        &left_out,
        (settings.command.clone(), settings.seed, penalty),
    );
    of.own = Some(OwnTraining {
        photos: own.len(),
        animals: groups(&animals),
        ponds: groups(&ponds),
        share: slides.share,
        by_animal: scores(&by_animal),
        by_pond: by_pond.as_ref().map(scores),
        gains: gains.clone(),
        seen: seen(rows, &own),
    });
    let model = Model::new(settings.name.clone(), slides.stages, core, limits, of);
    Ok(OwnFitted {
        model,
        own,
        by_animal,
        by_pond,
        gains,
    })
}

/// What a model makes of a row, set against its truth.
pub fn judge_row(model: &Model, row: &Row) -> Judged {
    let opinion = model.core.opinion(&model.stages, &row.features, &row.setae);
    let judged = model.limits.judge(&model.stages, &opinion);
    as_judged(row, &judged, &model.stages)
}

/// Marks by which a model knows the animals it was trained on, without naming them.
fn seen(rows: &[Row], own: &[usize]) -> Vec<String> {
    let mut marks: Vec<String> = own.iter().map(|at| mark(&rows[*at].animal)).collect();
    marks.sort_unstable();
    marks.dedup();
    marks
}

/// The mark of an animal: the beginning of a hash of its name.
pub fn mark(animal: &str) -> String {
    let mut mark = blake3::hash(animal.as_bytes()).to_hex().to_string();
    mark.truncate(16);
    mark
}

/// Every row as a fit saw it that had not seen its part.
struct Split {
    /// The part of each row.
    parts: Vec<usize>,
    opinions: Vec<Option<Opinion>>,
    penalties: Vec<f64>,
    /// The penalty for everything.
    penalty: f64,
}

fn left_out(
    slides: &Slides<'_>,
    own: &[usize],
    members: &[Member<'_>],
    settings: &OwnSettings,
    progress: &Progress,
) -> Result<Split, FitError> {
    let parts = parts(slides, own, members, settings.seed);
    let of = parts.iter().max().map_or(0, |most| most + 1);
    let losses = losses(slides, own, (&parts, of), settings.penalty, progress)?;
    let tried: &[f64] = match &settings.penalty {
        Some(given) => std::slice::from_ref(given),
        None => &PENALTIES,
    };
    let best = |losses: &[f64]| {
        let at = (0..tried.len()).min_by(|a, b| losses[*a].total_cmp(&losses[*b]));
        tried[at.unwrap_or(0)]
    };
    let penalties: Vec<f64> = losses.iter().map(|of| best(of)).collect();
    let all: Vec<f64> = (0..tried.len())
        .map(|p| losses.iter().map(|of| of[p]).sum())
        .collect();
    let cores: Vec<Core> = (0..of)
        .into_par_iter()
        .map(|part| {
            progress.step()?;
            let how = (penalties[part], settings.seed, JUDGING);
            slides.core(|at| parts[at] != part, how)
        })
        .collect::<Result<_, FitError>>()?;
    let opinion = |at: usize| {
        slides.known[at]?;
        let row = &slides.rows[at];
        Some(cores[parts[at]].opinion(&slides.stages, &row.features, &row.setae))
    };
    Ok(Split {
        opinions: (0..slides.rows.len()).map(opinion).collect(),
        penalty: best(&all),
        parts,
        penalties,
    })
}

/// The part of each row: own ones by their group, painted ones by their condition.
fn parts(slides: &Slides<'_>, own: &[usize], members: &[Member<'_>], seed: u64) -> Vec<usize> {
    let of = PARTS.min(groups(members));
    let dealt = deal(members, of, seed);
    let mut conditions: BTreeMap<&str, usize> = BTreeMap::new();
    for row in slides.rows {
        let next = conditions.len();
        conditions.entry(&row.condition).or_insert(next);
    }
    let mut parts: Vec<usize> = slides
        .rows
        .iter()
        .map(|row| conditions[row.condition.as_str()] % of)
        .collect();
    for (at, part) in own.iter().zip(dealt) {
        parts[*at] = part;
    }
    parts
}

/// For each part the loss of each penalty on the other parts, by fits that saw neither of the two:
/// the part itself has no say in its penalty.
fn losses(
    slides: &Slides<'_>,
    own: &[usize],
    (parts, of): (&[usize], usize),
    given: Option<f64>,
    progress: &Progress,
) -> Result<Vec<Vec<f64>>, FitError> {
    let tried = if given.is_some() { 1 } else { PENALTIES.len() };
    let mut losses = vec![vec![0.0; tried]; of];
    if given.is_some() {
        return Ok(losses);
    }
    let pairs: Vec<(usize, usize)> = (0..of)
        .flat_map(|a| (a + 1..of).map(move |b| (a, b)))
        .collect();
    let found: Vec<[[f64; PENALTIES.len()]; 2]> = pairs
        .par_iter()
        .map(|(a, b)| {
            progress.step()?;
            let ready = match slides.ready(|at| parts[at] != *a && parts[at] != *b) {
                // What is left holds one stage only: this pair says nothing.
                Err(FitError::TooFewClasses(_)) => return Ok([[0.0; PENALTIES.len()]; 2]),
                other => other?,
            };
            let mut from = None;
            let mut found = [[0.0; PENALTIES.len()]; 2];
            for (p, penalty) in PENALTIES.into_iter().enumerate() {
                let solution = ready.fit(penalty, from.as_ref(), ROUGH)?;
                let fit = ready.logistic(&solution);
                for at in own {
                    let side = if parts[*at] == *a {
                        0
                    } else if parts[*at] == *b {
                        1
                    } else {
                        continue;
                    };
                    if let Some(class) = slides.class(*at) {
                        found[side][p] += surprise(&fit.probabilities(slides.judged(*at)), class);
                    }
                }
                from = Some(solution);
            }
            Ok(found)
        })
        .collect::<Result<_, FitError>>()?;
    for ((a, b), [on_a, on_b]) in pairs.into_iter().zip(found) {
        for p in 0..tried {
            losses[a][p] += on_b[p];
            losses[b][p] += on_a[p];
        }
    }
    Ok(losses)
}

/// Negative logarithm of the probability of the true class, bounded: one wild photo decides nothing.
pub(in crate::stage) fn surprise(probabilities: &[f64], class: usize) -> f64 {
    -libm::log(probabilities.get(class).copied().unwrap_or(0.0).max(1e-4))
}

impl Split {
    /// What limits are set on: own photos, and painted ones where those are too few.
    fn for_limits(&self, slides: &Slides<'_>, own: &[usize]) -> Vec<LeftOut> {
        let mut with: Vec<bool> = vec![false; slides.stages.len()];
        for class in own.iter().filter_map(|at| slides.class(*at)) {
            with[class] = true;
        }
        let enough = own.len() >= ENOUGH_FOR_LIMITS && with.iter().all(|w| *w);
        self.left_out(slides, |at| slides.is_own(at) || !enough)
    }

    fn left_out(&self, slides: &Slides<'_>, wanted: impl Fn(usize) -> bool) -> Vec<LeftOut> {
        (0..slides.rows.len())
            .filter(|at| wanted(*at))
            .filter_map(|at| {
                Some(LeftOut {
                    known: slides.known[at]?,
                    opinion: self.opinions[at].clone()?,
                })
            })
            .collect()
    }

    /// The own rows judged. Limits for one half of the parts are set on the other half, so that no
    /// photo has a say in how it is judged.
    fn judged(&self, slides: &Slides<'_>, own: &[usize]) -> Vec<Judged> {
        let few = own.len() < ENOUGH_FOR_LIMITS;
        let limits: Vec<Limits> = [1, 0]
            .into_iter()
            .map(|other| {
                let wanted = |at: usize| self.parts[at] % 2 == other && (slides.is_own(at) || few);
                Limits::choose(&slides.stages, &self.left_out(slides, wanted))
            })
            .collect();
        own.iter()
            .filter_map(|at| {
                let limits = &limits[self.parts[*at] % 2];
                let judged = limits.judge(&slides.stages, self.opinions[*at].as_ref()?);
                Some(as_judged(&slides.rows[*at], &judged, &slides.stages))
            })
            .collect()
    }
}
