//! Courses: how the air went over the run, on one grid for all variations, for quantiles over them.
//!
//! Equation: the grid is t(i) = i d / 240, i = 0 .. 240, with d the duration on the medians, cut to whole nanoseconds. A
//! course holds the exact value of its quantity at each t(i), as a history does.
//! Symbols: t, d in s; values in SI.
//! Source: none needed.
//! Valid for any scenario. Where a variation's duration differs from d it has no value beyond its own end, and none is kept
//! beyond d; a variation that failed, or ended early, has values up to there.
//! Left out: variations from the thousandth on; what lies between the points. Values are kept in single precision (to 6e-8
//! of themselves), which no figure shows.

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Sample, Trace};
use breathroom_sim::scenario::{Medians, Names, Scenario};
use breathroom_sim::units::Time;

/// Steps of the grid.
pub const STEPS: usize = 240;
/// Its points, both ends included.
pub const POINTS: usize = STEPS + 1;
/// Of so many variations, from the first on, the courses are kept.
pub const TRACED: u64 = 1_000;

/// What a course is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Partial pressure of CO2 in a compartment, Pa.
    Co2(usize),
    /// Partial pressure of oxygen in a compartment, Pa.
    Oxygen(usize),
    /// Total pressure in a compartment, Pa.
    Pressure(usize),
    /// Relative humidity in a compartment, a fraction.
    Humidity(usize),
    /// Temperature of a compartment, K.
    Temperature(usize),
    /// CO2 in the air that a person breathes, Pa.
    BreathedCo2(usize),
    /// Oxygen in the air that a person breathes, Pa.
    BreathedOxygen(usize),
}

/// The courses that are kept of a scenario: of each compartment (suits too) and of each person.
#[must_use]
pub fn series(names: &Names) -> Vec<Quantity> {
    let compartments = (0..names.compartments.len()).flat_map(|place| {
        [
            Quantity::Co2(place),
            Quantity::Oxygen(place),
            Quantity::Pressure(place),
            Quantity::Humidity(place),
            Quantity::Temperature(place),
        ]
    });
    let people = (0..names.people.len()).flat_map(|who| [Quantity::BreathedCo2(who), Quantity::BreathedOxygen(who)]);
    compartments.chain(people).collect()
}

/// The spacing of the grid: at least a nanosecond.
#[must_use]
pub fn spacing(scenario: &Scenario) -> Time {
    spacing_of(scenario.draw(&Medians).case.duration)
}

fn spacing_of(duration: Time) -> Time {
    Time((duration.0 / STEPS as i64).max(1))
}

/// Puts a history that was sampled at multiples of `spacing` on the grid: each series one after the other in `course`.
pub(super) fn lay(trace: &Trace, spacing: Time, series: &[Quantity], course: &mut [f32]) {
    for sample in &trace.samples {
        // The sample at the end of a run may lie between points.
        let point = sample.at.0 / spacing.0;
        if sample.at.0 % spacing.0 != 0 || point >= POINTS as i64 {
            continue;
        }
        for (&what, course) in series.iter().zip(course.chunks_exact_mut(POINTS)) {
            if let Some(value) = value(sample, what) {
                course[point as usize] = value as f32;
            }
        }
    }
}

/// The quantities of a history at one of its points, SI; NaN where there is none.
#[must_use]
pub fn values(sample: &Sample, series: &[Quantity]) -> Vec<f64> {
    series
        .iter()
        .map(|&what| value(sample, what).unwrap_or(f64::NAN))
        .collect()
}

fn value(sample: &Sample, what: Quantity) -> Option<f64> {
    let place = |index: usize| sample.compartments.get(index);
    let person = |index: usize| sample.people.get(index);
    match what {
        Quantity::Co2(index) => place(index).map(|now| now.partial_pa[Species::Co2 as usize]),
        Quantity::Oxygen(index) => place(index).map(|now| now.partial_pa[Species::Oxygen as usize]),
        Quantity::Pressure(index) => place(index).map(|now| now.pressure_pa),
        Quantity::Humidity(index) => place(index).map(|now| now.humidity),
        Quantity::Temperature(index) => place(index).map(|now| now.temperature_k),
        Quantity::BreathedCo2(index) => person(index).and_then(|now| now.breathed_co2_pa),
        Quantity::BreathedOxygen(index) => person(index).and_then(|now| now.breathed_oxygen_pa),
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::CompartmentSample;

    use super::*;

    #[test]
    fn samples_land_on_their_points_and_what_lies_between_is_left_out() {
        let spacing = spacing_of(Time(24_001));
        assert_eq!(spacing, Time(100));
        let sample = |at: i64| Sample {
            at: Time(at),
            compartments: vec![CompartmentSample {
                pressure_pa: at as f64,
                ..CompartmentSample::default()
            }],
            people: Vec::new(),
            tanks_kg: Vec::new(),
            devices_kg: Vec::new(),
            taken_kg: Vec::new(),
            flow_m3_s: Vec::new(),
            runs: Vec::new(),
        };
        let trace = Trace {
            samples: [0, 100, 24_000, 24_001, 24_100].map(sample).to_vec(),
            log: Vec::new(),
        };
        let mut course = vec![f32::NAN; 2 * POINTS];
        lay(
            &trace,
            spacing,
            &[Quantity::Pressure(0), Quantity::BreathedCo2(0)],
            &mut course,
        );
        assert_eq!([course[0], course[1], course[240]], [0.0, 100.0, 24_000.0]);
        assert!(
            course[2..240]
                .iter()
                .chain(&course[POINTS..])
                .all(|value| value.is_nan())
        );
    }

    #[test]
    fn a_duration_of_nothing_has_a_grid() {
        assert_eq!(spacing_of(Time(7)), Time(1));
    }
}
