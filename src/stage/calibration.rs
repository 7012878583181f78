//! Temperature scaling: one number that makes stated probabilities honest.

use crate::stage::logistic::softmax;

/// Smallest and largest temperature that is looked for.
const TEMPERATURES: (f64, f64) = (0.05, 20.0);

/// The temperature at which the log-odds explain the classes best.
///
/// `rows` are log-odds (one for each class) with the class that was true, taken from photos that the
/// fit has not seen.
///
/// # Formula
/// T minimises Σ -log softmax(z / T)[class]; in 1/T this is convex, with the slope
/// Σ (Σ_k p_k z_k - z_class), whose zero is found by halving.
///
/// # Source
/// Guo, Pleiss, Sun & Weinberger 2017, On Calibration of Modern Neural Networks (from memory).
pub fn temperature(rows: &[(&[f64], usize)]) -> f64 {
    let (mut cold, mut hot) = TEMPERATURES;
    if rows.is_empty() {
        return 1.0;
    }
    for _ in 0..200 {
        let middle = (cold * hot).sqrt();
        if slope(rows, middle) > 0.0 {
            cold = middle;
        } else {
            hot = middle;
        }
    }
    (cold * hot).sqrt()
}

/// Slope of the loss over 1/T.
fn slope(rows: &[(&[f64], usize)], temperature: f64) -> f64 {
    rows.iter()
        .map(|(logits, class)| {
            let p = softmax(logits, temperature);
            let mean: f64 = p.iter().zip(*logits).map(|(p, z)| p * z).sum();
            mean - logits[*class]
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_error_in_four_is_stated_as_one_in_four() {
        let sure = [9.0, 0.0];
        let rows = [(&sure[..], 0), (&sure, 0), (&sure, 0), (&sure, 1)];
        let t = temperature(&rows);
        assert!((softmax(&sure, t)[0] - 0.75).abs() < 1e-9);
    }

    #[test]
    fn without_rows_nothing_is_changed() {
        assert_eq!(temperature(&[]), 1.0);
    }
}
