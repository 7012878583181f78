//! Rounds at this desk: drawing the slides, taking the second calls.

use crate::logbook::View;
use crate::records::decisions::SecondCall;
use crate::records::decisions::Settlement;
use crate::records::ids::AnimalId;
use crate::records::ids::BlindRoundId;
use crate::records::ids::SampleId;
use crate::records::ids::ThingId as _;
use crate::records::places::Animal;
use crate::records::rounds::BlindCall;
use crate::records::rounds::BlindRound;
use crate::records::rounds::RoundSlide;
use crate::records::table::Kept;
use crate::records::words::ActionKind;
use crate::units::Probability;
use crate::workflow::animals::animal_proposal;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::samples::AnimalInHand;
use crate::workflow::second::choosing::CLEAR_SHARE;
use crate::workflow::second::choosing::Candidate;
use crate::workflow::second::choosing::draw;
use crate::workflow::second::choosing::marks;
use crate::workflow::second::error::SecondError;
use std::collections::BTreeSet;

/// Which slides a second reader is to get.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundPlan {
    /// The samples.
    pub samples: Vec<SampleId>,
    /// Who is to read.
    pub reader: String,
    /// Share of the clear slides to be mixed in.
    pub clear_share: Probability,
    /// Seed of the draw and of the order.
    pub seed: u64,
}

impl RoundPlan {
    /// One sample for a reader, with the usual share of clear slides and a seed of that sample.
    pub fn of(sample: SampleId, reader: &str) -> Self {
        Self {
            samples: vec![sample],
            reader: reader.to_owned(),
            clear_share: Probability::clamped(CLEAR_SHARE),
            seed: seed_of(sample, reader),
        }
    }
}

/// A seed that depends on the sample and the reader alone, below 2^63.
pub fn seed_of(sample: SampleId, reader: &str) -> u64 {
    let drawn = blake3::hash(format!("{sample}/{reader}").as_bytes());
    let mut number = [0; 8];
    number.copy_from_slice(&drawn.as_bytes()[..8]);
    u64::from_le_bytes(number) >> 1
}

/// What became of second calls that were taken in.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TakenCalls {
    /// Calls that are new.
    pub new: usize,
    /// Calls that replace an earlier one of the same reader.
    pub changed: usize,
    /// Calls that were there already, or older than what is there.
    pub known: usize,
}

/// How far a round is.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundInHand {
    /// The round.
    pub round: Kept<BlindRound>,
    /// The numbers that were called.
    pub called: BTreeSet<u32>,
}

impl RoundInHand {
    /// Whether every slide was called.
    pub fn is_done(&self) -> bool {
        self.called.len() >= self.round.body.slides.len()
    }
}

impl Session {
    /// Draws the slides of a round without writing anything.
    ///
    /// # Errors
    /// [`SecondError::NoSlides`] when none is left for this reader.
    pub fn draw_round(&self, plan: &RoundPlan) -> Result<BlindRound, SecondError> {
        let reader = plan.reader.trim();
        if reader.is_empty() {
            return Err(SecondError::NoReader);
        }
        let before = self.given_to(reader)?;
        let (mut own, mut sent_before, mut without) = (0, 0, 0);
        let mut chosen = Vec::new();
        let mut why = Vec::new();
        for sample in &plan.samples {
            let hand = self.sample_in_hand(*sample)?;
            let settings = self.count(&hand)?.settings;
            let mut candidates = Vec::with_capacity(hand.animals.len());
            for of in &hand.animals {
                candidates.push(self.candidate(of)?);
            }
            for (of, mark) in hand.animals.into_iter().zip(marks(&candidates, &settings)) {
                let Some(call) = of.call().filter(|_| !of.photos.is_empty()) else {
                    without += 1;
                    continue;
                };
                if same_person(&call.body.reader, reader) {
                    own += 1;
                } else if before.contains(&of.id()) {
                    sent_before += 1;
                } else {
                    chosen.push(of);
                    why.push(mark);
                }
            }
        }
        let drawn = draw(&why, plan.clear_share, plan.seed);
        if drawn.slides.is_empty() {
            return Err(SecondError::NoSlides {
                reader: reader.to_owned(),
                called_by_them: own,
                sent_before,
                without,
            });
        }
        let slides = (1..)
            .zip(drawn.slides)
            .filter_map(|(number, (at, chosen_for))| {
                let of = &chosen[at];
                Some(RoundSlide {
                    number,
                    animal: of.id(),
                    call: of.call()?.head.id,
                    photos: of.photos.iter().map(Kept::thing).collect(),
                    chosen: chosen_for,
                })
            });
        Ok(BlindRound {
            reader: reader.to_owned(),
            seed: (plan.seed & (u64::MAX >> 1)) as i64,
            clear_share: plan.clear_share.get(),
            marked: drawn.marked as i64,
            clear: drawn.clear as i64,
            slides: slides.collect(),
            sent: None,
            key: None,
            note: None,
        })
    }

    /// Draws a round and keeps it, to be read at this desk.
    ///
    /// # Errors
    /// As [`Session::draw_round`].
    pub fn begin_round(&mut self, plan: &RoundPlan) -> Result<BlindRoundId, SecondError> {
        let round = self.draw_round(plan)?;
        Ok(self.keep_round(&round)?)
    }

    /// Keeps a round that was drawn.
    ///
    /// # Errors
    /// [`SessionError`] when the logbook cannot be written.
    pub fn keep_round(&mut self, round: &BlindRound) -> Result<BlindRoundId, SessionError> {
        self.act(ActionKind::BlindRound, None, |change| change.add(round))
    }

    /// All rounds, in the order in which they were drawn.
    ///
    /// # Errors
    /// [`SessionError`] for a logbook that cannot be read.
    pub fn rounds(&self) -> Result<Vec<Kept<BlindRound>>, SessionError> {
        self.see(View::all::<BlindRound>)
    }

    /// The round that a person names by the beginning of its id.
    ///
    /// # Errors
    /// [`SecondError::NoRound`] unless it names exactly one.
    pub fn find_round(&self, given: &str) -> Result<Kept<BlindRound>, SecondError> {
        let wanted = given.trim().to_ascii_lowercase();
        let mut found = self.rounds()?;
        found.retain(|round| round.thing().to_string().starts_with(&wanted));
        match (found.len(), wanted.is_empty()) {
            (1, false) => found.pop(),
            _ => None,
        }
        .ok_or_else(|| SecondError::NoRound(given.to_owned()))
    }

    /// A round with what was called of it.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn round_in_hand(&self, id: BlindRoundId) -> Result<RoundInHand, SessionError> {
        self.see(|view| {
            let round = view.standing::<BlindRound>(id)?;
            let mut called = BTreeSet::new();
            for slide in &round.body.slides {
                let calls = view.naming::<SecondCall>("animal", slide.animal.row())?;
                if calls
                    .iter()
                    .any(|c| same_person(&c.body.reader, &round.body.reader))
                {
                    called.insert(slide.number);
                }
            }
            Ok(RoundInHand { round, called })
        })
    }

    /// Takes second calls of a round in, as one action. The same calls can come again without harm:
    /// what is there already stays, and of two calls of one slide by this reader the later one
    /// stands. A slide that was settled keeps the second call it was settled with.
    ///
    /// # Errors
    /// [`SecondError::NoSlide`] for a number that the round does not have; nothing is then written.
    pub fn take_second_calls(
        &mut self,
        id: BlindRoundId,
        calls: &[BlindCall],
    ) -> Result<TakenCalls, SecondError> {
        let round = self.see(|view| view.standing::<BlindRound>(id))?.body;
        let mut rows = Vec::with_capacity(calls.len());
        for call in calls {
            let slide = round.slides.iter().find(|s| s.number == call.number);
            let slide = slide.ok_or(SecondError::NoSlide {
                number: call.number,
                last: round.slides.len(),
            })?;
            rows.push(SecondCall {
                animal: slide.animal,
                stage: call.stage,
                unread_because: call.unread_because.filter(|_| call.stage.is_none()),
                reader: round.reader.clone(),
                called: call.called,
                chosen: Some(slide.chosen.code().to_owned()),
                note: call.note.clone(),
            });
        }
        let mut taken = TakenCalls::default();
        let mut news = Vec::new();
        for row in rows {
            match self.standing_of(&row)? {
                Standing::None => {
                    taken.new += 1;
                    news.push((None, row));
                }
                Standing::Older(kept) => {
                    taken.changed += 1;
                    news.push((Some(kept.thing()), row));
                }
                Standing::Stays => taken.known += 1,
            }
        }
        if !news.is_empty() {
            self.act(ActionKind::SecondCall, Some(id.row()), |change| {
                news.iter().try_for_each(|(of, row)| match of {
                    Some(of) => change.edit(*of, row).map(drop),
                    None => change.add(row).map(drop),
                })
            })?;
        }
        Ok(taken)
    }

    fn standing_of(&self, row: &SecondCall) -> Result<Standing, SessionError> {
        self.see(|view| {
            let calls = view.naming::<SecondCall>("animal", row.animal.row())?;
            let own = calls
                .into_iter()
                .rfind(|kept| same_person(&kept.body.reader, &row.reader));
            let Some(kept) = own else {
                return Ok(Standing::None);
            };
            let settled = view.naming::<Settlement>("animal", row.animal.row())?;
            let used = Some(kept.thing().row());
            let is_settled = settled.iter().any(|s| s.body.second_call == used);
            let same =
                (kept.body.stage, kept.body.unread_because) == (row.stage, row.unread_because);
            Ok(if is_settled || same || row.called <= kept.body.called {
                Standing::Stays
            } else {
                Standing::Older(Box::new(kept))
            })
        })
    }

    /// The animals that a reader was given in a round, or called second.
    fn given_to(&self, reader: &str) -> Result<BTreeSet<AnimalId>, SessionError> {
        let mut given: BTreeSet<AnimalId> = self
            .rounds()?
            .iter()
            .filter(|round| same_person(&round.body.reader, reader))
            .flat_map(|round| round.body.slides.iter().map(|slide| slide.animal))
            .collect();
        let calls = self.see(View::all::<SecondCall>)?;
        let own = calls.iter().filter(|c| same_person(&c.body.reader, reader));
        given.extend(own.map(|call| call.body.animal));
        Ok(given)
    }

    fn candidate(&self, of: &AnimalInHand) -> Result<Candidate, SessionError> {
        let mut readings = Vec::with_capacity(of.photos.len());
        for photo in &of.photos {
            readings.extend(self.reading_of(photo.thing())?);
        }
        Ok(Candidate {
            call: of.stage(),
            asked: of.call().is_some_and(|call| call.body.second_wanted),
            proposal: animal_proposal(readings.iter().map(|kept| &kept.body.reading)),
        })
    }

    /// What a round calls an animal, for the person who settles.
    ///
    /// # Errors
    /// [`SessionError`] when there is none.
    pub fn animal_in_words(&self, id: AnimalId) -> Result<(Kept<Animal>, String), SessionError> {
        let animal = self.animal(id)?;
        let sample = self.sample(animal.body.sample)?.body;
        let pond = self.pond(sample.pond)?.body.name;
        let said = format!("{pond}, {}", sample.netted.date_and_hour());
        Ok((animal, said))
    }
}

/// How a second call stands to what is there.
enum Standing {
    None,
    Older(Box<Kept<SecondCall>>),
    Stays,
}

/// Whether two names are one person's: capitals and spaces at the ends do not matter.
pub(in crate::workflow) fn same_person(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}
