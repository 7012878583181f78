//! Between the window and what is kept: letters go to a clerk in its own thread, answers come back,
//! and the window shows what the clerk has confirmed.

pub mod loose;

use crate::desktop::desk::SampleSheet;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::workflow::pictures::ReadForTheEye;
use std::path::PathBuf;
use std::sync::Arc;

/// Why a person leaves an animal unread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// The photo cannot be read.
    Unreadable,
    /// Regrown, or clipped before.
    Regenerated,
    /// The tip had dried.
    Dried,
    /// The tip was preserved.
    Preserved,
    /// A pleopod, the telson or another part.
    OtherPart,
    /// The animal or its tip was lost.
    Lost,
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

impl Why {
    /// Every reason, in the order of its key.
    pub const ALL: [Self; 6] = [
        Self::Unreadable,
        Self::Regenerated,
        Self::Dried,
        Self::Preserved,
        Self::OtherPart,
        Self::Lost,
    ];
}

/// What the clerk is asked to do.
#[derive(Debug)]
pub enum Letter {
    /// Take photos into the sample, each as a new animal.
    TakePhotos(Vec<PathBuf>),
    /// Keep what was read in a photo.
    Keep {
        /// The photo.
        photo: String,
        /// What was read.
        done: Box<ReadForTheEye>,
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
    /// Leave an animal unread.
    Refuse {
        /// The animal.
        animal: String,
        /// Why.
        why: Why,
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
    /// Take back what was done last.
    Undo,
    /// Do again what was taken back.
    Redo,
}

/// What the clerk has to say.
#[derive(Debug, Clone, Default)]
pub struct Answer {
    /// The sample in hand as it stands now.
    pub sheet: Arc<SampleSheet>,
    /// The animal it was about.
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
}
