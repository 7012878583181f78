//! The state of the window and how it comes to be.

mod acting;

mod looking;

mod logic;

mod ui;

use crate::desktop::actions::Action;
use crate::desktop::actions::Place;
use crate::desktop::deeds::Deed;
use crate::desktop::desk::SampleSheet;
use crate::desktop::dialogs::Dialog;
use crate::desktop::gallery::Gallery;
use crate::desktop::keeper::Answer;
use crate::desktop::keeper::Letter;
use crate::desktop::keeper::loose::Loose;
use crate::desktop::places::slides::Bench;
use crate::desktop::theme;
use crate::desktop::work::Work;
use crate::texts::window;
use crate::workflow::batch::Panicked;
use crate::workflow::collect::FoundPhoto;
use crate::workflow::jobs::Clerk;
use crate::workflow::jobs::Jobs;
use crate::workflow::jobs::Pool;
use crate::workflow::jobs::Task;
use crate::workflow::jobs::Wake;
use crate::workflow::opening::Opening;
use crate::workflow::pictures::PictureStore;
use crate::workflow::pictures::ReadForTheEye;
use crate::workflow::pictures::read_for_the_eye;
use crate::workflow::reading::ReadOptions;
use crate::workflow::watching::Sighting;
use std::collections::BTreeSet;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;

/// A photo to be read.
#[derive(Debug, Clone)]
struct ReadTask {
    photo: String,
    hash: String,
    name: String,
    path: PathBuf,
}

impl Task for ReadTask {
    type Key = String;

    fn key(&self) -> String {
        self.photo.clone()
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
    Chosen(Vec<Deed>),
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
    bench: Bench,
    gallery: Gallery,
    clerk: Clerk<Letter>,
    readers: Pool<ReadTask>,
    jobs: Jobs<News>,
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
    dark: bool,
    size: f32,
    deeds: Vec<Deed>,
    work: Work,
    performed: BTreeSet<Action>,
}

impl App {
    /// A window that is opened in `ctx`, with `pictures` for the screen; `wake` is called when the background has something.
    ///
    /// # Errors
    /// What the system said when it has no thread to give.
    pub fn new(
        ctx: &egui::Context,
        opening: Opening,
        pictures: PictureStore,
        wake: Wake,
    ) -> io::Result<Self> {
        theme::install(ctx);
        let jobs: Jobs<News> = Jobs::new(Arc::clone(&wake));
        let mut loose = Loose::new();
        let clerk = Clerk::start(
            "logbook",
            jobs.outbox(),
            move |letter| News::Answer(Box::new(loose.answer(letter))),
            || {
                News::Answer(Box::new(Answer {
                    trouble: Some(window::fault(window::LOGBOOK_FAULT)),
                    ..Answer::default()
                }))
            },
        )?;
        let readers = readers(&jobs, pictures.clone())?;
        let gallery = Gallery::new(pictures, wake)?;
        let app = Self {
            place: Place::Slides,
            sheet: Arc::default(),
            bench: Bench::default(),
            gallery,
            clerk,
            readers,
            jobs,
            pending: BTreeSet::new(),
            read: BTreeSet::new(),
            paused: false,
            finished: false,
            dialog: None,
            said: None,
            undo: None,
            redo: None,
            watched: None,
            dark: false,
            size: 1.0,
            deeds: Vec::new(),
            work: Work::default(),
            performed: BTreeSet::new(),
        };
        ctx.set_theme(egui::Theme::Light);
        if !opening.photos.is_empty() {
            app.clerk.give(Letter::TakePhotos(opening.photos));
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
        (self.dark, self.size)
    }

    /// Whether the background is at work for this window.
    pub fn busy(&self) -> bool {
        !self.pending.is_empty()
            || !self.read.is_empty()
            || self.readers.load() != (0, 0)
            || self.gallery.busy()
    }

    /// Pixels that pictures hold on the screen.
    pub fn picture_pixels(&self) -> usize {
        self.gallery.pixels()
    }

    /// The window closes.
    pub fn leave(&mut self) {
        self.readers.order([]);
        self.jobs.stop(WATCH);
    }
}

/// Name of the job that watches a folder.
const WATCH: &str = "watch";
/// Name of the job that waits for a file dialog.
const CHOOSE: &str = "choose";

/// Readers on all processors.
fn readers(jobs: &Jobs<News>, pictures: PictureStore) -> io::Result<Pool<ReadTask>> {
    let processors = std::thread::available_parallelism().map_or(2, usize::from);
    let options = ReadOptions::default();
    Pool::start(
        "reader",
        processors,
        &jobs.outbox(),
        move |task: &ReadTask| News::Read {
            photo: task.photo.clone(),
            done: Box::new(read_for_the_eye(
                &task.path, &task.name, &task.hash, &options, &pictures,
            )),
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
