//! Calls, second calls, settlements, labels.

use crate::moult::Stage;
use crate::records::ids::AnimalId;
use crate::records::ids::CallId;
use crate::records::ids::LabelId;
use crate::records::ids::PhotoId;
use crate::records::ids::RowId;
use crate::records::ids::SecondCallId;
use crate::records::ids::SettlementId;
use crate::records::made::named;
use crate::records::stamp::Stamp;
use crate::records::table::Column;
use crate::records::table::Kind;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;
use crate::records::words::Agreement;
use crate::records::words::Evidence;
use crate::records::words::Unread;
use serde::Deserialize;
use serde::Serialize;

/// What a person decided for one animal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Call {
    /// The animal.
    pub animal: AnimalId,
    /// The stage; empty when unread.
    pub stage: Option<Stage>,
    /// Why it is unread.
    pub unread_because: Option<Unread>,
    /// Who called.
    pub reader: String,
    /// When.
    pub called: Stamp,
    /// The reading that was in view.
    pub reading: Option<RowId>,
    /// The proposal at that moment.
    pub proposal: Option<Stage>,
    /// How it stands to the proposal: agreed, changed or by_eye.
    pub agreement: Agreement,
    /// Called before the proposal was shown.
    pub before_proposal: bool,
    /// A second reader is wanted.
    pub second_wanted: bool,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Call {
    type Id = CallId;
    const TABLE: Table = Table {
        name: "call",
        columns: &[
            Column::needed("animal", Kind::Link("animal")),
            Column::optional("stage", Kind::Text),
            Column::optional("unread_because", Kind::Text),
            Column::needed("reader", Kind::Text),
            Column::needed("called", Kind::Stamp),
            Column::optional("reading", Kind::Id),
            Column::optional("proposal", Kind::Text),
            Column::needed("agreement", Kind::Text),
            Column::needed("before_proposal", Kind::Flag),
            Column::needed("second_wanted", Kind::Flag),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        named("reader", &self.reader)
    }
}

/// A call by another reader who has not seen the first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SecondCall {
    /// The animal.
    pub animal: AnimalId,
    /// The stage; empty when unread.
    pub stage: Option<Stage>,
    /// Why it is unread.
    pub unread_because: Option<Unread>,
    /// Who called.
    pub reader: String,
    /// When.
    pub called: Stamp,
    /// Why the animal was sent to a second reader.
    pub chosen: Option<String>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for SecondCall {
    type Id = SecondCallId;
    const TABLE: Table = Table {
        name: "second_call",
        columns: &[
            Column::needed("animal", Kind::Link("animal")),
            Column::optional("stage", Kind::Text),
            Column::optional("unread_because", Kind::Text),
            Column::needed("reader", Kind::Text),
            Column::needed("called", Kind::Stamp),
            Column::optional("chosen", Kind::Text),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        named("reader", &self.reader)
    }
}

/// A disagreement that was settled: the call that stands, and what was set aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settlement {
    /// The animal.
    pub animal: AnimalId,
    /// The call that stands.
    pub call: RowId,
    /// The rival call that was set aside.
    pub set_aside: Option<RowId>,
    /// The second call that was considered.
    pub second_call: Option<RowId>,
    /// Why.
    pub because: String,
}

impl Record for Settlement {
    type Id = SettlementId;
    const TABLE: Table = Table {
        name: "settlement",
        columns: &[
            Column::needed("animal", Kind::Link("animal")),
            Column::needed("call", Kind::Id),
            Column::optional("set_aside", Kind::Id),
            Column::optional("second_call", Kind::Id),
            Column::needed("because", Kind::Text),
        ],
    };
}

/// A photo or animal of known stage, for training.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Label {
    /// The animal.
    pub animal: AnimalId,
    /// The photo; empty for all photos of the animal.
    pub photo: Option<PhotoId>,
    /// The stage.
    pub stage: Stage,
    /// On what evidence: call, settled, known_days or imported.
    pub evidence: Evidence,
    /// Known days since a seen moult.
    pub days_since_moult: Option<f64>,
    /// Who says so.
    pub reader: String,
    /// Why it was withdrawn, or what else should be known.
    pub note: Option<String>,
}

impl Record for Label {
    type Id = LabelId;
    const TABLE: Table = Table {
        name: "label",
        columns: &[
            Column::needed("animal", Kind::Link("animal")),
            Column::optional("photo", Kind::Link("photo")),
            Column::needed("stage", Kind::Text),
            Column::needed("evidence", Kind::Text),
            Column::optional("days_since_moult", Kind::Real),
            Column::needed("reader", Kind::Text),
            Column::optional("note", Kind::Text),
        ],
    };
}
