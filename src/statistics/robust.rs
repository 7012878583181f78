//! Centres and spreads that a few wild values cannot move.

/// The value below which `share` (0 to 1) of the values lie, linear between neighbours.
///
/// `None` when there are no values. Values must not be NaN.
pub fn quantile(values: &[f64], share: f64) -> Option<f64> {
    let (low, part) = place(values.len(), share)?;
    let mut values = values.to_vec();
    let (_, below, others) = values.select_nth_unstable_by(low, f64::total_cmp);
    let below = *below;
    let above = others.iter().copied().reduce(f64::min).unwrap_or(below);
    Some(below + (above - below) * part)
}

/// [`quantile`] of values that are already in ascending order.
pub fn sorted_quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let (low, part) = place(sorted.len(), share)?;
    let high = (low + 1).min(sorted.len() - 1);
    Some(sorted[low] + (sorted[high] - sorted[low]) * part)
}

/// Where a quantile lies among so many ascending values: after which one, and how far towards the next.
fn place(count: usize, share: f64) -> Option<(usize, f64)> {
    let at = share.clamp(0.0, 1.0) * count.checked_sub(1)? as f64;
    let low = at.floor();
    Some((low as usize, at - low))
}

/// The middle value.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// 1.4826 times the median absolute deviation from the median: the standard deviation of a normal
/// sample.
pub fn spread(values: &[f64]) -> Option<f64> {
    let centre = median(values)?;
    let deviations: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    Some(1.4826 * median(&deviations)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_lie_between_neighbours() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&values, 0.5), Some(2.5));
        assert_eq!(quantile(&values, 1.0), Some(4.0));
        assert_eq!(quantile(&[], 0.5), None);
    }

    #[test]
    fn one_wild_value_does_not_move_the_spread() {
        assert_eq!(spread(&[1.0, 2.0, 3.0, 4.0, 1000.0]), Some(1.4826));
    }
}
