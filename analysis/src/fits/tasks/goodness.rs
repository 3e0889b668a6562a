//! Whether a fitted family is contradicted by the trials it was fitted to.
//!
//! Equation: `A2 = -n - (1/n) sum (2 i - 1) (ln F(x_i) + ln(1 - F(x_(n+1-i))))`, x sorted, F fitted. Its chance: samples of n are drawn from the fit, fitted
//! again, and their A2 counted that are as large (parametric bootstrap): `p = (1 + count) / (1 + samples)`.
//! Source: Anderson and Darling 1954, J. Am. Stat. Assoc. 49, 765; bootstrap of a fitted family: Stute, Gonzalez Manteiga and Presedo Quindimil
//! 1993, Metrika 40, 243 (both from memory). Valid for any family that is fitted here. With few trials it sees gross
//! misfits only: that a family is not contradicted does not make it right.

use crate::chance::Streams;
use crate::fits::families::Fitted;

/// Fewest trials with which the test says more than that nothing is absurd.
pub const TELLING: usize = 20;

/// What the test says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Goodness {
    /// The statistic.
    pub a2: f64,
    /// The chance of one as large if the family is right.
    pub p: f64,
    /// So many bootstrap samples could be fitted.
    pub samples: u32,
}

/// Tests a fit against its own observations. Draws are keyed by the seed and the name, so nothing else changes them.
#[must_use]
pub fn goodness(fitted: &Fitted, values: &[f64], (seed, name): (u64, &str), samples: u32) -> Goodness {
    let Some(spread) = fitted.spread() else {
        return Goodness {
            a2: f64::NAN,
            p: f64::NAN,
            samples: 0,
        };
    };
    let a2 = anderson_darling(values, |x| spread.cdf(x));
    let streams = Streams::new(seed, &[format!("goodness.{name}.{}", fitted.family.name())]);
    let (mut made, mut as_large) = (0, 0);
    for k in 0..samples {
        let luck = streams.variation(u64::from(k));
        let draw = |i: usize| spread.quantile(luck.uniform_at(0, i as u32, 0, 0));
        let again: Vec<f64> = (0..values.len()).map(draw).collect();
        let refitted = fitted.family.fit(&again).and_then(|fit| fit.spread());
        let Some(refitted) = refitted else { continue };
        made += 1;
        if anderson_darling(&again, |x| refitted.cdf(x)) >= a2 {
            as_large += 1;
        }
    }
    Goodness {
        a2,
        p: (1.0 + f64::from(as_large)) / (1.0 + f64::from(made)),
        samples: made,
    }
}

/// The statistic of values under a distribution function. Probabilities are held off 0 and 1 by what a double resolves.
#[must_use]
pub fn anderson_darling(values: &[f64], cdf: impl Fn(f64) -> f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    let below: Vec<f64> = sorted
        .iter()
        .map(|&x| cdf(x).clamp(1e-300, 1.0 - f64::EPSILON))
        .collect();
    let sum: f64 = (0..n)
        .map(|i| (2 * i + 1) as f64 * (libm::log(below[i]) + libm::log1p(-below[n - 1 - i])))
        .sum();
    -(n as f64) - sum / n as f64
}
