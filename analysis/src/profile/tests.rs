//! Demands from a run, benches that cannot follow, bench files that are wrong.

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Engine, Trace};
use breathroom_sim::scenario::{Medians, Source, read};
use breathroom_sim::units::Time;

use super::*;

const CABIN: &str = "format = 1\nduration = \"4 h\"\n[air]\npressure = \"56.5 kPa\"\noxygen = \"34 %\"\nco2 = \"1 mmHg\"\nhumidity = \"40 %\"\n\
                     [compartments.cabin]\nfree_volume = \"12 m3\"\n[crew.a]\nmass = \"70 kg\"\nhome = \"cabin\"\n\
                     [removal.s]\nkind = \"flow-through\"\nserves = \"cabin\"\nflow = \"0.6 m3/min\"\nco2_efficiency = \"80 %\"\n\
                     [[tasks]]\nid = \"stop\"\ncrew = [\"a\"]\neffort = \"nominal\"\nin = \"cabin\"\nat = \"1 h\"\nduration = \"30 min\"\n\
                     starts = [{ switch_off = \"s\" }]\nends = [{ switch_on = \"s\" }]\n";

fn wanted(scale: f64) -> Demand {
    let source = Source {
        name: "x.toml",
        text: CABIN,
        overrides: &[],
        files: &|_| Err("none".to_owned()),
    };
    let scenario = read(&source).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let mut case = scenario.draw(&Medians).case;
    case.history_every = Time::from_seconds(60.0);
    let mut trace = Trace::default();
    Engine::new().run(&case, Some(&mut trace)).expect("a run");
    demand(&case, &trace, 0, scale).expect("a flow")
}

#[test]
fn flows_are_those_of_an_ideal_gas_and_nothing_while_off() {
    let demand = wanted(1.0);
    assert_eq!(demand.points.len(), 241);
    let first = demand.points[0];
    // 0.6 m3/min of 133.322 Pa at 295.15 K (the air's temperature unless given): ideal gas, arithmetic.
    let t = first.temperature_k;
    assert!((first.flow_mol_s[0] / (0.01 * 133.322 / (8.314_462_618 * t)) - 1.0).abs() < 1e-9);
    assert!((first.flow_m3_s() / 0.01 - 1.0).abs() < 1e-9);
    assert!((first.partial_pa(Species::Co2) / 133.322 - 1.0).abs() < 1e-9);
    let off: Vec<f64> = demand
        .points
        .iter()
        .filter(|point| !point.on)
        .map(|point| point.time_s / 60.0)
        .collect();
    assert_eq!((off.first(), off.last()), (Some(&60.0), Some(&89.0)));
    assert!(demand.points.iter().all(|point| point.on || point.total_mol_s() == 0.0));
    let quarter = wanted(0.25);
    for (whole, part) in demand.points.iter().zip(&quarter.points) {
        assert!((part.total_mol_s() - 0.25 * whole.total_mol_s()).abs() < 1e-15);
        assert!((part.partial_pa(Species::Co2) - whole.partial_pa(Species::Co2)).abs() < 1e-9);
    }
}

fn bench(channels: &str) -> Bench {
    let text = format!(
        "format = 1\nstep = \"1 min\"\nreference = {{ temperature = \"0 degC\", pressure = \"101.325 kPa\" }}\n[channels]\n{channels}\n"
    );
    Bench::read("bench.toml", &text).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

#[test]
fn a_bench_without_limits_delivers_what_is_wanted() {
    let demand = wanted(1.0);
    let delivered = deliver(&Bench::default(), &demand);
    assert_eq!((&delivered.points, delivered.misses.len()), (&demand.points, 0));
    assert_eq!(effect(&demand, &delivered).co2_pa, [0.0, 0.0]);
}

#[test]
fn what_a_bench_cannot_follow_is_told_with_its_effect() {
    let demand = wanted(1.0);
    let most = demand
        .points
        .iter()
        .map(|point| point.flow_mol_s[0])
        .fold(0.0, f64::max);
    let per_mol = Bench::default().standard_m3_mol();
    // A range that ends at 90 % of the largest wanted flow: the error there is 10 % of it.
    let end = 0.9 * most * per_mol * 60e3;
    let short = bench(&format!("co2 = {{ range = [\"0 L/min\", \"{end} L/min\"] }}"));
    let delivered = deliver(&short, &demand);
    let worst = delivered
        .misses
        .iter()
        .max_by(|a, b| (a.wanted - a.delivered).total_cmp(&(b.wanted - b.delivered)))
        .expect("a miss");
    assert!(worst.channel == Channel::Co2 && worst.is_range);
    assert!((worst.delivered / worst.wanted - 0.9).abs() < 1e-9);
    let largest = demand
        .points
        .iter()
        .map(|point| point.partial_pa(Species::Co2))
        .fold(0.0, f64::max);
    // The total falls with it: a tenth of the CO2 is less than a thousandth of all gas.
    let error = effect(&demand, &delivered).co2_pa[0];
    assert!((error / (-0.1 * largest) - 1.0).abs() < 0.02, "{error} {largest}");

    // Switching on takes the slew's time: half the range in 10 minutes is 5 minutes to a quarter.
    let slow = bench("diluent = { range = [\"0 L/min\", \"1000 L/min\"], sweep = \"1 h\" }");
    let delivered = deliver(&slow, &demand);
    assert!(
        delivered
            .misses
            .iter()
            .all(|miss| miss.channel == Channel::Diluent && !miss.is_range)
    );
    let step = 1000.0 / 60e3 / per_mol / 60.0;
    for pair in delivered.points.windows(2) {
        assert!((pair[1].flow_mol_s[3] - pair[0].flow_mol_s[3]).abs() <= step * (1.0 + 1e-9));
    }

    let dry = bench("dew_point = { range = [\"-40 degC\", \"0 degC\"] }");
    let delivered = deliver(&dry, &demand);
    for point in delivered.points.iter().filter(|point| point.on) {
        assert!(point.partial_pa(Species::Water) < 612.0);
    }
    assert!(delivered.misses.iter().any(|miss| miss.channel == Channel::DewPoint));
}

#[test]
fn bench_files_are_refused_with_the_place_of_what_is_wrong() {
    let wrong = |text: &str| {
        let faults = Bench::read("b.toml", text).expect_err(text);
        faults
            .into_iter()
            .map(|fault| (fault.line, fault.message))
            .collect::<Vec<_>>()
    };
    assert_eq!(wrong("").len(), 3);
    let head = "format = 1\nstep = \"1 min\"\nreference = { temperature = \"0 degC\", pressure = \"101.325 kPa\" }\n";
    let one = |rest: &str| {
        let mut faults = wrong(&format!("{head}{rest}"));
        assert_eq!(faults.len(), 1, "{faults:?}");
        faults.remove(0)
    };
    assert_eq!(one("colour = 1"), (4, "unknown key `colour`".to_owned()));
    assert_eq!(one("[channels]\nco3 = {}").1, "unknown key `co3`");
    assert_eq!(one("[channels]\nco2 = { }").1, "`co2` has no `range`");
    assert_eq!(one("[channels]\nco2 = 3").1, "`co2` is a table, not a whole number");
    assert_eq!(
        one("[channels]\nco2 = { range = [\"3 L/min\", \"1 L/min\"] }").1,
        "the range is empty"
    );
    assert_eq!(
        one("[channels]\nco2 = { range = [\"-1 L/min\", \"1 L/min\"] }").1,
        "a flow cannot be negative"
    );
    assert!(
        one("[channels]\nco2 = { range = [\"0 degC\", \"1 L/min\"] }")
            .1
            .contains("degC")
    );
    assert!(
        one("[channels]\nco2 = { range = [0, \"1 L/min\"] }")
            .1
            .contains("`range` takes")
    );
    assert_eq!(
        one("[channels]\nco2 = { range = [\"0 L/min\", \"1 L/min\"], sweep = \"0 s\" }").1,
        "`sweep` cannot be that"
    );
    assert_eq!(wrong("format = 2\nstep = \"1 min\"\nreference = 1\n").len(), 2);
    assert_eq!(wrong(&head.replace("1 min", "90 d")).len(), 1);
    assert_eq!(wrong(&head.replace("temperature = \"0 degC\", ", "")).len(), 1);
}
