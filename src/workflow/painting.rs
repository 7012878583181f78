//! Paints folders of synthetic micrographs with their truth.

use crate::micrograph::encode::EncodeError;
use crate::micrograph::encode::encode_jpeg;
use crate::micrograph::encode::encode_png;
use crate::moult::Shell;
use crate::moult::Stage;
use crate::painter::camera::Encoder;
use crate::painter::condition::Condition;
use crate::painter::condition::UnknownCondition;
use crate::painter::morning::Netted;
use crate::painter::morning::draw_morning;
use crate::painter::negatives::Negative;
use crate::painter::negatives::draw_negative;
use crate::painter::paint;
use crate::painter::population::draw_between;
use crate::painter::population::draw_scene;
use crate::painter::scene::Scene;
use crate::painter::truth::Truth;
use crate::progress::Progress;
use crate::progress::Stopped;
use rayon::prelude::*;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// How many pictures of which kind to paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Order {
    /// Tips of each stage.
    pub per_stage: usize,
    /// Tips between each pair of neighbouring stages.
    pub between: usize,
    /// Pictures without a readable tip.
    pub negatives: usize,
    /// The condition.
    pub condition: Condition,
    /// The seed of the first picture.
    pub seed: u64,
}

/// Why a folder could not be painted.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PaintError {
    /// The folder or a file could not be written.
    #[error("{path} cannot be written: choose a folder that you may write to")]
    Write {
        /// What was to be written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A picture could not be encoded.
    #[error("a painted picture cannot be encoded")]
    Encode(#[from] EncodeError),
    /// A truth could not be written as JSON.
    #[error("the truth of a picture cannot be written as JSON")]
    Json(#[from] serde_json::Error),
    /// It was stopped.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// The condition of a name, such as `standard`, `any` or `eyepiece`.
///
/// # Errors
/// [`UnknownCondition`] names the conditions that there are.
pub fn parse_condition(name: &str) -> Result<Condition, UnknownCondition> {
    name.parse()
}

/// Paints the pictures of `order` into `folder`, with `truth.jsonl` beside them, and returns the
/// truths in the order of that file. What is there under the same names is replaced.
///
/// # Errors
/// [`PaintError`] when a file cannot be written or the work was stopped.
pub fn paint_folder(
    folder: &Path,
    order: &Order,
    progress: &Progress,
) -> Result<Vec<Truth>, PaintError> {
    let jobs = jobs(order);
    fs::create_dir_all(folder).map_err(|source| PaintError::Write {
        path: folder.to_owned(),
        source,
    })?;
    progress.begin(jobs.len());
    let truths: Vec<Truth> = jobs
        .par_iter()
        .map(|job| {
            let truth = write_picture(folder, &job.name, &job.scene())?;
            progress.step()?;
            Ok(truth)
        })
        .collect::<Result<_, PaintError>>()?;
    write_truth(folder, &truths)?;
    Ok(truths)
}

/// One picture to be painted.
struct Job {
    name: String,
    subject: Subject,
    condition: Condition,
    seed: u64,
}

enum Subject {
    Stage(Stage),
    Between(Stage),
    Negative(Negative),
}

impl Job {
    fn scene(&self) -> Scene {
        match self.subject {
            Subject::Stage(stage) => draw_scene(stage, self.condition, self.seed),
            Subject::Between(stage) => draw_between(stage, self.condition, self.seed),
            Subject::Negative(kind) => draw_negative(kind, self.condition, self.seed),
        }
    }
}

fn jobs(order: &Order) -> Vec<Job> {
    let mut jobs = Vec::new();
    let mut add = |name: String, subject: Subject| {
        let seed = order.seed.wrapping_add(jobs.len() as u64);
        jobs.push(Job {
            name,
            subject,
            condition: order.condition,
            seed,
        });
    };
    for i in 0..order.per_stage {
        for stage in Stage::PROPOSED {
            let name = format!("tip-{}-{i:04}", stage.code().to_lowercase());
            add(name, Subject::Stage(stage));
        }
    }
    for i in 0..order.between {
        for pair in Stage::PROPOSED.windows(2) {
            let codes = format!("{}-{}", pair[0].code(), pair[1].code()).to_lowercase();
            add(format!("mid-{codes}-{i:04}"), Subject::Between(pair[0]));
        }
    }
    for i in 0..order.negatives {
        let kind = Negative::ALL[i % Negative::ALL.len()];
        add(
            format!("not-{i:04}-{}", kind.name()),
            Subject::Negative(kind),
        );
    }
    jobs
}

/// Paints `scene` into `folder` under `name` with the ending of its encoder.
fn write_picture(folder: &Path, name: &str, scene: &Scene) -> Result<Truth, PaintError> {
    let painted = paint(scene);
    let (bytes, ending) = match scene.camera.encoder {
        Encoder::Jpeg(quality) => (encode_jpeg(&painted.picture, quality)?, "jpg"),
        Encoder::Png => (encode_png(&painted.picture)?, "png"),
    };
    let file = format!("{name}.{ending}");
    write(&folder.join(&file), &bytes)?;
    Ok(Truth {
        file,
        ..painted.truth
    })
}

/// Paints the made-up pond sample of `seed` into `folder`: 26 photos with `truth.jsonl`, the list of
/// animals (`sample.csv`), the calls of a made-up reader (`calls.csv`) and a note that says so.
///
/// # Errors
/// [`PaintError`] when a file cannot be written or the work was stopped.
pub fn paint_sample(
    folder: &Path,
    seed: u64,
    progress: &Progress,
) -> Result<Vec<Truth>, PaintError> {
    let morning = draw_morning(seed);
    fs::create_dir_all(folder).map_err(|source| PaintError::Write {
        path: folder.to_owned(),
        source,
    })?;
    progress.begin(morning.len());
    let truths: Vec<Truth> = morning
        .par_iter()
        .enumerate()
        .map(|(i, netted)| {
            let truth = write_picture(folder, &format!("tip-{:02}", i + 1), &netted.scene)?;
            progress.step()?;
            Ok(truth)
        })
        .collect::<Result<_, PaintError>>()?;
    write_truth(folder, &truths)?;
    let (sample, calls) = sample_tables(&morning, &truths);
    write(&folder.join("sample.csv"), sample.as_bytes())?;
    write(&folder.join("calls.csv"), calls.as_bytes())?;
    write(&folder.join("README.md"), sample_note(seed).as_bytes())?;
    Ok(truths)
}

/// The list of animals and the list of calls. No field holds a comma or a quote.
fn sample_tables(morning: &[Netted], truths: &[Truth]) -> (String, String) {
    let mut sample = vec!["animal,photo,station,shell".to_owned()];
    let mut calls = vec!["animal,stage,shell,station".to_owned()];
    for (netted, truth) in morning.iter().zip(truths) {
        let (animal, station) = (&netted.animal, netted.station);
        let shell = match netted.shell {
            Some(Shell::Firm) => "firm",
            Some(Shell::Soft) => "soft",
            Some(Shell::Papery) => "papery",
            None => "",
        };
        let stage = netted.call.map_or("unread", Stage::code);
        sample.push(format!("{animal},{},{station},{shell}", truth.file));
        calls.push(format!("{animal},{stage},{shell},{station}"));
    }
    (sample.join("\n") + "\n", calls.join("\n") + "\n")
}

fn sample_note(seed: u64) -> String {
    format!(
        "# A made-up pond sample\n\n\
         Everything in this folder is invented: the pond, the 26 animals, the reader and the calls.\n\
         The photos are painted by the program itself, not taken through a microscope. Scale: 0.8 µm\n\
         per pixel.\n\n\
         * `tip-01.jpg` to `tip-26.jpg`: one photo per animal, 1600 x 1200.\n\
         * `sample.csv`: which photo belongs to which animal, where it was netted, how its shell felt.\n\
         * `calls.csv`: what the made-up reader called; one animal is unread. Three calls differ from\n  \
           what was painted.\n\
         * `truth.jsonl`: what was painted. Nine animals lie between two stages or have criteria that\n  \
           disagree.\n\n\
         Painted with `tailfan paint sample-images --sample --seed {seed}`; the same command gives the\n\
         same bytes.\n"
    )
}

fn write_truth(folder: &Path, truths: &[Truth]) -> Result<(), PaintError> {
    let mut lines = String::new();
    for truth in truths {
        lines.push_str(&serde_json::to_string(truth)?);
        lines.push('\n');
    }
    write(&folder.join("truth.jsonl"), lines.as_bytes())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), PaintError> {
    fs::write(path, bytes).map_err(|source| PaintError::Write {
        path: path.to_owned(),
        source,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::decode::Limits;
    use crate::micrograph::decode::decode_file;

    #[test]
    fn a_folder_holds_every_picture_of_its_truth() {
        let folder = tempfile::tempdir().unwrap();
        let order = Order {
            per_stage: 1,
            between: 0,
            negatives: 1,
            condition: Condition::Megapixels1,
            seed: 5,
        };
        let truths = paint_folder(folder.path(), &order, &Progress::silent()).unwrap();
        assert_eq!(truths.len(), 8);
        let text = fs::read_to_string(folder.path().join("truth.jsonl")).unwrap();
        let back: Vec<Truth> = text
            .lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect();
        assert_eq!(back, truths);
        for truth in truths {
            let picture = image_size(&folder.path().join(&truth.file));
            assert_eq!(picture, (truth.width, truth.height));
        }
    }

    #[test]
    fn the_sample_lists_every_animal_once_and_only_the_calls_differ() {
        let morning = draw_morning(2);
        let truths: Vec<Truth> = morning
            .iter()
            .map(|netted| Truth::of(&netted.scene, "photo.jpg"))
            .collect();
        let (sample, calls) = sample_tables(&morning, &truths);
        assert_eq!(sample.lines().count(), 27);
        assert_eq!(calls.matches(",unread,").count(), 1);
        for (a, b) in sample.lines().zip(calls.lines()).skip(1) {
            let a: Vec<_> = a.split(',').collect();
            let b: Vec<_> = b.split(',').collect();
            assert_eq!((a[0], a[2], a[3]), (b[0], b[3], b[2]));
            assert!(b[1] == "unread" || b[1].parse::<Stage>().is_ok());
        }
    }

    fn image_size(path: &Path) -> (u32, u32) {
        let photo = decode_file(path, &Limits::default()).unwrap();
        (photo.micrograph.width(), photo.micrograph.height())
    }
}
