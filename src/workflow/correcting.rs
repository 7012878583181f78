//! A reading in which a person corrected what was measured; the proposal follows.

use crate::geometry::Point;
use crate::measure::by_hand::with_row_moved;
use crate::measure::measure;
use crate::micrograph::decode;
use crate::micrograph::decode::Limits;
use crate::records::Reading;
use crate::records::measures::Measures;
use crate::texts;
use crate::units::Pixels;
use crate::workflow::reading::ReadOptions;
use crate::workflow::reading::reading_of;
use std::path::Path;

/// What a person corrected; lengths in pixels of the photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Correction {
    /// The row of bases lies so much further inwards; everything is measured from there.
    Row(Pixels),
    /// The edge of the epidermis lies so much further inwards.
    Edge(Pixels),
    /// One gap, from the base line to the edge.
    Gap {
        /// Where it begins.
        base: Point,
        /// Where it ends.
        edge: Point,
    },
}

/// Reads a photo with the corrections of a person, rows before edges before gaps.
///
/// # Errors
/// Words on why there is nothing to correct.
pub fn read_corrected(
    path: &Path,
    given: &str,
    options: &ReadOptions,
    corrections: &[Correction],
) -> Result<(Reading, Measures), String> {
    let photo = decode::decode_file(path, &Limits::default());
    let photo = photo.map_err(|error| texts::photos::say(&error))?;
    let found = measure(&photo.micrograph).map_err(texts::refusals::say)?;
    let (tip, mut measurements) = found;
    let row: f64 = corrections
        .iter()
        .filter_map(|c| match c {
            Correction::Row(by) => Some(by.get()),
            _ => None,
        })
        .sum();
    if row.abs() > 0.0 {
        measurements = with_row_moved(&photo.micrograph, &tip, Pixels::new(row)).1;
    }
    for correction in corrections {
        if let Correction::Edge(by) = correction {
            measurements = measurements.with_edge_moved(*by);
        }
    }
    for correction in corrections {
        if let Correction::Gap { base, edge } = correction {
            measurements = measurements.with_gap_drawn(*base, *edge);
        }
    }
    let reading = reading_of(&photo, given, options, Ok(&measurements));
    Ok((reading, Measures::of(&measurements)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The painted tip of animal S05 stands at D0; a gap made wider by hand moves on in the cycle.
    #[test]
    fn the_proposal_follows_a_corrected_edge() {
        let photo = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-images/tip-05.jpg");
        let options = ReadOptions::default();
        let read = |corrections: &[Correction]| {
            read_corrected(&photo, "tip-05.jpg", &options, corrections)
                .unwrap()
                .0
        };
        let plain = read(&[]);
        let width = plain.base_width_px.unwrap();
        let wider = read(&[Correction::Edge(Pixels::new(4.0 * width))]);
        let gaps = [&plain, &wider].map(|reading| reading.gap_base_widths.unwrap());
        assert!((gaps[1] - gaps[0] - 4.0).abs() < 0.05, "{gaps:?}");
        let phase = |reading: &Reading| -> f64 {
            let p = reading.probabilities.clone().unwrap();
            p.iter().map(|(stage, p)| stage.index() as f64 * p).sum()
        };
        assert!(phase(&wider) > phase(&plain) + 0.5);
        let moved = read(&[Correction::Row(Pixels::new(-width))]);
        assert!(moved.gap_base_widths.unwrap() > gaps[0] + 0.5);
    }
}
