//! The table of results as a spreadsheet sees it.

use tailfan::exchange::results::ResultRow;
use tailfan::exchange::results::harmless;
use tailfan::exchange::results::results_table;
use tailfan::moult::Stage;
use tailfan::records::Reading;

/// Cells that spreadsheets run as formulas, as published in advice on CSV injection (from memory).
const FORMULAS: [&str; 10] = [
    "=1+1",
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1:A9)",
    "\t=1+1",
    "\r=1+1",
    "  =1+1",
    "=HYPERLINK(\"http://example.invalid\",\"x\")",
    "＝1+1",
];

#[test]
fn no_cell_can_be_taken_for_a_formula() {
    for formula in FORMULAS {
        let reading = Reading::refused(formula.to_owned(), Vec::new());
        let row = ResultRow {
            reading: &reading,
            animal: Some(formula),
            station: Some(formula),
            call: None,
        };
        let bytes = results_table(&[row]).unwrap();
        let mut table = csv::Reader::from_reader(bytes.as_slice());
        let record = table.records().next().unwrap().unwrap();
        for cell in &record {
            let first = cell.trim_start().chars().next();
            assert!(!first.is_some_and(|c| "=+-@＝".contains(c)), "{cell:?}");
        }
        assert_eq!(&record[0], format!("'{formula}"));
        assert_eq!(&record[1], format!("'{formula}"));
    }
    assert_eq!(harmless("pond 3, gate"), "pond 3, gate");
}

#[test]
fn a_row_holds_the_reading_under_names_with_units() {
    let mut reading = Reading::refused("a.jpg".to_owned(), Vec::new());
    reading.usable = true;
    reading.um_per_px = Some(0.5);
    reading.base_width_px = Some(30.0);
    reading.gap_px = Some(60.0);
    reading.gap_um = Some(30.0);
    reading.gap_base_widths = Some(2.0);
    reading.base_pigment_od = Some(-0.012);
    reading.proposal = Some(Stage::D1);
    reading.probabilities = Some([(Stage::D1, 0.75), (Stage::D0, 0.25)].into());
    let row = ResultRow {
        reading: &reading,
        animal: Some("S01"),
        station: Some("gate, \"old\""),
        call: Some("D0"),
    };
    let bytes = results_table(&[row]).unwrap();
    let mut table = csv::Reader::from_reader(bytes.as_slice());
    let names = table.headers().unwrap().clone();
    let record = table.records().next().unwrap().unwrap();
    let cell = |name: &str| &record[names.iter().position(|n| n == name).unwrap()];
    for (name, wanted) in [
        ("file", "a.jpg"),
        ("animal", "S01"),
        ("station", "gate, \"old\""),
        ("usable", "yes"),
        ("proposal", "D1"),
        ("call", "D0"),
        ("probability_D1", "0.75"),
        ("probability_A", ""),
        ("um_per_px", "0.5"),
        ("base_width_px", "30"),
        ("base_width_um", "15"),
        ("gap_um", "30"),
        ("gap_base_widths", "2"),
        ("base_pigment_od", "-0.012"),
        ("novelty", ""),
    ] {
        assert_eq!(cell(name), wanted, "{name}");
    }
}
