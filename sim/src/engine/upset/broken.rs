//! What is broken: put into the case and the mode, and taken out again.

use crate::engine::Case;
use crate::engine::mode::Mode;
use crate::removal::{Removal, Valves};
use crate::upset::Broken;

/// Brings valves and modes from what was broken to what is.
pub(super) fn break_things(case: &mut Case, mode: &mut Mode, broken: &[Broken]) {
    for undone in std::mem::take(&mut mode.broken) {
        match undone {
            Broken::BedsStuck { device, .. } => {
                if let Removal::SwingBed(bed) = &mut case.devices[device].removal
                    && let Some(valves) = mode.plain_valves[device].take()
                {
                    bed.valves = valves;
                }
            }
            Broken::ReliefOpen(a) | Broken::ReliefShut(a) => {
                if let Some(relief) = mode.plain_relief[a].take() {
                    case.compartments[a].relief = Some(relief);
                }
            }
            _ => {}
        }
    }
    mode.broken.extend_from_slice(broken);
    for is_off in &mut mode.failed {
        *is_off = false;
    }
    for stuck in &mut mode.stuck {
        *stuck = false;
    }
    for shut in &mut mode.shut_valves {
        *shut = [false; 2];
    }
    for broken in broken {
        match *broken {
            Broken::DeviceOff(device) => mode.failed[device] = true,
            Broken::BedsStuck { device, bed } => {
                let turn = mode.beds_turn[device];
                if let Removal::SwingBed(own) = &mut case.devices[device].removal {
                    mode.plain_valves[device].get_or_insert(own.valves);
                    let adsorbs = own.at_turn(turn).adsorbs;
                    own.valves = Valves::Stuck(bed.or(adsorbs).unwrap_or(0));
                }
            }
            Broken::OpeningStuck(opening) => mode.stuck[opening] = true,
            Broken::HoldShut { hold, oxygen } => mode.shut_valves[hold][usize::from(!oxygen)] = true,
            Broken::ReliefOpen(a) => {
                if let Some(relief) = &mut case.compartments[a].relief {
                    mode.plain_relief[a].get_or_insert(*relief);
                    (relief.opens_pa, relief.closes_pa) = (0.0, 0.0);
                }
            }
            Broken::ReliefShut(a) => {
                if let Some(relief) = case.compartments[a].relief.take() {
                    mode.plain_relief[a].get_or_insert(relief);
                }
                mode.relief[a] = false;
            }
            Broken::SensorStuck { .. } | Broken::SensorDead(_) => {}
        }
    }
    for device in 0..mode.on.len() {
        mode.on[device] = mode.wanted[device] && !mode.failed[device];
    }
}
