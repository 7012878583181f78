//! Words of the demo.

/// What all of it is.
pub const MADE_UP: &str = "All of this is made up: the pond, the animals, the reader and the calls; \
     the photos are painted by the program.";

/// Name of the made-up farm.
pub const FARM: &str = "Made-up farm";

/// Name of its microscope.
pub const MICROSCOPE: &str = "Made-up microscope";

/// The note on everything in its logbook.
pub const NOTE: &str = "made up for the demo";

/// How its ponds are kept.
pub const SYSTEMS: [&str; 2] = ["earthen, aerated", "lined, aerated"];

/// Where its ponds are netted.
pub const STATIONS: [&str; 3] = ["gate", "middle", "far bank"];

/// Why its settled calls stand.
pub const READERS_AGREE: &str = "both made-up readers called the same";

/// Name of a pond of the made-up farm.
pub fn pond(number: usize) -> String {
    format!("Made-up pond {number}")
}

/// Said of a logbook that an earlier demo left.
pub const LOGBOOK_KEPT: &str =
    "The logbook of an earlier demo is there and was left as it is; move it away for a new one.";

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
