//! Labels from a CSV file: one photo a line, columns `photo,stage,animal,pond,reader,evidence`.
//!
//! The columns may stand in any order. An animal has one stage, however many photos it has, and
//! photos are named relative to the file's folder.

use crate::exchange::sheet::Lines;
use crate::exchange::sheet::newlines;
use crate::exchange::sheet::separator;
use crate::moult::Stage;
use crate::moult::UnknownStage;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Largest file that is read.
pub const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// The columns, all of them needed.
pub const COLUMNS: [&str; 6] = ["photo", "stage", "animal", "pond", "reader", "evidence"];

/// One line of a table of labels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LabelLine {
    /// Line of the file, from 1.
    pub line: u64,
    /// The photo, as written.
    pub photo: String,
    /// Where the photo is.
    pub path: PathBuf,
    /// The stage.
    pub stage: Stage,
    /// Name or number of the animal.
    pub animal: String,
    /// The pond; may be empty.
    pub pond: String,
    /// Who labelled it; may be empty.
    pub reader: String,
    /// How the stage is known; may be empty.
    pub evidence: String,
}

/// A table of labels that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LabelsError {
    /// The file cannot be read.
    #[error("cannot be read; check its name and that you may open it: {}", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The file is larger than any table of labels.
    #[error("{bytes} bytes are no table of labels; give a CSV file of at most {MOST_BYTES}: {}", file.display())]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size.
        bytes: u64,
    },
    /// A line that is not text.
    #[error("line {line}: not UTF-8 text; save the table as CSV UTF-8: {}", file.display())]
    NotText {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
    },
    /// The table's format is broken.
    #[error("not a table; save it as CSV UTF-8 with the columns {}: {}", COLUMNS.join(","), file.display())]
    Broken {
        /// The file.
        file: PathBuf,
        /// What is broken.
        #[source]
        source: csv::Error,
    },
    /// A column that is needed is not there.
    #[error("no column \"{column}\"; name the columns {} in the first line: {}", COLUMNS.join(","), file.display())]
    NoColumn {
        /// The file.
        file: PathBuf,
        /// The column.
        column: &'static str,
    },
    /// A field that must not be empty.
    #[error("line {line}: no {column}; every photo needs its name, its stage and its animal: {}", file.display())]
    NoField {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// The column.
        column: &'static str,
    },
    /// A stage that is none.
    #[error("line {line}: the label cannot be used: {}", file.display())]
    Stage {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// What stands there.
        #[source]
        source: UnknownStage,
    },
    /// Stage E, which no photo of setal bases shows.
    #[error("line {line}: stage E is not read from setal bases; leave shedding animals out: {}", file.display())]
    Shedding {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
    },
    /// An animal of two stages.
    #[error("line {line}: animal \"{animal}\" is {stage} here and {earlier} on line {first}; settle its stage, or give the animals their own names: {}", file.display())]
    TwoStages {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// The earlier line.
        first: u64,
        /// The animal.
        animal: String,
        /// The stage on this line.
        stage: Stage,
        /// That on the earlier line.
        earlier: Stage,
    },
    /// A photo on two lines.
    #[error("line {line}: photo \"{photo}\" stands on line {first} already; delete one of the two: {}", file.display())]
    PhotoTwice {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// The earlier line.
        first: u64,
        /// The photo.
        photo: String,
    },
    /// No labels.
    #[error("no labels; write one line for each photo below the names of the columns: {}", file.display())]
    Empty {
        /// The file.
        file: PathBuf,
    },
}

/// Reads the labels of a file.
///
/// # Errors
/// [`LabelsError`] for a file or line that cannot be used.
pub fn read_labels(file: &Path) -> Result<Vec<LabelLine>, LabelsError> {
    let unreadable = |source| LabelsError::Unreadable {
        file: file.to_owned(),
        source,
    };
    let bytes = fs::metadata(file).map_err(unreadable)?.len();
    if bytes > MOST_BYTES {
        let file = file.to_owned();
        return Err(LabelsError::TooLarge { file, bytes });
    }
    labels_from_bytes(&fs::read(file).map_err(unreadable)?, file)
}

/// Reads labels from the bytes of `file`, beside which the photos are looked for.
///
/// # Errors
/// [`LabelsError`] for a line that cannot be used.
pub fn labels_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<LabelLine>, LabelsError> {
    let text = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    let text = std::str::from_utf8(text).map_err(|e| LabelsError::NotText {
        file: file.to_owned(),
        line: 1 + newlines(&text[..e.valid_up_to()]),
    })?;
    let broken = |source| LabelsError::Broken {
        file: file.to_owned(),
        source,
    };
    let mut table = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let places = places(table.headers().map_err(broken)?, file)?;
    let mut lines = Lines::new(text);
    let mut labels: Vec<LabelLine> = Vec::new();
    for record in table.records() {
        let record = record.map_err(broken)?;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = lines.at(record.position().map_or(0, csv::Position::byte) as usize);
        labels.push(label(&record, places, (file, line))?);
    }
    if labels.is_empty() {
        return Err(LabelsError::Empty {
            file: file.to_owned(),
        });
    }
    check_together(&labels, file)?;
    Ok(labels)
}

fn places(header: &csv::StringRecord, file: &Path) -> Result<[usize; 6], LabelsError> {
    let mut places = [0; COLUMNS.len()];
    for (place, column) in places.iter_mut().zip(COLUMNS) {
        *place = header
            .iter()
            .position(|name| name.eq_ignore_ascii_case(column))
            .ok_or_else(|| LabelsError::NoColumn {
                file: file.to_owned(),
                column,
            })?;
    }
    Ok(places)
}

fn label(
    record: &csv::StringRecord,
    places: [usize; 6],
    (file, line): (&Path, u64),
) -> Result<LabelLine, LabelsError> {
    let field = |at: usize| record.get(places[at]).unwrap_or_default().to_owned();
    let needed = |at: usize| {
        let text = field(at);
        if text.is_empty() {
            let (file, column) = (file.to_owned(), COLUMNS[at]);
            return Err(LabelsError::NoField { file, line, column });
        }
        Ok(text)
    };
    let photo = needed(0)?;
    let stage: Stage = needed(1)?.parse().map_err(|source| LabelsError::Stage {
        file: file.to_owned(),
        line,
        source,
    })?;
    if stage == Stage::E {
        let file = file.to_owned();
        return Err(LabelsError::Shedding { file, line });
    }
    let folder = file.parent().unwrap_or_else(|| Path::new(""));
    Ok(LabelLine {
        line,
        path: folder.join(&photo),
        photo,
        stage,
        animal: needed(2)?,
        pond: field(3),
        reader: field(4),
        evidence: field(5),
    })
}

fn check_together(labels: &[LabelLine], file: &Path) -> Result<(), LabelsError> {
    let mut animals: BTreeMap<(&str, &str), &LabelLine> = BTreeMap::new();
    let mut photos: BTreeMap<&str, u64> = BTreeMap::new();
    for label in labels {
        let line = label.line;
        if let Some(first) = photos.insert(&label.photo, line) {
            return Err(LabelsError::PhotoTwice {
                file: file.to_owned(),
                line,
                first,
                photo: label.photo.clone(),
            });
        }
        let first = *animals.entry((&label.pond, &label.animal)).or_insert(label);
        if first.stage != label.stage {
            return Err(LabelsError::TwoStages {
                file: file.to_owned(),
                line,
                first: first.line,
                animal: label.animal.clone(),
                stage: label.stage,
                earlier: first.stage,
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "photo,stage,animal,pond,reader,evidence\n";

    #[test]
    fn a_table_is_read_with_its_columns_in_any_order() {
        let text =
            "\u{feff}stage;photo;animal;pond;reader;evidence\r\nd0;a b.jpg;7;north;me;watched\r\n";
        let labels = labels_from_bytes(text.as_bytes(), Path::new("f/labels.csv")).unwrap();
        assert_eq!(labels[0].stage, Stage::D0);
        assert_eq!(labels[0].path, Path::new("f/a b.jpg"));
        assert_eq!(labels[0].line, 2);
    }

    #[test]
    fn every_fault_is_named_with_its_line() {
        for (rows, wanted) in [
            ("a.jpg,X,1,p,r,e\n", "line 2: the label cannot be used"),
            ("a.jpg,E,1,p,r,e\n", "line 2: stage E"),
            (",A,1,p,r,e\n", "line 2: no photo"),
            ("a.jpg,A,,p,r,e\n", "line 2: no animal"),
            (
                "a.jpg,A,1,p,r,e\nb.jpg,B,1,p,r,e\n",
                "line 3: animal \"1\" is B here and A on line 2",
            ),
            ("a.jpg,A,1,p,r,e\na.jpg,A,1,p,r,e\n", "line 3: photo"),
            ("a.jpg,A\n", "not a table"),
            ("", "no labels"),
        ] {
            let text = format!("{HEAD}{rows}");
            let error = labels_from_bytes(text.as_bytes(), Path::new("l.csv")).unwrap_err();
            let words = error.to_string();
            assert!(
                words.contains(wanted) && words.ends_with("l.csv"),
                "{words}"
            );
        }
        let error = labels_from_bytes(b"photo,stage\na,A\n", Path::new("l.csv")).unwrap_err();
        assert!(error.to_string().contains("no column \"animal\""));
    }
}
