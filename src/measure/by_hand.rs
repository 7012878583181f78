//! Measurements in which a person replaced something: the row of bases, the edge, or one gap.

use crate::geometry::Point;
use crate::margin::SetaFrame;
use crate::margin::Tip;
use crate::measure::Measured;
use crate::measure::Measurements;
use crate::measure::Seta;
use crate::measure::measure_as_found;
use crate::micrograph::Micrograph;
use crate::units::Pixels;

/// Measures a tip anew whose row of bases lies `by` pixels further inwards.
pub fn with_row_moved(micrograph: &Micrograph, tip: &Tip, by: Pixels) -> (Tip, Measurements) {
    let moved = |frame: &SetaFrame| SetaFrame {
        origin: frame.origin.plus(frame.inward.times(by.get())),
        ..*frame
    };
    let tip = Tip {
        setae: tip.setae.iter().map(moved).collect(),
        ..tip.clone()
    };
    let measurements = measure_as_found(micrograph, &tip);
    (tip, measurements)
}

impl Measurements {
    /// The same with the edge of the epidermis `by` pixels further inwards. Gaps end at zero.
    #[must_use]
    pub fn with_edge_moved(mut self, by: Pixels) -> Self {
        let width = self.base_width.get();
        for seta in &mut self.setae {
            if let (Some(gap), Some(edge)) = (seta.gap, seta.edge) {
                let away = edge.minus(seta.base);
                let inward = if away.length() > 1e-6 {
                    away.unit()
                } else {
                    Point::new(0.0, 0.0)
                };
                set_gap(seta, (gap.get() + by.get()).max(0.0), inward, width);
            }
        }
        self.summed_up()
    }

    /// The same with the gap of the seta nearest to `base` drawn from `base` to `edge`.
    #[must_use]
    pub fn with_gap_drawn(mut self, base: Point, edge: Point) -> Self {
        let width = self.base_width.get();
        let nearest = self
            .setae
            .iter_mut()
            .min_by(|a, b| a.base.distance(base).total_cmp(&b.base.distance(base)));
        if let Some(seta) = nearest {
            let away = edge.minus(base);
            let gap = away.length();
            seta.base = base;
            set_gap(seta, gap, away.times(1.0 / gap.max(1e-9)), width);
        }
        self.summed_up()
    }

    /// The gap over the setae, from what stands in each.
    fn summed_up(mut self) -> Self {
        let gaps: Vec<f64> = self
            .setae
            .iter()
            .filter_map(|seta| seta.measures[GAP])
            .collect();
        self.measures[GAP] = Measured::of(&gaps);
        self
    }
}

/// Where the gap stands in [`MEASURES`].
const GAP: usize = 0;

fn set_gap(seta: &mut Seta, gap: f64, inward: Point, width: f64) {
    seta.gap = Some(Pixels::new(gap));
    seta.edge = Some(seta.base.plus(inward.times(gap)));
    seta.measures[GAP] = Some(gap / width);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::MEASURES;

    fn measurements(gaps: &[f64]) -> Measurements {
        let setae = gaps.iter().enumerate().map(|(i, gap)| {
            let base = Point::new(10.0 * i as f64, 50.0);
            let mut seta = Seta {
                base,
                edge: None,
                gap: None,
                measures: [None; MEASURES.len()],
            };
            set_gap(&mut seta, *gap, Point::new(0.0, 1.0), 5.0);
            seta
        });
        Measurements {
            setae: setae.collect(),
            base_width: Pixels::new(5.0),
            spacing: Pixels::new(10.0),
            measures: [None; MEASURES.len()],
            shafts: None,
        }
        .summed_up()
    }

    #[test]
    fn the_gap_stands_where_it_is_looked_for() {
        assert_eq!(MEASURES[GAP], "gap_base_widths");
    }

    #[test]
    fn an_edge_moved_inwards_widens_every_gap() {
        let moved = measurements(&[5.0, 10.0, 15.0]).with_edge_moved(Pixels::new(2.5));
        assert_eq!(moved.measure("gap_base_widths").unwrap().value, 2.5);
        assert_eq!(moved.setae[1].edge, Some(Point::new(10.0, 62.5)));
        let closed = measurements(&[5.0, 10.0]).with_edge_moved(Pixels::new(-90.0));
        assert_eq!(closed.measure("gap_base_widths").unwrap().value, 0.0);
    }

    #[test]
    fn a_gap_that_is_drawn_belongs_to_the_nearest_seta() {
        let from = Point::new(11.0, 49.0);
        let drawn = measurements(&[5.0, 10.0, 15.0]).with_gap_drawn(from, Point::new(11.0, 69.0));
        assert_eq!(drawn.setae[1].gap, Some(Pixels::new(20.0)));
        assert_eq!(drawn.setae[0].gap, Some(Pixels::new(5.0)));
        assert_eq!(drawn.measure("gap_base_widths").unwrap().value, 3.0);
    }
}
