//! An independent simulation, animal by animal: it draws moult nights and hardening and shares no
//! code with the forecast, only its assumptions.

use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

/// Ends of A, B, C, D0, D1, D2, D3, D4 by the published midpoints and the weak split of pre-moult.
pub(crate) const ENDS: [f64; 8] = [
    7.5 / 102.0,
    20.0 / 102.0,
    36.0 / 102.0,
    46.0 / 102.0,
    68.0 / 102.0,
    (68.0 + 34.0 * 10.5 / 32.5) / 102.0,
    (68.0 + 34.0 * 22.5 / 32.5) / 102.0,
    1.0,
];
/// Index of the stage E.
pub(crate) const E: usize = 8;

/// A pond as it was netted.
#[derive(Clone, Copy)]
pub(crate) struct Pond {
    /// Mean days from moult to moult, the wait for the night included.
    pub(crate) cycle: f64,
    /// Spread between animals.
    pub(crate) cv: f64,
    /// Hour of the netting.
    pub(crate) hour: f64,
}

pub(crate) struct Simulation {
    random: ChaCha8Rng,
}

impl Simulation {
    pub(crate) fn new(seed: u64) -> Self {
        Self {
            random: ChaCha8Rng::seed_from_u64(seed),
        }
    }

    pub(crate) fn uniform(&mut self) -> f64 {
        self.random.random_range(0.0..1.0)
    }

    /// The stage (0..=8) in which one animal called `called` stands `e` days after the netting.
    pub(crate) fn stage_later(&mut self, pond: Pond, called: usize, e: f64) -> usize {
        self.fate(pond, called, e).0
    }

    /// Stage and days since the last moult, which are absent while an animal of C to E has not moulted
    /// since the netting.
    pub(crate) fn fate(&mut self, pond: Pond, called: usize, e: f64) -> (usize, Option<f64>) {
        // Moults stand at 22.5 h; a night ends at 6 h.
        let since = (pond.hour + 1.5) % 24.0 / 24.0;
        let rest = (7.5 / 24.0 - since).max(0.0);
        let this_night = if rest > 0.0 { -since } else { 1.0 - since };
        let (mut moulted, mut length) = match called {
            0 | 1 => self.moulted_before(pond, called, since),
            E => (this_night, self.length(pond)),
            _ => {
                let start = ENDS[called - 1];
                let end = if called == 6 { 1.0 } else { ENDS[called] };
                let at = start + (end - start) * self.uniform();
                let length = self.length(pond);
                let over = (1.0 - at) * length;
                let mut night = if over <= rest {
                    -since
                } else {
                    next_night(over, since)
                };
                if called == 7 {
                    night = night.min(this_night + 1.0);
                }
                if night > e {
                    let stage = if over <= e {
                        7
                    } else {
                        stage_at(at + e / length)
                    };
                    return (stage, None);
                }
                (night, self.length(pond))
            }
        };
        if moulted > e {
            return (E, None);
        }
        loop {
            let night = next_night(moulted + length, since);
            if night > e {
                return (stage_at((e - moulted) / length), Some(e - moulted));
            }
            moulted = night;
            length = self.length(pond);
        }
    }

    /// Night of the last moult and length of the running cycle of an animal in A or B: past nights
    /// are tried evenly and kept when the animal stands in its stage now.
    fn moulted_before(&mut self, pond: Pond, called: usize, since: f64) -> (f64, f64) {
        loop {
            let night = -since - (4.0 * self.uniform()).floor();
            let length = self.length(pond);
            if -night < length && stage_at(-night / length) == called {
                return (night, length);
            }
        }
    }

    fn length(&mut self, pond: Pond) -> f64 {
        let shape = 1.0 / (pond.cv * pond.cv);
        self.gamma(shape) / shape * (pond.cycle - 0.5)
    }

    /// Marsaglia & Tsang 2000 (from memory), for shapes of 1 and more; smaller ones by the power of
    /// a uniform number.
    pub(crate) fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let boost = self.uniform().powf(1.0 / shape);
            return self.gamma(shape + 1.0) * boost;
        }
        let d = shape - 1.0 / 3.0;
        loop {
            let x = self.normal();
            let v = (1.0 + x / (9.0 * d).sqrt()).powi(3);
            let u = self.uniform();
            if v > 0.0 && u.ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    /// Shares drawn from a Dirichlet distribution.
    pub(crate) fn shares(&mut self, weights: &[f64; 10]) -> [f64; 10] {
        let drawn = weights.map(|w| if w > 0.0 { self.gamma(w) } else { 0.0 });
        let all: f64 = drawn.iter().sum();
        drawn.map(|x| x / all)
    }

    /// Parts of `animals` called so that stand in each stage later.
    pub(crate) fn parts(&mut self, pond: Pond, called: usize, e: f64, animals: usize) -> [f64; 9] {
        let mut parts = [0.0; 9];
        for _ in 0..animals {
            parts[self.stage_later(pond, called, e)] += 1.0 / animals as f64;
        }
        parts
    }
}

/// The first moults of a night at or after a time.
fn next_night(time: f64, since: f64) -> f64 {
    (time + since).ceil() - since
}

fn stage_at(phase: f64) -> usize {
    ENDS.iter().position(|end| phase < *end).unwrap_or(7)
}
