//! Finds the blade, the row of setal bases on its margin, and the strip along it.
//!
//! Micrographs go in, a [`Tip`] or a refusal comes out. Nothing here knows stages or pigment.

pub mod blade;

pub mod cuticle;

pub mod foot;

pub mod patch;

pub mod row;

pub mod shafts;

pub mod strip;

use crate::geometry::Point;
use crate::geometry::Polyline;
use crate::geometry::StripMap;
use crate::margin::blade::Blade;
use crate::margin::blade::find_blade;
use crate::margin::patch::Patch;
use crate::margin::row::Block;
use crate::margin::shafts::Profile;
use crate::margin::strip::Extent;
use crate::margin::strip::Strip;
use crate::micrograph::Micrograph;
use crate::micrograph::light::LinearLight;
use crate::statistics::robust::quantile;
use rayon::prelude::*;

/// Smooths a line of points with a Gaussian along it, `sigma` points wide; the ends are mirrored.
pub fn smoothed(points: &[Point], sigma: f64) -> Vec<Point> {
    let n = points.len() as isize;
    let reach = (3.0 * sigma).ceil() as isize;
    let weights: Vec<f64> = (-reach..=reach)
        .map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp())
        .collect();
    let total: f64 = weights.iter().sum();
    let fetch = |i: isize| -> Point {
        // point mirror about the end keeps the direction there
        if i < 0 {
            let mirrored = points[(-i).min(n - 1) as usize];
            points[0].times(2.0).minus(mirrored)
        } else if i >= n {
            let mirrored = points[(2 * (n - 1) - i).max(0) as usize];
            points[(n - 1) as usize].times(2.0).minus(mirrored)
        } else {
            points[i as usize]
        }
    };
    (0..n)
        .map(|i| {
            let mut sum = Point::new(0.0, 0.0);
            for (k, weight) in (-reach..=reach).zip(&weights) {
                sum = sum.plus(fetch(i + k).times(*weight));
            }
            sum.times(1.0 / total)
        })
        .collect()
}

/// A smooth axis through an outline, with points `step` apart.
pub fn axis(outline: &[Point], step: f64, sigma: f64) -> Option<Polyline> {
    let even = Polyline::new(outline.iter().copied())?.resampled(step);
    Polyline::new(smoothed(even.points(), sigma / step))
}

/// A seta as found in a photo.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetaFrame {
    /// Where its axis meets the base line, photo pixels.
    pub origin: Point,
    /// Unit direction of its axis, from the shaft into the tissue.
    pub inward: Point,
    /// Unit direction in which the epidermis beneath it is looked for.
    pub beneath: Point,
    /// Outer width, photo pixels.
    pub width: f64,
    /// How well it looks like a seta; 1 is usual in its photo.
    pub strength: f64,
}

/// A uropod tip found in a photo.
#[derive(Debug, Clone)]
pub struct Tip {
    /// What the coarse look told.
    pub blade: Blade,
    /// The setae along the margin.
    pub setae: Vec<SetaFrame>,
    /// Usual outer width of a seta, photo pixels.
    pub width: f64,
    /// Weights that mix the channels to one density.
    pub weights: [f32; 3],
}

/// Weights that mix the channels to one density, by how much light each has.
fn mixing(blade: &Blade, micrograph: &Micrograph) -> [f32; 3] {
    let middle = Point::new(
        f64::from(micrograph.width()) / 2.0,
        f64::from(micrograph.height()) / 2.0,
    );
    let light = blade.field.at(middle);
    let most = light.iter().copied().fold(0.0_f32, f32::max).max(1e-6);
    let raw = light.map(|l| l / (l + 0.15 * most));
    let total: f32 = raw.iter().sum();
    raw.map(|w| w / total)
}

/// The row of bases along one outline, as a first guess.
struct RowGuess {
    axis: Polyline,
    score: f64,
}

fn guess_row(
    light: &LinearLight,
    blade: &Blade,
    weights: [f32; 3],
    outline: &[Point],
    long: f64,
) -> Option<RowGuess> {
    let step = f64::from(light.factor());
    let axis = axis(
        outline,
        f64::from(blade.factor),
        12.0 * f64::from(blade.factor),
    )?;
    let map = StripMap::along(&axis, step);
    let out = 0.35 * long;
    let extent = Extent {
        s_from: -0.4 * out,
        s_to: map.length() + 0.4 * out,
        t_from: -out,
        t_to: 90.0 * step,
        step,
    };
    let strip = Strip::sample(light, &blade.field, map, extent);
    let density = strip.mixed(weights);
    let gradient = row::gradient_along(&density, 1.3);
    let edge = strip.row(0.0) as usize;
    let mut blocks = row::blocks(&strip, &gradient, edge);
    row::follow_row(&mut blocks, edge + 45, 24);
    let levels: Vec<f64> = blocks.iter().map(|b| f64::from(b.level)).collect();
    let common = quantile(&levels, 0.7)?;
    let good: Vec<&Block> = blocks
        .iter()
        .filter(|b| f64::from(b.level) > 0.4 * common)
        .collect();
    let score = good.iter().map(|b| f64::from(b.level)).sum();
    let points: Vec<Point> = good.iter().map(|b| strip.photo(b.column, b.row)).collect();
    if points.len() < 4 {
        return None;
    }
    let axis = self::axis(&points, 8.0 * step, 60.0 * step)?;
    Some(RowGuess { axis, score })
}

/// Finds the tip in a micrograph.
///
/// # Errors
/// A [`Lack`] when there is no margin with setae in view.
pub fn find_tip(micrograph: &Micrograph) -> Result<Tip, Lack> {
    let blade = find_blade(micrograph).ok_or(Lack::NoMargin)?;
    let long = f64::from(micrograph.width().max(micrograph.height()));
    let light = LinearLight::of(micrograph, ((long / 2000.0).round() as u32).max(1));
    let weights = mixing(&blade, micrograph);
    let step = f64::from(light.factor());
    let guess = blade
        .outlines
        .iter()
        .take(3)
        .filter_map(|outline| guess_row(&light, &blade, weights, outline, long))
        .max_by(|a, b| a.score.total_cmp(&b.score))
        .ok_or(Lack::NoMargin)?;
    let strip = Strip::sample(
        &light,
        &blade.field,
        StripMap::along(&guess.axis, step),
        extent_around(&guess.axis, 170.0 * step, 60.0 * step, step),
    );
    let density = strip.mixed(weights);
    let zero = strip.row(0.0);
    let line = cuticle::trace_cuticle(&strip, &density, zero, 70, 12);
    let points: Vec<Point> = line.iter().map(|(c, r)| strip.photo(*c, *r)).collect();
    let depths: Vec<f64> = line.iter().map(|(_, r)| (zero - r) * step).collect();
    let (along, depth) = if points.len() >= 4 {
        let along = axis(&points, 8.0 * step, 60.0 * step).ok_or(Lack::NoMargin)?;
        (along, quantile(&depths, 0.5).unwrap_or(0.0))
    } else {
        (guess.axis, 0.0)
    };
    let (setae, strip) = find_setae(&light, &blade, weights, &along)?;
    settle_feet(micrograph, setae, &strip, depth, Looked { blade, weights })
}

fn extent_around(axis: &Polyline, outward: f64, inward: f64, step: f64) -> Extent {
    let beyond = 100.0 * step;
    Extent {
        s_from: -beyond,
        s_to: axis.length() + beyond,
        t_from: -outward,
        t_to: inward,
        step,
    }
}

/// The setae along the outer line of the cuticle, their origins on it, and the strip along it.
fn find_setae(
    light: &LinearLight,
    blade: &Blade,
    weights: [f32; 3],
    along: &Polyline,
) -> Result<(Vec<SetaFrame>, Strip), Lack> {
    let step = f64::from(light.factor());
    let strip = Strip::sample(
        light,
        &blade.field,
        StripMap::along(along, step),
        extent_around(along, 220.0 * step, 160.0 * step, step),
    );
    let density = strip.mixed(weights);
    let gradient = row::gradient_along(&density, 1.0);
    let zero = strip.row(0.0);
    let from = zero as usize - 120;
    let blocks = row::slants(&strip, &gradient, from..zero as usize);
    let slant = |column: f64| row::slant_at(&blocks, column);
    let profile = |width: f64| Profile {
        shaft: shafts::band_profile(&density, zero, (-2.5 * width, -0.35 * width), &slant),
        foot: shafts::band_profile(&density, zero, (0.0, 0.6 * width), &slant),
    };
    let (width, places) = shafts::find_width(&profile, 3.5, 90.0).ok_or(Lack::NoMargin)?;
    let found = shafts::fit_shafts(&density, zero, width, &places, &slant);
    let strengths: Vec<f64> = found.iter().map(|s| f64::from(s.strength)).collect();
    let usual = quantile(&strengths, 0.5).unwrap_or(1.0).max(1e-9);
    let setae = found
        .iter()
        .map(|shaft| {
            let origin = strip.photo(shaft.column, zero);
            let further = strip.photo(shaft.column - 60.0 * shaft.slant, zero - 60.0);
            let inward = origin.minus(further).unit();
            let (_, normal) = strip.map().frame(strip.s(shaft.column));
            SetaFrame {
                origin,
                inward,
                beneath: inward,
                width: shaft.width * strip.step() * inward.dot(normal).abs(),
                strength: f64::from(shaft.strength) / usual,
            }
        })
        .collect();
    Ok((setae, strip))
}

/// What the coarse look told, on its way into the tip.
struct Looked {
    blade: Blade,
    weights: [f32; 3],
}

/// Finds the feet of setae whose origins lie on the outer line of the cuticle, and their width.
///
/// `depth` is how far inside that line, in photo pixels, the shafts seemed to end at first sight.
fn settle_feet(
    micrograph: &Micrograph,
    mut setae: Vec<SetaFrame>,
    strip: &Strip,
    depth: f64,
    looked: Looked,
) -> Result<Tip, Lack> {
    let Looked { blade, weights } = looked;
    let widths: Vec<f64> = setae.iter().map(|s| s.width).collect();
    let mut width = quantile(&widths, 0.5).ok_or(Lack::TooFewSetae)?;
    let light = LinearLight::of(micrograph, working_factor(width));
    let sample = |setae: &[SetaFrame], width: f64| -> Vec<Patch> {
        setae
            .par_iter()
            .map(|seta| Patch::sample(&light, &blade.field, seta, width))
            .collect()
    };
    let factor = foot::width_factor(&sample(&setae, width), weights);
    width *= factor;
    let patches = sample(&setae, width);
    let offsets = foot::base_offsets(&patches, weights, depth / width).ok_or(Lack::NoMargin)?;
    for (seta, offset) in setae.iter_mut().zip(offsets) {
        *seta = foot::moved(seta, offset, width);
        seta.width *= factor;
        let (s, _) = strip.map().locate(seta.origin);
        seta.beneath = strip.map().frame(s).1;
    }
    Ok(Tip {
        blade,
        setae,
        width,
        weights,
    })
}

/// How much smaller a photo may be taken where setae are `width` pixels wide.
pub fn working_factor(width: f64) -> u32 {
    ((width / 14.0).floor() as u32).max(1)
}

/// Why no tip was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lack {
    /// No margin with setae in view.
    NoMargin,
    /// A margin, but too few setae.
    TooFewSetae,
}
