//! Photos, microscopes and readings.

use crate::micrograph::scale::ScaleSource;
use crate::records::Reading;
use crate::records::ids::AnimalId;
use crate::records::ids::MicroscopeId;
use crate::records::ids::PhotoId;
use crate::records::ids::ReadingId;
use crate::records::ids::RowId;
use crate::records::ids::SampleId;
use crate::records::made::check_microscope;
use crate::records::made::check_photo;
use crate::records::stamp::Stamp;
use crate::records::table::Column;
use crate::records::table::Kind;
use crate::records::table::Record;
use crate::records::table::RowFault;
use crate::records::table::Table;
use crate::records::words::Branch;
use crate::records::words::Keeping;
use crate::records::words::Mount;
use crate::records::words::Side;
use crate::records::words::Site;
use serde::Deserialize;
use serde::Serialize;

/// A camera on an objective, with the scale that a photo of a ruling gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Microscope {
    /// What the lab calls it.
    pub name: String,
    /// Camera.
    pub camera: Option<String>,
    /// Objective.
    pub objective: Option<String>,
    /// Micrometres per pixel at the camera's full size.
    pub um_per_px: f64,
    /// Standard error of the scale, micrometres per pixel.
    pub error_um_per_px: Option<f64>,
    /// Distance of two marks of the ruling, micrometres.
    pub division_um: Option<f64>,
    /// BLAKE3 hash of the photo of the ruling.
    pub photo_hash: Option<String>,
    /// When the ruling was photographed.
    pub calibrated: Option<Stamp>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Microscope {
    type Id = MicroscopeId;
    const TABLE: Table = Table {
        name: "microscope",
        columns: &[
            Column::needed("name", Kind::Text),
            Column::optional("camera", Kind::Text),
            Column::optional("objective", Kind::Text),
            Column::needed("um_per_px", Kind::Real),
            Column::optional("error_um_per_px", Kind::Real),
            Column::optional("division_um", Kind::Real),
            Column::optional("photo_hash", Kind::Text),
            Column::optional("calibrated", Kind::Stamp),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        check_microscope(self)
    }
}

/// A photo of a sample, and the animal it shows once one is assigned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Photo {
    /// The sample.
    pub sample: SampleId,
    /// The animal it shows; empty when none is assigned.
    pub animal: Option<AnimalId>,
    /// Order in which it came, from 1.
    pub position: i64,
    /// BLAKE3 hash of the file.
    pub hash: String,
    /// Name of the file as it came.
    pub name: String,
    /// Size of the file, bytes.
    pub bytes: i64,
    /// Width as displayed, pixels.
    pub width_px: Option<i64>,
    /// Height as displayed, pixels.
    pub height_px: Option<i64>,
    /// How it is kept: copied beside the logbook or linked where it lies.
    pub keeping: Keeping,
    /// Where a linked photo lies.
    pub link: Option<String>,
    /// Scale, micrometres per pixel.
    pub um_per_px: Option<f64>,
    /// Where the scale came from.
    pub scale_source: ScaleSource,
    /// The microscope profile, where it gave the scale.
    pub microscope: Option<MicroscopeId>,
    /// Branch of the uropod: inner or outer.
    pub branch: Option<Branch>,
    /// Side of the animal: left or right.
    pub side: Option<Side>,
    /// Part of the margin: near, middle or far from the body.
    pub site: Option<Site>,
    /// Tissue: live, clipped, frozen or preserved.
    pub mount: Option<Mount>,
    /// Minutes from clipping to the photo.
    pub minutes_since_clipping: Option<f64>,
    /// What else should be known.
    pub note: Option<String>,
}

impl Record for Photo {
    type Id = PhotoId;
    const TABLE: Table = Table {
        name: "photo",
        columns: &[
            Column::needed("sample", Kind::Link("sample")),
            Column::optional("animal", Kind::Link("animal")),
            Column::needed("position", Kind::Whole),
            Column::needed("hash", Kind::Text),
            Column::needed("name", Kind::Text),
            Column::needed("bytes", Kind::Whole),
            Column::optional("width_px", Kind::Whole),
            Column::optional("height_px", Kind::Whole),
            Column::needed("keeping", Kind::Text),
            Column::optional("link", Kind::Text),
            Column::optional("um_per_px", Kind::Real),
            Column::needed("scale_source", Kind::Text),
            Column::optional("microscope", Kind::Link("microscope")),
            Column::optional("branch", Kind::Text),
            Column::optional("side", Kind::Text),
            Column::optional("site", Kind::Text),
            Column::optional("mount", Kind::Text),
            Column::optional("minutes_since_clipping", Kind::Real),
            Column::optional("note", Kind::Text),
        ],
    };

    fn check(&self) -> Result<(), RowFault> {
        check_photo(self)
    }
}

/// A reading of a photo as it was made; a corrected one names what it is based on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeptReading {
    /// The photo.
    pub photo: PhotoId,
    /// The whole reading, as tailfan read --jsonl prints it.
    pub reading: Reading,
    /// Version of the program.
    pub program: String,
    /// Version of the measuring.
    pub measuring_version: i64,
    /// Name and hash of the model.
    pub model: Option<String>,
    /// The person who corrected it; empty when the program made it.
    pub author: Option<String>,
    /// The reading that was corrected.
    pub based_on: Option<RowId>,
}

impl Record for KeptReading {
    type Id = ReadingId;
    const TABLE: Table = Table {
        name: "reading",
        columns: &[
            Column::needed("photo", Kind::Link("photo")),
            Column::needed("reading", Kind::Json),
            Column::needed("program", Kind::Text),
            Column::needed("measuring_version", Kind::Whole),
            Column::optional("model", Kind::Text),
            Column::optional("author", Kind::Text),
            Column::optional("based_on", Kind::Id),
        ],
    };
}
