//! What an outlet's sensor and its clock do, fitted beside the device: a baseline, a drift, a clock that is late.
//!
//! ```text
//! reading(t) = outlet(t - d) + b + s (t - t_mid)        QAIC = n_eff ln(S / n) + 2 k        n_eff = n / tau
//! ```
//!
//! `d` how late the outlet's clock is, s; `b` baseline, Pa; `s` drift, Pa/s; `S` sum of squares of `n` residuals, `k` parameters; `tau` of the
//! residuals of the richest of the models that are compared.
//!
//! Source: H. Akaike, IEEE Trans. Autom. Control 19, 716 (1974); correction for residuals that are no independent values after K. P. Burnham
//! and D. R. Anderson, Model Selection and Multimodel Inference (2002) (from memory). A nuisance that was not asked for is taken only
//! if it lowers the criterion by [`LEAST_GAIN`], leaves every parameter of the device as identified as it was, and what is then left is at most
//! [`MOST_LEFT`] times the sensor's noise: where a model misses more than that, a nuisance would soak it up and be taken for a sensor's fault.

use super::series::Series;

/// Gain of the criterion from which on a nuisance is taken of itself.
pub const LEAST_GAIN: f64 = 6.0;

/// Most that may be left, in standard deviations of the noise, where a nuisance is taken of itself.
pub const MOST_LEFT: f64 = 2.0;

/// What may go along.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nuisance {
    /// A constant offset of the reading.
    Baseline,
    /// One that grows in proportion to time.
    Drift,
    /// A clock that is late.
    Clock,
}

impl Nuisance {
    /// All, in the order in which parameters stand.
    pub const ALL: [Self; 3] = [Self::Baseline, Self::Drift, Self::Clock];

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Baseline => "baseline of the outlet's sensor",
            Self::Drift => "drift of the outlet's sensor",
            Self::Clock => "delay of the outlet's clock (or the lag of its sensor)",
        }
    }
}

/// The candidates, the poorest first.
pub const CANDIDATES: [&[Nuisance]; 6] = [
    &[],
    &[Nuisance::Baseline],
    &[Nuisance::Clock],
    &[Nuisance::Baseline, Nuisance::Drift],
    &[Nuisance::Baseline, Nuisance::Clock],
    &[Nuisance::Baseline, Nuisance::Drift, Nuisance::Clock],
];

/// The criterion.
#[must_use]
pub fn qaic(sum: f64, count: usize, tau: f64, parameters: usize) -> f64 {
    let n = count as f64;
    n / tau * libm::log((sum / n).max(1e-300)) + 2.0 * parameters as f64
}

/// What a sensor reads at some rows of an outlet.
#[must_use]
pub fn readings(outlet: &[f64], series: &Series, rows: &[usize], which: &[Nuisance], values: &[f64]) -> Vec<f64> {
    let value = |of: Nuisance| which.iter().position(|&other| other == of).map_or(0.0, |at| values[at]);
    let (baseline, drift, late) = (
        value(Nuisance::Baseline),
        value(Nuisance::Drift),
        value(Nuisance::Clock),
    );
    let times = &series.time_s;
    let middle = 0.5 * (times[0] + times[times.len() - 1]);
    let read = |&row: &usize| {
        let at = times[row] - late;
        let air = if late == 0.0 {
            outlet[row]
        } else {
            between(times, outlet, at)
        };
        air + baseline + drift * (times[row] - middle)
    };
    rows.iter().map(read).collect()
}

/// A value between samples; beyond the ends as there.
fn between(times: &[f64], values: &[f64], at: f64) -> f64 {
    let next = times.partition_point(|&time| time <= at);
    if next == 0 {
        return values[0];
    }
    if next == times.len() {
        return values[next - 1];
    }
    let share = (at - times[next - 1]) / (times[next] - times[next - 1]);
    values[next - 1] + share * (values[next] - values[next - 1])
}
