//! Labels from a CSV file: one photo a line, columns `photo,stage,animal,pond,reader,evidence`.
//!
//! The columns may stand in any order. An animal has one stage, however many photos it has, and
//! photos are named relative to the file's folder.

use crate::exchange::sheet::Row;
use crate::exchange::sheet::Sheet;
use crate::exchange::sheet::SheetError;
use crate::moult::Stage;
use crate::moult::UnknownStage;
use std::collections::BTreeMap;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// The columns, all of them needed.
pub const COLUMNS: [&str; 6] = ["photo", "stage", "animal", "pond", "reader", "evidence"];

/// The same in a row, for errors.
const ALL: &str = "photo,stage,animal,pond,reader,evidence";

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
    /// No sheet with these columns.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// A field that must not be empty.
    #[error("{}, line {line}: no {column}; every photo needs its name, its stage and its animal", file.display())]
    NoField {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
        /// The column.
        column: &'static str,
    },
    /// A stage that is none.
    #[error("{}, line {line}: the label cannot be used: {source}", file.display())]
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
    #[error("{}, line {line}: stage E is not read from setal bases; leave shedding animals out", file.display())]
    Shedding {
        /// The file.
        file: PathBuf,
        /// The line.
        line: u64,
    },
    /// An animal of two stages.
    #[error("{}, line {line}: animal \"{animal}\" is {stage} here and {earlier} on line {first}; settle its stage, or give the animals their own names", file.display())]
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
    #[error("{}, line {line}: photo \"{photo}\" stands on line {first} already; delete one of the two", file.display())]
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
    #[error("{}: no labels; write one line for each photo below the names of the columns", file.display())]
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
    labels_of_sheet(&Sheet::read(file, ALL)?, file)
}

/// Reads labels from the bytes of `file`, beside which the photos are looked for.
///
/// # Errors
/// [`LabelsError`] for a line that cannot be used.
pub fn labels_from_bytes(bytes: &[u8], file: &Path) -> Result<Vec<LabelLine>, LabelsError> {
    labels_of_sheet(&Sheet::parse(bytes, file, ALL)?, file)
}

fn labels_of_sheet(sheet: &Sheet, file: &Path) -> Result<Vec<LabelLine>, LabelsError> {
    let mut places = [0; COLUMNS.len()];
    for (place, column) in places.iter_mut().zip(COLUMNS) {
        *place = sheet.needed(column)?;
    }
    let labels = sheet.rows().iter().map(|row| label(row, places, file));
    let labels: Vec<LabelLine> = labels.collect::<Result<_, _>>()?;
    if labels.is_empty() {
        let file = file.to_owned();
        return Err(LabelsError::Empty { file });
    }
    check_together(&labels, file)?;
    Ok(labels)
}

fn label(row: &Row, places: [usize; 6], file: &Path) -> Result<LabelLine, LabelsError> {
    let line = row.line;
    let field = |at: usize| row.field(places[at]).to_owned();
    let needed = |at: usize| {
        row.filled(Some(places[at])).ok_or_else(|| {
            let (file, column) = (file.to_owned(), COLUMNS[at]);
            LabelsError::NoField { file, line, column }
        })
    };
    let photo = needed(0)?.to_owned();
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
        animal: needed(2)?.to_owned(),
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
            ("a.jpg,A\n", "line 2: no animal"),
            ("a.jpg,A,1,p,r,e,and more\n", "7 fields below 6 columns"),
            ("", "no labels"),
        ] {
            let text = format!("{HEAD}{rows}");
            let error = labels_from_bytes(text.as_bytes(), Path::new("l.csv")).unwrap_err();
            let words = error.to_string();
            assert!(words.contains(wanted) && words.contains("l.csv"), "{words}");
        }
        let error = labels_from_bytes(b"photo,stage\na,A\n", Path::new("l.csv")).unwrap_err();
        assert!(error.to_string().contains("no column \"animal\""));
    }
}
