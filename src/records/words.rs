//! The words that stand in rows: each a fixed list, written as in the tables.

use crate::records::ids::RowId;
use serde::Deserialize;
use serde::Serialize;

/// How the animals of a sample were caught.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Caught {
    /// With a net, from several points.
    #[default]
    Net,
    /// From feed trays: only hungry, hard animals come.
    FeedTray,
}

/// How much of something was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// None at all.
    None,
    /// Few.
    Few,
    /// Many.
    Many,
}

/// How a photo is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Keeping {
    /// Copied into the photo folder beside the logbook.
    Copied,
    /// Left where it lies.
    Linked,
}

/// Branch of the uropod.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Branch {
    /// The inner one (endopod), which is usual.
    Inner,
    /// The outer one (exopod).
    Outer,
}

/// Side of the animal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

/// Part of the margin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Site {
    /// The third next to the body.
    Near,
    /// The median third, which is usual.
    Middle,
    /// The third at the tip.
    Far,
}

/// What the tissue under the microscope is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mount {
    /// On the living animal.
    Live,
    /// A fresh clip.
    Clipped,
    /// Frozen and thawed.
    Frozen,
    /// In a preservative.
    Preserved,
}

/// Why an animal is unread, as a person says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unread {
    /// The photo cannot be read, and the animal cannot be called by eye.
    Refused,
    /// A regenerated or earlier clipped tip.
    Regenerated,
    /// Dried.
    Dried,
    /// Preserved.
    Preserved,
    /// Not a uropod: a pleopod, the telson.
    OtherPart,
    /// The animal or its clip was lost.
    Lost,
    /// Another reason, in the note.
    Other,
}

/// How a call stands to the proposal of its moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Agreement {
    /// The same stage; D4 is the model's D3.
    Agreed,
    /// Another stage, or unread.
    Changed,
    /// There was no proposal.
    ByEye,
}

/// On what evidence a stage is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Evidence {
    /// A reader's own call.
    Call,
    /// A second call that agreed or was settled.
    Settled,
    /// Known days since a moult that was seen.
    KnownDays,
    /// It came with a table of labels.
    Imported,
}

/// Why a slide goes to a second reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Chosen {
    /// The first reader asked for it.
    Asked,
    /// It lies between two stages, or its photos or criteria disagree.
    Ambiguous,
    /// The model cannot tell.
    CannotTell,
    /// It lies far from what the model was trained on.
    Far,
    /// It stands near the border of soft, and such slides could turn the verdict.
    SoftBorder,
    /// It stands near the border of due, and such slides could turn the verdict.
    DueBorder,
    /// It is clear, and was drawn at random.
    Clear,
}

impl Chosen {
    /// Its code, as it stands in tables.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Asked => "asked",
            Self::Ambiguous => "ambiguous",
            Self::CannotTell => "cannot_tell",
            Self::Far => "far",
            Self::SoftBorder => "soft_border",
            Self::DueBorder => "due_border",
            Self::Clear => "clear",
        }
    }
}

/// What a person did, as the journal keeps it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ActionKind {
    /// A reader was added or changed.
    Reader,
    /// A microscope profile was added or changed.
    Microscope,
    /// A pond was added.
    AddPond,
    /// A pond was changed.
    EditPond,
    /// A sample was begun.
    NewSample,
    /// A sample was changed.
    EditSample,
    /// Animals were added.
    AddAnimals,
    /// An animal was changed: its station, its shell as felt, its note.
    EditAnimal,
    /// Photos came.
    ImportPhotos,
    /// A photo was assigned to an animal, or taken from one.
    AssignPhoto,
    /// What is known of a photo was changed.
    EditPhoto,
    /// A reading was kept.
    Read,
    /// An animal was called, or its call changed.
    Call,
    /// A second call was taken.
    SecondCall,
    /// Slides were drawn for a second reader.
    BlindRound,
    /// A disagreement was settled.
    Settle,
    /// A practice round was ended.
    Practice,
    /// A label was given, changed or withdrawn.
    Label,
    /// A model was taken in, or the one in use changed.
    Model,
    /// A verdict was given.
    Verdict,
    /// An outcome was entered or changed.
    Outcome,
    /// A setting was changed.
    Setting,
    /// Something was taken back.
    Withdraw,
    /// An action was undone.
    Undo,
    /// An undone action was done again.
    Redo,
    /// A made-up farm was written.
    Demo,
}

/// A row that an action wrote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WrittenRow {
    /// Its table.
    pub table: String,
    /// Its id.
    pub id: RowId,
}
