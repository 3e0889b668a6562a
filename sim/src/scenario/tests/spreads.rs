//! Spreads: in every numeric place, of every shape.

use super::*;
use crate::spread::Shape;

/// Every numeric key of the table, with a value (lists apart).
const FULL: &str = r#"
format = 1
duration = "1 d"
gravity = "1.62 m/s2"
respiratory_quotient = 0.87
[lags]
gas = "50 s"
[air]
pressure = "56.5 kPa"
oxygen = "34 %"
co2 = "0.5 mmHg"
humidity = "45 %"
temperature = "22 degC"
[outside]
pressure = "20 kPa"
oxygen = "21 %"
co2 = "400 ppm"
humidity = "20 %"
temperature = "15 degC"
[compartments.cabin]
free_volume = "11.5 m3"
usable_volume = "8 m3"
leak = "0.05 kg/d"
leak_area = "0.8 mm2"
relief = { opens = "107 kPa", closes = "105 kPa", area = "1 cm2" }
washout = { adds = "1.2 mmHg", at = "0.5 L/min STPD" }
heat = { equipment = "150 W", wall_capacity = "120 kJ/K", insulation = "25 W/K", surroundings = "250 K" }
air = { pressure = "56.4 kPa", oxygen = "34.1 %", co2 = "0.6 mmHg", humidity = "40 %", temperature = "21 degC" }
walls = { temperature = "19 degC", area = "26 m2", cold_spot = "14 degC", cold_spot_area = "1 m2", film = "3 W/m2/K" }
[compartments.lock]
free_volume = "4 m3"
walls = { area = "12 m2" }
heat = { emittance = 0.05, surroundings = "250 K" }
[openings.hatch]
between = ["cabin", "lock"]
exchange = "2 m3/min"
opens_within = "0.7 kPa"
[removal.a]
kind = "flow-through"
serves = "cabin"
flow = "0.7 m3/min"
co2_efficiency = "85 %"
water_efficiency = "20 %"
cycle = { every = "6.5 min", factors = ["100 %", "90 %"] }
[removal.b]
kind = "curve"
serves = "cabin"
flow = "1.5 m3/min"
co2 = [["2 mmHg", "1.1 kg/d"]]
[removal.c]
kind = "condenser"
serves = "cabin"
flow = "1.1 m3/min"
bypass = "15 %"
coil_temperature = "7 degC"
carry_over = "5 %"
[tanks.oxygen]
gas = "oxygen"
amount = "24 kg"
supply_pressure = "20 MPa"
reserve = "2 kg"
[control.cabin]
oxygen = { hold = "18.8 kPa", from = "oxygen", flow = "1 kg/h", band = "0.2 kPa" }
pressure = { hold = "56.5 kPa", flow = "1 kg/h", full_at = "0.4 kPa" }
[control.lock]
oxygen = { hold = "18.8 kPa", flow = "1 kg/h", full_at = "0.4 kPa" }
pressure = { hold = "56.5 kPa", flow = "1 kg/h", band = "0.4 kPa" }
[crew.lead]
mass = "71 kg"
height = "1.72 m"
age = 41
fitness = "38 mL/kg/min"
respiratory_quotient = 0.88
lags = { gas = "45 s" }
tissue_diluent = "79 kPa"
[suits.lead]
volume = "60 L"
pressure = "29.6 kPa"
ventilation = "170 L/min"
purge = "3 kg/h"
leak = "6 g/h"
temperature = "24 degC"
washout = { adds = "1.2 mmHg", at = "0.5 L/min STPD" }
[efforts.work]
power = "200 W"
space = "2 m3"
respiratory_quotient = 0.9
[efforts.dummy]
co2 = "1 kg/d"
oxygen = "0.8 kg/d"
vapour = "1.8 kg/d"
runoff = "0.1 kg/d"
sensible = "90 W"
[efforts.pulse]
measured = { data = "climb.csv", column = "heart rate", resting_rate = "64 1/min", accuracy = "0 %" }
[efforts.line]
measured = { data = "climb.csv", column = "heart rate", easy_rate = "80 1/min", easy_power = "200 W", hard_rate = "140 1/min", hard_power = "600 W", accuracy = "0 %" }
[[tasks]]
id = "a"
crew = ["lead"]
effort = "work"
in = "cabin"
at = "1 h"
duration = "30 min"
repeat = { every = "2 h", times = 2 }
[[tasks]]
id = "b"
crew = ["lead"]
effort = "dummy"
in = "lock"
at = "10 h"
duration = "30 min"
[[tasks]]
id = "c"
crew = ["lead"]
effort = "pre-breathe"
in = "lock"
at = "12 h"
duration = { tissue_ratio = 1.65, breathing = "95 %", breaks = "5 min" }
suit = "purged"
[[limits.rule]]
id = "r1"
quantity = "co2"
average = "1 h"
at_most = "3 mmHg"
source = "mine"
[[limits.rule]]
id = "r2"
quantity = "humidity"
at_least = "25 %"
allowed = "4 h"
source = "mine"
[[limits.rule]]
id = "r3"
quantity = "co2"
shift = "8 h"
at_most = "5000 ppm"
source = "mine"
[survival]
oxygen_floor = "13 kPa"
[towels]
drying = "1 h"
"#;

/// Devices with a loading, and a fan, each number of them once.
const DEVICES: &str = r#"
[fans.main]
flow = "1.5 m3/min"
power = "30 W"
[removal.d]
kind = "sorbent"
serves = "cabin"
fan = "main"
fan_part = "40 %"
sorbent = "2.3 kg"
uptake = "0.9 kg/kg"
utilisation = "80 %"
sharpness = 12
bypass = "2 %"
loaded = "0.1 kg"
power = "5 W"
[removal.e]
kind = "sorbent"
serves = "cabin"
flow = "0.5 m3/min"
capacity = "1.7 kg"
[removal.f]
kind = "swing-bed"
serves = "cabin"
flow = "0.5 m3/min"
bed = "12 kg"
half_cycle = "30 min"
bed_temperature = "25 degC"
co2_isotherm = { most = "3 mol/kg", half = "1 kPa" }
water_isotherm = { loading = "4 mol/kg", at = "1 kPa" }
competition = 0.5
rates = { co2 = "0.005 1/s", water = "0.002 1/s" }
desorb = { co2 = "0.1 mmHg", water = "0.2 mmHg" }
ullage = "8 L"
saved = "50 %"
loaded = { first_co2 = "0.1 mol/kg", first_water = "0.2 mol/kg", second_co2 = "0.3 mol/kg", second_water = "0.4 mol/kg" }
[removal.g]
kind = "swing-bed"
serves = "cabin"
flow = "0.5 m3/min"
bed = "12 kg"
half_cycle = "30 min"
lost = "2 L"
co2_isotherm = { a0 = 9.875e-7, b0 = 6.761e-8, e = "5625 K", t0 = 0.27, c = "-20.02 K" }
"#;

/// What goes wrong, each number of it once.
const UPSETS: &str = r#"
[sensors.s]
watches = "cabin.co2"
gain = "97 %"
bias = "-0.2 mmHg"
drift = { adds = "0.1 mmHg", over = "1 d" }
noise = "0.05 mmHg"
lag = "90 s"
[[alarms]]
id = "x"
watches = "cabin.co2"
sensor = { gain = "98 %", bias = "0.1 mmHg", noise = "0.06 mmHg", lag = "80 s" }
above = "4 mmHg"
for = "5 min"
clears_below = "3.6 mmHg"
response = { reaction = "6 min", takes = "10 min", does = [{ switch_on = "b" }] }
[[alarms]]
id = "y"
watches = "cabin.oxygen"
below = "17 kPa"
clears_above = "18 kPa"
[[faults]]
id = "f1"
on = "removal.a.flow"
factor = "50 %"
onset = "2 h"
shape = { ramp = "1 h" }
ends = { after = "3 h" }
[[faults]]
id = "f2"
on = "removal.a.flow"
adds = "-0.1 m3/min"
running = "a"
turn = 3
shape = { decay = "2 h" }
[[faults]]
id = "f3"
on = "removal.a.flow"
to = "0.2 m3/min"
at = { start = "a", plus = "5 min" }
shape = { on = "10 min", off = "1 h" }
[[faults]]
id = "f4"
on = "sensors.s"
mode = "stuck"
reads = "1 mmHg"
onset = "2 h"
shape = { period = "1 h", duty = "30 %" }
"#;

/// A path with its ids written as the table of keys has them.
fn pattern(path: &str) -> String {
    let parts: Vec<&str> = path.split('.').collect();
    match parts.as_slice() {
        ["tasks", _, inner @ ("repeat" | "duration"), key] => format!("tasks.X.{inner}.{key}"),
        ["tasks", _, key] => format!("tasks.{key}"),
        ["removal", _, "co2_isotherm" | "water_isotherm", key] => {
            format!("removal.X.co2_isotherm | water_isotherm.{key}")
        }
        [section @ ("faults" | "alarms"), _, key] => format!("{section}.{key}"),
        ["limits", "rule", _, key] => format!("limits.rule.{key}"),
        [
            section @ ("compartments" | "openings" | "removal" | "tanks" | "control" | "crew" | "suits" | "efforts"
            | "fans" | "sensors" | "alarms" | "faults"),
            _,
            rest @ ..,
        ] => {
            format!("{section}.X.{}", rest.join("."))
        }
        _ => path.to_owned(),
    }
}

fn is_number(kind: &keys::Kind) -> bool {
    matches!(kind, keys::Kind::Number(..) | keys::Kind::NumberOrTable(..))
}

#[test]
fn a_spread_may_stand_wherever_a_number_may() {
    let full = format!("{FULL}{DEVICES}{UPSETS}");
    let base = good(&full, &[]);
    assert!(base.inputs.is_empty());
    let plain = shown(&base.draw(&Medians));
    let mut seen: Vec<String> = Vec::new();
    for value in base.resolved.iter().filter(|v| matches!(v.origin, Origin::File { .. })) {
        let pattern = pattern(&value.path);
        let key = keys::sections().into_iter().find_map(|s| {
            s.keys.iter().find(|k| {
                let path = if s.path.is_empty() {
                    k.name.to_owned()
                } else {
                    format!("{}.{}", s.path, k.name)
                };
                is_number(&k.kind) && path == pattern
            })
        });
        if key.is_none() {
            continue;
        }
        let text = &value.written;
        let set = format!("{}={{ choice = [\"{text}\", \"{text}\"] }}", value.path);
        let scenario = good(&full, &[&set]);
        assert_eq!(scenario.inputs.len(), 1, "{set}");
        assert_eq!(scenario.inputs[0].path, value.path);
        assert_eq!(shown(&scenario.draw(&Medians)), plain, "{set}");
        let resolved = scenario
            .resolved
            .iter()
            .find(|v| v.path == value.path)
            .expect("it is told");
        assert_eq!(resolved.input, Some(0));
        seen.push(pattern);
    }
    for section in keys::sections() {
        for key in section.keys {
            // Stages and effects stand in lists, which paths do not reach; they are read by the same code.
            let in_list = ["efforts.X.stages", "tasks.X.starts | ends"].contains(&section.path);
            if is_number(&key.kind) && !in_list {
                let path = if section.path.is_empty() {
                    key.name.to_owned()
                } else {
                    format!("{}.{}", section.path, key.name)
                };
                assert!(seen.contains(&path), "{path} is in no test");
            }
        }
    }
}

#[test]
fn a_spread_may_stand_in_a_list() {
    let two = "{ choice = [\"X\", \"X\"] }";
    let of = |value: &str| two.replace('X', value);
    let text = FULL
        .replace("factors = [\"100 %\"", &format!("factors = [{}", of("100 %")))
        .replace(
            "[[\"2 mmHg\", \"1.1 kg/d\"]]",
            &format!("[[{}, {}]]", of("2 mmHg"), of("1.1 kg/d")),
        );
    let scenario = good(&text, &[]);
    let paths: Vec<&str> = scenario.inputs.iter().map(|i| i.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "removal.a.cycle.factors.1",
            "removal.b.co2.1.pressure",
            "removal.b.co2.1.rate"
        ]
    );
    assert_eq!(shown(&scenario.draw(&Medians)), shown(&good(FULL, &[]).draw(&Medians)));
    let staged = with(&format!(
        "[efforts.s]\nstages = [{{ for = {}, co2 = {} }}, {{ vapour = \"1 kg/d\" }}]\n[[tasks]]\nid = \"t\"\ncrew = [\"lead\"]\n\
         effort = \"s\"\nduration = \"1 h\"\n",
        of("5 min"),
        of("2 kg/d")
    ));
    let scenario = good(&staged, &[]);
    let paths: Vec<&str> = scenario.inputs.iter().map(|i| i.path.as_str()).collect();
    assert_eq!(paths, ["efforts.s.stages.1.for", "efforts.s.stages.1.co2"]);
}

#[test]
fn every_shape_is_read_in_si() {
    let shape = |value: &str| {
        let scenario = good(SMALL, &[&format!("compartments.cabin.free_volume={value}")]);
        (
            scenario.inputs[0].spread.shape().clone(),
            scenario.inputs[0].spread.within(),
        )
    };
    assert_eq!(
        shape("{ normal = [\"11.5 m3\", \"400 L\"], within = [\"10 m3\", \"13 m3\"] }"),
        (Shape::Normal { mean: 11.5, sd: 0.4 }, Some((10.0, 13.0)))
    );
    assert_eq!(
        shape("{ uniform = [\"10 m3\", \"12 m3\"] }"),
        (Shape::Uniform { lo: 10.0, hi: 12.0 }, None)
    );
    let three = |name: &str| shape(&format!("{{ {name} = [\"10 m3\", \"11 m3\", \"14 m3\"] }}")).0;
    assert_eq!(
        three("triangular"),
        Shape::Triangular {
            lo: 10.0,
            mode: 11.0,
            hi: 14.0
        }
    );
    assert_eq!(
        three("pert"),
        Shape::Pert {
            lo: 10.0,
            mode: 11.0,
            hi: 14.0
        }
    );
    assert_eq!(
        shape("{ lognormal = [\"11 m3\", \"15 %\"] }").0,
        Shape::Lognormal { median: 11.0, cv: 0.15 }
    );
    assert_eq!(
        shape("{ exponential = \"12 m3\", within = [\"10 m3\", \"14 m3\"] }"),
        (Shape::Exponential { mean: 12.0 }, Some((10.0, 14.0)))
    );
    assert_eq!(
        shape("{ weibull = [\"12 m3\", 3.5], within = [\"1 m3\", \"20 m3\"] }").0,
        Shape::Weibull {
            scale: 12.0,
            shape: 3.5
        }
    );
    assert_eq!(
        shape("{ choice = [\"10 m3\", \"12 m3\"], weights = [1, 3] }").0,
        Shape::Choice {
            values: vec![10.0, 12.0],
            weights: vec![1.0, 3.0]
        }
    );
}

#[test]
fn a_deviation_of_temperature_has_no_zero_point() {
    let scenario = good(
        SMALL,
        &["air.temperature={ normal = [\"22 degC\", \"2 degC\"], within = [\"15 degC\", \"30 degC\"] }"],
    );
    assert!(
        matches!(scenario.inputs[0].spread.shape(), Shape::Normal { mean, sd } if (*mean - 295.15).abs() < 1e-9 && (*sd - 2.0).abs() < 1e-12)
    );
}

#[test]
fn a_column_is_resampled() {
    let task = "[[tasks]]\nid = \"don\"\ncrew = [\"lead\"]\neffort = \"suit-work\"\nduration = { data = \"times.csv\", column = \"NAME\" }\n";
    let scenario = good(&with(&task.replace("NAME", "donning")), &[]);
    assert_eq!(
        scenario.inputs[0].spread.shape(),
        &Shape::Data {
            values: vec![2400.0, 3000.0, 5400.0]
        }
    );
    assert_eq!(scenario.inputs[0].unit.symbol, "min");
    assert_eq!(scenario.data_files.len(), 1);
    let scenario = good(&with(&task.replace("NAME", "doffing")), &[]);
    assert_eq!(
        scenario.inputs[0].spread.shape(),
        &Shape::Data {
            values: vec![900.0, 1800.0]
        }
    );
    assert!(bad(&with(&task.replace("NAME", "none")), &[])[0].contains("without its unit"));
    assert!(bad(&with(&task.replace("times", "bytes")), &[])[0].contains("not UTF-8"));
}

#[test]
fn a_spread_may_have_a_millionth_outside_and_no_more() {
    // 4.9 standard deviations leave 4.8e-7 below zero, 4.5 leave 3.4e-6.
    let set = |sd: f64| format!("removal.a.flow={{ normal = [\"1 m3/min\", \"{sd} m3/min\"] }}");
    let scenario = good(FULL, &[&set(1.0 / 4.9)]);
    let least = scenario.draw(&draws::Constant(1e-12));
    let crate::removal::Removal::FlowThrough { flow_m3_s, .. } = least.case.devices[0].removal else {
        panic!()
    };
    assert_eq!(flow_m3_s.to_bits(), 0.0_f64.to_bits());
    assert!(bad(FULL, &[&set(1.0 / 4.5)])[0].contains("lies where `flow` cannot be"));
}

#[test]
fn the_common_quotient_is_drawn_only_where_it_counts() {
    let text = SMALL.replace("respiratory_quotient = 0.87\n", "");
    let scenario = good(&text, &[]);
    assert_eq!(
        scenario.inputs.iter().map(|i| i.path.as_str()).collect::<Vec<_>>(),
        ["respiratory_quotient"]
    );
    let own = good(
        &text,
        &["crew.lead.respiratory_quotient=0.85", "crew.second.idle=\"sleep\""],
    );
    assert!(own.inputs.len() == 1, "the second still may take up efforts by power");
    let none = good(&text, &["crew.lead.idle=\"sleep\"", "crew.second.idle=\"sleep\""]);
    assert!(none.inputs.is_empty());
}
