//! `course.csv`: every sample with what was fitted or foretold, from which the figures are drawn.

use breathroom_sim::units::Unit;

use super::{Told, outlet, outlet_unit};
use crate::fits::device::series::Series;
use crate::results::table::{Cell, Column, Table};

struct Row<'a> {
    test: &'a str,
    species: usize,
    series: &'a Series,
    row: usize,
    measured: f64,
    predicted: f64,
    band: f64,
}

/// Every sample that was looked at.
#[must_use]
pub fn course(told: &Told) -> Table<'_> {
    let mut rows: Vec<Row<'_>> = Vec::new();
    for (part, band) in told.fit.parts.iter().zip(&told.bands_pa) {
        for (at, &row) in part.samples.rows.iter().enumerate() {
            rows.push(Row {
                test: &told.data,
                species: part.species,
                series: &told.series,
                row,
                measured: part.samples.measured_pa[at],
                predicted: part.predicted_pa[at],
                band: band[at],
            });
        }
    }
    for test in &told.held_out {
        for found in &test.outlets {
            for (at, &row) in found.samples.rows.iter().enumerate() {
                rows.push(Row {
                    test: &test.file,
                    species: found.species,
                    series: &test.series,
                    row,
                    measured: found.samples.measured_pa[at],
                    predicted: found.predicted_pa[at],
                    band: found.band_pa[at],
                });
            }
        }
    }
    Table::new(
        "course",
        "Every sample that was looked at, with what was fitted or foretold.",
        vec![
            Column::text("test", "The file it stands in."),
            Column::text("outlet", "Which."),
            Column::text("unit", "The unit of the pressures."),
            Column::number("time", "h", "As in its file."),
            Column::number("inlet", "", "At the inlet."),
            Column::number("measured", "", "At the outlet."),
            Column::number("predicted", "", "What the sensor should have read."),
            Column::number("residual", "", "Measured less predicted."),
            Column::number("band", "", "Half width of the 95 % band about what is predicted."),
        ],
        rows.len(),
        move |index, cells| {
            let of = &rows[index];
            let unit: Unit = outlet_unit(of.series, of.species);
            let inlet = of.series.inlet_pa[of.species]
                .as_ref()
                .map_or(f64::NAN, |list| list[of.row]);
            cells.extend([
                of.test.into(),
                outlet(of.species).into(),
                unit.symbol.into(),
                Cell::Number(of.series.time_s[of.row] / 3600.0),
                (inlet / unit.factor).into(),
                (of.measured / unit.factor).into(),
                (of.predicted / unit.factor).into(),
                ((of.measured - of.predicted) / unit.factor).into(),
                (of.band / unit.factor).into(),
            ]);
        },
    )
}
