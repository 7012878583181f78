//! Measures to features: a fixed, named, ordered vector of numbers without a unit.
//!
//! Every feature is a ratio or a length in base widths, so that neither the animal's size nor the
//! microscope's scale is in it. Values are clipped where a larger one means nothing more, and a
//! measure that is missing is replaced by a stated value, with a flag where its absence says
//! something by itself.

use crate::measure::MEASURES;
use crate::measure::Measurements;

/// Raised whenever a feature may change for the same measures.
pub const FEATURES_VERSION: u32 = 4;

/// How a measure enters a feature: clipped, and as it is or as a logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scale {
    low: f64,
    high: f64,
    log: Option<Log>,
}

/// The natural logarithm of the measure plus `offset`, over `one`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Log {
    offset: f64,
    one: f64,
}

impl Scale {
    const fn clipped(low: f64, high: f64) -> Self {
        Self {
            low,
            high,
            log: None,
        }
    }

    const fn log(low: f64, high: f64, offset: f64, one: f64) -> Self {
        Self {
            low,
            high,
            log: Some(Log { offset, one }),
        }
    }

    fn value(&self, measure: f64) -> f64 {
        let clipped = measure.clamp(self.low, self.high);
        self.log.map_or(clipped, |Log { offset, one }| {
            libm::log((clipped + offset) / one)
        })
    }
}

/// How a feature is made from measures.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    /// One measure.
    Alone(Scale),
    /// The product of two measures, or of one with itself.
    Product([Scale; 2]),
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
    form: Form,
}

const fn clipped(measures: &'static [&'static str], low: f64, high: f64) -> Feature {
    alone(measures[0], measures, Scale::clipped(low, high))
}

const fn alone(name: &'static str, measures: &'static [&'static str], scale: Scale) -> Feature {
    Feature {
        name,
        measures,
        form: Form::Alone(scale),
    }
}

const fn product(
    name: &'static str,
    measures: &'static [&'static str],
    scales: [Scale; 2],
) -> Feature {
    Feature {
        name,
        measures,
        form: Form::Product(scales),
    }
}

const fn missing(name: &'static str, measures: &'static [&'static str]) -> Feature {
    Feature {
        name,
        measures,
        form: Form::Missing,
    }
}

/// What stands for a measure that is missing.
fn imputed(measure: &str) -> f64 {
    match measure {
        "gap_base_widths" | "base_line" | "new_setae" | "new_tips" => 0.3,
        // what a camera without colour leaves open: the mean over painted tips, which favours no stage
        "base_hue" => 0.05,
        "lumen_hue" => 0.035,
        _ => 0.0,
    }
}

/// In products the logarithms of gap and new setae are taken from the middle of what tips show, so that
/// a square does not say again what the logarithm says.
const GAP_FROM_MIDDLE: Scale = Scale::log(0.3, 11.0, 0.0, 1.5);
const NEW_SETAE_FROM_MIDDLE: Scale = Scale::log(0.0, 4.0, 0.1, 0.3);

/// The features in their order.
///
/// # Source
/// Our own choice (`docs/decisions/0007-stage-model.md`): borders of the gap lie at ratios of about
/// two, hence its logarithm; below 0.3 base widths the bar and the cones hide it, and all such gaps are
/// the same. Tips at the edge may or may not show: only plain ones count.
pub const FEATURES: &[Feature] = &[
    clipped(&["gap_base_widths"], 0.3, 11.0),
    alone(
        "gap_log",
        &["gap_base_widths"],
        Scale::log(0.3, 11.0, 0.0, 1.0),
    ),
    clipped(&["base_fill"], -1.0, 4.0),
    clipped(&["lumen_fill"], -1.0, 4.0),
    clipped(&["base_pigment_od"], -0.2, 0.8),
    clipped(&["lumen_pigment_od"], -0.2, 0.8),
    clipped(&["base_pigment"], -1.0, 2.5),
    clipped(&["lumen_pigment"], -1.0, 2.5),
    clipped(&["base_hue"], -0.3, 0.6),
    clipped(&["lumen_hue"], -0.3, 0.6),
    clipped(&["base_line"], -0.5, 3.0),
    clipped(&["cones"], -0.5, 2.0),
    clipped(&["edge_step"], -3.0, 3.0),
    clipped(&["scallop_base_widths"], -0.5, 2.0),
    alone(
        "new_setae_log",
        &["new_setae"],
        Scale::log(0.0, 4.0, 0.1, 1.0),
    ),
    clipped(&["new_tips"], 0.3, 1.2),
    clipped(&["row_step"], -1.0, 2.0),
    product(
        "scallop_and_new_setae",
        &["scallop_base_widths", "new_setae"],
        [Scale::clipped(0.0, 1.5), Scale::clipped(0.0, 2.0)],
    ),
    missing("scallop_missing", &["scallop_base_widths"]),
    // a stage has a gap that is neither smaller nor larger: its likelihood rises and falls again
    product(
        "gap_log_squared",
        &["gap_base_widths"],
        [GAP_FROM_MIDDLE, GAP_FROM_MIDDLE],
    ),
    // the same new setae mean more where the epidermis has gone further
    product(
        "gap_and_new_setae",
        &["gap_base_widths", "new_setae"],
        [GAP_FROM_MIDDLE, NEW_SETAE_FROM_MIDDLE],
    ),
    // pigment that fills a base stands out against the walls and against the epidermis both: thin walls
    // or a pale epidermis alone make either ratio large
    product(
        "base_fill_and_pigment",
        &["base_fill", "base_pigment"],
        [Scale::clipped(0.0, 1.0), Scale::clipped(0.0, 1.0)],
    ),
    // a base line tells most where the tissue still reaches the bases
    product(
        "base_line_and_row_step",
        &["base_line", "row_step"],
        [Scale::clipped(0.0, 1.0), Scale::clipped(0.0, 1.0)],
    ),
];

impl Feature {
    fn value(&self, measure: &impl Fn(&str) -> Option<f64>) -> f64 {
        let given = |name: &str| measure(name).filter(|value| value.is_finite());
        let value = |name: &str| given(name).unwrap_or_else(|| imputed(name));
        let first = self.measures[0];
        let last = self.measures[self.measures.len() - 1];
        match self.form {
            Form::Alone(scale) => scale.value(value(first)),
            Form::Product([a, b]) => a.value(value(first)) * b.value(value(last)),
            Form::Missing => f64::from(u8::from(given(first).is_none())),
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
    fn products_are_those_of_clipped_measures_and_logarithms_from_the_middle() {
        let of = |given: &[(&str, f64)]| {
            let measure = |name: &str| given.iter().find(|(n, _)| *n == name).map(|(_, v)| *v);
            let vector = vector(measure);
            move |name: &str| vector[FEATURES.iter().position(|f| f.name == name).unwrap()]
        };
        let near = |value: f64, wanted: f64| {
            assert!((value - wanted).abs() < 1e-12, "{value} {wanted}");
        };
        // e times the middle gap of 1.5, and e times the middle of new setae
        let e = std::f64::consts::E;
        let wide = of(&[("gap_base_widths", 1.5 * e), ("new_setae", 0.3 * e - 0.1)]);
        near(wide("gap_log_squared"), 1.0);
        near(wide("gap_and_new_setae"), 1.0);
        let narrow = of(&[("gap_base_widths", 1.5 / e), ("new_setae", 0.2)]);
        near(narrow("gap_log_squared"), 1.0);
        let soft = of(&[
            ("base_fill", 0.8),
            ("base_pigment", 2.0),
            ("base_line", 0.5),
            ("row_step", -0.4),
        ]);
        near(soft("base_fill_and_pigment"), 0.8);
        near(soft("base_line_and_row_step"), 0.0);
        // what stands for a base line that is missing is that of a usual one
        near(of(&[("row_step", 0.5)])("base_line_and_row_step"), 0.15);
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
