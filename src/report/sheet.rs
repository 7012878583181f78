//! What lies where on the sheets: text, drawings and pictures flow down, in reading order.
//!
//! Lengths are points, 72 to the inch, y down from the upper edge of the paper. Nothing here
//! knows PDF: the sheets are written by `crate::report::write`.

use crate::drawing::scheme::Role;
use crate::drawing::scheme::Scheme;
use crate::drawing::shapes::Colour;
use crate::drawing::shapes::Drawing;
use crate::report::Paper;
use crate::report::typeset::Face;
use crate::report::typeset::Line;
use crate::report::typeset::Setter;

/// White space around a sheet, and the room of the foot within the lower one.
pub(in crate::report) const MARGIN: f32 = 40.0;
const FOOT: f32 = 18.0;
/// Lines are so far apart, in sizes of their letters.
const LEADING: f32 = 1.32;
/// The base line of a line lies so far below its top, in sizes of its letters.
const ASCENT: f32 = 1.02;

/// The letters of plain text.
pub(in crate::report) const PLAIN: Face = Face {
    size: 9.2,
    strong: false,
};
/// Small ones, for sources and notes.
pub(in crate::report) const SMALL: Face = Face {
    size: 7.8,
    strong: false,
};

/// Something on a sheet.
pub(in crate::report) enum Item {
    /// A line of text; its base line begins there.
    Text {
        line: Line,
        x: f32,
        y: f32,
        colour: Colour,
    },
    /// A drawing with its upper left corner there.
    Drawing {
        drawing: Drawing,
        x: f32,
        y: f32,
        scale: f32,
    },
    /// A JPEG file.
    Picture {
        jpeg: Vec<u8>,
        x: f32,
        y: f32,
        width: f32,
        height: f32,
    },
    /// A line that only divides.
    Rule {
        from: [f32; 2],
        to: [f32; 2],
        width: f32,
    },
}

/// Where an item lies: sheet and place on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::report) struct Leaf {
    pub(in crate::report) sheet: usize,
    pub(in crate::report) item: usize,
}

/// A part of the text, in reading order.
pub(in crate::report) enum Block {
    /// A heading, 1 being the title.
    Heading {
        level: u16,
        title: String,
        leaves: Vec<Leaf>,
    },
    /// A paragraph.
    Paragraph(Vec<Leaf>),
    /// A list, an entry each.
    List(Vec<Vec<Leaf>>),
    /// A table: rows of cells, the first row being its head.
    Table(Vec<Vec<Vec<Leaf>>>),
    /// A drawing or picture with its words for those who cannot see it.
    Figure { says: String, leaves: Vec<Leaf> },
}

/// Where a cell's words stand in their column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::report) enum Align {
    Left,
    Right,
}

/// A column of a table.
#[derive(Debug, Clone, Copy)]
pub(in crate::report) struct Column {
    pub(in crate::report) width: f32,
    pub(in crate::report) align: Align,
}

/// Sheets that fill from top to bottom.
pub(in crate::report) struct Flow {
    pub(in crate::report) setter: Setter,
    pub(in crate::report) sheets: Vec<Vec<Item>>,
    pub(in crate::report) blocks: Vec<Block>,
    pub(in crate::report) paper: [f32; 2],
    /// Left edge and width of the column that is being filled.
    left: f32,
    width: f32,
    y: f32,
}

impl Flow {
    pub(in crate::report) fn new(paper: Paper) -> Self {
        let paper = paper.points();
        Self {
            setter: Setter::new(),
            sheets: vec![Vec::new()],
            blocks: Vec::new(),
            paper,
            left: MARGIN,
            width: paper[0] - 2.0 * MARGIN,
            y: MARGIN,
        }
    }

    pub(in crate::report) const fn y(&self) -> f32 {
        self.y
    }

    pub(in crate::report) const fn width(&self) -> f32 {
        self.width
    }

    /// How much room is left on the sheet.
    pub(in crate::report) fn room(&self) -> f32 {
        self.paper[1] - MARGIN - FOOT - self.y
    }

    pub(in crate::report) fn space(&mut self, height: f32) {
        self.y += height;
    }

    /// Begins a new sheet.
    pub(in crate::report) fn turn(&mut self) {
        self.sheets.push(Vec::new());
        self.y = MARGIN;
    }

    /// Begins a new sheet unless so much room is left.
    pub(in crate::report) fn need(&mut self, height: f32) {
        if self.room() < height && self.y > MARGIN {
            self.turn();
        }
    }

    /// Fills a column beside others: `fill` starts where the flow stands and the flow goes on
    /// below it. Returns where it ended.
    pub(in crate::report) fn column<T>(
        &mut self,
        offset: f32,
        width: f32,
        fill: impl FnOnce(&mut Self) -> T,
    ) -> (T, f32) {
        let (left, whole) = (self.left, self.width);
        self.left = left + offset;
        self.width = width;
        let done = fill(self);
        self.left = left;
        self.width = whole;
        (done, self.y)
    }

    /// Sets the flow to a height of the sheet.
    pub(in crate::report) const fn go_to(&mut self, y: f32) {
        self.y = y;
    }

    fn push(&mut self, item: Item) -> Leaf {
        let sheet = self.sheets.len() - 1;
        if let Some(items) = self.sheets.last_mut() {
            items.push(item);
        }
        let item = self.sheets.last().map_or(0, Vec::len).saturating_sub(1);
        Leaf { sheet, item }
    }

    /// Sets lines of text from `x` on and moves below them; new sheets as they are needed.
    fn lines(&mut self, lines: Vec<Line>, x: f32, colour: Colour) -> Vec<Leaf> {
        let mut leaves = Vec::with_capacity(lines.len());
        for line in lines {
            let step = LEADING * line.size;
            self.need(step);
            let y = self.y + ASCENT * line.size;
            leaves.push(self.push(Item::Text { line, x, y, colour }));
            self.y += step;
        }
        leaves
    }

    fn ink(role: Role) -> Colour {
        Scheme::Paper.of(role)
    }

    /// A heading with a little space above.
    pub(in crate::report) fn heading(&mut self, level: u16, text: &str, face: Face) {
        if self.y > MARGIN {
            self.y += 0.55 * face.size;
        }
        self.need(5.0 * face.size);
        let lines = self.setter.set(text, face, Some(self.width));
        let leaves = self.lines(lines, self.left, Self::ink(Role::Words));
        self.y += 0.15 * face.size;
        self.blocks.push(Block::Heading {
            level,
            title: text.to_owned(),
            leaves,
        });
    }

    /// A paragraph.
    pub(in crate::report) fn paragraph(&mut self, text: &str, face: Face, role: Role) {
        let lines = self.setter.set(text, face, Some(self.width));
        let leaves = self.lines(lines, self.left, Self::ink(role));
        self.y += 0.28 * face.size;
        self.blocks.push(Block::Paragraph(leaves));
    }

    /// A list of sentences, each behind a dash.
    pub(in crate::report) fn list(&mut self, entries: &[String], face: Face, role: Role) {
        if entries.is_empty() {
            return;
        }
        let indent = 1.1 * face.size;
        let mut leaves = Vec::with_capacity(entries.len());
        for entry in entries {
            let mut lines = self.setter.set(entry, face, Some(self.width - indent));
            let Some(first) = lines.first() else {
                continue;
            };
            self.need(LEADING * first.size);
            let y = self.y + ASCENT * face.size;
            let mut own = Vec::new();
            for line in self.setter.set("– ", face, None) {
                let (x, colour) = (self.left, Self::ink(role));
                own.push(self.push(Item::Text { line, x, y, colour }));
            }
            own.extend(self.lines(
                std::mem::take(&mut lines),
                self.left + indent,
                Self::ink(role),
            ));
            self.y += 0.12 * face.size;
            leaves.push(own);
        }
        self.y += 0.2 * face.size;
        self.blocks.push(Block::List(leaves));
    }

    /// A table whose first row is its head; rows are never parted, the head is set once.
    pub(in crate::report) fn table(
        &mut self,
        columns: &[Column],
        rows: &[Vec<String>],
        face: Face,
    ) {
        let mut tagged = Vec::with_capacity(rows.len());
        let whole: f32 = columns.iter().map(|column| column.width).sum();
        for (number, row) in rows.iter().enumerate() {
            let head = number == 0;
            let face = Face {
                strong: head,
                ..face
            };
            let cells: Vec<Vec<Line>> = row
                .iter()
                .zip(columns)
                .map(|(text, column)| self.setter.set(text, face, Some(column.width - 6.0)))
                .collect();
            let tallest = cells.iter().map(Vec::len).max().unwrap_or(1) as f32;
            self.need(tallest * LEADING * face.size + 3.0);
            let top = self.y + 1.5;
            let mut x = self.left;
            let mut tags = Vec::with_capacity(cells.len());
            for (lines, column) in cells.into_iter().zip(columns) {
                let mut leaves = Vec::new();
                for (i, line) in lines.into_iter().enumerate() {
                    let at = match column.align {
                        Align::Left => x,
                        Align::Right => x + column.width - 6.0 - line.width,
                    };
                    let y = top + i as f32 * LEADING * face.size + ASCENT * face.size;
                    let colour = Self::ink(Role::Words);
                    leaves.push(self.push(Item::Text {
                        line,
                        x: at,
                        y,
                        colour,
                    }));
                }
                tags.push(leaves);
                x += column.width;
            }
            self.y = top + tallest * LEADING * face.size + 1.5;
            self.rule(whole - 6.0, if head { 0.8 } else { 0.3 });
            tagged.push(tags);
        }
        self.y += 3.0;
        self.blocks.push(Block::Table(tagged));
    }

    /// A level line that divides, as wide as given.
    pub(in crate::report) fn rule(&mut self, length: f32, width: f32) {
        let (x, y) = (self.left, self.y);
        self.push(Item::Rule {
            from: [x, y],
            to: [x + length, y],
            width,
        });
    }

    /// An upright line at the left of the column between two heights of this sheet.
    pub(in crate::report) fn post(&mut self, offset: f32, [from, to]: [f32; 2], width: f32) {
        let x = self.left + offset;
        self.push(Item::Rule {
            from: [x, from],
            to: [x, to],
            width,
        });
    }

    /// A drawing as wide as the column; its words are for those who cannot see it.
    pub(in crate::report) fn drawing(&mut self, drawing: Drawing, says: String) {
        let scale = self.width / drawing.width.max(1) as f32;
        let height = scale * drawing.height as f32;
        self.need(height);
        let (x, y) = (self.left, self.y);
        let leaf = self.push(Item::Drawing {
            drawing,
            x,
            y,
            scale,
        });
        self.y += height;
        self.blocks.push(Block::Figure {
            says,
            leaves: vec![leaf],
        });
    }

    /// A picture as wide as the column, with a caption below that stays with it.
    pub(in crate::report) fn picture(
        &mut self,
        jpeg: Vec<u8>,
        [wide, high]: [u32; 2],
        says: String,
        caption: &str,
    ) {
        let height = self.width * high as f32 / wide.max(1) as f32;
        let lines = self.setter.set(caption, SMALL, Some(self.width));
        let (x, y, width) = (self.left, self.y, self.width);
        let mut leaves = vec![self.push(Item::Picture {
            jpeg,
            x,
            y,
            width,
            height,
        })];
        self.y += height + 1.0;
        leaves.extend(self.lines(lines, x, Self::ink(Role::Words)));
        self.blocks.push(Block::Figure { says, leaves });
    }
}
