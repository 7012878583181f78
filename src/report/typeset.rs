//! Text to lines of glyphs: shaping, fallback from typeface to typeface, line breaks.
//!
//! A letter that no typeface has becomes a question mark, never an empty box.

use crate::report::fonts;
use krilla::text::Font;
use krilla::text::GlyphId;
use krilla::text::KrillaGlyph;
use parley::FontContext;
use parley::Glyph;
use parley::Layout;
use parley::LayoutContext;
use parley::fontique::Collection;
use parley::fontique::CollectionOptions;
use parley::fontique::SourceCache;
use parley::style::FontFamily;
use parley::style::FontFamilyName;
use parley::style::FontWeight;
use parley::style::OverflowWrap;
use parley::style::StyleProperty;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// What stands for a letter that no typeface has.
const NO_LETTER: &str = "?";

/// A mark moves the pen by no more than this, in sizes.
const NO_ADVANCE: f32 = 1e-3;

/// How a text is set; lengths in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::report) struct Face {
    /// Size of the letters.
    pub(in crate::report) size: f32,
    /// Says whether they are bold.
    pub(in crate::report) strong: bool,
}

/// Glyphs of one typeface, from a place in their line on.
#[derive(Debug, Clone)]
pub(in crate::report) struct Run {
    pub(in crate::report) font: Font,
    pub(in crate::report) glyphs: Vec<KrillaGlyph>,
    pub(in crate::report) x: f32,
    /// Whether they are drawn as shapes: marks over and under letters. As text they would be taken
    /// for letters of another word or line, since readers of PDF go by the places of glyphs; the
    /// letter below tells its marks instead.
    pub(in crate::report) outlined: bool,
}

/// One line of text.
#[derive(Debug, Clone)]
pub(in crate::report) struct Line {
    /// Its letters; the glyphs' ranges count in it.
    pub(in crate::report) text: String,
    pub(in crate::report) runs: Vec<Run>,
    pub(in crate::report) width: f32,
    pub(in crate::report) size: f32,
}

/// Sets text in the embedded typefaces.
pub(in crate::report) struct Setter {
    fonts: FontContext,
    layouts: LayoutContext<()>,
    embedded: BTreeMap<u64, Font>,
    missing: bool,
}

impl Setter {
    pub(in crate::report) fn new() -> Self {
        let mut collection = Collection::new(CollectionOptions {
            shared: false,
            system_fonts: false,
        });
        for font in fonts::ALL {
            collection.register_fonts(parley::fontique::Blob::new(Arc::new(font)), None);
        }
        Self {
            fonts: FontContext {
                collection,
                source_cache: SourceCache::default(),
            },
            layouts: LayoutContext::new(),
            embedded: BTreeMap::new(),
            missing: false,
        }
    }

    /// Says whether a letter had to be replaced so far.
    pub(in crate::report) const fn missing(&self) -> bool {
        self.missing
    }

    /// Sets a text in lines no wider than `widest`, unless a word is.
    pub(in crate::report) fn set(
        &mut self,
        text: &str,
        face: Face,
        widest: Option<f32>,
    ) -> Vec<Line> {
        let clean: String = text
            .chars()
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        // A number and its sign stay on one line.
        let clean = clean.replace(" %", "\u{a0}%").replace(" °C", "\u{a0}°C");
        let layout = self.layout(&clean, face, widest);
        let gaps = without_letters(&layout);
        if gaps.is_empty() {
            return self.lines(&layout, &clean, face.size);
        }
        self.missing = true;
        let mut replaced = String::with_capacity(clean.len());
        for (at, c) in clean.char_indices() {
            if gaps.iter().any(|gap| gap.contains(&at)) {
                replaced.push_str(NO_LETTER);
            } else {
                replaced.push(c);
            }
        }
        let layout = self.layout(&replaced, face, widest);
        self.lines(&layout, &replaced, face.size)
    }

    fn layout(&mut self, text: &str, face: Face, widest: Option<f32>) -> Layout<()> {
        let mut builder = self
            .layouts
            .ranged_builder(&mut self.fonts, text, 1.0, false);
        let names = [fonts::FAMILY, fonts::FALLBACK_FAMILY];
        let families = names.map(|name| FontFamilyName::Named(Cow::Borrowed(name)));
        let stack = FontFamily::List(Cow::Owned(families.to_vec()));
        builder.push_default(StyleProperty::FontFamily(stack));
        builder.push_default(StyleProperty::FontSize(face.size));
        builder.push_default(StyleProperty::OverflowWrap(OverflowWrap::Anywhere));
        let weight = if face.strong {
            FontWeight::BOLD
        } else {
            FontWeight::NORMAL
        };
        builder.push_default(StyleProperty::FontWeight(weight));
        let mut layout = builder.build(text);
        layout.break_all_lines(widest);
        layout
    }

    fn lines(&mut self, layout: &Layout<()>, text: &str, size: f32) -> Vec<Line> {
        layout
            .lines()
            .map(|line| {
                let range = line.text_range();
                let own = text.get(range.clone()).unwrap_or_default();
                let mut x = 0.0;
                let mut runs = Vec::new();
                for run in line.runs() {
                    let font = run.font();
                    let Some(font) = self.embedded(font) else {
                        continue;
                    };
                    let from = x;
                    let mut glyphs: Vec<KrillaGlyph> = Vec::new();
                    let mut marks = Vec::new();
                    for (letters, group) in groups(&run, &range) {
                        let alone = group.len() == 1;
                        for glyph in group {
                            let set = KrillaGlyph::new(
                                GlyphId::new(glyph.id),
                                glyph.advance / size,
                                glyph.x / size,
                                glyph.y / size,
                                0.0,
                                letters.clone(),
                                None,
                            );
                            if alone || glyph.advance.abs() > NO_ADVANCE * size {
                                glyphs.push(set);
                            } else {
                                marks.push(Run {
                                    font: font.clone(),
                                    glyphs: vec![set],
                                    x,
                                    outlined: true,
                                });
                            }
                            x += glyph.advance;
                        }
                    }
                    runs.push(Run {
                        font,
                        glyphs,
                        x: from,
                        outlined: false,
                    });
                    runs.append(&mut marks);
                }
                let metrics = line.metrics();
                Line {
                    text: own.to_owned(),
                    runs,
                    width: metrics.advance - metrics.trailing_whitespace,
                    size,
                }
            })
            .collect()
    }

    fn embedded(&mut self, font: &parley::FontData) -> Option<Font> {
        let id = font.data.id();
        if let Some(known) = self.embedded.get(&id) {
            return Some(known.clone());
        }
        let (data, _) = font.data.clone().into_raw_parts();
        let new = Font::new(data.into(), font.index)?;
        self.embedded.insert(id, new.clone());
        Some(new)
    }
}

/// The glyphs of a run with the letters they stand for, as ranges within their line. Letters that
/// were joined to those before them have no glyphs of their own: they belong to the same group.
fn groups(
    run: &parley::layout::Run<'_, ()>,
    line: &Range<usize>,
) -> Vec<(Range<usize>, Vec<Glyph>)> {
    let mut found: Vec<(Range<usize>, Vec<Glyph>)> = Vec::new();
    for cluster in run.visual_clusters() {
        let letters = cluster.text_range();
        let letters = letters.start - line.start..letters.end.min(line.end) - line.start;
        match found.last_mut() {
            Some(last) if cluster.is_ligature_continuation() => last.0.end = letters.end,
            _ => found.push((letters, cluster.glyphs().collect())),
        }
    }
    found
}

/// The parts of a text for which no typeface has a glyph.
fn without_letters(layout: &Layout<()>) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    for line in layout.lines() {
        for run in line.runs() {
            for cluster in run.visual_clusters() {
                let blank = cluster.source_char().is_whitespace();
                if !blank && cluster.glyphs().any(|glyph| glyph.id == 0) {
                    found.push(cluster.text_range());
                }
            }
        }
    }
    found
}
