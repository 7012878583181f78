//! Reading blind: what the window does for second readers and practice.

use crate::desktop::actions::Action;
use crate::desktop::actions::Place;
use crate::desktop::app::App;
use crate::desktop::app::News;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::beside;
use crate::desktop::dialogs::Dialog;
use crate::desktop::dialogs::Purpose;
use crate::desktop::dialogs::StandardForm;
use crate::desktop::keeper::readers::ReadersLetter;
use crate::desktop::places::readers::Practised;
use crate::desktop::places::readers::Settling;
use crate::desktop::room::Room;
use crate::desktop::room::RoomOf;
use crate::moult::Stage;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::rounds::BlindCall;
use crate::records::words::Unread;
use crate::texts;
use crate::texts::window;
use crate::workflow::logbook::Session;
use crate::workflow::practice::PracticeInHand;
use crate::workflow::practice::USUAL_SLIDES;
use crate::workflow::practice::paint_practice;
use crate::workflow::practice::score::score;
use crate::workflow::second::away::BlindInHand;
use crate::workflow::second::away::open_blind;
use crate::workflow::second::rounds::RoundPlan;
use std::path::PathBuf;

/// Name of the job that writes slides into a file, opens one, or draws practice slides.
pub(in crate::desktop) const SLIDES: &str = "slides";

/// What a job about blind slides brings.
#[derive(Debug)]
pub(in crate::desktop) enum BlindNews {
    /// A file was opened.
    Opened(Box<BlindInHand>),
    /// Slides were written into a file.
    Sent(String),
    /// Practice slides are there.
    Practice(Box<PracticeInHand>),
    /// It was stopped.
    Stopped,
    /// It went wrong.
    Failed(String),
}

impl App {
    pub(in crate::desktop) fn perform_blind(&mut self, action: Action) {
        match action {
            Action::SecondHere => {
                self.wants_round = true;
                self.send(ReadersLetter::Begin.into());
            }
            Action::SecondSend => {
                self.dialog = Some(Dialog::Send {
                    to: String::new(),
                    file: String::new(),
                });
            }
            Action::SecondOpen | Action::SecondTake => {
                let purpose = if action == Action::SecondOpen {
                    Purpose::OpenSlides
                } else {
                    Purpose::TakeAnswer
                };
                let path = String::new();
                self.dialog = Some(Dialog::Path { purpose, path });
            }
            Action::Settle => {
                self.room = None;
                self.readers_desk.practised = None;
                if self.readers_sheet.disagreements.is_empty() {
                    self.say(texts::second::waiting(0));
                } else {
                    self.readers_desk.settling = Some(Settling::default());
                }
            }
            Action::Standard => {
                let form = StandardForm::of(self.readers_sheet.standard);
                self.dialog = Some(Dialog::Standard(form));
            }
            Action::Practise => self.practise(false),
            Action::PractisePainted => self.practise(true),
            Action::BlindCall(stage) => self.call_blind(Some(stage)),
            Action::BlindUnread => self.call_blind(None),
            Action::BlindBack => self.turn_blind(-1),
            Action::BlindOn => self.turn_blind(1),
            _ => {}
        }
    }

    /// Leaves the slide that is read blind, the settling or the result, if one is in view.
    pub(in crate::desktop) fn leave_blind(&mut self) -> bool {
        if self.place != Place::Training {
            return false;
        }
        if self.room.is_some() {
            self.end_room();
            return true;
        }
        let settled = self.readers_desk.settling.take().is_some();
        settled || self.readers_desk.practised.take().is_some()
    }

    fn turn_blind(&mut self, by: isize) {
        if let Some(room) = &mut self.room {
            if let Some(at) = room.at.checked_add_signed(by) {
                room.look_at(at);
            }
        } else if let Some(settling) = &mut self.readers_desk.settling {
            let last = self.readers_sheet.disagreements.len().saturating_sub(1);
            settling.at = settling.at.saturating_add_signed(by).min(last);
            settling.because.clear();
            settling.eye.fit();
        }
    }

    /// Calls the slide in view.
    fn call_blind(&mut self, stage: Option<Stage>) {
        let Some(room) = &mut self.room else {
            return self.say(window::NO_BLIND_SLIDE.to_owned());
        };
        let Some(number) = room.call(stage) else {
            return;
        };
        let done = room.is_done();
        match &room.of {
            RoomOf::Desk { round } => {
                let round = round.clone();
                self.send(
                    ReadersLetter::Call {
                        round,
                        number,
                        stage,
                    }
                    .into(),
                );
            }
            RoomOf::File(_) => self.send(
                ReadersLetter::Answer(BlindCall {
                    number,
                    stage,
                    unread_because: stage.is_none().then_some(Unread::Refused),
                    called: Session::now(),
                    note: None,
                })
                .into(),
            ),
            RoomOf::Practice(_) if done => self.end_room(),
            RoomOf::Practice(_) => {}
        }
    }

    /// Leaves the room; a practice round ends with what was called of it.
    fn end_room(&mut self) {
        let Some(room) = self.room.take() else {
            return;
        };
        let Some((hand, calls)) = room.practised() else {
            return;
        };
        if calls.is_empty() {
            return;
        }
        let standard = self.readers_sheet.standard;
        let round = hand.ended(&calls, &standard);
        let found = score(&round, &standard);
        self.send(ReadersLetter::Practised(Box::new(round.clone())).into());
        self.readers_desk.practised = Some(Box::new(Practised {
            hand,
            round,
            score: found,
            standard,
        }));
    }

    /// Draws practice slides, in the background.
    fn practise(&mut self, painted: bool) {
        self.room = None;
        self.readers_desk = crate::desktop::places::readers::Desk::default();
        let reader = self.farm.reader.clone();
        let reader = if reader.is_empty() {
            window::SOMEBODY.to_owned()
        } else {
            reader
        };
        let seed = Session::now().utc_ms().unsigned_abs();
        let (book, folder) = (self.farm.file.clone(), self.slides_folder.clone());
        self.say(window::DRAWING_PRACTICE.to_owned());
        self.blind_job(
            move |progress| {
                if painted {
                    return paint_practice(&reader, USUAL_SLIDES, seed, &folder, progress)
                        .map_err(|error| error.to_string());
                }
                let session = Session::open(&book, &reader).map_err(|error| error.to_string())?;
                let drawn = session.begin_practice(&reader, USUAL_SLIDES, seed);
                drawn.map_err(|error| error.to_string())
            },
            |hand| BlindNews::Practice(Box::new(hand)),
        );
    }

    /// Writes the slides of the sample in hand into a file, in the background.
    pub(in crate::desktop) fn send_slides(&mut self, to: String, file: PathBuf) {
        let Ok(sample) = self.sheet.id.parse::<RowId>().map(SampleId::from) else {
            return self.say(window::NO_SAMPLE.to_owned());
        };
        let (book, reader) = (self.farm.file.clone(), self.farm.reader.clone());
        self.say(window::WRITING_SLIDES.to_owned());
        self.blind_job(
            move |progress| {
                let mut session =
                    Session::open(&book, &reader).map_err(|error| error.to_string())?;
                let plan = RoundPlan::of(sample, &to);
                let sent = session.send_round(&plan, &file, progress);
                let sent = sent.map_err(|error| error.to_string())?;
                let said = texts::second::drawn(to.trim(), sent.slides, sent.marked);
                Ok(window::slides_written(&said, &file))
            },
            BlindNews::Sent,
        );
    }

    /// Opens a file of blind slides, in the background.
    pub(in crate::desktop) fn open_slides(&mut self, file: PathBuf) {
        let folder = self.slides_folder.clone();
        let book = self.farm.file.clone();
        self.say(window::OPENING_SLIDES.to_owned());
        self.blind_job(
            move |_| {
                let file = if file.exists() {
                    file
                } else {
                    beside(&book, &file)
                };
                open_blind(&file, &folder).map_err(|error| error.to_string())
            },
            |hand| BlindNews::Opened(Box::new(hand)),
        );
    }

    fn blind_job<T>(
        &mut self,
        work: impl FnOnce(&crate::progress::Progress) -> Result<T, String> + Send + 'static,
        news: impl FnOnce(T) -> BlindNews + Send + 'static,
    ) {
        let started = self.jobs.start(SLIDES, move |progress, outbox| {
            let found = match work(progress) {
                Ok(done) => news(done),
                Err(_) if progress.check().is_err() => BlindNews::Stopped,
                Err(why) => BlindNews::Failed(why),
            };
            outbox.send(News::Blind(found));
        });
        match started {
            Ok(true) => {}
            Ok(false) => self.say(window::SLIDES_BUSY.to_owned()),
            Err(error) => self.trouble(window::no_thread(&error)),
        }
    }

    /// Takes in what a job brought.
    pub(in crate::desktop) fn hear_blind(&mut self, news: BlindNews) {
        match news {
            BlindNews::Opened(hand) => {
                self.place = Place::Training;
                self.say(window::slides_opened(hand.slides.len(), &hand.reader));
                self.send(ReadersLetter::Hold(hand.clone()).into());
                self.room = Some(Room::file(*hand));
            }
            BlindNews::Sent(said) => {
                self.say(said);
                self.send(ReadersLetter::Look.into());
            }
            BlindNews::Practice(hand) => {
                self.room = Some(Room::practice(*hand));
                // Who has gone elsewhere meanwhile is not torn away: their keys mean something there.
                self.said = None;
                if self.place != Place::Training {
                    self.say(window::PRACTICE_WAITS.to_owned());
                }
            }
            BlindNews::Stopped => self.say(window::SLIDES_STOPPED.to_owned()),
            BlindNews::Failed(why) => self.trouble(why),
        }
    }

    /// Shows of the round in hand what the logbook holds; what is on its way there stays until the
    /// logbook has answered it.
    pub(in crate::desktop) fn follow_round(&mut self) {
        if let (Some(open), Some(room)) = (&self.readers_sheet.open, &mut self.room)
            && self.letters == 0
            && room.is_of_round(&open.id)
        {
            room.called.clone_from(&open.called);
        }
    }

    /// Takes in how second readings stand.
    pub(in crate::desktop) fn hear_readers(&mut self) {
        self.follow_round();
        if let Some(open) = &self.readers_sheet.open
            && self.wants_round
            && !self
                .room
                .as_ref()
                .is_some_and(|room| room.is_of_round(&open.id))
        {
            self.room = Some(Room::desk(
                open.id.clone(),
                open.reader.clone(),
                open.slides.clone(),
                open.called.clone(),
            ));
        }
        self.wants_round = false;
        if let Some(settling) = &mut self.readers_desk.settling {
            settling.because.clear();
            settling.eye.fit();
            let count = self.readers_sheet.disagreements.len();
            if count == 0 {
                self.readers_desk.settling = None;
            } else {
                settling.at = settling.at.min(count - 1);
            }
        }
    }

    /// Asks for a deed that was chosen in a view of second readings.
    pub(in crate::desktop) fn readers_deed(&mut self, deed: Deed) {
        match deed {
            Deed::SendSlides { to, file } => self.send_slides(to, file),
            Deed::OpenSlides(file) => self.open_slides(file),
            Deed::Standard(standard) => self.send(ReadersLetter::Standard(standard).into()),
            Deed::TakeAnswer(file) => self.send(ReadersLetter::Take(file).into()),
            Deed::Settle {
                pair,
                stage,
                because,
            } => self.send(
                ReadersLetter::Settle {
                    pair,
                    stage,
                    because,
                }
                .into(),
            ),
            _ => {}
        }
    }
}
