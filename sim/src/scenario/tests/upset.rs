//! Faults, sensors, alarms and responses.

mod responses;
mod wrong;

use super::draws::Keyed;
use super::*;
use crate::engine::Case;
use crate::limits::Quantity;
use crate::units::Time;
use crate::upset::{
    Broken, By, Change, DeviceNumber, Ends, HoldNumber, OCCURRENCES, Onset, SensorNumber, Shape, Target,
};

/// Something of everything that can break.
const CABIN: &str = r#"
[compartments.lock]
free_volume = "4 m3"
relief = { opens = "60 kPa", closes = "58 kPa", area = "1 cm2" }
[openings.duct]
between = ["cabin", "lock"]
exchange = "1 m3/min"
[openings.hatch]
between = ["cabin", "lock"]
exchange = "2 m3/min"
[tanks.oxygen]
gas = "oxygen"
amount = "24 kg"
[control.lock]
pressure = { hold = "56.5 kPa", flow = "0.5 kg/h", full_at = "0.5 kPa" }
[fans.main]
flow = "1 m3/min"
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
fan = "main"
fan_part = "40 %"
co2_efficiency = "86 %"
[removal.coil]
kind = "condenser"
serves = "cabin"
fan = "main"
coil_temperature = "7 degC"
[removal.canister]
kind = "sorbent"
serves = "cabin"
flow = "0.5 m3/min"
sorbent = "2 kg"
[removal.beds]
kind = "swing-bed"
serves = "cabin"
flow = "0.4 m3/min"
bed = "12 kg"
half_cycle = "30 min"
ullage = "8 L"
saved = "50 %"
[[tasks]]
id = "work"
crew = ["lead", "second"]
each = true
effort = "nominal"
in = "cabin"
duration = "1 h"
repeat = { every = "6 h", times = 3 }
interrupted = "restarts"
"#;

const SENSORS: &str = r#"
[sensors.co2_a]
watches = "cabin.co2"
gain = "97 %"
bias = "-0.2 mmHg"
drift = { adds = "0.2 mmHg", over = "1 d" }
noise = "0.05 mmHg"
lag = "90 s"
range = ["0 mmHg", "40 mmHg"]
[sensors.co2_b]
watches = "cabin.co2"
"#;

fn case(more: &str) -> Case {
    good(&with(&format!("{CABIN}{more}")), &[]).draw(&Medians).case
}

/// The changes of a fault with these keys that begins at once.
fn changes(keys: &str) -> Vec<Change> {
    let text = format!("{SENSORS}[[faults]]\nid = \"f\"\nonset = \"0 h\"\n{keys}\n");
    case(&text).faults[0].changes.clone()
}

fn number(keys: &str) -> (Target, By, [f64; 2]) {
    match changes(keys)[..] {
        [Change::Number { target, by, domain }] => (target, by, domain),
        ref other => panic!("{other:?}"),
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * b.abs()
}

fn device(device: usize, number: DeviceNumber) -> Target {
    Target::Device { device, number }
}

#[test]
fn numbers_of_devices_are_found_in_their_units() {
    assert_eq!(
        number("on = \"removal.scrubber\"\nfactor = \"60 %\""),
        (device(0, DeviceNumber::Capacity), By::Factor(0.6), [0.0, 1.0])
    );
    let (target, by, _) = number("on = \"removal.coil.coil_temperature\"\nadds = \"5 K\"");
    assert_eq!((target, by), (device(1, DeviceNumber::Coil), By::Add(5.0)));
    let (_, by, _) = number("on = \"removal.coil.coil_temperature\"\nto = \"12 degC\"");
    assert_eq!(by, By::To(285.15));
    // 1 kg of CO2 is 22.722 mol.
    let (target, by, domain) = number("on = \"removal.canister.capacity\"\nto = \"1 kg\"");
    let By::To(mol) = by else { panic!("{by:?}") };
    assert_eq!(target, device(2, DeviceNumber::Holds));
    assert!(
        near(mol, 1.0 / 0.044_009_5) && near(domain[1], 1e4 * mol),
        "{mol} {domain:?}"
    );
    assert_eq!(
        number("on = \"removal.canister.utilisation\"\nfactor = 0.5").0,
        device(2, DeviceNumber::Holds)
    );
    // Half of the ullage is saved at a turn.
    let (target, by, _) = number("on = \"removal.beds.ullage\"\nadds = \"4 L\"");
    assert_eq!((target, by), (device(3, DeviceNumber::Lost), By::Add(0.002)));
    let (target, ..) = number("on = \"removal.beds.rates.water\"\nfactor = 0.5");
    assert_eq!(target, device(3, DeviceNumber::WaterRate));
}

#[test]
fn a_fans_flow_is_that_of_all_it_feeds() {
    let list = changes("on = \"fans.main.flow\"\nto = \"0.5 m3/min\"");
    let flows: Vec<(Target, By)> = list
        .iter()
        .map(|change| match change {
            Change::Number { target, by, .. } => (*target, *by),
            Change::Broken(_) => panic!("{change:?}"),
        })
        .collect();
    let flow = 0.5 / 60.0;
    assert_eq!(
        flows,
        [
            (device(0, DeviceNumber::Flow), By::To(flow * 0.4)),
            (device(1, DeviceNumber::Flow), By::To(flow))
        ]
    );
}

#[test]
fn leaks_holds_tanks_and_sensors_are_found_in_their_units() {
    let leaky = case("[[faults]]\nid = \"f\"\nonset = \"0 h\"\non = \"compartments.cabin.leak\"\nadds = \"1 kg/d\"\n");
    let written = good(&with(CABIN), &["compartments.cabin.leak=1 kg/d"]);
    let leak = written.draw(&Medians).case.compartments[0].leak_m3_s;
    let [
        Change::Number {
            target: Target::Leak(0),
            by: By::Add(added),
            ..
        },
    ] = leaky.faults[0].changes[..]
    else {
        panic!("{:?}", leaky.faults)
    };
    assert!(near(added, leak), "{added} {leak}");
    let (target, by, _) = number("on = \"tanks.oxygen.amount\"\nadds = \"-3.2 kg\"");
    let By::Add(mol) = by else { panic!("{by:?}") };
    assert!(
        target == Target::TankAmount(0) && near(mol, -3.2 / 0.031_998_8),
        "{mol}"
    );
    // What lets gas in in proportion does so with its most.
    let list = changes("on = \"control.lock.pressure.flow\"\nto = \"0.25 kg/h\"");
    let kinds: Vec<(HoldNumber, f64)> = list
        .iter()
        .map(|change| match change {
            Change::Number {
                target:
                    Target::Hold {
                        hold: 1,
                        oxygen: false,
                        number,
                    },
                by: By::To(to),
                ..
            } => (*number, *to),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!((kinds[0].0, kinds[1].0), (HoldNumber::Flow, HoldNumber::Gain));
    assert!(near(kinds[1].1, kinds[0].1 / 500.0));
    let (target, by, _) = number("on = \"sensors.co2_b.drift\"\nadds = \"0.2 mmHg\"");
    let sensor = Target::Sensor {
        sensor: 1,
        number: SensorNumber::Drift,
    };
    let By::Add(rate) = by else { panic!("{by:?}") };
    assert!(target == sensor && (rate * 86_400.0 - 26.664).abs() < 1e-3, "{rate}");
}

#[test]
fn what_breaks_is_found() {
    let modes = [
        ("removal.coil", "off", Broken::DeviceOff(1)),
        (
            "removal.beds",
            "stuck\"\nbed = 2 #",
            Broken::BedsStuck {
                device: 3,
                bed: Some(1),
            },
        ),
        ("openings.hatch", "stuck", Broken::OpeningStuck(1)),
        (
            "control.cabin.oxygen",
            "shut",
            Broken::HoldShut { hold: 0, oxygen: true },
        ),
        ("compartments.lock.relief", "open", Broken::ReliefOpen(1)),
        ("compartments.lock.relief", "shut", Broken::ReliefShut(1)),
        ("sensors.co2_b", "dead", Broken::SensorDead(1)),
        ("sensors.co2_b", "stuck", Broken::SensorStuck { sensor: 1, at: None }),
        (
            "sensors.co2_b",
            "stuck\"\nreads = \"100 Pa\" #",
            Broken::SensorStuck {
                sensor: 1,
                at: Some(100.0),
            },
        ),
    ];
    for (on, mode, broken) in modes {
        let found = changes(&format!("on = \"{on}\"\nmode = \"{mode}\""));
        assert_eq!(found, [Change::Broken(broken)], "{on} {mode}");
    }
    let no_flow = number("on = \"openings.duct\"\nmode = \"off\"");
    assert_eq!((no_flow.0, no_flow.1), (Target::Exchange(0), By::To(0.0)));
}

#[test]
fn a_bus_takes_all_that_it_feeds() {
    let bus = "[buses.main]\nfeeds = [\"fans.main\", \"removal.beds\", \"sensors.co2_a\", \"control.cabin.oxygen\"]\n";
    let found = case(&format!(
        "{SENSORS}{bus}[[faults]]\nid = \"f\"\nonset = \"0 h\"\non = \"buses.main\"\nmode = \"off\"\n"
    ));
    let broken = [
        Broken::DeviceOff(0),
        Broken::DeviceOff(1),
        Broken::DeviceOff(3),
        Broken::SensorDead(0),
        Broken::HoldShut { hold: 0, oxygen: true },
    ];
    assert_eq!(found.faults[0].changes, broken.map(Change::Broken));
}

#[test]
fn onsets_shapes_and_ends_are_read() {
    let fault = |keys: &str| {
        let text = format!("[[faults]]\nid = \"f\"\non = \"removal.beds.flow\"\nfactor = 0.5\n{keys}\n");
        case(&text).faults[0].clone()
    };
    let minutes = |n: i64| Time(n * 60_000_000_000);
    // Two people do it each: turn 2 has the entries 2 and 3 of the plan.
    let by_task =
        fault("at = { end = \"work#2\", plus = \"15 min\" }\nshape = { ramp = \"2 h\" }\nends = { after = \"3 h\" }");
    let onset = Onset::Task {
        task: 2,
        start: false,
        plus: minutes(15),
    };
    assert_eq!((by_task.onset, by_task.shape), (onset, Shape::Ramp(minutes(120))));
    assert_eq!(by_task.ends, Ends::After(minutes(180)));
    let ran =
        fault("running = \"beds\"\nonset = \"2 h\"\nshape = { decay = \"5 h\" }\nends = { fresh = \"canister\" }");
    let onset = Onset::Ran {
        device: 3,
        time: minutes(120),
    };
    assert_eq!((ran.onset, ran.shape), (onset, Shape::Decay(18_000.0)));
    assert_eq!(ran.ends, Ends::Fresh(2));
    let turn = fault("running = \"beds\"\nturn = 3.2\nshape = { period = \"1 h\", duty = \"30 %\" }");
    assert_eq!(turn.onset, Onset::Turn { device: 3, turn: 4 });
    assert_eq!(turn.shape, Shape::Intermittent(vec![[minutes(18), minutes(42)]]));
    assert_eq!(fault("onset = \"1 h\"").shape, Shape::Step);
}

#[test]
fn what_comes_and_goes_is_drawn_each_time() {
    let text = with(&format!(
        "{CABIN}[[faults]]\nid = \"f\"\non = \"removal.beds.flow\"\nfactor = {{ uniform = [0.2, 0.4] }}\nonset = \"1 h\"\n\
         shape = {{ on = {{ exponential = \"10 min\", within = [\"1 min\", \"2 h\"] }}, off = \"3 h\" }}\n"
    ));
    let scenario = good(&text, &[]);
    let drawn = scenario.draw(&Keyed::default());
    let Shape::Intermittent(list) = &drawn.case.faults[0].shape else {
        panic!("{:?}", drawn.case.faults)
    };
    assert_eq!(list.len(), OCCURRENCES);
    assert!(list.windows(2).all(|w| w[0][0] != w[1][0] && w[0][1] == w[1][1]));
    let mean = list.iter().map(|pair| pair[0].seconds()).sum::<f64>() / OCCURRENCES as f64;
    let input = scenario
        .inputs
        .iter()
        .position(|i| i.path == "faults.f.shape.on")
        .expect("an input");
    assert!((drawn.values[input] - mean).abs() < 1e-6);
    let By::Factor(factor) = (match drawn.case.faults[0].changes[0] {
        Change::Number { by, .. } => by,
        Change::Broken(_) => panic!("no number"),
    }) else {
        panic!("no factor")
    };
    assert!((0.2..0.4).contains(&factor));
}

#[test]
fn sensors_are_read() {
    let text =
        format!("{CABIN}{SENSORS}[sensors.warm]\nwatches = \"lock.temperature\"\nbias = \"-2 K\"\nevery = \"1 min\"\n");
    let scenario = good(&with(&text), &[]);
    let sensors = scenario.draw(&Medians).case.sensors;
    let mmhg = 133.322;
    let a = sensors[0];
    assert_eq!(
        (a.quantity, a.compartment, a.gain, a.lag_s),
        (Quantity::Co2, 0, 0.97, 90.0)
    );
    assert!(near(a.bias, -0.2 * mmhg) && near(a.noise, 0.05 * mmhg));
    assert!(near(a.drift_per_s, 0.2 * mmhg / 86_400.0));
    assert!(a.range[0] == 0.0 && near(a.range[1], 40.0 * mmhg));
    let b = sensors[1];
    assert_eq!(
        (b.gain, b.bias, b.noise, b.drift_per_s, b.lag_s),
        (1.0, 0.0, 0.0, 0.0, 0.0)
    );
    assert_eq!((b.every, b.range), (Time(30_000_000_000), [0.0, f64::INFINITY]));
    let warm = sensors[2];
    assert_eq!(
        (warm.quantity, warm.compartment, warm.bias),
        (Quantity::Temperature, 1, -2.0)
    );
    assert_eq!(warm.range, [f64::NEG_INFINITY, f64::INFINITY]);
    assert_eq!(scenario.names.sensors, ["co2_a", "co2_b", "warm"]);
}

/// A source of noise keys that tells the path by its length.
struct Noisy;

impl Luck for Noisy {
    fn uniform(&self, _input: usize, _turn: u32, _person: u32) -> f64 {
        0.5
    }

    fn stream(&self, path: &str) -> Option<u64> {
        Some(path.len() as u64)
    }
}

#[test]
fn noise_has_a_key_of_its_sensors_path() {
    let own = "[[alarms]]\nid = \"a\"\nwatches = \"cabin.co2\"\nabove = \"4 mmHg\"\n";
    let scenario = good(&with(&format!("{CABIN}{SENSORS}{own}")), &[]);
    let keys = |luck: &dyn Luck| -> Vec<Option<u64>> {
        let sensors = scenario.draw(luck).case.sensors;
        sensors.iter().map(|sensor| sensor.noise_key).collect()
    };
    assert_eq!(keys(&Medians), [None; 3]);
    let paths = ["sensors.co2_a", "sensors.co2_b", "alarms.a.sensor"];
    assert_eq!(keys(&Noisy), paths.map(|path| Some(path.len() as u64)));
    assert_eq!(scenario.names.sensors, ["co2_a", "co2_b", "a"]);
}

#[test]
fn a_fault_after_the_end_is_told() {
    let text = with("[[faults]]\nid = \"f\"\non = \"compartments.cabin.leak\"\nadds = \"1 kg/d\"\nonset = \"2 d\"\n");
    let warnings = good(&text, &[]).warnings;
    let told = |w: &Diagnostic| w.message == "on its median `faults.f` begins after the end of the run";
    assert!(warnings.iter().any(told));
}
