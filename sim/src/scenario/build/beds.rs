//! Canisters and pairs of beds.

use crate::air::Species;
use crate::removal::{Isotherm, Removal, SwingBed};
use crate::scenario::blueprint::{IsothermNums, SorbentNums, SwingBedNums};
use crate::scenario::num::Num;
use crate::units::Time;

const CO2_KG_MOL: f64 = Species::Co2.molar_mass_kg_mol();

/// Whether an input changes the canister.
pub(super) fn sorbent_varies(nums: &SorbentNums) -> bool {
    let others = [nums.sharpness, nums.bypass, nums.loaded];
    nums.flow.varies() || nums.capacity.into_iter().chain(others).any(Num::varies)
}

/// A canister. A draw that holds more than it can is full.
pub(super) fn sorbent(nums: &SorbentNums, values: &[f64]) -> Removal {
    let capacity_mol = nums.capacity.map(|n| n.of(values)).iter().product::<f64>() / CO2_KG_MOL;
    Removal::Sorbent {
        flow_m3_s: nums.flow.of(values),
        capacity_mol,
        sharpness: nums.sharpness.of(values),
        bypass: nums.bypass.of(values),
        water_per_co2: nums.water_per_co2,
        heat_j_mol: nums.heat_j_mol,
        loaded_mol: (nums.loaded.of(values) / CO2_KG_MOL).min(capacity_mol),
        canisters: nums.canisters,
    }
}

/// Whether an input changes the beds.
pub(super) fn swing_bed_varies(nums: &SwingBedNums) -> bool {
    let isotherms = [&nums.co2, &nums.water].into_iter().any(|isotherm| match isotherm {
        IsothermNums::BuiltIn(_) => false,
        IsothermNums::Langmuir(nums) | IsothermNums::Line(nums) => nums.iter().any(|n| n.varies()),
        IsothermNums::Toth(nums) => nums.iter().any(|n| n.varies()),
    });
    let others = [
        nums.bed,
        nums.temperature,
        nums.competition,
        nums.half_cycle,
        nums.ullage,
        nums.saved,
    ];
    let pairs = nums.rates.into_iter().chain(nums.desorb).chain(nums.loaded);
    nums.flow.varies() || isotherms || others.into_iter().chain(pairs).any(Num::varies)
}

/// A pair of beds.
pub(super) fn swing_bed(nums: &SwingBedNums, values: &[f64]) -> SwingBed {
    SwingBed {
        flow_m3_s: nums.flow.of(values),
        bed_kg: nums.bed.of(values),
        bed_k: nums.temperature.of(values),
        co2: isotherm(&nums.co2, values),
        water: isotherm(&nums.water, values),
        competition_kg_mol: nums.competition.of(values),
        rate_1_s: nums.rates.map(|n| n.of(values)),
        desorb_pa: nums.desorb.map(|n| n.of(values)),
        half_cycle: Time::from_seconds(nums.half_cycle.of(values)),
        lost_m3: nums.ullage.of(values) * (1.0 - nums.saved.of(values)),
        loaded_mol_kg: nums.loaded.map(|n| n.of(values)),
        valves: nums.valves,
    }
}

fn isotherm(nums: &IsothermNums, values: &[f64]) -> Isotherm {
    match nums {
        IsothermNums::BuiltIn(isotherm) => *isotherm,
        IsothermNums::Langmuir(nums) => {
            let [most_mol_kg, half_pa] = nums.map(|n| n.of(values));
            Isotherm::Langmuir { most_mol_kg, half_pa }
        }
        IsothermNums::Line(nums) => {
            let [loading, at] = nums.map(|n| n.of(values));
            Isotherm::Linear {
                slope_mol_kg_pa: loading / at,
            }
        }
        IsothermNums::Toth(nums) => {
            let [a0, b0, e_k, t0, c_k] = nums.map(|n| n.of(values));
            Isotherm::Toth { a0, b0, e_k, t0, c_k }
        }
    }
}
