//! Canisters, pairs of beds, fans: from text to numbers.

use super::*;
use crate::removal::{Isotherm, Removal, SwingBed, Valves};
use crate::timeline::Effect;

const CANISTER: &str = "[removal.canister]\nkind = \"sorbent\"\nserves = \"cabin\"\nflow = \"0.6 m3/min\"\n";
const BEDS: &str = "[removal.beds]\nkind = \"swing-bed\"\nserves = \"cabin\"\nflow = \"0.6 m3/min\"\nbed = \"12 kg\"\n\
                    half_cycle = \"30 min\"\n";

fn close(value: f64, expected: f64) {
    assert!((value / expected - 1.0).abs() < 1e-12, "{value} against {expected}");
}

/// Capacity in kg, vapour and heat for each mol of CO2, loading in kg, stock.
fn canister(more: &str) -> (f64, f64, f64, f64, u32) {
    let case = good(&with(&format!("{CANISTER}{more}")), &[]).draw(&Medians).case;
    let Removal::Sorbent {
        flow_m3_s,
        capacity_mol,
        water_per_co2,
        heat_j_mol,
        loaded_mol,
        canisters,
        ..
    } = case.devices[0].removal
    else {
        panic!("no canister");
    };
    close(flow_m3_s, 0.01);
    let kg = Species::Co2.molar_mass_kg_mol();
    (capacity_mol * kg, water_per_co2, heat_j_mol, loaded_mol * kg, canisters)
}

use crate::air::Species;

/// By hand: 2 kg of lithium hydroxide take 2 x 0.044 009 5 / (2 x 0.023 948) kg when all has reacted, and 80 % of that by default.
#[test]
fn what_a_canister_takes() {
    let whole = 2.0 * 0.044_009_5 / (2.0 * 0.023_948);
    let (capacity, water, heat, loaded, stock) = canister("sorbent = \"2 kg\"");
    close(capacity, 0.8 * whole);
    assert_eq!((water, loaded, stock), (1.0, 0.0, 0));
    close(heat, 2.029e6 * 0.044_009_5);
    close(canister("sorbent = \"2 kg\"\nutilisation = \"90 %\"").0, 0.9 * whole);
    // A given uptake is what is reached, unless it says otherwise.
    close(canister("sorbent = \"2 kg\"\nuptake = \"0.75 kg/kg\"").0, 1.5);
    close(
        canister("sorbent = \"2 kg\"\nuptake = \"0.75 kg/kg\"\nutilisation = \"80 %\"").0,
        1.2,
    );
    let lime = canister("sorbent = \"2 kg\"\nchemistry = \"soda-lime\"\nloaded = \"0.1 kg\"\ncanisters = 3");
    close(lime.0, 0.5 * 2.0 * 0.044_009_5 / 0.074_093);
    close(lime.3, 0.1);
    assert_eq!(lime.4, 3);
    let bare = canister("capacity = \"1.7 kg\"\nchemistry = \"none\"");
    close(bare.0, 1.7);
    assert_eq!((bare.1, bare.2), (0.0, 0.0));
}

#[test]
fn what_is_assumed_of_a_canister_is_told() {
    let scenario = good(&with(&format!("{CANISTER}sorbent = \"2 kg\"\n")), &[]);
    let told = |key: &str| {
        let path = format!("removal.canister.{key}");
        let found = scenario.resolved.iter().find(|r| r.path == path).expect("told");
        (found.written.clone(), matches!(found.origin, Origin::Default { .. }))
    };
    assert_eq!(told("uptake"), ("0.9189 kg/kg".to_owned(), true));
    assert_eq!(told("utilisation"), ("80 %".to_owned(), true));
    assert_eq!(told("sharpness"), ("10".to_owned(), true));
}

#[test]
fn a_draw_that_holds_more_than_it_can_is_full() {
    let text = format!(
        "{CANISTER}capacity = {{ uniform = [\"1 kg\", \"2 kg\"] }}\nloaded = {{ normal = [\"0.5 kg\", \"0.1 kg\"], within = [\"0 kg\", \"1 kg\"] }}\n"
    );
    struct Low;
    impl Luck for Low {
        fn uniform(&self, input: usize, _: u32, _: u32) -> f64 {
            if input == 0 { 1e-9 } else { 1.0 - 1e-9 }
        }
    }
    let drawn = good(&with(&text), &[]).draw(&Low);
    let Removal::Sorbent {
        capacity_mol,
        loaded_mol,
        ..
    } = drawn.case.devices[0].removal
    else {
        panic!("no canister");
    };
    assert!(loaded_mol <= capacity_mol && loaded_mol > 0.99 * capacity_mol * 0.9);
}

fn beds(more: &str) -> SwingBed {
    let case = good(&with(&format!("{BEDS}{more}")), &[]).draw(&Medians).case;
    match case.devices[0].removal {
        Removal::SwingBed(bed) => bed,
        _ => panic!("no beds"),
    }
}

#[test]
fn beds_by_default() {
    let bed = beds("");
    close(bed.flow_m3_s, 0.01);
    assert_eq!(
        (bed.co2, bed.water),
        (Isotherm::ZEOLITE_5A_CO2, Isotherm::ZEOLITE_5A_WATER)
    );
    // The air's temperature by default.
    assert_eq!(bed.bed_k, 295.15);
    assert_eq!(bed.half_cycle.seconds(), 1800.0);
    assert_eq!((bed.rate_1_s, bed.desorb_pa, bed.lost_m3), ([0.003; 2], [0.0; 2], 0.0));
    assert_eq!((bed.loaded_mol_kg, bed.valves), ([0.0; 4], Valves::Turning));
}

#[test]
fn beds_as_given() {
    let bed = beds(
        "bed_temperature = \"30 degC\"\nco2_isotherm = { most = \"3 mol/kg\", half = \"1 kPa\" }\n\
         water_isotherm = { loading = \"4 mol/kg\", at = \"2 kPa\" }\ncompetition = 0.5\n\
         rates = { co2 = \"0.3 1/min\" }\ndesorb = { co2 = \"1 mmHg\", water = \"20 Pa\" }\nullage = \"8 L\"\nsaved = \"25 %\"\n\
         loaded = { first_co2 = \"0.1 mol/kg\", second_co2 = \"0.2 mol/kg\", first_water = \"0.3 mol/kg\", second_water = \"0.4 mol/kg\" }\n\
         valves = \"second isolated\"\n",
    );
    let langmuir = Isotherm::Langmuir {
        most_mol_kg: 3.0,
        half_pa: 1000.0,
    };
    assert_eq!((bed.co2, bed.bed_k), (langmuir, 303.15));
    let Isotherm::Linear { slope_mol_kg_pa } = bed.water else {
        panic!("no line");
    };
    close(slope_mol_kg_pa, 0.002);
    close(bed.rate_1_s[0], 0.005);
    assert_eq!(bed.rate_1_s[1], 0.003);
    assert_eq!(bed.desorb_pa, [133.322, 20.0]);
    close(bed.lost_m3, 0.006);
    assert_eq!(bed.loaded_mol_kg, [0.1, 0.2, 0.3, 0.4]);
    assert_eq!(bed.valves, Valves::Isolated(1));
    let toth = "co2_isotherm = { a0 = 9.875e-7, b0 = 6.761e-8, e = \"5625 K\", t0 = 0.27, c = \"-20.02 K\" }\n";
    assert_eq!(beds(toth).co2, Isotherm::ZEOLITE_5A_CO2);
    assert_eq!(beds("lost = \"2 L\"\n").lost_m3, 0.002);
    assert_eq!(beds("valves = \"first stuck\"\n").valves, Valves::Stuck(0));
}

const FED: &str = r#"
[fans.main]
flow = { uniform = ["1 m3/min", "1.4 m3/min"] }
power = "30 W"
[removal.scrubber]
kind = "flow-through"
serves = "cabin"
fan = "main"
co2_efficiency = "80 %"
power = "5 W"
[removal.coil]
kind = "condenser"
serves = "cabin"
fan = "main"
fan_part = "40 %"
coil_temperature = "7 degC"
carry_over = "5 %"
[removal.alone]
kind = "curve"
serves = "cabin"
co2 = [["2 mmHg", "1.1 kg/d"]]
[[tasks]]
id = "quiet"
crew = ["lead"]
effort = "rest"
in = "cabin"
duration = "1 h"
starts = [{ switch_off = "main" }, { switch_off = "alone" }]
ends = [{ switch_on = "main" }]
"#;

#[test]
fn a_fan_gives_its_flow_and_its_power() {
    let scenario = good(&with(FED), &[]);
    let flows = |case: &crate::engine::Case| {
        let (
            Removal::FlowThrough { flow_m3_s: all, .. },
            Removal::Condenser {
                flow_m3_s: part,
                carry_over,
                ..
            },
        ) = (&case.devices[0].removal, &case.devices[1].removal)
        else {
            panic!("other devices");
        };
        assert_eq!(*carry_over, 0.05);
        (*all, *part)
    };
    let medians = scenario.draw(&Medians).case;
    let (all, part) = flows(&medians);
    close(all, 0.02);
    close(part, 0.008);
    assert_eq!([0, 1, 2].map(|n| medians.devices[n].power_w), [20.0, 15.0, 0.0]);
    // One draw of the fan for all that it feeds.
    struct High;
    impl Luck for High {
        fn uniform(&self, _: usize, _: u32, _: u32) -> f64 {
            0.75
        }
    }
    let (all, part) = flows(&scenario.draw(&High).case);
    close(all, 1.3 / 60.0);
    close(part, 0.4 * 1.3 / 60.0);
    assert_eq!(scenario.inputs.len(), 1);
}

#[test]
fn to_switch_a_fan_is_to_switch_what_it_feeds() {
    let case = good(&with(FED), &[]).draw(&Medians).case;
    let task = &case.plan.tasks[0];
    assert_eq!(
        task.starts,
        [Effect::SwitchOff(0), Effect::SwitchOff(1), Effect::SwitchOff(2)]
    );
    assert_eq!(task.ends, [Effect::SwitchOn(0), Effect::SwitchOn(1)]);
}

/// By hand, for what `check` tells: a fresh canister takes nearly all, half used the same, and at 90 % used 1 - e^-1 with N = 10.
#[test]
fn rates_of_a_canister_by_its_loading() {
    let scenario = good(
        &with(&format!("{CANISTER}sorbent = \"2 kg\"\nbypass = \"10 %\"\n")),
        &[],
    );
    let case = scenario.draw(&Medians).case;
    let rates = &scenario.device_rates(&case, &[100.0, 400.0], &[0.5])[0];
    let carried = 0.01 * 0.9 / (8.314_462_618 * 295.15);
    assert_eq!(rates.co2.len(), 3);
    close(rates.co2[0].taken_mol_s[1], carried * 400.0 * (1.0 - (-10.0_f64).exp()));
    close(rates.co2[2].taken_mol_s[0], carried * 100.0 * (1.0 - (-1.0_f64).exp()));
    assert!(rates.water.is_empty());
    let summary = &scenario.device_summaries(&case)[0];
    close(
        summary.co2_s.expect("it takes CO2"),
        11.5 / (0.009 * (1.0 - (-10.0_f64).exp())),
    );
    assert_eq!(summary.water_s, None);
}

/// A clean bed takes more than the mean of its cycle, and neither more than the flow carries.
#[test]
fn rates_of_beds_clean_and_on_the_mean() {
    let scenario = good(&with(BEDS), &[]);
    let case = scenario.draw(&Medians).case;
    let at = [50.0, 400.0, 1000.0];
    let rates = &scenario.device_rates(&case, &at, &[0.4])[0];
    let [clean, mean] = [0, 1].map(|n| &rates.co2[n].taken_mol_s);
    for (n, p) in at.into_iter().enumerate() {
        let carried = 0.01 * p / (8.314_462_618 * 295.15);
        assert!(
            0.0 < mean[n] && mean[n] < clean[n] && clean[n] < carried,
            "{p}: {mean:?} {clean:?}"
        );
    }
    assert_eq!(rates.water.len(), 2);
}
