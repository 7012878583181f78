//! Which slides go to a second reader: all that are marked, and a share of the clear ones drawn by
//! seed, since a second reading of hard slides alone would say nothing of the easy ones.

use crate::cycle::arcs::StageArcs;
use crate::moult::Stage;
use crate::records::words::Chosen;
use crate::tally;
use crate::tally::Settings;
use crate::units::Probability;
use crate::workflow::animals::AnimalProposal;
use rand::Rng as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeSet;

/// Share of the clear slides that is drawn where nobody says.
///
/// # Source
/// Our choice: one in ten.
pub const CLEAR_SHARE: f64 = 0.10;
/// Least probability on the other side that puts a slide near a border.
///
/// # Source
/// Our choice.
pub const NEAR: f64 = 0.10;

/// What is known of one animal when slides are chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its standing call; absent when it was left unread.
    pub call: Option<Stage>,
    /// Whether the first reader asked for a second one.
    pub asked: bool,
    /// What the program proposes; absent when no photo of it could be read.
    pub proposal: Option<AnimalProposal>,
}

/// Slides that were drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// The candidates by their position, in the order of reading, with the reason of each.
    pub slides: Vec<(usize, Chosen)>,
    /// Marked ones, all of which are drawn.
    pub marked: usize,
    /// Clear ones from which the others were drawn.
    pub clear: usize,
}

/// Why each animal of a sample is to be read twice, if it is: the first reader's wish before the
/// program's marks, and those before the borders that could turn the verdict.
pub fn marks(sample: &[Candidate], settings: &Settings) -> Vec<Option<Chosen>> {
    let turning = [
        (&settings.soft, Chosen::SoftBorder, [Stage::B, Stage::C]),
        (&settings.due, Chosen::DueBorder, [Stage::D2, Stage::D1]),
    ]
    .map(|(group, why, sides)| (turning(sample, settings, group, sides), why));
    sample
        .iter()
        .enumerate()
        .map(|(at, animal)| {
            let border = || {
                let of = turning.iter().find(|(turning, _)| turning.contains(&at));
                of.map(|(_, why)| *why)
            };
            own_mark(animal).or_else(border)
        })
        .collect()
}

fn own_mark(animal: &Candidate) -> Option<Chosen> {
    if animal.asked {
        return Some(Chosen::Asked);
    }
    match &animal.proposal {
        None => Some(Chosen::CannotTell),
        Some(found) if found.novelty > 1.0 => Some(Chosen::Far),
        Some(found) if found.second_reader => Some(Chosen::Ambiguous),
        Some(found) if found.stage.is_none() => Some(Chosen::CannotTell),
        Some(_) => None,
    }
}

/// The animals near the border of a group, if they could turn the verdict: if the answer were
/// another one with all of them on the one side, or all on the other.
fn turning(
    sample: &[Candidate],
    settings: &Settings,
    group: &BTreeSet<Stage>,
    sides: [Stage; 2],
) -> BTreeSet<usize> {
    let near: BTreeSet<usize> = sample
        .iter()
        .enumerate()
        .filter(|(_, animal)| is_near(animal, group))
        .map(|(at, _)| at)
        .collect();
    let answer = |side: Option<Stage>| {
        let animals: Vec<tally::Animal> = sample
            .iter()
            .enumerate()
            .map(|(at, animal)| tally::Animal {
                stage: match side {
                    Some(side) if near.contains(&at) => Some(side),
                    _ => animal.call,
                },
                shell: None,
            })
            .collect();
        tally::tally(&animals, settings, &StageArcs::published()).at_netting
    };
    let as_called = answer(None);
    let turns = !near.is_empty() && sides.iter().any(|side| answer(Some(*side)) != as_called);
    if turns { near } else { BTreeSet::new() }
}

/// Whether a call or the proposal leaves at least [`NEAR`] on either side of the border of a group.
fn is_near(animal: &Candidate, group: &BTreeSet<Stage>) -> bool {
    let (Some(found), Some(_)) = (&animal.proposal, animal.call) else {
        return false;
    };
    let inside = found
        .probabilities
        .iter()
        .filter(|(s, _)| group.contains(s));
    let inside: f64 = inside.map(|(_, p)| p).sum();
    let called_inside = animal.call.is_some_and(|call| group.contains(&call));
    let other_side = if called_inside { 1.0 - inside } else { inside };
    other_side >= NEAR
}

/// Draws all marked slides and `share` of the clear ones (rounded up), and shuffles them. The same
/// marks, share and seed give the same slides in the same order.
pub fn draw(marks: &[Option<Chosen>], share: Probability, seed: u64) -> Drawn {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let positions = || marks.iter().enumerate();
    let mut slides: Vec<(usize, Chosen)> = positions()
        .filter_map(|(at, mark)| Some((at, (*mark)?)))
        .collect();
    let mut clear: Vec<usize> = positions()
        .filter(|(_, mark)| mark.is_none())
        .map(|(at, _)| at)
        .collect();
    let (marked, of_clear) = (slides.len(), clear.len());
    shuffle(&mut clear, &mut random);
    let wanted = (share.get() * of_clear as f64 - 1e-9).ceil().max(0.0) as usize;
    slides.extend(clear.into_iter().take(wanted).map(|at| (at, Chosen::Clear)));
    shuffle(&mut slides, &mut random);
    Drawn {
        slides,
        marked,
        clear: of_clear,
    }
}

/// Puts items into an order that depends on the stream alone.
pub(in crate::workflow) fn shuffle<T>(items: &mut [T], random: &mut ChaCha8Rng) {
    for last in (1..items.len()).rev() {
        let other = (random.next_u64() % (last as u64 + 1)) as usize;
        items.swap(last, other);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn animal(call: Stage, probabilities: &[(Stage, f64)]) -> Candidate {
        let probabilities: BTreeMap<Stage, f64> = probabilities.iter().copied().collect();
        Candidate {
            call: Some(call),
            asked: false,
            proposal: Some(AnimalProposal {
                stage: Some(call),
                probabilities,
                second_reader: false,
                novelty: 0.4,
                because: Vec::new(),
                photos: 1,
            }),
        }
    }

    fn clear(call: Stage) -> Candidate {
        animal(call, &[(call, 1.0)])
    }

    #[test]
    fn wishes_and_the_program_s_marks_come_first() {
        let sure = clear(Stage::D0);
        let found = sure.proposal.clone().unwrap();
        let with = |change: &dyn Fn(&mut AnimalProposal)| {
            let mut proposal = found.clone();
            change(&mut proposal);
            Candidate {
                proposal: Some(proposal),
                ..sure.clone()
            }
        };
        let asked = Candidate {
            asked: true,
            ..with(&|p| p.novelty = 3.0)
        };
        let unreadable = Candidate {
            proposal: None,
            ..sure.clone()
        };
        let sample = [
            sure.clone(),
            asked,
            with(&|p| p.novelty = 1.2),
            with(&|p| p.second_reader = true),
            with(&|p| p.stage = None),
            unreadable,
        ];
        let wanted = [
            None,
            Some(Chosen::Asked),
            Some(Chosen::Far),
            Some(Chosen::Ambiguous),
            Some(Chosen::CannotTell),
            Some(Chosen::CannotTell),
        ];
        assert_eq!(marks(&sample, &Settings::default()), wanted);
    }

    /// 45 animals of which none is soft are within 5 % moulting and 10 % soft at 90 % (0.95^45 and
    /// 0.9^45 lie below 0.1); six soft ones of 45 are not. Forty animals more within the same
    /// distance of the border change nothing where the answer is the same on both sides.
    #[test]
    fn a_border_is_marked_only_where_it_could_turn_the_verdict() {
        let near = animal(Stage::C, &[(Stage::B, 0.2), (Stage::C, 0.8)]);
        let mut sample = vec![clear(Stage::D0); 39];
        sample.extend(vec![near.clone(); 6]);
        let marks_of = |sample: &[Candidate]| marks(sample, &Settings::default());
        let found = marks_of(&sample);
        assert!(found[..39].iter().all(Option::is_none));
        assert!(found[39..].iter().all(|m| *m == Some(Chosen::SoftBorder)));
        // a pond that is over anyway: twenty of forty-five moulting
        let mut over = vec![clear(Stage::A); 20];
        over.extend(vec![clear(Stage::D0); 19]);
        over.extend(vec![near; 6]);
        assert!(marks_of(&over).iter().all(Option::is_none));
        // surer than one in ten
        let sure = animal(Stage::C, &[(Stage::B, 0.09), (Stage::C, 0.91)]);
        let mut sample = vec![clear(Stage::D0); 39];
        sample.extend(vec![sure; 6]);
        assert!(marks_of(&sample).iter().all(Option::is_none));
    }

    #[test]
    fn all_marked_and_a_tenth_of_the_clear_are_drawn_in_an_order_of_the_seed() {
        let mut marks = vec![None; 41];
        marks.extend([Some(Chosen::Far), Some(Chosen::Asked)]);
        let share = Probability::clamped(CLEAR_SHARE);
        let drawn = draw(&marks, share, 7);
        assert_eq!((drawn.marked, drawn.clear, drawn.slides.len()), (2, 41, 7));
        for marked in [(41, Chosen::Far), (42, Chosen::Asked)] {
            assert!(drawn.slides.contains(&marked));
        }
        assert_eq!(draw(&marks, share, 7), drawn);
        assert_ne!(draw(&marks, share, 8).slides, drawn.slides);
        // each clear slide comes as often as another, and each place in the order too
        let mut times = [0_u32; 41];
        let mut first_is_marked = 0_u32;
        for seed in 0..4_000 {
            let drawn = draw(&marks, share, seed);
            first_is_marked += u32::from(drawn.slides[0].1 != Chosen::Clear);
            let clear = drawn.slides.iter().filter(|(_, why)| *why == Chosen::Clear);
            clear.for_each(|(at, _)| times[*at] += 1);
        }
        // 4000 x 5 / 41 = 488, with a standard deviation of 21; 4000 x 2 / 7 = 1143, one of 29
        assert!(times.iter().all(|n| n.abs_diff(488) < 100), "{times:?}");
        assert!(first_is_marked.abs_diff(1143) < 130, "{first_is_marked}");
        assert_eq!(draw(&marks, Probability::clamped(0.0), 1).slides.len(), 2);
        assert_eq!(draw(&marks, Probability::clamped(1.0), 1).slides.len(), 43);
    }
}
