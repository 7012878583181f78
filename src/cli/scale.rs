//! `tailfan scale`: micrometres per pixel from a photo of a ruling.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::texts;
use crate::units::Micrometres;
use crate::workflow::scaling;
use crate::workflow::scaling::Calibration;
use crate::workflow::scaling::CalibrationError;
use serde::Serialize;
use std::path::PathBuf;

/// Measure a photo of a stage-micrometer ruling: micrometres per pixel
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Photo of the ruling, its marks filling the picture at any angle
    ruling: PathBuf,
    /// Length of one division of the ruling, in micrometres (often 10)
    #[arg(long, value_name = "UM", value_parser = division)]
    division: Micrometres,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
}

fn division(text: &str) -> Result<Micrometres, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Ok(Micrometres::new(value)),
        _ => Err("a division is a number of micrometres above 0".to_owned()),
    }
}

/// The calibration as printed with `--json`.
#[derive(Serialize)]
struct Printed {
    um_per_px: f64,
    error_um_per_px: f64,
    division_um: f64,
    period_px: f64,
    period_error_px: f64,
    angle_degrees: f64,
    marks: usize,
}

pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let path = args.ruling.display();
    let measured = scaling::calibrate(&args.ruling, args.division).map_err(|error| {
        let hint = match &error {
            CalibrationError::Decode(error) => texts::photos::remedy(error),
            _ => "give the length of one division in micrometres",
        };
        Failure::from(error).at(&args.ruling).hint(hint)
    })?;
    let calibration = match measured {
        Ok(calibration) => calibration,
        Err(reason) => {
            let remedy = texts::scales::no_ruling_remedy(&reason);
            output.say(&format!("refused: {reason}: {path}\nhint: {remedy}"))?;
            return Ok(Outcome::Refused);
        }
    };
    if !calibration.plausible {
        output.say(&format!(
            "warning: no microscope has {}: is one division really {}?",
            calibration.scale.value, args.division
        ))?;
    }
    if args.json {
        output.json(&printed(&calibration, args.division))?;
    } else {
        for line in words(&calibration, args.division) {
            output.line(&line)?;
        }
    }
    Ok(Outcome::Done)
}

fn printed(calibration: &Calibration, division: Micrometres) -> Printed {
    let ruling = &calibration.ruling;
    Printed {
        um_per_px: calibration.scale.value.get(),
        error_um_per_px: calibration.scale.error_um_per_px,
        division_um: division.get(),
        period_px: ruling.period.get(),
        period_error_px: ruling.period_error.get(),
        angle_degrees: ruling.angle_degrees,
        marks: ruling.marks,
    }
}

fn words(calibration: &Calibration, division: Micrometres) -> Vec<String> {
    let ruling = &calibration.ruling;
    let scale = calibration.scale.value.get();
    let error = 100.0 * calibration.scale.error_um_per_px / scale;
    vec![
        format!(
            "{scale:.5} µm per pixel (standard error {error:.4} %): {} marks {:.3} px apart, {} each",
            ruling.marks,
            ruling.period.get(),
            division
        ),
        texts::scales::AFTER_A_RULING.to_owned(),
        format!("Use it so: tailfan read PHOTO... --scale {scale:.5}"),
    ]
}
