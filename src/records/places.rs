//! Ponds, samples, animals, and what the harvest showed.

use crate::moult::Shell;
use crate::records::ids::AnimalId;
use crate::records::ids::OutcomeId;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::ids::VerdictId;
use crate::records::made::check_outcome;
use crate::records::made::check_pond;
use crate::records::made::check_sample;
use crate::records::made::named;
use crate::records::stamp::Stamp;
use crate::records::table::Column;
use crate::records::table::Kind;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;
use crate::records::words::Amount;
use crate::records::words::Caught;
use serde::Deserialize;
use serde::Serialize;

/// A pond; what is absent falls back to the farm's settings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pond {
    /// Name on the farm.
    pub name: String,
    /// How it is kept, such as earthen or lined.
    pub system: Option<String>,
    /// Area, square metres.
    pub area_m2: Option<f64>,
    /// Species, the second half of its scientific name.
    pub species: Option<String>,
    /// Time zone by its IANA name.
    pub time_zone: Option<String>,
    /// The soft share must stay below it, 0 to 1.
    pub soft_limit: Option<f64>,
    /// The moulting share must stay below it, 0 to 1.
    pub moulting_limit: Option<f64>,
    /// The share about to moult must stay below it, 0 to 1.
    pub due_limit: Option<f64>,
    /// Confidence of the tests, 0.5 to 1.
    pub confidence: Option<f64>,
    /// The pond's own length of the moult cycle, days.
    pub cycle_days: Option<f64>,
    /// The pond's own effect of 10 degrees on the pace.
    pub q10: Option<f64>,
    /// The pond's own spread of cycle lengths between animals.
    pub cycle_cv: Option<f64>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Pond {
    type Id = PondId;
    const TABLE: Table = Table {
        name: "pond",
        columns: &[
            Column::needed("name", Kind::Text),
            Column::optional("system", Kind::Text),
            Column::optional("area_m2", Kind::Real),
            Column::optional("species", Kind::Text),
            Column::optional("time_zone", Kind::Text),
            Column::optional("soft_limit", Kind::Real),
            Column::optional("moulting_limit", Kind::Real),
            Column::optional("due_limit", Kind::Real),
            Column::optional("confidence", Kind::Real),
            Column::optional("cycle_days", Kind::Real),
            Column::optional("q10", Kind::Real),
            Column::optional("cycle_cv", Kind::Real),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        check_pond(self)
    }
}

/// The animals netted from one pond at one time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sample {
    /// The pond.
    pub pond: PondId,
    /// When it was netted.
    pub netted: Stamp,
    /// How it was caught: net or feed_tray.
    pub catch: Caught,
    /// The net, in the farm's words.
    pub gear: Option<String>,
    /// Places netted at.
    pub stations: Option<i64>,
    /// Throws of the net.
    pub throws: Option<i64>,
    /// Animals that the plan asks for.
    pub animals_wanted: Option<i64>,
    /// Mean weight of an animal, grams.
    pub mean_weight_g: Option<f64>,
    /// Daily mean of the water, degrees Celsius.
    pub water_c: Option<f64>,
    /// Shed shells seen: none, few or many.
    pub shed_shells: Option<Amount>,
    /// Feed left: none, few or many.
    pub feed_left: Option<Amount>,
    /// Rain since the sample before.
    pub rain: bool,
    /// Lime since the sample before.
    pub lime: bool,
    /// Water changed since the sample before.
    pub water_change: bool,
    /// Planned start of the drain.
    pub harvest_start: Option<Stamp>,
    /// Planned length of the drain, hours.
    pub drain_hours: Option<f64>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Sample {
    type Id = SampleId;
    const TABLE: Table = Table {
        name: "sample",
        columns: &[
            Column::needed("pond", Kind::Link("pond")),
            Column::needed("netted", Kind::Stamp),
            Column::needed("catch", Kind::Text),
            Column::optional("gear", Kind::Text),
            Column::optional("stations", Kind::Whole),
            Column::optional("throws", Kind::Whole),
            Column::optional("animals_wanted", Kind::Whole),
            Column::optional("mean_weight_g", Kind::Real),
            Column::optional("water_c", Kind::Real),
            Column::optional("shed_shells", Kind::Text),
            Column::optional("feed_left", Kind::Text),
            Column::needed("rain", Kind::Flag),
            Column::needed("lime", Kind::Flag),
            Column::needed("water_change", Kind::Flag),
            Column::optional("harvest_start", Kind::Stamp),
            Column::optional("drain_hours", Kind::Real),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        check_sample(self)
    }
}

/// One shrimp of a sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Animal {
    /// The sample.
    pub sample: SampleId,
    /// Name or number within the sample.
    pub name: String,
    /// Where it stands in the tray, from 1.
    pub position: i64,
    /// Where it was netted.
    pub station: Option<String>,
    /// Which throw brought it up.
    pub throw: Option<i64>,
    /// The shell as felt: firm, soft or papery; empty when not felt.
    pub shell: Option<Shell>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Animal {
    type Id = AnimalId;
    const TABLE: Table = Table {
        name: "animal",
        columns: &[
            Column::needed("sample", Kind::Link("sample")),
            Column::needed("name", Kind::Text),
            Column::needed("position", Kind::Whole),
            Column::optional("station", Kind::Text),
            Column::optional("throw", Kind::Whole),
            Column::optional("shell", Kind::Text),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        named("name", &self.name)
    }
}

/// What the harvest showed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// The pond.
    pub pond: PondId,
    /// The sample that cleared it.
    pub sample: Option<SampleId>,
    /// Start of the harvest.
    pub harvested: Stamp,
    /// End of the harvest.
    pub ended: Option<Stamp>,
    /// Animals looked at.
    pub animals_checked: Option<i64>,
    /// Soft ones among them.
    pub soft_found: Option<i64>,
    /// Weight harvested, kilograms.
    pub harvest_kg: Option<f64>,
    /// Weight the buyer refused, kilograms.
    pub refused_kg: Option<f64>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Outcome {
    type Id = OutcomeId;
    const TABLE: Table = Table {
        name: "outcome",
        columns: &[
            Column::needed("pond", Kind::Link("pond")),
            Column::optional("sample", Kind::Link("sample")),
            Column::needed("harvested", Kind::Stamp),
            Column::optional("ended", Kind::Stamp),
            Column::optional("animals_checked", Kind::Whole),
            Column::optional("soft_found", Kind::Whole),
            Column::optional("harvest_kg", Kind::Real),
            Column::optional("refused_kg", Kind::Real),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        check_outcome(self)
    }
}

/// A verdict as it was given.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerdictGiven {
    /// The sample.
    pub sample: SampleId,
    /// within_limits, over_limits or too_few_animals.
    pub answer: String,
    /// The sentence that was shown.
    pub said: String,
    /// Start of the harvest it speaks of.
    pub harvest_start: Option<Stamp>,
    /// End of the harvest it speaks of.
    pub harvest_end: Option<Stamp>,
    /// When it expires.
    pub expires: Option<Stamp>,
    /// Numbers behind it.
    pub details: Option<serde_json::Value>,
    /// Version of the program.
    pub program: String,
}

impl Record for VerdictGiven {
    type Id = VerdictId;
    const TABLE: Table = Table {
        name: "verdict",
        columns: &[
            Column::needed("sample", Kind::Link("sample")),
            Column::needed("answer", Kind::Text),
            Column::needed("said", Kind::Text),
            Column::optional("harvest_start", Kind::Stamp),
            Column::optional("harvest_end", Kind::Stamp),
            Column::optional("expires", Kind::Stamp),
            Column::optional("details", Kind::Json),
            Column::needed("program", Kind::Text),
        ],
    };
}
