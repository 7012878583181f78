//! What was measured in a photo, as it is kept: everything a model asks for, so that a photo need not
//! be measured again for another model.

use crate::geometry::Point;
use crate::measure::MEASURES;
use crate::measure::Measured;
use crate::measure::Measurements;
use crate::measure::Seta;
use crate::records::Reading;
use crate::records::SetaReading;
use crate::records::ids::MeasuresId;
use crate::records::ids::PhotoId;
use crate::records::ids::RowId;
use crate::records::table::Column;
use crate::records::table::Kind;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;
use crate::units::Pixels;
use serde::Deserialize;
use serde::Serialize;

/// Most setae of one photo that are taken from a file.
const MOST_SETAE: usize = 10_000;

/// The measures of one photo; lists in the order of [`MEASURES`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measures {
    /// Outer width of a seta at the base line, in pixels.
    pub base_width_px: f64,
    /// Distance from base to base along the margin, in pixels.
    pub spacing_px: f64,
    /// Value, spread between setae and number of setae of each measure.
    pub measures: Vec<Option<(f64, f64, usize)>>,
    /// The measures of each seta by itself, to seven digits: they are noisier than that.
    pub setae: Vec<Vec<Option<f32>>>,
}

impl Measures {
    /// What is to be kept of measurements.
    pub fn of(measurements: &Measurements) -> Self {
        let finite = |value: f64| Some(value).filter(|v| v.is_finite());
        Self {
            base_width_px: measurements.base_width.get(),
            spacing_px: measurements.spacing.get(),
            measures: measurements
                .measures
                .iter()
                .map(|measure| {
                    let of = (*measure)?;
                    Some((finite(of.value)?, finite(of.spread)?, of.support))
                })
                .collect(),
            setae: measurements
                .setae
                .iter()
                .map(|seta| {
                    let kept = |value: &Option<f64>| finite((*value)?).map(|v| v as f32);
                    seta.measures.iter().map(kept).collect()
                })
                .collect(),
        }
    }

    /// The measurements again; where the setae stand is taken from the reading they belong to, if
    /// one is given. Absent where the lists are not those of this program.
    pub fn measurements(&self, reading: Option<&Reading>) -> Option<Measurements> {
        self.is_sound().then_some(())?;
        let stand = |at: usize| reading?.setae.get(at);
        let setae = self.setae.iter().enumerate();
        Some(Measurements {
            setae: setae
                .map(|(at, measures)| seta(stand(at), measures))
                .collect(),
            base_width: Pixels::new(self.base_width_px),
            spacing: Pixels::new(self.spacing_px),
            measures: std::array::from_fn(|at| {
                let (value, spread, support) = (*self.measures.get(at)?)?;
                Some(Measured {
                    value,
                    spread,
                    support,
                })
            }),
            shafts: None,
        })
    }

    /// Whether the lists are as long as this program's and all numbers can be used.
    pub fn is_sound(&self) -> bool {
        let positive = |value: f64| value.is_finite() && value > 0.0;
        positive(self.base_width_px)
            && positive(self.spacing_px)
            && self.measures.len() == MEASURES.len()
            && self.setae.len() <= MOST_SETAE
            && self.setae.iter().all(|seta| seta.len() == MEASURES.len())
            && self
                .measures
                .iter()
                .flatten()
                .all(|(value, spread, _)| value.is_finite() && spread.is_finite())
            && self.setae.iter().flatten().flatten().all(|v| v.is_finite())
    }
}

fn seta(stands: Option<&SetaReading>, measures: &[Option<f32>]) -> Seta {
    let base = stands.map_or(Point::new(0.0, 0.0), |seta| Point::new(seta.x, seta.y));
    let edge = stands.and_then(|seta| Some(Point::new(seta.edge_x?, seta.edge_y?)));
    Seta {
        base,
        edge,
        gap: stands.and_then(|seta| seta.gap_px).map(Pixels::new),
        measures: std::array::from_fn(|at| measures.get(at).copied().flatten().map(f64::from)),
    }
}

/// The measures of a photo under one version of the measuring.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptMeasures {
    /// The photo.
    pub photo: PhotoId,
    /// The reading they belong to.
    pub reading: RowId,
    /// Version of the measuring.
    pub measuring_version: i64,
    /// The measures.
    pub measures: Measures,
}

impl Record for KeptMeasures {
    type Id = MeasuresId;
    const TABLE: Table = Table {
        name: "measures",
        columns: &[
            Column::needed("photo", Kind::Link("photo")),
            Column::needed("reading", Kind::Id),
            Column::needed("measuring_version", Kind::Whole),
            Column::needed("measures", Kind::Json),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        // Those of another version may have other lists; they are kept and never used.
        let positive = |value: f64| value.is_finite() && value > 0.0;
        if positive(self.measures.base_width_px) && positive(self.measures.spacing_px) {
            return Ok(());
        }
        Err(RowFault::Content(
            "measures without a base width or a spacing".to_owned(),
        ))
    }
}
