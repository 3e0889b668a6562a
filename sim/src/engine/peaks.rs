//! Extremes of every compartment over the run, from the solution, not from samples.

use crate::air::MOST;
use crate::limits::Quantity;
use crate::timeline::Effect;
use crate::units::Time;

use super::Case;
use super::gauge::{Courses, Gauge};
use super::outcome::Extremes;
use super::record::{Record, Worse};
use super::search::Work;
use super::view::View;

/// What is followed: quantity and the side that counts.
const FOLLOWED: [(Quantity, f64); 11] = [
    (Quantity::Co2, 1.0),
    (Quantity::Humidity, 1.0),
    (Quantity::Humidity, -1.0),
    (Quantity::Oxygen, -1.0),
    (Quantity::Oxygen, 1.0),
    (Quantity::Pressure, -1.0),
    (Quantity::Pressure, 1.0),
    (Quantity::LiquidWater, 1.0),
    (Quantity::Temperature, -1.0),
    (Quantity::Temperature, 1.0),
    (Quantity::OxygenFraction, 1.0),
];

/// Whether gas is let in that may raise the oxygen fraction: else it is not followed, and not known.
fn oxygen_may_rise(case: &Case) -> bool {
    let fills = |effects: &[Effect]| effects.iter().any(|effect| matches!(effect, Effect::Fill { .. }));
    let tasks = &case.plan.tasks;
    !case.suits.is_empty() || tasks.iter().any(|task| fills(&task.starts) || fills(&task.ends))
}

/// The records of all compartments.
#[derive(Debug, Default)]
pub(crate) struct Peaks {
    records: [[Record; FOLLOWED.len()]; MOST],
    courses: Courses,
    oxygen_may_rise: bool,
}

impl Peaks {
    /// Forgets all, and takes up a case.
    pub fn reset(&mut self, case: &Case) {
        self.oxygen_may_rise = oxygen_may_rise(case);
        self.records = Default::default();
    }

    /// Follows the newest segment.
    pub fn follow(&mut self, view: &View, origin: Time, work: &mut Work) {
        for (a, compartment) in view.case.compartments.iter().enumerate() {
            for (&(quantity, sign), record) in FOLLOWED.iter().zip(&mut self.records[a]) {
                // A fixed temperature needs no looking; oxygen in excess comes from fills, purges and suits.
                let idle = match quantity {
                    Quantity::Temperature => compartment.heat.is_none(),
                    Quantity::OxygenFraction => !self.oxygen_may_rise || !view.is_alive(a) || view.mode.thin[a],
                    _ => false,
                };
                if idle {
                    continue;
                }
                let gauge = Gauge::new(quantity, a, compartment);
                if !record.could_fall_to(gauge.range(view).times(sign)) {
                    work.ruled_out += 1;
                    continue;
                }
                if gauge.is_quotient() {
                    record.look_quotient(view, &gauge, sign, origin, &mut self.courses, work);
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
        for (records, compartment) in self.records.iter().zip(&case.compartments) {
            let [co2, wet, dry, o2_low, o2_high, low, high, liquid, cold, warm, fraction] = records;
            let fixed = |record: f64| {
                if record.is_finite() {
                    record
                } else {
                    compartment.temperature_k
                }
            };
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
                temperature_k_min: fixed(-cold.value),
                temperature_k_min_at: cold.at,
                temperature_k_max: fixed(warm.value),
                temperature_k_max_at: warm.at,
                oxygen_fraction_max: if fraction.value.is_finite() {
                    fraction.value
                } else {
                    f64::NAN
                },
                oxygen_fraction_max_at: fraction.at,
            });
        }
    }
}
