//! A fitted parameter as the scenario has it: a normal spread within its physical domain; and spreads that go together.
//!
//! ```text
//! { normal = [estimate, sd], within = domain }        rank correlation = 6/pi asin(r / 2)
//! ```
//!
//! `r` correlation of two estimates. Source: K. Pearson, Drapers' Company Research Memoirs, Biometric Series IV (1907), for two normal values
//! (from memory). The spread says how well one test of one piece knows its parameter; how pieces and days differ is not in it.

use breathroom_sim::units::figures;

use super::Told;
use crate::fits::device::Estimate;
use crate::fits::device::part::Part;

/// Correlation from which on two spreads are written as going together.
const LEAST_CORRELATION: f64 = 0.3;
/// A standard deviation below this part of the value is rounding: the value is written alone.
const EXACT: f64 = 1e-9;

/// A value to be written.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Its field.
    pub path: String,
    /// It in TOML.
    pub toml: String,
    /// It is a spread, and no number alone.
    pub is_spread: bool,
}

/// An estimate in TOML.
#[must_use]
pub fn spread(told: &Told, of: &Estimate) -> Spread {
    let law = told.law(of.law);
    let unit = law.unit;
    let number = |value: f64, most: usize| {
        let text = figures(value, most);
        if unit.symbol.is_empty() {
            text
        } else {
            format!("\"{text} {}\"", unit.symbol)
        }
    };
    let value = number(unit.from_si(of.value), 7);
    let path = format!("removal.{}.{}", told.device, law.key);
    if of.sd <= EXACT * of.value.abs() {
        return Spread {
            path,
            toml: value,
            is_spread: false,
        };
    }
    let sd = number(unit.difference_from_si(of.sd), 3);
    let [lo, hi] = law.domain.map(|end| number(unit.from_si(end), 7));
    Spread {
        path,
        toml: format!("{{ normal = [{value}, {sd}], within = [{lo}, {hi}] }}"),
        is_spread: true,
    }
}

/// Paths of spreads that go together, with their rank correlations.
pub type Group = (Vec<String>, Vec<Vec<f64>>);

/// Groups of the spreads that are written, one for each outlet whose parameters are correlated.
#[must_use]
pub fn groups(told: &Told, spreads: &[(usize, Spread)]) -> Vec<Group> {
    let group = |part: &Part| {
        let among: Vec<(usize, &Spread)> = part
            .free
            .iter()
            .enumerate()
            .filter_map(|(at, law)| {
                let found = spreads.iter().find(|(of, spread)| of == law && spread.is_spread);
                found.map(|(_, spread)| (at, spread))
            })
            .collect();
        let r = |a: usize, b: usize| part.fitted.correlation(a, b);
        let strong = among
            .iter()
            .any(|(a, _)| among.iter().any(|(b, _)| a < b && r(*a, *b).abs() > LEAST_CORRELATION));
        let rank = |a: usize, b: usize| {
            if a == b {
                return 1.0;
            }
            let rank = 6.0 / std::f64::consts::PI * libm::asin(0.5 * r(a, b));
            // Two digits more than anyone knows it to.
            libm::round(rank * 1e4) / 1e4
        };
        strong.then(|| {
            let names = among.iter().map(|(_, spread)| spread.path.clone()).collect();
            let rows = among
                .iter()
                .map(|(a, _)| among.iter().map(|(b, _)| rank(*a, *b)).collect())
                .collect();
            (names, rows)
        })
    };
    told.fit.parts.iter().filter_map(group).collect()
}
