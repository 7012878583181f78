//! Calibration figures against a worked example (by hand) and scikit-learn 1.9.1.

use crate::reference::close;
use crate::reference::json;
use crate::reference::number;
use crate::tolerance;
use tailfan::statistics::calibration::Stated;
use tailfan::statistics::calibration::brier;
use tailfan::statistics::calibration::expected_error;
use tailfan::statistics::calibration::largest_error;
use tailfan::statistics::calibration::log_loss;
use tailfan::statistics::calibration::reliability;

fn numbers(value: &serde_json::Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

#[test]
fn ten_predictions() {
    let case = json("a04_logistic.json")["calibration_worked"].clone();
    let right = numbers(&case["correct"]).into_iter().map(|c| c == 1.0);
    let stated: Vec<Stated> = numbers(&case["confidence"])
        .into_iter()
        .zip(right)
        .map(|(confidence, correct)| Stated {
            confidence,
            correct,
        })
        .collect();
    for bins in [5, 10] {
        let found = expected_error(&stated, bins).unwrap();
        let wanted = number(&case[format!("ECE_{bins}_bins")]);
        close(found, wanted, tolerance::CLOSED_FORM, "expected error");
        let found = largest_error(&stated, bins).unwrap();
        let wanted = number(&case[format!("MCE_{bins}_bins")]);
        close(found, wanted, tolerance::CLOSED_FORM, "largest error");
        let wanted = case[format!("bins_{bins}")].as_array().unwrap();
        let found = reliability(&stated, bins);
        assert_eq!(found.len(), wanted.len());
        for (found, wanted) in found.iter().zip(wanted) {
            let ours = [
                found.above,
                found.up_to,
                found.of as f64,
                found.confidence,
                found.accuracy,
            ];
            for (ours, theirs) in ours.into_iter().zip(numbers(wanted)) {
                close(ours, theirs, tolerance::CLOSED_FORM, "bin");
            }
        }
    }
    assert_eq!(expected_error(&[], 5), None);
}

/// Two classes: the score that sums over both is twice the binary one.
#[test]
fn two_classes() {
    let case = json("a04_logistic.json")["calibration_worked"].clone();
    let confidence = numbers(&case["confidence"]);
    let pairs: Vec<[f64; 2]> = confidence.iter().map(|c| [1.0 - c, *c]).collect();
    let truth = numbers(&case["correct"]);
    let rows: Vec<(&[f64], usize)> = pairs
        .iter()
        .zip(truth)
        .map(|(row, t)| (row.as_slice(), t as usize))
        .collect();
    let wanted = 2.0 * number(&case["brier_binary"]);
    close(
        brier(&rows).unwrap(),
        wanted,
        tolerance::CLOSED_FORM,
        "Brier score",
    );
    let wanted = number(&case["log_loss_binary"]);
    close(
        log_loss(&rows).unwrap(),
        wanted,
        tolerance::CLOSED_FORM,
        "log-loss",
    );
}

/// Brier 1950, summed over the classes: 0.31125, not the half of it.
#[test]
fn three_classes() {
    let case = json("a04_logistic.json")["brier_multiclass_worked"].clone();
    let probabilities: Vec<Vec<f64>> = case["P"].as_array().unwrap().iter().map(numbers).collect();
    let rows: Vec<(&[f64], usize)> = probabilities
        .iter()
        .zip(numbers(&case["y"]))
        .map(|(row, truth)| (row.as_slice(), truth as usize))
        .collect();
    close(
        brier(&rows).unwrap(),
        0.31125,
        tolerance::CLOSED_FORM,
        "Brier score",
    );
    let wanted = number(&case["log_loss"]);
    close(
        log_loss(&rows).unwrap(),
        wanted,
        tolerance::CLOSED_FORM,
        "log-loss",
    );
}
