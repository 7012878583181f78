//! Letters: how wide a text is, where lines break, and the ink of each letter.

use crate::drawing::raster::RasterError;
use crate::geometry::Point;
use ab_glyph::Font as _;
use ab_glyph::FontRef;
use ab_glyph::PxScale;
use ab_glyph::ScaleFont as _;

/// The typeface of pictures, at one size.
pub(in crate::drawing) struct Letters {
    font: FontRef<'static>,
    scale: PxScale,
}

impl Letters {
    /// DejaVu Sans with lines `size` pixels high.
    ///
    /// # Errors
    /// [`RasterError::Font`] when the built-in typeface is damaged.
    pub(in crate::drawing) fn new(size: f64) -> Result<Self, RasterError> {
        Self::of(dejavu::sans::regular(), size)
    }

    /// The same in bold letters.
    ///
    /// # Errors
    /// [`RasterError::Font`] when the built-in typeface is damaged.
    pub(in crate::drawing) fn bold(size: f64) -> Result<Self, RasterError> {
        Self::of(dejavu::sans::bold(), size)
    }

    fn of(font: &'static [u8], size: f64) -> Result<Self, RasterError> {
        Ok(Self {
            font: FontRef::try_from_slice(font)?,
            scale: PxScale::from(size as f32),
        })
    }

    /// Width of a text in pixels.
    pub(in crate::drawing) fn width(&self, text: &str) -> f64 {
        let font = self.font.as_scaled(self.scale);
        text.chars()
            .map(|c| f64::from(font.h_advance(font.glyph_id(c))))
            .sum()
    }

    /// Breaks a text at its blanks into lines no wider than `most` pixels; a longer word stays whole.
    pub(in crate::drawing) fn broken(&self, text: &str, most: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split(' ') {
            match lines.last_mut() {
                Some(line) if self.width(&format!("{line} {word}")) <= most => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push(word.to_owned()),
            }
        }
        lines
    }

    /// Hands the ink of a text to `ink`: pixel x, pixel y, coverage from 0 to 1. The text begins at
    /// `from`, the middle of its height.
    pub(in crate::drawing) fn set(
        &self,
        text: &str,
        from: Point,
        mut ink: impl FnMut(i64, i64, f32),
    ) {
        let font = self.font.as_scaled(self.scale);
        let base = from.y as f32 + 0.5 * (font.ascent() + font.descent());
        let mut pen = from.x as f32;
        for c in text.chars() {
            let glyph = font.scaled_glyph(c);
            let id = glyph.id;
            let mut placed = glyph;
            placed.position = ab_glyph::point(pen, base);
            pen += font.h_advance(id);
            if let Some(outline) = self.font.outline_glyph(placed) {
                let corner = outline.px_bounds().min;
                outline.draw(|x, y, coverage| {
                    ink(
                        corner.x as i64 + i64::from(x),
                        corner.y as i64 + i64::from(y),
                        coverage,
                    );
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_blanks_and_hold_every_word() {
        let letters = Letters::new(20.0).unwrap();
        let text = "no margin in view: move the slide until the edge crosses the picture";
        let lines = letters.broken(text, 200.0);
        assert_eq!(lines.join(" "), text);
        assert!(lines.len() > 2);
        for line in &lines {
            assert!(letters.width(line) <= 200.0, "{line}");
        }
    }

    #[test]
    fn the_letters_of_measures_are_in_the_typeface() {
        let letters = Letters::new(20.0).unwrap();
        for c in "Aµ°±\u{a0}–".chars() {
            assert_ne!(letters.font.glyph_id(c).0, 0, "{c}");
        }
    }
}
