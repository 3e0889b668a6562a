//! Which samples of an outlet a fit looks at, and why it leaves the others out.
//!
//! A sensor that has reached the end of its range says only "at least this much": such samples are left out, at a limit that was named or
//! at a flat top that is found: at least `LEAST_RUN` samples in a row at the very largest value, while what the inlet did in that time would
//! have moved the outlet by at least three of the sensor's own steps. Leaving them out costs what little they say and biases nothing
//! but the few samples within the noise below the limit (left out: a censored likelihood).

use super::series::Series;

/// Samples in a row at the largest value that make a flat top.
const LEAST_RUN: usize = 5;
/// Steps of the sensor by which the outlet should have moved meanwhile.
const MOVED: f64 = 3.0;

/// What of a test is looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Window {
    /// From this time on, s.
    pub from_s: Option<f64>,
    /// Up to this time, s.
    pub to_s: Option<f64>,
    /// The end of the range of the sensor of CO2 and of that of water, Pa.
    pub saturates_pa: [Option<f64>; 2],
}

/// Samples of one outlet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Samples {
    /// Rows that are looked at.
    pub rows: Vec<usize>,
    /// What was measured there, Pa.
    pub measured_pa: Vec<f64>,
    /// Why rows were left out, and how many.
    pub left: Vec<(String, usize)>,
}

/// The samples of a species' outlet.
///
/// # Errors
/// If none are left that could give anything: why.
pub fn samples(series: &Series, species: usize, window: Window, unit: &str) -> Result<Samples, String> {
    let Some(outlet) = &series.outlet_pa[species] else {
        return Err("there is no outlet".to_owned());
    };
    let name = ["co2 out", "water out"][species];
    let top = window.saturates_pa[species].or_else(|| flat_top(series, species));
    let mut found = Samples::default();
    let (mut gaps, mut outside, mut still, mut full) = (0, 0, 0, 0);
    for (row, value) in outlet.iter().enumerate() {
        let at = series.time_s[row];
        let is_outside = window.from_s.is_some_and(|from| at < from) || window.to_s.is_some_and(|to| at > to);
        match value {
            None => gaps += 1,
            Some(_) if is_outside => outside += 1,
            Some(_) if !series.flows(row) => still += 1,
            Some(value) if top.is_some_and(|top| *value >= top * (1.0 - 1e-9)) => full += 1,
            Some(value) => {
                found.rows.push(row);
                found.measured_pa.push(*value);
            }
        }
    }
    let why_full = if window.saturates_pa[species].is_some() {
        "at or above the end of the sensor's range, as named"
    } else {
        "on a flat top: the sensor's range ends there"
    };
    let all = [
        (gaps, "gaps"),
        (outside, "outside the times asked for"),
        (still, "no flow"),
        (full, why_full),
    ];
    found.left = all
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, why)| ((*why).to_owned(), *n))
        .collect();
    if found.rows.is_empty() {
        let told: Vec<String> = found.left.iter().map(|(why, n)| format!("{n} {why}")).collect();
        let ends = [0, series.len() - 1].map(|row| breathroom_sim::units::figures(series.time_s[row], 6));
        return Err(format!(
            "no sample of `{name}` is left to be fitted: {}; the times of the file are {} to {} s",
            told.join("; "),
            ends[0],
            ends[1]
        ));
    }
    if let Some(inlet) = &series.inlet_pa[species] {
        let above = |(&row, &value): (&usize, &f64)| value > inlet[row];
        let count = found
            .rows
            .iter()
            .zip(&found.measured_pa)
            .filter(|pair| above(*pair))
            .count();
        if count == found.rows.len() {
            return Err(format!(
                "`{name}` is above the inlet in all of {count} samples: a device that takes lowers it; are the columns exchanged, or is the unit [{unit}] not the inlet's?"
            ));
        }
    }
    Ok(found)
}

/// The value of a flat top, if the outlet has one.
fn flat_top(series: &Series, species: usize) -> Option<f64> {
    let (outlet, inlet) = (series.outlet_pa[species].as_ref()?, series.inlet_pa[species].as_ref()?);
    let top = outlet.iter().flatten().fold(f64::NEG_INFINITY, |a, &b| a.max(b));
    let mut values: Vec<f64> = outlet.iter().flatten().copied().collect();
    values.sort_by(f64::total_cmp);
    let gaps = values.windows(2).map(|pair| pair[1] - pair[0]);
    let step = gaps.filter(|gap| *gap > 1e-9 * top.abs()).fold(f64::INFINITY, f64::min);
    let mut run: Vec<usize> = Vec::new();
    let is_flat = |run: &[usize]| {
        if run.len() < LEAST_RUN {
            return false;
        }
        let ends = run.iter().fold([f64::INFINITY, 0.0_f64], |[lo, hi], &row| {
            [lo.min(inlet[row]), hi.max(inlet[row])]
        });
        let passed = (top / ends[1].max(1e-300)).clamp(0.0, 1.0);
        step.is_finite() && passed * (ends[1] - ends[0]) > MOVED * step
    };
    for (row, value) in outlet.iter().enumerate() {
        match value {
            Some(value) if *value == top => run.push(row),
            Some(_) => {
                if is_flat(&run) {
                    return Some(top);
                }
                run.clear();
            }
            None => {}
        }
    }
    is_flat(&run).then_some(top)
}
