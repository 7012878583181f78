//! Between the window and the logbook: letters go to a clerk in its own thread, answers come back,
//! and the window shows what the clerk has confirmed, which is then on the disk.

mod edits;

mod kept;

pub mod readers;

mod sheets;

mod training;

pub use crate::desktop::keeper::kept::Kept;

use crate::decision::waiting::Worth;
use crate::desktop::desk::FarmSheet;
use crate::desktop::desk::SampleForm;
use crate::desktop::desk::SampleSheet;
use crate::desktop::keeper::readers::ReadersLetter;
use crate::desktop::keeper::readers::ReadersSheet;
use crate::desktop::training::TrainingSheet;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::records::Reading;
use crate::records::measures::Measures;
use crate::records::pictures::Microscope;
use crate::records::places::Outcome;
use crate::records::words::Unread;
use crate::stage::model::Model;
use crate::workflow::logbook::counting::Counted;
use crate::workflow::logbook::farm::FarmLimits;
use crate::workflow::pictures::ReadForTheEye;
use std::path::PathBuf;
use std::sync::Arc;

/// Why a person leaves an animal unread, in the order of the keys.
pub const WHYS: [Unread; 7] = [
    Unread::Refused,
    Unread::Regenerated,
    Unread::Dried,
    Unread::Preserved,
    Unread::OtherPart,
    Unread::Lost,
    Unread::Other,
];

/// Which logbook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Book {
    /// The one used last; nothing happens when there is none.
    Last,
    /// This file.
    File(PathBuf),
    /// A new one in this file.
    New(PathBuf),
}

/// What the clerk is asked to do.
#[derive(Debug)]
pub enum Letter {
    /// Work in a logbook.
    Open(Book),
    /// Begin a sample.
    NewSample(Box<SampleForm>),
    /// Take a sample into hand.
    TakeSample(String),
    /// Take photos into the sample, each as a new animal.
    TakePhotos(Vec<PathBuf>),
    /// Keep what was read in a photo.
    Keep {
        /// The photo.
        photo: String,
        /// What was read.
        done: Box<ReadForTheEye>,
    },
    /// Keep a reading that a person corrected.
    Correct {
        /// The photo.
        photo: String,
        /// What it reads now, and what was measured.
        reading: Box<(Reading, Measures)>,
    },
    /// Call a stage.
    Call {
        /// The animal.
        animal: String,
        /// The stage.
        stage: Stage,
        /// Whether the proposal was hidden.
        before_proposal: bool,
    },
    /// Call a stage for one more animal, without a photo.
    Count(Stage),
    /// Leave an animal unread.
    Refuse {
        /// The animal.
        animal: String,
        /// Why.
        why: Unread,
    },
    /// Take a call off an animal.
    Withdraw {
        /// The animal.
        animal: String,
    },
    /// Want another reader, or no longer.
    Second {
        /// The animal.
        animal: String,
        /// Whether one is wanted.
        wanted: bool,
    },
    /// The shell as felt.
    Shell {
        /// The animal.
        animal: String,
        /// As felt.
        shell: Option<Shell>,
    },
    /// A note about an animal.
    Note {
        /// The animal.
        animal: String,
        /// The note; empty for none.
        note: String,
    },
    /// Move a photo to another animal.
    Assign {
        /// The photo.
        photo: String,
        /// The animal.
        animal: String,
    },
    /// Another person reads.
    Reader(String),
    /// Other limits of the farm.
    Limits(Box<FarmLimits>),
    /// A microscope profile, and to use it.
    Profile(Box<Microscope>),
    /// Use this profile for the photos that come, or none.
    UseProfile(Option<String>),
    /// What a harvest turned out to be.
    Outcome(Box<Outcome>),
    /// The pond's numbers for the value of waiting; absent to leave them out.
    Worth(Option<Box<Worth>>),
    /// A file of slides of known truth, for the reader's errors; absent to leave them out.
    ReaderSlides(Option<PathBuf>),
    /// Take another logbook in.
    Merge(PathBuf),
    /// Lay out the farm anew.
    Farm,
    /// Words to be searched.
    Search(String),
    /// Save the animals of the sample as a table.
    SaveTable(PathBuf),
    /// Save the page for the manager.
    SavePage(PathBuf),
    /// About second readings and practice.
    Readers(ReadersLetter),
    /// Lay out labels and models anew.
    Training,
    /// Label an animal by its call, or all of the sample in hand.
    Label(Option<String>),
    /// Take in a table of labels.
    ImportLabels(PathBuf),
    /// Withdraw a label.
    WithdrawLabel {
        /// The label.
        label: String,
        /// Why.
        because: String,
    },
    /// Put a model of the farm into use, by its name.
    Adopt(String),
    /// Use the model again that was in use before.
    GoBack,
    /// Read the sample in hand again with the model in use.
    ReadSampleAgain,
    /// Write the model in use and its card.
    ExportModel(PathBuf),
    /// Take in a model file.
    ImportModel(PathBuf),
    /// Take back what was done last.
    Undo,
    /// Do again what was taken back.
    Redo,
}

impl Letter {
    /// The animal it is about.
    pub fn about(&self) -> Option<&str> {
        match self {
            Self::Call { animal, .. }
            | Self::Refuse { animal, .. }
            | Self::Withdraw { animal }
            | Self::Second { animal, .. }
            | Self::Shell { animal, .. }
            | Self::Note { animal, .. }
            | Self::Assign { animal, .. } => Some(animal),
            _ => None,
        }
    }
}

/// Something found by a search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundSheet {
    /// The sample it belongs to.
    pub sample: Option<String>,
    /// What was found, in words.
    pub text: String,
}

/// What the clerk has to say.
#[derive(Debug, Clone, Default)]
pub struct Answer {
    /// The sample in hand as it stands now; absent where it did not change.
    pub sheet: Option<Arc<SampleSheet>>,
    /// The same counted; absent where it did not change.
    pub counted: Option<Arc<Counted>>,
    /// The farm; absent where it did not change.
    pub farm: Option<Arc<FarmSheet>>,
    /// Labels and models; absent where they did not change.
    pub training: Option<Arc<TrainingSheet>>,
    /// The model in use; absent where it did not change.
    pub model: Option<Arc<Model>>,
    /// What a search found.
    pub found: Option<Vec<FoundSheet>>,
    /// The animal the letter was about.
    pub about: Option<String>,
    /// The animal to look at.
    pub look_at: Option<String>,
    /// What was done, in words.
    pub said: Option<String>,
    /// What went wrong and what to do, in words.
    pub trouble: Option<String>,
    /// What Undo would take back, in words.
    pub undo: Option<String>,
    /// What Redo would do again, in words.
    pub redo: Option<String>,
    /// No logbook is open: the start is to be shown.
    pub welcome: bool,
    /// Second readings and practice; absent where they did not change.
    pub readers: Option<Arc<ReadersSheet>>,
    /// The answer is about slides that somebody sent, and says nothing of the logbook.
    pub aside: bool,
}
