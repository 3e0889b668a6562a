//! What `check` says of removal devices: how fast they clear their compartment, what their canisters are, and what they take at a few
//! partial pressures around the scenario's limits.

use breathroom_sim::air::Species;
use breathroom_sim::crew::kg_per_day;
use breathroom_sim::scenario::{DeviceRates, Medians, Scenario, StateRates};
use serde::Serialize;

use crate::results::numbers::short;
use crate::results::text;

/// Relative humidities at which the removal of water is told: from a dry cabin to the edge of dripping walls.
const HUMIDITIES: [f64; 5] = [0.25, 0.40, 0.55, 0.70, 0.85];
const PA_PER_MMHG: f64 = 133.322;

/// A device on the medians. V/(e Q) is the time in which it would clear its compartment once.
#[derive(Serialize)]
pub struct Device {
    device: String,
    serves: String,
    on: bool,
    co2_clearing_min: Option<f64>,
    water_clearing_min: Option<f64>,
    canister: Option<Canister>,
    co2_rates: Vec<Rates>,
    water_rates: Vec<Rates>,
}

#[derive(Serialize)]
struct Canister {
    capacity_kg: f64,
    stock: u32,
    vapour_kg_per_kg_co2: f64,
    heat_mj_per_kg_co2: f64,
}

/// What it takes in a state, by CO2 in mmHg or by relative humidity in % at the inlet; below zero it gives off.
#[derive(Serialize)]
struct Rates {
    state: &'static str,
    at: Vec<f64>,
    taken_kg_d: Vec<f64>,
}

/// The devices of a scenario.
pub fn devices(scenario: &Scenario) -> Vec<Device> {
    let case = scenario.draw(&Medians).case;
    // As people would write them, so that the rates are those at what is printed.
    let co2_mmhg: Vec<f64> = scenario
        .co2_of_note_pa(&case)
        .iter()
        .map(|p| rounded(p / PA_PER_MMHG))
        .collect();
    let co2_pa: Vec<f64> = co2_mmhg.iter().map(|p| p * PA_PER_MMHG).collect();
    let percent: Vec<f64> = HUMIDITIES.iter().map(|h| (100.0 * h).round()).collect();
    let summaries = scenario.device_summaries(&case);
    let rates = scenario.device_rates(&case, &co2_pa, &HUMIDITIES);
    let both = summaries.into_iter().zip(rates);
    both.map(|(of, DeviceRates { co2, water, .. })| Device {
        device: of.device,
        serves: of.serves,
        on: of.on,
        co2_clearing_min: of.co2_s.map(|s| s / 60.0),
        water_clearing_min: of.water_s.map(|s| s / 60.0),
        canister: of.canister.map(|of| Canister {
            capacity_kg: of.capacity_kg,
            stock: of.stock,
            vapour_kg_per_kg_co2: of.vapour_kg_kg,
            heat_mj_per_kg_co2: of.heat_j_kg * 1e-6,
        }),
        co2_rates: told_at(co2, &co2_mmhg, Species::Co2),
        water_rates: told_at(water, &percent, Species::Water),
    })
    .collect()
}

fn told_at(rows: Vec<StateRates>, at: &[f64], species: Species) -> Vec<Rates> {
    let in_kg = |taken: &f64| kg_per_day(*taken, species);
    rows.into_iter()
        .map(|row| Rates {
            state: row.state,
            at: at.to_vec(),
            taken_kg_d: row.taken_mol_s.iter().map(in_kg).collect(),
        })
        .collect()
}

/// To two significant digits.
fn rounded(value: f64) -> f64 {
    let unit = 10.0_f64.powi(value.log10().floor() as i32 - 1);
    (value / unit).round() * unit
}

/// The part of `check` that tells of devices; empty without any.
pub fn told(devices: &[Device]) -> String {
    if devices.is_empty() {
        return String::new();
    }
    let mut said = String::from("\nRemoval devices, on the medians\n");
    for device in devices {
        said.push_str(&text::indented(&told_device(device), 2));
    }
    let title = "\nCO2 taken (kg/d) at partial pressures at the inlet\n";
    said.push_str(&table(title, devices, |d| &d.co2_rates, " mmHg"));
    let title = "\nWater taken (kg/d) at relative humidities at the inlet\n";
    said.push_str(&table(title, devices, |d| &d.water_rates, " %"));
    said
}

/// "scrubber, serves cabin: V/(e Q) 18.2 min for CO2, takes no water".
fn told_device(device: &Device) -> String {
    let clears = |minutes: Option<f64>, what: &str| match minutes {
        Some(minutes) => format!("V/(e Q) {} min for {what}", short(minutes)),
        None => format!("takes no {what}"),
    };
    let off = if device.on { "" } else { " (off at the start)" };
    let canister = device.canister.as_ref().map_or_else(String::new, |canister| {
        let gives = if canister.vapour_kg_per_kg_co2 > 0.0 {
            format!(
                " and gives off {} kg of vapour and {} MJ for each kg",
                short(canister.vapour_kg_per_kg_co2),
                short(canister.heat_mj_per_kg_co2)
            )
        } else {
            String::new()
        };
        format!(
            "; a canister takes {} kg of CO2{gives}, {} in stock",
            short(canister.capacity_kg),
            canister.stock
        )
    });
    format!(
        "{}, serves {}{off}: {}, {}{canister}",
        device.device,
        device.serves,
        clears(device.co2_clearing_min, "CO2"),
        clears(device.water_clearing_min, "water")
    )
}

/// A table of what devices take; empty if none takes any.
fn table(title: &str, devices: &[Device], of: fn(&Device) -> &Vec<Rates>, unit: &str) -> String {
    let Some(at) = devices.iter().flat_map(of).map(|rates| &rates.at).next() else {
        return String::new();
    };
    let heads: Vec<String> = at.iter().map(|at| format!("{}{unit}", short(*at))).collect();
    let mut header = vec!["device", "state"];
    header.extend(heads.iter().map(String::as_str));
    let mut rows = Vec::new();
    for device in devices {
        for (n, rates) in of(device).iter().enumerate() {
            let name = if n == 0 { device.device.clone() } else { String::new() };
            let mut row = vec![name, rates.state.to_owned()];
            row.extend(rates.taken_kg_d.iter().map(|taken| short(*taken)));
            rows.push(row);
        }
    }
    format!("{title}{}", text::grid(&header, &rows, 2))
}
