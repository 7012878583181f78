//! `tailfan read`: photos to readings.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::records::Reading;
use crate::texts;
use crate::texts::readings::length;
use crate::units::MicrometresPerPixel;
use crate::workflow::batch;
use crate::workflow::batch::Panicked;
use crate::workflow::collect;
use crate::workflow::collect::CollectError;
use crate::workflow::collect::FoundPhoto;
use crate::workflow::overlays::DrawnFiles;
use crate::workflow::overlays::OverlayFolder;
use crate::workflow::reading::PhotoReading;
use crate::workflow::reading::ReadOptions;
use crate::workflow::reading::load_model;
use std::path::PathBuf;

/// Read photos of uropod tips: one proposal or refusal for each
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Photos, or folders of photos
    #[arg(required = true, value_name = "PHOTO|FOLDER")]
    photos: Vec<PathBuf>,
    /// Micrometres per pixel, in place of what the photos state
    #[arg(long, value_name = "UM_PER_PX", value_parser = scale)]
    scale: Option<MicrometresPerPixel>,
    /// Print one JSON object a line
    #[arg(long)]
    jsonl: bool,
    /// Draw what was found: each photo with its overlay, and its margin straightened, into DIR
    #[arg(long, value_name = "DIR")]
    overlay: Option<PathBuf>,
    /// The model file that proposes; else the shipped model
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
    /// Say how long each photo took
    #[arg(long)]
    timing: bool,
}

fn scale(text: &str) -> Result<MicrometresPerPixel, String> {
    let value = text.parse().unwrap_or(f64::NAN);
    MicrometresPerPixel::new(value).map_err(|error| error.to_string())
}

/// What the lines add up to.
#[derive(Default)]
struct Sums {
    read: usize,
    refused: usize,
    cannot_tell: usize,
    second_reader: usize,
    failed: usize,
    overlays: usize,
}

pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let photos = collect::collect_photos(&args.photos).map_err(|error| {
        let hint = match &error {
            CollectError::Missing { .. } => "check the name and the folder you are in",
            CollectError::NoPhotos { .. } => {
                "name the folder that holds the photos themselves; folders below it are not searched"
            }
            _ => "ask whoever owns it for the right to read it",
        };
        Failure::from(error).hint(hint)
    })?;
    let options = ReadOptions {
        profile: None,
        scale: args.scale,
        timing: args.timing,
        model: Some(load_model(args.model.as_deref())?),
    };
    let width = photos
        .iter()
        .map(|photo| photo.given.chars().count())
        .max()
        .unwrap_or(0);
    let mut sums = Sums::default();
    output.begin(photos.len());
    match &args.overlay {
        None => batch::read_in_order(&photos, &options, |photo, read| {
            output.step();
            show(args, output, &mut sums, photo, read, width)
        })?,
        Some(into) => {
            let folder = OverlayFolder::prepare(into, &photos).map_err(|error| {
                Failure::from(error).hint("name a folder that you may write to")
            })?;
            batch::read_and_draw(&photos, &options, &folder, |photo, drawn| {
                output.step();
                let (read, files) = match drawn {
                    Ok((read, files)) => (Ok(read), files?),
                    Err(fault) => (Err(fault), DrawnFiles::default()),
                };
                sums.overlays += usize::from(files.overlay.is_some());
                show(args, output, &mut sums, photo, read, width)
            })?;
            output.say(&format!("{} overlays in {}", sums.overlays, into.display()))?;
            if folder.among_photos() {
                output.say(texts::readings::OVERLAYS_AMONG_PHOTOS)?;
            }
        }
    }
    if !args.jsonl {
        output.line(&summary(&sums))?;
        if sums.read > 0 {
            output.line(texts::readings::NO_REAL_MICROGRAPH)?;
        }
    }
    if sums.failed > 0 {
        return Err(Failure::misuse(
            "some photos were not read for a fault of the program",
            "the lines above name them; the others were read",
        ));
    }
    Ok(if sums.refused > 0 {
        Outcome::Refused
    } else {
        Outcome::Done
    })
}

/// Shows one reading, or that there is none for a fault of the program.
fn show(
    args: &Args,
    output: &mut Output,
    sums: &mut Sums,
    photo: &FoundPhoto,
    read: Result<PhotoReading, Panicked>,
    width: usize,
) -> Result<(), Failure> {
    let read = match read {
        Ok(read) => {
            count(sums, &read.reading);
            read
        }
        Err(fault) => {
            sums.failed += 1;
            let version = env!("CARGO_PKG_VERSION");
            let given = &photo.given;
            output.say(&format!(
                "error: {fault} (tailfan {version}), please report it: {given}"
            ))?;
            fault.in_place_of(photo)
        }
    };
    for warning in &read.scale_warnings {
        let words = texts::scales::warning(warning);
        output.say(&format!("warning: {words}: {}", photo.given))?;
    }
    if args.jsonl {
        output.json(&read.reading)
    } else {
        output.line(&row(&read.reading, width))
    }
}

fn count(sums: &mut Sums, reading: &Reading) {
    if reading.usable {
        sums.read += 1;
        sums.cannot_tell += usize::from(reading.proposal.is_none());
        sums.second_reader += usize::from(reading.second_reader);
    } else {
        sums.refused += 1;
    }
}

/// One photo as a row for people.
fn row(reading: &Reading, width: usize) -> String {
    let file = &reading.file;
    let mut cells = vec![format!("{file:width$}")];
    if !reading.usable {
        let why: Vec<&str> = reading
            .refusals
            .iter()
            .map(|refusal| refusal.say.as_str())
            .collect();
        cells.push(format!("refused: {}", why.join("; ")));
        return cells.join("  ");
    }
    match reading.proposal {
        Some(stage) => {
            let probability = reading
                .probabilities
                .as_ref()
                .and_then(|all| all.get(&stage))
                .map_or_else(|| " ".repeat(5), |p| format!("{:>3.0} %", 100.0 * p));
            cells.push(format!("{stage:<11}  {probability}"));
        }
        None => cells.push(format!("{:<11}  {:5}", "cannot tell", "")),
    }
    cells.push(format!("gap {:<9}", length(reading.gap_um, reading.gap_px)));
    cells.push(match reading.gap_base_widths {
        Some(gap) => format!("{gap:5.2} base widths"),
        None => " ".repeat(17),
    });
    let base_um = reading
        .base_width_px
        .zip(reading.um_per_px)
        .map(|(px, scale)| px * scale);
    cells.push(format!(
        "base {:<8}",
        length(base_um, reading.base_width_px)
    ));
    cells.push(format!(
        "{:13}",
        if reading.second_reader {
            "second reader"
        } else {
            ""
        }
    ));
    let because: Vec<&str> = reading
        .because
        .iter()
        .take(2)
        .map(|because| texts::readings::measure(&because.measure))
        .collect();
    if !because.is_empty() {
        cells.push(format!("by {}", because.join(" and ")));
    }
    if let Some(elapsed) = reading.elapsed_ms {
        cells.push(format!("{elapsed:.0} ms"));
    }
    cells.join("  ").trim_end().to_owned()
}

fn summary(sums: &Sums) -> String {
    let all = sums.read + sums.refused + sums.failed;
    let photos = if all == 1 { "photo" } else { "photos" };
    let mut parts = vec![
        format!("{} read", sums.read),
        format!("{} refused", sums.refused),
    ];
    for (count, words) in [
        (sums.cannot_tell, "where it cannot tell"),
        (sums.second_reader, "for a second reader"),
        (sums.failed, "failed"),
    ] {
        if count > 0 {
            parts.push(format!("{count} {words}"));
        }
    }
    format!("{all} {photos}: {}", parts.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moult::Stage;
    use crate::records::Because;

    fn reading() -> Reading {
        let mut reading = Reading::refused("tip-003.jpg".to_owned(), Vec::new());
        reading.usable = true;
        reading.base_width_px = Some(15.2);
        reading.gap_px = Some(21.1);
        reading.gap_base_widths = Some(1.39);
        reading.proposal = Some(Stage::D0);
        reading.probabilities = Some([(Stage::C, 0.05), (Stage::D0, 0.95)].into());
        reading.because = vec![Because {
            measure: "gap_base_widths".to_owned(),
            value: 1.39,
            toward: Stage::D0,
            weight: 0.4,
        }];
        reading
    }

    #[test]
    fn lengths_are_in_pixels_until_a_scale_is_known() {
        let mut reading = reading();
        let words = row(&reading, 14);
        let cells: Vec<&str> = words
            .split("  ")
            .map(str::trim)
            .filter(|c| !c.is_empty())
            .collect();
        let wanted = [
            "tip-003.jpg",
            "D0",
            "95 %",
            "gap 21.1 px",
            "1.39 base widths",
            "base 15.2 px",
            "by gap",
        ];
        assert_eq!(cells, wanted);
        reading.um_per_px = Some(0.98);
        reading.gap_um = Some(20.7);
        reading.second_reader = true;
        let words = row(&reading, 11);
        assert!(
            words.contains("gap 20.7 µm") && words.contains("base 14.9 µm"),
            "{words}"
        );
        assert!(words.contains("second reader  by gap"), "{words}");
        assert!(!words.contains("px"), "{words}");
    }

    #[test]
    fn what_the_model_cannot_tell_is_said_and_counted() {
        let mut reading = reading();
        reading.proposal = None;
        reading.second_reader = true;
        assert!(row(&reading, 11).contains("cannot tell"));
        let mut sums = Sums::default();
        count(&mut sums, &reading);
        assert_eq!(
            summary(&sums),
            "1 photo: 1 read, 0 refused, 1 where it cannot tell, 1 for a second reader"
        );
    }
}
