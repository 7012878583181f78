//! The stage vocabulary and nothing else.

use serde::Deserialize;
use serde::Serialize;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A moult stage, in cycle order from the moult on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Stage {
    /// Early post-moult.
    A,
    /// Late post-moult.
    B,
    /// Inter-moult.
    C,
    /// Early pre-moult: the epidermis has come off the bases.
    D0,
    /// Early pre-moult: the edge of the epidermis is scalloped.
    D1,
    /// Late pre-moult: new setae with setules.
    D2,
    /// Late pre-moult: new setae dense, folds in the new cuticle.
    D3,
    /// Late pre-moult: the old cuticle lifts; called by a person only.
    D4,
    /// The moult itself; called by a person only.
    E,
}

/// A text that names no stage.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is no stage: use A, B, C, D0, D1, D2, D3, D4 or E")]
pub struct UnknownStage(pub String);

impl Stage {
    /// All stages a person may call, in cycle order.
    pub const ALL: [Self; 9] = [
        Self::A,
        Self::B,
        Self::C,
        Self::D0,
        Self::D1,
        Self::D2,
        Self::D3,
        Self::D4,
        Self::E,
    ];

    /// The stages that the model proposes, in cycle order; its D3 stands for D3 and D4.
    pub const PROPOSED: [Self; 7] = [
        Self::A,
        Self::B,
        Self::C,
        Self::D0,
        Self::D1,
        Self::D2,
        Self::D3,
    ];

    /// The stage's code, as written on slides.
    pub const fn code(self) -> &'static str {
        match self {
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
            Self::D0 => "D0",
            Self::D1 => "D1",
            Self::D2 => "D2",
            Self::D3 => "D3",
            Self::D4 => "D4",
            Self::E => "E",
        }
    }

    /// Where the stage stands in [`Stage::ALL`].
    pub const fn index(self) -> usize {
        self as usize
    }

    /// The stage as the model knows it: D4 is folded into D3; E has no counterpart.
    pub const fn as_proposed(self) -> Option<Self> {
        match self {
            Self::E => None,
            Self::D4 => Some(Self::D3),
            other => Some(other),
        }
    }

    /// The group of the stage by the default grouping.
    pub const fn hardness(self) -> Hardness {
        match self {
            Self::A | Self::B | Self::E => Hardness::Soft,
            Self::C | Self::D0 | Self::D1 => Hardness::Firm,
            Self::D2 | Self::D3 | Self::D4 => Hardness::Due,
        }
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code())
    }
}

impl FromStr for Stage {
    type Err = UnknownStage;

    fn from_str(text: &str) -> Result<Self, UnknownStage> {
        let wanted = text.trim();
        Self::ALL
            .into_iter()
            .find(|stage| stage.code().eq_ignore_ascii_case(wanted))
            .ok_or_else(|| UnknownStage(wanted.to_owned()))
    }
}

/// What a stage means for the harvest, by the default grouping.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hardness {
    /// Just moulted or moulting: A, B, E.
    Soft,
    /// C, D0, D1.
    Firm,
    /// About to moult: D2, D3, D4.
    Due,
}

/// How the shell felt between the fingers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shell {
    /// Hard all over.
    Firm,
    /// Gives everywhere.
    Soft,
    /// Flexes like paper.
    Papery,
}

/// A text that names no way a shell feels.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is no shell as felt: use firm, soft or papery, or leave it empty")]
pub struct UnknownShell(pub String);

impl FromStr for Shell {
    type Err = UnknownShell;

    fn from_str(text: &str) -> Result<Self, UnknownShell> {
        match text.trim().to_ascii_lowercase().as_str() {
            "firm" => Ok(Self::Firm),
            "soft" => Ok(Self::Soft),
            "papery" => Ok(Self::Papery),
            other => Err(UnknownShell(other.to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_read_back_in_any_case() {
        for stage in Stage::ALL {
            assert_eq!(stage.code().to_lowercase().parse(), Ok(stage));
            assert_eq!(Stage::ALL[stage.index()], stage);
        }
        assert!("D5".parse::<Stage>().is_err());
    }

    #[test]
    fn d4_is_trained_as_d3_and_e_not_at_all() {
        assert_eq!(Stage::D4.as_proposed(), Some(Stage::D3));
        assert_eq!(Stage::E.as_proposed(), None);
    }
}
