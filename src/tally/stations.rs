//! Whether the stations or throws of a netting differ: animals of one throw are alike.

use crate::moult::Stage;
use crate::statistics::resampling::shuffled_p;
use crate::tally::Settings;
use serde::Serialize;
use std::collections::BTreeMap;

/// Shufflings of the animals over the stations.
const SHUFFLINGS: usize = 2_000;
/// Seed of the shufflings: the same table gives the same figure.
const SEED: u64 = 1;

/// Soft and due animals station by station, or throw by throw, and how often chance alone makes them
/// so different.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StationDifference {
    /// Soft animals of all called ones, by station.
    pub soft: BTreeMap<String, (u64, u64)>,
    /// Part of the shufflings of all animals over the stations that differ as much in soft ones.
    pub by_chance: f64,
    /// Animals about to moult of all called ones, by station.
    pub due: BTreeMap<String, (u64, u64)>,
    /// Part of the shufflings that differ as much in animals about to moult.
    pub due_by_chance: f64,
    /// The design effect that these animals show, the larger of soft and due: rough, and 1 when they
    /// differ no more than chance would have it. Absent when every station has one animal.
    pub design_effect_seen: Option<f64>,
}

/// Compares the stations (or throws) of called animals; absent unless two or more are named.
pub fn compare_stations(
    calls: &[(Option<&str>, Option<Stage>)],
    settings: &Settings,
) -> Option<StationDifference> {
    let placed: Vec<(&str, Stage)> = calls.iter().filter_map(|(p, s)| (*p).zip(*s)).collect();
    let mut index: BTreeMap<&str, usize> = placed.iter().map(|(place, _)| (*place, 0)).collect();
    if index.len() < 2 {
        return None;
    }
    for (number, at) in index.values_mut().enumerate() {
        *at = number;
    }
    let groups: Vec<usize> = placed
        .iter()
        .filter_map(|(place, _)| index.get(place).copied())
        .collect();
    let look = |counts: &dyn Fn(Stage) -> bool| {
        let hits: Vec<bool> = placed.iter().map(|(_, stage)| counts(*stage)).collect();
        let mut by_place: BTreeMap<String, (u64, u64)> = BTreeMap::new();
        for ((place, _), hit) in placed.iter().zip(&hits) {
            let at = by_place.entry((*place).to_owned()).or_default();
            at.0 += u64::from(*hit);
            at.1 += 1;
        }
        let by_chance = shuffled_p(&groups, &hits, SHUFFLINGS, SEED);
        (by_place, by_chance)
    };
    let (soft, by_chance) = look(&|stage| settings.soft.contains(&stage));
    let (due, due_by_chance) = look(&|stage| settings.due.contains(&stage));
    let seen = [&soft, &due].map(|places| design_effect(places.values()));
    let design_effect_seen = seen.into_iter().flatten().reduce(f64::max);
    Some(StationDifference {
        soft,
        by_chance,
        due,
        due_by_chance,
        design_effect_seen,
    })
}

/// The design effect of counts in clusters.
///
/// # Formula
/// 1 + (m - 1) r with m the mean size and r = (B - W) / (B + (m0 - 1) W), B and W the mean squares
/// between and within clusters, m0 = (n - Σ m² / n) / (clusters - 1); never below 1.
///
/// # Source
/// The analysis-of-variance estimate of the correlation within clusters and Kish's design effect (both
/// from memory).
fn design_effect<'a>(places: impl Iterator<Item = &'a (u64, u64)> + Clone) -> Option<f64> {
    let (clusters, n) = places
        .clone()
        .fold((0.0, 0.0), |(c, n), (_, size)| (c + 1.0, n + *size as f64));
    let hits: f64 = places.clone().map(|(k, _)| *k as f64).sum();
    if n <= clusters || clusters < 2.0 {
        return None;
    }
    let (mut between, mut within, mut squares) = (0.0, 0.0, 0.0);
    for (k, size) in places {
        let (k, m) = (*k as f64, *size as f64);
        between += m * (k / m - hits / n).powi(2);
        within += k * (m - k) / m;
        squares += m * m;
    }
    let (between, within) = (between / (clusters - 1.0), within / (n - clusters));
    let size = (n - squares / n) / (clusters - 1.0);
    let all = between + (size - 1.0) * within;
    let alike = if all > 0.0 {
        (between - within) / all
    } else {
        0.0
    };
    Some((1.0 + (n / clusters - 1.0) * alike).max(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clusters_that_are_all_alike_count_as_one_animal_each() {
        // Four throws of five, each all soft or all hard: r = 1, so that twenty animals tell as four.
        let places = [(5, 5), (0, 5), (5, 5), (0, 5)];
        assert!((design_effect(places.iter()).unwrap() - 5.0).abs() < 1e-12);
        let even = [(2, 5), (2, 5), (2, 5), (2, 5)];
        assert_eq!(design_effect(even.iter()), Some(1.0));
        assert_eq!(design_effect([(1, 1), (0, 1)].iter()), None);
    }
}
