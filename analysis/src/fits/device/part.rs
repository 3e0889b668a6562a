//! One outlet of a device fitted: which parameters it gives, how sure, and what it does not give.
//!
//! A parameter that the data do not give is held at its given value and the rest is fitted again, the worst first, until all that is left is
//! identified: its standard deviation is small enough for its kind ([`Needed`]), no two go together beyond [`TOGETHER`], and the problem is
//! not ill-conditioned. What the sensor and its clock do is fitted beside where that is asked for or pays (`nuisance.rs`).

use super::super::autocorrelation::{Autocorrelation, autocorrelation};
use super::super::least_squares::{Fitted, Parameter, fit};
use super::model::{Model, Needed};
use super::nuisance::{CANDIDATES, LEAST_GAIN, MOST_LEFT, Nuisance, qaic, readings};
use super::samples::Samples;
use super::series::Series;
use crate::stats::student;

/// Correlation beyond which two parameters count as one.
pub const TOGETHER: f64 = 0.99;
/// Condition beyond which a problem is ill-conditioned.
const ILL: f64 = 1e8;
/// Residuals below this part of the largest reading are rounding.
const EXACT: f64 = 1e-9;
/// Factors on the given values from which the search starts too.
const STARTS: [f64; 3] = [0.4, 0.7, 1.8];
/// Places at which a clock's lateness is tried before it is fitted.
const CLOCKS: i32 = 20;

/// Why a parameter was held.
#[derive(Clone, Debug, PartialEq)]
pub enum Held {
    /// It changes nothing that was measured.
    NoEffect,
    /// Its standard deviation would be this, SI.
    Unsure(f64),
    /// It goes together with that parameter (an index of the model's).
    With(usize, f64),
    /// Together with others it makes the problem ill-conditioned.
    Ill,
}

/// What came of one outlet.
#[derive(Clone, Debug)]
pub struct Part {
    /// CO2 or water.
    pub species: usize,
    /// What was looked at.
    pub samples: Samples,
    /// Parameters that were fitted, by index in the model.
    pub free: Vec<usize>,
    /// Those that were held, and why.
    pub held: Vec<(usize, Held)>,
    /// What was fitted beside.
    pub nuisance: Vec<Nuisance>,
    /// Nuisances that were asked for and are not identified.
    pub dropped: Vec<Nuisance>,
    /// The fit: parameters in the order of `free`, then of `nuisance`.
    pub fitted: Fitted,
    /// What the order of residuals says.
    pub order: Autocorrelation,
    /// What the sensor should have read, Pa.
    pub predicted_pa: Vec<f64>,
    /// The standard deviation of the sensor's noise alone, from differences of neighbours, Pa.
    pub noise_pa: f64,
}

impl Part {
    /// Standard deviation of a residual, with what autocorrelation costs in degrees of freedom, Pa.
    #[must_use]
    pub fn residual_sd_pa(&self) -> f64 {
        let n = self.fitted.residuals.len() as f64;
        let freedom = n - self.order.tau * (n - self.fitted.freedom() as f64);
        libm::sqrt(self.fitted.sum / freedom.max(0.1 * n))
    }

    /// The covariance of two parameters of the fit.
    #[must_use]
    pub fn covariance(&self, a: usize, b: usize) -> f64 {
        let sd = self.residual_sd_pa();
        sd * sd * self.order.tau * self.fitted.unscaled[a][b]
    }

    /// The standard deviation of a parameter of the fit.
    #[must_use]
    pub fn sd(&self, index: usize) -> f64 {
        libm::sqrt(self.covariance(index, index))
    }

    /// Student's quantile for its 95 % intervals.
    #[must_use]
    pub fn t_95(&self) -> f64 {
        let freedom = self.order.effective - (self.free.len() + self.nuisance.len()) as f64;
        student::quantile(0.975, freedom.max(1.0) as u64)
    }
}

/// What is asked of a fit beside the parameters.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Beside {
    /// Nuisances that are to be fitted.
    pub asked: Vec<Nuisance>,
    /// None but those.
    pub only: bool,
    /// Parameters that are not identified are kept too, but for those that change nothing.
    pub keeps_all: bool,
}

/// Fits what an outlet gives; `values` are all parameters of the model as they stand, and are changed to what was fitted.
///
/// # Errors
/// If there are too few samples, or no fit comes about.
pub fn part(
    model: &Model,
    series: &Series,
    species: usize,
    samples: Samples,
    beside: &Beside,
    values: &mut [f64],
) -> Result<Part, String> {
    let problem = Problem {
        model,
        series,
        species,
        samples: &samples,
        given: values.to_vec(),
        keeps_all: beside.keeps_all,
    };
    let laws = model.of_species(species);
    if samples.rows.len() < laws.len() + 4 {
        return Err(format!(
            "{} samples of the outlet are too few: {} at the least",
            samples.rows.len(),
            laws.len() + 4
        ));
    }
    let (free, held, plain) = problem.identified(laws, &[])?;
    let mut best = (plain, Vec::new());
    let (mut free, mut held) = (free, held);
    let mut dropped = Vec::new();
    // What is exact to rounding has nothing beside it.
    let most = samples.measured_pa.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    let is_exact = best.0.residual_sd() < EXACT * most;
    let wanted = |which: &[Nuisance]| beside.asked.iter().all(|asked| which.contains(asked));
    let mut tried: Vec<(Fitted, Vec<Nuisance>)> = Vec::new();
    for which in CANDIDATES {
        let is_more = which.iter().any(|of| !beside.asked.contains(of));
        if which.is_empty() || ((beside.only || is_exact) && is_more) {
            continue;
        }
        let found = problem.fitted(&free, which)?;
        let is_near = !is_more || found.residual_sd() <= MOST_LEFT * noise(&found.residuals);
        if is_near && problem.keeps(&found, &free, which) {
            tried.push((found, which.to_vec()));
        }
    }
    if let Some((richest, _)) = tried.last() {
        let tau = autocorrelation(&richest.residuals).tau;
        let score = |of: &(Fitted, Vec<Nuisance>)| qaic(of.0.sum, of.0.residuals.len(), tau, of.0.estimate.len());
        let asked: Vec<&(Fitted, Vec<Nuisance>)> = tried.iter().filter(|(_, which)| wanted(which)).collect();
        let least = |list: &[&(Fitted, Vec<Nuisance>)]| {
            let mut least: Option<(Fitted, Vec<Nuisance>)> = None;
            for of in list {
                // Each step to a richer model must pay for itself.
                if least.as_ref().is_none_or(|least| score(of) < score(least) - LEAST_GAIN) {
                    least = Some((*of).clone());
                }
            }
            least
        };
        if beside.asked.is_empty() {
            let mut all: Vec<&(Fitted, Vec<Nuisance>)> = vec![&best];
            all.extend(tried.iter());
            best = least(&all).unwrap_or(best.clone());
        } else if let Some(found) = least(&asked) {
            best = found;
        }
    }
    for asked in &beside.asked {
        if !best.1.contains(asked) {
            dropped.push(*asked);
        }
    }
    if !best.1.is_empty() {
        // With these beside, more of the device may be hidden, or less.
        let (again, more, fitted) = problem.identified(model.of_species(species), &best.1)?;
        if again.len() >= free.len() {
            (free, held, best.0) = (again, more, fitted);
        }
    }
    let (fitted, nuisance) = best;
    for (at, &law) in free.iter().enumerate() {
        values[law] = fitted.estimate[at];
    }
    let predicted_pa: Vec<f64> = samples
        .measured_pa
        .iter()
        .zip(&fitted.residuals)
        .map(|(measured, residual)| measured - residual)
        .collect();
    let order = autocorrelation(&fitted.residuals);
    Ok(Part {
        species,
        free,
        held,
        nuisance,
        dropped,
        order,
        predicted_pa,
        noise_pa: noise(&fitted.residuals),
        fitted,
        samples,
    })
}

/// Parameters that are free, those that were held, and the fit.
type Identified = (Vec<usize>, Vec<(usize, Held)>, Fitted);

/// The standard deviation of what differs from sample to sample, whatever changes slowly: after J. von Neumann, Ann. Math. Statist. 12, 367
/// (1941) (from memory).
fn noise(residuals: &[f64]) -> f64 {
    let square: f64 = residuals
        .windows(2)
        .map(|pair| (pair[1] - pair[0]) * (pair[1] - pair[0]))
        .sum();
    libm::sqrt(square / (2.0 * residuals.len().saturating_sub(1).max(1) as f64))
}

struct Problem<'a> {
    model: &'a Model,
    series: &'a Series,
    species: usize,
    samples: &'a Samples,
    given: Vec<f64>,
    keeps_all: bool,
}

impl Problem<'_> {
    /// Fits all laws that can be fitted together: those that are free, those that were held, the fit.
    fn identified(&self, laws: Vec<usize>, which: &[Nuisance]) -> Result<Identified, String> {
        let mut free = laws;
        let mut held = Vec::new();
        loop {
            let fitted = self.fitted(&free, which)?;
            match self.worst(&fitted, &free) {
                Some((at, why)) => held.push((free.remove(at), why)),
                None => return Ok((free, held, fitted)),
            }
        }
    }

    /// The parameter that is to be held, if one is.
    fn worst(&self, fitted: &Fitted, free: &[usize]) -> Option<(usize, Held)> {
        let tau = autocorrelation(&fitted.residuals).tau;
        let excess = |at: usize| {
            let law = &self.model.laws[free[at]];
            let sd = fitted.sd(at) * libm::sqrt(tau);
            let allowed = match law.needed {
                Needed::Relative(part) => part * fitted.estimate[at].abs(),
                Needed::Absolute(most) => most,
            };
            (sd / allowed, sd)
        };
        let mut worst: Option<(usize, f64, f64)> = None;
        for at in 0..free.len() {
            let (over, sd) = excess(at);
            let over = if over.is_nan() { f64::INFINITY } else { over };
            let counts = over > 1.0 && (over.is_infinite() || !self.keeps_all);
            if counts && worst.is_none_or(|(_, most, _)| over >= most) {
                worst = Some((at, over, sd));
            }
        }
        if let Some((at, over, sd)) = worst {
            let why = if over.is_finite() {
                Held::Unsure(sd)
            } else {
                Held::NoEffect
            };
            return Some((at, why));
        }
        if self.keeps_all {
            return None;
        }
        for at in (1..free.len()).rev() {
            for other in 0..at {
                let r = fitted.correlation(other, at);
                if r.abs() > TOGETHER {
                    return Some((at, Held::With(free[other], r)));
                }
            }
        }
        (fitted.condition > ILL && !free.is_empty()).then(|| (free.len() - 1, Held::Ill))
    }

    /// Whether nuisances are identified and leave the device's parameters so.
    fn keeps(&self, fitted: &Fitted, free: &[usize], which: &[Nuisance]) -> bool {
        let k = free.len();
        let apart = (0..k + which.len()).all(|a| (0..a).all(|b| fitted.correlation(a, b).abs() <= TOGETHER));
        let inside = (k..k + which.len()).all(|at| !fitted.at_edge[at] && fitted.sd(at).is_finite());
        apart && inside && fitted.condition <= ILL && self.worst(fitted, free).is_none()
    }

    /// The best fit from several starts.
    fn fitted(&self, free: &[usize], which: &[Nuisance]) -> Result<Fitted, String> {
        let mut best: Option<Fitted> = None;
        let mut failed = String::new();
        for start in self.starts(free) {
            let residuals = |p: &[f64]| self.residuals(free, which, p);
            let mut parameters: Vec<Parameter> = free
                .iter()
                .zip(&start)
                .map(|(&law, &start)| self.parameter(law, start))
                .collect();
            for &of in which {
                parameters.push(self.beside(of, free, which, &start));
            }
            match fit(&parameters, &residuals) {
                Ok(found) if best.as_ref().is_none_or(|best| found.sum < best.sum * (1.0 - 1e-9)) => best = Some(found),
                Ok(_) => {}
                Err(why) => failed = why,
            }
        }
        best.ok_or(failed)
    }

    fn parameter(&self, law: usize, start: f64) -> Parameter {
        let of = &self.model.laws[law];
        Parameter {
            start,
            domain: of.domain,
            scale: if of.given != 0.0 {
                of.given.abs()
            } else {
                (of.domain[1] - of.domain[0]).min(1.0)
            },
        }
    }

    /// The given values, and some about them.
    fn starts(&self, free: &[usize]) -> Vec<Vec<f64>> {
        let of = |factor: f64| {
            let start = |&law: &usize| {
                let [lo, hi] = self.model.laws[law].domain;
                let given = self.given[law];
                // On an edge there may be no way to go downhill.
                let inside = if hi - lo <= 1.0 && lo == 0.0 {
                    given.clamp(0.01, 0.98)
                } else {
                    given
                };
                (inside * factor).clamp(lo, hi)
            };
            free.iter().map(start).collect::<Vec<f64>>()
        };
        // A straight line needs one start.
        let is_plain = matches!(self.model.family, "flow-through");
        std::iter::once(1.0)
            .chain(STARTS.into_iter().filter(|_| !is_plain))
            .map(of)
            .collect()
    }

    /// A nuisance before the fit.
    fn beside(&self, of: Nuisance, free: &[usize], which: &[Nuisance], start: &[f64]) -> Parameter {
        let most = self
            .samples
            .measured_pa
            .iter()
            .fold(0.0_f64, |a, b| a.max(b.abs()))
            .max(1e-6);
        let times = &self.series.time_s;
        let length = (times[times.len() - 1] - times[0]).max(1.0);
        match of {
            Nuisance::Baseline => Parameter {
                start: 0.0,
                domain: [-most, most],
                scale: 0.1 * most,
            },
            Nuisance::Drift => Parameter {
                start: 0.0,
                domain: [-most / length, most / length],
                scale: 0.1 * most / length,
            },
            Nuisance::Clock => {
                let reach = 0.25 * length;
                let mut best = (0.0, f64::INFINITY);
                for n in -CLOCKS..=CLOCKS {
                    let late = reach * f64::from(n * n * n) / f64::from(CLOCKS * CLOCKS * CLOCKS);
                    let mut p = start.to_vec();
                    p.extend(which.iter().map(|of| if *of == Nuisance::Clock { late } else { 0.0 }));
                    let sum: f64 = self.residuals(free, which, &p).iter().map(|r| r * r).sum();
                    if sum < best.1 {
                        best = (late, sum);
                    }
                }
                // Between samples everything goes in straight lines: a step of differences is to be a good part of one.
                let step = length / (times.len() - 1).max(1) as f64;
                Parameter {
                    start: best.0,
                    domain: [-reach, reach],
                    scale: 3e7 * step,
                }
            }
        }
    }

    fn residuals(&self, free: &[usize], which: &[Nuisance], p: &[f64]) -> Vec<f64> {
        let mut all = self.given.clone();
        for (&law, &value) in free.iter().zip(p) {
            all[law] = value;
        }
        let outlet = self.model.outlet(&all, self.series);
        let Some(outlet) = &outlet[self.species] else {
            return vec![f64::NAN; self.samples.rows.len()];
        };
        let read = readings(outlet, self.series, &self.samples.rows, which, &p[free.len()..]);
        self.samples
            .measured_pa
            .iter()
            .zip(read)
            .map(|(measured, read)| measured - read)
            .collect()
    }
}
