//! The stage key in words: what to look for at the bases, the line, the gap and the new setae, how
//! the shell feels, what the stage is mistaken for, and where each of these is from.

use crate::moult::Stage;

/// The names of the parts of a drawn tip.
pub const SETA: &str = "seta";
/// Pigment up the shaft.
pub const LUMEN_PIGMENT: &str = "pigment in the shaft";
/// The outer line.
pub const CUTICLE: &str = "cuticle";
/// The bar and its cones.
pub const BASE_LINE: &str = "base line, cones";
/// Pigment of the base.
pub const BASE_PIGMENT: &str = "pigment in the base";
/// The tissue's border, where there is one.
pub const EDGE: &str = "edge of the epidermis";
/// The tissue's border, where there is none.
pub const NO_EDGE: &str = "tissue, no edge";
/// What grows beneath.
pub const NEW_SETAE: &str = "new setae";
/// The strip between base line and epidermis.
pub const GAP: &str = "gap";

/// Title of the wall chart.
pub const TITLE: &str = "Stage key";
/// What the chart shows.
pub const SUBTITLE: &str = "Setal bases at the margin of the inner uropod, median third, away from any \
cut. Setae point up, tissue lies below; all drawings have one scale.";
/// The one sentence on the numbers.
pub const OWN_RULE: &str = "The widths of the gap that divide the stages are this program's own rule, \
counted in base widths; no published limit was found.";
/// How to read the marks of the sources.
pub const SOURCES_NOTE: &str = "Numbers name the source; m: from memory, not checked against the \
papers; r: this program's own rule. Drawings: our own hand, no animal was traced.";
/// What to do when the criteria disagree.
pub const DISAGREE: &str = "When the criteria disagree, ask for a second reader and take the riskier \
stage for the time being. C needs a clear base and a crisp line; with one missing it is B.";

/// Where a sentence is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A source of [`SOURCES`], from 1.
    Seen(usize),
    /// Memory.
    Memory,
    /// This program's own rule.
    Own,
}

impl Source {
    /// The mark that stands behind the sentence.
    pub fn mark(self) -> String {
        match self {
            Self::Seen(number) => number.to_string(),
            Self::Memory => "m".to_owned(),
            Self::Own => "r".to_owned(),
        }
    }
}

/// The sources that were read, most of them as abstracts.
pub const SOURCES: [&str; 4] = [
    "Penaeid molting stages, Global Aquaculture Advocate, October 2003 (trade magazine, read as \
     reproduced elsewhere)",
    "Robertson, Bray, Leung-Trujillo & Lawrence 1987, J. World Aquaculture Soc. 18(3) (abstract; P. \
     setiferus and P. stylirostris)",
    "Rusaini 2006, MSc thesis, James Cook University (abstract; P. monodon)",
    "Almeida Neto & Freire 2007, Boletim do Instituto de Pesca 33(2) (abstract; P. vannamei in a \
     commercial pond)",
];

/// A sentence with its source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Said {
    /// What to look at.
    pub of: &'static str,
    /// What is seen.
    pub text: &'static str,
    /// Where it is from.
    pub source: Source,
}

const fn said(of: &'static str, text: &'static str, source: Source) -> Said {
    Said { of, text, source }
}

/// What a stage is called.
pub const fn name(stage: Stage) -> &'static str {
    match stage {
        Stage::A => "just moulted",
        Stage::B => "late post-moult",
        Stage::C => "between moults",
        Stage::D0 | Stage::D1 => "early pre-moult",
        Stage::D2 | Stage::D3 | Stage::D4 => "late pre-moult",
        Stage::E => "the moult itself",
    }
}

const BASES: &str = "Bases";
const LINE: &str = "Line";
const GAP_HEAD: &str = "Gap";
const NEW: &str = "New setae";
const SHELL: &str = "Shell";
const MISTAKEN: &str = "Mistaken for";

/// What to look for in a stage.
pub const fn criteria(stage: Stage) -> &'static [Said] {
    match stage {
        Stage::A => &A,
        Stage::B => &B,
        Stage::C => &C,
        Stage::D0 => &D0,
        Stage::D1 => &D1,
        Stage::D2 => &D2,
        Stage::D3 => &D3,
        Stage::D4 => &D4,
        Stage::E => &E,
    }
}

const A: [Said; 5] = [
    said(
        BASES,
        "a pigmented cellular matrix fills them completely",
        Source::Seen(1),
    ),
    said(
        LINE,
        "none; the walls of the setae are thin and may be bent",
        Source::Memory,
    ),
    said(
        GAP_HEAD,
        "none: the tissue runs into the bases",
        Source::Memory,
    ),
    said(
        SHELL,
        "went with a soft shell more closely than any other stage",
        Source::Seen(4),
    ),
    said(
        MISTAKEN,
        "B, where the matrix has begun to draw back",
        Source::Own,
    ),
];
const B: [Said; 5] = [
    said(
        BASES,
        "the matrix has drawn back and leaves a clear space in them",
        Source::Seen(1),
    ),
    said(LINE, "base line and cones are beginning", Source::Memory),
    said(GAP_HEAD, "none at the margin", Source::Memory),
    said(
        SHELL,
        "like paper: flexes and springs back slowly",
        Source::Memory,
    ),
    said(
        MISTAKEN,
        "C and D0: hard to tell apart in animals whose criteria were out of step",
        Source::Seen(3),
    ),
];
const C: [Said; 5] = [
    said(BASES, "no matrix in them", Source::Seen(1)),
    said(
        LINE,
        "the pigment forms a line at the bases",
        Source::Seen(1),
    ),
    said(LINE, "base line and cones crisp", Source::Memory),
    said(SHELL, "went with a normal shell in a pond", Source::Seen(4)),
    said(
        MISTAKEN,
        "B or D0: look for the clear base first, then for the strip",
        Source::Own,
    ),
];
const D0: [Said; 5] = [
    said(BASES, "clear, unchanged since C", Source::Memory),
    said(
        GAP_HEAD,
        "the pigment has drawn back from the bases and leaves the old cuticle",
        Source::Seen(1),
    ),
    said(LINE, "its edge is even and smooth", Source::Memory),
    said(SHELL, "hard", Source::Memory),
    said(
        MISTAKEN,
        "C, when the strip is thin or the tip is out of focus",
        Source::Own,
    ),
];
const D1: [Said; 5] = [
    said(
        GAP_HEAD,
        "wider; how far the epidermis has drawn back was one of the two most useful characters",
        Source::Seen(2),
    ),
    said(LINE, "scalloped, one notch for each seta", Source::Memory),
    said(
        NEW,
        "faint tubes with two walls inside the tissue, tips not yet out",
        Source::Memory,
    ),
    said(SHELL, "hard", Source::Memory),
    said(
        MISTAKEN,
        "D0, when the scallops are shallow; D2, when the tubes are clear",
        Source::Own,
    ),
];
const D2: [Said; 5] = [
    said(NEW, "developing setae are seen", Source::Seen(1)),
    said(
        NEW,
        "with setules; tips at the edge or just past it",
        Source::Memory,
    ),
    said(GAP_HEAD, "wide and clear", Source::Memory),
    said(
        SHELL,
        "went with soft shells in a pond, less closely than A",
        Source::Seen(4),
    ),
    said(
        MISTAKEN,
        "D1 by the gap alone; B or A in the hand",
        Source::Own,
    ),
];
const D3: [Said; 5] = [
    said(NEW, "developing setae are seen", Source::Seen(1)),
    said(
        NEW,
        "dense, folded, tips well into the gap; folds in the new cuticle",
        Source::Memory,
    ),
    said(GAP_HEAD, "widest", Source::Memory),
    said(
        SHELL,
        "went with soft shells in a pond, less closely than D2",
        Source::Seen(4),
    ),
    said(
        MISTAKEN,
        "new setae for the old ones: find the base line of the old row first",
        Source::Own,
    ),
];
const D4: [Said; 4] = [
    said(
        LINE,
        "the old cuticle is loose and lifts off",
        Source::Memory,
    ),
    said(NEW, "fully formed, folded", Source::Memory),
    said(SHELL, "comes apart where it is pressed", Source::Memory),
    said(
        MISTAKEN,
        "D3: the program proposes D3 for both; only a person calls D4",
        Source::Own,
    ),
];
const E: [Said; 3] = [
    said(
        LINE,
        "the animal is half out of the old cuticle",
        Source::Memory,
    ),
    said(
        NEW,
        "drawn out of the matrix; at night, in under a minute, so hardly ever caught",
        Source::Seen(1),
    ),
    said(
        MISTAKEN,
        "D4, or an empty shed shell; only a person calls E",
        Source::Own,
    ),
];

/// The rule's own widths of the gap, in base widths; `open` where the upper one has no border.
pub fn gap_rule(low: f64, high: f64, open: bool) -> String {
    if high <= 0.0 {
        "Gap by our rule: none".to_owned()
    } else if open {
        format!("Gap by our rule: above {low} base widths")
    } else {
        format!("Gap by our rule: {low} to {high} base widths")
    }
}

/// The colour of a stage for somebody who cannot see it.
pub fn hardness(stage: Stage) -> String {
    let how = match stage.hardness() {
        crate::moult::Hardness::Soft => "soft",
        crate::moult::Hardness::Firm => "firm",
        crate::moult::Hardness::Due => "about to moult",
    };
    format!("Colour of stage {stage}: {how}")
}

/// The drawing of a stage for somebody who cannot see it.
pub fn drawing(stage: Stage) -> String {
    let said: Vec<String> = criteria(stage)
        .iter()
        .map(|one| format!("{}: {}", one.of, one.text))
        .collect();
    format!(
        "Drawing of stage {stage}, {}. {}.",
        name(stage),
        said.join("; ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stage_says_what_it_is_mistaken_for_and_cites_what_is_listed() {
        for stage in Stage::ALL {
            let said = criteria(stage);
            assert!(said.iter().any(|one| one.of == MISTAKEN), "{stage}");
            for one in said {
                if let Source::Seen(number) = one.source {
                    assert!((1..=SOURCES.len()).contains(&number));
                }
            }
        }
    }
}
