//! The names of the parts, beside the drawing.

use crate::anatomy::EdgeForm;
use crate::drawing::key::WIDTH;
use crate::drawing::key::tip::CUTICLE;
use crate::drawing::key::tip::Sheet;
use crate::drawing::key::tip::setae;
use crate::drawing::scheme::Role;
use crate::drawing::shapes::Drawing;
use crate::drawing::shapes::Style;
use crate::geometry::Point;
use crate::texts::key;

/// Words stand at least so far apart.
const LEADING: f64 = 22.0;
const SIZE: f64 = 18.0;

/// Names the parts that the stage shows, with a line from each word to its part.
pub(in crate::drawing) fn call_out(sheet: &Sheet, drawing: &mut Drawing) {
    let ink = sheet.scheme.of(Role::Words);
    let mut last = f64::NEG_INFINITY;
    for (part, word) in parts(sheet) {
        let y = part.y.max(last + LEADING);
        last = y;
        let right = f64::from(WIDTH);
        let line = vec![
            part,
            Point::new(right - 4.0, part.y),
            Point::new(right + 10.0, y),
        ];
        drawing.line(line, 0.9, ink);
        drawing.dot(part, 2.4, ink);
        let at = Point::new(right + 14.0, y);
        drawing.word(at, word, Style::plain(SIZE, ink));
    }
    gap(sheet, drawing);
}

/// The parts from top to bottom.
fn parts(sheet: &Sheet) -> Vec<(Point, &'static str)> {
    let look = &sheet.look;
    let us = setae();
    let last = us.last().copied().unwrap_or(0.0);
    let at = Sheet::at;
    let mut found = vec![(at(last + 0.45, -3.6), key::SETA)];
    if look.lumen_pigment > 0.05 {
        found.push((at(last, -2.1), key::LUMEN_PIGMENT));
    }
    found.push((at(last + 1.2, CUTICLE), key::CUTICLE));
    if look.base_line >= 0.1 {
        found.push((at(last + 0.4, 0.05), key::BASE_LINE));
    }
    if look.base_pigment > 0.05 {
        found.push((at(last + 0.1, 0.35), key::BASE_PIGMENT));
    }
    if look.edge == EdgeForm::None {
        found.push((at(last + 1.0, 1.8), key::NO_EDGE));
    } else {
        let u = last + 1.0;
        found.push((at(u, sheet.edge(u)), key::EDGE));
    }
    if look.new_setae > 0.0 {
        found.push((at(last + 0.3, sheet.edge(last) + 3.0), key::NEW_SETAE));
    }
    found.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
    found
}

/// The gap as a double arrow in line with the second seta.
fn gap(sheet: &Sheet, drawing: &mut Drawing) {
    let us = setae();
    let Some(u) = us.get(1).copied().filter(|_| sheet.look.gap >= 0.6) else {
        return;
    };
    let ink = sheet.scheme.of(Role::Words);
    let (from, to) = (Sheet::at(u - 1.0, 0.05), Sheet::at(u - 1.0, sheet.edge(u)));
    drawing.line(vec![from, to], 1.4, ink);
    for (end, way) in [(from, 1.0), (to, -1.0)] {
        let bar = [
            end.plus(Point::new(-5.0, 0.0)),
            end.plus(Point::new(5.0, 0.0)),
        ];
        drawing.line(bar.to_vec(), 1.4, ink);
        let head = [(0.0, 0.0), (-3.0, 7.0 * way), (3.0, 7.0 * way)];
        drawing.area(head.map(|(x, y)| end.plus(Point::new(x, y))).to_vec(), ink);
    }
    let at = from.toward(to, 0.5).plus(Point::new(6.0, 0.0));
    if to.y - from.y > 20.0 {
        drawing.word(at, key::GAP, Style::plain(SIZE, ink).bold());
    }
}
