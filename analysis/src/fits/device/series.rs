//! The series of a bench test in SI, from a table with units in its headers; and what is wrong with it.
//!
//! Columns: `time`; `co2 in` and `co2 out`; `water in` and `water out`, or `dew point in` and `dew point out`; `flow` (actual volume at the
//! inlet), or `standard flow` with a reference; `temperature`; `pressure`. What a model does not need may be missing. Gaps of the
//! inlet are crossed in straight lines, gaps of the outlet are left out.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, dew_point_k, saturation_pa};
use breathroom_sim::units::{Dimension, Unit};

use super::swing::Inlet;
use crate::measured::{Sheet, clock};

/// Part of the largest inlet that a sensor's noise may bring an outlet below zero.
const BELOW_ZERO: f64 = 0.05;
/// CO2 and water: names of their columns.
const SPECIES: [&str; 2] = ["co2", "water"];

/// What a standard volume is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reference {
    /// K.
    pub temperature_k: f64,
    /// Pa.
    pub pressure_pa: f64,
}

/// A bench test.
#[derive(Clone, Debug, Default)]
pub struct Series {
    /// Rising, s.
    pub time_s: Vec<f64>,
    /// CO2 and water at the inlet, Pa.
    pub inlet_pa: [Option<Vec<f64>>; 2],
    /// CO2 and water at the outlet, Pa, with its gaps.
    pub outlet_pa: [Option<Vec<Option<f64>>>; 2],
    /// The units the outlets are written in.
    pub unit: [Option<Unit>; 2],
    /// Actual volume at the inlet, m3/s.
    pub flow_m3_s: Option<Vec<f64>>,
    /// At the inlet, K.
    pub temperature_k: Option<Vec<f64>>,
    /// Total, Pa.
    pub pressure_pa: Option<Vec<f64>>,
    /// Gaps that were crossed, in words.
    pub notes: Vec<String>,
}

impl Series {
    /// How many rows it has.
    #[must_use]
    pub fn len(&self) -> usize {
        self.time_s.len()
    }

    /// Whether it has none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.time_s.is_empty()
    }

    /// `Q / (R T)` at a row, mol/s/Pa; 1 where flow or temperature is not known.
    #[must_use]
    pub fn per_pa(&self, row: usize) -> f64 {
        match (&self.flow_m3_s, &self.temperature_k) {
            (Some(flow), Some(temperature)) => flow[row] / (GAS_CONSTANT_J_MOL_K * temperature[row]),
            _ => 1.0,
        }
    }

    /// The inlet at a part of the way from a row to the next.
    #[must_use]
    pub fn inlet_between(&self, row: usize, share: f64) -> Inlet {
        let next = (row + 1).min(self.len() - 1);
        let mixed = |a: f64, b: f64| a + share * (b - a);
        let of = |list: &Option<Vec<f64>>| list.as_ref().map_or(0.0, |list| mixed(list[row], list[next]));
        Inlet {
            per_pa: mixed(self.per_pa(row), self.per_pa(next)),
            partial_pa: [of(&self.inlet_pa[0]), of(&self.inlet_pa[1])],
        }
    }

    /// Whether air flows at a row: where it does not, what stands at the outlet is no outlet.
    #[must_use]
    pub fn flows(&self, row: usize) -> bool {
        self.flow_m3_s.as_ref().is_none_or(|flow| flow[row] > 0.0)
    }

    /// Reads what a model needs; `needs` names columns without which nothing can be done: "co2", "water", "flow", "temperature".
    /// `None` if something is wrong, which the sheet tells.
    pub fn read(sheet: &mut Sheet, needs: &[&str], reference: Option<Reference>) -> Option<Self> {
        let time = sheet.need("time")?;
        let mut series = Self {
            time_s: clock(sheet, time).map(|clock| clock.time_s).unwrap_or_default(),
            ..Self::default()
        };
        if series.time_s.is_empty() && sheet.is_sound() {
            return None;
        }
        for (of, name) in SPECIES.iter().enumerate() {
            series.species(sheet, of, needs.contains(name));
        }
        if sheet.is_sound() && series.outlet_pa.iter().all(Option::is_none) {
            sheet.need(if needs.contains(&"water") {
                "water out"
            } else {
                "co2 out"
            });
        }
        let plain = |series: &mut Self, sheet: &mut Sheet, name: &str, dimension| {
            let column = sheet
                .find(name)
                .or_else(|| if needs.contains(&name) { sheet.need(name) } else { None })?;
            let (values, _) = sheet.quantities(column, dimension)?;
            series.crossed(sheet, column, &values)
        };
        series.temperature_k = plain(&mut series, sheet, "temperature", Dimension::Temperature);
        series.pressure_pa = plain(&mut series, sheet, "pressure", Dimension::Pressure);
        series.flow_m3_s = match (sheet.find("flow"), sheet.find("standard flow")) {
            (None, Some(column)) => series.standard(sheet, column, reference),
            _ => plain(&mut series, sheet, "flow", Dimension::VolumeFlow),
        };
        series.signs(sheet);
        (sheet.is_sound() && series.time_s.len() == sheet.len()).then_some(series)
    }

    /// Inlet and outlet of a species, as partial pressure or as dew point.
    fn species(&mut self, sheet: &mut Sheet, of: usize, needed: bool) {
        for (end, is_inlet) in [("in", true), ("out", false)] {
            let name = format!("{} {end}", SPECIES[of]);
            let dew = format!("dew point {end}");
            let found = match (sheet.find(&name), of) {
                (None, 1) if sheet.find(&dew).is_some() => sheet.find(&dew),
                (None, _) if needed => sheet.need(&name),
                (found, _) => found,
            };
            let Some(column) = found else { continue };
            let read = if sheet.name(column) == dew {
                let read = sheet.quantities(column, Dimension::Temperature);
                read.map(|(values, _)| {
                    let values = values.into_iter().map(|value| value.map(saturation_pa)).collect();
                    (values, Dimension::PartialPressure.si_unit())
                })
            } else {
                sheet.quantities(column, Dimension::PartialPressure)
            };
            let Some((values, unit)) = read else { continue };
            if is_inlet {
                self.inlet_pa[of] = self.crossed(sheet, column, &values);
            } else {
                if values.iter().all(Option::is_none) {
                    sheet.fault_of(
                        column,
                        format!("the column `{}` has no values", sheet.name(column).to_owned()),
                        "what was measured behind the device",
                    );
                }
                self.outlet_pa[of] = Some(values);
                self.unit[of] = Some(unit);
            }
        }
    }

    /// A flow stated for a reference, as actual volume at the inlet.
    fn standard(&mut self, sheet: &mut Sheet, column: usize, reference: Option<Reference>) -> Option<Vec<f64>> {
        let Some(reference) = reference else {
            sheet.fault_of(
                column,
                "`standard flow` needs the condition that it is stated for",
                "name the bench file with --bench: its [reference] says it",
            );
            return None;
        };
        let (Some(temperature), Some(pressure)) = (&self.temperature_k, &self.pressure_pa) else {
            sheet.fault_of(
                column,
                "`standard flow` needs `temperature` and `pressure` of the inlet",
                "or give `flow`, the actual volume at the inlet",
            );
            return None;
        };
        let (temperature, pressure) = (temperature.clone(), pressure.clone());
        let (values, _) = sheet.quantities(column, Dimension::VolumeFlow)?;
        let values = self.crossed(sheet, column, &values)?;
        let actual = |(row, flow): (usize, f64)| {
            flow * (reference.pressure_pa / pressure[row]) * (temperature[row] / reference.temperature_k)
        };
        Some(values.into_iter().enumerate().map(actual).collect())
    }

    /// A series without gaps: across them in straight lines, beyond its ends as it was there.
    fn crossed(&mut self, sheet: &mut Sheet, column: usize, values: &[Option<f64>]) -> Option<Vec<f64>> {
        let known: Vec<usize> = (0..values.len()).filter(|&row| values[row].is_some()).collect();
        let (Some(&first), Some(&last)) = (known.first(), known.last()) else {
            let name = sheet.name(column).to_owned();
            sheet.fault_of(
                column,
                format!("the column `{name}` has no values"),
                "what was measured at the inlet",
            );
            return None;
        };
        let missing = values.len() - known.len();
        if missing > 0 {
            let name = sheet.name(column);
            self.notes.push(format!("{missing} of {} values of `{name}` are missing and were taken on straight lines between their neighbours", values.len()));
        }
        if self.time_s.len() != values.len() {
            return None;
        }
        let value = |row: usize| values[row].unwrap_or_default();
        let list = (0..values.len()).map(|row| {
            let next = known.partition_point(|&known| known < row);
            match (next.checked_sub(1), known.get(next)) {
                (_, Some(&at)) if at == row => value(row),
                (Some(before), Some(&after)) => {
                    let before = known[before];
                    let share = (self.time_s[row] - self.time_s[before]) / (self.time_s[after] - self.time_s[before]);
                    value(before) + share * (value(after) - value(before))
                }
                (None, _) => value(first),
                (_, None) => value(last),
            }
        });
        Some(list.collect())
    }

    /// Faults of values that cannot be.
    fn signs(&self, sheet: &mut Sheet) {
        for (of, name) in SPECIES.iter().enumerate() {
            let most = self.inlet_pa[of].iter().flatten().fold(0.0, |a: f64, &b| a.max(b));
            if let (Some(inlet), Some(column)) = (&self.inlet_pa[of], sheet.find(&format!("{name} in"))) {
                for (row, value) in inlet.iter().enumerate() {
                    if *value < 0.0 {
                        sheet.fault(
                            row,
                            column,
                            "a negative partial pressure at the inlet",
                            "0 or more; leave the cell empty where nothing was measured",
                        );
                    }
                }
                if most <= 0.0 {
                    sheet.fault_of(column, "the inlet is 0 throughout", "the inlet's partial pressure");
                }
            }
            if let (Some(outlet), Some(column)) = (&self.outlet_pa[of], sheet.find(&format!("{name} out"))) {
                for (row, value) in outlet.iter().enumerate() {
                    if value.is_some_and(|value| value < -BELOW_ZERO * most && most > 0.0) {
                        sheet.fault(row, column, "a negative partial pressure, beyond what noise about 0 explains", "a sensor that reads below 0 needs its zero set; leave the cell empty where nothing was measured");
                    }
                }
            }
        }
        for (name, list, least, words) in [
            ("flow", &self.flow_m3_s, 0.0, "a negative flow"),
            ("temperature", &self.temperature_k, 200.0, "a temperature below 200 K"),
            ("pressure", &self.pressure_pa, 1.0, "a pressure below 1 Pa"),
        ] {
            if let (Some(list), Some(column)) = (list, sheet.find(name)) {
                let is_low = |value: &&f64| **value < least;
                let count = list.iter().filter(is_low).count();
                if let Some(row) = list.iter().position(|value| *value < least) {
                    let help = format!(
                        "that of the air at the inlet; {count} of {} are so: is the unit right?",
                        list.len()
                    );
                    sheet.fault(row, column, words, &help);
                }
            }
        }
        for (name, of) in [("dew point in", &self.inlet_pa[1]), ("water in", &self.inlet_pa[1])] {
            if let (Some(vapour), Some(temperature), Some(column)) = (of, &self.temperature_k, sheet.find(name)) {
                let wet = |row: usize| vapour[row] > 1.02 * saturation_pa(temperature[row]);
                if let Some(row) = (0..vapour.len().min(temperature.len())).find(|&row| wet(row)) {
                    let dew = dew_point_k(vapour[row]) - 273.15;
                    sheet.fault(
                        row,
                        column,
                        format!("more vapour than air of this temperature can hold: its dew point is {dew:.1} degC"),
                        "at most saturation; is a unit wrong?",
                    );
                }
            }
        }
    }
}
