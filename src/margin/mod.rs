//! Finds the blade, the row of setal bases on its margin, and the strip along it.
//!
//! Micrographs go in, a [`Tip`] or a refusal comes out. Nothing here knows stages or pigment.

pub mod axis;

pub mod blade;

pub mod blur;

pub mod cuticle;

pub mod foot;

pub mod opening;

pub mod patch;

pub mod row;

pub mod shafts;

pub mod strip;

pub mod upright;

pub mod walls;

pub mod widths;

use crate::geometry::Point;
use crate::geometry::Polyline;
use crate::geometry::StripMap;
use crate::margin::axis::continued;
use crate::margin::axis::inner_side;
use crate::margin::axis::smooth_axis;
use crate::margin::blade::Blade;
use crate::margin::blade::find_blade;
use crate::margin::patch::Part;
use crate::margin::patch::Patch;
use crate::margin::row::Block;
use crate::margin::shafts::Profile;
use crate::margin::strip::Extent;
use crate::margin::strip::Strip;
use crate::margin::upright::Upright;
use crate::margin::widths::Trial;
use crate::micrograph::density::Density;
use crate::micrograph::density::NEAR;
use crate::micrograph::field::LightField;
use crate::micrograph::light::FullLight;
use crate::micrograph::light::Intensities as _;
use crate::micrograph::light::Lights;
use crate::micrograph::light::LinearLight;
use crate::statistics::robust::quantile;
use rayon::prelude::*;
use std::sync::Arc;

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
    /// Whether the photo has colours.
    pub coloured: bool,
}

/// Weights that mix the channels to one density, by how much light each has.
fn mixing(blade: &Blade, lights: &Lights<'_>) -> [f32; 3] {
    let middle = Point::new(
        f64::from(lights.micrograph().width()) / 2.0,
        f64::from(lights.micrograph().height()) / 2.0,
    );
    let light = blade.field.at(middle);
    let most = light.iter().copied().fold(0.0_f32, f32::max).max(1e-6);
    let raw = light.map(|l| l / (l + 0.15 * most));
    let total: f32 = raw.iter().sum();
    raw.map(|w| w / total)
}

/// Photos of fewer pixels than this on their long side are drawn out twofold.
const SMALL_SIDE: u32 = 1000;

/// Photos of more pixels than this on their long side, at working size, may be looked at by halves.
const LARGE_SIDE: f64 = 1000.0;

/// Photo pixels per pixel of a strip: what is looked for along the margin has a size in pixels of
/// the strip, which shall not hang on how small the photo is.
fn strip_step(light: &LinearLight) -> f64 {
    let small = light.width().max(light.height()) < SMALL_SIDE;
    f64::from(light.factor()) * if small { 0.5 } else { 1.0 }
}

/// Curves go on this far beyond the last place where they were found, in strip pixels: a window that
/// is half out of the photo shows nothing.
const BEYOND: f64 = 200.0;

/// A smooth axis through places of the margin, and beyond them.
fn longer_axis(points: &[Point], step: f64) -> Option<Polyline> {
    let longer = continued(points, 450.0 * step, BEYOND * step);
    smooth_axis(&longer, 8.0 * step, 60.0 * step)
}

/// Strips along the outer line of the cuticle reach so far outwards and inwards, in their own pixels.
const OUTSIDE: f64 = 220.0;
const INSIDE: f64 = 160.0;
/// The outer line of the cuticle is looked for so many pixels of the strip outside and inside of the
/// guessed row.
const CUTICLE_BEFORE: usize = 70;
const CUTICLE_AFTER: usize = 12;

/// The row of bases along one outline, as a first guess.
struct RowGuess {
    axis: Polyline,
    score: f64,
}

/// A row of bases as followed in the strip along a line near it.
struct Followed {
    points: Vec<Point>,
    /// How much of shafts there is.
    score: f64,
    /// How far their amplitude falls at the row.
    fall: f32,
}

fn follow(density: &Density, axis: &Polyline, (step, long): (f64, f64)) -> Option<Followed> {
    let map = StripMap::along(axis, step);
    let out = 0.35 * long;
    let extent = Extent {
        s_from: -0.4 * out,
        s_to: map.length() + 0.4 * out,
        t_from: -out,
        t_to: 90.0 * step,
        step,
    };
    let strip = Strip::sample(density, map, extent);
    let gradient = row::gradient_along(strip.density(), 1.3);
    let edge = strip.row(0.0) as usize;
    let mut blocks = row::blocks(&strip, &gradient, edge);
    let fall = row::follow_row(&mut blocks, edge + 45, 24);
    let levels: Vec<f64> = blocks.iter().map(|b| f64::from(b.level)).collect();
    let common = quantile(&levels, 0.7)?;
    let good: Vec<&Block> = blocks
        .iter()
        .filter(|b| f64::from(b.level) > 0.4 * common)
        .collect();
    let points: Vec<Point> = good.iter().map(|b| strip.photo(b.column, b.row)).collect();
    (points.len() >= 4).then(|| Followed {
        points,
        score: good.iter().map(|b| f64::from(b.level)).sum(),
        fall,
    })
}

/// A row that strays so far from a smooth line along its inner side, in strip pixels, may be misled.
const STRAYS: f64 = 12.0;

/// Where setae cross, they look as dense as tissue, and a row along the outline of both strays outwards;
/// it is then followed once more along its own inner side, and the one with the further fall is taken.
fn guess_row(
    density: &Density,
    blade: &Blade,
    outline: &[Point],
    (step, long): (f64, f64),
) -> Option<RowGuess> {
    let axis = smooth_axis(
        outline,
        f64::from(blade.factor),
        12.0 * f64::from(blade.factor),
    )?;
    let mut followed = follow(density, &axis, (step, long))?;
    let (inner, strays) = inner_side(&followed.points);
    if strays > STRAYS * step
        && let Some(axis) = longer_axis(&inner, step)
        && let Some(again) = follow(density, &axis, (step, long))
        && again.fall > followed.fall
    {
        followed = again;
    }
    Some(RowGuess {
        axis: longer_axis(&followed.points, step)?,
        score: followed.score,
    })
}

/// A photo in which rows of bases are looked for.
struct Searched<'a> {
    light: &'a LinearLight,
    blade: Blade,
    weights: [f32; 3],
    /// Photo pixels per pixel of a strip.
    step: f64,
    /// The longer side of the photo, in photo pixels.
    long: f64,
}

impl Searched<'_> {
    /// The steps at which the row is guessed: where the finer guess leads to nothing, one at half the
    /// size, which small things mislead less.
    fn guess_steps(&self) -> Vec<f64> {
        if self.long > LARGE_SIDE * self.step {
            vec![self.step, 2.0 * self.step]
        } else {
            vec![self.step]
        }
    }

    /// The likeliest row along any of the outlines.
    fn guess(&self, step: f64) -> Option<RowGuess> {
        let Self { light, blade, .. } = self;
        let times = (step / f64::from(light.factor())).round().max(1.0) as u32;
        let smaller;
        let light = if times > 1 {
            smaller = light.smaller(times);
            &smaller
        } else {
            light
        };
        let density = Density::of(light, &blade.field, self.weights);
        blade
            .outlines
            .iter()
            .take(3)
            .filter_map(|outline| guess_row(&density, blade, outline, (step, self.long)))
            .max_by(|a, b| a.score.total_cmp(&b.score))
    }

    /// The density of all that strips along a guessed row and along the outer line of the cuticle near
    /// it may hold.
    fn density_along(&self, guess: &StripMap) -> Density {
        let near = NEAR as f64 * f64::from(self.light.factor());
        let steps = |from: f64, to: f64| {
            let count = ((to - from) / near).ceil().max(0.0) as usize;
            (0..=count).map(move |k| (from + k as f64 * near).min(to))
        };
        let (outside, inside) = (
            OUTSIDE + CUTICLE_BEFORE as f64,
            INSIDE + CUTICLE_AFTER as f64,
        );
        let (outside, inside) = (outside * self.step, inside * self.step);
        let beyond = BEYOND * self.step;
        let places = steps(-beyond, guess.length() + beyond)
            .flat_map(|s| steps(-outside, inside).map(move |t| guess.point(s, t)));
        Density::around(self.light, &self.blade.field, self.weights, places)
    }

    /// The row of bases, guessed at strips of `guess_step`, with the widths setae may have.
    fn row(&self, guess_step: f64) -> Result<(Row, Vec<Trial>), Lack> {
        let step = self.step;
        let guess = self.guess(guess_step).ok_or(Lack::NoMargin)?;
        let map = StripMap::along(&guess.axis, step);
        let density = &self.density_along(&map);
        let strip = Strip::sample(
            density,
            map,
            extent_around(&guess.axis, 170.0 * step, 60.0 * step, step),
        );
        let zero = strip.row(0.0);
        let line =
            cuticle::trace_cuticle(&strip, strip.density(), zero, CUTICLE_BEFORE, CUTICLE_AFTER);
        let points: Vec<Point> = line.iter().map(|(c, r)| strip.photo(*c, *r)).collect();
        let depths: Vec<f64> = line.iter().map(|(_, r)| (zero - r) * step).collect();
        let (along, depth) = if points.len() >= 4 {
            let along = longer_axis(&points, step).ok_or(Lack::NoMargin)?;
            (along, quantile(&depths, 0.5).unwrap_or(0.0))
        } else {
            (guess.axis, 0.0)
        };
        let row = Row::along(density, &along, step, depth);
        let trials = row.widths();
        if trials.is_empty() {
            return Err(Lack::NoMargin);
        }
        Ok((row, trials))
    }
}

/// Finds what may be the tip in a micrograph: the row of bases under each base width that it may
/// have, the likeliest first. Each is worked out when it is asked for.
///
/// # Errors
/// A [`Lack`] when there is no margin with setae in view.
pub fn find_tips<'a>(
    lights: &'a Lights<'_>,
) -> Result<impl Iterator<Item = Result<Tip, Lack>> + 'a, Lack> {
    let blade = find_blade(lights).ok_or(Lack::NoMargin)?;
    let light = lights.working();
    let weights = mixing(&blade, lights);
    let searched = Arc::new(Searched {
        light,
        weights,
        blade,
        step: strip_step(light),
        long: f64::from(light.factor() * light.width().max(light.height())),
    });
    let rows = Arc::clone(&searched);
    Ok(searched
        .guess_steps()
        .into_iter()
        .flat_map(move |guess_step| match rows.row(guess_step) {
            Ok((row, trials)) => {
                let row = Arc::new(row);
                let with_row = |trial| Ok((Arc::clone(&row), trial));
                trials.into_iter().map(with_row).collect()
            }
            Err(lack) => vec![Err(lack)],
        })
        .map(move |found| {
            let (row, trial) = found?;
            settle_feet(lights, row.setae(&trial), &row, &searched)
        }))
}

fn extent_around(axis: &Polyline, outward: f64, inward: f64, step: f64) -> Extent {
    let beyond = 20.0 * step;
    Extent {
        s_from: -beyond,
        s_to: axis.length() + beyond,
        t_from: -outward,
        t_to: inward,
        step,
    }
}

/// The strip along the outer line of the cuticle, with the lean of the shafts.
struct Row {
    strip: Strip,
    upright: Upright,
    slants: Vec<(f64, f64)>,
    /// How far inside the outer line of the cuticle the shafts seemed to end at first sight, in photo
    /// pixels.
    depth: f64,
}

impl Row {
    fn along(density: &Density, along: &Polyline, step: f64, depth: f64) -> Self {
        let strip = Strip::sample(
            density,
            StripMap::along(along, step),
            extent_around(along, OUTSIDE * step, INSIDE * step, step),
        );
        let gradient = row::gradient_along(strip.density(), 1.0);
        let zero = strip.row(0.0) as usize;
        let slants = row::slants(&strip, &gradient, zero - 120..zero);
        let upright = Upright::of(strip.density(), strip.row(0.0), &|column| {
            row::slant_at(&slants, column)
        });
        Self {
            strip,
            upright,
            slants,
            depth,
        }
    }

    /// The widths setae may have, the likeliest first.
    fn widths(&self) -> Vec<Trial> {
        let profile = |width: f64| Profile {
            shaft: self.upright.band((-2.5 * width, -0.35 * width)),
            foot: self.upright.band((0.0, 0.6 * width)),
        };
        widths::find_widths(&profile, 3.5, 90.0)
    }

    /// The setae of one width, their origins on the outer line of the cuticle.
    fn setae(&self, trial: &Trial) -> Vec<SetaFrame> {
        let strip = &self.strip;
        let zero = strip.row(0.0);
        let slant = |column: f64| row::slant_at(&self.slants, column);
        let found = shafts::fit_shafts(&self.upright, trial.width, &trial.places, &slant);
        let strengths: Vec<f64> = found.iter().map(|s| f64::from(s.strength)).collect();
        let usual = quantile(&strengths, 0.5).unwrap_or(1.0).max(1e-9);
        found
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
            .collect()
    }
}

/// Finds the feet of setae whose origins lie on the outer line of the cuticle, and their width.
fn settle_feet(
    lights: &Lights<'_>,
    mut setae: Vec<SetaFrame>,
    Row { strip, depth, .. }: &Row,
    searched: &Searched<'_>,
) -> Result<Tip, Lack> {
    let Searched { blade, weights, .. } = searched;
    let weights = *weights;
    let widths: Vec<f64> = setae.iter().map(|s| s.width).collect();
    let mut width = quantile(&widths, 0.5).ok_or(Lack::TooFewSetae)?;
    let light = light_for(lights, width);
    let sample = |width: f64, part: Part| -> Vec<Patch> {
        setae
            .par_iter()
            .map(|seta| light.patch(&blade.field, (seta, width), part))
            .collect()
    };
    let factor = foot::width_factor(&sample(width, foot::SECTION), weights);
    width *= factor;
    let patches = sample(width, foot::ROUND_THE_FOOT);
    let offsets = foot::base_offsets(&patches, weights, depth / width).ok_or(Lack::NoMargin)?;
    for (seta, offset) in setae.iter_mut().zip(offsets) {
        *seta = foot::moved(seta, offset, width);
        seta.width *= factor;
        let (s, _) = strip.map().locate(seta.origin);
        seta.beneath = strip.map().frame(s).1;
    }
    let photo = lights.micrograph();
    let (right, bottom) = (f64::from(photo.width()), f64::from(photo.height()));
    setae.retain(|seta| {
        let Point { x, y } = seta.origin;
        x >= 0.0 && y >= 0.0 && x < right && y < bottom
    });
    Ok(Tip {
        blade: blade.clone(),
        setae,
        width,
        weights,
        coloured: lights.coloured(),
    })
}

/// Photo pixels across a seta that are enough to measure it.
const ENOUGH_ACROSS: f64 = 14.0;

/// The light at the size that suits setae of some width.
pub enum FittingLight<'a> {
    /// The working size is fine enough.
    Working(&'a LinearLight),
    /// Coarser than the working size.
    Coarse(LinearLight),
    /// The photo's own pixels, averaged as far as the setae allow.
    Full(FullLight<'a>),
}

impl FittingLight<'_> {
    /// Bilinear intensities at a photo position, per channel; `None` outside of the photo.
    pub fn intensity(&self, photo: Point) -> Option<[f32; 3]> {
        match self {
            Self::Working(light) => light.intensity(photo),
            Self::Coarse(light) => light.intensity(photo),
            Self::Full(light) => light.intensity(photo),
        }
    }

    /// A part of the patch of a seta whose widths are so many photo pixels.
    pub fn patch(&self, field: &LightField, seta: (&SetaFrame, f64), part: Part) -> Patch {
        match self {
            Self::Working(light) => Patch::sample(*light, field, seta, part),
            Self::Coarse(light) => Patch::sample(light, field, seta, part),
            Self::Full(light) => Patch::sample(light, field, seta, part),
        }
    }
}

/// The light of a photo where setae are `width` photo pixels wide.
pub fn light_for<'a>(lights: &'a Lights<'_>, width: f64) -> FittingLight<'a> {
    let working = lights.working();
    let side = ((width / ENOUGH_ACROSS).floor() as u32).max(1);
    match side / working.factor() {
        0 => FittingLight::Full(lights.means(side)),
        1 => FittingLight::Working(working),
        times => FittingLight::Coarse(working.smaller(times)),
    }
}

/// Pixels across a seta, at working size, from which on its row is found well.
const FOUND_WELL: f64 = 8.0;

/// The light of a photo at a finer working size, where setae `width` photo pixels wide want one.
pub fn finer_for<'a>(lights: &Lights<'a>, width: f64) -> Option<Lights<'a>> {
    let factor = f64::from(lights.working().factor());
    if width < FOUND_WELL * factor {
        lights.finer()
    } else {
        None
    }
}

/// Why no tip was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lack {
    /// No margin with setae in view.
    NoMargin,
    /// A margin, but too few setae.
    TooFewSetae,
}
