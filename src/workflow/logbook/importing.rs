//! Taking in what was exported: all of it, or nothing.

use crate::exchange::packed::unpack;
use crate::exchange::tables::TableError;
use crate::exchange::tables::read_table;
use crate::logbook::LogbookError;
use crate::logbook::merge::TakeReport;
use crate::logbook::schema;
use crate::logbook::schema::TABLES;
use crate::records::pictures::Photo;
use crate::records::table::Record as _;
use crate::records::table::RowFault;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::beside;
use crate::workflow::logbook::exporting::FORMAT;
use crate::workflow::logbook::exporting::NOTE;
use crate::workflow::logbook::exporting::Note;
use crate::workflow::logbook::exporting::SessionErrorOrBook;
use crate::workflow::logbook::exporting::VERSION;
use crate::workflow::logbook::exporting::files;
use crate::workflow::logbook::photos::place_of;
use crate::workflow::logbook::photos::read_limited;
use crate::workflow::logbook::photos::write_whole;
use std::fs;
use std::path::Path;
use std::path::PathBuf;

/// Largest note that is read.
const MOST_NOTE_BYTES: u64 = 16_000_000;

/// What was taken in from an export or another logbook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenIn {
    /// Rows.
    pub rows: TakeReport,
    /// Photos that were copied.
    pub photos: u64,
    /// Photos that could not be found or were not as they came.
    pub photos_missing: Vec<String>,
    /// The backup made before.
    pub backup: PathBuf,
}

impl Session {
    /// Takes in an export, a folder or zip file: rows that are here already are left, so it does no
    /// harm twice. A backup is made before; all rows come in, or none.
    ///
    /// # Errors
    /// [`SessionError`] for what is no export, was cut or changed, or does not hang together.
    pub fn import(&mut self, from: &Path) -> Result<TakenIn, SessionError> {
        if from.is_dir() {
            return self.import_folder(from);
        }
        let unpacked = beside(self.file(), &format!("unpacked{}", std::process::id()));
        fs::create_dir(&unpacked).map_err(files("the zip file cannot be unpacked", &unpacked))?;
        let taken = unpack(from, &unpacked)
            .map_err(SessionError::from)
            .and_then(|()| self.import_folder(&unpacked));
        drop(fs::remove_dir_all(&unpacked));
        taken
    }

    fn import_folder(&mut self, folder: &Path) -> Result<TakenIn, SessionError> {
        let note = read_note(folder)?;
        let backup = self.back_up("before-import")?;
        let mut photos = Vec::new();
        let taken = self
            .book
            .take::<SessionErrorOrBook>(&note.origins, |taker| {
                for table in TABLES {
                    let file = folder.join("tables").join(format!("{}.csv", table.name));
                    let listed = note.rows.get(table.name).copied();
                    if listed.is_none() && note.schema < schema::STEPS.len() {
                        // An older export knows nothing of a table that came later.
                        continue;
                    }
                    let wanted = listed.unwrap_or(0);
                    read_table::<SessionErrorOrBook>(&file, table, wanted, |line, row| {
                        let taken = taker.row(table, &row);
                        taken.map_err(|error| at_line(error, line, &file))?;
                        if table.name == Photo::TABLE.name {
                            photos.extend(Photo::from_cells(&row.cells).ok());
                        }
                        Ok(())
                    })?;
                }
                Ok(())
            });
        let rows = taken.map_err(|error| error.told(self))?;
        let (copied, missing) = self.take_photos(&folder.join("photos"), &photos)?;
        let now = Self::now();
        self.book
            .note_upkeep(now, &self.reader, "import", &folder.to_string_lossy())
            .map_err(|error| self.told(error))?;
        Ok(TakenIn {
            rows,
            photos: copied,
            photos_missing: missing,
            backup,
        })
    }

    /// Copies the photos that are not here from another photo folder, each checked by its hash.
    pub(in crate::workflow) fn take_photos(
        &self,
        from: &Path,
        photos: &[Photo],
    ) -> Result<(u64, Vec<String>), SessionError> {
        let (mut copied, mut missing) = (0, Vec::new());
        for photo in photos {
            let place = place_of(&photo.hash, &photo.name);
            let to = self.photo_folder().join(&place);
            if to.exists() {
                continue;
            }
            let bytes = read_limited(&from.join(&place)).ok();
            let whole = bytes.filter(|bytes| blake3::hash(bytes).to_hex().as_str() == photo.hash);
            match whole {
                Some(bytes) => {
                    write_whole(&to, &bytes).map_err(files("the photo cannot be copied", &to))?;
                    copied += 1;
                }
                None if self.photo_bytes(photo).is_err() => missing.push(photo.name.clone()),
                None => {}
            }
        }
        missing.sort();
        missing.dedup();
        Ok((copied, missing))
    }
}

/// A row that cannot be taken, by its file and line.
fn at_line(error: LogbookError, line: u64, file: &Path) -> SessionErrorOrBook {
    let source = match error {
        LogbookError::Row { source, .. } => source,
        LogbookError::Dangling { .. } => {
            RowFault::Content("it names a thing that is neither here nor in the export".to_owned())
        }
        other => return SessionErrorOrBook::Book(other),
    };
    let file = file.to_owned();
    TableError::Line { line, source, file }.into()
}

fn read_note(folder: &Path) -> Result<Note, SessionError> {
    let no_export = |why: String| SessionError::NoExport {
        folder: folder.to_owned(),
        why,
    };
    let file = folder.join(NOTE);
    let size = fs::metadata(&file).map_or(0, |metadata| metadata.len());
    if size == 0 || size > MOST_NOTE_BYTES {
        return Err(no_export(format!("{NOTE} is missing")));
    }
    let bytes = fs::read(&file).map_err(files("the note cannot be read", &file))?;
    let note: Note = serde_json::from_slice(&bytes)
        .map_err(|error| no_export(format!("{NOTE} cannot be understood: {error}")))?;
    if note.format != FORMAT {
        return Err(no_export(format!("it says it is \"{}\"", note.format)));
    }
    if note.version > VERSION || note.schema > schema::STEPS.len() {
        return Err(no_export(format!(
            "it was written by a newer program, tailfan {}; use that one or a later",
            note.program
        )));
    }
    Ok(note)
}
