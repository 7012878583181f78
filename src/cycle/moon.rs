//! How much of the moon is lit: shown beside a forecast and never used in one.

use thiserror::Error;

/// A time for which the short series is not meant.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("julian day {0} lies outside the years 1900 to 2100")]
pub struct MoonError(pub f64);

/// The lit part of the moon's disk, 0..1, at a Julian day of universal time; right within 0.01.
///
/// # Formula
/// k = (1 + cos i) / 2 with the phase angle i = 180° - D - 6.289° sin M' + 2.100° sin M -
/// 1.274° sin(2D - M') - 0.658° sin 2D - 0.214° sin 2M' - 0.110° sin D.
///
/// # Source
/// Meeus, Astronomical Algorithms, formulas 47.2-47.4 and 48.4 (from memory; checked against
/// astropy).
///
/// # Errors
/// [`MoonError`] outside the years 1900 to 2100.
pub fn lit(julian_day: f64) -> Result<f64, MoonError> {
    let angle = 180.0 - past_new(julian_day)?;
    Ok(f64::midpoint(1.0, angle.to_radians().cos()))
}

/// Says whether the lit part grows from day to day.
///
/// # Errors
/// [`MoonError`] outside the years 1900 to 2100.
pub fn waxing(julian_day: f64) -> Result<bool, MoonError> {
    Ok(past_new(julian_day)? < 180.0)
}

/// How far the moon is past new, in degrees 0..360: 90 the first quarter, 180 full, 270 the last
/// quarter; right within a degree, that is two hours.
///
/// # Formula
/// 180° - i, with the phase angle i of [`lit`], counted onward through the month.
///
/// # Errors
/// [`MoonError`] outside the years 1900 to 2100.
pub fn past_new(julian_day: f64) -> Result<f64, MoonError> {
    if !(2_415_020.0..2_488_435.0).contains(&julian_day) {
        return Err(MoonError(julian_day));
    }
    let t = (julian_day - 2_451_545.0) / 36_525.0;
    let elongation = 297.850_192_1 + 445_267.111_403_4 * t - 0.001_881_9 * t * t;
    let sun = 357.529_109_2 + 35_999.050_290_9 * t - 0.000_153_6 * t * t;
    let moon = 134.963_396_4 + 477_198.867_505_5 * t + 0.008_741_4 * t * t;
    let sine = |degrees: f64| degrees.to_radians().sin();
    let past = elongation + 6.289 * sine(moon) - 2.100 * sine(sun)
        + 1.274 * sine(2.0 * elongation - moon)
        + 0.658 * sine(2.0 * elongation)
        + 0.214 * sine(2.0 * moon)
        + 0.110 * sine(elongation);
    Ok(past.rem_euclid(360.0))
}
