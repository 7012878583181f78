//! Words of the demo.

/// What all of it is.
pub const MADE_UP: &str = "All of this is made up: the pond, the animals, the reader and the calls; \
     the photos are painted by the program.";

/// Said while the sample is painted.
pub const PAINTING: &str = "no sample-images here: painting the made-up sample";

/// The heading of the list of differences.
pub const DIFFERENCES: &str = "Where proposal and call differ:";

/// Before the calls of animals for which nothing was proposed.
pub const BY_EYE: &str = "Called by eye, without a proposal:";

/// How many calls agree with their proposals.
pub fn agreeing(same: usize, both: usize) -> String {
    let photos = if both == 1 { "photo" } else { "photos" };
    format!("Of {both} {photos} with a proposal and a call, {same} have the same stage in both.")
}
