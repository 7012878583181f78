//! What is measured at the setal bases, or why nothing could be.
//!
//! A [`Tip`] goes in; [`Measurements`] or a [`Refusal`] come out. Every measure is taken seta by seta
//! in its own frame and then summarised with a robust centre, a spread and the number of setae.

pub mod by_hand;

pub mod edge;

pub mod lean;

pub mod quality;

pub mod seta;

use crate::geometry::Point;
use crate::margin::FittingLight;
use crate::margin::Lack;
use crate::margin::SetaFrame;
use crate::margin::Tip;
use crate::margin::find_tips;
use crate::margin::finer_for;
use crate::margin::light_for;
use crate::margin::patch;
use crate::margin::patch::Part;
use crate::margin::patch::Patch;
use crate::measure::edge::Edges;
use crate::measure::lean::Known;
use crate::measure::seta::SetaMeasures;
use crate::measure::seta::Shafts;
use crate::micrograph::Micrograph;
use crate::micrograph::light::Lights;
use crate::statistics::robust::median;
use crate::statistics::robust::spread;
use crate::units::Pixels;
use rayon::prelude::*;
use serde::Deserialize;
use serde::Serialize;

/// Raised whenever a measured value may change.
pub const MEASURING_VERSION: u32 = 8;

/// Why a photo is not read; codes as in the reading's JSON.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Refusal {
    /// The file is no photo that can be decoded.
    CannotDecode,
    /// More pixels or bytes than the limits allow.
    TooLarge,
    /// Too few pixels to hold a tip.
    TooSmall,
    /// No margin with setae in view.
    NoMargin,
    /// A margin, but too few setae on it.
    TooFewSetae,
    /// Nothing sharp enough to measure.
    OutOfFocus,
    /// Too little light.
    TooDark,
    /// Background or tissue at the end of the scale.
    BurntOut,
    /// The bases span too few pixels.
    TooFewPixelsPerSeta,
    /// Something else than a uropod tip.
    NotAUropodTip,
}

/// A measure over the setae of one photo.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Robust centre over the setae.
    pub value: f64,
    /// Robust spread between setae (1.4826 times the median absolute deviation).
    pub spread: f64,
    /// How many setae it rests on.
    pub support: usize,
}

impl Measured {
    /// Centre and spread of the values; `None` when there are none.
    pub fn of(values: &[f64]) -> Option<Self> {
        Some(Self {
            value: median(values)?,
            spread: spread(values)?,
            support: values.len(),
        })
    }
}

/// The measures by name; the order is that of [`SetaMeasures::values`].
pub const MEASURES: [&str; 16] = [
    "gap_base_widths",
    "base_fill",
    "lumen_fill",
    "base_pigment_od",
    "lumen_pigment_od",
    "base_pigment",
    "lumen_pigment",
    "base_hue",
    "lumen_hue",
    "base_line",
    "cones",
    "edge_step",
    "scallop_base_widths",
    "new_setae",
    "new_tips",
    "row_step",
];

/// One setal base in view.
#[derive(Debug, Clone, PartialEq)]
pub struct Seta {
    /// Centre of the base line, photo pixels.
    pub base: Point,
    /// Where the epidermis begins, in line with the seta, photo pixels.
    pub edge: Option<Point>,
    /// From the base line to the epidermis.
    pub gap: Option<Pixels>,
    /// Its own measures, in the order of [`MEASURES`]; `None` where it has no support.
    pub measures: [Option<f64>; MEASURES.len()],
}

/// What was measured in one photo.
#[derive(Debug, Clone)]
pub struct Measurements {
    /// The setae, along the margin.
    pub setae: Vec<Seta>,
    /// Outer width of a seta at the base line.
    pub base_width: Pixels,
    /// Distance from base to base along the margin.
    pub spacing: Pixels,
    /// The measures over the setae, in the order of [`MEASURES`].
    pub measures: [Option<Measured>; MEASURES.len()],
    /// How the shafts compare; `None` where too little of the shafts is in view.
    pub shafts: Option<Shafts>,
}

impl Measurements {
    /// The measure of a name out of [`MEASURES`].
    pub fn measure(&self, name: &str) -> Option<Measured> {
        let index = MEASURES.iter().position(|m| *m == name)?;
        self.measures[index]
    }
}

/// Finds the tip in a micrograph and measures it.
///
/// Looked for at a moderate size first, and once more at a finer one where that shows too little.
///
/// # Errors
/// A [`Refusal`] when it cannot be read.
pub fn measure(micrograph: &Micrograph) -> Result<(Tip, Measurements), Refusal> {
    let lights = Lights::of(micrograph);
    quality::light_enough(&lights)?;
    let first = measure_at(&lights);
    let finer = match &first {
        Ok((tip, _)) => finer_for(&lights, tip.width),
        Err(_) => lights.finer(),
    };
    drop(lights);
    match finer.map(|finer| measure_at(&finer)) {
        Some(Ok(read)) => Ok(read),
        _ => first,
    }
}

/// Finds and measures the tip at one working size.
fn measure_at(lights: &Lights<'_>) -> Result<(Tip, Measurements), Refusal> {
    let refusal = |lack| match lack {
        Lack::NoMargin => Refusal::NoMargin,
        Lack::TooFewSetae => Refusal::TooFewSetae,
    };
    let mut refused = None;
    for tip in find_tips(lights).map_err(refusal)? {
        match tip.map_err(refusal).and_then(|tip| read_tip(lights, tip)) {
            Ok(read) => return Ok(read),
            // the likeliest width says best what is wrong
            Err(reason) => refused = refused.or(Some(reason)),
        }
    }
    Err(refused.unwrap_or(Refusal::NoMargin))
}

/// Measures a tip as found and judges whether it can be read.
fn read_tip(lights: &Lights<'_>, mut tip: Tip) -> Result<(Tip, Measurements), Refusal> {
    quality::enough_setae(&tip)?;
    let light = light_for(lights, tip.width);
    let patches = sample_patches(&light, &tip);
    quality::enough_pixels(&tip, || compared_shafts(&patches, &tip))?;
    let patches = if settle_lean(&light, &patches, &mut tip) {
        sample_patches(&light, &tip)
    } else {
        patches
    };
    let measurements = measure_tip(&light, &patches, &tip);
    quality::readable(lights, &tip, &measurements)?;
    Ok((tip, measurements))
}

/// Measures a tip whose lean is settled.
fn measure_as_found(micrograph: &Micrograph, tip: &Tip) -> Measurements {
    let lights = Lights::of(micrograph);
    let finer = finer_for(&lights, tip.width);
    let lights = finer.as_ref().unwrap_or(&lights);
    let light = light_for(lights, tip.width);
    measure_tip(&light, &sample_patches(&light, tip), tip)
}

fn sample_patches(light: &FittingLight<'_>, tip: &Tip) -> Vec<Patch> {
    tip.setae
        .par_iter()
        .map(|frame| light.patch(&tip.blade.field, (frame, tip.width), Part::MEASURED))
        .collect()
}

/// Lets the lean of the setae go on beneath their bases as far as the epidermis shows that it does;
/// says whether it turned them.
fn settle_lean(light: &FittingLight<'_>, patches: &[Patch], tip: &mut Tip) -> bool {
    let Some((gap, levels)) = Edges::find(patches, tip.weights).common else {
        return false;
    };
    let known = Known { gap, levels };
    let spacing = spacing(&tip.setae).unwrap_or(2.5 * tip.width);
    let share = lean::share_of_lean(light, tip, known, spacing);
    if share <= 0.0 {
        return false;
    }
    for seta in &mut tip.setae {
        seta.beneath = lean::leaning(seta, share);
    }
    true
}

/// The frame midway between two neighbouring setae.
fn between(a: &SetaFrame, b: &SetaFrame) -> SetaFrame {
    SetaFrame {
        origin: a.origin.toward(b.origin, 0.5),
        inward: a.inward.plus(b.inward).unit(),
        beneath: a.beneath.plus(b.beneath).unit(),
        width: 0.5 * (a.width + b.width),
        strength: a.strength.min(b.strength),
    }
}

/// How the shafts compare, feet that have lost theirs left out.
fn compared_shafts(patches: &[Patch], tip: &Tip) -> Option<Shafts> {
    let whole: Vec<&Patch> = patches
        .iter()
        .zip(&tip.setae)
        .filter(|(_, seta)| seta.strength > 0.0)
        .map(|(patch, _)| patch)
        .collect();
    seta::compare_shafts(&whole, tip.weights)
}

fn measure_tip(light: &FittingLight<'_>, patches: &[Patch], tip: &Tip) -> Measurements {
    let width = tip.width;
    let spacing = spacing(&tip.setae).unwrap_or(2.5 * width);
    let weights = tip.weights;
    let mut edges = Edges::find(patches, weights);
    edges.look_midway(&tip.setae, weights, |pair, part| {
        let apart = pair[0].origin.distance(pair[1].origin);
        (apart < 1.6 * spacing).then(|| {
            let middle = between(&pair[0], &pair[1]);
            light.patch(&tip.blade.field, (&middle, width), part)
        })
    });
    let reference = seta::reference(patches, (weights, tip.coloured), edges.levels());
    let setae: Vec<Seta> = tip
        .setae
        .iter()
        .enumerate()
        .map(|(i, frame)| {
            let own = edges.own[i];
            let measures = SetaMeasures::take(
                &patches[i],
                &reference,
                own.or_else(|| edges.common.map(|common| common.0)),
                own,
                edges.midway_of(i),
            );
            Seta {
                base: frame.origin,
                edge: own.map(|v| patch::photo(frame, width, 0.0, v)),
                gap: own.map(|v| Pixels::new(v * width)),
                measures: measures.values(),
            }
        })
        .collect();
    let measures = std::array::from_fn(|k| {
        let values: Vec<f64> = setae.iter().filter_map(|s| s.measures[k]).collect();
        Measured::of(&values)
    });
    Measurements {
        setae,
        base_width: Pixels::new(width),
        spacing: Pixels::new(spacing),
        measures,
        shafts: compared_shafts(patches, tip),
    }
}

/// Usual distance from base to base, gaps of missing setae left out.
fn spacing(setae: &[SetaFrame]) -> Option<f64> {
    let steps: Vec<f64> = setae
        .windows(2)
        .map(|pair| pair[0].origin.distance(pair[1].origin))
        .collect();
    let usual = median(&steps)?;
    let kept: Vec<f64> = steps.into_iter().filter(|s| *s < 1.6 * usual).collect();
    Some(kept.iter().sum::<f64>() / kept.len() as f64)
}
