//! How fitted parameters foretell another test: one that they were not fitted to.
//!
//! ```text
//! e = measured - predicted      band = +-t sqrt(s^2 + g C g)      removed = integral Q / (R T) (p_in - p_out) M dt
//! ```
//!
//! `s` standard deviation of a residual of the fit, `C` covariance of the parameters, `g` the outlet's derivatives by them (central
//! differences), `t` Student's quantile. What the sensor did in the first test (baseline, drift, clock) is not carried over: it is no
//! property of the device. The mass removed is integrated by trapezoids over the samples that both have.

use breathroom_sim::air::Species;

use super::model::Model;
use super::part::Part;
use super::samples::Samples;
use super::series::Series;

/// What another test says of a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldOut {
    /// CO2 or water.
    pub species: usize,
    /// Samples that were looked at.
    pub samples: Samples,
    /// What was foretold there, Pa.
    pub predicted_pa: Vec<f64>,
    /// Half widths of the 95 % band, Pa.
    pub band_pa: Vec<f64>,
    /// Root of the mean square of the errors, Pa.
    pub rmse_pa: f64,
    /// Their mean, measured less predicted, Pa.
    pub bias_pa: f64,
    /// The share of samples within the band.
    pub inside: f64,
    /// Mass removed, measured and foretold, kg; none without flow and temperature.
    pub removed_kg: Option<[f64; 2]>,
}

/// Foretells a test with all parameters of a model as fitted.
#[must_use]
pub fn held_out(model: &Model, values: &[f64], part: &Part, series: &Series, samples: Samples) -> Option<HeldOut> {
    let species = part.species;
    let outlet = model.outlet(values, series)[species].take()?;
    let band = band(model, values, part, series, &samples.rows);
    let predicted_pa: Vec<f64> = samples.rows.iter().map(|&row| outlet[row]).collect();
    let errors: Vec<f64> = samples
        .measured_pa
        .iter()
        .zip(&predicted_pa)
        .map(|(a, b)| a - b)
        .collect();
    let n = errors.len() as f64;
    let inside = errors
        .iter()
        .zip(&band)
        .filter(|(error, band)| error.abs() <= **band)
        .count();
    Some(HeldOut {
        species,
        removed_kg: [&samples.measured_pa, &predicted_pa]
            .map(|list| removed_kg(series, species, &samples.rows, list))
            .into_iter()
            .collect::<Option<Vec<f64>>>()
            .map(|pair| [pair[0], pair[1]]),
        predicted_pa,
        band_pa: band,
        rmse_pa: libm::sqrt(errors.iter().map(|e| e * e).sum::<f64>() / n),
        bias_pa: errors.iter().sum::<f64>() / n,
        inside: inside as f64 / n,
        samples,
    })
}

/// Half widths of the 95 % band of a reading at rows of a series, Pa.
#[must_use]
pub fn band(model: &Model, values: &[f64], part: &Part, series: &Series, rows: &[usize]) -> Vec<f64> {
    let species = part.species;
    let mut slopes: Vec<Vec<f64>> = Vec::new();
    for &law in &part.free {
        let [lo, hi] = model.laws[law].domain;
        let h = 1e-5 * values[law].abs().max(1e-3 * (hi - lo).min(1.0));
        let at = |to: f64| {
            let mut p = values.to_vec();
            p[law] = to.clamp(lo, hi);
            (p[law], model.outlet(&p, series)[species].take().unwrap_or_default())
        };
        let ((up, above), (down, below)) = (at(values[law] + h), at(values[law] - h));
        slopes.push(
            rows.iter()
                .map(|&row| (above[row] - below[row]) / (up - down))
                .collect(),
        );
    }
    let sd = part.residual_sd_pa();
    let t = part.t_95();
    let half = |at: usize| {
        let mut square = sd * sd;
        for a in 0..slopes.len() {
            for b in 0..slopes.len() {
                square += slopes[a][at] * part.covariance(a, b) * slopes[b][at];
            }
        }
        t * libm::sqrt(square.max(0.0))
    };
    (0..rows.len()).map(half).collect()
}

/// The mass removed between the first and the last of some rows, kg; none without flow and temperature.
#[must_use]
pub fn removed_kg(series: &Series, species: usize, rows: &[usize], outlet_pa: &[f64]) -> Option<f64> {
    let inlet = series.inlet_pa[species].as_ref()?;
    if series.flow_m3_s.is_none() || series.temperature_k.is_none() {
        return None;
    }
    let molar = [Species::Co2, Species::Water][species].molar_mass_kg_mol();
    // The outlet's volume flow is less by what was taken, if the total pressure is known.
    let carried = |at: usize| {
        let (row, out) = (rows[at], outlet_pa[at]);
        let taken = match &series.pressure_pa {
            Some(pressure) => (inlet[row] - out) * pressure[row] / (pressure[row] - out),
            None => inlet[row] - out,
        };
        series.per_pa(row) * taken * molar
    };
    let steps = (1..rows.len())
        .map(|at| 0.5 * (carried(at) + carried(at - 1)) * (series.time_s[rows[at]] - series.time_s[rows[at - 1]]));
    Some(steps.sum())
}
