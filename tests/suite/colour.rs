//! Colour against values from outside: `tests/data/colour/srgb_linear.csv` holds the 256 codes by
//! the formula of IEC 61966-2-1 and by the library colour-science 0.4.7.

use std::path::Path;
use tailfan::micrograph::colour::linear_from_srgb;
use tailfan::micrograph::colour::linear_from_srgb8;
use tailfan::micrograph::colour::optical_density;

#[test]
fn every_srgb_code_has_the_light_of_the_table() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/colour/srgb_linear.csv");
    let text = std::fs::read_to_string(path).unwrap();
    let mut rows = 0;
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let code: u8 = cells[0].parse().unwrap();
        for expected in &cells[1..] {
            let expected: f64 = expected.parse().unwrap();
            let exact = linear_from_srgb(f64::from(code) / 255.0);
            assert!((exact - expected).abs() < 1e-12, "code {code}: {exact}");
            let single = f64::from(linear_from_srgb8(code));
            assert!((single - expected).abs() < 1e-7, "code {code}: {single}");
        }
        rows += 1;
    }
    assert_eq!(rows, 256);
}

/// Beer-Lambert by hand: a half lets 0.30103 through, a tenth 1, a hundredth 2.
#[test]
fn density_is_the_negative_decadic_logarithm() {
    for (through, density) in [(0.5, std::f64::consts::LOG10_2), (0.1, 1.0), (0.01, 2.0)] {
        assert!((optical_density(through, 1.0) - density).abs() < 1e-12);
        assert!((optical_density(through * 0.7, 0.7) - density).abs() < 1e-12);
    }
}
