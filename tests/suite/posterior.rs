//! Posteriors and the bootstrap against scipy 1.17.1 and hand arithmetic.

use crate::reference::close;
use crate::reference::counts;
use crate::reference::json;
use crate::reference::number;
use crate::reference::rows;
use crate::tolerance;
use tailfan::statistics::binomial::Count;
use tailfan::statistics::binomial::at_most;
use tailfan::statistics::posterior::Beta;
use tailfan::statistics::posterior::Dirichlet;
use tailfan::statistics::posterior::Prior;
use tailfan::statistics::posterior::ln_dirichlet_multinomial;
use tailfan::statistics::resampling::Resampled;
use tailfan::statistics::resampling::bootstrap;
use tailfan::units::Probability;

fn p(value: f64) -> Probability {
    Probability::new(value).unwrap()
}

#[test]
fn library_table_of_posteriors() {
    let table = rows("a09_beta_posterior.csv");
    assert_eq!(table.len(), 103);
    for row in table {
        let count = Count::new(row["k"] as u64, row["n"] as u64).unwrap();
        for (name, prior) in [("jeffreys", Prior::Jeffreys), ("uniform", Prior::Uniform)] {
            let posterior = Beta::after(count, prior);
            let wanted = |column: &str| row[&format!("{name}_{column}")];
            let what = format!("{count:?} {name}");
            for limit in ["0.05", "0.10", "0.15", "0.20", "0.25", "0.30", "0.50"] {
                let over = posterior.over(p(limit.parse().unwrap())).get();
                close(
                    over,
                    wanted(&format!("P_gt_{limit}")),
                    tolerance::CLOSED_FORM,
                    &what,
                );
            }
            for at in ["0.025", "0.5", "0.95", "0.975"] {
                let found = posterior.quantile(p(at.parse().unwrap())).get();
                close(found, wanted(&format!("q{at}")), tolerance::QUANTILE, &what);
            }
            close(
                posterior.mean().get(),
                wanted("mean"),
                tolerance::CLOSED_FORM,
                &what,
            );
        }
    }
}

/// Hand arithmetic and an identity: with a uniform prior P(share > x) = P(Bin(n + 1, x) <= k).
#[test]
fn hand_examples() {
    let over = |k, n, limit| {
        Beta::after(Count::new(k, n).unwrap(), Prior::Uniform)
            .over(p(limit))
            .get()
    };
    close(
        over(0, 20, 0.1),
        0.9_f64.powi(21),
        tolerance::CLOSED_FORM,
        "0 of 20",
    );
    close(over(1, 2, 0.5), 0.5, tolerance::CLOSED_FORM, "1 of 2");
    let bound = Beta::after(Count::none_of(30), Prior::Uniform)
        .quantile(p(0.95))
        .get();
    close(
        bound,
        1.0 - 0.05_f64.powf(1.0 / 31.0),
        tolerance::QUANTILE,
        "rule of three",
    );
    for (k, n, x) in [(3, 24, 0.1), (0, 30, 0.05), (12, 25, 0.4)] {
        let sum = at_most(Count::new(k, n + 1).unwrap(), p(x)).get();
        close(over(k, n, x), sum, tolerance::CLOSED_FORM, "identity");
    }
}

#[test]
fn several_shares_at_once() {
    let file = json("a09_bayes.json");
    for (name, prior) in [
        ("dirichlet_jeffreys_0.5", 0.5),
        ("dirichlet_uniform_1", 1.0),
    ] {
        let case = &file[name];
        let cells = counts(&case["counts"]);
        let posterior = Dirichlet::after(&cells, &vec![prior; cells.len()]);
        for (i, mean) in posterior.means().iter().enumerate() {
            close(
                mean.get(),
                number(&case["mean"][i]),
                tolerance::CLOSED_FORM,
                name,
            );
            let variance = posterior.variances()[i];
            close(
                variance,
                number(&case["var"][i]),
                tolerance::CLOSED_FORM,
                name,
            );
            let marginal = posterior.group(&[i]);
            let low = marginal.quantile(p(0.025)).get();
            close(
                low,
                number(&case["marginal_q025"][i]),
                tolerance::QUANTILE,
                name,
            );
            let high = marginal.quantile(p(0.975)).get();
            close(
                high,
                number(&case["marginal_q975"][i]),
                tolerance::QUANTILE,
                name,
            );
        }
        let covariance = posterior.covariance(0, 1);
        close(
            covariance,
            number(&case["cov_01"]),
            tolerance::CLOSED_FORM,
            name,
        );
        let two = posterior.group(&[3, 4]).over(p(0.4)).get();
        close(
            two,
            number(&case["P(stage3+stage4>0.4)"]),
            tolerance::CLOSED_FORM,
            name,
        );
        let one = posterior.group(&[4]).over(p(0.1)).get();
        close(
            one,
            number(&case["P(stage4>0.10)"]),
            tolerance::CLOSED_FORM,
            name,
        );
        let wanted = number(&case["scipy_dirichlet_multinomial_logpmf"]);
        close(
            ln_dirichlet_multinomial(&cells, prior),
            wanted,
            tolerance::QUANTILE,
            name,
        );
    }
}

fn mean(sample: &[f64]) -> f64 {
    sample.iter().sum::<f64>() / sample.len() as f64
}

/// All 256 resamples of four numbers, enumerated.
#[test]
fn percentiles_of_every_resample() {
    let case = json("a09_bayes.json")["bootstrap_exact_n4"].clone();
    let data: Vec<f64> = case["data"]
        .as_array()
        .unwrap()
        .iter()
        .map(number)
        .collect();
    let all = (0..256_usize).map(|code| {
        let drawn = [code % 4, code / 4 % 4, code / 16 % 4, code / 64].map(|i| data[i]);
        mean(&drawn)
    });
    let figures = Resampled::from_figures(all);
    let wanted = &case["percentiles_linear_2.5_5_50_95_97.5"];
    for (i, at) in [0.025, 0.05, 0.5, 0.95, 0.975].into_iter().enumerate() {
        let found = figures.percentile(at).unwrap();
        close(
            found,
            number(&wanted[i]),
            tolerance::CLOSED_FORM,
            "percentile",
        );
    }
}

/// Twelve numbers: limits of scipy.stats.bootstrap, within the drawing error; and a seed repeats.
#[test]
fn drawn_limits() {
    let case = json("a09_bayes.json")["bootstrap_mean_n12"].clone();
    let data: Vec<f64> = case["data"]
        .as_array()
        .unwrap()
        .iter()
        .map(number)
        .collect();
    let figures = bootstrap(&data, 20_000, 7, |s| Some(mean(s)));
    for (i, at) in [0.025, 0.975].into_iter().enumerate() {
        let found = figures.percentile(at).unwrap();
        close(
            found,
            number(&case["percentile_95"][i]),
            tolerance::DRAWN,
            "limit",
        );
    }
    assert_eq!(figures, bootstrap(&data, 20_000, 7, |s| Some(mean(s))));
    assert_ne!(figures, bootstrap(&data, 20_000, 8, |s| Some(mean(s))));
}

/// The bootstrap of a share is exactly Binomial(n, k/n)/n: the drawn figures follow its distribution
/// at every count within the drawing error.
#[test]
fn drawn_share() {
    let file = json("a09_bayes.json");
    for case in file["bootstrap_proportion_exact"]["cases"]
        .as_array()
        .unwrap()
    {
        let (k, n) = (case["k"].as_u64().unwrap(), case["n"].as_u64().unwrap());
        let data: Vec<f64> = (0..n).map(|i| if i < k { 1.0 } else { 0.0 }).collect();
        let figures = bootstrap(&data, 20_000, 3, |s| Some(mean(s)));
        for hits in 0..=n {
            let count = Count::new(hits, n).unwrap();
            let exact = at_most(count, p(k as f64 / n as f64)).get();
            let middle = (hits as f64 + 0.5) / n as f64;
            let below = figures.figures().iter().filter(|f| **f < middle).count();
            let drawn = below as f64 / 20_000.0;
            close(
                drawn,
                exact,
                tolerance::DRAWN_PART,
                &format!("{k}/{n} at {hits}"),
            );
        }
    }
}
