//! Which slides a practice round has: every stage there is, and the borders of soft and due more
//! often than the rest.

use crate::moult::Stage;
use crate::records::ids::AnimalId;
use crate::records::ids::PhotoId;
use crate::workflow::second::choosing::shuffle;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;
use std::collections::VecDeque;

/// The stages on both sides of the border of soft and of that of due, by the default groups.
pub const AT_BORDERS: [Stage; 4] = [Stage::B, Stage::C, Stage::D1, Stage::D2];

/// Where a slide to practise on is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// An animal of the farm, with its photos.
    Settled(AnimalId, Vec<PhotoId>),
    /// Painted from this seed.
    Painted(u64),
}

/// A slide that could be drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PoolSlide {
    /// What it is.
    pub truth: Stage,
    /// Whether the program marks it for a second reader.
    pub near: bool,
    /// Whether the reader saw it before.
    pub seen: bool,
    /// Where it is from.
    pub source: Source,
}

/// Draws so many slides, or all there are: in turn one of each stage, and one of a stage at a border,
/// there those that are marked first; unseen ones before seen ones. Gives positions in the pool, in
/// the order of reading, which tells nothing of the stages. The same pool, count and seed give the
/// same round.
pub fn draw(pool: &[PoolSlide], count: usize, seed: u64) -> Vec<usize> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut order: Vec<usize> = (0..pool.len()).collect();
    shuffle(&mut order, &mut random);
    // A stable sort keeps the shuffled order among equals.
    order.sort_by_key(|at| pool[*at].seen);
    let mut left: BTreeMap<Stage, VecDeque<usize>> = BTreeMap::new();
    for at in order {
        left.entry(pool[at].truth).or_default().push_back(at);
    }
    let stages: Vec<Stage> = left.keys().copied().collect();
    let borders: Vec<Stage> = AT_BORDERS
        .into_iter()
        .filter(|stage| left.contains_key(stage))
        .collect();
    let mut turns = [Turns::new(&stages), Turns::new(&borders)];
    let mut drawn = Vec::new();
    while drawn.len() < count.min(pool.len()) {
        let at_border = drawn.len() % 2 == 1;
        let [all, border] = &mut turns;
        let own = if at_border { border.next(&left) } else { None };
        let Some(stage) = own.or_else(|| all.next(&left)) else {
            break;
        };
        if let Some(of) = left.get_mut(&stage) {
            drawn.extend(take(of, pool, at_border));
        }
    }
    shuffle(&mut drawn, &mut random);
    drawn
}

/// The next slide of a stage; at a border a marked one where there is one as little seen.
fn take(of: &mut VecDeque<usize>, pool: &[PoolSlide], at_border: bool) -> Option<usize> {
    let seen = pool[*of.front()?].seen;
    let marked = of
        .iter()
        .position(|at| at_border && pool[*at].near && pool[*at].seen == seen);
    of.remove(marked.unwrap_or(0))
}

/// Stages in turn, those with nothing left passed over.
struct Turns<'a> {
    stages: &'a [Stage],
    at: usize,
}

impl<'a> Turns<'a> {
    const fn new(stages: &'a [Stage]) -> Self {
        Self { stages, at: 0 }
    }

    fn next(&mut self, left: &BTreeMap<Stage, VecDeque<usize>>) -> Option<Stage> {
        for _ in 0..self.stages.len() {
            let stage = self.stages[self.at % self.stages.len()];
            self.at += 1;
            if left.get(&stage).is_some_and(|of| !of.is_empty()) {
                return Some(stage);
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pool(per_stage: u64) -> Vec<PoolSlide> {
        let slides = Stage::PROPOSED.into_iter().flat_map(|truth| {
            (0..per_stage).map(move |number| PoolSlide {
                truth,
                near: number % 3 == 0,
                seen: number % 2 == 1,
                source: Source::Painted(number),
            })
        });
        slides.collect()
    }

    fn count(pool: &[PoolSlide], drawn: &[usize], stage: Stage) -> usize {
        drawn.iter().filter(|at| pool[**at].truth == stage).count()
    }

    /// Of 21 slides eleven go through the seven stages in turn and ten through the four at borders.
    #[test]
    fn every_stage_comes_and_the_borders_more_often() {
        let pool = pool(20);
        let drawn = draw(&pool, 21, 5);
        assert_eq!(drawn.len(), 21);
        let of: Vec<usize> = Stage::PROPOSED.map(|s| count(&pool, &drawn, s)).to_vec();
        assert_eq!(of, [2, 5, 5, 2, 3, 3, 1]);
        assert!(drawn.iter().all(|at| !pool[*at].seen), "unseen ones first");
        assert_eq!(draw(&pool, 21, 5), drawn);
        assert_ne!(draw(&pool, 21, 6), drawn);
        let mut once = drawn.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), 21);
    }

    #[test]
    fn a_small_pool_is_read_whole_and_an_empty_one_not_at_all() {
        let mut few = pool(2);
        few.retain(|slide| matches!(slide.truth, Stage::A | Stage::D2));
        let drawn = draw(&few, 21, 1);
        assert_eq!(drawn.len(), 4);
        assert!(draw(&[], 21, 1).is_empty());
        // unseen slides run out: seen ones follow
        assert_eq!(drawn.iter().filter(|at| few[**at].seen).count(), 2);
    }

    /// The order of reading must not tell the stage: over many seeds each place has each stage.
    #[test]
    fn the_order_of_reading_tells_nothing() {
        let pool = pool(8);
        let mut first = BTreeMap::new();
        for seed in 0..700 {
            let drawn = draw(&pool, 14, seed);
            *first.entry(pool[drawn[0]].truth).or_insert(0_u32) += 1;
        }
        // stages come 1, 3, 3, 1, 3, 2 and 1 times in 14, so about 50, 150 ... times of 700
        for (stage, times) in &first {
            let wanted = 50 * count(&pool, &draw(&pool, 14, 1), *stage) as u32;
            assert!(times.abs_diff(wanted) < 60, "{stage}: {times} for {wanted}");
        }
        assert_eq!(first.len(), 7);
    }
}
