//! Rounds of slides that are read blind: by a second reader, and for practice.

use crate::moult::Stage;
use crate::records::ids::AnimalId;
use crate::records::ids::BlindRoundId;
use crate::records::ids::PhotoId;
use crate::records::ids::PracticeRoundId;
use crate::records::ids::RowId;
use crate::records::made::named;
use crate::records::stamp::Stamp;
use crate::records::table::Column;
use crate::records::table::Kind;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;
use crate::records::words::Chosen;
use crate::records::words::Unread;
use serde::Deserialize;
use serde::Serialize;

/// One slide of a round, under the number that the second reader sees.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundSlide {
    /// The shuffled number, from 1.
    pub number: u32,
    /// The animal.
    pub animal: AnimalId,
    /// The first call, by the id of its row, as it stood when the round was drawn.
    pub call: RowId,
    /// The photos, in their order.
    pub photos: Vec<PhotoId>,
    /// Why it was chosen.
    pub chosen: Chosen,
}

/// What a second reader says of one slide.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BlindCall {
    /// The number of the slide.
    pub number: u32,
    /// The stage; absent when it cannot be read.
    pub stage: Option<Stage>,
    /// Why it cannot be read.
    pub unread_because: Option<Unread>,
    /// When.
    pub called: Stamp,
    /// A note.
    pub note: Option<String>,
}

/// Slides drawn for a second reader.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlindRound {
    /// Who is to read.
    pub reader: String,
    /// Seed of the draw and of the order.
    pub seed: i64,
    /// Share of the clear slides that was to be drawn, 0 to 1.
    pub clear_share: f64,
    /// Slides that were marked; all of them are in the round.
    pub marked: i64,
    /// Clear slides from which the others were drawn.
    pub clear: i64,
    /// The slides, in the order of their numbers.
    pub slides: Vec<RoundSlide>,
    /// BLAKE3 hash of the list in the file that was sent; empty for a round at this desk.
    pub sent: Option<String>,
    /// The key that seals the answer.
    pub key: Option<String>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for BlindRound {
    type Id = BlindRoundId;
    const TABLE: Table = Table {
        name: "blind_round",
        columns: &[
            Column::needed("reader", Kind::Text),
            Column::needed("seed", Kind::Whole),
            Column::needed("clear_share", Kind::Real),
            Column::needed("marked", Kind::Whole),
            Column::needed("clear", Kind::Whole),
            Column::needed("slides", Kind::Json),
            Column::optional("sent", Kind::Text),
            Column::optional("key", Kind::Text),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        named("reader", &self.reader)?;
        if (0.0..=1.0).contains(&self.clear_share) {
            Ok(())
        } else {
            let share = self.clear_share;
            Err(RowFault::Content(format!(
                "clear_share is {share}; give 0 to 1"
            )))
        }
    }
}

/// One slide of a practice round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PractisedSlide {
    /// The stage that it is.
    pub truth: Stage,
    /// What it was called; empty when the reader could not tell.
    pub call: Option<Stage>,
    /// How long the reader looked, seconds.
    pub seconds: f64,
    /// The animal; empty for a painted slide.
    pub animal: Option<AnimalId>,
    /// Seed of a painted slide.
    pub painted: Option<i64>,
}

/// A practice round of one reader.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PracticeRound {
    /// Who practised.
    pub reader: String,
    /// When it was ended.
    pub ended: Stamp,
    /// Seed of the draw.
    pub seed: i64,
    /// Whether the slides were painted.
    pub painted: bool,
    /// The slides in the order in which they were read.
    pub slides: Vec<PractisedSlide>,
    /// The line that says which standard was reached; empty when it was not.
    pub certificate: Option<String>,
}

impl Record for PracticeRound {
    type Id = PracticeRoundId;
    const TABLE: Table = Table {
        name: "practice_round",
        columns: &[
            Column::needed("reader", Kind::Text),
            Column::needed("ended", Kind::Stamp),
            Column::needed("seed", Kind::Whole),
            Column::needed("painted", Kind::Flag),
            Column::needed("slides", Kind::Json),
            Column::optional("certificate", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        named("reader", &self.reader)
    }
}
