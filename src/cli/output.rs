//! Standard output and standard error: data, words and a progress bar, without mixing them.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::progress::Progress;
use indicatif::ProgressBar;
use indicatif::ProgressStyle;
use serde::Serialize;
use std::io;
use std::io::BufWriter;
use std::io::IsTerminal as _;
use std::io::StdoutLock;
use std::io::Write as _;

/// How a progress bar looks.
const TEMPLATE: &str = "{pos}/{len} {wide_bar} {eta}";

/// Where a command writes.
#[derive(Debug)]
pub struct Output {
    data: BufWriter<StdoutLock<'static>>,
    bar: Option<ProgressBar>,
}

impl Output {
    /// Takes hold of standard output.
    pub fn new() -> Self {
        Self {
            data: BufWriter::new(io::stdout().lock()),
            bar: None,
        }
    }

    /// Writes one line of data, and sends it off at once.
    ///
    /// # Errors
    /// A [`Failure`] of writing; a broken pipe ends the program without complaint.
    pub fn line(&mut self, text: &str) -> Result<(), Failure> {
        let data = &mut self.data;
        let mut write = || {
            data.write_all(text.as_bytes())?;
            data.write_all(b"\n")?;
            data.flush()
        };
        match &self.bar {
            Some(bar) => bar.suspend(write)?,
            None => write()?,
        }
        Ok(())
    }

    /// Writes a value as one line of JSON.
    ///
    /// # Errors
    /// As [`Output::line`].
    pub fn json(&mut self, value: &impl Serialize) -> Result<(), Failure> {
        let text = serde_json::to_string(value)?;
        self.line(&text)
    }

    /// Writes a page of several lines, and sends it off at once.
    ///
    /// # Errors
    /// As [`Output::line`].
    pub fn page(
        &mut self,
        write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>,
    ) -> Result<(), Failure> {
        let mut text = Vec::new();
        write(&mut text)?;
        self.line(String::from_utf8_lossy(&text).trim_end())
    }

    /// Writes a line of words to standard error.
    ///
    /// # Errors
    /// A [`Failure`] of writing.
    pub fn say(&self, text: &str) -> Result<(), Failure> {
        let write = || writeln!(io::stderr(), "{text}");
        match &self.bar {
            Some(bar) => bar.suspend(write)?,
            None => write()?,
        }
        Ok(())
    }

    /// Shows a progress bar over `total` steps, when a person is watching standard error.
    pub fn begin(&mut self, total: usize) {
        if total > 1 && io::stderr().is_terminal() {
            let bar = ProgressBar::new(total as u64);
            if let Ok(style) = ProgressStyle::with_template(TEMPLATE) {
                bar.set_style(style);
            }
            self.bar = Some(bar);
        }
    }

    /// Progress that fills a bar of its own, when a person is watching standard error. A bar that was
    /// there is replaced.
    pub fn watch(&mut self) -> Progress {
        self.clear();
        if !io::stderr().is_terminal() {
            return Progress::silent();
        }
        let bar = ProgressBar::new(0);
        if let Ok(style) = ProgressStyle::with_template(TEMPLATE) {
            bar.set_style(style);
        }
        self.bar = Some(bar.clone());
        Progress::watched(move |done, total| {
            bar.set_length(total as u64);
            bar.set_position(done as u64);
        })
    }

    /// Takes the progress bar away.
    pub fn clear(&mut self) {
        if let Some(bar) = self.bar.take() {
            bar.finish_and_clear();
        }
    }

    /// Counts one step of the progress bar.
    pub fn step(&self) {
        if let Some(bar) = &self.bar {
            bar.inc(1);
        }
    }

    /// Takes the progress bar away and sends off what is left.
    ///
    /// # Errors
    /// A [`Failure`] of writing.
    pub fn finish(&mut self, outcome: Outcome) -> Result<Outcome, Failure> {
        self.clear();
        self.data.flush()?;
        Ok(outcome)
    }
}

impl Default for Output {
    fn default() -> Self {
        Self::new()
    }
}
