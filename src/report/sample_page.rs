//! The manager's page: one sample, its verdict, its tally and the nights ahead.

use crate::cycle::Assumed;
use crate::cycle::arcs::StageArcs;
use crate::drawing::ribbon::Ribbon;
use crate::drawing::ribbon::ribbon;
use crate::drawing::ring::ring;
use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
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

/// Everything that the page says.
#[derive(Debug, Clone)]
pub struct SamplePage {
    /// Title, program, date.
    pub about: About,
    /// Facts of the sample, a name and a value each.
    pub facts: Vec<(String, String)>,
    /// Says whether the data are made up.
    pub made_up: bool,
    /// The verdict in one sentence.
    pub verdict: String,
    /// Why, and until when, a sentence each.
    pub because: Vec<String>,
    /// The tally.
    pub tally: Tally,
    /// The arcs of the stages for the ring.
    pub arcs: StageArcs,
    /// The nights ahead, or why there are none.
    pub nights: Result<NightsAhead, String>,
    /// The slides that decided it.
    pub slides: Vec<Slide>,
    /// Who read, a sentence each.
    pub readers: Vec<String>,
    /// Who was not read, and why.
    pub refused: Vec<String>,
    /// What was assumed.
    pub assumed: Vec<Assumed>,
    /// What the reader and its model rest on, a sentence each.
    pub notes: Vec<String>,
}

/// The forecast as it stands on the page.
#[derive(Debug, Clone)]
pub struct NightsAhead {
    /// The ribbon.
    pub ribbon: Ribbon,
    /// Spans, why there are none, warnings and the sentence that ends every forecast.
    pub sentences: Vec<String>,
}

/// A small picture of a slide.
#[derive(Debug, Clone)]
pub struct Slide {
    /// A JPEG file.
    pub jpeg: Vec<u8>,
    /// Its width and height in pixels.
    pub size: [u32; 2],
    /// What stands below it.
    pub caption: String,
    /// What it shows, for somebody who cannot see it.
    pub says: String,
}

const TITLE: Face = Face {
    size: 14.0,
    strong: true,
};
const VERDICT: Face = Face {
    size: 21.0,
    strong: true,
};
const HEADING: Face = Face {
    size: 11.0,
    strong: true,
};

/// The page as a PDF file.
///
/// # Errors
/// [`ReportError`] when a picture is no JPEG or the document breaks a rule of its format.
pub fn sample_page(page: &SamplePage, paper: Paper) -> Result<Vec<u8>, ReportError> {
    let mut flow = Flow::new(paper);
    head(&mut flow, page);
    tally(&mut flow, page);
    nights(&mut flow, page);
    stages(&mut flow, page);
    slides(&mut flow, page);
    assumed(&mut flow, page);
    cautions(&mut flow);
    rests_on(&mut flow, page);
    write(flow, &page.about)
}

fn head(flow: &mut Flow, page: &SamplePage) {
    if page.made_up {
        flow.paragraph(texts::page::MADE_UP, strong(PLAIN), Role::Words);
    }
    flow.heading(1, &page.about.title, TITLE);
    let facts: Vec<String> = page
        .facts
        .iter()
        .map(|(name, value)| format!("{name} {value}"))
        .collect();
    flow.paragraph(&facts.join(" · "), PLAIN, Role::Quiet);
    flow.space(4.0);
    let top = flow.y();
    let width = flow.width();
    flow.column(14.0, width - 14.0, |flow| {
        flow.heading(2, &page.verdict, VERDICT);
        for sentence in &page.because {
            flow.paragraph(sentence, PLAIN, Role::Words);
        }
        flow.paragraph(texts::cautions::VERDICT, PLAIN, Role::Words);
    });
    flow.post(2.0, [top + 8.0, flow.y()], 4.0);
    flow.space(2.0);
}

const fn strong(face: Face) -> Face {
    Face {
        strong: true,
        ..face
    }
}

/// Room that the nights ahead need, and the words below the ring.
const RIBBON_ROOM: f32 = 245.0;
const RING_KEY_ROOM: f32 = 40.0;
/// Width of the ring, in parts of the sheet's.
const SMALLEST_RING: f32 = 0.32;
const LARGEST_RING: f32 = 0.42;

/// Ring at the left, limits at the right.
fn tally(flow: &mut Flow, page: &SamplePage) {
    flow.heading(2, texts::page::TALLY, HEADING);
    let top = flow.y();
    let width = flow.width();
    // The ring gives way to the ribbon where both can stand on the first sheet.
    let ribbon = page.nights.as_ref().map_or(0.0, |_| RIBBON_ROOM);
    let free = flow.room() - ribbon - RING_KEY_ROOM;
    let left = if free < SMALLEST_RING * width {
        LARGEST_RING * width
    } else {
        free.min(LARGEST_RING * width)
    };
    let ((), ring_end) = flow.column(0.0, left, |flow| {
        let drawing = ring(&page.tally, &page.arcs, Scheme::Paper);
        flow.drawing(drawing, texts::diagrams::ring(&page.tally));
        flow.paragraph(texts::page::RING_KEY, SMALL, Role::Quiet);
    });
    flow.go_to(top);
    let ((), table_end) = flow.column(left + 12.0, width - left - 12.0, |flow| {
        let whole = flow.width();
        let part = |share: f32, align| Column {
            width: share * whole,
            align,
        };
        let columns = [
            part(0.18, Align::Left),
            part(0.15, Align::Right),
            part(0.13, Align::Right),
            part(0.24, Align::Right),
            part(0.11, Align::Right),
            part(0.19, Align::Left),
        ];
        flow.table(&columns, &texts::page::limit_rows(&page.tally), SMALL);
        flow.paragraph(&texts::page::groups_hold(&page.tally), SMALL, Role::Quiet);
        for sentence in texts::page::open_groups(&page.tally) {
            flow.paragraph(&sentence, PLAIN, Role::Words);
        }
    });
    flow.go_to(ring_end.max(table_end));
}

fn nights(flow: &mut Flow, page: &SamplePage) {
    match &page.nights {
        Ok(ahead) => {
            let drawing = ribbon(&ahead.ribbon, Scheme::Paper);
            let height = flow.width() * drawing.height as f32 / drawing.width as f32;
            flow.need(height + 50.0);
            flow.heading(2, texts::page::NIGHTS, HEADING);
            if let Some(first) = ahead.sentences.first() {
                flow.paragraph(first, strong(PLAIN), Role::Words);
            }
            let says = texts::diagrams::ribbon(ahead.ribbon.cells.len(), ahead.ribbon.soft_limit);
            flow.drawing(drawing, says);
            flow.paragraph(texts::page::RIBBON_KEY, SMALL, Role::Quiet);
            for sentence in ahead.sentences.iter().skip(1) {
                flow.paragraph(sentence, PLAIN, Role::Words);
            }
        }
        Err(why) => {
            flow.heading(2, texts::page::NIGHTS, HEADING);
            flow.paragraph(why, PLAIN, Role::Words);
        }
    }
}

/// The table of stages, and beside it who read and who was not read, where these are short.
fn stages(flow: &mut Flow, page: &SamplePage) {
    flow.need(190.0);
    let top = flow.y();
    let beside = page.readers.len() <= MOST_BESIDE && page.refused.len() <= MOST_BESIDE;
    let ((), table_end) = flow.column(0.0, STAGE_TABLE, |flow| {
        flow.heading(2, texts::page::STAGES, HEADING);
        let column = |width: f32, align| Column { width, align };
        let columns = [
            column(32.0, Align::Left),
            column(86.0, Align::Left),
            column(50.0, Align::Right),
            column(50.0, Align::Right),
            column(82.0, Align::Right),
        ];
        flow.table(&columns, &texts::page::stage_rows(&page.tally), SMALL);
    });
    if beside {
        flow.go_to(top);
        let width = flow.width() - STAGE_TABLE - 14.0;
        let ((), people_end) = flow.column(STAGE_TABLE + 14.0, width, |flow| {
            people(flow, page);
        });
        flow.go_to(table_end.max(people_end));
    }
    flow.paragraph(&texts::page::intervals(&page.tally), SMALL, Role::Quiet);
    if !beside {
        people(flow, page);
    }
    flow.heading(2, texts::page::SAYS, HEADING);
    flow.list(&texts::tally::sentences(&page.tally), PLAIN, Role::Words);
}

/// Width of the table of stages, and how many entries may stand beside it.
const STAGE_TABLE: f32 = 306.0;
const MOST_BESIDE: usize = 5;

/// Pictures in a row, so many.
const IN_A_ROW: usize = 3;

fn slides(flow: &mut Flow, page: &SamplePage) {
    if page.slides.is_empty() {
        return;
    }
    let gap = 10.0;
    let width = (flow.width() - gap * (IN_A_ROW as f32 - 1.0)) / IN_A_ROW as f32;
    let height = |slide: &Slide| width * slide.size[1] as f32 / slide.size[0].max(1) as f32;
    let mut first = true;
    for row in page.slides.chunks(IN_A_ROW) {
        let tallest = row.iter().map(height).fold(0.0, f32::max);
        flow.need(tallest + if first { 40.0 } else { 16.0 });
        if first {
            flow.heading(2, texts::page::SLIDES, HEADING);
            first = false;
        }
        let top = flow.y();
        let mut lowest = top;
        for (i, slide) in row.iter().enumerate() {
            flow.go_to(top);
            let ((), end) = flow.column(i as f32 * (width + gap), width, |flow| {
                flow.picture(
                    slide.jpeg.clone(),
                    slide.size,
                    slide.says.clone(),
                    &slide.caption,
                );
            });
            lowest = lowest.max(end);
        }
        flow.go_to(lowest + 4.0);
    }
}

fn people(flow: &mut Flow, page: &SamplePage) {
    flow.heading(2, texts::page::READERS, HEADING);
    if page.readers.is_empty() {
        flow.paragraph(texts::page::NO_READERS, PLAIN, Role::Words);
    }
    flow.list(&page.readers, PLAIN, Role::Words);
    flow.heading(2, texts::page::REFUSED, HEADING);
    if page.tally.unread > 0 {
        flow.paragraph(
            &texts::page::how_many_unread(&page.tally),
            PLAIN,
            Role::Words,
        );
    }
    if page.refused.is_empty() {
        flow.paragraph(texts::page::NONE_REFUSED, PLAIN, Role::Words);
    }
    flow.list(&page.refused, PLAIN, Role::Words);
}

fn assumed(flow: &mut Flow, page: &SamplePage) {
    if page.assumed.is_empty() {
        return;
    }
    flow.need(80.0);
    flow.heading(2, texts::page::ASSUMED, HEADING);
    let whole = flow.width();
    let columns = [0.42, 0.58].map(|share| Column {
        width: share * whole,
        align: Align::Left,
    });
    flow.table(&columns, &texts::page::assumed_rows(&page.assumed), SMALL);
}

fn cautions(flow: &mut Flow) {
    flow.need(120.0);
    flow.heading(2, texts::page::CAUTIONS, HEADING);
    let sentences = texts::cautions::HARVEST.map(str::to_owned);
    flow.list(&sentences, PLAIN, Role::Words);
    flow.paragraph(texts::cautions::DEFER, strong(PLAIN), Role::Words);
}

fn rests_on(flow: &mut Flow, page: &SamplePage) {
    flow.heading(2, texts::page::NOTES, HEADING);
    let mut notes = page.notes.clone();
    if flow.setter.missing() {
        notes.push(texts::page::NO_LETTERS.to_owned());
    }
    flow.list(&notes, PLAIN, Role::Words);
}
