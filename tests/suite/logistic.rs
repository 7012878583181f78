//! The logistic fit and temperature scaling against scikit-learn 1.9.1 and scipy 1.17.1.

use crate::reference::close;
use crate::reference::json;
use crate::reference::number;
use crate::reference::rows;
use crate::tolerance;
use serde_json::Value;
use tailfan::stage::calibration::temperature;
use tailfan::stage::logistic::Logistic;
use tailfan::stage::logistic::softmax;

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

/// Fits at each strength that scikit-learn was run at: its C is 1 / penalty.
#[track_caller]
fn check(file: &str, set: &str, features: usize) {
    let table = rows(file);
    let x: Vec<Vec<f64>> = table
        .iter()
        .map(|row| (0..features).map(|j| row[&format!("x{j}")]).collect())
        .collect();
    let x: Vec<&[f64]> = x.iter().map(Vec::as_slice).collect();
    let y: Vec<usize> = table.iter().map(|row| row["class"] as usize).collect();
    let case = json("a04_logistic.json")[set].clone();
    for (c, wanted) in case["fits"].as_object().unwrap() {
        let penalty = 1.0 / c.parse::<f64>().unwrap();
        let fit = Logistic::fit(&x, &y, 3, penalty).unwrap();
        for (mean, wanted) in fit.mean.iter().zip(numbers(&case["mean"])) {
            close(*mean, wanted, 1e3 * tolerance::CLOSED_FORM, "mean");
        }
        for (sd, wanted) in fit.sd.iter().zip(numbers(&case["sd_population"])) {
            close(*sd, wanted, 1e3 * tolerance::CLOSED_FORM, "sd");
        }
        let probabilities = wanted["proba_rows"].as_array().unwrap();
        for (row, wanted) in numbers(&case["rows"]).iter().zip(probabilities) {
            let found = fit.probabilities(x[*row as usize]);
            for (found, wanted) in found.iter().zip(numbers(wanted)) {
                close(
                    *found,
                    wanted,
                    tolerance::LOGISTIC,
                    &format!("{set} C={c} row {row}"),
                );
            }
        }
        let wrong = x
            .iter()
            .zip(&y)
            .filter(|(row, class)| {
                let p = fit.probabilities(row);
                p.iter().any(|other| *other > p[**class])
            })
            .count();
        assert_eq!(wrong as u64, wanted["n_wrong"].as_u64().unwrap());
    }
}

#[test]
fn iris() {
    check("a04_iris.csv", "iris", 4);
}

#[test]
fn wine() {
    check("a04_wine.csv", "wine", 13);
}

#[test]
fn softmax_by_hand_and_without_overflow() {
    let case = json("a04_logistic.json")["softmax_hand"].clone();
    for (logits, wanted) in [("logits", "softmax"), ("logits_large", "softmax_large")] {
        let found = softmax(&numbers(&case[logits]), 1.0);
        for (found, wanted) in found.iter().zip(numbers(&case[wanted])) {
            close(*found, wanted, tolerance::CLOSED_FORM, "softmax");
        }
    }
}

#[test]
fn a_temperature_worked_out() {
    let case = json("a04_logistic.json")["temperature_scaling_worked"].clone();
    let logits: Vec<Vec<f64>> = case["logits"]
        .as_array()
        .unwrap()
        .iter()
        .map(numbers)
        .collect();
    let classes: Vec<usize> = numbers(&case["y"]).iter().map(|y| *y as usize).collect();
    let data: Vec<(&[f64], usize)> = logits.iter().map(Vec::as_slice).zip(classes).collect();
    let t = temperature(&data);
    close(
        t,
        number(&case["T_opt"]),
        tolerance::QUANTILE,
        "temperature",
    );
    let loss = |t: f64| {
        let losses = data.iter().map(|(z, y)| -softmax(z, t)[*y].ln());
        losses.sum::<f64>() / data.len() as f64
    };
    close(
        loss(1.0),
        number(&case["nll_T1"]),
        tolerance::CLOSED_FORM,
        "loss before",
    );
    close(
        loss(t),
        number(&case["nll_opt"]),
        tolerance::CLOSED_FORM,
        "loss after",
    );
    for (z, wanted) in logits.iter().zip(case["proba_Topt"].as_array().unwrap()) {
        for (found, wanted) in softmax(z, t).iter().zip(numbers(wanted)) {
            close(*found, wanted, tolerance::QUANTILE, "scaled probability");
        }
    }
}
