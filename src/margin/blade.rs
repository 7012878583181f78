//! Where the blade lies in a photo: light field, field stop and the outline of the tissue.
//!
//! Works on a coarse copy of the photo, some 400 pixels wide. The outline is where the tissue
//! begins; in late stages that is the retracted epidermis and not the row of bases.

use crate::geometry::Point;
use crate::margin::blur::blurred;
use crate::margin::opening::opened;
use crate::margin::opening::widened;
use crate::micrograph::Luma;
use crate::micrograph::Mask;
use crate::micrograph::Plane;
use crate::micrograph::density::Density;
use crate::micrograph::field::Form;
use crate::micrograph::field::LightField;
use crate::micrograph::field::Sites;
use crate::micrograph::light::Lights;
use crate::micrograph::light::LinearLight;
use crate::statistics::robust::quantile;
use imageproc::contours::find_contours;
use imageproc::map::map_subpixels;
use imageproc::region_labelling::Connectivity;
use imageproc::region_labelling::connected_components;

/// Share of the brightest intensity below which a dark rim counts as the stop of an eyepiece.
const STOP_SHARE: f32 = 0.12;

/// Forms of the first light field and fall-offs to begin with, of which the one that most of the photo agrees
/// with is taken: from a flat one alone, rounds that narrow never reach the rim of a round field.
const BEGINNINGS: [(Form, f64); 4] = [
    (Form::Flat, 0.0),
    (Form::Stiff, 0.0),
    (Form::Stiff, -1.2),
    (Form::Stiff, -2.4),
];

/// Coarse pixels from site to site of a first field, and of the later ones.
const FEW_APART: usize = 6;
const MANY_APART: usize = 3;

/// A piece of the outline of the tissue, in photo pixels.
///
/// Walking along it, the tissue lies to the right as seen on the screen (right to down).
pub type Outline = Vec<Point>;

/// What is known of a photo after the coarse look.
#[derive(Debug, Clone)]
pub struct Blade {
    /// The light behind the animal.
    pub field: LightField,
    /// Pieces of the outline, longest first.
    pub outlines: Vec<Outline>,
    /// Photo pixels per pixel of the coarse copy: how closely the outlines are known.
    pub factor: u32,
}

fn look_up(mask: &Mask, factor: u32, photo: Point) -> bool {
    let f = f64::from(factor);
    let (x, y) = ((photo.x / f).floor(), (photo.y / f).floor());
    x >= 0.0
        && y >= 0.0
        && x < f64::from(mask.width())
        && y < f64::from(mask.height())
        && mask.get_pixel(x as u32, y as u32)[0] > 0
}

/// Looks for the blade in a micrograph; `None` when there is nothing that could be one.
pub fn find_blade(lights: &Lights<'_>) -> Option<Blade> {
    let light = lights.coarse();
    let view = field_of_view(light);
    let texture = texture(light, &view);
    let calm = calm_level(&texture, &view)?;
    let start = |x: u32, y: u32| {
        if view.get_pixel(x, y)[0] == 0 {
            return 0.0;
        }
        let excess = f64::from(texture.get_pixel(x, y)[0]) / calm;
        (1.0 / (1.0 + (excess / 2.5).powi(2))).max(0.1)
    };
    let few = Sites::of(light, FEW_APART);
    let mut field = BEGINNINGS
        .into_iter()
        .filter_map(|beginning| {
            let field = few.fit(beginning, &start)?;
            let agreement = few.agreement(&field, &start);
            Some((agreement, field))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))?
        .1;
    let many = Sites::of(light, MANY_APART);
    for form in [Form::Stiff, Form::Quadratic, Form::Quadratic] {
        let found = dense_parts(light, &field, &view)?;
        let around = widened(&found, 3);
        let outside =
            |x: u32, y: u32| f64::from(u8::from(around.get_pixel(x, y)[0] == 0)) * start(x, y);
        if let Some(better) = many.fit((form, field.fall()), &outside) {
            field = better;
        }
    }
    let solid = dense_parts(light, &field, &view)?;
    let found = without_arms(&without_specks(&solid), &view);
    Some(Blade {
        outlines: outlines(&found, &view, light),
        factor: light.factor(),
        field: field.seen_through(view, light.factor()),
    })
}

/// Pixels that are not in the dark surround of an eyepiece.
fn field_of_view(light: &LinearLight) -> Mask {
    let (width, height) = (light.width(), light.height());
    let grey = blurred(&grey(light), 1.5);
    let values: Vec<f64> = grey.as_raw().iter().map(|v| f64::from(*v)).collect();
    let bright = quantile(&values, 0.98).unwrap_or(0.0) as f32;
    let dark = map_subpixels(&grey, |value| 255 * u8::from(value < STOP_SHARE * bright));
    let corners = [
        (0, 0),
        (width - 1, 0),
        (0, height - 1),
        (width - 1, height - 1),
    ];
    if corners.iter().all(|(x, y)| dark.get_pixel(*x, *y)[0] == 0) {
        return Mask::from_pixel(width, height, Luma([255]));
    }
    let labels = connected_components(&dark, Connectivity::Four, Luma([0]));
    let rims: Vec<u32> = corners
        .iter()
        .map(|(x, y)| labels.get_pixel(*x, *y)[0])
        .filter(|label| *label > 0)
        .collect();
    let stopped = map_subpixels(&labels, |label| 255 * u8::from(rims.contains(&label)));
    let wide = imageproc::morphology::dilate(&stopped, imageproc::distance_transform::Norm::L2, 9);
    map_subpixels(&wide, |value| 255 - value)
}

/// The mean of the channels.
fn grey(light: &LinearLight) -> Plane {
    let [red, green, blue] = light.planes();
    let mut grey = red.clone();
    for ((value, g), b) in grey.iter_mut().zip(green.iter()).zip(blue.iter()) {
        *value = (*value + g + b) / 3.0;
    }
    grey
}

/// Half the side of the windows in which the texture is taken, coarse pixels.
const TEXTURE_REACH: u32 = 3;

/// Local standard deviation of the logarithm of the intensity about a plane, over 7 x 7 pixels.
fn texture(light: &LinearLight, view: &Mask) -> Plane {
    let (width, height) = (light.width(), light.height());
    let seen = |x: u32, y: u32| view.get_pixel(x, y)[0] > 0;
    let grey = grey(light);
    let log = |x: u32, y: u32| f64::from(grey.get_pixel(x, y)[0].max(1e-4).ln());
    // number, sum, sum of squares and first moments of all that lies left of and above a place
    let stride = width as usize + 1;
    let mut sums = vec![[0.0_f64; 5]; stride * (height as usize + 1)];
    for y in 0..height {
        let mut row = [0.0; 5];
        for x in 0..width {
            if seen(x, y) {
                let v = log(x, y);
                let terms = [1.0, v, v * v, f64::from(x) * v, f64::from(y) * v];
                row = std::array::from_fn(|k| row[k] + terms[k]);
            }
            let above = y as usize * stride + x as usize + 1;
            let up = sums[above];
            sums[above + stride] = std::array::from_fn(|k| up[k] + row[k]);
        }
    }
    let within = |x: u32, y: u32| -> [f64; 5] {
        let at = |x: u32, y: u32| sums[y as usize * stride + x as usize];
        let (left, right) = (
            x.saturating_sub(TEXTURE_REACH),
            (x + TEXTURE_REACH + 1).min(width),
        );
        let (top, bottom) = (
            y.saturating_sub(TEXTURE_REACH),
            (y + TEXTURE_REACH + 1).min(height),
        );
        let corners = [
            at(right, bottom),
            at(left, bottom),
            at(right, top),
            at(left, top),
        ];
        std::array::from_fn(|k| corners[0][k] - corners[1][k] - corners[2][k] + corners[3][k])
    };
    Plane::from_fn(width, height, |x, y| {
        if !seen(x, y) {
            return Luma([9.0]);
        }
        let [n, sum, squares, by_x, by_y] = within(x, y);
        let mean = sum / n;
        let mut variance = squares / n - mean * mean;
        // a window that is whole: what a slope of the light makes is no texture
        let side = f64::from(2 * TEXTURE_REACH + 1);
        if n >= side * side {
            let spread = (side * side - 1.0) / 12.0;
            let slopes = [(by_x, x), (by_y, y)].map(|(by, at)| by / n - mean * f64::from(at));
            variance -= slopes.iter().map(|s| s * s).sum::<f64>() / spread;
        }
        Luma([variance.max(0.0).sqrt() as f32])
    })
}

/// The texture of the calmest tenth of the picture in view.
fn calm_level(texture: &Plane, view: &Mask) -> Option<f64> {
    let seen: Vec<f64> = texture
        .as_raw()
        .iter()
        .zip(view.as_raw())
        .filter(|(_, v)| **v > 0)
        .map(|(t, _)| f64::from(*t))
        .collect();
    Some(quantile(&seen, 0.1)?.max(0.003))
}

/// Radius of the disc that tissue holds everywhere and a seta does not, coarse pixels.
const SETA_RADIUS: usize = 5;

/// What is as dense as tissue (255) or not (0), thin dark structures such as setae opened away.
fn dense_parts(light: &LinearLight, field: &LightField, view: &Mask) -> Option<Mask> {
    let mut density = Density::of(light, field, [1.0 / 3.0; 3]).into_plane();
    for (value, view) in density.iter_mut().zip(view.as_raw()) {
        if *view == 0 {
            *value = 0.0;
        }
    }
    let smooth = blurred(&density, 1.2);
    let coded = map_subpixels(&smooth, |density| (density * 300.0).clamp(0.0, 255.0) as u8);
    let opened = opened(&coded, SETA_RADIUS);
    let threshold = imageproc::contrast::otsu_level(&opened);
    let mut inside: Vec<f64> = Vec::new();
    for (value, v) in opened.as_raw().iter().zip(view.as_raw()) {
        if *v > 0 && *value > threshold {
            inside.push(f64::from(*value) / 300.0);
        }
    }
    let middle = quantile(&inside, 0.4)?;
    let level = (middle * 0.5 * 300.0).max(6.0) as u8;
    Some(map_subpixels(&opened, |value| {
        255 * u8::from(value >= level)
    }))
}

/// Radius of the disc that must fit into the blade everywhere, coarse pixels: filled shafts of a big
/// animal are narrower.
const BLADE_RADIUS: usize = 11;

/// Takes off arms that are too narrow to be blade; the blade goes on beyond the border of the view.
fn without_arms(mask: &Mask, view: &Mask) -> Mask {
    let rim = BLADE_RADIUS as u32 + 2;
    let (width, height) = mask.dimensions();
    let inside = |x: u32, y: u32| {
        (
            (x.max(rim) - rim).min(width - 1),
            (y.max(rim) - rim).min(height - 1),
        )
    };
    let wide = Mask::from_fn(width + 2 * rim, height + 2 * rim, |x, y| {
        let (x, y) = inside(x, y);
        let out = view.get_pixel(x, y)[0] == 0;
        Luma([if out { 255 } else { mask.get_pixel(x, y)[0] }])
    });
    let opened = opened(&wide, BLADE_RADIUS);
    let count = |mask: &Mask| mask.as_raw().iter().filter(|v| **v > 0).count();
    let kept = Mask::from_fn(width, height, |x, y| {
        let both = opened.get_pixel(x + rim, y + rim)[0].min(mask.get_pixel(x, y)[0]);
        Luma([both])
    });
    if count(&kept) * 2 < count(mask) {
        return mask.clone();
    }
    without_specks(&kept)
}

/// Drops small patches and fills small holes.
fn without_specks(mask: &Mask) -> Mask {
    let least = (mask.width() * mask.height() / 60) as usize;
    let keep = |mask: &Mask| {
        let labels = connected_components(mask, Connectivity::Four, Luma([0]));
        let most = labels.as_raw().iter().max().copied().unwrap_or(0) as usize;
        let mut sizes = vec![0_usize; most + 1];
        for label in labels.as_raw() {
            sizes[*label as usize] += 1;
        }
        map_subpixels(&labels, |label| {
            255 * u8::from(label > 0 && sizes[label as usize] >= least)
        })
    };
    let mut kept = keep(mask);
    invert(&mut kept);
    let mut filled = keep(&kept);
    invert(&mut filled);
    filled
}

fn invert(mask: &mut Mask) {
    for value in mask.iter_mut() {
        *value = 255 - *value;
    }
}

/// The outline of the tissue where it does not run along the border of the view.
fn outlines(mask: &Mask, view: &Mask, light: &LinearLight) -> Vec<Outline> {
    let (width, height) = (mask.width() as i32, mask.height() as i32);
    let at_rim = |x: i32, y: i32| {
        (-2..=2).any(|dy| {
            (-2..=2).any(|dx| {
                let (xx, yy) = (x + dx, y + dy);
                xx < 0
                    || yy < 0
                    || xx >= width
                    || yy >= height
                    || view.get_pixel(xx as u32, yy as u32)[0] == 0
            })
        })
    };
    let mut pieces = Vec::new();
    // a frame of one empty pixel, since a contour is found only where something lies left of it
    let framed = Mask::from_fn(mask.width() + 2, mask.height() + 2, |x, y| {
        let inside = x > 0 && y > 0 && x <= mask.width() && y <= mask.height();
        Luma([if inside {
            mask.get_pixel(x - 1, y - 1)[0]
        } else {
            0
        }])
    });
    for mut contour in find_contours::<i32>(&framed) {
        for point in &mut contour.points {
            point.x -= 1;
            point.y -= 1;
        }
        let points = &contour.points;
        let n = points.len();
        if n < 30 {
            continue;
        }
        let start = (0..n).find(|i| at_rim(points[*i].x, points[*i].y));
        let mut piece: Vec<Point> = Vec::new();
        for step in 0..=n {
            let point = &points[(start.unwrap_or(0) + step) % n];
            if at_rim(point.x, point.y) {
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece
                    .push(light.photo_from_own(Point::new(f64::from(point.x), f64::from(point.y))));
            }
        }
        pieces.push(piece);
    }
    pieces.retain(|piece| piece.len() >= 30);
    for piece in &mut pieces {
        orient(piece, mask, light.factor());
    }
    pieces.sort_by_key(|piece| std::cmp::Reverse(piece.len()));
    pieces
}

/// Turns a piece round where the tissue lies on its left.
fn orient(piece: &mut [Point], mask: &Mask, factor: u32) {
    let reach = 4.0 * f64::from(factor);
    let mut right = 0_i32;
    for pair in piece.windows(9).step_by(4) {
        let inward = pair[8].minus(pair[0]).unit().turned();
        let middle = pair[4];
        right += i32::from(look_up(mask, factor, middle.plus(inward.times(reach))));
        right -= i32::from(look_up(mask, factor, middle.minus(inward.times(reach))));
    }
    if right < 0 {
        piece.reverse();
    }
}
