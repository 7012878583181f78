//! Whether the stations of a netting differ: animals of one throw are alike.

use crate::moult::Stage;
use crate::statistics::resampling::shuffled_p;
use crate::tally::Settings;
use std::collections::BTreeMap;

/// Shufflings of the animals over the stations.
const SHUFFLINGS: usize = 2_000;
/// Seed of the shufflings: the same table gives the same figure.
const SEED: u64 = 1;

/// Soft animals station by station, and how often chance alone makes them so different.
#[derive(Debug, Clone, PartialEq)]
pub struct StationDifference {
    /// Soft animals of all called ones, by station.
    pub soft: BTreeMap<String, (u64, u64)>,
    /// Part of the shufflings of all animals over the stations that differ as much.
    pub by_chance: f64,
}

/// Compares the stations of called animals; absent unless two or more are named.
pub fn compare_stations(
    calls: &[(Option<&str>, Option<Stage>)],
    settings: &Settings,
) -> Option<StationDifference> {
    let mut soft: BTreeMap<String, (u64, u64)> = BTreeMap::new();
    let mut places = Vec::new();
    let mut hits = Vec::new();
    for (station, stage) in calls {
        let (Some(station), Some(stage)) = (station, stage) else {
            continue;
        };
        let hit = settings.soft.contains(stage);
        let at = soft.entry((*station).to_owned()).or_default();
        at.0 += u64::from(hit);
        at.1 += 1;
        places.push(*station);
        hits.push(hit);
    }
    if soft.len() < 2 {
        return None;
    }
    let names: Vec<&String> = soft.keys().collect();
    let index = |place: &&str| {
        names
            .binary_search_by(|name| name.as_str().cmp(*place))
            .unwrap_or(0)
    };
    let groups: Vec<usize> = places.iter().map(index).collect();
    let by_chance = shuffled_p(&groups, &hits, SHUFFLINGS, SEED);
    Some(StationDifference { soft, by_chance })
}
