//! How long a cycle lasts, by species, weight and water temperature.
//!
//! A length is an answer; so is a refusal, where the science gives none. A length outside what was
//! measured comes with a warning.

use crate::cycle::Assumed;
use crate::cycle::species::Species;
use crate::units::Days;
use crate::units::DegreesCelsius;
use crate::units::Grams;
use thiserror::Error;

/// Water temperature at which the lengths of P. vannamei and P. monodon were measured.
const CORTEEL_CELSIUS: f64 = 27.0;
/// Middle of the 27-29 °C at which P. stylirostris and P. setiferus were kept.
const ROBERTSON_CELSIUS: f64 = 28.0;
/// The cycle is fastest here; above, it lengthens again.
const FASTEST_CELSIUS: f64 = 32.0;
/// Below, no date is given.
const COLDEST_CELSIUS: f64 = 24.0;
/// Above, moulting all but stops.
const HOTTEST_CELSIUS: f64 = 36.0;
/// Heaviest animals whose cycle was measured.
const HEAVIEST_MEASURED: f64 = 15.0;
/// Lightest animals whose cycle was measured.
const LIGHTEST_MEASURED: f64 = 2.0;
/// P. japonicus: temperature and days.
const JAPONICUS: [(f64, f64); 3] = [(28.0, 19.8), (32.0, 15.5), (34.0, 27.4)];
/// Weight of those P. japonicus.
const JAPONICUS_GRAMS: f64 = 15.6;

const CORTEEL: &str = "power of the weight through the two lengths in the abstract of Corteel et \
    al. 2012, Aquacult. Int. 20:13-18, at 27 °C";
const ROBERTSON: &str = "adults at 27-29 °C, Robertson et al. 1987, J. World Aquaculture Soc. 18(3), \
    abstract";
const HEWITT: &str = "P. japonicus of 15.6 g, Hewitt & Duncan 2001, Aquacult. Res. 32:305-313, \
    abstract";
const Q10_SOURCE: &str = "from the lengths of P. japonicus at 28 and 32 °C (Hewitt & Duncan 2001), a \
    difference its authors found not significant: 1 is as possible";

/// How much faster the cycle runs 10 °C warmer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Q10(f64);

impl Q10 {
    /// A factor of 1 (no effect) to 3.
    ///
    /// # Errors
    /// [`LengthError::Q10`] outside 1..=3.
    pub fn new(factor: f64) -> Result<Self, LengthError> {
        if (1.0..=3.0).contains(&factor) {
            Ok(Self(factor))
        } else {
            Err(LengthError::Q10(factor))
        }
    }

    /// The factor that the lengths of P. japonicus at 28 and 32 °C give: 1.844.
    pub fn published() -> Self {
        let [(cool, slow), (warm, fast), _] = JAPONICUS;
        Self((slow / fast).powf(10.0 / (warm - cool)))
    }

    /// The bare factor.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// How much longer everything lasts at `celsius` than at `reference`.
    ///
    /// # Formula
    /// Q10^((reference - celsius) / 10)
    pub fn stretch(self, reference: DegreesCelsius, celsius: DegreesCelsius) -> f64 {
        self.0.powf((reference.get() - celsius.get()) / 10.0)
    }
}

/// What the length of a cycle depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// The species.
    pub species: Species,
    /// Mean weight of the animals.
    pub weight: Grams,
    /// Daily mean of the water temperature.
    pub water: DegreesCelsius,
    /// Effect of the temperature.
    pub q10: Q10,
    /// The farm's own length at this weight and temperature; it replaces the published one.
    pub own: Option<Days>,
}

/// Numbers that are no conditions.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum LengthError {
    /// A weight that no shrimp has.
    #[error("{0} g is no weight of a shrimp: give the mean weight of one animal in grams")]
    Weight(f64),
    /// A temperature that no pond has.
    #[error("{0} °C is no water temperature of a pond: give the daily mean in degrees Celsius")]
    Temperature(f64),
    /// A cycle of no length.
    #[error("{0} days are no moult cycle: give 2 to 150 days")]
    Own(f64),
    /// An effect of the temperature that nobody found.
    #[error("a Q10 of {0} is not offered: use 1 (no effect) to 3")]
    Q10(f64),
}

/// Why no length, and so no date, can be given.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LengthRefusal {
    /// Nothing published for the species.
    #[error("no cycle length is known for {0}: give a cycle length of your own")]
    NoData(Species),
    /// Colder than anything measured.
    #[error(
        "no date is given below 24 °C ({0} °C): no penaeid of the farms was measured there; give a cycle length of your own"
    )]
    TooCold(f64),
    /// So warm that moulting all but stops.
    #[error(
        "no date is given above 36 °C ({0} °C): moulting all but stops; give a cycle length of your own"
    )]
    TooHot(f64),
    /// Outside the lengths of P. japonicus.
    #[error(
        "japonicus was measured from 28 to 34 °C only, not at {0} °C: give a cycle length of your own"
    )]
    OutsideJaponicus(f64),
}

/// A length outside what was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LengthWarning {
    /// Heavier or lighter than the animals measured; grams.
    Weight(f64),
    /// Measured on adults only; the weight is not used.
    AdultsOnly(Species),
    /// Cooler than anything measured; the effect of temperature is carried on.
    Cool(f64),
    /// Warmer than the fastest; the length is held, and in truth lengthens again.
    Warm(f64),
}

/// A length, with what was assumed and what to be careful about.
#[derive(Debug, Clone, PartialEq)]
pub struct CycleLength {
    /// From moult to moult.
    pub days: Days,
    /// Warnings, if any.
    pub warnings: Vec<LengthWarning>,
    /// What was taken from publications.
    pub assumed: Vec<Assumed>,
}

/// The length of a cycle, or why none can be given.
///
/// # Formula
/// a W^b Q10^((27 - t) / 10) for P. vannamei (a 3.812, b 0.3913) and P. monodon (a 5.264, b
/// 0.3043); a constant at 28 °C for P. stylirostris and P. setiferus; interpolated geometrically
/// between the measured temperatures for P. japonicus. t is held at 32 °C above.
///
/// # Errors
/// [`LengthError`] for numbers that cannot be.
pub fn cycle_length(at: Conditions) -> Result<Result<CycleLength, LengthRefusal>, LengthError> {
    let (weight, water) = (at.weight.get(), at.water.get());
    if !(weight.is_finite() && weight > 0.0 && weight <= 500.0) {
        return Err(LengthError::Weight(weight));
    }
    if !(0.0..=45.0).contains(&water) {
        return Err(LengthError::Temperature(water));
    }
    if let Some(days) = at.own {
        if !(2.0..=150.0).contains(&days.get()) {
            return Err(LengthError::Own(days.get()));
        }
        let (warnings, assumed) = (Vec::new(), Vec::new());
        return Ok(Ok(CycleLength {
            days,
            warnings,
            assumed,
        }));
    }
    Ok(published(at))
}

fn published(at: Conditions) -> Result<CycleLength, LengthRefusal> {
    let weight = at.weight.get();
    match at.species {
        Species::Vannamei => by_weight(at, (2.0, 5.0), (15.0, 11.0)),
        Species::Monodon => by_weight(at, (2.0, 6.5), (15.0, 12.0)),
        Species::Stylirostris => of_adults(at, 11.5),
        Species::Setiferus => of_adults(at, 13.6),
        Species::Japonicus => {
            let water = at.water.get();
            let days = interpolated(water).ok_or(LengthRefusal::OutsideJaponicus(water))?;
            let other = (weight / JAPONICUS_GRAMS - 1.0).abs() > 0.2;
            let mut warnings = Vec::new();
            warnings.extend(other.then_some(LengthWarning::Weight(weight)));
            warnings.extend((water > FASTEST_CELSIUS).then_some(LengthWarning::Warm(water)));
            let assumed = vec![Assumed::new("cycle length", days, "d", HEWITT)];
            let days = Days::new(days);
            Ok(CycleLength {
                days,
                warnings,
                assumed,
            })
        }
        other => Err(LengthRefusal::NoData(other)),
    }
}

/// Through two published lengths (grams, days) as a power of the weight.
fn by_weight(
    at: Conditions,
    light: (f64, f64),
    heavy: (f64, f64),
) -> Result<CycleLength, LengthRefusal> {
    let weight = at.weight.get();
    let power = (heavy.1 / light.1).ln() / (heavy.0 / light.0).ln();
    let days = light.1 * (weight / light.0).powf(power);
    let outside = !(LIGHTEST_MEASURED..=HEAVIEST_MEASURED).contains(&weight);
    let warning = outside.then_some(LengthWarning::Weight(weight));
    warmed(at, CORTEEL_CELSIUS, days, CORTEEL, warning)
}

fn of_adults(at: Conditions, days: f64) -> Result<CycleLength, LengthRefusal> {
    let warning = Some(LengthWarning::AdultsOnly(at.species));
    warmed(at, ROBERTSON_CELSIUS, days, ROBERTSON, warning)
}

fn warmed(
    at: Conditions,
    reference: f64,
    days: f64,
    source: &'static str,
    warning: Option<LengthWarning>,
) -> Result<CycleLength, LengthRefusal> {
    let water = at.water.get();
    if water < COLDEST_CELSIUS {
        return Err(LengthRefusal::TooCold(water));
    }
    if water > HOTTEST_CELSIUS {
        return Err(LengthRefusal::TooHot(water));
    }
    let held = DegreesCelsius::new(water.min(FASTEST_CELSIUS));
    let mut warnings: Vec<LengthWarning> = warning.into_iter().collect();
    warnings.extend((water < CORTEEL_CELSIUS).then_some(LengthWarning::Cool(water)));
    warnings.extend((water > FASTEST_CELSIUS).then_some(LengthWarning::Warm(water)));
    let assumed = vec![
        Assumed::new(
            &format!("cycle length at {reference} °C"),
            days,
            "d",
            source,
        ),
        Assumed::new("Q10", at.q10.get(), "", Q10_SOURCE),
    ];
    let days = Days::new(days * at.q10.stretch(DegreesCelsius::new(reference), held));
    Ok(CycleLength {
        days,
        warnings,
        assumed,
    })
}

/// Days of P. japonicus between the temperatures it was measured at; absent outside.
fn interpolated(water: f64) -> Option<f64> {
    JAPONICUS.windows(2).find_map(|pair| {
        let ((cool, slow), (warm, fast)) = (pair[0], pair[1]);
        let part = (water - cool) / (warm - cool);
        (0.0..=1.0)
            .contains(&part)
            .then(|| slow * (fast / slow).powf(part))
    })
}
