//! The pond report: every sample of a pond over a season, and what the harvest showed.

use crate::drawing::scheme::Role;
use crate::report::About;
use crate::report::Paper;
use crate::report::ReportError;
use crate::report::sheet::Align;
use crate::report::sheet::Column;
use crate::report::sheet::Flow;
use crate::report::sheet::PLAIN;
use crate::report::sheet::SMALL;
use crate::report::typeset::Face;
use crate::report::write::write;
use crate::tally::Tally;
use crate::texts;
use crate::texts::dates::Civil;

/// A pond over a season.
#[derive(Debug, Clone)]
pub struct Season {
    /// Title, program, date.
    pub about: About,
    /// Says whether the data are made up.
    pub made_up: bool,
    /// The samples, in the order of their netting.
    pub samples: Vec<SeasonSample>,
    /// What the harvests showed, a sentence each.
    pub outcomes: Vec<String>,
}

/// One sample of the season.
#[derive(Debug, Clone)]
pub struct SeasonSample {
    /// When it was netted.
    pub netted: Civil,
    /// Its tally.
    pub tally: Tally,
    /// The verdict that was given over a planned drain, in one sentence; absent where none was.
    pub verdict: Option<String>,
}

/// The pond report as a PDF file.
///
/// # Errors
/// [`ReportError`] when the document breaks a rule of its format.
pub fn season(pond: &Season, paper: Paper) -> Result<Vec<u8>, ReportError> {
    let mut flow = Flow::new(paper);
    let heading = |size: f32| Face { size, strong: true };
    if pond.made_up {
        flow.paragraph(texts::page::MADE_UP, heading(9.2), Role::Words);
    }
    flow.heading(1, &pond.about.title, heading(16.0));
    flow.heading(2, texts::page::SAMPLES, heading(11.0));
    let rows: Vec<(Civil, &Tally, Option<&str>)> = pond
        .samples
        .iter()
        .map(|sample| (sample.netted, &sample.tally, sample.verdict.as_deref()))
        .collect();
    let whole = flow.width();
    let column = |share: f32, align| Column {
        width: share * whole,
        align,
    };
    let columns = [
        column(0.13, Align::Left),
        column(0.09, Align::Right),
        column(0.09, Align::Right),
        column(0.10, Align::Right),
        column(0.10, Align::Right),
        column(0.10, Align::Right),
        column(0.39, Align::Left),
    ];
    flow.table(&columns, &texts::page::season_rows(&rows), SMALL);
    flow.heading(2, texts::page::OUTCOMES, heading(11.0));
    if pond.outcomes.is_empty() {
        flow.paragraph(texts::page::NO_OUTCOMES, PLAIN, Role::Words);
    }
    flow.list(&pond.outcomes, PLAIN, Role::Words);
    flow.paragraph(texts::cautions::VERDICT, SMALL, Role::Quiet);
    write(flow, &pond.about)
}
