//! The sizes that an OME-XML description states for the first image of its file.

use roxmltree::Document;
use roxmltree::Node;

/// A stated length: a number and the unit as written.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::micrograph) struct StatedLength {
    /// The number.
    pub(in crate::micrograph) value: f64,
    /// The unit as written; micrometres when none is.
    pub(in crate::micrograph) unit: String,
}

/// What the first `Pixels` element says.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::micrograph) struct OmePixels {
    /// Size of a pixel along a row.
    pub(in crate::micrograph) x: Option<StatedLength>,
    /// Size of a pixel along a column.
    pub(in crate::micrograph) y: Option<StatedLength>,
    /// How many bits of each sample the camera filled.
    pub(in crate::micrograph) significant_bits: Option<u32>,
}

/// Reads the first `Pixels` element of an OME-XML document; `None` when the text is none.
///
/// # Source
/// OME-XML schema: `PhysicalSizeX`, `PhysicalSizeXUnit` (default µm), `SignificantBits`.
pub(in crate::micrograph) fn pixels(description: &str) -> Option<OmePixels> {
    let start = description.find('<')?;
    if !description.contains("OME") {
        return None;
    }
    let document = Document::parse(&description[start..]).ok()?;
    let element = document
        .descendants()
        .find(|node| node.tag_name().name() == "Pixels")?;
    Some(OmePixels {
        x: length(element, "PhysicalSizeX", "PhysicalSizeXUnit"),
        y: length(element, "PhysicalSizeY", "PhysicalSizeYUnit"),
        significant_bits: element
            .attribute("SignificantBits")
            .and_then(|bits| bits.parse().ok()),
    })
}

fn length(element: Node<'_, '_>, size: &str, unit: &str) -> Option<StatedLength> {
    Some(StatedLength {
        value: element.attribute(size)?.trim().parse().ok()?,
        unit: element.attribute(unit).unwrap_or("µm").to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_image_counts_and_entities_are_read() {
        let text = r#"<?xml version="1.0"?><OME xmlns="http://www.openmicroscopy.org/Schemas/OME/2016-06">
            <Image><Pixels PhysicalSizeX="0.5" PhysicalSizeXUnit="&#181;m" SignificantBits="12"/></Image>
            <Image><Pixels PhysicalSizeX="9"/></Image></OME>"#;
        let found = pixels(text).unwrap();
        assert_eq!(found.x.unwrap().unit, "µm");
        assert_eq!(found.significant_bits, Some(12));
        assert_eq!(pixels("ImageJ=1.11a\nunit=um"), None);
        assert_eq!(pixels("<OME><Image>"), None);
        // Deep nesting must neither exhaust the stack nor be believed.
        assert_eq!(pixels(&format!("<OME>{}", "<a>".repeat(1_000_000))), None);
    }
}
