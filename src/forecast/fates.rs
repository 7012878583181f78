//! Where an animal called at a stage is likely to stand at a later hour.
//!
//! Cycles are Gamma distributed about one mean, drawn anew at each moult; moults stand at one hour
//! of the night. Everything is a sum over nights of probabilities in closed form: nothing is drawn.

use crate::cycle::arcs::StageArcs;
use crate::forecast::clock::MEAN_DELAY_DAYS;
use crate::forecast::clock::NightClock;
use crate::moult::Stage;
use crate::statistics::gamma::UnitGamma;
use crate::tally::RigidAfter;

const STAGES: usize = Stage::ALL.len();
const D4: usize = Stage::D4.index();
const E: usize = Stage::E.index();
/// Past nights on which an animal in A or B may have moulted; further ones carry no weight.
const PAST_NIGHTS: usize = 40;
/// Arcs narrower than this count as so narrow.
const NARROWEST: f64 = 1e-9;

/// Chances of each stage (columns) for an animal called at each stage (rows), at one hour.
pub type StageTable = [[f64; STAGES]; STAGES];

/// What becomes of animals called at one hour, for one mean length of the cycle.
#[derive(Debug, Clone)]
pub struct Fates<'a> {
    law: &'a UnitGamma,
    clock: &'a NightClock,
    /// Mean length of a cycle without the wait for the night.
    mean: f64,
    /// Where each of A to D4 begins, then 1.
    borders: [f64; STAGES],
    /// Where a called animal stands in its cycle at the netting: start and width.
    arcs: [(f64, f64); STAGES],
    /// Nights of the last moult of an animal called A or B.
    past: [Vec<PastMoult>; 2],
    /// Chance of a moult on each night, per called stage.
    moults: [Vec<f64>; STAGES],
}

/// A night on which an animal in A or B may have moulted, and the cycles that allow it.
#[derive(Debug, Clone, Copy)]
struct PastMoult {
    /// Days since then at the netting.
    age: f64,
    weight: f64,
    /// Cycles longer than this and up to the next, with their probability.
    longer: f64,
    up_to: f64,
    mass: f64,
}

impl<'a> Fates<'a> {
    /// Prepares the nights up to `last_night` for cycles of a mean length in days, the wait for the
    /// night included.
    pub fn new(
        law: &'a UnitGamma,
        clock: &'a NightClock,
        arcs: &StageArcs,
        cycle_days: f64,
        last_night: usize,
    ) -> Self {
        let mut borders = [1.0; STAGES];
        for stage in &Stage::ALL[..E] {
            borders[stage.index()] = arcs.arc(*stage).0;
        }
        let place = |stage: Stage| {
            let (start, end) = arcs.arc_of_call(stage);
            let width = (end - start).max(NARROWEST);
            (end - width, width)
        };
        let mut fates = Self {
            law,
            clock,
            mean: (cycle_days - MEAN_DELAY_DAYS).max(MEAN_DELAY_DAYS),
            borders,
            arcs: Stage::ALL.map(place),
            past: [Vec::new(), Vec::new()],
            moults: Default::default(),
        };
        fates.past = [fates.past_moults(0), fates.past_moults(1)];
        fates.renew(last_night);
        fates
    }

    /// The chances at a time in days from the netting; at 0 every animal is what it was called.
    /// Nights after the prepared ones pass without moults.
    pub fn at(&self, e: f64) -> StageTable {
        let mut table = [[0.0; STAGES]; STAGES];
        if e <= 0.0 {
            for (stage, row) in table.iter_mut().enumerate() {
                row[stage] = 1.0;
            }
            return table;
        }
        let night = self.clock.nights_by(e).min(self.moults[0].len() - 1);
        let now = self.clock.paced(e);
        let last = self.clock.paced(self.clock.night(night));
        let moulted: Vec<[f64; STAGES]> = (0..=night)
            .map(|m| {
                let at = self.clock.paced(self.clock.night(m));
                self.stages_of_age(now - at, last - at, f64::INFINITY)
            })
            .collect();
        for (called, row) in table.iter_mut().enumerate() {
            for (chance, stages) in self.moults[called].iter().zip(&moulted) {
                for (cell, part) in row.iter_mut().zip(stages) {
                    *cell += chance * part;
                }
            }
            match called {
                0 | 1 => self.add_unmoulted_since_past(&self.past[called], now, last, row),
                E => row[E] += self.unmoulted_e(night),
                _ => self.add_unmoulted(called, now, night, row),
            }
        }
        table
    }

    /// The chance, per called stage, that an animal moulted no longer ago than a shell takes to become
    /// rigid, or is just moulting. Animals called A or B that have not moulted since the netting stand
    /// evenly in their arcs; at 0 that is the part by which the tally counts them.
    pub(crate) fn soft_within(&self, e: f64, rigid_after: RigidAfter) -> [f64; STAGES] {
        let night = self.clock.nights_by(e).min(self.moults[0].len() - 1);
        let days = rigid_after.days.get();
        let mut soft = [0.0; STAGES];
        for (called, chance) in soft.iter_mut().enumerate() {
            let recent = (0..=night).filter(|m| e - self.clock.night(*m) <= days);
            *chance = recent.map(|m| self.moults[called][m]).sum();
            if called == E {
                *chance += self.unmoulted_e(night);
            } else {
                let (start, width) = self.arcs[called];
                let left = (days - e) / rigid_after.cycle.get() - start;
                *chance += (left / width).clamp(0.0, 1.0);
            }
            *chance = chance.min(1.0);
        }
        soft
    }

    fn below(&self, days: f64) -> f64 {
        self.law.below(days / self.mean).0
    }

    /// Chances of A to D4 at an age, for cycles longer than `longer` and up to `up_to` days, with
    /// no moult since; past the end of the cycle an animal waits for the night in D4.
    fn stages_of_age(&self, age: f64, longer: f64, up_to: f64) -> [f64; STAGES] {
        let mut stages = [0.0; STAGES];
        let mut above = self.below(up_to);
        for (stage, cell) in stages.iter_mut().enumerate().take(E) {
            let border = self.borders[stage + 1];
            let shortest = if stage == D4 {
                longer
            } else {
                (age / border).max(longer)
            };
            let here = self.below(shortest.min(up_to));
            *cell = (above - here).max(0.0);
            above = here.min(above);
        }
        stages
    }

    /// The mean over cycles L of max(0, min(reach - e / L, width)): the part of an arc that has not
    /// come so far.
    fn part_behind(&self, reach: f64, e: f64, width: f64) -> f64 {
        if reach <= 0.0 {
            return 0.0;
        }
        if e <= 0.0 {
            return reach.min(width);
        }
        let at = |days: f64| {
            let (below, inverse) = self.law.below(days / self.mean);
            (below, inverse / self.mean)
        };
        let (none, none_inverse) = at(e / reach);
        let all_from = if reach > width {
            e / (reach - width)
        } else {
            f64::INFINITY
        };
        let (all, all_inverse) = at(all_from);
        reach * (all - none) - e * (all_inverse - none_inverse) + width * (1.0 - all).max(0.0)
    }

    /// The chance that the cycle of an animal called so has not ended by a time on its own clock.
    fn unended(&self, called: usize, by: f64) -> f64 {
        let (start, width) = self.arcs[called];
        (self.part_behind(1.0 - start, by, width) / width).clamp(0.0, 1.0)
    }

    /// The last night by which every animal called D4 or E has moulted: this night or the next.
    fn must_moult_by(&self, called: usize) -> usize {
        let this = usize::from(!self.clock.netted_late_in_a_night());
        match called {
            D4 => this + 1,
            E => this,
            _ => usize::MAX,
        }
    }

    fn unmoulted_e(&self, night: usize) -> f64 {
        if night >= self.must_moult_by(E) {
            0.0
        } else {
            1.0
        }
    }

    fn add_unmoulted(&self, called: usize, now: f64, night: usize, row: &mut [f64; STAGES]) {
        if night >= self.must_moult_by(called) {
            return;
        }
        let (start, width) = self.arcs[called];
        let ended = self.clock.ends_by(night);
        let now = now.max(ended);
        let mut behind = 0.0;
        for (stage, cell) in row.iter_mut().enumerate().take(E) {
            let up_to_here = if stage == D4 {
                self.unended(called, ended)
            } else {
                (self.part_behind(self.borders[stage + 1] - start, now, width) / width).min(1.0)
            };
            *cell += (up_to_here - behind).max(0.0);
            behind = up_to_here.max(behind);
        }
    }

    fn add_unmoulted_since_past(
        &self,
        past: &[PastMoult],
        now: f64,
        last: f64,
        row: &mut [f64; STAGES],
    ) {
        for moult in past {
            let longer = moult.longer.max(last + moult.age);
            let stages = self.stages_of_age(now + moult.age, longer, moult.up_to);
            for (cell, part) in row.iter_mut().zip(stages) {
                *cell += moult.weight * part / moult.mass;
            }
        }
    }

    /// The nights on which an animal called A (0) or B (1) may have moulted, each weighted with the
    /// chance of standing in that stage now.
    fn past_moults(&self, called: usize) -> Vec<PastMoult> {
        let since = -self.clock.night(0);
        let mut past: Vec<PastMoult> = (0..PAST_NIGHTS)
            .map(|back| {
                let age = since + back as f64;
                let longer = age / self.borders[called + 1];
                let up_to = if called == 0 {
                    f64::INFINITY
                } else {
                    age / self.borders[called]
                };
                let mass = self.below(up_to) - self.below(longer);
                PastMoult {
                    age,
                    weight: mass,
                    longer,
                    up_to,
                    mass,
                }
            })
            .filter(|moult| moult.mass > 1e-9)
            .collect();
        let all: f64 = past.iter().map(|m| m.weight).sum();
        for moult in &mut past {
            moult.weight /= all;
        }
        if past.is_empty() {
            // No cycle allows the call at this hour: the last night, and any cycle.
            let (age, weight, mass) = (since, 1.0, 1.0);
            past.push(PastMoult {
                age,
                weight,
                longer: 0.0,
                up_to: f64::INFINITY,
                mass,
            });
        }
        past
    }

    /// Fills in the chance of a moult on each night: the first one, and those that follow earlier
    /// ones.
    fn renew(&mut self, last_night: usize) {
        let nights: Vec<f64> = (0..=last_night)
            .map(|m| self.clock.paced(self.clock.night(m)))
            .collect();
        let lengths = |from: usize, to: usize| {
            (self.below(nights[to] - nights[from]) - self.below(nights[to - 1] - nights[from]))
                .max(0.0)
        };
        let again: Vec<Vec<f64>> = (0..=last_night)
            .map(|to| (0..to).map(|from| lengths(from, to)).collect())
            .collect();
        let mut moults: [Vec<f64>; STAGES] = Default::default();
        for (called, chances) in moults.iter_mut().enumerate() {
            for (night, lengths) in again.iter().enumerate() {
                let first = self.first_moult(called, night, &nights);
                let earlier = chances.iter().zip(lengths);
                let later: f64 = earlier.map(|(moulted, length)| moulted * length).sum();
                chances.push(first + later);
            }
        }
        self.moults = moults;
    }

    fn first_moult(&self, called: usize, night: usize, nights: &[f64]) -> f64 {
        if called < 2 {
            if night == 0 {
                return 0.0;
            }
            let chance = |moult: &PastMoult| {
                let limit = |days: f64| days.clamp(moult.longer, moult.up_to);
                let from = limit(nights[night - 1] + moult.age);
                let to = limit(nights[night] + moult.age);
                moult.weight * (self.below(to) - self.below(from)).max(0.0) / moult.mass
            };
            return self.past[called].iter().map(chance).sum();
        }
        let unmoulted_by = |night: usize| match night {
            n if n >= self.must_moult_by(called) => 0.0,
            _ if called == E => 1.0,
            n => self.unended(called, self.clock.ends_by(n)),
        };
        let before = if night == 0 {
            1.0
        } else {
            unmoulted_by(night - 1)
        };
        (before - unmoulted_by(night)).max(0.0)
    }
}
