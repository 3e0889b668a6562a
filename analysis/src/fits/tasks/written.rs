//! A fit as a scenario has it: text, in a unit that people read, with how many trials it rests on.
//!
//! Maximum likelihood makes widths too small: `E(s^2) = (n - 1) / n sigma^2` for a lognormal. What is written is as likely too wide as too
//! narrow: of a lognormal `s sqrt(n / median of chi2(n - 1))`, of a gamma the same with v = n (1 + cv^2 / 3) - 1, of a Weibull
//! `1/k (1 + 0.926 / (n - 1.205))`, a fit to the medians of 100,000 simulated samples of 3 to 40 trials (within 1 %). A PERT stands as it
//! was found. Symbols as in [`breathroom_sim::spread::Trials`], which draws what is unsure around it; n independent trials.

use breathroom_sim::spread::{LEAST_TRIALS, Shape, Spread, Trials};
use breathroom_sim::units::figures;

use crate::fits::families::Fitted;
use crate::stats::chi_square::chi_square_quantile;

/// Figures of what is written.
const FIGURES: usize = 4;

/// A spread to write.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// Its shape, s.
    pub shape: Shape,
    /// So many independent trials.
    pub trials: u32,
    /// As TOML: `{ lognormal = ["52.3 min", "14.2 %"], trials = 9 }`.
    pub toml: String,
    /// Its median, s.
    pub median_s: f64,
    /// Between which 90 % of durations lie, s, if the numbers were known.
    pub range_s: [f64; 2],
}

/// A fit to durations in s as a spread; none if it is too narrow or too wide to be one.
#[must_use]
pub fn written(fitted: &Fitted, trials: u32) -> Option<Written> {
    let trials = trials.max(LEAST_TRIALS);
    // Of the whole sample: what is too narrow of maximum likelihood depends on how many values it had.
    let n = fitted.count as f64;
    let shape = match fitted.shape {
        Shape::Lognormal { median, cv } => {
            let sigma = libm::sqrt(libm::log1p(cv * cv)) * wider(n, n - 1.0)?;
            Shape::Lognormal {
                median,
                cv: libm::sqrt(libm::expm1(sigma * sigma)),
            }
        }
        Shape::Gamma { mean, cv } => Shape::Gamma {
            mean,
            cv: cv * wider(n, n * (1.0 + cv * cv / 3.0) - 1.0)?,
        },
        Shape::Weibull { scale, shape } => Shape::Weibull {
            scale,
            shape: shape / (1.0 + 0.926 / (n - 1.205)),
        },
        ref other => other.clone(),
    };
    // What is read is what is written, to its figures.
    let unit = Unit::of(Spread::new(shape.clone(), None).ok()?.median());
    let (name, values) = unit.values(&shape)?;
    let toml = format!("{{ {name} = [{}], trials = {trials} }}", values.join(", "));
    let spread = Spread::new(shape.clone(), None).ok()?;
    Trials::new(&spread, trials).ok()?;
    Some(Written {
        median_s: spread.median(),
        range_s: [spread.quantile(0.05), spread.quantile(0.95)],
        shape,
        trials,
        toml,
    })
}

/// `sqrt(n / median of chi2(v))`; none without degrees of freedom.
fn wider(n: f64, freedom: f64) -> Option<f64> {
    let factor = libm::sqrt(n / chi_square_quantile(0.5, freedom));
    factor.is_finite().then_some(factor)
}

/// Units of durations.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Unit {
    symbol: &'static str,
    seconds: f64,
}

impl Unit {
    fn of(median_s: f64) -> Self {
        let (symbol, seconds) = match median_s {
            s if s < 120.0 => ("s", 1.0),
            s if s < 4.0 * 3600.0 => ("min", 60.0),
            _ => ("h", 3600.0),
        };
        Self { symbol, seconds }
    }

    fn time(self, seconds: f64) -> String {
        format!("\"{} {}\"", figures(seconds / self.seconds, FIGURES), self.symbol)
    }

    fn values(self, shape: &Shape) -> Option<(&'static str, Vec<String>)> {
        let percent = |part: f64| format!("\"{} %\"", figures(100.0 * part, FIGURES));
        Some(match *shape {
            Shape::Lognormal { median, cv } => ("lognormal", vec![self.time(median), percent(cv)]),
            Shape::Gamma { mean, cv } => ("gamma", vec![self.time(mean), percent(cv)]),
            Shape::Weibull { scale, shape } => ("weibull", vec![self.time(scale), figures(shape, FIGURES)]),
            Shape::Pert { lo, mode, hi } => ("pert", [lo, mode, hi].map(|s| self.time(s)).to_vec()),
            _ => return None,
        })
    }
}
