//! Overlays and straightened margins, pixel by pixel.

use tailfan::drawing::overlay::overlay;
use tailfan::drawing::palette;
use tailfan::drawing::raster::render;
use tailfan::drawing::shapes::Colour;
use tailfan::drawing::shapes::Drawing;
use tailfan::drawing::shapes::Shape;
use tailfan::drawing::straight::StraightMargin;
use tailfan::geometry::Point;
use tailfan::measure::Refusal;
use tailfan::micrograph::Picture;
use tailfan::moult::Stage;
use tailfan::painter::paint;
use tailfan::painter::plain::Plain;
use tailfan::painter::truth::Truth;
use tailfan::records::Reading;
use tailfan::records::SetaReading;
use tailfan::records::SpokenRefusal;

/// A reading that says what is true of a painted scene, the tissue to the right of the row.
fn true_reading(truth: &Truth, inward: Point) -> Reading {
    let tip = truth.tip.as_ref().unwrap();
    let umpx = truth.umpx;
    let mut setae: Vec<SetaReading> = tip
        .setae
        .iter()
        .map(|[x, y, gap_um]| {
            let edge = Point::new(*x, *y).plus(inward.times(gap_um / umpx));
            SetaReading {
                x: *x,
                y: *y,
                edge_x: Some(edge.x),
                edge_y: Some(edge.y),
                gap_px: Some(gap_um / umpx),
                gap_um: None,
                stage: None,
            }
        })
        .collect();
    let way = |s: &SetaReading| s.x * inward.y - s.y * inward.x;
    setae.sort_by(|a, b| way(a).total_cmp(&way(b)));
    let mut reading = Reading::refused("plain.png".to_owned(), Vec::new());
    reading.usable = true;
    reading.setae = setae;
    reading.base_width_px = Some(tip.seta_width_um / umpx);
    reading.spacing_px = Some(tip.spacing_um / umpx);
    reading.gap_px = Some(tip.gap_um / umpx);
    reading
}

fn luma(picture: &Picture, x: u32, y: u32) -> f64 {
    let [r, g, b] = picture.get_pixel(x, y).0.map(f64::from);
    (r + g + b) / 3.0
}

fn close(found: [u8; 3], wanted: Colour) -> bool {
    let apart = found.iter().zip(wanted.rgb).map(|(a, b)| a.abs_diff(b));
    apart.max().unwrap() <= 2
}

/// A line 3 pixels wide at y = 5 covers rows 4 to 6 and half of none.
#[test]
fn a_line_covers_what_it_is_wide_and_shares_its_edge() {
    let ink = Colour::solid([0, 0, 0]);
    for (width, y, wanted) in [
        (3.0, 5.0, [255, 0, 0, 0, 255]),
        (2.0, 5.0, [255, 128, 0, 128, 255]),
        (2.0, 5.5, [255, 255, 0, 0, 255]),
    ] {
        let mut picture = Picture::from_pixel(20, 12, [255; 3].into());
        let mut drawing = Drawing::blank(20, 12);
        // joints must not be inked twice
        let points = [-5.0, 4.0, 10.5, 30.0].map(|x| Point::new(x, y)).to_vec();
        drawing.shapes.push(Shape::Line {
            points,
            width,
            colour: ink,
        });
        render(&drawing, &mut picture).unwrap();
        for x in 0..20 {
            let column = [3, 4, 5, 6, 7].map(|y| picture.get_pixel(x, y).0[0]);
            assert_eq!(column, wanted, "width {width}, column {x}");
        }
    }
}

#[test]
fn marks_lie_where_the_reading_says() {
    let plain = Plain::new(Stage::D1).unwrap();
    let painted = paint(&plain.scene());
    // the scene's margin runs along x and its tissue lies below
    let reading = true_reading(&painted.truth, Point::new(0.0, 1.0));
    let mut picture = painted.picture.clone();
    let (width, height) = (picture.width(), picture.height());
    let shapes = overlay(&reading, width, height);
    render(&shapes, &mut picture).unwrap();
    assert!(reading.setae.len() > 20);
    for seta in &reading.setae {
        let (x, y) = (seta.x.round() as u32, seta.y.round() as u32);
        assert!(close(picture.get_pixel(x, y).0, palette::BASES), "{seta:?}");
        let edge = seta.edge_y.unwrap().round() as u32;
        let inner = &reading.setae[1..reading.setae.len() - 1];
        if inner.contains(seta) {
            let found = picture.get_pixel(x, edge).0;
            assert!(close(found, palette::EPIDERMIS), "{found:?} {seta:?}");
        }
    }
    // away from marks and caption the photo is as it was
    let row = reading.setae[0].y;
    for (x, y) in [(600, row - 60.0), (600, row + 150.0), (100, row - 25.0)] {
        let at = (x, y as u32);
        assert_eq!(
            picture.get_pixel(at.0, at.1),
            painted.picture.get_pixel(at.0, at.1)
        );
    }
}

#[test]
fn a_refused_photo_has_nothing_but_a_caption() {
    let refusal = SpokenRefusal {
        reason: Refusal::OutOfFocus,
        say: "out of focus: focus on the bases of the setae and take the photo again".to_owned(),
    };
    let reading = Reading::refused("tips/a.jpg".to_owned(), vec![refusal]);
    assert!(StraightMargin::of(&reading).is_none());
    let drawing = overlay(&reading, 640, 480);
    let [Shape::Caption { lines, .. }] = drawing.shapes.as_slice() else {
        panic!("{drawing:?}");
    };
    assert_eq!(lines[0].text, "a.jpg");
    assert!(lines[1].text.starts_with("refused: out of focus"));
}

/// The straightened margin of a curved, turned scene: every base stands on the stated row, the
/// shafts lie above it, and the painted base lines darken that row.
#[test]
fn all_bases_of_a_curved_margin_stand_on_the_stated_row() {
    let mut plain = Plain::new(Stage::D1).unwrap();
    plain.curvature = 1.0 / 900.0;
    for angle in [0.0, 0.9, 2.5] {
        let painted = paint(&plain.scene().turned(angle));
        let inward = Point::new(0.0_f64, 1.0);
        let turned = Point::new(
            inward.x * angle.cos() - inward.y * angle.sin(),
            inward.x * angle.sin() + inward.y * angle.cos(),
        );
        let mut reading = true_reading(&painted.truth, turned);
        for seta in &mut reading.setae {
            (seta.edge_x, seta.edge_y) = (None, None);
        }
        let margin = StraightMargin::of(&reading).unwrap();
        let row = f64::from(margin.base_row());
        for seta in &reading.setae {
            let own = margin.own(Point::new(seta.x, seta.y));
            assert!((own.y - row).abs() < 0.05, "turned by {angle}: {own:?}");
        }
        let strip = margin.straighten(&painted.picture);
        assert_eq!(
            (strip.width(), strip.height()),
            (margin.width(), margin.height())
        );
        let mean = |y: u32| {
            let columns = strip.width() / 4..strip.width() * 3 / 4;
            let of = f64::from(columns.len() as u32);
            columns.map(|x| luma(&strip, x, y)).sum::<f64>() / of
        };
        let base_row = margin.base_row();
        let width = reading.base_width_px.unwrap();
        let darkest = (base_row - width as u32 / 2..base_row + width as u32 / 2)
            .min_by(|a, b| mean(*a).total_cmp(&mean(*b)))
            .unwrap();
        assert!(darkest.abs_diff(base_row) <= 1, "{darkest} {base_row}");
        // tissue is darker than the empty field outside of the margin
        assert!(mean(strip.height() - 4) < mean(4) - 10.0);
        let mut drawn = strip;
        render(&margin.drawing(&reading), &mut drawn).unwrap();
        for x in (0..drawn.width()).step_by(37) {
            assert!(close(drawn.get_pixel(x, base_row).0, palette::BASES), "{x}");
        }
    }
}

/// A place in the strip goes to the photo and back, and steps of it are steps of the photo.
#[test]
fn a_straightened_margin_keeps_the_magnification() {
    let mut plain = Plain::new(Stage::D0).unwrap();
    plain.curvature = 1.0 / 900.0;
    let painted = paint(&plain.scene());
    let reading = true_reading(&painted.truth, Point::new(0.0, 1.0));
    let margin = StraightMargin::of(&reading).unwrap();
    let row = f64::from(margin.base_row());
    for i in 1..9 {
        let at = Point::new(f64::from(margin.width()) * f64::from(i) / 10.0, row + 5.0);
        let photo = margin.photo(at);
        assert!(margin.own(photo).distance(at) < 0.05);
        let across = margin.photo(at.plus(Point::new(0.0, 1.0)));
        assert!((across.distance(photo) - 1.0).abs() < 1e-6);
        let far = margin.photo(at.plus(Point::new(40.0, -5.0)));
        let near = margin.photo(at.plus(Point::new(0.0, -5.0)));
        assert!((far.distance(near) / 40.0 - 1.0).abs() < 0.02);
    }
}
