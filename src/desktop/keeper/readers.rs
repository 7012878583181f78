//! Second readings and practice, as the clerk keeps them.

use crate::desktop::keeper::Letter;
use crate::desktop::keeper::kept::Changes;
use crate::desktop::keeper::kept::Kept;
use crate::desktop::keeper::kept::Trouble;
use crate::desktop::keeper::kept::Work;
use crate::desktop::keeper::kept::id;
use crate::desktop::keeper::kept::told;
use crate::moult::Stage;
use crate::records::ids::BlindRoundId;
use crate::records::rounds::BlindCall;
use crate::records::rounds::PracticeRound;
use crate::records::words::Unread;
use crate::statistics::agreement::Weighting;
use crate::texts;
use crate::texts::window;
use crate::workflow::logbook::Session;
use crate::workflow::practice::score::Standard;
use crate::workflow::second::away::BlindInHand;
use crate::workflow::second::away::BlindPhotoInHand;
use crate::workflow::second::away::BlindSlideInHand;
use crate::workflow::second::pairs::PairOfReaders;
use crate::workflow::second::pairs::PairedCall;
use crate::workflow::second::rounds::RoundPlan;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// What the clerk is asked to do for second readings and practice.
#[derive(Debug)]
pub enum ReadersLetter {
    /// Lay out everything anew.
    Look,
    /// Open the round of the present reader that is not read to its end, or draw one from the sample
    /// in hand.
    Begin,
    /// A slide of a round at this desk was called.
    Call {
        /// The round.
        round: String,
        /// The number of the slide.
        number: u32,
        /// The stage; absent when it cannot be read.
        stage: Option<Stage>,
    },
    /// Take an answer in.
    Take(PathBuf),
    /// Settle a disagreement.
    Settle {
        /// The two calls.
        pair: Box<PairedCall>,
        /// What stands.
        stage: Option<Stage>,
        /// Why.
        because: String,
    },
    /// Keep a practice round.
    Practised(Box<PracticeRound>),
    /// Another standard of practice.
    Standard(Standard),
    /// Slides that somebody sent are read from now on; needs no logbook.
    Hold(Box<BlindInHand>),
    /// A slide that somebody sent was called; needs no logbook.
    Answer(BlindCall),
}

/// A round in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundLine {
    /// What tells it from others.
    pub id: String,
    /// Who is to read.
    pub reader: String,
    /// When it was drawn, for a person.
    pub drawn: String,
    /// Slides.
    pub slides: usize,
    /// Slides called.
    pub called: usize,
    /// Whether it was sent as a file.
    pub sent: bool,
}

/// A disagreement that waits to be settled.
#[derive(Debug, Clone, PartialEq)]
pub struct DisagreementSheet {
    /// The two calls.
    pub pair: PairedCall,
    /// Name of the animal.
    pub animal: String,
    /// Pond and hour.
    pub place: String,
    /// Its photos.
    pub photos: Vec<BlindPhotoInHand>,
    /// Whether they differ on soft.
    pub on_soft: bool,
    /// Whether they differ on due.
    pub on_due: bool,
}

/// A round at this desk that is open.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenRound {
    /// The round.
    pub id: String,
    /// Who reads.
    pub reader: String,
    /// The slides.
    pub slides: Vec<BlindSlideInHand>,
    /// What stands, by number.
    pub called: BTreeMap<u32, Option<Stage>>,
}

/// Second readings and practice as the window knows them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadersSheet {
    /// The rounds, the newest first.
    pub rounds: Vec<RoundLine>,
    /// The open round at this desk.
    pub open: Option<OpenRound>,
    /// What waits to be settled.
    pub disagreements: Vec<DisagreementSheet>,
    /// How readers agree.
    pub pairs: Vec<PairOfReaders>,
    /// The slides of known truth of each reader, in words.
    pub known: Vec<String>,
    /// Practice rounds, the newest first, in words.
    pub practice: Vec<String>,
    /// Certificate lines, the newest first.
    pub certificates: Vec<String>,
    /// Settled slides to practise on.
    pub settled: usize,
    /// What a practice round must reach.
    pub standard: Standard,
}

impl Kept {
    /// Does what a letter about readers asks for.
    pub(in crate::desktop::keeper) fn readers(
        &mut self,
        letter: ReadersLetter,
    ) -> Result<Work, Trouble> {
        if !matches!(
            letter,
            ReadersLetter::Look | ReadersLetter::Practised(_) | ReadersLetter::Standard(_)
        ) {
            // What is known of the readers may move the answer of every sample.
            self.lines.clear();
        }
        match letter {
            ReadersLetter::Look | ReadersLetter::Hold(_) | ReadersLetter::Answer(_) => Ok(Work {
                said: None,
                changes: Changes::Readers,
                look_at: None,
            }),
            ReadersLetter::Begin => self.begin_round(),
            ReadersLetter::Call {
                round,
                number,
                stage,
            } => {
                let round: BlindRoundId = id(&round)?;
                let call = BlindCall {
                    number,
                    stage,
                    unread_because: stage.is_none().then_some(Unread::Refused),
                    called: Session::now(),
                    note: None,
                };
                let taken = self.session()?.take_second_calls(round, &[call]);
                taken.map_err(|error| error.to_string())?;
                Ok(Work::readers(window::blind_call_kept(number)))
            }
            ReadersLetter::Take(file) => {
                let file = self.found(&file)?;
                let taken = self.session()?.take_answer(&file);
                let (_, taken) = taken.map_err(|error| error.to_string())?;
                let said = texts::second::taken(taken.new, taken.changed, taken.known);
                Ok(Work::readers(said))
            }
            ReadersLetter::Settle {
                pair,
                stage,
                because,
            } => {
                let settled = self.session()?.settle_second(&pair, stage, &because);
                settled.map_err(|error| error.to_string())?;
                let name = self.session()?.animal(pair.animal).map_err(told)?.body.name;
                let mut work = Work::farm(texts::second::settled(&name, stage));
                work.look_at = Some(pair.animal);
                Ok(work)
            }
            ReadersLetter::Standard(standard) => {
                let session = self.session()?;
                session.set_practice_standard(&standard).map_err(told)?;
                Ok(Work::readers(window::STANDARD_SET))
            }
            ReadersLetter::Practised(round) => {
                self.session()?.keep_practice(&round).map_err(told)?;
                Ok(Work::readers(window::PRACTICE_KEPT))
            }
        }
    }

    fn begin_round(&mut self) -> Result<Work, Trouble> {
        let sample = self.in_hand()?;
        let session = self.session()?;
        let reader = session.reader().to_owned();
        let mut begun = None;
        for round in session.rounds().map_err(told)? {
            if round.body.sent.is_none() && round.body.reader == reader {
                let hand = session.round_in_hand(round.thing()).map_err(told)?;
                if !hand.is_done() {
                    begun = Some(round.thing());
                }
            }
        }
        let (id, said) = if let Some(id) = begun {
            (id, window::ROUND_GOES_ON.to_owned())
        } else {
            let plan = RoundPlan::of(sample, &reader);
            let id = session
                .begin_round(&plan)
                .map_err(|error| error.to_string())?;
            let round = session.round_in_hand(id).map_err(told)?.round.body;
            let (slides, marked) = (round.slides.len(), round.marked as usize);
            (id, texts::second::drawn(&reader, slides, marked))
        };
        self.open_round = Some(id);
        Ok(Work::readers(said))
    }

    /// Everything about second readings and practice.
    pub(in crate::desktop::keeper) fn readers_sheet(&self) -> Result<ReadersSheet, Trouble> {
        let session = self.session.as_ref().ok_or(window::NO_LOGBOOK)?;
        let mut sheet = ReadersSheet {
            open: self.open_round(session)?,
            pairs: session.readers_agreement().map_err(told)?,
            settled: session
                .settled_slides(session.reader())
                .map_err(told)?
                .len(),
            standard: session.practice_standard().map_err(told)?,
            ..ReadersSheet::default()
        };
        for round in session.rounds().map_err(told)?.iter().rev() {
            let hand = session.round_in_hand(round.thing()).map_err(told)?;
            sheet.rounds.push(RoundLine {
                id: round.thing().to_string(),
                reader: round.body.reader.clone(),
                drawn: round.head.written_at.date_and_hour(),
                slides: round.body.slides.len(),
                called: hand.called.len(),
                sent: round.body.sent.is_some(),
            });
        }
        for of in session.disagreements().map_err(told)? {
            let (animal, place) = session.animal_in_words(of.pair.animal).map_err(told)?;
            let photos = session.photos_of_animal(of.pair.animal).map_err(told)?;
            sheet.disagreements.push(DisagreementSheet {
                animal: animal.body.name,
                place,
                photos,
                on_soft: of.on_soft,
                on_due: of.on_due,
                pair: of.pair,
            });
        }
        let settings = session.farm_limits().map_err(told)?.settings();
        let names: BTreeSet<&String> = sheet
            .pairs
            .iter()
            .flat_map(|pair| &pair.agreement.readers)
            .collect();
        for name in names {
            let known = session.known_truth(&[name.clone()].into()).map_err(told)?;
            let counts = [known.by_days, known.by_settling, known.by_agreeing];
            let enough = known.is_enough(&settings);
            sheet.known.push(texts::second::known(name, counts, enough));
        }
        for past in session.practice_history("").map_err(told)?.iter().rev() {
            let (round, score) = (&past.round.body, &past.score);
            let head = texts::practice::head(
                &round.reader,
                score.slides,
                score.not_told,
                score.seconds,
                round.painted,
            );
            let kappa = score.kappa(Weighting::Quadratic).map(|kappa| kappa.value);
            let (date, reached) = (round.ended.date(), round.certificate.is_some());
            sheet
                .practice
                .push(texts::practice::past(&date, &head, kappa, reached));
            sheet.certificates.extend(round.certificate.clone());
        }
        Ok(sheet)
    }

    fn open_round(&self, session: &Session) -> Result<Option<OpenRound>, Trouble> {
        let Some(id) = self.open_round else {
            return Ok(None);
        };
        let Ok(hand) = session.round_in_hand(id) else {
            return Ok(None);
        };
        let round = &hand.round.body;
        let mut called = BTreeMap::new();
        for slide in &round.slides {
            if hand.called.contains(&slide.number) {
                let calls = session.second_calls_of(slide.animal).map_err(told)?;
                let own = calls.iter().rfind(|call| call.body.reader == round.reader);
                called.insert(slide.number, own.and_then(|call| call.body.stage));
            }
        }
        Ok(Some(OpenRound {
            id: id.to_string(),
            reader: round.reader.clone(),
            slides: session
                .round_slides(round)
                .map_err(|error| error.to_string())?,
            called,
        }))
    }
}

impl From<ReadersLetter> for Letter {
    fn from(letter: ReadersLetter) -> Self {
        Self::Readers(letter)
    }
}
