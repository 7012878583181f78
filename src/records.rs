//! Ids and plain rows: what is kept and exchanged, without a word of how.

pub mod decisions;
pub mod farm;
pub mod ids;
pub mod made;
pub mod measures;
pub mod pictures;
pub mod places;
pub mod rounds;
pub mod stamp;
pub mod table;
pub mod words;

use crate::measure::Refusal;
use crate::micrograph::scale::ScaleSource;
use crate::moult::Stage;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeMap;

/// One seta of a [`Reading`]; positions in pixels of the photo as displayed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetaReading {
    /// Base line, to the right.
    pub x: f64,
    /// Base line, down.
    pub y: f64,
    /// Edge of the epidermis in line with the seta, to the right.
    pub edge_x: Option<f64>,
    /// Edge of the epidermis in line with the seta, down.
    pub edge_y: Option<f64>,
    /// Gap in pixels.
    pub gap_px: Option<f64>,
    /// Gap in micrometres, where a scale is known.
    pub gap_um: Option<f64>,
    /// The stage of this seta by itself; not calibrated.
    pub stage: Option<Stage>,
}

/// A refusal with what the person at the bench can do about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SpokenRefusal {
    /// The code.
    pub reason: Refusal,
    /// The same in words.
    pub say: String,
}

/// A measure that moved the proposal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Because {
    /// Name of the measure.
    pub measure: String,
    /// Its value.
    pub value: f64,
    /// The stage it speaks for.
    pub toward: Stage,
    /// Its share of the evidence.
    pub weight: f64,
}

/// What the program read in one photo: the object that `tailfan read --jsonl` prints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The path as given, with `/`.
    pub file: String,
    /// Says whether it could be read.
    pub usable: bool,
    /// Why not, if not.
    pub refusals: Vec<SpokenRefusal>,
    /// Scale, in micrometres per pixel.
    pub um_per_px: Option<f64>,
    /// Where the scale came from.
    pub scale_source: ScaleSource,
    /// The setae, along the margin.
    pub setae: Vec<SetaReading>,
    /// Outer width of a seta at the base line, in pixels.
    pub base_width_px: Option<f64>,
    /// Distance from base to base along the margin, in pixels.
    pub spacing_px: Option<f64>,
    /// Gap in pixels, median over the setae.
    pub gap_px: Option<f64>,
    /// Gap in micrometres, where a scale is known.
    pub gap_um: Option<f64>,
    /// Gap in base widths.
    pub gap_base_widths: Option<f64>,
    /// Spread of the gap between setae, in base widths.
    pub gap_spread_base_widths: Option<f64>,
    /// Optical density of the pigment at the bases.
    pub base_pigment_od: Option<f64>,
    /// Optical density of the pigment up the lumen.
    pub lumen_pigment_od: Option<f64>,
    /// Pigment at the bases relative to the pigmented band of the epidermis.
    pub base_pigment: Option<f64>,
    /// Pigment up the lumen relative to the pigmented band of the epidermis.
    pub lumen_pigment: Option<f64>,
    /// Definition of the base line, 0 (none) to 1 (crisp).
    pub base_line: Option<f64>,
    /// Depth of the scallops, in base widths.
    pub scallop_base_widths: Option<f64>,
    /// New setae beneath the epidermis, 0 (none) to 1 (dense).
    pub new_setae: Option<f64>,
    /// Probability of each stage from A to D3.
    pub probabilities: Option<BTreeMap<Stage, f64>>,
    /// Share of the setae that stand at each stage by themselves.
    pub seta_stages: Option<BTreeMap<Stage, f64>>,
    /// The stage proposed; absent when refused or when the model cannot tell.
    pub proposal: Option<Stage>,
    /// Distance from what the model was trained on, divided by its limit.
    pub novelty: Option<f64>,
    /// Says whether a second reader should look.
    pub second_reader: bool,
    /// The measures that moved the proposal most.
    pub because: Vec<Because>,
    /// Name of the model.
    pub model: Option<String>,
    /// How long the reading took; only on request.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub elapsed_ms: Option<f64>,
}

impl Reading {
    /// A photo that was refused.
    pub fn refused(file: String, refusals: Vec<SpokenRefusal>) -> Self {
        Self {
            file,
            usable: false,
            refusals,
            um_per_px: None,
            scale_source: ScaleSource::None,
            setae: Vec::new(),
            base_width_px: None,
            spacing_px: None,
            gap_px: None,
            gap_um: None,
            gap_base_widths: None,
            gap_spread_base_widths: None,
            base_pigment_od: None,
            lumen_pigment_od: None,
            base_pigment: None,
            lumen_pigment: None,
            base_line: None,
            scallop_base_widths: None,
            new_setae: None,
            probabilities: None,
            seta_stages: None,
            proposal: None,
            novelty: None,
            second_reader: false,
            because: Vec::new(),
            model: None,
            elapsed_ms: None,
        }
    }
}
