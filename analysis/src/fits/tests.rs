//! Least squares against values from outside.

use super::least_squares::{Fitted, Parameter, fit};

fn parameters(starts: &[f64]) -> Vec<Parameter> {
    let of = |&start: &f64| Parameter {
        start,
        domain: [f64::NEG_INFINITY, f64::INFINITY],
        scale: start.abs(),
    };
    starts.iter().map(of).collect()
}

fn fitted(data: &[[f64; 2]], starts: &[f64], model: &dyn Fn(&[f64], f64) -> f64) -> Fitted {
    let residuals = |p: &[f64]| data.iter().map(|[y, x]| y - model(p, *x)).collect::<Vec<_>>();
    let fitted = fit(&parameters(starts), &residuals).expect("a fit");
    assert!(fitted.at_rest, "{fitted:?}");
    fitted
}

fn near(value: f64, wanted: f64, tolerance: f64) {
    assert!((value / wanted - 1.0).abs() < tolerance, "{value} for {wanted}");
}

/// NIST StRD, nonlinear regression, Misra1a (lower difficulty): certified values, from memory.
const MISRA_1A: [[f64; 2]; 14] = [
    [10.07, 77.6],
    [14.73, 114.9],
    [17.94, 141.1],
    [23.93, 190.8],
    [29.61, 239.9],
    [35.18, 289.0],
    [40.02, 332.8],
    [44.82, 378.4],
    [50.76, 434.8],
    [55.05, 477.3],
    [61.01, 536.8],
    [66.40, 593.1],
    [75.47, 689.1],
    [81.78, 760.0],
];

#[test]
fn misra_1a_of_nist_from_both_of_its_starts() {
    let model = |p: &[f64], x: f64| p[0] * (1.0 - libm::exp(-p[1] * x));
    for starts in [[500.0, 1e-4], [250.0, 5e-4]] {
        let found = fitted(&MISRA_1A, &starts, &model);
        near(found.estimate[0], 2.389_421_291_8e2, 1e-8);
        near(found.estimate[1], 5.501_564_318_1e-4, 1e-8);
        near(found.residual_sd(), 1.018_787_633_0e-1, 1e-8);
        near(found.sd(0), 2.707_007_524_1, 1e-6);
        near(found.sd(1), 7.266_868_817_5e-6, 1e-6);
    }
}
