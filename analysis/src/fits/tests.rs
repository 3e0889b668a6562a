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

/// Three parameters of a breakthrough with noise, rounded, and what `scipy.optimize.curve_fit` (SciPy 1.17.1, method lm) gives for the very
/// numbers below:
///
/// ```text
/// t = np.arange(0, 25) * 20.0
/// model = lambda t, b, T, N: b + (1 - b) / (1 + (np.exp(N) - 1) * np.exp(-N * t / T))
/// p, c = curve_fit(model, t, y, p0=[0.01, 250.0, 6.0], ftol=1e-15, xtol=1e-15, gtol=1e-15)
/// ```
const BREAKTHROUGH: [f64; 25] = [
    0.0336, 0.0384, 0.0337, 0.0177, 0.0404, 0.0369, 0.0290, 0.0437, 0.0480, 0.0587, 0.0763, 0.1162, 0.1602, 0.2529,
    0.3689, 0.5210, 0.6567, 0.7726, 0.8546, 0.9168, 0.9541, 0.9714, 0.9986, 1.0022, 0.9685,
];

#[test]
fn a_breakthrough_comes_out_as_with_scipy() {
    let data: Vec<[f64; 2]> = BREAKTHROUGH
        .iter()
        .enumerate()
        .map(|(n, &y)| [y, 20.0 * n as f64])
        .collect();
    let model = |p: &[f64], t: f64| {
        let [b, end, n] = [p[0], p[1], p[2]];
        b + (1.0 - b) / (1.0 + (libm::exp(n) - 1.0) * libm::exp(-n * t / end))
    };
    let found = fitted(&data, &[0.01, 250.0, 6.0], &model);
    let wanted = [
        [0.032_077_697_628_5, 0.002_799_775_331_24],
        [300.424_851_8, 0.631_363_178_301],
        [9.016_695_113_94, 0.151_646_118_55],
    ];
    for (at, [value, sd]) in wanted.into_iter().enumerate() {
        near(found.estimate[at], value, 1e-7);
        // Its derivatives are one-sided differences: four digits of the covariance are what both can have.
        near(found.sd(at), sd, 1e-5);
    }
    near(found.correlation(0, 1), 0.457_315_862_4, 1e-4);
    near(found.correlation(1, 2), 0.306_729_134_4, 1e-4);
}

#[test]
fn a_domain_ends_a_step_and_what_says_nothing_is_told() {
    let data: Vec<[f64; 2]> = (0..20)
        .map(|n| [-0.2 + 0.01 * f64::from(n % 3), f64::from(n)])
        .collect();
    let inside = [
        Parameter {
            start: 0.5,
            domain: [0.0, 1.0],
            scale: 1.0,
        },
        Parameter {
            start: 3.0,
            domain: [0.0, 9.0],
            scale: 1.0,
        },
    ];
    // The second parameter does nothing.
    let residuals = |p: &[f64]| data.iter().map(|[y, _]| y - p[0]).collect::<Vec<_>>();
    let found = fit(&inside, &residuals).expect("a fit");
    assert_eq!((found.estimate[0], found.at_edge[0]), (0.0, true));
    assert_eq!(
        (found.estimate[1], found.sd(1), found.condition),
        (3.0, f64::INFINITY, f64::INFINITY)
    );
    assert!(
        fit(&inside, &|_| vec![1.0, 2.0]).is_err(),
        "as many residuals as parameters"
    );
    assert!(fit(&inside, &|_| vec![f64::NAN; 9]).is_err());
}
