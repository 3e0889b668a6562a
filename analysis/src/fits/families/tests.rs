//! Fits against another library on the same data, and against their own equations.

use super::*;

/// Invented durations of twelve trials, min.
const TWELVE: [f64; 12] = [41.2, 47.9, 52.3, 44.8, 61.0, 49.5, 55.7, 46.1, 73.4, 50.2, 43.6, 58.8];
/// Places of a beta distribution at even probabilities, rounded: a sample with a maximum inside for all three of a PERT's numbers.
const EVEN: [f64; 24] = [
    23.9, 26.1, 27.7, 29.0, 30.1, 31.1, 32.1, 33.0, 33.9, 34.8, 35.7, 36.6, 37.5, 38.3, 39.3, 40.2, 41.2, 42.2, 43.3,
    44.5, 45.8, 47.4, 49.4, 52.6,
];

fn numbers(shape: &Shape) -> Vec<f64> {
    match *shape {
        Shape::Lognormal { median, cv } => vec![median, cv],
        Shape::Gamma { mean, cv } => vec![mean, cv],
        Shape::Weibull { scale, shape } => vec![scale, shape],
        Shape::Pert { lo, mode, hi } => vec![lo, mode, hi],
        ref other => panic!("{other:?} is not fitted"),
    }
}

/// SciPy 1.17.1: `lognorm.fit(x, floc=0)`; of the others the maximum of `gamma.logpdf`, `weibull_min.logpdf` and
/// `beta.logpdf(x, a, 6 - a, lo, hi - lo)` by `minimize(method="Nelder-Mead", xatol=1e-12, fatol=1e-13)`.
#[test]
fn fits_are_those_of_scipy_on_the_same_data() {
    let cases: [(Family, &[f64], &[f64], f64); 4] = [
        (
            Family::Lognormal,
            &TWELVE,
            &[51.382_346_275_648_05, 0.157_706_127_792_177_5],
            -42.060_683_337_785_37,
        ),
        (
            Family::Gamma,
            &TWELVE,
            &[52.041_666_901_621_65, 0.159_350_528_752_888_24],
            -42.309_794_212_817_28,
        ),
        (
            Family::Weibull,
            &TWELVE,
            &[55.850_577_207_862_926, 5.778_373_294_724_968],
            -44.004_039_566_592_624,
        ),
        (
            Family::Pert,
            &EVEN,
            &[20.968_138_686_341_07, 35.782_634_113_249_216, 59.514_282_880_670_194],
            -81.234_886_407_123_01,
        ),
    ];
    for (family, values, expected, log_likelihood) in cases {
        let fitted = family.fit(values).expect("a fit");
        // The pattern search of PERT ends at steps of 1e-4 in logarithms; the others at rounding, SciPy's search at 1e-8.
        let tolerance = if family == Family::Pert { 3e-4 } else { 3e-8 };
        for (found, wanted) in numbers(&fitted.shape).iter().zip(expected) {
            assert!((found / wanted - 1.0).abs() < tolerance, "{family:?}: {found} {wanted}");
        }
        assert!(
            (fitted.log_likelihood - log_likelihood).abs() < 1e-7,
            "{family:?}: {}",
            fitted.log_likelihood
        );
    }
}

/// Where ln L is highest at an end, the low end lies at the least value: SciPy finds [41.2, 41.2, 104.556], ln L -40.253807.
#[test]
fn a_pert_whose_end_lies_at_an_observation_is_found_and_known_as_such() {
    let fitted = Family::Pert.fit(&TWELVE).expect("a fit");
    let found = numbers(&fitted.shape);
    for (found, wanted) in found.iter().zip([41.2, 41.2, 104.555_740_473]) {
        assert!((found / wanted - 1.0).abs() < 1e-3, "{found} {wanted}");
    }
    assert!(
        (fitted.log_likelihood + 40.253_807).abs() < 1e-3,
        "{}",
        fitted.log_likelihood
    );
    assert!(!fitted.is_regular(&TWELVE));
    assert!(Family::Pert.fit(&EVEN).expect("a fit").is_regular(&EVEN));
}

/// ln L as it is told is the sum of the logarithms of the density, here by differences of the spread's distribution function.
#[test]
fn the_likelihood_is_that_of_the_spread_that_is_written() {
    for family in Family::ALL {
        let fitted = family.fit(&EVEN).expect("a fit");
        let spread = fitted.spread().expect("a spread");
        let density = |x: f64| (spread.cdf(x + 1e-3) - spread.cdf(x - 1e-3)) / 2e-3;
        let sum: f64 = EVEN.iter().map(|&x| libm::log(density(x))).sum();
        assert!(
            (sum - fitted.log_likelihood).abs() < 1e-4,
            "{family:?}: {sum} {}",
            fitted.log_likelihood
        );
    }
}

#[test]
fn what_cannot_be_fitted_is_not() {
    for family in Family::ALL {
        assert_eq!(family.fit(&[5.0; 8]), None);
        assert_eq!(family.fit(&[5.0, 6.0]), None);
        assert_eq!(family.fit(&[5.0, 6.0, 7.0, -1.0, 8.0]), None);
        assert_eq!(family.fit(&[5.0, 6.0, f64::NAN, 8.0, 9.0]), None);
    }
    let three = Family::Lognormal.fit(&[5.0, 6.0, 7.0]).expect("three are enough");
    assert!(three.aicc().is_infinite() && three.aic().is_finite());
}

/// A change of unit changes nothing but the unit.
#[test]
fn units_do_not_matter() {
    for family in Family::ALL {
        let [small, large] = [1.0, 3600.0].map(|unit| {
            let values: Vec<f64> = EVEN.iter().map(|x| x * unit).collect();
            family.fit(&values).expect("a fit")
        });
        let [a, b] = [&small, &large].map(|fit| fit.spread().expect("a spread").quantile(0.9));
        assert!((b / a / 3600.0 - 1.0).abs() < 1e-9, "{family:?}");
    }
}
