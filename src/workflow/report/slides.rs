//! Small pictures of the slides that decided a tally.

use crate::drawing::straight::StraightMargin;
use crate::micrograph::decode;
use crate::micrograph::decode::Limits;
use crate::micrograph::encode::displayed;
use crate::micrograph::encode::encode_jpeg;
use crate::micrograph::encode::middle;
use crate::micrograph::encode::narrowed;
use crate::moult::Stage;
use crate::records::Reading;
use crate::report::Slide;
use crate::tally::LimitTally;
use crate::tally::Tally;
use crate::texts;
use std::collections::BTreeSet;
use std::path::Path;

/// A slide that may stand on the page.
#[derive(Debug, Clone, Copy)]
pub struct SlideSource<'a> {
    /// Name of the animal.
    pub animal: &'a str,
    /// Its call.
    pub stage: Stage,
    /// What was read in the photo; absent where nothing was.
    pub reading: Option<&'a Reading>,
    /// The photo.
    pub photo: &'a Path,
}

/// So many slides stand on a page at most.
pub const MOST_SLIDES: usize = 6;
/// Width of their pictures in pixels.
const SLIDE_WIDTH: u32 = 520;
/// Height of a picture, in parts of its width.
const SLIDE_SHAPE: f64 = 0.56;
const SLIDE_QUALITY: u8 = 82;

/// Small pictures of the slides that decided a tally: those called into the groups that decided, or
/// where none was, the ones nearest to the next moult. A photo that cannot be read any more is left
/// out.
pub fn deciding_slides(tally: &Tally, slides: &[SlideSource<'_>]) -> Vec<Slide> {
    let groups: [(&str, &LimitTally); 3] = [
        ("soft", &tally.soft),
        ("moulting", &tally.moulting),
        ("due", &tally.due),
    ];
    // What was felt has no stages of its own: the soft ones are shown.
    let in_hand = tally.decided_by.contains(&"soft_in_hand");
    let decided = groups
        .iter()
        .filter(|(name, _)| tally.decided_by.contains(name) || in_hand && *name == "soft");
    let stages: BTreeSet<Stage> = decided
        .filter_map(|(_, group)| group.stages.as_ref())
        .flatten()
        .copied()
        .collect();
    let mut chosen: Vec<&SlideSource<'_>> = slides
        .iter()
        .filter(|s| stages.contains(&s.stage))
        .collect();
    if chosen.is_empty() {
        let due = tally.due.stages.as_deref().unwrap_or_default();
        chosen = slides.iter().filter(|s| due.contains(&s.stage)).collect();
    }
    chosen
        .into_iter()
        .filter_map(picture_of)
        .take(MOST_SLIDES)
        .collect()
}

/// The middle of the straightened margin, or of the photo where there is none.
fn picture_of(source: &SlideSource<'_>) -> Option<Slide> {
    let photo = decode::decode_file(source.photo, &Limits::default()).ok()?;
    let whole = displayed(&photo.micrograph);
    let strip = source
        .reading
        .filter(|reading| reading.usable)
        .and_then(StraightMargin::of)
        .map(|margin| margin.straighten(&whole));
    let shown = strip.unwrap_or(whole);
    let wide = (f64::from(shown.height()) / SLIDE_SHAPE) as u32;
    let high = (f64::from(shown.width()) * SLIDE_SHAPE) as u32;
    let small = narrowed(&middle(&shown, wide, high), SLIDE_WIDTH);
    Some(Slide {
        size: [small.width(), small.height()],
        jpeg: encode_jpeg(&small, SLIDE_QUALITY).ok()?,
        caption: texts::page::slide(source.animal, source.stage),
        says: texts::page::slide_says(source.animal, source.stage),
    })
}
