//! Words of a reading.

use crate::moult::Stage;
use crate::records::Reading;
use crate::texts;

/// A measure of the reading in words; a name that is not known stays as it is.
pub fn measure(name: &str) -> &str {
    match name {
        "gap_base_widths" => "gap",
        "gap_spread_base_widths" => "spread of the gap",
        "base_pigment" | "base_pigment_od" | "base_fill" => "pigment in the bases",
        "lumen_pigment" | "lumen_pigment_od" | "lumen_fill" => "pigment up the shafts",
        "base_hue" => "colour of the bases",
        "lumen_hue" => "colour of the shafts",
        "cones" => "cones at the base line",
        "edge_step" => "edge of the epidermis",
        "row_step" => "step at the bases",
        "new_tips" => "tips of new setae",
        "base_line" => "base line",
        "scallop_base_widths" => "scallops",
        "new_setae" => "new setae",
        other => other,
    }
}

/// The one sentence that stands wherever the shipped model is spoken of.
pub const NO_REAL_MICROGRAPH: &str =
    "No real micrograph has tested the shipped model: it was trained on painted pictures only.";

/// What a blue mark on a picture is.
pub const BASES: &str = "bases of the setae";

/// What an orange line on a picture is.
pub const EPIDERMIS: &str = "edge of the epidermis";

/// Said when overlays are written into the folder of the photos.
pub const OVERLAYS_AMONG_PHOTOS: &str = "warning: the overlays lie among the photos and would be \
     read as photos when the folder is read again; name another folder for them";

/// A length in micrometres where a scale is known, else in pixels.
pub fn length(um: Option<f64>, px: Option<f64>) -> String {
    match (um, px) {
        (Some(um), _) => format!("{um:.1} µm"),
        (None, Some(px)) => format!("{px:.1} px"),
        (None, None) => "-".to_owned(),
    }
}

/// The stage proposed with its probability, that the model cannot tell, or why it was refused.
pub fn answer(reading: &Reading) -> String {
    if !reading.usable {
        let why: Vec<&str> = reading.refusals.iter().map(|r| r.say.as_str()).collect();
        return format!("refused: {}", why.join("; "));
    }
    let proposal = match reading.proposal {
        Some(_) => format!("proposal {}", proposal(reading)),
        None => "cannot tell the stage".to_owned(),
    };
    if reading.second_reader {
        format!("{proposal}; for a {SECOND_READER}")
    } else {
        proposal
    }
}

/// The stage proposed with its probability, or that the model cannot tell.
pub fn proposal(reading: &Reading) -> String {
    match reading.proposal {
        Some(stage) => match probability(reading, stage) {
            Some(p) => format!("{stage}, {:.0} %", 100.0 * p),
            None => stage.to_string(),
        },
        None => "cannot tell".to_owned(),
    }
}

/// The mark of a reading that another reader should look at.
pub const SECOND_READER: &str = "second reader";

fn probability(reading: &Reading, stage: Stage) -> Option<f64> {
    reading.probabilities.as_ref()?.get(&stage).copied()
}

/// The gap with its unit and in base widths.
pub fn gap(reading: &Reading) -> String {
    let gap = length(reading.gap_um, reading.gap_px);
    match reading.gap_base_widths {
        Some(widths) => format!("gap {gap} = {widths:.2} base widths"),
        None => format!("gap {gap}"),
    }
}

/// The scale and where it came from.
pub fn scale(reading: &Reading) -> String {
    match reading.um_per_px {
        Some(scale) => format!(
            "scale {scale:.3} µm/px, from {}",
            texts::scales::source(reading.scale_source)
        ),
        None => "no scale known: lengths in pixels".to_owned(),
    }
}

/// A bar of a round length: how many pixels it is long, at most about `longest`, and its words;
/// micrometres where a scale is known, else base widths. `None` when neither is known.
pub fn bar(reading: &Reading, longest: f64) -> Option<(f64, String)> {
    const ROUND: [f64; 10] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];
    let (unit_px, unit) = match (reading.um_per_px, reading.base_width_px) {
        (Some(um), _) => (1.0 / um, "µm"),
        (None, Some(px)) => (px, "base widths"),
        (None, None) => return None,
    };
    let length = ROUND
        .into_iter()
        .rev()
        .find(|length| length * unit_px <= longest)?;
    Some((length * unit_px, format!("{length} {unit}")))
}
