//! Painted tips under every condition, read and staged by the shipped model.
//!
//! The seed is none that the model was made with. The painter is our own, so this watches that what
//! `docs/accuracy.md` says of the whole stress set does not get lost; it is no outside check.

use tailfan::progress::Progress;
use tailfan::stage::model::shipped;
use tailfan::workflow::labelled::Slide;
use tailfan::workflow::labelled::painted_slides;
use tailfan::workflow::scoring::Asked;
use tailfan::workflow::scoring::score;

const SEED: u64 = 2027;
/// Tips of known stage, tips between stages and pictures without a tip, evenly over all conditions.
const PHOTOS: usize = 140;

#[test]
fn painted_tips_under_all_conditions_keep_their_stage() {
    let all = painted_slides(1, SEED);
    let of = all.len();
    let picked: Vec<Slide> = all
        .into_iter()
        .enumerate()
        .filter(|(at, _)| at * PHOTOS / of != (at + 1) * PHOTOS / of)
        .map(|(_, slide)| slide)
        .collect();
    assert_eq!(picked.len(), PHOTOS);
    let asked = Asked {
        clear_only: true,
        ..Asked::default()
    };
    let model = shipped().unwrap();
    let found = score(&picked, &model, asked, &Progress::silent(), || {})
        .unwrap()
        .all;
    assert_eq!(found.no_tip_proposed, 0);
    assert!(found.usable.unwrap() >= 0.95, "{:?}", found.refused);
    // of some seventy clear tips three standard errors below the whole set's share
    assert!(found.exact.unwrap() >= 0.81, "{:?}", found.confusion);
    assert!(found.soft_errors <= 2, "{:?}", found.confusion);
    // of some fifty between two stages three standard errors below the whole set's share
    assert!(found.second_reader_between.unwrap() >= 0.25);
}
