//! Removal devices.

use crate::air::saturation_pa;
use crate::removal::{Cycle, Device, Removal};
use crate::scenario::blueprint::{CycleNums, DeviceNums, Family};
use crate::scenario::num::Num;
use crate::units::Time;

use super::beds;

/// Whether an input changes the device.
pub(super) fn varies(nums: &DeviceNums) -> bool {
    let family = match &nums.family {
        Family::FlowThrough { flow, co2, water } => flow.varies() || [co2, water].into_iter().any(|n| n.varies()),
        Family::Curve { co2, water, .. } => co2.iter().chain(water).any(|(p, q)| p.varies() || q.varies()),
        Family::Condenser {
            flow,
            bypass,
            coil,
            carry_over,
        } => flow.varies() || [bypass, coil, carry_over].into_iter().any(|n| n.varies()),
        Family::Sorbent(nums) => beds::sorbent_varies(nums),
        Family::SwingBed(nums) => beds::swing_bed_varies(nums),
    };
    let power = nums.power.varies() || nums.fan_power.is_some_and(|(power, _)| power.varies());
    family
        || power
        || nums
            .cycle
            .as_ref()
            .is_some_and(|c| c.every.varies() || c.factors.iter().any(|f| f.varies()))
}

/// The device.
pub(super) fn device(nums: &DeviceNums, values: &[f64]) -> Device {
    let removal = match &nums.family {
        Family::FlowThrough { .. } => Removal::FlowThrough {
            flow_m3_s: 0.0,
            co2_efficiency: 0.0,
            water_efficiency: 0.0,
        },
        Family::Curve { .. } => Removal::Curve {
            co2: Vec::new(),
            water: Vec::new(),
        },
        Family::Condenser { .. } => Removal::Condenser {
            flow_m3_s: 0.0,
            bypass: 0.0,
            coil_saturation_pa: 0.0,
            coil_temperature_k: 0.0,
            carry_over: 0.0,
        },
        Family::Sorbent(nums) => beds::sorbent(nums, values),
        Family::SwingBed(nums) => Removal::SwingBed(beds::swing_bed(nums, values)),
    };
    let cycle = nums.cycle.as_ref().map(|_| Cycle {
        every: Time::ZERO,
        factors: Vec::new(),
    });
    let mut device = Device {
        serves: nums.serves,
        on: nums.on,
        removal,
        power_w: 0.0,
        capacity: 1.0,
        cycle,
    };
    fill(nums, &mut device, values);
    device
}

/// The values of a device whose structure is there.
pub(super) fn fill(nums: &DeviceNums, device: &mut Device, values: &[f64]) {
    let mut highest = 0.0_f64;
    let of_fan = nums.fan_power.map_or(0.0, |(power, part)| power.of(values) * part);
    device.power_w = nums.power.of(values) + of_fan;
    match (&nums.family, &mut device.removal) {
        (
            Family::FlowThrough { flow, co2, water },
            Removal::FlowThrough {
                flow_m3_s,
                co2_efficiency,
                water_efficiency,
            },
        ) => {
            *flow_m3_s = flow.of(values);
            *co2_efficiency = co2.of(values);
            *water_efficiency = water.of(values);
            highest = co2_efficiency.max(*water_efficiency);
        }
        (
            Family::Curve { co2, water, .. },
            Removal::Curve {
                co2: co2_to,
                water: water_to,
            },
        ) => {
            points(co2, co2_to, values);
            points(water, water_to, values);
        }
        (
            Family::Condenser {
                flow,
                bypass,
                coil,
                carry_over,
            },
            Removal::Condenser {
                flow_m3_s,
                bypass: part,
                coil_saturation_pa,
                coil_temperature_k,
                carry_over: carried,
            },
        ) => {
            *flow_m3_s = flow.of(values);
            *part = bypass.of(values);
            *coil_temperature_k = coil.of(values);
            *coil_saturation_pa = saturation_pa(*coil_temperature_k);
            *carried = carry_over.of(values);
        }
        (Family::Sorbent(nums), removal) => *removal = beds::sorbent(nums, values),
        (Family::SwingBed(nums), Removal::SwingBed(bed)) => *bed = beds::swing_bed(nums, values),
        _ => {}
    }
    if let (Some(from), Some(to)) = (&nums.cycle, &mut device.cycle) {
        cycle(from, to, highest, values);
    }
}

/// Points of a curve; where spreads let two meet or cross, the later pressure is moved up just enough to rise.
fn points(from: &[(Num, Num)], to: &mut Vec<(f64, f64)>, values: &[f64]) {
    to.clear();
    let mut before = 0.0_f64;
    for (pressure, rate) in from {
        let p = pressure.of(values).max(before * (1.0 + 1e-9));
        to.push((p, rate.of(values)));
        before = p;
    }
}

/// Turns; a factor is held to what makes the efficiency one.
fn cycle(from: &CycleNums, to: &mut Cycle, highest: f64, values: &[f64]) {
    to.every = Time::from_seconds(from.every.of(values));
    to.factors.clear();
    for factor in &from.factors {
        let factor = factor.of(values);
        to.factors
            .push(if factor * highest > 1.0 { 1.0 / highest } else { factor });
    }
}
