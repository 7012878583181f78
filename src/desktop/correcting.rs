//! Correcting by hand: what was moved so far, and what is being moved.

use crate::geometry::Point;
use crate::records::Reading;
use crate::units::Pixels;
use crate::workflow::correcting::Correction;
use egui::Pos2;
use egui::pos2;

/// Two points that are to be clicked on the photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clicks {
    /// What they are for.
    pub purpose: ClicksFor,
    /// The first one, in pixels of the photo.
    pub first: Option<Point>,
}

/// What two clicks are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClicksFor {
    /// A gap, from the base line to the edge.
    Gap,
    /// A length that is known, for a scale.
    Length,
}

/// Which line is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// The row of bases.
    Row,
    /// The edge of the epidermis.
    Edge,
}

/// A correction that goes on.
#[derive(Debug, Clone, Default)]
pub struct Correcting {
    /// The photo.
    pub photo: String,
    /// What was corrected so far.
    pub so_far: Vec<Correction>,
    /// The line that is held, where it was taken, and how far it was moved inwards, in pixels.
    pub held: Option<(Held, Pos2, f64)>,
    /// How many of them the reading that goes on, or the last one, knows.
    asked: usize,
    /// Whether the photo is being read anew.
    pub reading: bool,
}

impl Correcting {
    /// A correction of this photo.
    pub fn of(photo: &str) -> Self {
        Self {
            photo: photo.to_owned(),
            ..Self::default()
        }
    }

    /// Moves a line by so many pixels inwards.
    pub fn shift(&mut self, bases: f64, edge: f64) {
        if bases.abs() > 0.0 {
            self.correct(Correction::Row(Pixels::new(bases)));
        }
        if edge.abs() > 0.0 {
            self.correct(Correction::Edge(Pixels::new(edge)));
        }
    }

    /// Adds a correction.
    pub fn correct(&mut self, correction: Correction) {
        self.so_far.push(correction);
    }

    /// Whether there are corrections that no reading knows yet.
    pub const fn waits(&self) -> bool {
        self.so_far.len() > self.asked && !self.reading
    }

    /// Whether the photo is being read anew, or is about to be.
    pub const fn busy(&self) -> bool {
        self.so_far.len() > self.asked || self.reading
    }

    /// A reading with all corrections begins.
    pub fn begin_reading(&mut self) -> Vec<Correction> {
        self.asked = self.so_far.len();
        self.reading = true;
        self.so_far.clone()
    }
}

/// The line nearest to a photo position, if it lies within `reach` pixels.
pub fn line_at(reading: &Reading, at: Pos2, reach: f32) -> Option<Held> {
    let near = |of: &dyn Fn(usize) -> Option<Pos2>| {
        let points = (0..reading.setae.len()).filter_map(of);
        points.map(|p| p.distance(at)).fold(f32::INFINITY, f32::min)
    };
    let row = near(&|i| Some(pos2(reading.setae[i].x as f32, reading.setae[i].y as f32)));
    let edge = near(&|i| {
        let seta = &reading.setae[i];
        Some(pos2(seta.edge_x? as f32, seta.edge_y? as f32))
    });
    if row.min(edge) > reach {
        None
    } else if edge < row {
        Some(Held::Edge)
    } else {
        Some(Held::Row)
    }
}

/// The mean direction from the bases to the edge near a photo position.
pub fn inward_at(reading: &Reading, at: Pos2) -> Option<Point> {
    let nearest = reading
        .setae
        .iter()
        .filter(|seta| seta.edge_x.is_some())
        .min_by(|a, b| {
            let of = |seta: &crate::records::SetaReading| {
                pos2(seta.x as f32, seta.y as f32).distance_sq(at)
            };
            of(a).total_cmp(&of(b))
        })?;
    let away = Point::new(nearest.edge_x? - nearest.x, nearest.edge_y? - nearest.y);
    (away.length() > 1e-6).then(|| away.unit())
}
