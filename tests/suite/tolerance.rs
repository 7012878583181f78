//! How far a value may lie from its check value, each with the reason.

/// Closed forms and exact sums against a library at full precision: both round in the last digits,
/// and some print 0.9999999999999999 for 1.
pub(crate) const CLOSED_FORM: f64 = 1e-12;

/// Quantiles found by bisection against a library's own root search.
pub(crate) const QUANTILE: f64 = 1e-11;

/// A value printed to four decimals.
pub(crate) const FOUR_DECIMALS: f64 = 5.1e-5;

/// A value printed to three decimals.
pub(crate) const THREE_DECIMALS: f64 = 5.1e-4;

/// Sison-Glaz intervals: the Edgeworth series amplifies rounding, and two published programs differ
/// by up to 1.4e-4 among themselves.
pub(crate) const SISON_GLAZ: f64 = 2e-4;

/// Bootstrap limits of twelve numbers from another generator: drawing error with 20,000 resamples.
pub(crate) const DRAWN: f64 = 0.03;

/// A figure given in percent with two decimals.
pub(crate) const PERCENT_TWO_DECIMALS: f64 = 5.1e-5;

/// Shares and boundaries of the cycle printed to four places.
pub(crate) const CYCLE_SHARE: f64 = 5.1e-5;

/// A part of 20,000 drawn figures: four standard errors of a half, sqrt(0.25 / 20,000) each.
pub(crate) const DRAWN_PART: f64 = 0.0142;

/// Published cycle lengths, given to half or tenths of a day.
pub(crate) const PUBLISHED_DAYS: f64 = 0.05;

/// Days printed to two decimals.
pub(crate) const DAYS_TWO_DECIMALS: f64 = 0.0051;

/// Closed forms of some tens of days, which round a hundred times coarser than shares.
pub(crate) const CLOSED_FORM_DAYS: f64 = 1e-10;

/// The lit part of the moon by the short formula against the full theory.
pub(crate) const MOON: f64 = 0.01;

/// A part of 4,000 simulated animals: 4.5 standard errors of a half, for some 7,000 comparisons.
pub(crate) const SIMULATED_PART: f64 = 0.036;

/// A part of 6,000 drawn shares over 150 drawn mean cycles of 400 animals each: three standard
/// errors of the cycles drawn, sqrt(0.09 / 150), which outweigh the rest.
pub(crate) const SIMULATED_EDGE: f64 = 0.075;

/// A probability over 40 mean cycles, drawn evenly, of 200 animals each and 40 ponds each: three
/// standard errors of 1,600 shares at 0.1, and nearly as much again for the animals.
pub(crate) const SIMULATED_VERDICT: f64 = 0.04;

/// A probability by 1,000 drawn ponds: three standard errors at 0.1, sqrt(0.09 / 1,000).
pub(crate) const DRAWN_PONDS: f64 = 0.0285;

/// The moon past new by the short formula, in degrees: the terms it leaves out sum to about this.
pub(crate) const MOON_DEGREES: f64 = 1.0;

/// A tabulated distribution against the exact one, by the cubic between its nodes.
pub(crate) const TABULATED: f64 = 1e-9;

/// Fitted probabilities: two independent solvers of scikit-learn and scipy differ by up to 1.3e-7
/// on the same objective, and ours stops where the gradient is below 1e-8.
pub(crate) const LOGISTIC: f64 = 1e-6;

/// Base width against the painted one: the reader sees the middle of the walls and takes them for an
/// eighth of a width thick; walls of 3 µm on setae of 16 µm, and blur on top, are up to this much more.
pub(crate) const WIDTH_SHARE: f64 = 0.16;

/// Gap against the painted one, as a share: half of what neighbouring setae differ by (10-15 %).
pub(crate) const GAP_SHARE: f64 = 0.06;

/// Gap against the painted one, in pixels on top of the share: the soft edge of the epidermis.
pub(crate) const GAP_PIXELS: f64 = 3.0;

/// The same tip photographed otherwise: an eighth of the narrowest span of a gap (D0, 1.2 widths).
pub(crate) const SAME_GAP_BASE_WIDTHS: f64 = 0.15;

/// A blurred picture, in codes of 255: our library cuts its kernel at two standard deviations, scipy at
/// four, which leaves out 5 % of the weight.
pub(crate) const BLURRED_CODES: f64 = 5.0;
