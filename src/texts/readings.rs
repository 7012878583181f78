//! Words of a reading.

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
