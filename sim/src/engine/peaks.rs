//! Extremes of every compartment over the run, from the solution, not from samples.

use crate::air::MOST;
use crate::limits::Quantity;
use crate::units::Time;

use super::Case;
use super::gauge::{Courses, Gauge};
use super::outcome::Extremes;
use super::record::{Record, Worse};
use super::search::Work;
use super::watch::View;

/// What is followed: quantity and the side that counts.
const FOLLOWED: [(Quantity, f64); 8] = [
    (Quantity::Co2, 1.0),
    (Quantity::Humidity, 1.0),
    (Quantity::Humidity, -1.0),
    (Quantity::Oxygen, -1.0),
    (Quantity::Oxygen, 1.0),
    (Quantity::Pressure, -1.0),
    (Quantity::Pressure, 1.0),
    (Quantity::LiquidWater, 1.0),
];

/// The records of all compartments.
#[derive(Debug, Default)]
pub(crate) struct Peaks {
    records: [[Record; FOLLOWED.len()]; MOST],
    courses: Courses,
}

impl Peaks {
    /// Forgets all.
    pub fn reset(&mut self) {
        self.records = Default::default();
    }

    /// Follows the newest segment.
    pub fn follow(&mut self, view: &View, origin: Time, work: &mut Work) {
        for (a, compartment) in view.case.compartments.iter().enumerate() {
            for (&(quantity, sign), record) in FOLLOWED.iter().zip(&mut self.records[a]) {
                let gauge = Gauge::new(quantity, a, compartment);
                if !record.could_fall_to(gauge.range(view).times(sign)) {
                    work.ruled_out += 1;
                    continue;
                }
                let reading = gauge.reading(view, &mut self.courses);
                record.look(
                    &Worse { signal: &reading, sign },
                    gauge.resolution(),
                    0.0,
                    view.segment.length_s,
                    origin,
                    work,
                );
            }
        }
    }

    /// The extremes.
    pub fn finish(&self, case: &Case, out: &mut Vec<Extremes>) {
        out.clear();
        for records in &self.records[..case.compartments.len()] {
            let [co2, wet, dry, o2_low, o2_high, low, high, liquid] = records;
            out.push(Extremes {
                co2_pa_max: co2.value,
                co2_pa_max_at: co2.at,
                humidity_max: wet.value,
                humidity_max_at: wet.at,
                humidity_min: -dry.value,
                humidity_min_at: dry.at,
                oxygen_pa_min: -o2_low.value,
                oxygen_pa_min_at: o2_low.at,
                oxygen_pa_max: o2_high.value,
                oxygen_pa_max_at: o2_high.at,
                pressure_pa_min: -low.value,
                pressure_pa_min_at: low.at,
                pressure_pa_max: high.value,
                pressure_pa_max_at: high.at,
                liquid_water_kg_max: liquid.value,
                liquid_water_kg_max_at: liquid.at,
                ..Extremes::default()
            });
        }
    }
}
