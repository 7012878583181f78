//! Ids: 16 bytes that sort by the time they were made (UUID version 7). Each noun has its own type,
//! so that a pond is never taken for a sample.

use serde::Deserialize;
use serde::Deserializer;
use serde::Serialize;
use serde::Serializer;
use serde::de::Error as _;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;
use uuid::Uuid;

/// A text that is no id.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is no id: ids are 36 letters such as 01990a5c-7e10-7000-8000-5f1b2c3d4e5f")]
pub struct IdError(pub String);

/// The id of any row.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowId(Uuid);

impl RowId {
    /// Wraps an id.
    pub const fn new(id: Uuid) -> Self {
        Self(id)
    }

    /// The id of these bytes.
    pub const fn from_bytes(bytes: [u8; 16]) -> Self {
        Self(Uuid::from_bytes(bytes))
    }

    /// The bytes of the id.
    pub const fn bytes(self) -> [u8; 16] {
        self.0.into_bytes()
    }
}

impl fmt::Display for RowId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0.as_hyphenated(), f)
    }
}

impl fmt::Debug for RowId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for RowId {
    type Err = IdError;

    fn from_str(text: &str) -> Result<Self, IdError> {
        Uuid::try_parse(text.trim())
            .ok()
            .map(Self)
            .ok_or_else(|| IdError(text.to_owned()))
    }
}

impl Serialize for RowId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for RowId {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(D::Error::custom)
    }
}

/// What every id of a noun can do.
pub trait ThingId: Copy + From<RowId> {
    /// The id without its noun: that of the thing's first row.
    fn row(self) -> RowId;
}

macro_rules! thing_id {
    ($($(#[$doc:meta])* $name:ident)*) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(RowId);

        impl From<RowId> for $name {
            fn from(id: RowId) -> Self {
                Self(id)
            }
        }

        impl ThingId for $name {
            fn row(self) -> RowId {
                self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)
            }
        }
    )* };
}

thing_id! {
    /// A person who calls.
    ReaderId
    /// A microscope profile.
    MicroscopeId
    /// A pond.
    PondId
    /// A sample.
    SampleId
    /// An animal.
    AnimalId
    /// A photo.
    PhotoId
    /// A reading.
    ReadingId
    /// The measures of a photo.
    MeasuresId
    /// A call.
    CallId
    /// A second call.
    SecondCallId
    /// A round of slides for a second reader.
    BlindRoundId
    /// A practice round.
    PracticeRoundId
    /// A settlement.
    SettlementId
    /// A label.
    LabelId
    /// A model of the farm.
    ModelId
    /// A change of the model in use.
    ModelUseId
    /// A verdict that was given.
    VerdictId
    /// An outcome.
    OutcomeId
    /// A setting.
    SettingId
    /// An action of a person, as the journal knows it.
    ActionId
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_written_and_read_back() {
        let text = "01990a5c-7e10-7000-8000-5f1b2c3d4e5f";
        let id: RowId = text.parse().unwrap();
        assert_eq!(id.to_string(), text);
        assert_eq!(RowId::from_bytes(id.bytes()), id);
        let pond = PondId::from(id);
        let json = serde_json::to_string(&pond).unwrap();
        assert_eq!(json, format!("\"{text}\""));
        assert_eq!(serde_json::from_str::<PondId>(&json).unwrap(), pond);
        assert!("pond 4".parse::<RowId>().is_err());
    }
}
