//! The file that carries slides to a reader elsewhere, and the answer that comes back.
//!
//! The slides travel in one zip file: `slides.json` lists them, `seal.txt` seals the list, and
//! `photos/` holds the photos under shuffled numbers. The answer is a text of two lines: the calls as
//! JSON, and their seal. Each is checked as a whole before anything of it is used.

use crate::records::rounds::BlindCall;
use serde::Deserialize;
use serde::Serialize;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::fs;
use std::fs::File;
use std::io;
use std::io::BufReader;
use std::io::BufWriter;
use std::io::Read as _;
use std::io::Seek as _;
use std::io::SeekFrom;
use std::io::Write as _;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;
use zip::CompressionMethod;
use zip::ZipArchive;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// What the list says of itself.
const FORMAT: &str = "tailfan blind slides";
/// What the answer says of itself.
const ANSWER: &str = "tailfan blind answer";
/// Version of both.
const VERSION: u32 = 1;
/// Name of the list within the file.
const LIST: &str = "slides.json";
/// Name of the seal within the file.
const SEAL: &str = "seal.txt";
/// Most slides in a file.
pub const MOST_SLIDES: usize = 500;
/// Most photos in a file.
pub const MOST_PHOTOS: usize = 2_000;
/// Largest file.
pub const MOST_BYTES: u64 = 2_000_000_000;
/// Largest photo in it.
pub const MOST_PHOTO_BYTES: u64 = 100_000_000;
/// Most bytes that all photos may unpack to.
pub const MOST_UNPACKED: u64 = 4_000_000_000;
/// Largest list, and largest answer.
pub const MOST_LIST_BYTES: u64 = 4_000_000;
/// Longest end of a zip file in which the count of its entries stands.
const END_BYTES: i64 = 22 + 65_535;

/// A photo of a slide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlindPhoto {
    /// Its name within the file.
    pub file: String,
    /// BLAKE3 hash of its bytes.
    pub blake3: String,
    /// Its size in bytes.
    pub bytes: u64,
    /// Micrometres per pixel, where known.
    pub um_per_px: Option<f64>,
}

/// A slide under its shuffled number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlindSlide {
    /// The number, from 1.
    pub number: u32,
    /// Its photos, in order.
    pub photos: Vec<BlindPhoto>,
}

/// The list of a file of blind slides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlindList {
    /// What it is.
    pub format: String,
    /// Version of its form.
    pub version: u32,
    /// Who is to read.
    pub reader: String,
    /// The key of the seals: 64 hexadecimal digits.
    pub key: String,
    /// The slides in the order of their numbers.
    pub slides: Vec<BlindSlide>,
}

/// What a reader elsewhere called.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlindAnswer {
    /// What it is.
    pub format: String,
    /// Version of its form.
    pub version: u32,
    /// BLAKE3 hash of the list it answers.
    pub of: String,
    /// Who read.
    pub reader: String,
    /// The calls, in the order of the numbers.
    pub calls: Vec<BlindCall>,
}

/// A file of blind slides, or an answer, that cannot be used, and what to do about it.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum BlindError {
    /// The file cannot be read or written.
    #[error("cannot be read or written ({source}): {}", file.display())]
    Io {
        /// What the system said.
        source: io::Error,
        /// The file.
        file: PathBuf,
    },
    /// More than such a file holds.
    #[error("{what}, more than such a file may hold; nothing was taken from it: {}", file.display())]
    TooLarge {
        /// What is too large.
        what: String,
        /// The file.
        file: PathBuf,
    },
    /// A file that ends too early.
    #[error("the file is not whole: its end is missing; copy it or have it sent again: {}", file.display())]
    Truncated {
        /// The file.
        file: PathBuf,
    },
    /// Another kind of file.
    #[error("this is no {wanted} ({why}); nothing was taken from it: {}", file.display())]
    Foreign {
        /// What was wanted.
        wanted: &'static str,
        /// What is missing or too much.
        why: String,
        /// The file.
        file: PathBuf,
    },
    /// A form that this program does not know.
    #[error("it was written by a later version of the program (form {version}, this one knows {VERSION}); update the program: {}", file.display())]
    Newer {
        /// Its version.
        version: u32,
        /// The file.
        file: PathBuf,
    },
    /// A name that would lie outside of the folder.
    #[error("it holds \"{name}\", which would lie outside of its folder; nothing was taken from it: {}", file.display())]
    Outside {
        /// The name.
        name: String,
        /// The file.
        file: PathBuf,
    },
    /// A content that is not what was sealed.
    #[error("{what} was changed or damaged since it was written; have it sent again: {}", file.display())]
    Tampered {
        /// What was changed.
        what: String,
        /// The file.
        file: PathBuf,
    },
}

impl BlindList {
    /// A list for a reader, sealed with this key.
    pub fn new(reader: &str, key: &str, slides: Vec<BlindSlide>) -> Self {
        Self {
            format: FORMAT.to_owned(),
            version: VERSION,
            reader: reader.to_owned(),
            key: key.to_owned(),
            slides,
        }
    }
}

impl BlindAnswer {
    /// The answer of a reader to the list of this hash.
    pub fn new(of: &str, reader: &str, calls: Vec<BlindCall>) -> Self {
        Self {
            format: ANSWER.to_owned(),
            version: VERSION,
            of: of.to_owned(),
            reader: reader.to_owned(),
            calls,
        }
    }
}

/// A file of blind slides that is being written; one that is not ended is taken away again.
pub struct BlindWriter {
    zip: Option<ZipWriter<BufWriter<File>>>,
    file: PathBuf,
    photos: BTreeSet<String>,
}

impl BlindWriter {
    /// Begins a file that is not there yet.
    ///
    /// # Errors
    /// [`BlindError`] when it is there or cannot be written.
    pub fn begin(file: &Path) -> Result<Self, BlindError> {
        let out = File::create_new(file).map_err(|source| BlindError::Io {
            source,
            file: file.to_owned(),
        })?;
        Ok(Self {
            zip: Some(ZipWriter::new(BufWriter::new(out))),
            file: file.to_owned(),
            photos: BTreeSet::new(),
        })
    }

    /// Adds a photo of a slide, the `at`-th from 1, as the bytes of a JPEG file.
    ///
    /// # Errors
    /// [`BlindError`] when it cannot be written or is too large.
    pub fn add(
        &mut self,
        number: u32,
        at: usize,
        bytes: &[u8],
        um_per_px: Option<f64>,
    ) -> Result<BlindPhoto, BlindError> {
        let name = format!("photos/{number:03}-{at}.jpg");
        let size = bytes.len() as u64;
        if size > MOST_PHOTO_BYTES || self.photos.len() >= MOST_PHOTOS {
            return Err(too_large(format!("{name} of {size} bytes"), &self.file));
        }
        self.entry(&name, bytes)?;
        self.photos.insert(name.clone());
        Ok(BlindPhoto {
            file: name,
            blake3: blake3::hash(bytes).to_hex().to_string(),
            bytes: size,
            um_per_px,
        })
    }

    /// Ends the file with its list. Gives the hash of the list.
    ///
    /// # Errors
    /// [`BlindError`] when it cannot be written; it is then taken away.
    pub fn end(mut self, list: &BlindList) -> Result<String, BlindError> {
        let json = serde_json::to_vec_pretty(list).map_err(|e| self.fault(e))?;
        let seal = sealed(&list.key, &json);
        let seal = seal.ok_or_else(|| foreign_list("its key is none", &self.file))?;
        self.entry(LIST, &json)?;
        self.entry(SEAL, seal.as_bytes())?;
        if let Some(zip) = self.zip.take() {
            let ended = zip.finish().map_err(io::Error::other);
            let ended =
                ended.and_then(|out| out.into_inner().map_err(io::IntoInnerError::into_error));
            if let Err(error) = ended.and_then(|out| out.sync_all()) {
                fs::remove_file(&self.file).ok();
                return Err(self.fault(error));
            }
        }
        Ok(blake3::hash(&json).to_hex().to_string())
    }

    fn entry(&mut self, name: &str, bytes: &[u8]) -> Result<(), BlindError> {
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        let Some(zip) = &mut self.zip else {
            return Ok(());
        };
        let written = zip.start_file(name, options).map_err(io::Error::other);
        written
            .and_then(|()| zip.write_all(bytes))
            .map_err(|error| self.fault(error))
    }

    fn fault(&self, error: impl Into<io::Error>) -> BlindError {
        BlindError::Io {
            source: error.into(),
            file: self.file.clone(),
        }
    }
}

impl Drop for BlindWriter {
    fn drop(&mut self) {
        if self.zip.take().is_some() {
            // Nothing half written stays behind; where even that fails, the file does not open.
            fs::remove_file(&self.file).ok();
        }
    }
}

/// Opens a file of blind slides: all of it is checked before `keep` is handed the bytes of each
/// photo. Gives the list and its hash.
///
/// # Errors
/// [`BlindError`] for a file that is foreign, cut off, changed or too large, or the first error of
/// `keep`.
pub fn read_blind<E: From<BlindError>>(
    file: &Path,
    mut keep: impl FnMut(&BlindPhoto, &[u8]) -> Result<(), E>,
) -> Result<(BlindList, String), E> {
    let mut zip = open(file)?;
    let names = checked_names(&mut zip, file)?;
    let (list, hash) = checked_list(&mut zip, &names, file)?;
    let photos: Vec<&BlindPhoto> = list.slides.iter().flat_map(|s| &s.photos).collect();
    let mut unpacked = 0_u64;
    for photo in &photos {
        unpacked = unpacked.saturating_add(photo.bytes);
        if photo.bytes > MOST_PHOTO_BYTES || unpacked > MOST_UNPACKED {
            return Err(too_large(format!("{} takes {unpacked} bytes", photo.file), file).into());
        }
    }
    // Twice through the file: nothing is kept of one that is not whole.
    for photo in &photos {
        checked_photo(&mut zip, &names, photo, file)?;
    }
    for photo in &photos {
        let bytes = checked_photo(&mut zip, &names, photo, file)?;
        keep(photo, &bytes)?;
    }
    Ok((list, hash))
}

/// Writes an answer in place of what was there, sealed with the key of its list; whole or not at
/// all.
///
/// # Errors
/// [`BlindError`] when it cannot be written.
pub fn answer_bytes(answer: &BlindAnswer, key: &str, file: &Path) -> Result<Vec<u8>, BlindError> {
    let mut bytes = serde_json::to_vec(answer).map_err(|source| BlindError::Io {
        source: source.into(),
        file: file.to_owned(),
    })?;
    let seal = sealed(key, &bytes).ok_or_else(|| foreign_list("its key is none", file))?;
    bytes.extend(format!("\n{{\"seal\":\"{seal}\"}}\n").bytes());
    Ok(bytes)
}

/// Reads an answer; `key_of` gives the key that belongs to the list it answers.
///
/// # Errors
/// [`BlindError`] for a file that is foreign, cut off, changed or too large, or the first error of
/// `key_of`.
pub fn read_answer<E: From<BlindError>>(
    file: &Path,
    key_of: impl FnOnce(&str) -> Result<String, E>,
) -> Result<BlindAnswer, E> {
    let io_at = |source| BlindError::Io {
        source,
        file: file.to_owned(),
    };
    let size = fs::metadata(file).map_err(io_at)?.len();
    if size > MOST_LIST_BYTES {
        return Err(too_large(format!("{size} bytes"), file).into());
    }
    let bytes = fs::read(file).map_err(io_at)?;
    let foreign = |why: &str| BlindError::Foreign {
        wanted: "answer of a second reader",
        why: why.to_owned(),
        file: file.to_owned(),
    };
    let head = format!("{{\"format\":\"{ANSWER}\",");
    if !bytes.starts_with(head.as_bytes()) {
        return Err(foreign("it does not begin as one").into());
    }
    let truncated = || BlindError::Truncated {
        file: file.to_owned(),
    };
    let end = bytes
        .iter()
        .position(|b| *b == b'\n')
        .ok_or_else(truncated)?;
    let (answered, rest) = bytes.split_at(end);
    let said = std::str::from_utf8(rest).unwrap_or_default().trim();
    let seal = said
        .strip_prefix("{\"seal\":\"")
        .and_then(|s| s.strip_suffix("\"}"));
    let seal = seal.ok_or_else(truncated)?;
    if let Some(version) = version_of(answered).filter(|version| *version > VERSION) {
        let file = file.to_owned();
        return Err(BlindError::Newer { version, file }.into());
    }
    let answer: BlindAnswer =
        serde_json::from_slice(answered).map_err(|error| foreign(&error.to_string()))?;
    let key = key_of(&answer.of)?;
    if sealed(&key, answered).as_deref() != Some(seal) {
        return Err(tampered("the answer", file).into());
    }
    let numbers: BTreeSet<u32> = answer.calls.iter().map(|call| call.number).collect();
    if numbers.len() != answer.calls.len() || numbers.len() > MOST_SLIDES {
        return Err(foreign("a slide is answered twice").into());
    }
    Ok(answer)
}

fn version_of(json: &[u8]) -> Option<u32> {
    let value: serde_json::Value = serde_json::from_slice(json).ok()?;
    u32::try_from(value.get("version")?.as_u64()?).ok()
}

/// The seal of these bytes under a key of 64 hexadecimal digits.
fn sealed(key: &str, bytes: &[u8]) -> Option<String> {
    let key = blake3::Hash::from_hex(key).ok()?;
    Some(
        blake3::keyed_hash(key.as_bytes(), bytes)
            .to_hex()
            .to_string(),
    )
}

type Archive = ZipArchive<BufReader<File>>;

/// Opens the zip file after its end was looked at: a count of entries beyond the limit is refused
/// before their names are read.
fn open(file: &Path) -> Result<Archive, BlindError> {
    let io_at = |source| BlindError::Io {
        source,
        file: file.to_owned(),
    };
    let mut own = File::open(file).map_err(io_at)?;
    let about = own.metadata().map_err(io_at)?;
    if !about.is_file() {
        return Err(foreign_list("it is no file", file));
    }
    let size = about.len();
    if size > MOST_BYTES {
        return Err(too_large(format!("{size} bytes"), file));
    }
    let mut begin = [0; 4];
    let begun = own.read(&mut begin).map_err(io_at)?;
    if begun < 4 || begin != *b"PK\x03\x04" {
        return Err(foreign_list("it is no zip file", file));
    }
    let from = (size as i64 - END_BYTES).max(0) as u64;
    own.seek(SeekFrom::Start(from)).map_err(io_at)?;
    let mut end = Vec::new();
    let mut limited = (&own).take(END_BYTES as u64);
    limited.read_to_end(&mut end).map_err(io_at)?;
    let at = end.windows(4).rposition(|four| four == b"PK\x05\x06");
    let count = at.and_then(|at| Some([*end.get(at + 10)?, *end.get(at + 11)?]));
    let Some(count) = count.map(u16::from_le_bytes) else {
        let file = file.to_owned();
        return Err(BlindError::Truncated { file });
    };
    if usize::from(count) > MOST_PHOTOS + 2 {
        return Err(too_large(format!("{count} files"), file));
    }
    own.seek(SeekFrom::Start(0)).map_err(io_at)?;
    ZipArchive::new(BufReader::new(own)).map_err(|_unreadable| BlindError::Truncated {
        file: file.to_owned(),
    })
}

/// The names in the file, each one that such a file can have, with their positions.
fn checked_names(zip: &mut Archive, file: &Path) -> Result<BTreeMap<String, usize>, BlindError> {
    let mut names = BTreeMap::new();
    for at in 0..zip.len() {
        let damaged = |_: zip::result::ZipError| tampered("the file", file);
        let entry = zip.by_index_raw(at).map_err(damaged)?;
        let name = entry.name().map_err(damaged)?.into_owned();
        let leaves = name.starts_with('/')
            || name.contains(['\\', ':', '\0'])
            || name.split('/').any(|part| part == "..")
            || entry.is_symlink();
        if leaves {
            let file = file.to_owned();
            return Err(BlindError::Outside { name, file });
        }
        if !(name == LIST || name == SEAL || is_photo_name(&name)) {
            return Err(foreign_list(&format!("it holds \"{name}\""), file));
        }
        if names.insert(name.clone(), at).is_some() {
            return Err(foreign_list(&format!("it holds \"{name}\" twice"), file));
        }
    }
    Ok(names)
}

fn is_photo_name(name: &str) -> bool {
    let numbers = name
        .strip_prefix("photos/")
        .and_then(|rest| rest.strip_suffix(".jpg"))
        .and_then(|rest| rest.split_once('-'));
    let digits =
        |text: &str| (1..=6).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    numbers.is_some_and(|(slide, photo)| digits(slide) && digits(photo))
}

fn checked_list(
    zip: &mut Archive,
    names: &BTreeMap<String, usize>,
    file: &Path,
) -> Result<(BlindList, String), BlindError> {
    let json = entry(zip, names, LIST, MOST_LIST_BYTES, file)?;
    let seal = entry(zip, names, SEAL, 200, file)?;
    let head: serde_json::Value =
        serde_json::from_slice(&json).map_err(|_broken| tampered(LIST, file))?;
    if head.get("format").and_then(serde_json::Value::as_str) != Some(FORMAT) {
        return Err(foreign_list("its list is of another kind", file));
    }
    if let Some(version) = version_of(&json).filter(|version| *version > VERSION) {
        let file = file.to_owned();
        return Err(BlindError::Newer { version, file });
    }
    let list: BlindList =
        serde_json::from_slice(&json).map_err(|error| foreign_list(&error.to_string(), file))?;
    if sealed(&list.key, &json).is_none_or(|own| own.as_bytes() != seal) {
        return Err(tampered(LIST, file));
    }
    let photos = || list.slides.iter().flat_map(|slide| &slide.photos);
    if list.slides.len() > MOST_SLIDES || photos().count() > MOST_PHOTOS {
        return Err(too_large(format!("{} slides", list.slides.len()), file));
    }
    let numbered = (1..)
        .zip(&list.slides)
        .all(|(at, slide)| slide.number == at);
    let listed: BTreeSet<&str> = photos().map(|photo| photo.file.as_str()).collect();
    let plain = listed.len() == photos().count() && listed.iter().all(|name| is_photo_name(name));
    let sane = photos().all(|p| p.um_per_px.is_none_or(|um| um.is_finite() && um > 0.0));
    if !(numbered && plain && sane) || list.slides.is_empty() {
        return Err(foreign_list("its list does not count its slides", file));
    }
    if let Some(extra) = names
        .keys()
        .find(|name| !listed.contains(name.as_str()) && *name != LIST && *name != SEAL)
    {
        return Err(foreign_list(
            &format!("\"{extra}\" is not in its list"),
            file,
        ));
    }
    let hash = blake3::hash(&json).to_hex().to_string();
    Ok((list, hash))
}

fn checked_photo(
    zip: &mut Archive,
    names: &BTreeMap<String, usize>,
    photo: &BlindPhoto,
    file: &Path,
) -> Result<Vec<u8>, BlindError> {
    let bytes = entry(zip, names, &photo.file, photo.bytes, file)?;
    let same = blake3::hash(&bytes).to_hex().as_str() == photo.blake3;
    if !same || bytes.len() as u64 != photo.bytes {
        return Err(tampered(&photo.file, file));
    }
    Ok(bytes)
}

/// The bytes of an entry, at most so many.
fn entry(
    zip: &mut Archive,
    names: &BTreeMap<String, usize>,
    name: &str,
    most: u64,
    file: &Path,
) -> Result<Vec<u8>, BlindError> {
    let at = names.get(name);
    let at = at.ok_or_else(|| foreign_list(&format!("\"{name}\" is missing"), file))?;
    let own = zip.by_index(*at).map_err(|_damaged| tampered(name, file))?;
    let mut bytes = Vec::new();
    let read = own.take(most + 1).read_to_end(&mut bytes);
    read.map_err(|_damaged| tampered(name, file))?;
    if bytes.len() as u64 > most {
        return Err(too_large(
            format!("{name} unpacks to more than {most} bytes"),
            file,
        ));
    }
    Ok(bytes)
}

fn foreign_list(why: &str, file: &Path) -> BlindError {
    BlindError::Foreign {
        wanted: "file of blind slides",
        why: why.to_owned(),
        file: file.to_owned(),
    }
}

fn too_large(what: String, file: &Path) -> BlindError {
    BlindError::TooLarge {
        what,
        file: file.to_owned(),
    }
}

fn tampered(what: &str, file: &Path) -> BlindError {
    BlindError::Tampered {
        what: what.to_owned(),
        file: file.to_owned(),
    }
}
