//! Instruments: what one would read of the air and of the devices, which is not quite what is.
//!
//! ```text
//! s' = (x - s) / tau           reading = round((gain s + offset + drift t + noise n) / r) r, kept inside the range
//! ```
//!
//! `x` the quantity, `s` the instrument's state, both in SI; `tau` lag, s; `n` standard normal, new at each reading; `offset` drawn once for a
//! run; `r` resolution. Between two rows of a history the quantity is taken as a straight line, for which the state is exact:
//! `s1 = x1 - m tau + (s0 - x0 + m tau) e^(-h / tau)`, `m = (x1 - x0) / h`, `h` the spacing of rows, s.
//!
//! Source: first-order response as data sheets state it (T63 is the lag; T90 = 2.303 lag; a ramp is read late by slope times lag).
//! Valid where the quantity is close to straight over a row. Left out: that an uncompensated infrared reading falls with pressure, cross
//! sensitivities, zeroing.

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Case, Sample};
use breathroom_sim::limits::Quantity;
use breathroom_sim::scenario::Names;
use breathroom_sim::units::{Dimension, Unit, unit};
use breathroom_sim::upset::Sensor;

use super::noise::Normals;

/// What an instrument reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reads {
    /// A quantity of a compartment: CO2, humidity, oxygen, pressure or temperature.
    Air(Quantity, usize),
    /// Flow through a device, m3/s.
    Flow(usize),
}

impl Reads {
    /// What it measures.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Air(quantity, _) => quantity.dimension(),
            Self::Flow(_) => Dimension::VolumeFlow,
        }
    }

    /// The dimension of differences of it.
    #[must_use]
    pub fn difference(self) -> Dimension {
        match self.dimension() {
            Dimension::Temperature => Dimension::TemperatureDifference,
            other => other,
        }
    }

    /// The unit it is shown in.
    #[must_use]
    pub fn unit(self) -> Unit {
        let symbol = match self {
            Self::Air(Quantity::Co2, _) => "mmHg",
            Self::Air(Quantity::Humidity, _) => "%",
            Self::Air(Quantity::Temperature, _) => "degC",
            Self::Air(..) => "kPa",
            Self::Flow(_) => "m3/h",
        };
        unit(symbol, self.dimension()).unwrap_or_else(|| self.dimension().si_unit())
    }

    /// The truth at a row of a history, SI; not a number where there is none.
    #[must_use]
    pub fn truth(self, sample: &Sample) -> f64 {
        let found = match self {
            Self::Flow(device) => sample.flow_m3_s.get(device).copied().flatten(),
            Self::Air(quantity, place) => sample.compartments.get(place).map(|now| match quantity {
                Quantity::Co2 => now.partial_pa[Species::Co2 as usize],
                Quantity::Oxygen => now.partial_pa[Species::Oxygen as usize],
                Quantity::Humidity => now.humidity,
                Quantity::Temperature => now.temperature_k,
                _ => now.pressure_pa,
            }),
        };
        found.unwrap_or(f64::NAN)
    }

    /// As it is written: "cabin.co2", "scrubber.flow".
    #[must_use]
    pub fn words(self, names: &Names) -> String {
        let of = |list: &[String], index: usize| list.get(index).cloned().unwrap_or_default();
        match self {
            Self::Flow(device) => format!("{}.flow", of(&names.devices, device)),
            Self::Air(quantity, place) => format!("{}.{}", of(&names.compartments, place), word(quantity)),
        }
    }
}

/// Quantities that can be read of a compartment, with their words.
pub const QUANTITIES: [(Quantity, &str); 5] = [
    (Quantity::Co2, "co2"),
    (Quantity::Humidity, "humidity"),
    (Quantity::Oxygen, "oxygen"),
    (Quantity::Pressure, "pressure"),
    (Quantity::Temperature, "temperature"),
];

fn word(quantity: Quantity) -> &'static str {
    let found = QUANTITIES.iter().find(|(other, _)| *other == quantity);
    found.map_or("pressure", |(_, word)| word)
}

/// An instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// Its name, which its column in a file of measurements has too.
    pub name: String,
    /// What it reads.
    pub reads: Reads,
    /// Its numbers; those of an alarm's sensor are drawn with the scenario.
    pub numbers: Numbers,
    /// Whose figures they are.
    pub source: String,
}

/// Where the numbers of an instrument come from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Numbers {
    /// These.
    Own(Figures),
    /// Those of the sensor of the case with this index, as the variation has drawn them.
    Sensor(usize),
}

/// Figures of an instrument, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// Standard deviation of the noise of a reading.
    pub noise: f64,
    /// Time constant, s.
    pub lag_s: f64,
    /// From reading to reading, s; 0: at every row.
    pub every_s: f64,
    /// Standard deviation of the offset, which is drawn once for a run.
    pub bias: f64,
    /// Smallest step of a reading; 0: none.
    pub resolution: f64,
    /// Least and largest reading.
    pub range: [f64; 2],
}

/// What is wrong with an instrument itself, as an addition to what it would say, `t` s into the run.
pub type Wrong<'a> = &'a dyn Fn(f64) -> f64;

impl Instrument {
    /// Its figures in a case; of a sensor its own.
    #[must_use]
    pub fn figures(&self, case: &Case) -> Figures {
        match self.numbers {
            Numbers::Own(figures) => figures,
            Numbers::Sensor(index) => {
                let sensor = case.sensors.get(index);
                Figures {
                    noise: sensor.map_or(0.0, |sensor| sensor.noise),
                    lag_s: sensor.map_or(0.0, |sensor| sensor.lag_s),
                    every_s: sensor.map_or(0.0, |sensor| libm::round(1e3 * sensor.every.seconds()) / 1e3),
                    bias: 0.0,
                    resolution: 0.0,
                    range: sensor.map_or([f64::NEG_INFINITY, f64::INFINITY], |sensor| sensor.range),
                }
            }
        }
    }

    /// Rows from one reading to the next, on a history of this spacing.
    #[must_use]
    pub fn stride(&self, case: &Case, step_s: f64) -> usize {
        let rows = libm::round(self.figures(case).every_s / step_s);
        if rows.is_finite() { (rows as usize).max(1) } else { 1 }
    }

    /// What it says of a course, row by row; not a number where no reading is due. Without normals there is neither noise nor offset
    /// nor the steps of its display: what is expected of it, as of a run on the medians.
    #[must_use]
    pub fn readings(
        &self,
        truth: &[f64],
        step_s: f64,
        case: &Case,
        wrong: Wrong<'_>,
        mut normals: Option<Normals>,
    ) -> Vec<f64> {
        let figures = self.figures(case);
        let sensor: Option<&Sensor> = match self.numbers {
            Numbers::Sensor(index) => case.sensors.get(index),
            Numbers::Own(_) => None,
        };
        let (gain, bias, drift_per_s) =
            sensor.map_or((1.0, 0.0, 0.0), |sensor| (sensor.gain, sensor.bias, sensor.drift_per_s));
        let resolution = if normals.is_some() { figures.resolution } else { 0.0 };
        let mut draw = || normals.as_mut().map_or(0.0, Normals::draw);
        let offset = bias + figures.bias * draw();
        let stride = self.stride(case, step_s);
        let mut state = truth.first().copied().unwrap_or(f64::NAN);
        let mut before = state;
        let mut said = Vec::with_capacity(truth.len());
        for (row, &x) in truth.iter().enumerate() {
            if row > 0 {
                state = lagged(state, before, x, figures.lag_s, step_s);
            }
            before = x;
            // Every row has its own number, read or not: the spacing of readings changes none of them.
            let noise = figures.noise * draw();
            if row % stride != 0 {
                said.push(f64::NAN);
                continue;
            }
            let t_s = row as f64 * step_s;
            let mut reading = gain * state + offset + drift_per_s * t_s + noise + wrong(t_s);
            if resolution > 0.0 {
                reading = libm::round(reading / resolution) * resolution;
            }
            // What is no number stays so.
            if reading.is_finite() {
                reading = reading.max(figures.range[0]).min(figures.range[1]);
            }
            said.push(reading);
        }
        said
    }
}

/// The state of a first-order lag one row on, the quantity going straight from `x0` to `x1`.
#[must_use]
pub fn lagged(state: f64, x0: f64, x1: f64, lag_s: f64, step_s: f64) -> f64 {
    if lag_s <= 0.0 {
        return x1;
    }
    let late = lag_s * (x1 - x0) / step_s;
    x1 - late + (state - x0 + late) * libm::exp(-step_s / lag_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn instrument(figures: Figures) -> Instrument {
        Instrument {
            name: "co2".to_owned(),
            reads: Reads::Air(Quantity::Co2, 0),
            numbers: Numbers::Own(figures),
            source: String::new(),
        }
    }

    const PLAIN: Figures = Figures {
        noise: 0.0,
        lag_s: 0.0,
        every_s: 0.0,
        bias: 0.0,
        resolution: 0.0,
        range: [f64::NEG_INFINITY, f64::INFINITY],
    };

    fn said(figures: Figures, truth: &[f64], step_s: f64) -> Vec<f64> {
        instrument(figures).readings(truth, step_s, &Case::default(), &|_| 0.0, None)
    }

    /// T90 = 2.303 lag of a step; a ramp of 5.22 mmHg/h is read 0.283 mmHg low through a lag of 195 s.
    #[test]
    fn a_lag_reads_a_step_and_a_ramp_late() {
        let lag_s = 195.0;
        let mut truth = vec![1.0; 2001];
        truth[0] = 0.0;
        // A tenth of a second a row: the step takes one row.
        let read = said(Figures { lag_s, ..PLAIN }, &truth, 1.0);
        let t90 = read.iter().position(|&y| y >= 0.9).expect("it gets there") as f64;
        assert!((t90 - 2.303 * lag_s).abs() < 1.5, "{t90}");
        let ramp: Vec<f64> = (0..241).map(|row| 5.22 * f64::from(row) * 30.0 / 3600.0).collect();
        let read = said(Figures { lag_s, ..PLAIN }, &ramp, 30.0);
        let late = ramp[240] - read[240];
        assert!((late - 0.283).abs() < 5e-4, "{late}");
    }

    #[test]
    fn readings_have_steps_a_range_and_their_own_times() {
        let truth = [0.0, 1.26, 2.5, 99.0];
        let figures = Figures {
            resolution: 0.5,
            range: [0.5, 10.0],
            every_s: 60.0,
            ..PLAIN
        };
        let said = |figures| {
            let normals = Normals::new(1, "co2", 0);
            instrument(figures).readings(&truth, 30.0, &Case::default(), &|_| 0.0, Some(normals))
        };
        let read = said(figures);
        assert!(read[1].is_nan() && read[3].is_nan());
        assert_eq!([read[0], read[2]], [0.5, 2.5]);
        let every = Figures {
            every_s: 0.0,
            ..figures
        };
        assert_eq!(said(every), [0.5, 1.5, 2.5, 10.0]);
    }

    #[test]
    fn noise_and_offset_have_their_sizes_and_a_fault_adds_to_them() {
        let figures = Figures {
            noise: 0.1,
            bias: 2.0,
            ..PLAIN
        };
        let truth = vec![5.0; 4000];
        let of = |run: u64| {
            let normals = Normals::new(1, "co2", run);
            instrument(figures).readings(&truth, 30.0, &Case::default(), &|_| 0.0, Some(normals))
        };
        let offsets: Vec<f64> = (0..400)
            .map(|run| of(run)[..50].iter().sum::<f64>() / 50.0 - 5.0)
            .collect();
        let spread = (offsets.iter().map(|o| o * o).sum::<f64>() / 400.0).sqrt();
        assert!((spread - 2.0).abs() < 4.0 * 2.0 / 800.0_f64.sqrt(), "{spread}");
        let read = of(0);
        let mean = read.iter().sum::<f64>() / 4000.0;
        let noise = (read.iter().map(|y| (y - mean).powi(2)).sum::<f64>() / 4000.0).sqrt();
        assert!((noise - 0.1).abs() < 4.0 * 0.1 / 8000.0_f64.sqrt(), "{noise}");
        let wrong = instrument(PLAIN).readings(&truth, 30.0, &Case::default(), &|t| 0.001 * t, None);
        assert_eq!(wrong[100], 8.0);
    }
}
