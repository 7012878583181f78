//! What views return: nothing is done in a view.

use crate::decision::waiting::Worth;
use crate::desktop::actions::Action;
use crate::desktop::desk::SampleForm;
use crate::desktop::dialogs::Purpose;
use crate::desktop::keeper::Book;
use crate::geometry::Point;
use crate::moult::Stage;
use crate::records::pictures::Microscope;
use crate::records::places::Outcome;
use crate::records::words::Unread;
use crate::workflow::logbook::farm::FarmLimits;
use crate::workflow::practice::score::Standard;
use crate::workflow::second::pairs::PairedCall;
use std::path::PathBuf;

/// Something to be done, with what it needs.
#[derive(Debug, Clone, PartialEq)]
pub enum Deed {
    /// An action of the list.
    Do(Action),
    /// Work in a logbook.
    Open(Book),
    /// Begin a sample.
    NewSample(Box<SampleForm>),
    /// Take a sample into hand.
    TakeSample(String),
    /// Look at the animal in this position.
    LookAt(usize),
    /// Look at the photo in this position of the animal.
    PhotoAt(usize),
    /// Take files and folders into the sample.
    Take(Vec<PathBuf>),
    /// Leave the animal in view unread.
    Refuse(Unread),
    /// Note something about the animal in view.
    Note(String),
    /// Move a photo to the animal in this position.
    Assign {
        /// The photo.
        photo: String,
        /// Position of the animal.
        animal: usize,
    },
    /// Call one more animal, without a photo.
    Count(Stage),
    /// Watch this folder.
    WatchFolder(PathBuf),
    /// Ask for files or a folder in the system's dialog.
    Choose(Purpose),
    /// Say what went wrong.
    Trouble(String),
    /// Another person reads.
    Reader(String),
    /// Other limits.
    Limits(Box<FarmLimits>),
    /// Look for a ruling in a photo whose marks are so many micrometres apart.
    Ruling(PathBuf, f64),
    /// Two points of the photo in view are to be clicked.
    TwoClicks,
    /// Keep a microscope profile.
    Profile(Box<Microscope>),
    /// Use a profile, or none.
    UseProfile(Option<String>),
    /// Keep what a harvest turned out to be.
    Outcome(Box<Outcome>),
    /// Keep the pond's numbers for the value of waiting, or leave them out.
    Worth(Option<Box<Worth>>),
    /// Take slides of known truth in, or leave them out.
    ReaderSlides(Option<PathBuf>),
    /// Ask for a path.
    Ask(Purpose),
    /// Take another logbook in.
    Merge(PathBuf),
    /// Search the logbook.
    Search(String),
    /// Save the table.
    SaveTable(PathBuf),
    /// Save the page.
    SavePage(PathBuf),
    /// Carry forward with this water temperature in degrees Celsius.
    Water(f64),
    /// Write the slides for a second reader into a file.
    SendSlides {
        /// Who is to read.
        to: String,
        /// The file.
        file: PathBuf,
    },
    /// Another standard of practice.
    Standard(Standard),
    /// Open slides that somebody sent.
    OpenSlides(PathBuf),
    /// Take an answer in.
    TakeAnswer(PathBuf),
    /// Settle a disagreement.
    Settle {
        /// The two calls.
        pair: Box<PairedCall>,
        /// What stands.
        stage: Option<Stage>,
        /// Why.
        because: String,
    },
    /// Take in a table of labels.
    ImportLabels(PathBuf),
    /// Withdraw the chosen label for this reason.
    WithdrawLabel(String),
    /// Put a model of the farm into use, by its name.
    Adopt(String),
    /// Write the model in use and its card.
    ExportModel(PathBuf),
    /// Take in a model file.
    ImportModel(PathBuf),
    /// Two points of the photo were clicked, in its pixels.
    Clicked([Point; 2]),
    /// Move every base, and every edge of the epidermis, by so many pixels inwards.
    Shift {
        /// The bases.
        bases: f64,
        /// The edge.
        edge: f64,
    },
}
