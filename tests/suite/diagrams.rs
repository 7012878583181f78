//! Ring, ribbon, stair and stage key against the values they are made from.

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use tailfan::anatomy::criteria;
use tailfan::cycle::arcs::StageArcs;
use tailfan::drawing::key::Parts;
use tailfan::drawing::key::key;
use tailfan::drawing::raster::render;
use tailfan::drawing::ribbon::Bracket;
use tailfan::drawing::ribbon::BracketKind;
use tailfan::drawing::ribbon::Cell;
use tailfan::drawing::ribbon::Ribbon;
use tailfan::drawing::ribbon::ribbon;
use tailfan::drawing::ring::Dot;
use tailfan::drawing::ring::dots;
use tailfan::drawing::ring::ring;
use tailfan::drawing::scheme::Role;
use tailfan::drawing::scheme::Scheme;
use tailfan::drawing::shapes::Drawing;
use tailfan::drawing::shapes::Shape;
use tailfan::drawing::stair::stair;
use tailfan::forecast::Band;
use tailfan::geometry::Point;
use tailfan::micrograph::Picture;
use tailfan::moult::Stage;
use tailfan::tally::Animal;
use tailfan::tally::Settings;
use tailfan::tally::Tally;
use tailfan::tally::tally;

const PAPER: Scheme = Scheme::Paper;

fn tally_of(counts: &[(Stage, usize)], unread: usize) -> Tally {
    let called = counts
        .iter()
        .flat_map(|(stage, n)| std::iter::repeat_n(Some(*stage), *n));
    let animals: Vec<Animal> = called
        .chain(std::iter::repeat_n(None, unread))
        .map(|stage| Animal { stage, shell: None })
        .collect();
    tally(&animals, &Settings::default(), &StageArcs::published())
}

fn words(drawing: &Drawing) -> Vec<&str> {
    let mut found = Vec::new();
    for shape in &drawing.shapes {
        if let Shape::Label { text, .. } = shape {
            found.push(text.as_str());
        }
    }
    found
}

/// The phase of a place on the ring, clockwise from the top.
fn phase(at: Point) -> f64 {
    let way = at.minus(Point::new(220.0, 212.0));
    (way.x.atan2(-way.y) / TAU).rem_euclid(1.0)
}

#[test]
fn every_animal_is_one_dot_beside_the_arc_of_its_call() {
    let arcs = StageArcs::published();
    let mixed = [
        (Stage::A, 1),
        (Stage::B, 2),
        (Stage::C, 6),
        (Stage::D0, 7),
        (Stage::D1, 5),
        (Stage::D2, 3),
        (Stage::D3, 1),
        (Stage::E, 2),
    ];
    let crowded = [(Stage::A, 150)];
    for (counts, unread) in [(&mixed[..], 1), (&crowded[..], 0), (&[][..], 12)] {
        let found = dots(&tally_of(counts, unread), &arcs);
        let hollow = found.iter().filter(|dot| dot.stage.is_none()).count();
        assert_eq!(hollow, unread);
        for (stage, n) in counts {
            let own: Vec<&Dot> = found.iter().filter(|d| d.stage == Some(*stage)).collect();
            assert_eq!(own.len(), *n, "{stage}");
            let (from, to) = arcs.arc(*stage);
            for dot in own {
                let at = phase(dot.at);
                let near_moult = at.min(1.0 - at) < 0.013;
                assert!((from..=to).contains(&at) || *stage == Stage::E && near_moult);
            }
        }
        for (i, a) in found.iter().enumerate() {
            for b in &found[i + 1..] {
                assert!(a.at.distance(b.at) >= 1.9 * a.radius, "{a:?} {b:?}");
            }
        }
    }
}

#[test]
fn the_ring_names_every_stage_with_its_count_and_points_where_animals_gather() {
    let counts = [(Stage::C, 4), (Stage::D0, 9)];
    let tally = tally_of(&counts, 3);
    let drawing = ring(&tally, &StageArcs::published(), PAPER);
    let said = words(&drawing);
    for stage in Stage::ALL {
        let at = said.iter().position(|w| *w == stage.code()).unwrap();
        assert_eq!(said[at + 1], tally.counts[&stage].to_string());
    }
    assert!(said.contains(&"3 unread") && said.contains(&"soft") && said.contains(&"due"));
    let found = tally.synchrony.unwrap();
    let arrow = drawing.shapes.iter().find_map(|shape| match shape {
        Shape::Line { points, width, .. } if *width == 2.4 => Some(points.clone()),
        _ => None,
    });
    let arrow = arrow.unwrap();
    assert!((phase(arrow[1]) - found.mean_phase.unwrap()).abs() < 1e-9);
    assert!((arrow[0].distance(arrow[1]) / 45.0 - found.resultant).abs() < 1e-9);
}

fn night(night: usize, expected: f64) -> Cell {
    Cell {
        night,
        label: format!("27 Nov {night}"),
        soft: Band {
            expected,
            low: 0.5 * expected,
            high: 1.6 * expected,
        },
        pessimistic_soft: expected + 0.1,
        moon_lit: Some(0.1 * night as f64),
        within_expected: expected < 0.1,
        within_confident: false,
        gain: None,
    }
}

fn shown(nights: usize) -> Ribbon {
    Ribbon {
        cells: (1..=nights).map(|n| night(n, 0.02 * n as f64)).collect(),
        soft_limit: 0.10,
        brackets: vec![Bracket {
            from_days: 1.5,
            to_days: 3.0,
            kind: BracketKind::Drain,
        }],
    }
}

/// Heights of the ribbon against its own axis: 0 % and 10 % fix it, every expected share must lie
/// where the axis says.
#[test]
fn the_ribbon_draws_each_share_at_its_height() {
    let given = shown(10);
    let drawing = ribbon(&given, PAPER);
    let level = |text: &str| {
        drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Label { at, text: own, .. } if own == text => Some(at.y),
            _ => None,
        })
    };
    let (zero, tenth) = (level("0 %").unwrap(), level("10 %").unwrap());
    let y = |share: f64| zero + (tenth - zero) * share / 0.1;
    let ink = PAPER.of(Role::Expected);
    let expected: Vec<f64> = drawing
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Line { points, colour, .. } if *colour == ink => Some(points[0].y),
            _ => None,
        })
        .collect();
    assert_eq!(expected.len(), given.cells.len());
    for (found, cell) in expected.iter().zip(&given.cells) {
        assert!((found - y(cell.soft.expected)).abs() < 1e-9);
    }
    let said = words(&drawing);
    assert!(said.contains(&"limit 10 %") && said.contains(&"planned drain"));
    assert!(said.contains(&"27 Nov 1"));
}

#[test]
fn a_bracket_spans_its_days_and_sixty_nights_still_fit() {
    let x_of_nights: Vec<f64> = [1, 3]
        .into_iter()
        .map(|n| {
            let drawing = ribbon(&shown(10), PAPER);
            drawing.shapes.iter().find_map(|shape| match shape {
                Shape::Label { at, text, .. } if *text == format!("27 Nov {n}") => Some(at.x),
                _ => None,
            })
        })
        .collect::<Option<_>>()
        .unwrap();
    // Every second night is labelled.
    let pitch = (x_of_nights[1] - x_of_nights[0]) / 2.0;
    let drawing = ribbon(&shown(10), PAPER);
    let bracket = drawing.shapes.iter().find_map(|shape| match shape {
        Shape::Line { points, width, .. } if points.len() == 4 && *width == 1.2 => {
            Some((points[1].x, points[2].x))
        }
        _ => None,
    });
    let (from, to) = bracket.unwrap();
    assert!((from - (x_of_nights[0] + 0.5 * pitch)).abs() < 1e-9);
    assert!((to - (x_of_nights[0] + 2.0 * pitch)).abs() < 1e-9);
    for drawing in [ribbon(&shown(60), PAPER), ribbon(&shown(1), PAPER)] {
        inside(&drawing);
    }
}

#[test]
fn treads_are_as_long_as_their_stages_are_probable() {
    let probabilities: BTreeMap<Stage, f64> = Stage::PROPOSED
        .into_iter()
        .zip([0.0, 0.0, 0.02, 0.9, 0.08, 0.0, 0.0])
        .collect();
    let drawing = stair(&probabilities, Some(Stage::D0), Some(Stage::D1), PAPER);
    let treads: Vec<f64> = drawing
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Area { points, .. } if points.len() == 4 => Some(points[1].x - points[0].x),
            _ => None,
        })
        .collect();
    let all: f64 = treads.iter().sum();
    assert_eq!(treads.len(), probabilities.len());
    for (tread, p) in treads.iter().zip(probabilities.values()) {
        assert!((tread / all - p).abs() < 1e-9);
    }
    assert!(words(&drawing).contains(&"90 %"));
    inside(&drawing);
    inside(&stair(&BTreeMap::new(), None, None, PAPER));
}

/// The gap that is drawn lies in the span that the anatomy gives, in base widths: the base line's
/// bar is one of them long.
#[test]
fn the_key_draws_the_gap_of_the_anatomy() {
    for stage in [Stage::D0, Stage::D1, Stage::D2, Stage::D3] {
        let drawing = key(stage, Parts::Named, PAPER);
        let bar = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Line { points, width, .. } if *width == 3.2 => Some(points.clone()),
            _ => None,
        });
        let bar = bar.unwrap();
        let (unit, base) = (bar[1].x - bar[0].x, bar[0].y);
        let pigment = PAPER.of(Role::Pigment);
        let edge = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Line { points, colour, .. } if *colour == pigment => Some(points.clone()),
            _ => None,
        });
        let nearest = edge
            .unwrap()
            .iter()
            .map(|p| p.y)
            .fold(f64::INFINITY, f64::min);
        let gap = (nearest - base) / unit;
        let rule = criteria(stage).unwrap().gap;
        assert!(rule.holds(gap, 0.1), "{stage} {gap}");
        assert!(words(&drawing).contains(&"gap"));
    }
}

/// Nothing that is drawn leaves its sheet by more than a seta's tip, and all of it renders.
fn inside(drawing: &Drawing) {
    let (w, h) = (f64::from(drawing.width), f64::from(drawing.height));
    for shape in &drawing.shapes {
        let points = match shape {
            Shape::Line { points, .. } | Shape::Area { points, .. } => points.clone(),
            Shape::Circle { centre, .. } => vec![*centre],
            Shape::Label { at, .. } => vec![*at],
            Shape::Caption { .. } => Vec::new(),
        };
        for p in points {
            assert!(p.x.is_finite() && p.y.is_finite());
            let within = (-1.0..=w + 1.0).contains(&p.x) && (-1.0..=h + 1.0).contains(&p.y);
            assert!(within, "{shape:?}");
        }
    }
    let mut picture = Picture::from_pixel(drawing.width, drawing.height, [255; 3].into());
    render(drawing, &mut picture).unwrap();
    assert!(picture.pixels().any(|pixel| pixel.0 != [255; 3]));
}

#[test]
fn rings_stay_on_their_sheet_with_one_animal_and_with_many() {
    for n in [0, 1, 25, 150] {
        for stage in Stage::ALL {
            let tally = tally_of(&[(stage, n)], n / 2);
            inside(&ring(&tally, &StageArcs::published(), Scheme::Dark));
        }
    }
}

/// Every stage looks other than every other stage.
#[test]
fn no_two_stages_are_drawn_alike() {
    let all: Vec<Drawing> = Stage::ALL.map(|s| key(s, Parts::Unnamed, PAPER)).to_vec();
    for (i, a) in all.iter().enumerate() {
        assert!(a.shapes.len() > 50);
        assert!(all[i + 1..].iter().all(|b| a.shapes != b.shapes));
    }
}
