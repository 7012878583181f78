//! A Gamma distribution with mean 1, tabulated: many cheap look-ups for one forecast.

use statrs::function::gamma::ln_gamma;
use thiserror::Error;

/// Steps of the table. With a cubic through values and slopes the error stays below 1e-9.
const STEPS: usize = 2048;

/// A spread for which the table is not made.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("a coefficient of variation of {0} is not offered: use 0 to 0.4")]
pub struct SpreadError(pub f64);

/// A Gamma distribution with mean 1 and a coefficient of variation; one of 0 is the number 1.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitGamma {
    start: f64,
    step: f64,
    /// Cumulated probability, density, and cumulated mean of 1/x, node by node.
    nodes: Vec<Node>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Node {
    x: f64,
    below: f64,
    density: f64,
    inverse: f64,
}

impl UnitGamma {
    /// Tabulates the distribution.
    ///
    /// # Formula
    /// Density a^a x^(a-1) exp(-a x) / Γ(a), a = 1 / cv².
    ///
    /// # Errors
    /// [`SpreadError`] unless the coefficient of variation lies in 0..=0.4.
    pub fn new(cv: f64) -> Result<Self, SpreadError> {
        if !(0.0..=0.4).contains(&cv) {
            return Err(SpreadError(cv));
        }
        if cv < 1e-3 {
            let (start, step, nodes) = (1.0, 1.0, Vec::new());
            return Ok(Self { start, step, nodes });
        }
        let a = 1.0 / (cv * cv);
        let constant = a * a.ln() - ln_gamma(a);
        let density = |x: f64| {
            if x <= 0.0 {
                0.0
            } else {
                (constant + (a - 1.0) * x.ln() - a * x).exp()
            }
        };
        let start = (1.0 - 9.0 * cv).max(1e-6);
        let step = (1.0 + 12.0 * cv - start) / STEPS as f64;
        let mut node = Node {
            x: start,
            below: 0.0,
            density: density(start),
            inverse: 0.0,
        };
        let mut nodes = vec![node];
        for i in 1..=STEPS {
            let x = start + i as f64 * step;
            let (middle, here) = (x - 0.5 * step, density(x));
            let half = density(middle);
            let simpson = |left: f64, mid: f64, right: f64| step / 6.0 * (left + 4.0 * mid + right);
            node = Node {
                x,
                below: node.below + simpson(node.density, half, here),
                density: here,
                inverse: node.inverse + simpson(node.density / node.x, half / middle, here / x),
            };
            nodes.push(node);
        }
        Ok(Self { start, step, nodes })
    }

    /// P(X <= x), and the mean of 1/X over that part: E[1/X; X <= x].
    pub fn below(&self, x: f64) -> (f64, f64) {
        let Some(last) = self.nodes.last() else {
            let hit = if x >= 1.0 { 1.0 } else { 0.0 };
            return (hit, hit);
        };
        if x <= self.start {
            return (0.0, 0.0);
        }
        if x >= last.x {
            return (last.below, last.inverse);
        }
        let at = (x - self.start) / self.step;
        let i = (at as usize).min(self.nodes.len() - 2);
        let (left, right, t) = (self.nodes[i], self.nodes[i + 1], at - i as f64);
        let h = self.step;
        (
            hermite(
                t,
                left.below,
                right.below,
                h * left.density,
                h * right.density,
            ),
            hermite(
                t,
                left.inverse,
                right.inverse,
                h * left.density / left.x,
                h * right.density / right.x,
            ),
        )
    }
}

/// The cubic on 0..1 with these values and slopes at its ends.
fn hermite(t: f64, left: f64, right: f64, slope_left: f64, slope_right: f64) -> f64 {
    let (rise, s) = (right - left, 1.0 - t);
    left + rise * t * t * (3.0 - 2.0 * t) + slope_left * t * s * s - slope_right * t * t * s
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_the_distribution() {
        for cv in [0.05_f64, 0.1, 0.2, 0.4] {
            let table = UnitGamma::new(cv).unwrap();
            let a = 1.0 / (cv * cv);
            for x in [0.5, 0.83, 1.0, 1.0 + cv, 1.6] {
                let (below, inverse) = table.below(x);
                let exact = statrs::function::gamma::gamma_lr(a, a * x);
                assert!((below - exact).abs() < 1e-9, "{cv} {x}: {below} {exact}");
                let exact = statrs::function::gamma::gamma_lr(a - 1.0, a * x) * a / (a - 1.0);
                assert!(
                    (inverse - exact).abs() < 1e-7,
                    "{cv} {x}: {inverse} {exact}"
                );
            }
        }
        assert_eq!(UnitGamma::new(0.0).unwrap().below(1.0), (1.0, 1.0));
        assert!(UnitGamma::new(0.5).is_err());
    }
}
