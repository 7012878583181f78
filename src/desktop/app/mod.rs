//! The state of the window and how it comes to be.

mod acting;

mod blind;

mod by_hand;

mod looking;

mod logic;

mod school;

mod ui;

use crate::desktop::actions::Action;
use crate::desktop::actions::Place;
use crate::desktop::app::blind::BlindNews;
use crate::desktop::app::blind::SLIDES;
use crate::desktop::correcting::Clicks;
use crate::desktop::correcting::Correcting;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::FarmSheet;
use crate::desktop::desk::SampleSheet;
use crate::desktop::dialogs::Dialog;
use crate::desktop::gallery::Gallery;
use crate::desktop::gallery::Layer;
use crate::desktop::gallery::LayerKey;
use crate::desktop::gallery::Subject;
use crate::desktop::keeper::Answer;
use crate::desktop::keeper::Book;
use crate::desktop::keeper::FoundSheet;
use crate::desktop::keeper::Kept;
use crate::desktop::keeper::Letter;
use crate::desktop::keeper::readers::ReadersSheet;
use crate::desktop::places::forecast::Outlook;
use crate::desktop::places::ponds::Search;
use crate::desktop::places::readers::Desk;
use crate::desktop::places::slides::Bench;
use crate::desktop::room::Room;
use crate::desktop::theme;
use crate::desktop::training::School;
use crate::desktop::training::Trained;
use crate::desktop::work::Work;
use crate::records::Reading;
use crate::records::measures::Measures;
use crate::stage::model::Model;
use crate::texts::window;
use crate::units::MicrometresPerPixel;
use crate::workflow::batch::Panicked;
use crate::workflow::carrying::Trial;
use crate::workflow::carrying::carry_forward;
use crate::workflow::collect::FoundPhoto;
use crate::workflow::forecasting::DatedForecast;
use crate::workflow::jobs::Clerk;
use crate::workflow::jobs::Jobs;
use crate::workflow::jobs::Pool;
use crate::workflow::jobs::Task;
use crate::workflow::jobs::Wake;
use crate::workflow::logbook::counting::Counted;
use crate::workflow::looks::Looks;
use crate::workflow::looks::LooksStore;
use crate::workflow::looks::data_folder;
use crate::workflow::opening::Opening;
use crate::workflow::pictures::PictureStore;
use crate::workflow::pictures::ReadForTheEye;
use crate::workflow::pictures::read_for_the_eye;
use crate::workflow::reading::ReadOptions;
use crate::workflow::second::away::slides_folder;
use crate::workflow::watching::Sighting;
use std::collections::BTreeSet;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

/// A photo to be read.
#[derive(Debug, Clone)]
struct ReadTask {
    photo: String,
    hash: String,
    name: String,
    path: PathBuf,
    um_per_px: Option<f64>,
    model: Option<Arc<Model>>,
}

impl Task for ReadTask {
    type Key = String;

    fn key(&self) -> String {
        self.photo.clone()
    }
}

/// Where the window keeps things.
pub struct Keeping {
    /// Pictures for the screen.
    pub pictures: PictureStore,
    /// The desk of the clerk.
    pub desk: Kept,
    /// The folder of the made-up farm; absent where the system names none.
    pub made_up: Option<PathBuf>,
    /// The folder of the window's own looks; none where they are not kept.
    pub looks: LooksStore,
}

impl Keeping {
    /// Everything in the folders of this user.
    pub fn of_user() -> Self {
        let looks = LooksStore::of_user();
        let reader = Some(looks.load().reader).filter(|name| !name.is_empty());
        let reader = reader.unwrap_or_else(|| window::SOMEBODY.to_owned());
        Self {
            pictures: PictureStore::of_user(),
            desk: Kept::new(reader, true),
            made_up: data_folder(),
            looks,
        }
    }
}

/// What the background has to say.
#[derive(Debug)]
enum News {
    Read {
        photo: String,
        done: Box<ReadForTheEye>,
    },
    Answer(Box<Answer>),
    Sighted(Sighting),
    /// A watched folder was looked into for the first time: the photos that lie there already.
    Watching(PathBuf, Result<Vec<PathBuf>, String>),
    LooksKept,
    Chosen(Vec<Deed>),
    Ruled(Result<(f64, f64), String>),
    Corrected {
        photo: String,
        reading: Result<Box<(Reading, Measures)>, String>,
    },
    Carried(Result<Box<DatedForecast>, String>),
    Blind(BlindNews),
    Trained(Result<Box<Trained>, String>),
}

/// A tally to be carried forward.
#[derive(Debug, Clone)]
struct Carry(Arc<Counted>, Trial);

impl Task for Carry {
    type Key = ();

    fn key(&self) {}
}

/// One worker that carries forward what was asked last.
fn carriers(jobs: &Jobs<News>) -> io::Result<Pool<Carry>> {
    Pool::start(
        "forecast",
        1,
        &jobs.outbox(),
        |Carry(counted, trial): &Carry| {
            let found = carry_forward(counted, *trial);
            News::Carried(found.map(Box::new).map_err(|error| error.to_string()))
        },
        |_: &Carry| News::Carried(Err(window::fault(window::FORECAST_FAULT))),
    )
}

/// Looks to be kept.
#[derive(Debug, Clone)]
struct KeepLooks(Looks);

impl Task for KeepLooks {
    type Key = ();

    fn key(&self) {}
}

/// One worker that keeps the looks as they were set last.
fn lookers(jobs: &Jobs<News>, store: LooksStore) -> io::Result<Pool<KeepLooks>> {
    Pool::start(
        "looks",
        1,
        &jobs.outbox(),
        move |KeepLooks(looks): &KeepLooks| {
            store.keep(looks);
            News::LooksKept
        },
        |_: &KeepLooks| News::LooksKept,
    )
}

/// What was said last, at the foot of the window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// The words.
    pub words: String,
    /// Whether something went wrong.
    pub trouble: bool,
}

/// The whole window.
pub struct App {
    place: Place,
    sheet: Arc<SampleSheet>,
    counted: Option<Arc<Counted>>,
    farm: Arc<FarmSheet>,
    found: Vec<FoundSheet>,
    bench: Bench,
    gallery: Gallery,
    clerk: Clerk<Letter>,
    readers: Pool<ReadTask>,
    jobs: Jobs<News>,
    /// Letters that the clerk has not answered.
    letters: usize,
    /// Animals that a letter is on its way about.
    pending: BTreeSet<String>,
    /// Photos that were read and are not on the sheet yet.
    read: BTreeSet<String>,
    paused: bool,
    /// Everything was called just now, and the clerk has yet to confirm it.
    finished: bool,
    dialog: Option<Dialog>,
    said: Option<Said>,
    undo: Option<String>,
    redo: Option<String>,
    watched: Option<PathBuf>,
    made_up: Option<PathBuf>,
    outlook: Outlook,
    search: Search,
    school: School,
    /// The model in use, for the readers; absent for the one that comes with the program.
    model: Option<Arc<Model>>,
    clicks: Option<Clicks>,
    correcting: Option<Correcting>,
    carriers: Pool<Carry>,
    looks: Looks,
    looks_store: LooksStore,
    lookers: Pool<KeepLooks>,
    /// Slides that are read blind.
    room: Option<Room>,
    readers_sheet: Arc<ReadersSheet>,
    readers_desk: Desk,
    /// A round at this desk is to be shown once the clerk names it.
    wants_round: bool,
    /// Below it the slides are laid that are read blind.
    slides_folder: PathBuf,
    deeds: Vec<Deed>,
    /// Presses that the last frame left to the next.
    pressed_later: Vec<egui::Event>,
    work: Work,
    performed: BTreeSet<Action>,
}

impl App {
    /// A window that is opened in `ctx`; `wake` is called when the background has something.
    ///
    /// # Errors
    /// What the system said when it has no thread to give.
    pub fn new(
        ctx: &egui::Context,
        opening: Opening,
        keeping: Keeping,
        wake: Wake,
    ) -> io::Result<Self> {
        theme::install(ctx);
        let Keeping {
            pictures,
            desk: mut kept,
            made_up,
            looks: looks_store,
        } = keeping;
        let beside = pictures.folder().and_then(Path::parent);
        let blind_folder = beside.map_or_else(slides_folder, Path::to_owned);
        let jobs: Jobs<News> = Jobs::new(Arc::clone(&wake));
        let clerk = Clerk::start(
            "logbook",
            jobs.outbox(),
            move |letter| News::Answer(Box::new(kept.answer(letter))),
            || {
                News::Answer(Box::new(Answer {
                    trouble: Some(window::fault(window::LOGBOOK_FAULT)),
                    ..Answer::default()
                }))
            },
        )?;
        let readers = readers(&jobs, pictures.clone())?;
        let carriers = carriers(&jobs)?;
        let lookers = lookers(&jobs, looks_store.clone())?;
        let gallery = Gallery::new(pictures, wake)?;
        let looks = looks_store.load();
        let mut app = Self {
            place: Place::Slides,
            sheet: Arc::default(),
            counted: None,
            farm: Arc::default(),
            found: Vec::new(),
            bench: Bench::default(),
            gallery,
            clerk,
            readers,
            jobs,
            letters: 0,
            pending: BTreeSet::new(),
            read: BTreeSet::new(),
            paused: false,
            finished: false,
            dialog: None,
            said: None,
            undo: None,
            redo: None,
            watched: None,
            made_up,
            outlook: Outlook::default(),
            search: Search::default(),
            school: School::default(),
            model: None,
            clicks: None,
            correcting: None,
            carriers,
            looks: looks.clone(),
            looks_store,
            lookers,
            room: None,
            readers_sheet: Arc::default(),
            readers_desk: Desk::default(),
            wants_round: false,
            slides_folder: blind_folder,
            deeds: Vec::new(),
            pressed_later: Vec::new(),
            work: Work::default(),
            performed: BTreeSet::new(),
        };
        ctx.set_theme(if looks.dark {
            egui::Theme::Dark
        } else {
            egui::Theme::Light
        });
        ctx.set_zoom_factor(looks.size);
        let book = match (opening.made_up, opening.logbook) {
            (true, _) => None,
            (false, Some(file)) => Some(Book::File(file)),
            (false, None) => Some(Book::Last),
        };
        match book {
            Some(book) => {
                app.send(Letter::Open(book));
            }
            None => app.deeds.push(Deed::Do(Action::MadeUpFarm)),
        }
        if !opening.photos.is_empty() {
            app.send(Letter::TakePhotos(opening.photos));
        }
        Ok(app)
    }

    /// The sample in hand.
    pub fn sample(&self) -> &SampleSheet {
        &self.sheet
    }

    /// The place in view.
    pub const fn place(&self) -> Place {
        self.place
    }

    /// The bench of the slides.
    pub const fn bench(&self) -> &Bench {
        &self.bench
    }

    /// The same counted.
    pub fn counted(&self) -> Option<&Counted> {
        self.counted.as_deref()
    }

    /// The farm.
    pub fn farm(&self) -> &FarmSheet {
        &self.farm
    }

    /// The nights ahead.
    pub const fn outlook(&self) -> &Outlook {
        &self.outlook
    }

    /// The slides that are read blind.
    pub const fn room(&self) -> Option<&Room> {
        self.room.as_ref()
    }

    /// Second readings and practice.
    pub fn readers(&self) -> &ReadersSheet {
        &self.readers_sheet
    }

    /// What is being settled, and what came of the last practice.
    pub const fn readers_desk(&self) -> &Desk {
        &self.readers_desk
    }

    /// The place Training.
    pub const fn school(&self) -> &School {
        &self.school
    }

    /// What is being corrected by hand.
    pub const fn correcting(&self) -> Option<&Correcting> {
        self.correcting.as_ref()
    }

    /// What lies on top.
    pub const fn dialog(&self) -> Option<&Dialog> {
        self.dialog.as_ref()
    }

    /// What Undo would take back and Redo do again.
    pub const fn turns(&self) -> (Option<&String>, Option<&String>) {
        (self.undo.as_ref(), self.redo.as_ref())
    }

    /// What was said last.
    pub const fn said(&self) -> Option<&Said> {
        self.said.as_ref()
    }

    /// Every action that was done since the window opened.
    pub const fn performed(&self) -> &BTreeSet<Action> {
        &self.performed
    }

    /// The counter of work on the window's thread.
    pub const fn work(&mut self) -> &mut Work {
        &mut self.work
    }

    /// Whether the window is dark, and the factor on the size of everything.
    pub const fn looks(&self) -> (bool, f32) {
        (self.looks.dark, self.looks.size)
    }

    /// Whether the background is at work for this window.
    pub fn busy(&self) -> bool {
        self.letters > 0
            || self.jobs.running().any(|(name, _)| name == SLIDES)
            || !self.pending.is_empty()
            || !self.read.is_empty()
            || self.readers.load() != (0, 0)
            || self.jobs.runs(TRAIN)
            || self.gallery.busy()
            || self.correcting.as_ref().is_some_and(Correcting::busy)
    }

    /// Asks for a deed, as a view does.
    pub fn ask(&mut self, deed: Deed) {
        self.deeds.push(deed);
    }

    /// Whether the preview of a photo is on the screen as a whole.
    pub fn shows(&self, hash: &str) -> bool {
        let key = LayerKey {
            hash: hash.to_owned(),
            subject: Subject::Preview,
            look: self.bench.eye.look,
        };
        self.gallery.there(&key).is_some_and(Layer::complete)
    }

    /// Pixels that pictures hold on the screen.
    pub fn picture_pixels(&self) -> usize {
        self.gallery.pixels()
    }

    /// The window closes.
    pub fn leave(&mut self) {
        self.readers.order([]);
        self.jobs.stop(WATCH);
        self.jobs.stop(TRAIN);
        self.jobs.stop(SLIDES);
        self.looks_store.keep(&self.looks);
    }

    /// Keeps the looks in the background: the user's folder may lie on a network.
    pub(in crate::desktop) fn keep_looks(&self) {
        self.lookers.order([KeepLooks(self.looks.clone())]);
    }
}

/// Name of the job that watches a folder.
const WATCH: &str = "watch";
/// Name of the job that waits for a file dialog.
const CHOOSE: &str = "choose";
/// Name of the job that makes the made-up farm.
const FARM: &str = "farm";
/// Name of the job that trains.
const TRAIN: &str = "train";

/// Readers on all processors.
fn readers(jobs: &Jobs<News>, pictures: PictureStore) -> io::Result<Pool<ReadTask>> {
    let processors = std::thread::available_parallelism().map_or(2, usize::from);
    Pool::start(
        "reader",
        processors,
        &jobs.outbox(),
        move |task: &ReadTask| {
            let profile = task.um_per_px.map(MicrometresPerPixel::new);
            let options = ReadOptions {
                profile: profile.and_then(Result::ok),
                model: task.model.clone(),
                ..ReadOptions::default()
            };
            let (path, name, hash) = (&task.path, &task.name, &task.hash);
            News::Read {
                photo: task.photo.clone(),
                done: Box::new(read_for_the_eye(path, name, hash, &options, &pictures)),
            }
        },
        |task: &ReadTask| {
            let photo = FoundPhoto {
                path: task.path.clone(),
                given: task.name.clone(),
            };
            News::Read {
                photo: task.photo.clone(),
                done: Box::new(ReadForTheEye {
                    read: Panicked.in_place_of(&photo),
                    size: None,
                    tip: None,
                }),
            }
        },
    )
}
