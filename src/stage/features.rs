//! Measures to features: a fixed, named, ordered vector of numbers without a unit.
//!
//! Every feature is a ratio or a length in base widths, so that neither the animal's size nor the
//! microscope's scale is in it. Values are clipped where a larger one means nothing more, and a
//! measure that is missing is replaced by a stated value, with a flag where its absence says
//! something by itself.

use crate::measure::MEASURES;
use crate::measure::Measurements;

/// Raised whenever a feature may change for the same measures.
pub const FEATURES_VERSION: u32 = 3;

/// How a feature is made from measures.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    /// The measure, clipped.
    Clipped { low: f64, high: f64 },
    /// The natural logarithm of the measure plus `offset`, the measure clipped first.
    Log { offset: f64, low: f64, high: f64 },
    /// The product of two measures, each clipped from 0 to its limit.
    Product { limits: [f64; 2] },
    /// 1 where the measure is missing, else 0.
    Missing,
}

/// One number of the vector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feature {
    /// Its name, as in model files.
    pub name: &'static str,
    /// The measures it is made from; its weight is split evenly between them.
    pub measures: &'static [&'static str],
    /// What stands for a measure that is missing.
    imputed: f64,
    form: Form,
}

const fn clipped(measures: &'static [&'static str], low: f64, high: f64, imputed: f64) -> Feature {
    Feature {
        name: measures[0],
        measures,
        imputed,
        form: Form::Clipped { low, high },
    }
}

const fn log(
    name: &'static str,
    measures: &'static [&'static str],
    offset: f64,
    (low, high): (f64, f64),
    imputed: f64,
) -> Feature {
    Feature {
        name,
        measures,
        imputed,
        form: Form::Log { offset, low, high },
    }
}

const fn product(
    name: &'static str,
    measures: &'static [&'static str],
    limits: [f64; 2],
) -> Feature {
    Feature {
        name,
        measures,
        imputed: 0.0,
        form: Form::Product { limits },
    }
}

const fn missing(name: &'static str, measures: &'static [&'static str]) -> Feature {
    Feature {
        name,
        measures,
        imputed: 0.0,
        form: Form::Missing,
    }
}

/// The features in their order.
///
/// # Source
/// Our own choice (`docs/decisions/0007-stage-model.md`): borders of the gap lie at ratios of about
/// two, hence its logarithm; below 0.3 base widths the bar and the cones hide it, and all such gaps are
/// the same. Tips at the edge may or may not show: only plain ones count.
pub const FEATURES: &[Feature] = &[
    clipped(&["gap_base_widths"], 0.3, 11.0, 0.3),
    log("gap_log", &["gap_base_widths"], 0.0, (0.3, 11.0), 0.3),
    clipped(&["base_fill"], -1.0, 4.0, 0.0),
    clipped(&["lumen_fill"], -1.0, 4.0, 0.0),
    clipped(&["base_pigment_od"], -0.2, 0.8, 0.0),
    clipped(&["lumen_pigment_od"], -0.2, 0.8, 0.0),
    clipped(&["base_pigment"], -1.0, 2.5, 0.0),
    clipped(&["lumen_pigment"], -1.0, 2.5, 0.0),
    // what a camera without colour leaves open: the mean over painted tips, which favours no stage
    clipped(&["base_hue"], -0.3, 0.6, 0.05),
    clipped(&["lumen_hue"], -0.3, 0.6, 0.035),
    clipped(&["base_line"], -0.5, 3.0, 0.3),
    clipped(&["cones"], -0.5, 2.0, 0.0),
    clipped(&["edge_step"], -3.0, 3.0, 0.0),
    clipped(&["scallop_base_widths"], -0.5, 2.0, 0.0),
    log("new_setae_log", &["new_setae"], 0.1, (0.0, 4.0), 0.3),
    clipped(&["new_tips"], 0.3, 1.2, 0.3),
    clipped(&["row_step"], -1.0, 2.0, 0.0),
    product(
        "scallop_and_new_setae",
        &["scallop_base_widths", "new_setae"],
        [1.5, 2.0],
    ),
    missing("scallop_missing", &["scallop_base_widths"]),
];

impl Feature {
    fn value(&self, measure: &impl Fn(&str) -> Option<f64>) -> f64 {
        let given = |i: usize| {
            let name = self.measures.get(i)?;
            measure(name).filter(|value| value.is_finite())
        };
        let first = given(0).unwrap_or(self.imputed);
        match self.form {
            Form::Clipped { low, high } => first.clamp(low, high),
            Form::Log { offset, low, high } => libm::log(first.clamp(low, high) + offset),
            Form::Product { limits } => {
                let second = given(1).unwrap_or(self.imputed);
                first.clamp(0.0, limits[0]) * second.clamp(0.0, limits[1])
            }
            Form::Missing => f64::from(u8::from(given(0).is_none())),
        }
    }
}

/// What forms beneath the old cuticle once the epidermis has left it.
const BENEATH: [&str; 3] = ["scallop_base_widths", "new_setae", "new_tips"];

/// Gaps, in base widths, up to which nothing can have formed beneath, and from which on all that is seen
/// counts. Our choice: new setae and scallops begin at 1.8; where the tissue runs into the bases, what
/// looks like them is pigment.
const OPENS: (f64, f64) = (0.5, 1.5);

/// The vector of measures given by name.
fn vector(measure: impl Fn(&str) -> Option<f64>) -> Vec<f64> {
    let gap = measure("gap_base_widths").unwrap_or(0.0);
    let open = ((gap - OPENS.0) / (OPENS.1 - OPENS.0)).clamp(0.0, 1.0);
    let seen = |name: &str| {
        let value = measure(name)?;
        Some(if BENEATH.contains(&name) {
            open * value
        } else {
            value
        })
    };
    FEATURES.iter().map(|f| f.value(&seen)).collect()
}

/// What is said of a whole photo only, after [`FEATURES`]: how well its setae hang together. It tells
/// no stage apart and is looked at for novelty alone.
pub const FORM: [&str; 3] = ["spacing_log", "gap_spread", "gap_support"];

/// The features of a photo, in the order of [`FEATURES`] and then [`FORM`].
pub fn of_photo(measurements: &Measurements) -> Vec<f64> {
    let mut row = vector(|name| measurements.measure(name).map(|m| m.value));
    row.extend(form(measurements));
    row
}

fn form(measurements: &Measurements) -> [f64; FORM.len()] {
    let ratio = measurements.spacing.get() / measurements.base_width.get();
    let setae = measurements.setae.len().max(1) as f64;
    let (spread, support) = measurements
        .measure("gap_base_widths")
        .map_or((2.0, 0.0), |gap| {
            let relative = gap.spread / (gap.value.max(0.0) + 0.5);
            (relative, gap.support as f64 / setae)
        });
    let log = libm::log(ratio.clamp(0.5, 20.0));
    let log = if log.is_finite() { log } else { 0.0 };
    [log, spread.clamp(0.0, 2.0), support.clamp(0.0, 1.0)]
}

/// The features of one seta from its own measures, in the order of [`FEATURES`]; `None` where not
/// even its gap is known.
pub fn of_seta(measures: &[Option<f64>; MEASURES.len()]) -> Option<Vec<f64>> {
    let measure = |name: &str| {
        let at = MEASURES.iter().position(|m| *m == name)?;
        measures[at]
    };
    measure("gap_base_widths")?;
    Some(vector(measure))
}

/// The names of all numbers of a photo, in order.
pub fn names() -> Vec<String> {
    let features = FEATURES.iter().map(|f| f.name);
    features.chain(FORM).map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_distinct_and_every_measure_exists() {
        let mut names = names();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), FEATURES.len() + FORM.len());
        for feature in FEATURES {
            for measure in feature.measures {
                assert!(MEASURES.contains(measure), "{measure}");
            }
        }
    }

    #[test]
    fn a_gap_is_seen_as_it_is_and_as_its_logarithm() {
        let vector = vector(|name| (name == "gap_base_widths").then_some(1.0));
        assert_eq!((vector[0], vector[1]), (1.0, 0.0));
        let flag = FEATURES.iter().position(|f| f.name == "scallop_missing");
        assert_eq!(vector[flag.unwrap()], 1.0);
    }

    #[test]
    fn nothing_forms_beneath_a_closed_gap() {
        let with = |gap: f64, new: f64| {
            let vector = vector(|name| match name {
                "gap_base_widths" => Some(gap),
                "new_setae" => Some(new),
                _ => None,
            });
            vector[FEATURES
                .iter()
                .position(|f| f.name == "new_setae_log")
                .unwrap()]
        };
        assert_eq!(with(0.2, 0.9), with(0.2, 0.0));
        assert!(with(1.0, 0.9) > with(1.0, 0.0));
        assert!(with(2.0, 0.9) > with(1.0, 0.9));
        assert_eq!(with(2.0, 0.9), with(6.0, 0.9));
    }

    #[test]
    fn wild_and_missing_measures_stay_finite() {
        for value in [None, Some(f64::INFINITY), Some(f64::NAN), Some(-1e300)] {
            assert!(vector(|_| value).iter().all(|v| v.is_finite()));
        }
    }
}
