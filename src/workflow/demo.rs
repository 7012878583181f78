//! A made-up sample from end to end: photos, readings, the calls of a made-up reader, tally, files.

use crate::cycle::species::Species;
use crate::exchange::calls::CallLine;
use crate::exchange::calls::CallsError;
use crate::exchange::calls::read_calls;
use crate::exchange::results::ResultRow;
use crate::exchange::results::ResultsError;
use crate::exchange::results::results_table;
use crate::exchange::sample::SampleError;
use crate::exchange::sample::SampleLine;
use crate::exchange::sample::read_sample;
use crate::moult::Stage;
use crate::progress::Progress;
use crate::records::Reading;
use crate::report::Paper;
use crate::stage::model::ModelError;
use crate::tally::Settings;
use crate::tally::Tally;
use crate::texts;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use crate::units::MicrometresPerPixel;
use crate::units::UnitError;
use crate::workflow::batch::Panicked;
use crate::workflow::batch::read_and_draw;
use crate::workflow::collect::FoundPhoto;
use crate::workflow::logbook::Session;
use crate::workflow::logbook::SessionError;
use crate::workflow::logbook::made_up::MARK;
use crate::workflow::logbook::made_up::MadeUpAnimal;
use crate::workflow::moments::MomentError;
use crate::workflow::overlays::OverlayError;
use crate::workflow::overlays::OverlayFolder;
use crate::workflow::painting::PaintError;
use crate::workflow::painting::paint_sample;
use crate::workflow::reading::ReadOptions;
use crate::workflow::reading::load_model;
use crate::workflow::report::CallsPage;
use crate::workflow::report::PageError;
use crate::workflow::report::SlideSource;
use crate::workflow::report::deciding_slides;
use crate::workflow::report::page_of_calls_with;
use crate::workflow::report::write_page;
use crate::workflow::tallying::TallyingError;
use crate::workflow::tallying::tally_calls_file;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use thiserror::Error;

/// Name of the folder of the made-up sample.
const SAMPLE_FOLDER: &str = "sample-images";
/// Seed from which the made-up sample is painted; the same as of the folder that is handed out.
const SAMPLE_SEED: u64 = 26;
/// Scale of the made-up sample, as its note states.
const SAMPLE_UM_PER_PX: f64 = 0.8;

/// The made-up pond, and when it was netted and is to be drained.
const MADE_UP_POND: &str = "Heron 4";
const MADE_UP_NETTING: &str = "2026-11-26T06:00+07:00";
const MADE_UP_DRAIN: &str = "2026-11-27T04:00+07:00";
/// Its made-up weight and water.
const MADE_UP_GRAMS: f64 = 14.0;
const MADE_UP_CELSIUS: f64 = 28.0;

/// Why the demo could not go on.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DemoError {
    /// The sample could not be painted.
    #[error(transparent)]
    Paint(#[from] PaintError),
    /// The list of the sample cannot be used.
    #[error(transparent)]
    Sample(#[from] SampleError),
    /// The calls cannot be used.
    #[error(transparent)]
    Calls(#[from] CallsError),
    /// There is no tally.
    #[error(transparent)]
    Tally(#[from] TallyingError),
    /// The overlays cannot be written.
    #[error(transparent)]
    Overlay(#[from] OverlayError),
    /// The shipped model cannot be used.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// The scale of the sample is none.
    #[error(transparent)]
    Scale(#[from] UnitError),
    /// The logbook of the made-up farm cannot be written.
    #[error(transparent)]
    Logbook(#[from] SessionError),
    /// The table of results cannot be made.
    #[error(transparent)]
    Results(#[from] ResultsError),
    /// The page cannot be made.
    #[error(transparent)]
    Page(#[from] PageError),
    /// A moment of the made-up sample is none.
    #[error(transparent)]
    Moment(#[from] MomentError),
    /// A photo was not read for a fault of the program.
    #[error("{fault}: {photo}")]
    Panicked {
        /// The fault.
        fault: Panicked,
        /// The photo.
        photo: String,
    },
    /// A file cannot be written.
    #[error("cannot be written: {}", file.display())]
    Write {
        /// The file.
        file: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
}

/// How a call stands to the proposal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    /// The same stage; D4 is the model's D3.
    Same,
    /// Another stage.
    Changed,
    /// A call, though nothing was proposed.
    ByEye,
    /// No call.
    Unread,
}

/// One photo of the sample with its animal.
#[derive(Debug, Clone)]
pub struct DemoRow {
    /// The animal.
    pub animal: String,
    /// Where it was netted.
    pub station: Option<String>,
    /// What was read.
    pub reading: Reading,
    /// What the made-up reader called; absent when unread.
    pub call: Option<Stage>,
    /// How the two stand to each other.
    pub agreement: Agreement,
}

/// The made-up sample, ready to be read.
#[derive(Debug)]
pub struct Demo {
    folder: PathBuf,
    painted: bool,
    list: Vec<SampleLine>,
    photos: Vec<FoundPhoto>,
    calls: BTreeMap<String, CallLine>,
    overlays: OverlayFolder,
    out: PathBuf,
}

/// What is left when all photos are read.
#[derive(Debug)]
pub struct DemoEnd {
    /// One row for each photo.
    pub rows: Vec<DemoRow>,
    /// The calls of the sample, tallied.
    pub tally: Tally,
    /// The folder of the overlays.
    pub overlays: PathBuf,
    /// The table of results.
    pub results: PathBuf,
    /// The page for the manager.
    pub page: PathBuf,
    /// The logbook of the made-up farm.
    pub logbook: PathBuf,
    /// An earlier demo left that logbook, and it was not touched.
    pub logbook_kept: bool,
}

impl Demo {
    /// Whether the sample has to be painted before it can be read: it has unless a folder
    /// `sample-images` with its lists lies in `here`.
    pub fn must_paint(here: &Path) -> bool {
        let folder = here.join(SAMPLE_FOLDER);
        !(folder.join("sample.csv").is_file() && folder.join("calls.csv").is_file())
    }

    /// Finds the sample in `here`, or paints it into `out`, and makes the folders.
    ///
    /// # Errors
    /// [`DemoError`] when the lists cannot be used or the folders cannot be made.
    pub fn prepare(here: &Path, out: &Path) -> Result<Self, DemoError> {
        let painted = Self::must_paint(here);
        let folder = if painted {
            let folder = out.join(SAMPLE_FOLDER);
            paint_sample(&folder, SAMPLE_SEED, &Progress::silent())?;
            folder
        } else {
            here.join(SAMPLE_FOLDER)
        };
        let list = read_sample(&folder.join("sample.csv"))?;
        let calls = read_calls(&folder.join("calls.csv"))?;
        let photos: Vec<FoundPhoto> = list
            .iter()
            .map(|line| FoundPhoto {
                path: folder.join(&line.photo),
                given: line.photo.to_string_lossy().replace('\\', "/"),
            })
            .collect();
        let overlays = OverlayFolder::prepare(&out.join("overlays"), &photos)?;
        Ok(Self {
            folder,
            painted,
            list,
            photos,
            calls: calls
                .into_iter()
                .map(|call| (call.animal.clone(), call))
                .collect(),
            overlays,
            out: out.to_owned(),
        })
    }

    /// The folder of the sample.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Whether the sample was painted just now.
    pub const fn painted(&self) -> bool {
        self.painted
    }

    /// The animals and photos: number of letters of the longest name of each.
    pub fn widths(&self) -> [usize; 3] {
        let longest = |text: &dyn Fn(&SampleLine) -> String| {
            let counts = self.list.iter().map(|line| text(line).chars().count());
            counts.max().unwrap_or(0)
        };
        [
            longest(&|line| line.animal.clone()),
            longest(&|line| line.station.clone().unwrap_or_default()),
            longest(&|line| line.photo.to_string_lossy().into_owned()),
        ]
    }

    /// How many photos there are.
    pub fn photos(&self) -> usize {
        self.photos.len()
    }

    /// Reads every photo, hands its row to `take` in the order of the list, and writes the files.
    ///
    /// # Errors
    /// The first error of `take`, or a [`DemoError`].
    pub fn read<E: From<DemoError>>(
        &self,
        mut take: impl FnMut(&DemoRow) -> Result<(), E>,
    ) -> Result<DemoEnd, E> {
        let options = ReadOptions {
            profile: None,
            scale: Some(MicrometresPerPixel::new(SAMPLE_UM_PER_PX).map_err(DemoError::from)?),
            model: Some(load_model(None).map_err(DemoError::from)?),
            timing: false,
        };
        let mut rows: Vec<DemoRow> = Vec::with_capacity(self.list.len());
        read_and_draw(
            &self.photos,
            &options,
            &self.overlays,
            |photo, drawn| -> Result<(), E> {
                let (read, files) = drawn.map_err(|fault| DemoError::Panicked {
                    fault,
                    photo: photo.given.clone(),
                })?;
                files.map_err(DemoError::from)?;
                let row = self.row(&self.list[rows.len()], read.reading);
                take(&row)?;
                rows.push(row);
                Ok(())
            },
        )?;
        let tally = tally_calls_file(&self.folder.join("calls.csv"), Settings::default())
            .map_err(DemoError::from)?;
        let results = self.write_results(&rows)?;
        let page = self.write_page(&rows)?;
        let logbook = self.out.join("made-up-farm.logbook");
        let logbook_kept = logbook.exists();
        if !logbook_kept {
            self.write_logbook(&logbook, &rows)?;
        }
        Ok(DemoEnd {
            rows,
            tally,
            overlays: self.out.join("overlays"),
            results,
            page,
            logbook,
            logbook_kept,
        })
    }

    /// The manager's page of the made-up sample, with a made-up weight, water and planned drain.
    fn write_page(&self, rows: &[DemoRow]) -> Result<PathBuf, DemoError> {
        let photo = |row: &DemoRow| self.folder.join(&row.reading.file);
        let photos: Vec<PathBuf> = rows.iter().map(photo).collect();
        let sources: Vec<SlideSource<'_>> = rows
            .iter()
            .zip(&photos)
            .filter_map(|(row, photo)| {
                Some(SlideSource {
                    animal: &row.animal,
                    stage: row.call?,
                    reading: Some(&row.reading),
                    photo,
                })
            })
            .collect();
        let model = rows.iter().find_map(|row| row.reading.model.clone());
        let mut request = made_up_page(self.folder.join("calls.csv"))?;
        request.readers.push(texts::page::MADE_UP_READER.to_owned());
        let page = page_of_calls_with(&request, model, |tally| deciding_slides(tally, &sources))?;
        let file = self.out.join("page.pdf");
        write_page(&page, Paper::A4, &file)?;
        Ok(file)
    }

    fn row(&self, line: &SampleLine, reading: Reading) -> DemoRow {
        let call = self.calls.get(&line.animal).and_then(|call| call.stage);
        DemoRow {
            animal: line.animal.clone(),
            station: line.station.clone(),
            agreement: agreement(reading.proposal, call),
            reading,
            call,
        }
    }

    fn write_logbook(&self, file: &Path, rows: &[DemoRow]) -> Result<(), DemoError> {
        let animals: Vec<MadeUpAnimal> = rows
            .iter()
            .zip(&self.photos)
            .map(|(row, photo)| MadeUpAnimal {
                name: row.animal.clone(),
                station: row.station.clone(),
                shell: self.calls.get(&row.animal).and_then(|call| call.shell),
                photo: photo.path.clone(),
                reading: row.reading.clone(),
                call: row.call,
            })
            .collect();
        let (mut session, _) = Session::create_made_up_farm(file, &animals, SAMPLE_UM_PER_PX)?;
        session.set_setting(MARK, serde_json::json!(true))?;
        Ok(())
    }

    fn write_results(&self, rows: &[DemoRow]) -> Result<PathBuf, DemoError> {
        let table: Vec<ResultRow<'_>> = rows
            .iter()
            .map(|row| ResultRow {
                reading: &row.reading,
                animal: Some(&row.animal),
                station: row.station.as_deref(),
                call: Some(row.call.map_or("unread", Stage::code)),
            })
            .collect();
        let file = self.out.join("results.csv");
        let bytes = results_table(&table)?;
        match fs::write(&file, bytes) {
            Ok(()) => Ok(file),
            Err(source) => Err(DemoError::Write { file, source }),
        }
    }
}

/// What the made-up page is made from.
fn made_up_page(calls: PathBuf) -> Result<CallsPage, MomentError> {
    Ok(CallsPage {
        calls,
        settings: Settings::default(),
        pond: MADE_UP_POND.to_owned(),
        netted: MADE_UP_NETTING.parse()?,
        species: Some(Species::Vannamei),
        weight: Some(Grams::new(MADE_UP_GRAMS)),
        water: vec![DegreesCelsius::new(MADE_UP_CELSIUS)],
        drain_start: Some(MADE_UP_DRAIN.parse()?),
        drain_hours: None,
        readers: Vec::new(),
        made_up: true,
    })
}

/// How a call stands to a proposal.
fn agreement(proposal: Option<Stage>, call: Option<Stage>) -> Agreement {
    match (proposal, call) {
        (_, None) => Agreement::Unread,
        (None, Some(_)) => Agreement::ByEye,
        (Some(proposal), Some(call)) if call.as_proposed() == Some(proposal) => Agreement::Same,
        (Some(_), Some(_)) => Agreement::Changed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_call_of_d4_agrees_with_d3_and_e_with_nothing() {
        let cases = [
            (Some(Stage::D3), Some(Stage::D4), Agreement::Same),
            (Some(Stage::D3), Some(Stage::E), Agreement::Changed),
            (Some(Stage::C), Some(Stage::D0), Agreement::Changed),
            (None, Some(Stage::A), Agreement::ByEye),
            (Some(Stage::A), None, Agreement::Unread),
        ];
        for (proposal, call, wanted) in cases {
            assert_eq!(agreement(proposal, call), wanted, "{proposal:?} {call:?}");
        }
    }

    #[test]
    fn the_lists_of_the_sample_name_the_same_animals_and_photos_that_are_there() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(SAMPLE_FOLDER);
        let list = read_sample(&folder.join("sample.csv")).unwrap();
        let calls = read_calls(&folder.join("calls.csv")).unwrap();
        let animals: Vec<&str> = list.iter().map(|line| line.animal.as_str()).collect();
        let called: Vec<&str> = calls.iter().map(|line| line.animal.as_str()).collect();
        assert_eq!(animals, called);
        assert!(list.iter().all(|line| folder.join(&line.photo).is_file()));
    }
}
