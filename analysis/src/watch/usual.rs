//! Instruments where none are named: the sensors of the scenario's alarms, then what a cabin would have.
//!
//! | reads | noise | lag | offset (one standard deviation) | resolution | range | whose figures |
//! |---|---|---|---|---|---|---|
//! | CO2 | 0.02 mmHg | 195 s | 0.05 mmHg | 0.01 mmHg | 0 to 40 mmHg | infrared by diffusion: 50 ppm + 3 % is two deviations; T63 195 s |
//! | humidity | 0.2 % | 30 s | 1 % | 0.1 % | 0 to 100 % | +/-2 % is two deviations |
//! | pressure | 10 Pa | none | 50 Pa | 10 Pa | 0 to 200 kPa | assumption |
//! | flow through a device that is on | 1 % | 5 s | 1 % | 0.1 % | to four times of it | pressure drop over an orifice; assumption |
//!
//! Source: data sheets of common sensors (printed there; here rounded), else assumptions as marked. A quantity that an alarm's sensor reads in
//! the same place has no second instrument. Left out: oxygen and temperature, which most of these faults do not move; name them in a file.

use breathroom_sim::engine::Case;
use breathroom_sim::limits::Quantity;
use breathroom_sim::scenario::Names;

use super::instruments::{Figures, Instrument, Numbers, Reads};

const MMHG_PA: f64 = 133.322;

/// The usual instruments of a case.
#[must_use]
pub fn usual(case: &Case, names: &Names) -> Vec<Instrument> {
    let mut all: Vec<Instrument> = Vec::new();
    for (index, sensor) in case.sensors.iter().enumerate() {
        let of_alarm = case.alarms.iter().any(|alarm| alarm.sensors.contains(&index));
        if of_alarm {
            all.push(Instrument {
                name: names.sensors.get(index).cloned().unwrap_or_default(),
                reads: Reads::Air(sensor.quantity, sensor.compartment),
                numbers: Numbers::Sensor(index),
                source: "a sensor of the scenario's alarms".to_owned(),
            });
        }
    }
    for (place, name) in names.compartments.iter().enumerate() {
        if name.starts_with("suit:") {
            continue;
        }
        for (quantity, word, figures, source) in of_air() {
            let reads = Reads::Air(quantity, place);
            if all.iter().any(|other| other.reads == reads) {
                continue;
            }
            all.push(Instrument {
                name: format!("{name}_{word}"),
                reads,
                numbers: Numbers::Own(figures),
                source: source.to_owned(),
            });
        }
    }
    for (index, device) in case.devices.iter().enumerate() {
        let Some(flow) = device.flow_m3_s().filter(|_| device.on) else {
            continue;
        };
        all.push(Instrument {
            name: format!("{}_flow", names.devices.get(index).map_or("", String::as_str)),
            reads: Reads::Flow(index),
            numbers: Numbers::Own(Figures {
                noise: 0.01 * flow,
                lag_s: 5.0,
                every_s: 0.0,
                bias: 0.01 * flow,
                resolution: 0.001 * flow,
                range: [0.0, 4.0 * flow],
            }),
            source: "pressure drop over an orifice: 1 % (assumption)".to_owned(),
        });
    }
    // A sensor of the file may have taken a name already.
    for index in 1..all.len() {
        while all[..index].iter().any(|other| other.name == all[index].name) {
            all[index].name.push_str("_2");
        }
    }
    all
}

fn of_air() -> [(Quantity, &'static str, Figures, &'static str); 3] {
    [
        (
            Quantity::Co2,
            "co2",
            Figures {
                noise: 0.02 * MMHG_PA,
                lag_s: 195.0,
                every_s: 0.0,
                bias: 0.05 * MMHG_PA,
                resolution: 0.01 * MMHG_PA,
                range: [0.0, 40.0 * MMHG_PA],
            },
            "infrared by diffusion: +/-(50 ppm + 3 %), T63 195 s (data sheets)",
        ),
        (
            Quantity::Humidity,
            "humidity",
            Figures {
                noise: 0.002,
                lag_s: 30.0,
                every_s: 0.0,
                bias: 0.01,
                resolution: 0.001,
                range: [0.0, 1.0],
            },
            "+/-2 % (data sheets); lag and noise are assumptions",
        ),
        (
            Quantity::Pressure,
            "pressure",
            Figures {
                noise: 10.0,
                lag_s: 0.0,
                every_s: 0.0,
                bias: 50.0,
                resolution: 10.0,
                range: [0.0, 200_000.0],
            },
            "assumption",
        ),
    ]
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::Compartment;
    use breathroom_sim::limits::Bound;
    use breathroom_sim::units::Time;
    use breathroom_sim::upset::{Alarm, Grade, Sensor};

    use super::*;

    #[test]
    fn an_alarms_sensor_stands_in_for_the_usual_one_and_names_differ() {
        let sensor = Sensor {
            quantity: Quantity::Co2,
            compartment: 0,
            gain: 1.0,
            bias: 0.0,
            drift_per_s: 0.0,
            noise: 5.0,
            noise_key: None,
            lag_s: 60.0,
            every: Time::from_seconds(30.0),
            range: [0.0, 1e4],
        };
        let case = Case {
            compartments: vec![Compartment::default(); 2],
            sensors: vec![sensor],
            alarms: vec![Alarm {
                sensors: vec![0],
                votes: 1,
                bound: Bound::AtMost,
                set: 300.0,
                lasts: Time::ZERO,
                clears: 300.0,
                grade: Grade::Warning,
                response: None,
            }],
            ..Case::default()
        };
        let names = Names {
            compartments: vec!["cabin".to_owned(), "suit:lead".to_owned()],
            sensors: vec!["cabin_pressure".to_owned()],
            ..Names::default()
        };
        let all = usual(&case, &names);
        let list: Vec<(&str, String)> = all
            .iter()
            .map(|one| (one.name.as_str(), one.reads.words(&names)))
            .collect();
        let wanted = [
            ("cabin_pressure", "cabin.co2"),
            ("cabin_humidity", "cabin.humidity"),
            ("cabin_pressure_2", "cabin.pressure"),
        ];
        assert_eq!(list, wanted.map(|(name, words)| (name, words.to_owned())));
        assert_eq!(all[0].figures(&case).noise, 5.0);
    }
}
