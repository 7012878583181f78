//! Phases on a circle: where they gather, and how much.

use std::f64::consts::TAU;

/// Where weighted phases gather on a circle of circumference 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gathering {
    /// Direction of the mean, 0..1; absent when there is no direction.
    pub mean_phase: Option<f64>,
    /// Length of the mean vector, 0 (no direction) to 1 (all at one phase).
    pub resultant: f64,
    /// Length of the mean vector of the doubled phases: large also for two opposed waves.
    pub second_harmonic: f64,
    /// Chance of so long a mean vector from phases spread evenly.
    pub rayleigh_p: f64,
}

/// Gathers phases (each in turns, 0..1) with how many animals stand at each; absent without
/// animals.
///
/// # Formula
/// C = Σ w cos 2πu / n, S = Σ w sin 2πu / n, resultant = sqrt(C² + S²);
/// Rayleigh p = exp(sqrt(1 + 4n + 4 (n² - R²)) - (1 + 2n)) with R = n resultant.
///
/// # Source
/// Zar, Biostatistical Analysis, chapter on circular distributions (from memory).
pub fn gather(phases: &[(f64, u64)]) -> Option<Gathering> {
    let n = phases.iter().map(|(_, w)| w).sum::<u64>() as f64;
    if n == 0.0 {
        return None;
    }
    let (c, s) = harmonic(phases, 1.0);
    let (c2, s2) = harmonic(phases, 2.0);
    let resultant = (c.hypot(s) / n).min(1.0);
    let squares = n * n * (1.0 - resultant * resultant);
    let rayleigh = ((1.0 + 4.0 * n + 4.0 * squares).sqrt() - (1.0 + 2.0 * n)).exp();
    Some(Gathering {
        mean_phase: (resultant > 1e-12).then(|| (s.atan2(c) / TAU).rem_euclid(1.0)),
        resultant,
        second_harmonic: (c2.hypot(s2) / n).min(1.0),
        rayleigh_p: rayleigh.min(1.0),
    })
}

fn harmonic(phases: &[(f64, u64)], order: f64) -> (f64, f64) {
    phases.iter().fold((0.0, 0.0), |(c, s), &(phase, weight)| {
        let angle = TAU * order * phase;
        let w = weight as f64;
        (c + w * angle.cos(), s + w * angle.sin())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_phase_has_the_longest_vector_and_four_quarters_none() {
        let one = gather(&[(0.3, 12)]).unwrap();
        assert!((one.resultant - 1.0).abs() < 1e-12);
        assert!((one.mean_phase.unwrap() - 0.3).abs() < 1e-12);
        let even = gather(&[(0.0, 5), (0.25, 5), (0.5, 5), (0.75, 5)]).unwrap();
        assert!(even.resultant < 1e-12 && even.second_harmonic < 1e-12);
        assert_eq!(even.mean_phase, None);
        assert!((even.rayleigh_p - 1.0).abs() < 1e-9);
    }

    #[test]
    fn two_opposed_waves_have_no_resultant_but_a_second_harmonic() {
        let waves = gather(&[(0.1, 10), (0.6, 10)]).unwrap();
        assert!(waves.resultant < 1e-12);
        assert!((waves.second_harmonic - 1.0).abs() < 1e-12);
    }

    #[test]
    fn turning_the_circle_turns_the_mean_only() {
        let still = gather(&[(0.1, 3), (0.2, 4), (0.7, 2)]).unwrap();
        let turned = gather(&[(0.35, 3), (0.45, 4), (0.95, 2)]).unwrap();
        let by = turned.mean_phase.unwrap() - still.mean_phase.unwrap();
        assert!((by - 0.25).abs() < 1e-12);
        assert!((still.resultant - turned.resultant).abs() < 1e-12);
    }
}
