//! Cycle lengths and the moon against publications, derived arithmetic and astropy.

use crate::reference::close;
use crate::reference::json;
use crate::reference::number;
use crate::tolerance;
use tailfan::cycle::length::Conditions;
use tailfan::cycle::length::CycleLength;
use tailfan::cycle::length::LengthRefusal;
use tailfan::cycle::length::LengthWarning;
use tailfan::cycle::length::Q10;
use tailfan::cycle::length::cycle_length;
use tailfan::cycle::moon::lit;
use tailfan::cycle::moon::past_new;
use tailfan::cycle::moon::waxing;
use tailfan::cycle::species::Species;
use tailfan::moult::Stage;
use tailfan::units::Days;
use tailfan::units::DegreesCelsius;
use tailfan::units::Grams;

fn at(species: Species, grams: f64, celsius: f64) -> Conditions {
    Conditions {
        species,
        weight: Grams::new(grams),
        water: DegreesCelsius::new(celsius),
        q10: Q10::published(),
        own: None,
    }
}

#[track_caller]
fn length(species: Species, grams: f64, celsius: f64) -> CycleLength {
    cycle_length(at(species, grams, celsius)).unwrap().unwrap()
}

#[track_caller]
fn check(species: Species, grams: f64, celsius: f64, days: f64, tolerance: f64) {
    let found = length(species, grams, celsius).days.get();
    close(
        found,
        days,
        tolerance,
        &format!("{species} {grams} g {celsius} °C"),
    );
}

/// Corteel et al. 2012, Robertson et al. 1987, Hewitt & Duncan 2001 (abstracts).
#[test]
fn published_lengths() {
    for (species, grams, days) in [
        (Species::Vannamei, 2.0, 5.0),
        (Species::Vannamei, 15.0, 11.0),
        (Species::Monodon, 2.0, 6.5),
        (Species::Monodon, 15.0, 12.0),
    ] {
        check(species, grams, 27.0, days, tolerance::PUBLISHED_DAYS);
    }
    check(
        Species::Stylirostris,
        40.0,
        28.0,
        11.5,
        tolerance::PUBLISHED_DAYS,
    );
    check(
        Species::Setiferus,
        40.0,
        28.0,
        13.6,
        tolerance::PUBLISHED_DAYS,
    );
    for (celsius, days) in [(28.0, 19.8), (32.0, 15.5), (34.0, 27.4)] {
        check(
            Species::Japonicus,
            15.6,
            celsius,
            days,
            tolerance::PUBLISHED_DAYS,
        );
    }
}

/// Hewitt & Duncan 2001: falling from 28 to 32 °C, and longer again at 34 °C.
#[test]
fn japonicus_is_fastest_at_32() {
    let days: Vec<f64> = (28..=32)
        .map(|c| length(Species::Japonicus, 15.6, f64::from(c)).days.get())
        .collect();
    assert!(days.windows(2).all(|pair| pair[1] < pair[0]), "{days:?}");
    assert!(length(Species::Japonicus, 15.6, 34.0).days.get() > days[4]);
}

/// Almeida Neto & Freire 2007: a pond of 13.96 g, temperature not given, cycled in 10.4 to 13.1 d.
#[test]
fn a_pond_series_holds_the_formula() {
    let days = length(Species::Vannamei, 13.96, 27.0).days.get();
    assert!((10.4..=13.1).contains(&days), "{days}");
    close(days, 10.70, 0.0051, "13.96 g");
}

/// Derived arithmetic, printed to two decimals.
#[test]
fn derived_lengths() {
    for (grams, days) in [(10.0, 9.39), (20.0, 12.31), (30.0, 14.43)] {
        check(
            Species::Vannamei,
            grams,
            27.0,
            days,
            tolerance::DAYS_TWO_DECIMALS,
        );
    }
    check(
        Species::Monodon,
        20.0,
        27.0,
        13.10,
        tolerance::DAYS_TWO_DECIMALS,
    );
    for (celsius, days) in [
        (24.0, 13.22),
        (28.0, 10.35),
        (29.0, 9.73),
        (30.0, 9.15),
        (32.0, 8.10),
    ] {
        check(
            Species::Vannamei,
            15.0,
            celsius,
            days,
            tolerance::DAYS_TWO_DECIMALS,
        );
    }
    check(
        Species::Monodon,
        15.0,
        30.0,
        9.99,
        tolerance::DAYS_TWO_DECIMALS,
    );
    check(
        Species::Monodon,
        15.0,
        32.0,
        8.84,
        tolerance::DAYS_TWO_DECIMALS,
    );
    close(Q10::published().get(), 1.844_309, 1e-6, "Q10");
}

/// Q10 examples of published help pages (addresses in the README of the data) and stretched
/// durations computed with numpy.
#[test]
fn q10_examples() {
    let file = json("a08_forecast.json")["q10"].clone();
    let examples = file["duration_examples"].as_array().unwrap();
    assert!(!examples.is_empty());
    for case in examples {
        let q10 = Q10::new(number(&case["Q10"])).unwrap();
        let reference = DegreesCelsius::new(number(&case["Tref"]));
        let days = number(&case["dur_ref_days"])
            * q10.stretch(reference, DegreesCelsius::new(number(&case["T"])));
        close(
            days,
            number(&case["dur"]),
            tolerance::CLOSED_FORM_DAYS,
            "stretched",
        );
    }
    let faster = 1.0
        / Q10::new(2.66)
            .unwrap()
            .stretch(DegreesCelsius::new(10.0), DegreesCelsius::new(20.0));
    close(5.0 * faster, 13.3, 1e-9, "respirometry help page");
}

#[test]
fn lengths_outside_what_was_measured_warn_or_are_refused() {
    let warned = |species, grams, celsius| length(species, grams, celsius).warnings;
    assert!(warned(Species::Vannamei, 15.0, 28.0).is_empty());
    assert_eq!(
        warned(Species::Vannamei, 22.0, 28.0),
        [LengthWarning::Weight(22.0)]
    );
    assert_eq!(
        warned(Species::Vannamei, 12.0, 25.0),
        [LengthWarning::Cool(25.0)]
    );
    assert_eq!(
        warned(Species::Vannamei, 12.0, 33.0),
        [LengthWarning::Warm(33.0)]
    );
    check(
        Species::Vannamei,
        15.0,
        33.0,
        8.10,
        tolerance::DAYS_TWO_DECIMALS,
    );
    let refused = |species, celsius| {
        cycle_length(at(species, 12.0, celsius))
            .unwrap()
            .unwrap_err()
    };
    assert_eq!(
        refused(Species::Vannamei, 23.9),
        LengthRefusal::TooCold(23.9)
    );
    assert_eq!(refused(Species::Monodon, 37.0), LengthRefusal::TooHot(37.0));
    assert_eq!(
        refused(Species::Indicus, 28.0),
        LengthRefusal::NoData(Species::Indicus)
    );
    assert_eq!(
        refused(Species::Japonicus, 27.0),
        LengthRefusal::OutsideJaponicus(27.0)
    );
    for bad in [
        at(Species::Vannamei, -1.0, 28.0),
        at(Species::Vannamei, 12.0, 60.0),
    ] {
        assert!(cycle_length(bad).is_err());
    }
}

#[test]
fn a_length_of_the_farms_own_replaces_all_of_that() {
    let own = Conditions {
        own: Some(Days::new(9.5)),
        ..at(Species::Indicus, 12.0, 20.0)
    };
    let found = cycle_length(own).unwrap().unwrap();
    assert_eq!(found.days.get(), 9.5);
    assert!(found.assumed.is_empty());
    let none = Conditions {
        own: Some(Days::new(0.0)),
        ..own
    };
    assert!(cycle_length(none).is_err());
}

/// Robertson et al. 1987 (abstract): post-, inter- and pre-moult in percent.
#[test]
fn arcs_of_two_species() {
    for (species, parts) in [
        (Species::Stylirostris, [27.0, 17.0, 56.0]),
        (Species::Setiferus, [22.0, 19.0, 59.0]),
    ] {
        let arcs = species.arcs();
        let ends = [Stage::B, Stage::C, Stage::D4].map(|s| 100.0 * arcs.arc(s).1);
        close(ends[0], parts[0], 1e-9, "post-moult");
        close(ends[1] - ends[0], parts[1], 1e-9, "inter-moult");
        close(ends[2] - ends[1], parts[2], 1e-9, "pre-moult");
    }
}

/// Meeus' short formula at his own example 48.a, 1992-04-12 0h TD: 0.6801 by that formula (PyMeeus
/// and by hand), 0.6786 by the full theory.
#[test]
fn lit_moon_of_the_worked_example() {
    close(
        lit(2_448_724.5).unwrap(),
        0.680_133_9,
        1e-6,
        "short formula",
    );
    close(
        lit(2_448_724.5).unwrap(),
        0.6786,
        tolerance::MOON,
        "full theory",
    );
    assert!(lit(0.0).is_err());
}

/// All 198 phases of 2024-2027 (DE421): how far past new the moon is at those instants, what is lit, and
/// whether it grows the day after.
#[test]
fn phases_of_four_years() {
    let name = "tests/data/a07_moon_phases_2024_2027.csv";
    let mut reader = csv::Reader::from_path(name).unwrap();
    let mut phases = 0;
    for row in reader.records() {
        let row = row.unwrap();
        let at: tailfan::workflow::moments::Moment = row[1].parse().unwrap();
        let (degrees, part, grows) = match &row[0] {
            "new" => (0.0, 0.0, true),
            "first_quarter" => (90.0, 0.5, true),
            "full" => (180.0, 1.0, false),
            "last_quarter" => (270.0, 0.5, false),
            other => panic!("{other}"),
        };
        let day = at.julian_day();
        let off = (past_new(day).unwrap() - degrees + 180.0).rem_euclid(360.0) - 180.0;
        assert!(off.abs() < tolerance::MOON_DEGREES, "{} {off}", &row[1]);
        close(lit(day).unwrap(), part, tolerance::MOON, &row[1]);
        assert_eq!(waxing(day + 1.0), Ok(grows), "{}", &row[1]);
        phases += 1;
    }
    assert_eq!(phases, 198);
}

/// Every noon of 2026 (astropy 8.0.2), within the error of the short formula.
#[test]
fn lit_moon_of_a_year() {
    let name = "tests/data/a07_moon_daily_2026_noon.csv";
    let mut reader = csv::Reader::from_path(name).unwrap();
    let mut days = 0;
    for row in reader.records() {
        let row = row.unwrap();
        // 2026-01-01 12:00 UTC is Julian day 2461042.0.
        let found = lit(2_461_042.0 + f64::from(days)).unwrap();
        close(found, row[1].parse().unwrap(), tolerance::MOON, &row[0]);
        days += 1;
    }
    assert_eq!(days, 365);
}
