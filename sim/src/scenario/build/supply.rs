//! Tanks, and what is held from them.

use crate::air::{Hold, Regulation, Tank};
use crate::scenario::blueprint::{ByNums, HoldNums, SideNums, TankNums};

/// The tank. `air_pa`: the pressure of `[air]`, at which no more comes out of it.
pub(super) fn tank(nums: &TankNums, air_pa: f64, values: &[f64]) -> Tank {
    let molar_mass = nums.gas.molar_mass_kg_mol();
    let amount_mol = nums.amount.of(values) / molar_mass;
    let left = nums.supply_pressure.map_or(0.0, |p| (air_pa / p.of(values)).min(1.0));
    Tank {
        gas: nums.gas,
        amount_mol,
        residue_mol: left * amount_mol,
        reserve_mol: nums.reserve.of(values) / molar_mass,
    }
}

/// The hold.
pub(super) fn hold(nums: &HoldNums, values: &[f64]) -> Hold {
    let pa = |side: &SideNums| side.hold.of(values);
    let by = |side: Option<SideNums>| side.map_or(Regulation::Ideal, |s| regulation(s.by, values));
    Hold {
        compartment: nums.compartment,
        oxygen_pa: nums.oxygen.as_ref().map(pa),
        oxygen_by: by(nums.oxygen),
        oxygen_from: nums.oxygen.and_then(|s| s.from),
        pressure_pa: nums.pressure.as_ref().map(pa),
        pressure_by: by(nums.pressure),
        pressure_from: nums.pressure.and_then(|s| s.from),
    }
}

fn regulation(by: ByNums, values: &[f64]) -> Regulation {
    match by {
        ByNums::Ideal => Regulation::Ideal,
        ByNums::Limited { flow } => Regulation::Limited {
            most_mol_s: flow.of(values),
        },
        ByNums::Band { width, flow } => Regulation::Band {
            width_pa: width.of(values),
            flow_mol_s: flow.of(values),
        },
        ByNums::Proportional { full_at, flow } => {
            let most_mol_s = flow.of(values);
            Regulation::Proportional {
                gain_mol_s_pa: most_mol_s / full_at.of(values),
                most_mol_s,
            }
        }
    }
}
