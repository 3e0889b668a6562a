//! Tables of a fit: `parameters`, `correlations`, `sensor`, `residuals`, `held-out`.

use super::{Told, outlet, outlet_unit, why};
use crate::fits::device::Status;
use crate::fits::device::nuisance::Nuisance;
use crate::results::table::{Cell, Column, Table};

/// Every parameter: given, fitted, how sure.
#[must_use]
pub fn parameters(told: &Told) -> Table<'_> {
    let columns = vec![
        Column::text("parameter", "Its path in the scenario."),
        Column::text("meaning", "What it is.").detail(),
        Column::text("unit", "The unit of its numbers; none for a plain number."),
        Column::number("given", "", "What the scenario had; of a spread its median."),
        Column::number("fitted", "", "What the data give."),
        Column::number(
            "standard deviation",
            "",
            "Of the fitted value, with what autocorrelation of residuals takes away.",
        ),
        Column::number("low", "", "Lower end of its 95 % interval."),
        Column::number("high", "", "Upper end of it."),
        Column::text(
            "status",
            "Fitted, on the edge of its domain, not identified and why, or without data.",
        ),
        Column::text("written", "What was written into the scenario."),
    ];
    Table::new(
        "parameters",
        "Parameters of the device from the test.",
        columns,
        told.fit.estimates.len(),
        move |row, cells| {
            let of = &told.fit.estimates[row];
            let law = told.law(of.law);
            let path = format!("removal.{}.{}", told.device, law.key);
            let unit = law.unit;
            let fitted = of.is_fitted();
            let half_width = unit.difference_from_si(0.5 * (of.interval_95[1] - of.interval_95[0]));
            let number = |value: f64| if fitted { Cell::Number(value) } else { Cell::Empty };
            let status = match &of.status {
                Status::Fitted => "fitted".to_owned(),
                Status::AtEdge => "fitted, on the edge of its domain".to_owned(),
                Status::NoData => "no data".to_owned(),
                Status::Held(held) => format!("not identified: {}", why(told, of.law, held)),
            };
            let written = told.written.iter().find(|written| written.path == path);
            cells.extend([
                path.clone().into(),
                law.words.into(),
                unit.symbol.into(),
                unit.from_si(law.given).into(),
                if fitted {
                    Cell::Measured {
                        value: unit.from_si(of.value),
                        half_width,
                    }
                } else {
                    Cell::Empty
                },
                number(unit.difference_from_si(of.sd)),
                number(unit.from_si(of.interval_95[0])),
                number(unit.from_si(of.interval_95[1])),
                status.into(),
                written.map_or(Cell::Empty, |written| written.after.clone().into()),
            ]);
        },
    )
}

/// Correlations of what was fitted together.
#[must_use]
pub fn correlations(told: &Told) -> Table<'_> {
    let mut rows: Vec<(String, String, f64)> = Vec::new();
    for part in &told.fit.parts {
        let name = |at: usize| match part.free.get(at) {
            Some(&law) => told.law(law).key.to_owned(),
            None => part.nuisance[at - part.free.len()].words().to_owned(),
        };
        for b in 0..part.free.len() + part.nuisance.len() {
            for a in 0..b {
                rows.push((name(a), name(b), part.fitted.correlation(a, b)));
            }
        }
    }
    Table::new(
        "correlations",
        "Correlations of estimates that were fitted together.",
        vec![
            Column::text("one", "A parameter."),
            Column::text("other", "Another."),
            Column::number("correlation", "", "From -1 to 1."),
        ],
        rows.len(),
        move |row, cells| {
            let (a, b, r) = rows[row].clone();
            cells.extend([a.into(), b.into(), r.into()]);
        },
    )
}

/// What the sensor and its clock did.
#[must_use]
pub fn sensor(told: &Told) -> Table<'_> {
    let mut rows: Vec<(&'static str, &'static str, String, f64, f64)> = Vec::new();
    for part in &told.fit.parts {
        let unit = told.unit(part);
        for (n, &of) in part.nuisance.iter().enumerate() {
            let at = part.free.len() + n;
            let (value, sd) = (part.fitted.estimate[at], part.sd(at));
            let (symbol, factor) = match of {
                Nuisance::Baseline => (unit.symbol.to_owned(), 1.0 / unit.factor),
                Nuisance::Drift => (format!("{}/h", unit.symbol), 3600.0 / unit.factor),
                Nuisance::Clock => ("s".to_owned(), 1.0),
            };
            rows.push((outlet(part.species), of.words(), symbol, value * factor, sd * factor));
        }
    }
    Table::new(
        "sensor",
        "What was fitted beside the device: of the sensor at the outlet and its clock.",
        vec![
            Column::text("outlet", "Which."),
            Column::text("what", "What it is."),
            Column::text("unit", "The unit of its numbers."),
            Column::number("value", "", "What the data give."),
            Column::number("standard deviation", "", "How well it is known."),
        ],
        rows.len(),
        move |row, cells| {
            let (outlet, what, unit, value, sd) = rows[row].clone();
            cells.extend([outlet.into(), what.into(), unit.into(), value.into(), sd.into()]);
        },
    )
}

/// How the fit lies among the samples, and what was left out.
#[must_use]
pub fn residuals(told: &Told) -> Table<'_> {
    Table::new(
        "residuals",
        "What is left between measured and fitted outlets.",
        vec![
            Column::text("outlet", "Which."),
            Column::text("unit", "The unit of its numbers."),
            Column::integer("samples", "That were fitted."),
            Column::text("left out", "How many others were not, and why."),
            Column::number(
                "standard deviation",
                "",
                "Of a residual: noise, and what the model does not follow.",
            ),
            Column::number(
                "noise",
                "",
                "Standard deviation of noise alone, from differences of neighbours over the root of 2.",
            ),
            Column::number("lag 1", "", "Autocorrelation of neighbours."),
            Column::number("tau", "", "How many samples are worth one independent one."),
            Column::number("effective samples", "", "Samples over tau."),
            Column::number("condition", "", "Of the derivatives, their columns of length 1.").detail(),
            Column::integer("calls", "Of the model in the last search.").detail(),
        ],
        told.fit.parts.len(),
        move |row, cells| {
            let part = &told.fit.parts[row];
            let unit = told.unit(part);
            let left: Vec<String> = part.samples.left.iter().map(|(why, n)| format!("{n} {why}")).collect();
            cells.extend([
                outlet(part.species).into(),
                unit.symbol.into(),
                Cell::Integer(part.samples.rows.len() as i64),
                if left.is_empty() {
                    Cell::Empty
                } else {
                    left.join("; ").into()
                },
                (part.residual_sd_pa() / unit.factor).into(),
                (part.noise_pa / unit.factor).into(),
                part.order.lag_1.into(),
                part.order.tau.into(),
                part.order.effective.into(),
                part.fitted.condition.into(),
                Cell::Integer(part.fitted.calls as i64),
            ]);
        },
    )
}

/// Other tests foretold.
#[must_use]
pub fn held_out(told: &Told) -> Table<'_> {
    let rows: Vec<(usize, usize)> = told
        .held_out
        .iter()
        .enumerate()
        .flat_map(|(of, test)| (0..test.outlets.len()).map(move |outlet| (of, outlet)))
        .collect();
    Table::new(
        "held-out",
        "Tests that nothing was fitted to, foretold with the fitted parameters.",
        vec![
            Column::text("file", "Which."),
            Column::text("outlet", "Which."),
            Column::text("unit", "The unit of rmse and bias."),
            Column::integer("samples", "That were looked at."),
            Column::number("rmse", "", "Root of the mean square of measured less foretold."),
            Column::number("bias", "", "Mean of it."),
            Column::number("in band", "%", "Share of samples within the stated 95 % band."),
            Column::number("removed, measured", "kg", "Mass that the device took."),
            Column::number("removed, foretold", "kg", "As foretold."),
            Column::number("error of it", "%", "Foretold less measured."),
        ],
        rows.len(),
        move |row, cells| {
            let (of, which) = rows[row];
            let (test, found) = (&told.held_out[of], &told.held_out[of].outlets[which]);
            let unit = outlet_unit(&test.series, found.species);
            let [measured, foretold] = found.removed_kg.unwrap_or([f64::NAN; 2]);
            cells.extend([
                test.file.clone().into(),
                outlet(found.species).into(),
                unit.symbol.into(),
                Cell::Integer(found.samples.rows.len() as i64),
                (found.rmse_pa / unit.factor).into(),
                (found.bias_pa / unit.factor).into(),
                (100.0 * found.inside).into(),
                measured.into(),
                foretold.into(),
                (100.0 * (foretold / measured - 1.0)).into(),
            ]);
        },
    )
}
