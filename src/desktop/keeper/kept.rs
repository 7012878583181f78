//! The clerk's desk: an open logbook, the sample in hand, what was read.

use crate::desktop::keeper::Answer;
use crate::desktop::keeper::Book;
use crate::desktop::keeper::FoundSheet;
use crate::desktop::keeper::Letter;
use crate::desktop::keeper::readers::ReadersLetter;
use crate::records::Reading;
use crate::records::ids::AnimalId;
use crate::records::ids::BlindRoundId;
use crate::records::ids::MicroscopeId;
use crate::records::ids::PhotoId;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::rounds::BlindCall;
use crate::texts::window;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::last::last_logbook;
use crate::workflow::logbook::last::remember;
use crate::workflow::second::away::BlindInHand;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What was read in a photo last.
#[derive(Debug, Clone)]
pub(in crate::desktop::keeper) struct LastReading {
    pub(in crate::desktop::keeper) row: RowId,
    pub(in crate::desktop::keeper) reading: Arc<Reading>,
    pub(in crate::desktop::keeper) size: Option<[u32; 2]>,
    pub(in crate::desktop::keeper) by_hand: bool,
}

/// What a tally said of a sample that had so many animals and calls.
#[derive(Debug, Clone)]
pub(in crate::desktop::keeper) struct CountedLine {
    pub(in crate::desktop::keeper) row: RowId,
    pub(in crate::desktop::keeper) counts: [u64; 2],
    pub(in crate::desktop::keeper) soft: Option<f64>,
    pub(in crate::desktop::keeper) due: Option<f64>,
    pub(in crate::desktop::keeper) answer: Option<String>,
}

/// The desk of the clerk.
pub struct Kept {
    pub(in crate::desktop::keeper) session: Option<Session>,
    pub(in crate::desktop::keeper) sample: Option<SampleId>,
    pub(in crate::desktop::keeper) microscope: Option<MicroscopeId>,
    pub(in crate::desktop::keeper) readings: BTreeMap<PhotoId, Option<LastReading>>,
    /// What the list of ponds says of samples that did not change since it was last laid out.
    pub(in crate::desktop::keeper) lines: BTreeMap<SampleId, CountedLine>,
    pub(in crate::desktop::keeper) reader: String,
    /// The round that is read at this desk.
    pub(in crate::desktop::keeper) open_round: Option<BlindRoundId>,
    /// Slides that somebody sent.
    sent_slides: Option<Box<BlindInHand>>,
    /// What the model in use was tested with; absent until it is asked for.
    pub(in crate::desktop::keeper) tested: Option<String>,
    /// Whether to keep in mind which logbook was used.
    remembers: bool,
}

/// What went wrong, in words for the person.
pub(in crate::desktop::keeper) type Trouble = String;

/// What a letter changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::desktop::keeper) enum Changes {
    Nothing,
    Readers,
    /// Labels or models.
    Training,
    Readings,
    Sample,
    Farm,
}

/// What was done for a letter.
pub(in crate::desktop::keeper) struct Work {
    pub(in crate::desktop::keeper) said: Option<String>,
    pub(in crate::desktop::keeper) changes: Changes,
    pub(in crate::desktop::keeper) look_at: Option<AnimalId>,
}

impl Work {
    /// The sample was changed.
    pub(in crate::desktop::keeper) fn sample(said: impl Into<String>) -> Self {
        Self {
            said: Some(said.into()),
            changes: Changes::Sample,
            look_at: None,
        }
    }

    /// Second readings or practice were changed.
    pub(in crate::desktop::keeper) fn readers(said: impl Into<String>) -> Self {
        Self {
            said: Some(said.into()),
            changes: Changes::Readers,
            look_at: None,
        }
    }

    /// Labels or models were changed.
    pub(in crate::desktop::keeper) fn training(said: impl Into<String>) -> Self {
        Self {
            said: Some(said.into()),
            changes: Changes::Training,
            look_at: None,
        }
    }

    /// The farm was changed, and the sample perhaps with it.
    pub(in crate::desktop::keeper) fn farm(said: impl Into<String>) -> Self {
        Self {
            said: Some(said.into()),
            changes: Changes::Farm,
            look_at: None,
        }
    }
}

/// An error of the logbook as words.
#[expect(clippy::needless_pass_by_value, reason = "used as map_err(told)")]
pub(in crate::desktop::keeper) fn told(error: SessionError) -> Trouble {
    error.to_string()
}

/// The id of a thing from the words of a sheet.
pub(in crate::desktop::keeper) fn id<T: From<RowId>>(text: &str) -> Result<T, Trouble> {
    let id: Result<RowId, _> = text.parse();
    id.map(T::from).map_err(|error| error.to_string())
}

impl Kept {
    /// An empty desk for `reader`. With `remembers`, the logbook is kept in mind for the next time.
    pub const fn new(reader: String, remembers: bool) -> Self {
        Self {
            session: None,
            sample: None,
            microscope: None,
            readings: BTreeMap::new(),
            lines: BTreeMap::new(),
            reader,
            open_round: None,
            sent_slides: None,
            tested: None,
            remembers,
        }
    }

    /// Does what a letter asks for.
    pub fn answer(&mut self, letter: Letter) -> Answer {
        let mut answer = Answer {
            about: letter.about().map(str::to_owned),
            ..Answer::default()
        };
        let done = match letter {
            Letter::Search(words) => {
                match self.search(&words) {
                    Ok(found) => answer.found = Some(found),
                    Err(trouble) => answer.trouble = Some(trouble),
                }
                return answer;
            }
            Letter::Readers(ReadersLetter::Hold(slides)) => {
                self.sent_slides = Some(slides);
                answer.aside = true;
                return answer;
            }
            Letter::Readers(ReadersLetter::Answer(call)) => {
                answer.aside = true;
                match self.answer_slide(call) {
                    Ok(said) => answer.said = Some(said),
                    Err(trouble) => answer.trouble = Some(trouble),
                }
                return answer;
            }
            Letter::Open(Book::Last) if last_logbook().is_none() => {
                answer.welcome = true;
                return answer;
            }
            Letter::Open(book) => self.open(book),
            other => match self.there() {
                Ok(()) => self.work(other),
                Err(gone) => Err(gone),
            },
        };
        let changes = match done {
            Ok(work) => {
                answer.said = work.said;
                answer.look_at = work.look_at.map(|animal| animal.to_string());
                work.changes
            }
            Err(trouble) => {
                answer.trouble = Some(trouble);
                // What stands is shown again, in case only a part was done.
                Changes::Sample
            }
        };
        answer.welcome = self.session.is_none();
        if let Err(trouble) = self.show(changes, &mut answer) {
            answer.trouble.get_or_insert(trouble);
        }
        answer
    }

    /// Lays out what changed.
    fn show(&mut self, changes: Changes, answer: &mut Answer) -> Result<(), Trouble> {
        let Some(session) = &self.session else {
            return Ok(());
        };
        let label = |done: Option<&crate::workflow::logbook::Done>| {
            done.map(|done| window::kind(done.kind).to_owned())
        };
        answer.undo = label(session.undoable().last());
        answer.redo = label(session.redoable().last());
        if changes >= Changes::Sample
            && let Some(sample) = self.sample
        {
            self.lines.remove(&sample);
        }
        if matches!(changes, Changes::Training | Changes::Farm) {
            answer.model = Some(self.model_now()?);
        }
        if changes == Changes::Training {
            answer.training = Some(Arc::new(self.training_sheet()?));
        }
        if changes >= Changes::Farm {
            answer.farm = Some(Arc::new(self.farm_sheet()?));
        }
        if changes == Changes::Readers || changes >= Changes::Farm {
            answer.readers = Some(Arc::new(self.readers_sheet()?));
        }
        if changes >= Changes::Readings {
            let (sheet, counted) = self.sample_sheet(changes >= Changes::Sample)?;
            answer.sheet = Some(Arc::new(sheet));
            answer.counted = counted.map(Arc::new);
        }
        Ok(())
    }

    fn open(&mut self, book: Book) -> Result<Work, Trouble> {
        let reader = self.reader.clone();
        if let (Some(open), Book::File(file)) = (&self.session, &book)
            && open.file() == file
        {
            return Ok(Work::farm(window::opened(file)));
        }
        let session = match book {
            Book::Last => Session::open_or_last(None, &reader).map_err(told)?,
            Book::File(file) => Session::open(&file, &reader).map_err(told)?,
            Book::New(file) => {
                let farm = file.file_stem().unwrap_or_default().to_string_lossy();
                Session::create(&file, &farm, &reader).map_err(told)?
            }
        };
        if self.remembers {
            remember(session.file());
        }
        let others = session.others();
        let said = session.warning().unwrap_or_else(|| {
            if others.is_empty() {
                window::opened(session.file())
            } else {
                window::also_open(&others.join(", "))
            }
        });
        let latest = session.latest_samples(1).map_err(told)?;
        self.sample = latest.first().map(crate::records::table::Kept::thing);
        self.readings.clear();
        self.lines.clear();
        self.open_round = None;
        self.microscope = session
            .microscopes()
            .map_err(told)?
            .last()
            .map(crate::records::table::Kept::thing);
        self.session = Some(session);
        self.tested = None;
        Ok(Work::farm(said))
    }

    /// Writes a call of a sent slide into the answer.
    fn answer_slide(&mut self, call: BlindCall) -> Result<String, Trouble> {
        let number = call.number;
        let slides = self.sent_slides.as_mut().ok_or(window::NO_BLIND_SLIDE)?;
        slides.call(call).map_err(|error| error.to_string())?;
        Ok(window::blind_call_kept(number))
    }

    /// Whether the file of the logbook is still there: a system may go on writing into one that was
    /// removed, and then nothing would be left of it.
    fn there(&self) -> Result<(), Trouble> {
        match &self.session {
            Some(session) if !session.file().exists() => Err(window::logbook_gone(session.file())),
            _ => Ok(()),
        }
    }

    /// The open logbook.
    pub(in crate::desktop::keeper) fn session(&mut self) -> Result<&mut Session, Trouble> {
        self.session
            .as_mut()
            .ok_or_else(|| window::NO_LOGBOOK.to_owned())
    }

    /// The sample in hand.
    pub(in crate::desktop::keeper) fn in_hand(&self) -> Result<SampleId, Trouble> {
        self.sample.ok_or_else(|| window::NO_SAMPLE.to_owned())
    }

    fn search(&mut self, words: &str) -> Result<Vec<FoundSheet>, Trouble> {
        const MOST: usize = 60;
        if words.trim().is_empty() {
            return Ok(Vec::new());
        }
        let found = self.session()?.search(words, MOST).map_err(told)?;
        let mut sheets = Vec::with_capacity(found.len());
        for found in found {
            let own = (found.table == "sample").then(|| SampleId::from(found.thing));
            sheets.push(FoundSheet {
                sample: found.sample.or(own).map(|id| id.to_string()),
                text: found.text,
            });
        }
        Ok(sheets)
    }
}
