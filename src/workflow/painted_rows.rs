//! Painted slides as rows for a fit. Painting and measuring them takes minutes, so they are kept: in
//! the user's cache, until the measuring or the features change.

use crate::measure::MEASURING_VERSION;
use crate::progress::Progress;
use crate::stage::features;
use crate::stage::fitting::Row;
use crate::stage::fitting::Source;
use crate::workflow::labelled::LabelledError;
use crate::workflow::labelled::measure_slides;
use crate::workflow::labelled::painted_slides;
use crate::workflow::training::rows;
use serde::Deserialize;
use serde::Serialize;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;

/// Largest file of rows that is read.
const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// The first line of a file of rows: what the others were made by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Head {
    measuring: u32,
    features: Vec<String>,
}

impl Head {
    fn own() -> Self {
        Self {
            measuring: MEASURING_VERSION,
            features: features::names(),
        }
    }
}

/// Where painted rows are kept.
#[derive(Debug, Clone, Default)]
pub struct PaintedStore {
    folder: Option<PathBuf>,
}

impl PaintedStore {
    /// A store in `folder`.
    pub const fn within(folder: PathBuf) -> Self {
        Self {
            folder: Some(folder),
        }
    }

    /// The store of this user; one that keeps nothing where the system names no cache.
    pub fn of_user() -> Self {
        let dirs = directories::ProjectDirs::from("", "", "tailfan");
        Self {
            folder: dirs.map(|dirs| dirs.cache_dir().join("painted")),
        }
    }

    /// The rows of so many painted slides of each stage, kept or made now.
    ///
    /// # Errors
    /// [`LabelledError`] when the program fails on a slide or was stopped.
    pub fn rows(
        &self,
        per_stage: usize,
        seed: u64,
        progress: &Progress,
        step: impl FnMut(),
    ) -> Result<Vec<Row>, LabelledError> {
        let file = self
            .folder
            .as_ref()
            .map(|folder| folder.join(format!("{per_stage}-{seed}.jsonl")));
        if let Some(kept) = file.as_deref().and_then(read_rows) {
            return Ok(kept);
        }
        let measured = measure_slides(&painted_slides(per_stage, seed), progress, step)?;
        let rows = rows(&measured, Source::Painted).0;
        if let Some(file) = file {
            // A cache that cannot be written to costs time only.
            write_rows(&file, &rows).ok();
        }
        Ok(rows)
    }
}

/// The rows of a file; nothing where it is absent, damaged or of another version.
pub fn read_rows(file: &Path) -> Option<Vec<Row>> {
    if fs::metadata(file).ok()?.len() > MOST_BYTES {
        return None;
    }
    let text = fs::read_to_string(file).ok()?;
    let mut lines = text.lines();
    let head: Head = serde_json::from_str(lines.next()?).ok()?;
    if head != Head::own() {
        return None;
    }
    let rows: Result<Vec<Row>, _> = lines.map(serde_json::from_str).collect();
    let width = features::names().len();
    rows.ok().filter(|rows| {
        rows.iter().all(|row| {
            row.features.len() == width && row.features.iter().all(|value| value.is_finite())
        })
    })
}

/// Writes rows beside the file and renames, so that no half of them is ever found.
///
/// # Errors
/// What the system said.
pub fn write_rows(file: &Path, rows: &[Row]) -> io::Result<()> {
    let mut text = serde_json::to_string(&Head::own())?;
    text.push('\n');
    for row in rows {
        text.push_str(&serde_json::to_string(row)?);
        text.push('\n');
    }
    if let Some(folder) = file.parent() {
        fs::create_dir_all(folder)?;
    }
    let part = file.with_extension(format!("part{}", std::process::id()));
    fs::write(&part, text)?;
    fs::rename(&part, file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moult::Stage;
    use crate::stage::evaluation::Lengths;
    use crate::stage::evaluation::Truth;

    #[test]
    fn a_tip_with_no_base_in_view_is_kept_like_any_other() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("rows.jsonl");
        let row = Row {
            features: vec![0.5; features::names().len()],
            setae: vec![None],
            truth: Truth::Stage {
                stage: Stage::D0,
                clear: true,
            },
            condition: "any".to_owned(),
            animal: "one".to_owned(),
            source: Source::Painted,
            lengths: Some(Lengths {
                bases: 0,
                found: 9,
                matched: 0,
                gap_error_um: None,
                base_width_error: None,
                misread: true,
            }),
        };
        write_rows(&file, std::slice::from_ref(&row)).unwrap();
        assert_eq!(read_rows(&file), Some(vec![row]));
    }
}
