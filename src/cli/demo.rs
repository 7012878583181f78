//! `tailfan demo`: a made-up sample from end to end.

use crate::cli::exit::Failure;
use crate::cli::exit::Outcome;
use crate::cli::output::Output;
use crate::moult::Stage;
use crate::records::Reading;
use crate::texts;
use crate::workflow::demo::Agreement;
use crate::workflow::demo::Demo;
use crate::workflow::demo::DemoEnd;
use crate::workflow::demo::DemoError;
use crate::workflow::demo::DemoRow;
use std::io::IsTerminal as _;
use std::path::Path;
use std::path::PathBuf;

/// Read a made-up sample, set the calls of a made-up reader beside it, and tally them
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Folder for the overlays and the table of results; without it they go to tailfan-demo, and the
    /// made-up farm then opens in the window where there is a display
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

impl Args {
    fn folder(&self) -> PathBuf {
        let usual = || PathBuf::from("tailfan-demo");
        self.out.clone().unwrap_or_else(usual)
    }

    /// Whether the made-up farm is to be opened in the window afterwards.
    pub(in crate::cli) fn opens_window(&self) -> bool {
        let there = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        let display =
            cfg!(any(windows, target_os = "macos")) || there("DISPLAY") || there("WAYLAND_DISPLAY");
        // A script that takes the output wants no window.
        let watched = std::io::stdout().is_terminal();
        cfg!(feature = "desktop") && self.out.is_none() && watched && display
    }
}

/// Reads, tallies and prints. A refused tip is part of the demo: the exit is 0.
pub(in crate::cli) fn run(args: &Args, output: &mut Output) -> Result<Outcome, Failure> {
    let here = Path::new("");
    if Demo::must_paint(here) {
        output.say(texts::demo::PAINTING)?;
    }
    let demo = Demo::prepare(here, &args.folder()).map_err(failure)?;
    let widths = demo.widths();
    output.begin(demo.photos());
    let end = demo.read(|shown| -> Result<(), Stopped> {
        output.step();
        output.line(&row(shown, widths)).map_err(Stopped::Output)
    });
    let end = end.map_err(|stopped| match stopped {
        Stopped::Output(told) => told,
        Stopped::Demo(error) => failure(*error),
    })?;
    output.line("")?;
    output.line(texts::tally::page(&end.tally).trim_end())?;
    output.line("")?;
    differences(&end, output)?;
    output.line("")?;
    for (what, place) in [
        ("photos", demo.folder()),
        ("overlays", &end.overlays),
        ("results", &end.results),
        ("page", &end.page),
        ("logbook", &end.logbook),
    ] {
        output.line(&format!("{what:<8}  {}", place.display()))?;
    }
    if end.logbook_kept {
        output.line(texts::demo::LOGBOOK_KEPT)?;
    }
    output.line("")?;
    output.line(texts::demo::MADE_UP)?;
    output.line(texts::readings::NO_REAL_MICROGRAPH)?;
    output.line(&texts::tally::netted(&end.tally))?;
    Ok(Outcome::Done)
}

/// Why rows stopped coming.
enum Stopped {
    Output(Failure),
    Demo(Box<DemoError>),
}

impl From<DemoError> for Stopped {
    fn from(error: DemoError) -> Self {
        Self::Demo(Box::new(error))
    }
}

fn failure(error: DemoError) -> Failure {
    let hint = match &error {
        DemoError::Overlay(_)
        | DemoError::Write { .. }
        | DemoError::Paint(_)
        | DemoError::Page(_)
        | DemoError::Logbook(_) => "name a folder that you may write to with --out",
        DemoError::Panicked { .. } | DemoError::Model(_) => "please report it",
        _ => {
            "the folder sample-images was changed; `tailfan paint sample-images --sample --seed 26` paints it anew"
        }
    };
    Failure::from(error).hint(hint)
}

fn row(row: &DemoRow, [animal, station, photo]: [usize; 3]) -> String {
    let cells = [
        format!("{:animal$}", row.animal),
        format!("{:station$}", row.station.as_deref().unwrap_or_default()),
        format!("{:photo$}", row.reading.file),
        format!("{:<32}", answer(&row.reading)),
        format!("call {:<6}", call(row)),
        format!("{:<7}", agreement(row.agreement)),
        if row.reading.second_reader {
            texts::readings::SECOND_READER.to_owned()
        } else {
            String::new()
        },
    ];
    cells.join("  ").trim_end().to_owned()
}

/// The proposal, or in few words why there is none.
fn answer(reading: &Reading) -> String {
    if !reading.usable {
        let why: Vec<&str> = reading
            .refusals
            .iter()
            .map(|refusal| texts::refusals::name(refusal.reason))
            .collect();
        return format!("refused: {}", why.join(", "));
    }
    texts::readings::proposal(reading)
}

const fn agreement(agreement: Agreement) -> &'static str {
    match agreement {
        Agreement::Same => "same",
        Agreement::Changed => "changed",
        Agreement::ByEye => "by eye",
        Agreement::Unread => "",
    }
}

fn call(row: &DemoRow) -> &'static str {
    row.call.map_or("unread", Stage::code)
}

/// Where proposals and calls differ, and how many do not.
fn differences(end: &DemoEnd, output: &mut Output) -> Result<(), Failure> {
    let of = |wanted: Agreement| end.rows.iter().filter(move |row| row.agreement == wanted);
    let same = of(Agreement::Same).count();
    let changed = of(Agreement::Changed).count();
    output.line(&texts::demo::agreeing(same, same + changed))?;
    if changed > 0 {
        output.line(texts::demo::DIFFERENCES)?;
    }
    for row in of(Agreement::Changed) {
        let (animal, file) = (&row.animal, &row.reading.file);
        let proposal = texts::readings::proposal(&row.reading);
        output.line(&format!(
            "  {animal} ({file}): proposal {proposal}; call {}",
            call(row)
        ))?;
    }
    let by_eye: Vec<String> = of(Agreement::ByEye)
        .map(|row| format!("{} {}", row.animal, call(row)))
        .collect();
    if !by_eye.is_empty() {
        output.line(&format!("{} {}.", texts::demo::BY_EYE, by_eye.join(", ")))?;
    }
    Ok(())
}
