//! How the program ends: 0 done; 1 done, but something was refused; 2 misused or failed. A reader
//! that closes the pipe early is content, hence 0.

use std::error::Error;
use std::io;
use std::io::Write as _;
use std::path::Path;
use std::process::ExitCode;

/// How a command that did its work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// All of it was done.
    Done,
    /// It was done, but something was refused.
    Refused,
}

/// A command that could not do its work: the error, and what the user can do.
#[derive(Debug)]
pub struct Failure {
    error: Box<dyn Error + Send + Sync>,
    place: Option<String>,
    hint: Option<String>,
    told: bool,
}

impl<E: Error + Send + Sync + 'static> From<E> for Failure {
    fn from(error: E) -> Self {
        Self {
            error: Box::new(error),
            place: None,
            hint: None,
            told: false,
        }
    }
}

impl Failure {
    /// A wrong use of the program, with what would be right.
    pub fn misuse(error: &'static str, hint: &str) -> Self {
        Self {
            error: error.into(),
            place: None,
            hint: Some(hint.to_owned()),
            told: false,
        }
    }

    /// A failure of which the user has already been told.
    pub fn told(error: impl Error + Send + Sync + 'static) -> Self {
        Self {
            told: true,
            ..Self::from(error)
        }
    }

    /// The same failure with a word on what to do.
    #[must_use]
    pub fn hint(self, hint: impl Into<String>) -> Self {
        Self {
            hint: Some(hint.into()),
            ..self
        }
    }

    /// The same failure with the file it is about.
    #[must_use]
    pub fn at(self, path: &Path) -> Self {
        Self {
            place: Some(path.display().to_string()),
            ..self
        }
    }

    /// The error, then what it came from.
    fn chain(&self) -> impl Iterator<Item = &(dyn Error + 'static)> {
        let first: &(dyn Error + 'static) = self.error.as_ref();
        std::iter::successors(Some(first), |&error| error.source())
    }

    fn is_broken_pipe(&self) -> bool {
        self.chain().any(|error| {
            error
                .downcast_ref::<io::Error>()
                .is_some_and(|error| error.kind() == io::ErrorKind::BrokenPipe)
        })
    }
}

/// The end of a run whose arguments clap did not take: help and version are no failure.
///
/// # Errors
/// A [`Failure`] that clap has already told, or one of writing.
pub fn of_arguments(error: &clap::Error) -> Result<Outcome, Failure> {
    error.print()?;
    if error.exit_code() == 0 {
        Ok(Outcome::Done)
    } else {
        Err(Failure::told(io::Error::other("misused")))
    }
}

/// Turns the end of a run into the exit code, and tells a failure on standard error.
pub fn code(done: Result<Outcome, Failure>) -> ExitCode {
    match done {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::Refused) => ExitCode::from(1),
        Err(failure) if failure.is_broken_pipe() => ExitCode::SUCCESS,
        Err(failure) => {
            if !failure.told {
                tell(&failure);
            }
            ExitCode::from(2)
        }
    }
}

fn tell(failure: &Failure) {
    let mut text = String::from("error");
    let mut last = String::new();
    for error in failure.chain() {
        let message = error.to_string();
        // A transparent error repeats its source, and some quote it.
        if !last.contains(&message) {
            text.push_str(": ");
            text.push_str(&message);
        }
        last = message;
    }
    if let Some(place) = &failure.place {
        text.push_str(": ");
        text.push_str(place);
    }
    if let Some(hint) = &failure.hint {
        text.push_str("\nhint: ");
        text.push_str(hint);
    }
    text.push('\n');
    // When even standard error is gone, the exit code still speaks.
    drop(io::stderr().write_all(text.as_bytes()));
}
