//! Readers, models, settings, and the journal.

use crate::records::ids::ActionId;
use crate::records::ids::ModelId;
use crate::records::ids::ModelUseId;
use crate::records::ids::ReaderId;
use crate::records::ids::RowId;
use crate::records::ids::SettingId;
use crate::records::made::named;
use crate::records::table::Column;
use crate::records::table::Kind;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;
use crate::records::words::ActionKind;
use crate::records::words::WrittenRow;
use serde::Deserialize;
use serde::Serialize;

/// A person who calls.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reader {
    /// Name, as it stands beside the calls.
    pub name: String,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Reader {
    type Id = ReaderId;
    const TABLE: Table = Table {
        name: "reader",
        columns: &[
            Column::needed("name", Kind::Text),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        named("name", &self.name)
    }
}

/// A model file of the farm.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptModel {
    /// Name of the model.
    pub name: String,
    /// Hash that the file states.
    pub hash: String,
    /// The model file as it is.
    pub file: String,
    /// Its card.
    pub card: Option<String>,
}

impl Record for KeptModel {
    type Id = ModelId;
    const TABLE: Table = Table {
        name: "model",
        columns: &[
            Column::needed("name", Kind::Text),
            Column::needed("hash", Kind::Text),
            Column::needed("file", Kind::Text),
            Column::optional("card", Kind::Text),
        ],
    };
}

/// Which model was in use from when on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ModelUse {
    /// The model; empty for the one that comes with the program.
    pub model: Option<ModelId>,
    /// Why.
    pub because: Option<String>,
}

impl Record for ModelUse {
    type Id = ModelUseId;
    const TABLE: Table = Table {
        name: "model_use",
        columns: &[
            Column::optional("model", Kind::Link("model")),
            Column::optional("because", Kind::Text),
        ],
    };
}

/// A setting of the farm.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Setting {
    /// Its name.
    pub key: String,
    /// Its value.
    pub value: serde_json::Value,
}

impl Record for Setting {
    type Id = SettingId;
    const TABLE: Table = Table {
        name: "setting",
        columns: &[
            Column::needed("key", Kind::Text),
            Column::needed("value", Kind::Json),
        ],
    };
}

/// One action of a person: who did what when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct JournalLine {
    /// What was done.
    pub kind: ActionKind,
    /// The sample, pond or other thing it was about.
    pub about: Option<RowId>,
    /// The action it takes back.
    pub undoes: Option<RowId>,
    /// The rows it wrote: table and id.
    pub written: Vec<WrittenRow>,
}

impl Record for JournalLine {
    type Id = ActionId;
    const TABLE: Table = Table {
        name: "journal",
        columns: &[
            Column::needed("kind", Kind::Text),
            Column::optional("about", Kind::Id),
            Column::optional("undoes", Kind::Id),
            Column::needed("written", Kind::Json),
        ],
    };
}
