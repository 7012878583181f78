//! Why a photo is refused, and what the person at the bench can do about it.

use crate::measure::Refusal;

/// The refusal in a few words, for a table.
pub fn name(refusal: Refusal) -> &'static str {
    match refusal {
        Refusal::CannotDecode => "cannot be opened",
        Refusal::TooLarge => "too large",
        Refusal::TooSmall => "too small",
        Refusal::NoMargin => "no margin in view",
        Refusal::TooFewSetae => "too few setae",
        Refusal::OutOfFocus => "out of focus",
        Refusal::TooDark => "too dark",
        Refusal::BurntOut => "burnt out",
        Refusal::TooFewPixelsPerSeta => "too few pixels per seta",
        Refusal::NotAUropodTip => "not a uropod tip",
    }
}

/// What the person at the bench can do.
pub fn remedy(refusal: Refusal) -> &'static str {
    match refusal {
        Refusal::CannotDecode => "copy the photo again or take it again",
        Refusal::TooLarge => "crop the photo to the tip, or save it at a smaller size",
        Refusal::TooSmall => "use the photo as the camera wrote it, not a thumbnail",
        Refusal::NoMargin => {
            "move the slide until the edge of the blade with its row of setae crosses the picture"
        }
        Refusal::TooFewSetae => {
            "move along the edge to a part where the setae are whole, away from the cut"
        }
        Refusal::OutOfFocus => "focus on the bases of the setae and take the photo again",
        Refusal::TooDark => "open the condenser or expose longer and take the photo again",
        Refusal::BurntOut => "turn the lamp down or expose shorter and take the photo again",
        Refusal::TooFewPixelsPerSeta => {
            "use a stronger objective or the camera's full resolution and take the photo again"
        }
        Refusal::NotAUropodTip => {
            "photograph the edge of the inner uropod; if this is one, call the stage by eye"
        }
    }
}

/// The refusal with its remedy, as one sentence.
pub fn say(refusal: Refusal) -> String {
    format!("{}: {}", name(refusal), remedy(refusal))
}
