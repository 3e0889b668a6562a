//! Ways in which a device or an instrument may fail, each at a graded severity.
//!
//! | mode | at severity s (0 to 1) | onset |
//! |---|---|---|
//! | DEVICE.capacity | takes 1 - s of what it would | step |
//! | DEVICE.capacity-slow | the same | ramp over 2 h |
//! | DEVICE.flow | its flow times 1 - s | step |
//! | DEVICE.bypass | s of the flow that passed the bed or coil misses it | step |
//! | DEVICE.valve | the beds take no turns for s of 8 h | step |
//! | DEVICE.coil | its coil is 15 K s warmer | ramp over 1 h |
//! | PLACE.leak | loses 20 % s of its volume an hour more | step |
//! | INSTRUMENT.bias | reads s of its full error more | step |
//! | INSTRUMENT.drift | the same | ramp over 6 h |
//! | fault.ID | what the file says, whole; no severity | the file's |
//!
//! Source: directions from the mass balance; scales are this program's own, chosen so that severity 1 is a plain failure. An instrument's full
//! error is 2 mmHg (CO2), 20 % (humidity), 2 kPa (pressures), 5 K, half of a device's flow. Valid for devices that are on at the start: what
//! rests shows nothing. Left out: several faults at once; faults of the file that act on sensors alone, which change nothing of the air and are not
//! read here.

use breathroom_sim::engine::Case;
use breathroom_sim::limits::Quantity;
use breathroom_sim::removal::{Device, Removal};
use breathroom_sim::scenario::Names;
use breathroom_sim::units::Time;
use breathroom_sim::upset::{Broken, By, Change, DeviceNumber, Ends, Fault, Onset, Shape, Target};

use super::instruments::{Instrument, Reads};

const SLOW_S: f64 = 7_200.0;
const COIL_S: f64 = 3_600.0;
const COIL_K: f64 = 15.0;
const STUCK_S: f64 = 28_800.0;
const DRIFT_S: f64 = 21_600.0;
const LEAK_1_S: f64 = 0.2 / 3_600.0;

/// A way to fail.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// "scrubber.capacity", "fault.bed-loss".
    pub id: String,
    /// What fails: a device, a compartment or an instrument.
    pub place: String,
    /// What the severity means.
    pub scale: String,
    /// How it comes.
    pub onset: &'static str,
    /// It is one that a bank of fault models may know; not those of the file, whose numbers nobody knows before.
    pub graded: bool,
    what: What,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum What {
    Number {
        target: Target,
        grade: Grade,
        domain: [f64; 2],
        ramp_s: f64,
    },
    Valve(usize),
    Instrument {
        index: usize,
        full: f64,
        ramp_s: f64,
    },
    Own(usize),
}

/// What a severity makes of a number.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Grade {
    Lost,
    /// Of the part that is left, s goes too: `x + s (1 - x)`.
    Rest(f64),
    More(f64),
}

/// A fault as it is put in.
#[derive(Clone, Debug, PartialEq)]
pub enum Put {
    /// Nothing.
    Nothing,
    /// Into the case.
    Case(Fault),
    /// Into what an instrument says: its index, the full addition, the onset and how long it grows, s.
    Instrument {
        /// Index of the instrument.
        index: usize,
        /// Added when it is whole, SI.
        full: f64,
        /// From when on, s.
        onset_s: f64,
        /// How long it grows, s; 0: at once.
        ramp_s: f64,
    },
    /// A fault of the scenario's own, as it stands there.
    Own(usize),
}

impl Put {
    /// What it adds to what an instrument says, `t_s` into the run.
    #[must_use]
    pub fn wrong(&self, instrument: usize, t_s: f64) -> f64 {
        match *self {
            Self::Instrument {
                index,
                full,
                onset_s,
                ramp_s,
            } if index == instrument && t_s >= onset_s => {
                if ramp_s > 0.0 {
                    full * ((t_s - onset_s) / ramp_s).min(1.0)
                } else {
                    full
                }
            }
            _ => 0.0,
        }
    }
}

impl Mode {
    /// The fault at a severity from 0 to 1, from `onset` on; those of the file as they stand.
    #[must_use]
    pub fn put(&self, severity: f64, onset: Time) -> Put {
        let fault = |change, ramp_s: f64, ends| {
            Put::Case(Fault {
                changes: vec![change],
                onset: Onset::At(onset),
                shape: if ramp_s > 0.0 {
                    Shape::Ramp(Time::from_seconds(ramp_s))
                } else {
                    Shape::Step
                },
                ends,
            })
        };
        match self.what {
            What::Number {
                target,
                grade,
                domain,
                ramp_s,
            } => {
                let by = match grade {
                    Grade::Lost => By::Factor(1.0 - severity),
                    Grade::Rest(now) => By::To(now + severity * (1.0 - now)),
                    Grade::More(full) => By::Add(severity * full),
                };
                fault(Change::Number { target, by, domain }, ramp_s, Ends::Never)
            }
            What::Valve(device) => fault(
                Change::Broken(Broken::BedsStuck { device, bed: None }),
                0.0,
                Ends::After(Time::from_seconds(severity * STUCK_S)),
            ),
            What::Instrument { index, full, ramp_s } => Put::Instrument {
                index,
                full: severity * full,
                onset_s: onset.seconds(),
                ramp_s,
            },
            What::Own(index) => Put::Own(index),
        }
    }

    /// Whether it leaves the air as it is.
    #[must_use]
    pub fn is_of_instrument(&self) -> bool {
        matches!(self.what, What::Instrument { .. })
    }

    /// An addition to a reading may have either sign; whatever else fails does so one way.
    #[must_use]
    pub fn both_ways(&self) -> bool {
        self.is_of_instrument()
    }
}

/// All modes of a case: of its devices that are on, of its compartments, of the instruments, and the file's own.
#[must_use]
pub fn modes(case: &Case, names: &Names, instruments: &[Instrument]) -> Vec<Mode> {
    let mut all = Vec::new();
    let on = case.devices.iter().enumerate().filter(|(_, device)| device.on);
    for (index, device) in on {
        let name = names.devices.get(index).cloned().unwrap_or_default();
        of_device(&mut all, (index, &name), device);
    }
    for (index, place) in case.compartments.iter().enumerate() {
        let name = names.compartments.get(index).cloned().unwrap_or_default();
        if name.starts_with("suit:") {
            continue;
        }
        all.push(Mode {
            id: format!("{name}.leak"),
            place: name,
            scale: "100 %: 20 % of the volume an hour".to_owned(),
            onset: "step",
            graded: true,
            what: What::Number {
                target: Target::Leak(index),
                grade: Grade::More(LEAK_1_S * place.volume_m3),
                domain: [0.0, f64::MAX],
                ramp_s: 0.0,
            },
        });
    }
    for (index, instrument) in instruments.iter().enumerate() {
        let full = full_error(instrument.reads, case);
        let unit = instrument.reads.unit();
        for (word, onset, ramp_s) in [("bias", "step", 0.0), ("drift", "ramp over 6 h", DRIFT_S)] {
            all.push(Mode {
                id: format!("{}.{word}", instrument.name),
                place: instrument.name.clone(),
                scale: format!(
                    "100 %: {} {} more",
                    breathroom_sim::units::figures(unit.difference_from_si(full), 3),
                    unit.symbol
                ),
                onset,
                graded: true,
                what: What::Instrument { index, full, ramp_s },
            });
        }
    }
    for (index, fault) in case.faults.iter().enumerate() {
        if fault.changes.iter().all(is_of_sensor) {
            continue;
        }
        let name = names.faults.get(index).cloned().unwrap_or_default();
        all.push(Mode {
            id: format!("fault.{name}"),
            place: name,
            scale: "as the file has it, whole".to_owned(),
            onset: "as the file has it",
            graded: false,
            what: What::Own(index),
        });
    }
    all
}

fn is_of_sensor(change: &Change) -> bool {
    matches!(
        change,
        Change::Number {
            target: Target::Sensor { .. },
            ..
        } | Change::Broken(Broken::SensorStuck { .. } | Broken::SensorDead(_))
    )
}

fn of_device(all: &mut Vec<Mode>, (device, name): (usize, &str), numbers: &Device) {
    let mut push = |word: &str, scale: &str, onset: &'static str, what: What| {
        all.push(Mode {
            id: format!("{name}.{word}"),
            place: name.to_owned(),
            scale: scale.to_owned(),
            onset,
            graded: true,
            what,
        });
    };
    let number = |number, grade, domain, ramp_s| What::Number {
        target: Target::Device { device, number },
        grade,
        domain,
        ramp_s,
    };
    let one = [0.0, 1.0];
    let lost = "100 %: it takes nothing";
    push(
        "capacity",
        lost,
        "step",
        number(DeviceNumber::Capacity, Grade::Lost, one, 0.0),
    );
    push(
        "capacity-slow",
        lost,
        "ramp over 2 h",
        number(DeviceNumber::Capacity, Grade::Lost, one, SLOW_S),
    );
    if !matches!(numbers.removal, Removal::Curve { .. }) {
        let what = number(DeviceNumber::Flow, Grade::Lost, [0.0, f64::MAX], 0.0);
        push("flow", "100 %: no flow", "step", what);
    }
    match &numbers.removal {
        Removal::Condenser { bypass, .. } | Removal::Sorbent { bypass, .. } => {
            let what = number(DeviceNumber::Bypass, Grade::Rest(*bypass), one, 0.0);
            push("bypass", "100 %: all of the flow misses it", "step", what);
        }
        Removal::SwingBed(_) => push("valve", "100 %: stuck for 8 h", "step", What::Valve(device)),
        _ => {}
    }
    if matches!(numbers.removal, Removal::Condenser { .. }) {
        let what = number(DeviceNumber::Coil, Grade::More(COIL_K), [200.0, 400.0], COIL_S);
        push("coil", "100 %: 15 K warmer", "ramp over 1 h", what);
    }
}

/// An instrument's error at full severity, SI.
#[must_use]
pub fn full_error(reads: Reads, case: &Case) -> f64 {
    match reads {
        Reads::Air(Quantity::Co2, _) => 2.0 * 133.322,
        Reads::Air(Quantity::Humidity, _) => 0.2,
        Reads::Air(Quantity::Temperature, _) => 5.0,
        Reads::Air(..) => 2_000.0,
        Reads::Flow(device) => 0.5 * case.devices.get(device).and_then(Device::flow_m3_s).unwrap_or(1.0),
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::Compartment;

    use super::super::usual::usual;
    use super::*;

    fn case() -> (Case, Names) {
        let device = |removal, on| Device {
            serves: 0,
            on,
            removal,
            power_w: 0.0,
            capacity: 1.0,
            cycle: None,
        };
        let scrubber = Removal::FlowThrough {
            flow_m3_s: 0.02,
            co2_efficiency: 0.8,
            water_efficiency: 0.0,
        };
        let coil = Removal::Condenser {
            flow_m3_s: 0.03,
            bypass: 0.2,
            coil_saturation_pa: 1_000.0,
            coil_temperature_k: 280.0,
            carry_over: 0.0,
        };
        let names = |list: &[&str]| list.iter().map(|name| (*name).to_owned()).collect();
        let case = Case {
            compartments: vec![Compartment {
                volume_m3: 18.0,
                ..Compartment::default()
            }],
            devices: vec![
                device(scrubber.clone(), true),
                device(coil, true),
                device(scrubber, false),
            ],
            faults: vec![
                Fault {
                    changes: vec![Change::Broken(Broken::DeviceOff(0))],
                    onset: Onset::Never,
                    shape: Shape::Step,
                    ends: Ends::Never,
                },
                Fault {
                    changes: vec![Change::Broken(Broken::SensorDead(0))],
                    onset: Onset::Never,
                    shape: Shape::Step,
                    ends: Ends::Never,
                },
            ],
            ..Case::default()
        };
        let of = Names {
            compartments: names(&["cabin"]),
            devices: names(&["scrubber", "coil", "spare"]),
            faults: names(&["fan-stop", "sensor-dead"]),
            ..Names::default()
        };
        (case, of)
    }

    #[test]
    fn what_is_on_can_fail_by_its_kind_and_so_can_what_reads_it() {
        let (case, names) = case();
        let instruments = usual(&case, &names);
        let all = modes(&case, &names, &instruments);
        let of = |place: &str| -> Vec<&str> {
            let own = all.iter().filter(|mode| mode.place == place);
            own.map(|mode| mode.id.as_str()).collect()
        };
        assert_eq!(
            of("scrubber"),
            ["scrubber.capacity", "scrubber.capacity-slow", "scrubber.flow"]
        );
        assert_eq!(
            of("coil"),
            [
                "coil.capacity",
                "coil.capacity-slow",
                "coil.flow",
                "coil.bypass",
                "coil.coil"
            ]
        );
        assert!(of("spare").is_empty(), "what rests shows nothing");
        assert_eq!(of("cabin"), ["cabin.leak"]);
        assert_eq!(of("coil_flow"), ["coil_flow.bias", "coil_flow.drift"]);
        assert_eq!(of("fan-stop"), ["fault.fan-stop"]);
        assert!(of("sensor-dead").is_empty());
        let mut ids: Vec<&str> = all.iter().map(|mode| mode.id.as_str()).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all.len(), "each has a name of its own");
    }

    #[test]
    fn a_severity_is_on_the_scale_of_its_mode() {
        let (case, names) = case();
        let instruments = usual(&case, &names);
        let all = modes(&case, &names, &instruments);
        let put = |id: &str, severity: f64| {
            let mode = all.iter().find(|mode| mode.id == id).expect("a mode");
            mode.put(severity, Time::from_seconds(600.0))
        };
        let by = |id: &str| match put(id, 0.25) {
            Put::Case(fault) => match fault.changes[0] {
                Change::Number { by, .. } => (by, fault.shape),
                Change::Broken(_) => panic!("a number"),
            },
            other => panic!("{other:?}"),
        };
        assert_eq!(by("scrubber.flow"), (By::Factor(0.75), Shape::Step));
        let two_hours = Shape::Ramp(Time::from_seconds(7_200.0));
        assert_eq!(by("coil.capacity-slow"), (By::Factor(0.75), two_hours));
        // A quarter of the 80 % that passed the coil: 0.2 + 0.2.
        assert_eq!(by("coil.bypass").0, By::To(0.4));
        assert_eq!(by("coil.coil").0, By::Add(3.75));
        // 5 % of 18 m3 an hour.
        let By::Add(leak) = by("cabin.leak").0 else {
            panic!("more of it");
        };
        assert!((leak * 3_600.0 - 0.9).abs() < 1e-12);
        assert_eq!(put("fault.fan-stop", 1.0), Put::Own(0));
        let drift = put("cabin_co2.drift", 0.5);
        let of = |t_s: f64| drift.wrong(0, t_s);
        assert_eq!(
            [of(599.0), of(600.0), of(600.0 + 10_800.0), of(1e6)],
            [0.0, 0.0, 66.661, 133.322]
        );
        assert_eq!(drift.wrong(1, 1e6), 0.0);
    }
}
