//! Parts that are left out in turn: whole animals or whole ponds, never single photos.

use rand::SeedableRng as _;
use rand::seq::SliceRandom as _;
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

/// A photo as far as it matters for being left out: its group (an animal or a pond) and its class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Member<'a> {
    /// The animal or the pond.
    pub group: &'a str,
    /// The class.
    pub class: usize,
}

/// The part of each member: groups stay whole, and are dealt out so that the parts hold about the
/// same number of photos of each class. The same members and seed give the same parts.
pub fn deal(members: &[Member<'_>], parts: usize, seed: u64) -> Vec<usize> {
    let mut groups: BTreeMap<&str, BTreeMap<usize, usize>> = BTreeMap::new();
    for member in members {
        let classes = groups.entry(member.group).or_default();
        *classes.entry(member.class).or_insert(0) += 1;
    }
    let mut order: Vec<(&str, BTreeMap<usize, usize>)> = groups.into_iter().collect();
    order.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
    // The largest groups first: the small ones even out what is left.
    order.sort_by_key(|(_, classes)| std::cmp::Reverse(classes.values().sum::<usize>()));
    let parts = parts.max(1);
    let mut held = vec![BTreeMap::<usize, usize>::new(); parts];
    let mut at: BTreeMap<&str, usize> = BTreeMap::new();
    for (group, classes) in order {
        let load = |part: usize| {
            let own: usize = classes
                .iter()
                .map(|(class, count)| count * held[part].get(class).copied().unwrap_or(0))
                .sum();
            (own, held[part].values().sum::<usize>(), part)
        };
        let part = (0..parts).min_by_key(|part| load(*part)).unwrap_or(0);
        for (class, count) in classes {
            *held[part].entry(class).or_insert(0) += count;
        }
        at.insert(group, part);
    }
    members.iter().map(|member| at[member.group]).collect()
}

/// How many groups there are.
pub fn groups(members: &[Member<'_>]) -> usize {
    let mut names: Vec<&str> = members.iter().map(|member| member.group).collect();
    names.sort_unstable();
    names.dedup();
    names.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_stay_whole_and_classes_are_spread() {
        let names: Vec<String> = (0..40).map(|i| format!("animal {i}")).collect();
        let mut members = Vec::new();
        for (i, name) in names.iter().enumerate() {
            for _ in 0..=i % 3 {
                members.push(Member {
                    group: name,
                    class: i % 4,
                });
            }
        }
        let parts = deal(&members, 5, 3);
        assert_eq!(parts, deal(&members, 5, 3));
        assert_ne!(parts, deal(&members, 5, 4));
        for (a, part) in members.iter().zip(&parts) {
            for (b, other) in members.iter().zip(&parts) {
                assert!(a.group != b.group || part == other);
            }
        }
        for part in 0..5 {
            for class in 0..4 {
                let count = members
                    .iter()
                    .zip(&parts)
                    .filter(|(m, p)| **p == part && m.class == class)
                    .count();
                assert!(
                    (2..=7).contains(&count),
                    "part {part} class {class}: {count}"
                );
            }
        }
        assert_eq!(groups(&members), 40);
    }
}
