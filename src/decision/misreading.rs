//! A tally with the known errors of its reader: what they do to the answer, and to what is carried
//! forward. They may worsen an answer and never improve it.

use crate::decision::reader_error::KnownErrors;
use crate::decision::reader_error::KnownSlide;
use crate::decision::reader_error::ReaderTable;
use crate::decision::reader_error::correct_all;
use crate::decision::reader_error::rows_as_parts;
use crate::decision::reader_error::shares_behind;
use crate::moult::Stage;
use crate::statistics::resampling::Draws;
use crate::tally::Answer;
use crate::tally::GroupReader;
use crate::tally::LimitTally;
use crate::tally::PondDraw;
use crate::tally::Probe;
use crate::tally::ReaderEffect;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::tally::Tested;
use crate::units::Probability;
use std::collections::BTreeMap;

const STAGES: usize = Stage::ALL.len();
/// Ponds drawn; a probability near one in ten is right within 0.01.
pub const PONDS: usize = 1_000;
/// Seed of the draws: the same calls and slides give the same figures.
const SEED: u64 = 7;
/// Confidence of the interval of a corrected share.
const SHARE_CONFIDENCE: f64 = 0.95;

/// Takes the known errors of the reader into account: fills [`Tally::reader`] and worsens the answer
/// where they demand it. Without slides nothing changes.
pub fn consider(tally: &mut Tally, settings: &Settings, slides: &[KnownSlide]) {
    if slides.is_empty() {
        return;
    }
    let table = table_of(slides);
    let counts = Stage::ALL.map(|s| tally.counts.get(&s).copied().unwrap_or(0));
    let shares = correct_all(&counts, &table);
    let groups: BTreeMap<&'static str, GroupReader> = [
        ("soft", &tally.soft),
        ("moulting", &tally.moulting),
        ("due", &tally.due),
    ]
    .into_iter()
    .map(|(name, group)| {
        let of = (group, &tally.counts);
        (name, of_group(of, settings, slides, shares.as_ref()))
    })
    .collect();
    let worst = groups.values().map(|group| group.tested).max();
    let without = tally.at_netting;
    let with = worst.map_or(without, as_answer).max(without);
    if with > without {
        tally.at_netting = with;
        let stands_worst = |group: &GroupReader| Some(group.tested) == worst;
        let named = groups.iter().filter(|(_, group)| stands_worst(group));
        tally.decided_by = named.map(|(name, _)| *name).collect();
    }
    let weights: (f64, f64) = slides.iter().fold((0.0, 0.0), |(all, squares), slide| {
        (all + slide.weight, squares + slide.weight * slide.weight)
    });
    tally.reader = Some(ReaderEffect {
        slides: slides.len() as u64,
        slides_by_weight: weights.0 * weights.0 / weights.1,
        groups,
        shares: shares.map(|shares| Stage::ALL.into_iter().zip(shares).collect()),
        without,
        worsened: with > without,
        draws: PONDS,
        ponds: draw_ponds(&counts, settings.design_effect, &table),
    });
}

const fn as_answer(tested: Tested) -> Answer {
    match tested {
        Tested::Within => Answer::WithinLimits,
        Tested::Open => Answer::TooFewAnimals,
        Tested::Over => Answer::OverLimits,
    }
}

fn of_group(
    (group, counts): (&LimitTally, &BTreeMap<Stage, u64>),
    settings: &Settings,
    slides: &[KnownSlide],
    shares: Option<&[f64; STAGES]>,
) -> GroupReader {
    let stages = group.stages.as_deref().unwrap_or_default();
    let errors = KnownErrors::of_slides(slides, |stage| stages.contains(&stage));
    let limit = Probability::clamped(group.limit);
    let probe = settings.probe(limit);
    let seen = group.seen(counts);
    let read_so = |test: &dyn Fn(Probe) -> Probability| {
        errors.averaged(limit, |shown| test(probe.with_limit(shown)).get())
    };
    let p_within = read_so(&|probe| probe.p_within(&seen)).unwrap_or(group.p_within);
    let p_over = read_so(&|probe| probe.p_over(&seen)).unwrap_or(group.p_over);
    let by_errors = match () {
        () if group.of == 0 => Tested::Open,
        () if p_within <= probe.bound() => Tested::Within,
        () if p_over <= probe.bound() => Tested::Over,
        () => Tested::Open,
    };
    let corrected = group.share.and_then(|share| {
        let confidence = Probability::clamped(SHARE_CONFIDENCE);
        errors.correct(Probability::clamped(share), group.of, confidence)
    });
    let part = |stage: &Stage| match &group.parts {
        Some(parts) => parts.get(stage).copied().unwrap_or(0.0),
        None => 1.0,
    };
    GroupReader {
        sensitivity: errors.sensitivity(),
        specificity: errors.specificity(),
        observed: group.share,
        corrected: corrected.map(|c| c.share),
        low: corrected.map(|c| c.low),
        high: corrected.map(|c| c.high),
        by_all_stages: shares.map(|shares| {
            let counted = stages.iter().map(|s| part(s) * shares[s.index()]);
            counted.sum()
        }),
        p_within,
        p_over,
        tested: by_errors.max(group.tested),
    }
}

fn table_of(slides: &[KnownSlide]) -> ReaderTable {
    let mut table = [[0.0; STAGES]; STAGES];
    for slide in slides {
        table[slide.truth.index()][slide.call.index()] += slide.weight;
    }
    table
}

/// Ponds that calls and slides allow: what was called, and how each stage is called, both drawn from
/// what the counts leave open. A row of the table has one slide more, half of it called right and half
/// spread over the neighbouring stages; a stage without slides counts as always called right.
fn draw_ponds(counts: &[u64; STAGES], design_effect: f64, table: &ReaderTable) -> Vec<PondDraw> {
    let mut draws = Draws::new(SEED);
    let mut called = counts.map(|k| k as f64 / design_effect).to_vec();
    called.push(1.0);
    let as_before = rows_as_parts(table);
    (0..PONDS)
        .map(|_| {
            let mut drawn = draws.shares(&called);
            let one_more = drawn.pop().unwrap_or(0.0);
            let rest = 1.0 - one_more;
            let observed = std::array::from_fn(|stage| {
                if rest > 0.0 {
                    drawn[stage] / rest
                } else {
                    1.0 / STAGES as f64
                }
            });
            let rows = std::array::from_fn(|truth| {
                if table[truth].iter().sum::<f64>() > 0.0 {
                    let weights = with_one_more(&table[truth], truth);
                    let drawn = draws.shares(&weights);
                    std::array::from_fn(|call| drawn[call])
                } else {
                    as_before[truth]
                }
            });
            PondDraw {
                shares: shares_behind(&observed, &rows),
                one_more,
            }
        })
        .collect()
}

fn with_one_more(row: &[f64; STAGES], truth: usize) -> [f64; STAGES] {
    let mut weights = *row;
    weights[truth] += 0.5;
    let neighbours = [(truth + STAGES - 1) % STAGES, (truth + 1) % STAGES];
    for neighbour in neighbours {
        weights[neighbour] += 0.25;
    }
    weights
}
