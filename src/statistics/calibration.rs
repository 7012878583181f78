//! How honest stated probabilities were: Brier score, log-loss and expected calibration error.

/// Probability stated for what was chosen, and whether it was right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// Stated probability, 0..1.
    pub confidence: f64,
    /// Says whether it came true.
    pub correct: bool,
}

/// One bin of a reliability plot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Lower edge, not part of the bin.
    pub above: f64,
    /// Upper edge, part of the bin.
    pub up_to: f64,
    /// Statements in the bin.
    pub of: usize,
    /// Their mean stated probability.
    pub confidence: f64,
    /// The part of them that came true.
    pub accuracy: f64,
}

/// Mean squared distance between the stated probabilities and what happened, summed over the
/// classes: 0 is perfect, 2 the worst. Absent without rows.
///
/// Rows are animals: the probability of each class, and the class that was true.
///
/// # Source
/// Brier 1950, the form that sums over classes; some programs print half of it.
pub fn brier(rows: &[(&[f64], usize)]) -> Option<f64> {
    mean(rows.iter().map(|(probabilities, truth)| {
        let square = |(class, p): (usize, &f64)| {
            let hit = if class == *truth { 1.0 } else { 0.0 };
            (p - hit).powi(2)
        };
        probabilities.iter().enumerate().map(square).sum()
    }))
}

/// Mean negative logarithm of the probability stated for the true class, in nats; probabilities
/// below 1e-15 count as that. Absent without rows.
pub fn log_loss(rows: &[(&[f64], usize)]) -> Option<f64> {
    mean(rows.iter().map(|(probabilities, truth)| {
        let stated = probabilities.get(*truth).copied().unwrap_or(0.0);
        -stated.max(1e-15).ln()
    }))
}

/// The bins of a reliability plot that hold any statement: equal widths, bin m of M being
/// ((m-1)/M, m/M], with 0 itself in the first.
pub fn reliability(stated: &[Stated], bins: usize) -> Vec<Bin> {
    let width = 1.0 / bins.max(1) as f64;
    (0..bins.max(1))
        .filter_map(|m| {
            let (above, up_to) = (m as f64 * width, (m + 1) as f64 * width);
            let within: Vec<&Stated> = stated
                .iter()
                .filter(|s| bin_of(s.confidence, bins.max(1)) == m)
                .collect();
            let of = within.len();
            (of > 0).then(|| Bin {
                above,
                up_to,
                of,
                confidence: within.iter().map(|s| s.confidence).sum::<f64>() / of as f64,
                accuracy: within.iter().filter(|s| s.correct).count() as f64 / of as f64,
            })
        })
        .collect()
}

/// Expected calibration error over equal-width bins: the mean gap between stated and true, each bin
/// weighted by its statements. Absent without statements.
///
/// # Source
/// Guo, Pleiss, Sun & Weinberger 2017, On Calibration of Modern Neural Networks (definition from
/// memory).
pub fn expected_error(stated: &[Stated], bins: usize) -> Option<f64> {
    let all = stated.len();
    let weighted = |b: &Bin| b.of as f64 / all as f64 * (b.accuracy - b.confidence).abs();
    (all > 0).then(|| reliability(stated, bins).iter().map(weighted).sum())
}

/// The largest gap between stated and true over equal-width bins. Absent without statements.
pub fn largest_error(stated: &[Stated], bins: usize) -> Option<f64> {
    let gaps = reliability(stated, bins);
    let gaps = gaps.iter().map(|b| (b.accuracy - b.confidence).abs());
    gaps.reduce(f64::max)
}

fn bin_of(confidence: f64, bins: usize) -> usize {
    // A confidence of 0.6 must land in (0.4, 0.6] although 0.6 * 5 is a rounding above 3.
    let m = (confidence * bins as f64 - 1e-9).ceil() as usize;
    m.clamp(1, bins) - 1
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> Option<f64> {
    let of = values.len();
    (of > 0).then(|| values.sum::<f64>() / of as f64)
}
