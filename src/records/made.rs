//! New rows with everything open, and what the values of a row must keep to.

use crate::micrograph::scale::ScaleSource;
use crate::records::ids::PondId;
use crate::records::ids::SampleId;
use crate::records::pictures::Microscope;
use crate::records::pictures::Photo;
use crate::records::places::Animal;
use crate::records::places::Outcome;
use crate::records::places::Pond;
use crate::records::places::Sample;
use crate::records::stamp::Stamp;
use crate::records::table::RowFault;
use crate::records::words::Caught;
use crate::records::words::Keeping;
use std::ops::RangeInclusive;

impl Pond {
    /// A pond of that name, with nothing else said.
    pub fn named(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            system: None,
            area_m2: None,
            species: None,
            time_zone: None,
            soft_limit: None,
            moulting_limit: None,
            due_limit: None,
            confidence: None,
            cycle_days: None,
            q10: None,
            cycle_cv: None,
            note: None,
        }
    }
}

impl Sample {
    /// A sample netted from that pond, with nothing else said.
    pub const fn netted(pond: PondId, netted: Stamp) -> Self {
        Self {
            pond,
            netted,
            catch: Caught::Net,
            gear: None,
            stations: None,
            throws: None,
            animals_wanted: None,
            mean_weight_g: None,
            water_c: None,
            shed_shells: None,
            feed_left: None,
            rain: false,
            lime: false,
            water_change: false,
            harvest_start: None,
            drain_hours: None,
            note: None,
        }
    }
}

impl Animal {
    /// An animal of that sample, with nothing else said.
    pub fn of(sample: SampleId, name: impl Into<String>, position: i64) -> Self {
        Self {
            sample,
            name: name.into(),
            position,
            station: None,
            throw: None,
            shell: None,
            note: None,
        }
    }
}

impl Photo {
    /// A copied photo of that sample, with nothing else said.
    pub fn of(sample: SampleId, name: impl Into<String>, hash: impl Into<String>) -> Self {
        Self {
            sample,
            animal: None,
            position: 1,
            hash: hash.into(),
            name: name.into(),
            bytes: 0,
            width_px: None,
            height_px: None,
            keeping: Keeping::Copied,
            link: None,
            um_per_px: None,
            scale_source: ScaleSource::None,
            microscope: None,
            branch: None,
            side: None,
            site: None,
            mount: None,
            minutes_since_clipping: None,
            note: None,
        }
    }
}

pub(in crate::records) fn check_pond(pond: &Pond) -> Result<(), RowFault> {
    named("name", &pond.name)?;
    within("area_m2", pond.area_m2, 0.1..=1e8)?;
    within("soft_limit", pond.soft_limit, 0.0..=1.0)?;
    within("moulting_limit", pond.moulting_limit, 0.0..=1.0)?;
    within("due_limit", pond.due_limit, 0.0..=1.0)?;
    within("confidence", pond.confidence, 0.5..=0.999_999)?;
    within("cycle_days", pond.cycle_days, 2.0..=150.0)?;
    within("q10", pond.q10, 1.0..=3.0)?;
    within("cycle_cv", pond.cycle_cv, 0.0..=0.5)
}

pub(in crate::records) fn check_sample(sample: &Sample) -> Result<(), RowFault> {
    within("mean_weight_g", sample.mean_weight_g, 0.001..=500.0)?;
    within("water_c", sample.water_c, -2.0..=45.0)?;
    within("drain_hours", sample.drain_hours, 0.0..=1000.0)?;
    for (column, count) in [
        ("stations", sample.stations),
        ("throws", sample.throws),
        ("animals_wanted", sample.animals_wanted),
    ] {
        within(column, count.map(|count| count as f64), 0.0..=1e6)?;
    }
    in_order(
        "netted",
        Some(sample.netted),
        "harvest_start",
        sample.harvest_start,
    )
}

pub(in crate::records) fn check_outcome(outcome: &Outcome) -> Result<(), RowFault> {
    in_order("harvested", Some(outcome.harvested), "ended", outcome.ended)?;
    let count = |count: Option<i64>| count.map(|count| count as f64);
    within("animals_checked", count(outcome.animals_checked), 0.0..=1e9)?;
    let most = count(outcome.animals_checked).unwrap_or(1e9);
    within("soft_found", count(outcome.soft_found), 0.0..=most)?;
    within("harvest_kg", outcome.harvest_kg, 0.0..=1e9)?;
    within(
        "refused_kg",
        outcome.refused_kg,
        0.0..=outcome.harvest_kg.unwrap_or(1e9),
    )
}

pub(in crate::records) fn check_microscope(microscope: &Microscope) -> Result<(), RowFault> {
    named("name", &microscope.name)?;
    within("um_per_px", Some(microscope.um_per_px), 1e-3..=1e3)
}

pub(in crate::records) fn check_photo(photo: &Photo) -> Result<(), RowFault> {
    within("um_per_px", photo.um_per_px, 1e-3..=1e3)?;
    let plain = photo.hash.len() == 64 && photo.hash.bytes().all(|b| b.is_ascii_hexdigit());
    if !plain {
        return Err(RowFault::Content(format!(
            "hash holds \"{}\", which is no BLAKE3 hash",
            photo.hash
        )));
    }
    if photo.keeping == Keeping::Linked && photo.link.is_none() {
        return Err(RowFault::Content(
            "a linked photo needs the place where it lies".to_owned(),
        ));
    }
    Ok(())
}

pub(in crate::records) fn named(column: &str, text: &str) -> Result<(), RowFault> {
    if text.trim().is_empty() {
        let column = column.to_owned();
        return Err(RowFault::Missing { column });
    }
    Ok(())
}

fn within(column: &str, value: Option<f64>, range: RangeInclusive<f64>) -> Result<(), RowFault> {
    match value {
        Some(value) if !range.contains(&value) => Err(RowFault::Content(format!(
            "{column} is {value}; give {} to {}",
            range.start(),
            range.end()
        ))),
        _ => Ok(()),
    }
}

fn in_order(
    first: &str,
    early: Option<Stamp>,
    second: &str,
    late: Option<Stamp>,
) -> Result<(), RowFault> {
    match (early, late) {
        (Some(early), Some(late)) if late < early => Err(RowFault::Content(format!(
            "{second} ({late}) lies before {first} ({early}); give the dates in their order"
        ))),
        _ => Ok(()),
    }
}
