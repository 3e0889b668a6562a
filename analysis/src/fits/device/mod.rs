//! The parameters of a removal device from what was measured at its inlet and its outlet.
//!
//! ```text
//! table --series--> Series --samples--> what is looked at        Scenario, device --model--> laws with given values
//! both --part, nuisance--> what each outlet gives, how sure --> DeviceFit        another table --held_out--> how well it foretells
//! ```
//!
//! Water is fitted before CO2, which it may hinder; each outlet by itself, since their sensors err by different amounts.

pub mod held_out;
pub mod model;
pub mod nuisance;
pub mod part;
pub mod samples;
pub mod series;
pub mod sorbent;
pub mod swing;
#[cfg(test)]
mod tests;

use model::{CO2, Model, WATER};
use part::{Beside, Held, Part, part};
use samples::{Window, samples};
use series::Series;

/// What became of a parameter.
#[derive(Clone, Debug, PartialEq)]
pub enum Status {
    /// Fitted.
    Fitted,
    /// Fitted, and it lies on the edge of its domain.
    AtEdge,
    /// Not identified.
    Held(Held),
    /// There is no outlet that could give it.
    NoData,
}

/// A parameter after the fit, SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Index in the model.
    pub law: usize,
    /// Its value; as given where it was not fitted.
    pub value: f64,
    /// Its standard deviation; 0 where it was not fitted.
    pub sd: f64,
    /// Its 95 % interval.
    pub interval_95: [f64; 2],
    /// What became of it.
    pub status: Status,
}

impl Estimate {
    /// Whether data gave it.
    #[must_use]
    pub fn is_fitted(&self) -> bool {
        matches!(self.status, Status::Fitted | Status::AtEdge)
    }
}

/// A device after the fit.
#[derive(Clone, Debug)]
pub struct DeviceFit {
    /// One for each parameter of the model.
    pub estimates: Vec<Estimate>,
    /// What each outlet gave.
    pub parts: Vec<Part>,
}

impl DeviceFit {
    /// All parameters.
    #[must_use]
    pub fn values(&self) -> Vec<f64> {
        self.estimates.iter().map(|of| of.value).collect()
    }
}

/// Fits a device to a test.
///
/// # Errors
/// If the test has no outlet of what the device takes, or nothing that can be fitted.
pub fn fit_device(model: &Model, series: &Series, window: Window, beside: &Beside) -> Result<DeviceFit, String> {
    let mut values: Vec<f64> = model.laws.iter().map(|law| law.given).collect();
    let mut parts = Vec::new();
    for species in [WATER, CO2] {
        let has = series.outlet_pa[species].is_some() && series.inlet_pa[species].is_some();
        if !has || model.of_species(species).is_empty() {
            continue;
        }
        let unit = series.unit[species].map_or("", |unit| unit.symbol);
        let found = samples(series, species, window, unit)?;
        parts.push(part(model, series, species, found, beside, &mut values)?);
    }
    if parts.is_empty() {
        let names: Vec<&str> = model
            .laws
            .iter()
            .map(|law| ["`co2 in` and `co2 out`", "`water in` and `water out`"][law.species])
            .collect();
        let mut names: Vec<&str> = names;
        names.dedup();
        return Err(format!("there is nothing to fit: the data need {}", names.join(" or ")));
    }
    parts.reverse();
    let estimate = |law: usize| {
        let value = values[law];
        for part in &parts {
            if let Some(at) = part.free.iter().position(|&free| free == law) {
                let (sd, t, [lo, hi]) = (part.sd(at), part.t_95(), model.laws[law].domain);
                return Estimate {
                    law,
                    value,
                    sd,
                    interval_95: [(value - t * sd).max(lo), (value + t * sd).min(hi)],
                    status: if part.fitted.at_edge[at] {
                        Status::AtEdge
                    } else {
                        Status::Fitted
                    },
                };
            }
            if let Some((_, why)) = part.held.iter().find(|(held, _)| *held == law) {
                return Estimate {
                    law,
                    value,
                    sd: 0.0,
                    interval_95: [f64::NAN; 2],
                    status: Status::Held(why.clone()),
                };
            }
        }
        Estimate {
            law,
            value,
            sd: 0.0,
            interval_95: [f64::NAN; 2],
            status: Status::NoData,
        }
    };
    Ok(DeviceFit {
        estimates: (0..model.laws.len()).map(estimate).collect(),
        parts,
    })
}
