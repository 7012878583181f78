//! Painted tips under every condition, read and staged by the shipped model.
//!
//! The seed is none that the model was made with. The painter is our own, so this watches that what
//! `docs/accuracy.md` says of the whole stress set does not get lost; it is no outside check.

use tailfan::progress::Progress;
use tailfan::stage::evaluation::Truth;
use tailfan::stage::model::shipped;
use tailfan::workflow::labelled::Slide;
use tailfan::workflow::labelled::painted_slides;
use tailfan::workflow::scoring::Asked;
use tailfan::workflow::scoring::score;

const SEED: u64 = 2027;
const TIPS: usize = 140;

#[test]
fn painted_tips_under_all_conditions_keep_their_stage() {
    let staged: Vec<Slide> = painted_slides(1, SEED)
        .into_iter()
        .filter(|slide| matches!(slide.truth, Truth::Stage { .. }))
        .collect();
    let of = staged.len();
    let picked: Vec<Slide> = staged
        .into_iter()
        .enumerate()
        .filter(|(at, _)| at * TIPS / of != (at + 1) * TIPS / of)
        .map(|(_, slide)| slide)
        .collect();
    assert_eq!(picked.len(), TIPS);
    let asked = Asked {
        clear_only: true,
        ..Asked::default()
    };
    let model = shipped().unwrap();
    let found = score(&picked, &model, asked, &Progress::silent(), || {})
        .unwrap()
        .all;
    println!("{found:#?}");
    assert!(found.usable.unwrap() >= 0.95, "{:?}", found.refused);
    assert!(found.exact.unwrap() >= 0.85, "{:?}", found.confusion);
    assert!(found.soft_errors <= 2, "{:?}", found.confusion);
}
