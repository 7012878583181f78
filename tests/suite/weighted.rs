//! The fit with weights: against scikit-learn 1.9.1 where all weigh the same, and against rows that
//! stand twice where they do not.

use crate::reference::close;
use crate::reference::json;
use crate::reference::number;
use crate::reference::rows;
use crate::tolerance;
use serde_json::Value;
use tailfan::stage::weighted::SETTLED;
use tailfan::stage::weighted::Weighted;

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn table(file: &str, features: usize) -> (Vec<Vec<f64>>, Vec<usize>) {
    let table = rows(file);
    let row = |row: &std::collections::BTreeMap<String, f64>| {
        (0..features).map(|j| row[&format!("x{j}")]).collect()
    };
    let classes = table.iter().map(|row| row["class"] as usize).collect();
    (table.iter().map(row).collect(), classes)
}

#[track_caller]
fn check(file: &str, set: &str, features: usize) {
    let (x, y) = table(file, features);
    let x: Vec<&[f64]> = x.iter().map(Vec::as_slice).collect();
    let case = json("a04_logistic.json")[set].clone();
    let ready = Weighted::new(&x, &y, &vec![1.0; x.len()], 3).unwrap();
    let mut from = None;
    for (c, wanted) in case["fits"].as_object().unwrap() {
        let penalty = 1.0 / c.parse::<f64>().unwrap();
        let solution = ready.fit(penalty, from.as_ref(), SETTLED).unwrap();
        let fit = ready.logistic(&solution);
        let probabilities = wanted["proba_rows"].as_array().unwrap();
        for (row, wanted) in numbers(&case["rows"]).iter().zip(probabilities) {
            let found = fit.probabilities(x[*row as usize]);
            for (found, wanted) in found.iter().zip(numbers(wanted)) {
                let what = format!("{set} C={c} row {row}");
                close(*found, wanted, tolerance::LOGISTIC, &what);
            }
        }
        from = Some(solution);
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
fn a_row_that_weighs_twice_is_a_row_that_stands_twice() {
    let (x, y) = table("a04_iris.csv", 4);
    let x: Vec<&[f64]> = x.iter().map(Vec::as_slice).collect();
    let weights: Vec<f64> = (0..x.len()).map(|i| 1.0 + (i % 3) as f64).collect();
    let (mut rows, mut classes) = (Vec::new(), Vec::new());
    for ((row, class), weight) in x.iter().zip(&y).zip(&weights) {
        for _ in 0..*weight as usize {
            rows.push(*row);
            classes.push(*class);
        }
    }
    let fit = |rows: &[&[f64]], classes: &[usize], weights: &[f64]| {
        let ready = Weighted::new(rows, classes, weights, 3).unwrap();
        ready.logistic(&ready.fit(0.5, None, SETTLED).unwrap())
    };
    let weighed = fit(&x, &y, &weights);
    let repeated = fit(&rows, &classes, &vec![1.0; rows.len()]);
    for row in x {
        let pairs = weighed.probabilities(row).into_iter();
        for (found, wanted) in pairs.zip(repeated.probabilities(row)) {
            close(
                found,
                wanted,
                tolerance::LOGISTIC,
                "weighed against repeated",
            );
        }
    }
}

#[test]
fn what_cannot_be_fitted_is_told() {
    let rows: [&[f64]; 2] = [&[1.0], &[2.0]];
    let told = |classes: &[usize]| Weighted::new(&rows, classes, &[1.0, 1.0], 2).err().unwrap();
    assert!(told(&[0, 0]).to_string().contains("at least two stages"));
    let ready = Weighted::new(&rows, &[0, 1], &[1.0, 1.0], 2).unwrap();
    let error = ready.fit(-1.0, None, SETTLED).unwrap_err();
    assert!(error.to_string().contains("not positive"), "{error}");
}
