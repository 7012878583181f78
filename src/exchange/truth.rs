//! `truth.jsonl`: what is true of the photos of a folder, one JSON object a line.

use crate::moult::Stage;
use serde::Deserialize;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Name of the file within its folder.
pub const FILE_NAME: &str = "truth.jsonl";

/// Largest file that is read.
pub const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// What a photo shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// A tip of one stage.
    Stage(Stage),
    /// A tip between two neighbouring stages.
    Between(Stage, Stage),
    /// No readable tip.
    NoTip,
}

/// One photo of the folder.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct TruthLine {
    /// Name of the photo in the folder.
    pub file: String,
    /// `A` to `D3`; two of them with a slash between; `none`.
    stage: String,
    /// The look, where no condition is named.
    #[serde(default)]
    look: Option<String>,
    /// The condition.
    #[serde(default)]
    condition: Option<String>,
    /// The animal; absent where every photo is an animal of its own.
    #[serde(default)]
    pub animal: Option<String>,
    /// Micrometres per pixel.
    #[serde(default)]
    pub umpx: Option<f64>,
    /// Median gap of the setae in view.
    #[serde(default)]
    pub gap_um: Option<f64>,
    /// Base width.
    #[serde(default)]
    pub seta_width_um: Option<f64>,
    /// A measure lies near a border.
    #[serde(default)]
    pub ambiguous: bool,
    /// The criteria contradict each other.
    #[serde(default)]
    pub out_of_step: bool,
    /// Every base line in view: x px, y px, gap µm.
    #[serde(default)]
    pub setae: Vec<[f64; 3]>,
}

/// A truth that cannot be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TruthError {
    /// The file cannot be read.
    #[error("cannot be read; a folder of labelled photos holds {FILE_NAME}, else name a LABELS.csv: {}", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// Larger than any truth.
    #[error("{bytes} bytes are more than the {MOST_BYTES} that are read; split the folder: {}", file.display())]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size.
        bytes: u64,
    },
    /// A line that is no JSON object with `file` and `stage`.
    #[error("line {line} is no object with file and stage: {}", file.display())]
    Line {
        /// The file.
        file: PathBuf,
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        #[source]
        source: serde_json::Error,
    },
    /// A stage that is none.
    #[error("line {line}: \"{stage}\" is no stage; use A to D4, two neighbours such as C/D0, or none: {}", file.display())]
    Stage {
        /// The file.
        file: PathBuf,
        /// The line, from 1.
        line: usize,
        /// What stands there.
        stage: String,
    },
    /// No line at all.
    #[error("no photo is named in it: {}", file.display())]
    Empty {
        /// The file.
        file: PathBuf,
    },
}

impl TruthLine {
    /// What the photo shows; `None` when the stage is no stage.
    pub fn shown(&self) -> Option<Shown> {
        if self.stage == "none" {
            return Some(Shown::NoTip);
        }
        match self.stage.split_once('/') {
            None => self.stage.parse().ok().map(Shown::Stage),
            Some((a, b)) => {
                let (a, b): (Stage, Stage) = (a.parse().ok()?, b.parse().ok()?);
                (b.index() == a.index() + 1).then_some(Shown::Between(a, b))
            }
        }
    }

    /// The condition the photo belongs to.
    pub fn condition(&self) -> &str {
        let named = self.condition.as_deref().or(self.look.as_deref());
        named.unwrap_or("unnamed")
    }
}

/// Reads the truth of a folder.
///
/// # Errors
/// [`TruthError`] for a file or line that cannot be used.
pub fn read_truth(folder: &Path) -> Result<Vec<TruthLine>, TruthError> {
    let file = folder.join(FILE_NAME);
    let unreadable = |source| TruthError::Unreadable {
        file: file.clone(),
        source,
    };
    let bytes = fs::metadata(&file).map_err(unreadable)?.len();
    if bytes > MOST_BYTES {
        return Err(TruthError::TooLarge { file, bytes });
    }
    let text = fs::read_to_string(&file).map_err(unreadable)?;
    truth_from_text(&text, &file)
}

/// Reads truth from the text of `file`, which only gives errors its name.
///
/// # Errors
/// [`TruthError`] for a line that cannot be used.
pub fn truth_from_text(text: &str, file: &Path) -> Result<Vec<TruthLine>, TruthError> {
    let mut lines = Vec::new();
    for (at, line) in text.lines().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let truth: TruthLine = serde_json::from_str(line).map_err(|source| TruthError::Line {
            file: file.to_owned(),
            line: at + 1,
            source,
        })?;
        if truth.shown().is_none() {
            return Err(TruthError::Stage {
                file: file.to_owned(),
                line: at + 1,
                stage: truth.stage,
            });
        }
        lines.push(truth);
    }
    if lines.is_empty() {
        return Err(TruthError::Empty {
            file: file.to_owned(),
        });
    }
    Ok(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stages_between_stages_and_none_are_told_apart() {
        let text = r#"{"file": "a.jpg", "stage": "D3", "look": "L1", "umpx": 0.9, "setae": [[1, 2, 3.5]]}
{"file": "b.jpg", "stage": "C/D0", "condition": "standard", "look": "L1"}

{"file": "c.jpg", "stage": "none"}"#;
        let lines = truth_from_text(text, Path::new("truth.jsonl")).unwrap();
        let shown: Vec<_> = lines.iter().filter_map(TruthLine::shown).collect();
        let wanted = [
            Shown::Stage(Stage::D3),
            Shown::Between(Stage::C, Stage::D0),
            Shown::NoTip,
        ];
        assert_eq!(shown, wanted);
        let conditions: Vec<_> = lines.iter().map(TruthLine::condition).collect();
        assert_eq!(conditions, ["L1", "standard", "unnamed"]);
    }

    #[test]
    fn wrong_lines_are_named() {
        for (text, wanted) in [
            (
                "{\"file\": \"a\", \"stage\": \"A\"}\nx",
                "line 2 is no object",
            ),
            (
                r#"{"file": "a", "stage": "D5"}"#,
                "line 1: \"D5\" is no stage",
            ),
            (r#"{"file": "a", "stage": "C/D1"}"#, "line 1: \"C/D1\""),
            ("", "no photo"),
        ] {
            let error = truth_from_text(text, Path::new("t.jsonl")).unwrap_err();
            let words = error.to_string();
            assert!(
                words.contains(wanted) && words.ends_with("t.jsonl"),
                "{words}"
            );
        }
    }
}
