//! Which animals are called before their proposal is shown: one of every five, drawn by seed.
//!
//! Only these count for the figures of agreement between reader and program, since whoever has seen
//! a proposal tends to follow it.

/// One of so many animals.
pub const ONE_OF: u64 = 5;

/// Whether the animal at `position` (from 0) of the sample with this seed is called before its
/// proposal is shown. Exactly one of each five in a row is.
pub fn before_proposal(seed: &str, position: usize) -> bool {
    let (block, place) = (position as u64 / ONE_OF, position as u64 % ONE_OF);
    let mut hasher = blake3::Hasher::new();
    hasher.update(seed.as_bytes());
    hasher.update(&block.to_le_bytes());
    let drawn = hasher.finalize();
    let mut number = [0; 8];
    number.copy_from_slice(&drawn.as_bytes()[..8]);
    u64::from_le_bytes(number) % ONE_OF == place
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_of_each_five_is_drawn_and_the_draw_depends_on_the_seed() {
        for seed in ["a", "b", "c"] {
            for block in 0..40 {
                let drawn = (0..5).filter(|at| before_proposal(seed, 5 * block + at));
                assert_eq!(drawn.count(), 1);
            }
        }
        let of = |seed| (0..100).map(move |at| before_proposal(seed, at));
        assert!(of("a").ne(of("b")));
        assert!(of("a").eq(of("a")));
    }
}
