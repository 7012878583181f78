//! Photos whose stage is known, from folders, tables of labels or the painter, measured.

use crate::exchange::labels::LabelLine;
use crate::exchange::labels::LabelsError;
use crate::exchange::labels::read_labels;
use crate::exchange::truth::Shown;
use crate::exchange::truth::TruthError;
use crate::exchange::truth::TruthLine;
use crate::exchange::truth::read_truth;
use crate::measure::Measurements;
use crate::measure::Refusal;
use crate::measure::measure;
use crate::micrograph::decode;
use crate::micrograph::decode::Limits;
use crate::micrograph::encode::EncodeError;
use crate::micrograph::encode::encode_jpeg;
use crate::micrograph::encode::encode_png;
use crate::moult::Stage;
use crate::painter::camera::Encoder;
use crate::painter::condition::Condition;
use crate::painter::negatives::Negative;
use crate::painter::negatives::draw_negative;
use crate::painter::paint;
use crate::painter::population::draw_between;
use crate::painter::population::draw_scene;
use crate::painter::scene::Scene;
use crate::painter::truth::Truth as PaintedTruth;
use crate::progress::Progress;
use crate::progress::Stopped;
use crate::stage::evaluation::BASE_REACH_UM;
use crate::stage::evaluation::Lengths;
use crate::stage::evaluation::Truth;
use crate::stage::evaluation::match_bases;
use crate::workflow::batch::Panicked;
use crate::workflow::batch::in_order;
use crate::workflow::reading;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// A photo whose stage is known.
#[derive(Debug, Clone)]
pub struct Slide {
    /// What is true.
    pub truth: Truth,
    /// The condition, look or pond it belongs to.
    pub condition: String,
    /// The animal, by a name that no other has.
    pub animal: String,
    /// What is known of lengths and positions.
    pub lengths: Option<TrueLengths>,
    source: Source,
}

/// True lengths of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueLengths {
    /// Micrometres per pixel.
    pub um_per_px: f64,
    /// Median gap.
    pub gap_um: f64,
    /// Median base width.
    pub base_width_um: f64,
    /// Every base line in view, in pixels.
    pub bases_px: Vec<[f64; 2]>,
}

#[derive(Debug, Clone)]
enum Source {
    File(PathBuf),
    Painted {
        subject: Subject,
        condition: Condition,
        seed: u64,
    },
}

#[derive(Debug, Clone, Copy)]
enum Subject {
    Stage(Stage),
    Between(Stage),
    Negative(Negative),
}

/// A slide with what measuring it gave.
#[derive(Debug, Clone)]
pub struct MeasuredSlide {
    /// What is true.
    pub truth: Truth,
    /// The condition, look or pond.
    pub condition: String,
    /// The animal.
    pub animal: String,
    /// True lengths, where known.
    pub lengths: Option<TrueLengths>,
    /// The measurements, or why there are none.
    pub outcome: Result<Measurements, Refusal>,
}

impl MeasuredSlide {
    /// How the bases and lengths found compare with the true ones, where both are known.
    pub fn compared(&self) -> Option<Lengths> {
        let truth = self.lengths.as_ref()?;
        let measurements = self.outcome.as_ref().ok()?;
        let scale = truth.um_per_px;
        let found: Vec<[f64; 2]> = measurements
            .setae
            .iter()
            .map(|seta| [seta.base.x, seta.base.y])
            .collect();
        let width = measurements.base_width.get();
        let gap = measurements.measure("gap_base_widths");
        let near = |reach_um: f64| match_bases(&truth.bases_px, &found, reach_um / scale);
        let base_width_error = Some((width * scale / truth.base_width_um - 1.0).abs())
            .filter(|error| error.is_finite());
        let on_the_row = near(BASE_REACH_UM.max(0.5 * truth.base_width_um));
        Some(Lengths {
            bases: truth.bases_px.len(),
            found: found.len(),
            matched: near(BASE_REACH_UM),
            gap_error_um: gap.map(|gap| (gap.value * width * scale - truth.gap_um).abs()),
            base_width_error,
            misread: 2 * on_the_row < found.len()
                || base_width_error.is_none_or(|error| error > MISREAD_WIDTH),
        })
    }
}

/// Error of the base width from which on a photo counts as misread, as a part of the true width.
const MISREAD_WIDTH: f64 = 0.35;

/// Why labelled photos could not be had.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LabelledError {
    /// The truth of a folder cannot be used.
    #[error(transparent)]
    Truth(#[from] TruthError),
    /// A table of labels cannot be used.
    #[error(transparent)]
    Labels(#[from] LabelsError),
    /// A photo that is named is not there.
    #[error("a labelled photo is not there; put it beside its labels, or delete its line: {}", path.display())]
    NoPhoto {
        /// Where it should be.
        path: PathBuf,
    },
    /// A painted picture could not be encoded.
    #[error("a painted picture cannot be encoded")]
    Encode(#[from] EncodeError),
    /// A photo on which the program failed.
    #[error("measuring a labelled photo: {0}; please report it")]
    Panicked(#[from] Panicked),
    /// It was stopped.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// Finds the labelled photos that the arguments name: folders with `truth.jsonl`, and tables of
/// labels.
///
/// # Errors
/// [`LabelledError`] for the first argument that cannot be used.
pub fn collect_slides(arguments: &[PathBuf]) -> Result<Vec<Slide>, LabelledError> {
    let mut slides = Vec::new();
    for path in arguments {
        if path.is_dir() {
            let truth = read_truth(path)?;
            slides.extend(truth.iter().map(|line| of_truth(path, line)));
        } else {
            let labels = read_labels(path)?;
            slides.extend(labels.iter().map(|line| of_label(path, line)));
        }
    }
    for slide in &slides {
        if let Source::File(path) = &slide.source
            && !path.is_file()
        {
            return Err(LabelledError::NoPhoto { path: path.clone() });
        }
    }
    Ok(slides)
}

/// The slides that the painter makes for training: `per_stage` of each stage under every condition,
/// twice as many under standard ones and four times as many where all is mixed, a third as many
/// between stages, and every kind of picture without a tip.
pub fn painted_slides(per_stage: usize, seed: u64) -> Vec<Slide> {
    let mut wanted = Vec::new();
    for condition in Condition::ALL {
        let times = match condition {
            Condition::Any => 4,
            Condition::Standard => 2,
            _ => 1,
        };
        for stage in Stage::PROPOSED {
            for _ in 0..per_stage * times {
                wanted.push((Subject::Stage(stage), condition));
            }
        }
        for stage in &Stage::PROPOSED[..Stage::PROPOSED.len() - 1] {
            for _ in 0..(per_stage * times).div_ceil(3) {
                wanted.push((Subject::Between(*stage), condition));
            }
        }
    }
    for kind in Negative::ALL {
        for _ in 0..per_stage.div_ceil(2) {
            wanted.push((Subject::Negative(kind), Condition::Any));
        }
    }
    // Far from the small seeds that a person would give `paint`: what is scored is not trained on.
    let first = seed.wrapping_add(1).wrapping_mul(0x0100_0000_0001);
    wanted
        .into_iter()
        .zip(0..)
        .map(|((subject, condition), at)| painted_slide(subject, condition, first.wrapping_add(at)))
        .collect()
}

/// Measures slides on all processors; `step` is called on this thread after each.
///
/// # Errors
/// [`LabelledError`] when a picture cannot be encoded, the program fails on one, or it was stopped.
pub fn measure_slides(
    slides: &[Slide],
    progress: &Progress,
    mut step: impl FnMut(),
) -> Result<Vec<MeasuredSlide>, LabelledError> {
    progress.begin(slides.len());
    let mut measured = Vec::with_capacity(slides.len());
    in_order(slides, measured_slide, |_, done| {
        measured.push(done??);
        step();
        progress.step()?;
        Ok(())
    })
    .map(|()| measured)
}

fn of_truth(folder: &Path, line: &TruthLine) -> Slide {
    let truth = match line.shown() {
        Some(Shown::Stage(stage)) => Truth::Stage {
            stage,
            clear: !line.ambiguous && !line.out_of_step,
        },
        Some(Shown::Between(stage, _)) => Truth::Between { stage },
        Some(Shown::NoTip) | None => Truth::NoTip,
    };
    let path = folder.join(&line.file);
    let lengths = || {
        Some(TrueLengths {
            um_per_px: line.umpx.filter(|s| *s > 0.0)?,
            gap_um: line.gap_um?,
            base_width_um: line.seta_width_um.filter(|w| *w > 0.0)?,
            bases_px: line.setae.iter().map(|s| [s[0], s[1]]).collect(),
        })
    };
    Slide {
        truth,
        condition: line.condition().to_owned(),
        animal: line
            .animal
            .clone()
            .unwrap_or_else(|| path.display().to_string()),
        lengths: lengths(),
        source: Source::File(path),
    }
}

fn of_label(file: &Path, line: &LabelLine) -> Slide {
    let pond = if line.pond.is_empty() {
        file.display().to_string()
    } else {
        line.pond.clone()
    };
    Slide {
        truth: Truth::Stage {
            stage: line.stage,
            clear: true,
        },
        animal: format!("{pond} {}", line.animal),
        condition: pond,
        lengths: None,
        source: Source::File(line.path.clone()),
    }
}

fn painted_slide(subject: Subject, condition: Condition, seed: u64) -> Slide {
    Slide {
        // The truth is known once the scene is drawn, which is done where it is painted.
        truth: Truth::NoTip,
        condition: condition.name().to_owned(),
        animal: format!("{subject:?} {condition} {seed}"),
        lengths: None,
        source: Source::Painted {
            subject,
            condition,
            seed,
        },
    }
}

fn measured_slide(slide: &Slide) -> Result<MeasuredSlide, LabelledError> {
    let done = |truth: Truth, lengths: Option<TrueLengths>, outcome| MeasuredSlide {
        truth,
        condition: slide.condition.clone(),
        animal: slide.animal.clone(),
        lengths,
        outcome,
    };
    match &slide.source {
        Source::File(path) => {
            let photo = decode::decode_file(path, &Limits::default());
            let outcome = photo
                .map_err(|error| reading::refusal(&error).reason)
                .and_then(|photo| Ok(measure(&photo.micrograph)?.1));
            Ok(done(slide.truth, slide.lengths.clone(), outcome))
        }
        Source::Painted {
            subject,
            condition,
            seed,
        } => {
            let scene = draw(*subject, *condition, *seed);
            let painted = paint(&scene);
            let bytes = match scene.camera.encoder {
                Encoder::Jpeg(quality) => encode_jpeg(&painted.picture, quality)?,
                Encoder::Png => encode_png(&painted.picture)?,
            };
            let outcome = decode::decode_bytes(&bytes, &Limits::default())
                .map_err(|error| reading::refusal(&error).reason)
                .and_then(|photo| Ok(measure(&photo.micrograph)?.1));
            let truth = of_painted(*subject, &painted.truth);
            Ok(done(truth, lengths_of_painted(&painted.truth), outcome))
        }
    }
}

fn draw(subject: Subject, condition: Condition, seed: u64) -> Scene {
    match subject {
        Subject::Stage(stage) => draw_scene(stage, condition, seed),
        Subject::Between(stage) => draw_between(stage, condition, seed),
        Subject::Negative(kind) => draw_negative(kind, condition, seed),
    }
}

fn of_painted(subject: Subject, truth: &PaintedTruth) -> Truth {
    match subject {
        Subject::Stage(stage) => Truth::Stage {
            stage,
            clear: !truth.ambiguous && !truth.out_of_step,
        },
        Subject::Between(stage) => Truth::Between { stage },
        Subject::Negative(_) => Truth::NoTip,
    }
}

fn lengths_of_painted(truth: &PaintedTruth) -> Option<TrueLengths> {
    let tip = truth.tip.as_ref()?;
    Some(TrueLengths {
        um_per_px: truth.umpx,
        gap_um: tip.gap_um,
        base_width_um: tip.seta_width_um,
        bases_px: tip.setae.iter().map(|s| [s[0], s[1]]).collect(),
    })
}
