//! One photo, from the file to the reading.

use crate::margin::Tip;
use crate::measure::Measurements;
use crate::measure::Refusal;
use crate::measure::measure;
use crate::micrograph::decode;
use crate::micrograph::decode::DecodeError;
use crate::micrograph::decode::Limits;
use crate::micrograph::decode::Photo;
use crate::micrograph::scale::ScaleSource;
use crate::micrograph::scale::ScaleWarning;
use crate::records::Because;
use crate::records::Reading;
use crate::records::SetaReading;
use crate::records::SpokenRefusal;
use crate::records::measures::Measures;
use crate::stage::model::Model;
use crate::stage::model::ModelError;
use crate::stage::model::shipped;
use crate::stage::proposal::Proposal;
use crate::stage::proposal::propose;
use crate::texts;
use crate::units::MicrometresPerPixel;
use crate::units::Pixels;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

/// How photos are to be read.
#[derive(Debug, Clone, Default)]
pub struct ReadOptions {
    /// The scale, where the person at the bench gives one; else that of the metadata.
    pub scale: Option<MicrometresPerPixel>,
    /// The scale of the microscope profile, for photos whose metadata state none.
    pub profile: Option<MicrometresPerPixel>,
    /// Whether to say how long each reading took.
    pub timing: bool,
    /// The model that proposes; else the shipped one.
    pub model: Option<Arc<Model>>,
}

/// What reading one photo gave.
#[derive(Debug, Clone)]
pub struct PhotoReading {
    /// The reading, which may be a refusal.
    pub reading: Reading,
    /// What was wrong with the scale that the metadata state.
    pub scale_warnings: Vec<ScaleWarning>,
    /// The tip as found and what was measured on it; absent when refused.
    pub tip_and_measurements: Option<(Tip, Measurements)>,
}

/// The model of a file, or the shipped one.
///
/// # Errors
/// [`ModelError`] for a model that cannot be used with this program.
pub fn load_model(file: Option<&Path>) -> Result<Arc<Model>, ModelError> {
    file.map_or_else(shipped, |file| Ok(Arc::new(Model::load(file)?)))
}

/// Reads the photo at `path`, which the user gave as `given`.
pub fn read_photo(path: &Path, given: &str, options: &ReadOptions) -> PhotoReading {
    let begun = Instant::now();
    let mut read = match decode::decode_file(path, &Limits::default()) {
        Ok(photo) => read_decoded(&photo, given, options),
        Err(error) => PhotoReading {
            reading: Reading::refused(given.to_owned(), vec![refusal(&error)]),
            scale_warnings: Vec::new(),
            tip_and_measurements: None,
        },
    };
    if options.timing {
        read.reading.elapsed_ms = Some(begun.elapsed().as_secs_f64() * 1e3);
    }
    read
}

/// Reads a photo that is decoded already, which the user gave as `given`.
pub fn read_decoded(photo: &Photo, given: &str, options: &ReadOptions) -> PhotoReading {
    let measured = measure(&photo.micrograph);
    let measurements = measured.as_ref().map(|(_, measurements)| measurements);
    PhotoReading {
        reading: reading_of(
            photo,
            given,
            options,
            measurements.map_err(|reason| *reason),
        ),
        scale_warnings: photo.warnings.clone(),
        tip_and_measurements: measured.ok(),
    }
}

/// The reading of a photo with what was measured in it, or why it was refused.
pub fn reading_of(
    photo: &Photo,
    given: &str,
    options: &ReadOptions,
    measured: Result<&Measurements, Refusal>,
) -> Reading {
    let scale = options
        .scale
        .map(|scale| (scale, ScaleSource::Operator))
        .or_else(|| photo.scale.map(|scale| (scale.value, scale.source)))
        .or_else(|| options.profile.map(|scale| (scale, ScaleSource::Profile)));
    let mut reading = match measured {
        Ok(measurements) => {
            let model = options.model.clone().or_else(|| shipped().ok());
            let mut reading = measured_reading(given, measurements, scale.map(|s| s.0));
            if let Some(model) = model {
                add_proposal(&mut reading, propose(&model, measurements), &model);
            }
            reading
        }
        Err(reason) => {
            let refusal = SpokenRefusal {
                reason,
                say: texts::refusals::say(reason),
            };
            Reading::refused(given.to_owned(), vec![refusal])
        }
    };
    if let Some((scale, source)) = scale {
        reading.um_per_px = Some(scale.get());
        reading.scale_source = source;
    }
    reading
}

/// What was measured, without a proposal.
fn measured_reading(
    given: &str,
    measurements: &Measurements,
    scale: Option<MicrometresPerPixel>,
) -> Reading {
    let um = |px: f64| scale.map(|scale| px * scale.get());
    let of = |name: &str| measurements.measure(name).map(|m| m.value);
    let gap = measurements.measure("gap_base_widths");
    let gap_px = gap.map(|gap| gap.value * measurements.base_width.get());
    let setae = measurements
        .setae
        .iter()
        .map(|seta| SetaReading {
            x: seta.base.x,
            y: seta.base.y,
            edge_x: seta.edge.map(|edge| edge.x),
            edge_y: seta.edge.map(|edge| edge.y),
            gap_px: seta.gap.map(Pixels::get),
            gap_um: seta.gap.and_then(|gap| um(gap.get())),
            stage: None,
        })
        .collect();
    Reading {
        usable: true,
        setae,
        base_width_px: Some(measurements.base_width.get()),
        spacing_px: Some(measurements.spacing.get()),
        gap_px,
        gap_um: gap_px.and_then(um),
        gap_base_widths: gap.map(|gap| gap.value),
        gap_spread_base_widths: gap.map(|gap| gap.spread),
        base_pigment_od: of("base_pigment_od"),
        lumen_pigment_od: of("lumen_pigment_od"),
        base_pigment: of("base_pigment"),
        lumen_pigment: of("lumen_pigment"),
        base_line: of("base_line").map(|line| line.clamp(0.0, 1.0)),
        scallop_base_widths: of("scallop_base_widths").map(|depth| depth.max(0.0)),
        new_setae: of("new_setae").map(|amount| amount.clamp(0.0, 1.0)),
        ..Reading::refused(given.to_owned(), Vec::new())
    }
}

/// A reading as it was, with what another model makes of its measures; absent where the measures are
/// not those of this program.
pub fn proposed_again(reading: &Reading, measures: &Measures, model: &Model) -> Option<Reading> {
    let measurements = measures.measurements(Some(reading))?;
    let mut again = Reading {
        elapsed_ms: None,
        ..reading.clone()
    };
    add_proposal(&mut again, propose(model, &measurements), model);
    Some(again)
}

fn add_proposal(reading: &mut Reading, proposal: Proposal, model: &Model) {
    for (seta, stage) in reading.setae.iter_mut().zip(&proposal.setae) {
        seta.stage = *stage;
    }
    reading.probabilities = Some(proposal.probabilities);
    reading.seta_stages = Some(proposal.seta_stages);
    reading.proposal = proposal.proposal;
    reading.novelty = Some(proposal.novelty);
    reading.second_reader = proposal.second_reader;
    reading.because = proposal
        .because
        .into_iter()
        .map(|reason| Because {
            measure: reason.measure.to_owned(),
            value: reason.value,
            toward: reason.toward,
            weight: reason.weight,
        })
        .collect();
    reading.model = Some(model.id());
}

/// The refusal of a photo that could not be decoded.
pub fn refusal(error: &DecodeError) -> SpokenRefusal {
    let reason = match error {
        DecodeError::FileTooLarge { .. }
        | DecodeError::TooManyPixels { .. }
        | DecodeError::TooMuchMemory { .. } => Refusal::TooLarge,
        DecodeError::TooSmall { .. } => Refusal::TooSmall,
        _ => Refusal::CannotDecode,
    };
    SpokenRefusal {
        reason,
        say: texts::photos::say(error),
    }
}
