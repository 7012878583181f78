//! The whole logbook as a folder (or zip file) of tables and photos.

use crate::exchange::packed::pack;
use crate::exchange::tables::TableWriter;
use crate::exchange::tables::write_texts;
use crate::logbook::LogbookError;
use crate::logbook::View;
use crate::logbook::schema;
use crate::logbook::schema::TABLES;
use crate::records::ids::RowId;
use crate::records::ids::ThingId as _;
use crate::records::pictures::Photo;
use crate::records::places::Animal;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::table::Column;
use crate::records::table::HEAD_COLUMNS;
use crate::records::table::Kind;
use crate::records::table::Record as _;
use crate::texts::columns;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::photos::place_of;
use crate::workflow::logbook::photos::sync_folder;
use crate::workflow::logbook::photos::write_whole;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;

/// What the note of an export says it is.
pub(in crate::workflow::logbook) const FORMAT: &str = "tailfan logbook";
/// Version of the form of an export.
pub(in crate::workflow::logbook) const VERSION: u32 = 1;
/// Name of the note.
pub(in crate::workflow::logbook) const NOTE: &str = "logbook.json";

/// The note that lies in every export.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::workflow::logbook) struct Note {
    pub(in crate::workflow::logbook) format: String,
    pub(in crate::workflow::logbook) version: u32,
    pub(in crate::workflow::logbook) schema: usize,
    pub(in crate::workflow::logbook) program: String,
    farm: String,
    pub(in crate::workflow::logbook) origins: Vec<(RowId, String)>,
    pub(in crate::workflow::logbook) rows: BTreeMap<String, u64>,
}

/// What was exported.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// The folder or zip file.
    pub place: PathBuf,
    /// Rows of all tables.
    pub rows: u64,
    /// Photos.
    pub photos: u64,
    /// Photos whose file is gone or changed: their rows are in the export.
    pub photos_missing: Vec<String>,
}

impl Session {
    /// Exports everything: a folder, or a zip file where the name ends so, that is not there yet.
    ///
    /// # Errors
    /// [`SessionError`] when something is there already, or it cannot be read or written; then
    /// nothing is left behind.
    pub fn export(&self, to: &Path) -> Result<Exported, SessionError> {
        let is_empty = fs::read_dir(to).is_ok_and(|mut inside| inside.next().is_none());
        if fs::symlink_metadata(to).is_ok() && !is_empty {
            return Err(SessionError::Occupied(to.to_owned()));
        }
        let name = to.file_name().unwrap_or_default().to_string_lossy();
        let part = to.with_file_name(format!(".{name}.part{}", std::process::id()));
        let written = self.export_into(&part).and_then(|exported| {
            if is_zip(to) {
                let packed = part.with_extension("zip-part");
                pack(&part, &packed)?;
                fs::rename(&packed, to).map_err(files("the zip file cannot be named", to))?;
            } else {
                fs::rename(&part, to).map_err(files("the folder cannot be named", to))?;
            }
            Ok(exported)
        });
        drop(fs::remove_dir_all(&part));
        drop(fs::remove_file(part.with_extension("zip-part")));
        written.map(|exported| Exported {
            place: to.to_owned(),
            ..exported
        })
    }

    fn export_into(&self, folder: &Path) -> Result<Exported, SessionError> {
        let tables = folder.join("tables");
        fs::create_dir_all(&tables).map_err(files("the folder cannot be made", &tables))?;
        let mut rows = BTreeMap::new();
        let mut photos = 0;
        let mut missing = Vec::new();
        self.book
            .at_one_moment::<_, SessionErrorOrBook>(|view| {
                for table in TABLES {
                    let file = tables.join(format!("{}.csv", table.name));
                    let mut writer = TableWriter::begin(&file, table)?;
                    view.each_row::<SessionErrorOrBook>(table, |row| {
                        writer.row(&row)?;
                        if table.name == Photo::TABLE.name {
                            let photo = Photo::from_cells(&row.cells);
                            match photo.ok().map(|photo| self.export_photo(folder, &photo)) {
                                Some(Ok(true)) => photos += 1,
                                Some(Ok(false)) | None => {}
                                Some(Err(
                                    SessionError::PhotoGone { name, .. }
                                    | SessionError::PhotoChanged { name, .. },
                                )) => missing.push(name),
                                Some(Err(error)) => return Err(error.into()),
                            }
                        }
                        Ok(())
                    })?;
                    rows.insert(table.name.to_owned(), writer.finish()?);
                }
                write_texts(&folder.join("dictionary.csv"), &DICTIONARY, &dictionary())?;
                write_texts(
                    &folder.join("standing_calls.csv"),
                    &STANDING,
                    &standing(view)?,
                )?;
                let note = Note {
                    format: FORMAT.to_owned(),
                    version: VERSION,
                    schema: schema::STEPS.len(),
                    program: env!("CARGO_PKG_VERSION").to_owned(),
                    farm: self.farm().to_owned(),
                    origins: view.origins()?,
                    rows: rows.clone(),
                };
                write_note(&folder.join(NOTE), &note)?;
                Ok(())
            })
            .map_err(|error| error.told(self))?;
        sync_folder(folder).map_err(files("the folder cannot be written", folder))?;
        missing.sort();
        missing.dedup();
        Ok(Exported {
            place: folder.to_owned(),
            rows: rows.values().sum(),
            photos,
            photos_missing: missing,
        })
    }

    /// Writes a photo's file; says whether it was not there yet.
    fn export_photo(&self, folder: &Path, photo: &Photo) -> Result<bool, SessionError> {
        let to = folder
            .join("photos")
            .join(place_of(&photo.hash, &photo.name));
        if to.exists() {
            return Ok(false);
        }
        let bytes = self.photo_bytes(photo)?;
        write_whole(&to, &bytes).map_err(files("the photo cannot be written", &to))?;
        Ok(true)
    }
}

/// An error of the logbook, which still lacks its file, or any other.
pub(in crate::workflow::logbook) enum SessionErrorOrBook {
    Book(LogbookError),
    Other(SessionError),
}

impl SessionErrorOrBook {
    pub(in crate::workflow::logbook) fn told(self, session: &Session) -> SessionError {
        match self {
            Self::Book(error) => session.told(error),
            Self::Other(error) => error,
        }
    }
}

impl From<LogbookError> for SessionErrorOrBook {
    fn from(error: LogbookError) -> Self {
        Self::Book(error)
    }
}

impl<E> From<E> for SessionErrorOrBook
where
    SessionError: From<E>,
{
    fn from(error: E) -> Self {
        Self::Other(SessionError::from(error))
    }
}

pub(in crate::workflow) fn files<'a>(
    what: &'static str,
    path: &'a Path,
) -> impl Fn(io::Error) -> SessionError + 'a {
    move |source| SessionError::Files {
        what,
        path: path.to_owned(),
        source,
    }
}

fn is_zip(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("zip"))
}

fn write_note(file: &Path, note: &Note) -> Result<(), SessionError> {
    let text = serde_json::to_string_pretty(note).map_err(|source| SessionError::Setting {
        key: NOTE.to_owned(),
        source,
    })?;
    write_whole(file, text.as_bytes()).map_err(files("the note cannot be written", file))
}

const DICTIONARY: [&str; 5] = ["table", "column", "holds", "may_be_empty", "meaning"];

/// What each column of each table holds.
fn dictionary() -> Vec<Vec<String>> {
    let row = |table: &str, column: Column, meaning: &str| {
        let empty = if column.optional { "yes" } else { "no" };
        vec![
            table.to_owned(),
            column.name.to_owned(),
            holds(column.kind),
            empty.to_owned(),
            meaning.to_owned(),
        ]
    };
    let heads = HEAD_COLUMNS
        .into_iter()
        .zip(columns::HEAD)
        .map(|(column, (_, meaning))| row("(every table)", column, meaning));
    let own = TABLES.into_iter().flat_map(|table| {
        table.columns.iter().map(move |column| {
            let meaning = columns::COLUMNS
                .iter()
                .find(|(of, name, _)| (*of, *name) == (table.name, column.name));
            row(table.name, *column, meaning.map_or("", |found| found.2))
        })
    });
    heads.chain(own).collect()
}

fn holds(kind: Kind) -> String {
    match kind {
        Kind::Id => "id".to_owned(),
        Kind::Link(table) => format!("id of a {table}"),
        Kind::Text => "text".to_owned(),
        Kind::Whole => "whole number".to_owned(),
        Kind::Real => "number".to_owned(),
        Kind::Flag => "yes or no".to_owned(),
        Kind::Stamp => "date, hour and offset".to_owned(),
        Kind::Json => "JSON".to_owned(),
    }
}

const STANDING: [&str; 15] = [
    "pond",
    "netted",
    "sample",
    "animal",
    "station",
    "shell",
    "stage",
    "unread_because",
    "proposal",
    "agreement",
    "reader",
    "called",
    "rival_calls",
    "second_wanted",
    "note",
];

/// One line for each animal with its standing call, for people and their spreadsheets; an import
/// does not read it.
fn standing(view: View<'_>) -> Result<Vec<Vec<String>>, LogbookError> {
    let ponds = view.all::<Pond>()?;
    let mut rows = Vec::new();
    for sample in view.all::<Sample>()? {
        let pond = ponds.iter().find(|pond| pond.thing() == sample.body.pond);
        let pond = pond.map_or("", |pond| pond.body.name.as_str());
        let mut calls = view.calls_of_sample(sample.thing())?;
        let of = sample.thing().row();
        for animal in view.naming::<Animal>("sample", of)? {
            let calls = calls.remove(&animal.thing()).unwrap_or_default();
            let call = calls.last().map(|call| &call.body);
            let text = |text: Option<&String>| text.cloned().unwrap_or_default();
            rows.push(vec![
                pond.to_owned(),
                sample.body.netted.to_string(),
                sample.thing().to_string(),
                animal.body.name.clone(),
                text(animal.body.station.as_ref()),
                code(&animal.body.shell),
                call.and_then(|call| call.stage)
                    .map_or_else(|| "unread".to_owned(), |stage| stage.to_string()),
                code(&call.and_then(|call| call.unread_because)),
                code(&call.and_then(|call| call.proposal)),
                code(&call.map(|call| call.agreement)),
                text(call.map(|call| &call.reader)),
                call.map_or_else(String::new, |call| call.called.to_string()),
                calls.len().saturating_sub(1).to_string(),
                if call.is_some_and(|call| call.second_wanted) {
                    "yes"
                } else {
                    "no"
                }
                .to_owned(),
                text(call.and_then(|call| call.note.as_ref())),
            ]);
        }
    }
    Ok(rows)
}

/// The word of a value as it stands in tables; empty when absent.
fn code(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}
