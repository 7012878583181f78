//! The species a farm may keep, and what is published about each.

use crate::cycle::arcs::StageArcs;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A penaeid shrimp.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Species {
    /// Penaeus vannamei.
    Vannamei,
    /// Penaeus monodon.
    Monodon,
    /// Penaeus stylirostris.
    Stylirostris,
    /// Penaeus setiferus.
    Setiferus,
    /// Penaeus japonicus.
    Japonicus,
    /// Penaeus indicus: no cycle length found.
    Indicus,
    /// Penaeus merguiensis: no cycle length found.
    Merguiensis,
    /// Penaeus esculentus: no cycle length found.
    Esculentus,
    /// Penaeus chinensis: no cycle length found.
    Chinensis,
}

/// A name of no species that is known here.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "\"{0}\" is no species known here: use vannamei, monodon, stylirostris, setiferus or japonicus, or indicus, merguiensis, esculentus or chinensis with a cycle length of your own"
)]
pub struct UnknownSpecies(pub String);

impl Species {
    /// All species.
    pub const ALL: [Self; 9] = [
        Self::Vannamei,
        Self::Monodon,
        Self::Stylirostris,
        Self::Setiferus,
        Self::Japonicus,
        Self::Indicus,
        Self::Merguiensis,
        Self::Esculentus,
        Self::Chinensis,
    ];

    /// The second half of the scientific name, in small letters.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Vannamei => "vannamei",
            Self::Monodon => "monodon",
            Self::Stylirostris => "stylirostris",
            Self::Setiferus => "setiferus",
            Self::Japonicus => "japonicus",
            Self::Indicus => "indicus",
            Self::Merguiensis => "merguiensis",
            Self::Esculentus => "esculentus",
            Self::Chinensis => "chinensis",
        }
    }

    /// The arcs of the stages: those of the species where its post-, inter- and pre-moult are
    /// published, else the general ones.
    ///
    /// # Source
    /// Robertson et al. 1987 (abstract): P. stylirostris 27, 17 and 56 %, P. setiferus 22, 19 and
    /// 59 % of the cycle.
    pub fn arcs(self) -> StageArcs {
        match self {
            Self::Stylirostris => StageArcs::robertson([27.0, 17.0, 56.0]),
            Self::Setiferus => StageArcs::robertson([22.0, 19.0, 59.0]),
            _ => StageArcs::published(),
        }
    }
}

impl fmt::Display for Species {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Species {
    type Err = UnknownSpecies;

    fn from_str(text: &str) -> Result<Self, UnknownSpecies> {
        let wanted = text.trim().to_ascii_lowercase();
        let bare = wanted.rsplit([' ', '.']).next().unwrap_or(&wanted);
        Self::ALL
            .into_iter()
            .find(|species| species.name() == bare)
            .ok_or_else(|| UnknownSpecies(text.trim().to_owned()))
    }
}
