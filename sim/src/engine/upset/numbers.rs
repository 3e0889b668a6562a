//! Where a number that a fault may change stands in a case.

use crate::air::{Regulation, saturation_pa};
use crate::engine::Case;
use crate::removal::{Device, Removal};
use crate::upset::{DeviceNumber, HoldNumber, SensorNumber, Target};

/// The number of a target; none where the case has none.
pub(crate) fn number(case: &Case, target: Target) -> Option<f64> {
    match target {
        Target::Device { device, number } => of_device(case.devices.get(device)?, number),
        Target::Exchange(opening) => Some(case.openings.get(opening)?.exchange_m3_s),
        Target::Leak(a) => Some(case.compartments.get(a)?.leak_m3_s),
        Target::LeakArea(a) => Some(case.compartments.get(a)?.leak_area_m2),
        Target::Hold { hold, oxygen, number } => {
            let hold = case.holds.get(hold)?;
            let (set, by) = if oxygen {
                (hold.oxygen_pa, hold.oxygen_by)
            } else {
                (hold.pressure_pa, hold.pressure_by)
            };
            of_regulation(set?, by, number)
        }
        Target::TankAmount(tank) => Some(case.tanks.get(tank)?.amount_mol),
        Target::TankResidue(tank) => Some(case.tanks.get(tank)?.residue_mol),
        Target::Sensor { sensor, number } => {
            let sensor = case.sensors.get(sensor)?;
            Some(match number {
                SensorNumber::Gain => sensor.gain,
                SensorNumber::Bias => sensor.bias,
                // What the fault adds is counted from its own onset.
                SensorNumber::Drift => 0.0,
                SensorNumber::Noise => sensor.noise,
                SensorNumber::Lag => sensor.lag_s,
            })
        }
    }
}

/// Puts a number in its place. Numbers of sensors and stocks are not kept in the case.
pub(crate) fn set_number(case: &mut Case, target: Target, value: f64) {
    match target {
        Target::Device { device, number } => {
            if let Some(device) = case.devices.get_mut(device) {
                set_of_device(device, number, value);
            }
        }
        Target::Exchange(opening) => {
            if let Some(opening) = case.openings.get_mut(opening) {
                opening.exchange_m3_s = value;
            }
        }
        Target::Leak(a) => {
            if let Some(compartment) = case.compartments.get_mut(a) {
                compartment.leak_m3_s = value;
            }
        }
        Target::LeakArea(a) => {
            if let Some(compartment) = case.compartments.get_mut(a) {
                compartment.leak_area_m2 = value;
            }
        }
        Target::Hold { hold, oxygen, number } => {
            let Some(hold) = case.holds.get_mut(hold) else { return };
            let (set, by) = if oxygen {
                (&mut hold.oxygen_pa, &mut hold.oxygen_by)
            } else {
                (&mut hold.pressure_pa, &mut hold.pressure_by)
            };
            if number == HoldNumber::Set {
                *set = Some(value);
            } else {
                set_of_regulation(by, number, value);
            }
        }
        Target::TankResidue(tank) => {
            if let Some(tank) = case.tanks.get_mut(tank) {
                tank.residue_mol = value;
            }
        }
        Target::TankAmount(_) | Target::Sensor { .. } => {}
    }
}

fn of_regulation(set_pa: f64, by: Regulation, number: HoldNumber) -> Option<f64> {
    match (number, by) {
        (HoldNumber::Set, _) => Some(set_pa),
        (HoldNumber::Flow, Regulation::Limited { most_mol_s } | Regulation::Proportional { most_mol_s, .. }) => {
            Some(most_mol_s)
        }
        (HoldNumber::Flow, Regulation::Band { flow_mol_s, .. }) => Some(flow_mol_s),
        (HoldNumber::Width, Regulation::Band { width_pa, .. }) => Some(width_pa),
        (HoldNumber::Gain, Regulation::Proportional { gain_mol_s_pa, .. }) => Some(gain_mol_s_pa),
        _ => None,
    }
}

fn set_of_regulation(by: &mut Regulation, number: HoldNumber, value: f64) {
    match (number, by) {
        (HoldNumber::Flow, Regulation::Limited { most_mol_s } | Regulation::Proportional { most_mol_s, .. }) => {
            *most_mol_s = value;
        }
        (HoldNumber::Flow, Regulation::Band { flow_mol_s, .. }) => *flow_mol_s = value,
        (HoldNumber::Width, Regulation::Band { width_pa, .. }) => *width_pa = value,
        (HoldNumber::Gain, Regulation::Proportional { gain_mol_s_pa, .. }) => *gain_mol_s_pa = value,
        _ => {}
    }
}

/// A number of a device. Of what the family has not: none.
pub(crate) fn of_device(device: &Device, number: DeviceNumber) -> Option<f64> {
    use DeviceNumber::{
        BedMass, BedTemperature, Bypass, Capacity, CarryOver, Co2Desorbs, Co2Efficiency, Co2Rate, Coil, Competition,
        Flow, Holds, Lost, Power, Sharpness, WaterDesorbs, WaterEfficiency, WaterRate,
    };
    match number {
        Capacity => return Some(device.capacity),
        Power => return Some(device.power_w),
        _ => {}
    }
    match (&device.removal, number) {
        (
            Removal::FlowThrough { flow_m3_s, .. }
            | Removal::Condenser { flow_m3_s, .. }
            | Removal::Sorbent { flow_m3_s, .. },
            Flow,
        ) => Some(*flow_m3_s),
        (Removal::FlowThrough { co2_efficiency, .. }, Co2Efficiency) => Some(*co2_efficiency),
        (Removal::FlowThrough { water_efficiency, .. }, WaterEfficiency) => Some(*water_efficiency),
        (Removal::Condenser { bypass, .. } | Removal::Sorbent { bypass, .. }, Bypass) => Some(*bypass),
        (Removal::Condenser { coil_temperature_k, .. }, Coil) => Some(*coil_temperature_k),
        (Removal::Condenser { carry_over, .. }, CarryOver) => Some(*carry_over),
        (Removal::Sorbent { capacity_mol, .. }, Holds) => Some(*capacity_mol),
        (Removal::Sorbent { sharpness, .. }, Sharpness) => Some(*sharpness),
        (Removal::SwingBed(bed), _) => match number {
            Flow => Some(bed.flow_m3_s),
            BedMass => Some(bed.bed_kg),
            BedTemperature => Some(bed.bed_k),
            Competition => Some(bed.competition_kg_mol),
            Co2Rate => Some(bed.rate_1_s[0]),
            WaterRate => Some(bed.rate_1_s[1]),
            Co2Desorbs => Some(bed.desorb_pa[0]),
            WaterDesorbs => Some(bed.desorb_pa[1]),
            Lost => Some(bed.lost_m3),
            _ => None,
        },
        _ => None,
    }
}

/// Sets a number of a device, and what follows from it.
pub(crate) fn set_of_device(device: &mut Device, number: DeviceNumber, value: f64) {
    use DeviceNumber::{
        BedMass, BedTemperature, Bypass, Capacity, CarryOver, Co2Desorbs, Co2Efficiency, Co2Rate, Coil, Competition,
        Flow, Holds, Lost, Power, Sharpness, WaterDesorbs, WaterEfficiency, WaterRate,
    };
    match number {
        Capacity => device.capacity = value,
        Power => device.power_w = value,
        _ => {}
    }
    match (&mut device.removal, number) {
        (
            Removal::FlowThrough { flow_m3_s, .. }
            | Removal::Condenser { flow_m3_s, .. }
            | Removal::Sorbent { flow_m3_s, .. },
            Flow,
        ) => *flow_m3_s = value,
        (Removal::FlowThrough { co2_efficiency, .. }, Co2Efficiency) => *co2_efficiency = value,
        (Removal::FlowThrough { water_efficiency, .. }, WaterEfficiency) => *water_efficiency = value,
        (Removal::Condenser { bypass, .. } | Removal::Sorbent { bypass, .. }, Bypass) => *bypass = value,
        (
            Removal::Condenser {
                coil_temperature_k,
                coil_saturation_pa,
                ..
            },
            Coil,
        ) => {
            *coil_temperature_k = value;
            *coil_saturation_pa = saturation_pa(value);
        }
        (Removal::Condenser { carry_over, .. }, CarryOver) => *carry_over = value,
        (Removal::Sorbent { capacity_mol, .. }, Holds) => *capacity_mol = value,
        (Removal::Sorbent { sharpness, .. }, Sharpness) => *sharpness = value,
        (Removal::SwingBed(bed), _) => match number {
            Flow => bed.flow_m3_s = value,
            BedMass => bed.bed_kg = value,
            BedTemperature => bed.bed_k = value,
            Competition => bed.competition_kg_mol = value,
            Co2Rate => bed.rate_1_s[0] = value,
            WaterRate => bed.rate_1_s[1] = value,
            Co2Desorbs => bed.desorb_pa[0] = value,
            WaterDesorbs => bed.desorb_pa[1] = value,
            Lost => bed.lost_m3 = value,
            _ => {}
        },
        _ => {}
    }
}
