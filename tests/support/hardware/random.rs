//! Random cases with real hardware from a seed: a cabin with a lock, perhaps a side room, and suits; beds, canisters,
//! condensers; holds of every kind on tanks that may run dry; heat, leaks, relief valves; vents, fills, equalisations; and,
//! where it is a vacuum outside, a sortie.
//!
//! Instants are drawn so that what has no documented order (a turn of a bed and a hatch, say) does not meet by chance.

use breathroom_sim::air::{
    Heat, Hold, Insulation, Outside, Place, Regulation, Relief, Species, Surface, SurfaceKind, Tank, WallHeat,
};
use breathroom_sim::crew::{Load, Suit};
use breathroom_sim::engine::Case;
use breathroom_sim::removal::{Device, Isotherm, Removal, SwingBed, Valves};
use breathroom_sim::timeline::{Effect, Pace, Plan, SuitUse, Task};
use breathroom_sim::units::Time;

use crate::cases::{self, hours, load, minutes, opening, person, room, saturation_pa, seconds, steady};
use crate::random::Dice;

/// Zeolite 5A and CO2, coefficients from memory.
pub const ZEOLITE_CO2: Isotherm = Isotherm::Toth {
    a0: 9.875e-7,
    b0: 6.761e-8,
    e_k: 5625.0,
    t0: 0.27,
    c_k: -20.02,
};
/// Zeolite 5A and water, coefficients from memory.
pub const ZEOLITE_WATER: Isotherm = Isotherm::Toth {
    a0: 1.106e-8,
    b0: 4.714e-10,
    e_k: 9955.0,
    t0: 0.3548,
    c_k: -51.14,
};

/// The cabin, the lock, and the hatch between them in every random case.
const CABIN: usize = 0;
const LOCK: usize = 1;
const HATCH: usize = 0;

/// A random case.
#[must_use]
pub fn case(seed: u64) -> Case {
    let mut dice = Dice::new(seed ^ 0x4841_5244);
    let total_pa = if dice.chance(0.6) { 56_500.0 } else { 101_325.0 };
    let mut out = cases::case(hours(dice.real(4.0, 8.0)), Vec::new());
    out.oxygen_floor_pa = 2000.0;
    out.compartments.push(filled(&mut dice, 25.0, total_pa));
    let lock_m3 = dice.real(3.0, 6.0);
    out.compartments.push(filled(&mut dice, lock_m3, total_pa));
    out.openings = vec![opening(CABIN, LOCK, dice.real(0.01, 0.05))];
    out.openings[HATCH].opens_within_pa = 2000.0;
    if dice.chance(0.4) {
        let side_m3 = dice.real(4.0, 12.0);
        let side = filled(&mut dice, side_m3, total_pa);
        out.compartments.push(side);
        out.openings.push(opening(CABIN, 2, dice.real(0.01, 0.05)));
    }
    if dice.chance(0.25) {
        out.outside = Outside {
            partial_pa: [45.0, 900.0, 21_000.0, 79_380.0],
            temperature_k: dice.real(285.0, 300.0),
        };
    }
    tanks(&mut dice, &mut out);
    holds(&mut dice, &mut out, total_pa);
    devices(&mut dice, &mut out);
    cabin(&mut dice, &mut out, total_pa);
    let vacuum = out.outside.partial_pa.iter().sum::<f64>() <= 0.0;
    people(&mut dice, &mut out, vacuum);
    out.plan = Plan {
        effort_space_m3: vec![1.0, 1.0],
        ..Plan::default()
    };
    if vacuum && dice.chance(0.7) {
        sortie(&mut dice, &mut out, total_pa);
    } else {
        transfers(&mut dice, &mut out, total_pa);
    }
    chores(&mut dice, &mut out);
    out
}

fn filled(dice: &mut Dice, volume_m3: f64, total_pa: f64) -> breathroom_sim::air::Compartment {
    let temperature_k = dice.real(291.0, 299.0);
    let (co2, vapour) = (
        dice.real(50.0, 500.0),
        dice.real(0.3, 0.6) * saturation_pa(temperature_k),
    );
    let oxygen = dice.real(18_600.0, 20_500.0);
    room(
        volume_m3,
        temperature_k,
        [co2, vapour, oxygen, total_pa - co2 - vapour - oxygen],
    )
}

/// Oxygen and diluent for the cabin; and oxygen for fills.
fn tanks(dice: &mut Dice, out: &mut Case) {
    for (gas, most) in [
        (Species::Oxygen, 40.0),
        (Species::Diluent, 60.0),
        (Species::Oxygen, 300.0),
    ] {
        out.tanks.push(Tank {
            gas,
            amount_mol: dice.real(0.1, 1.0) * most,
            residue_mol: dice.real(0.0, 0.05) * most,
            reserve_mol: dice.real(0.0, 0.5) * most,
        });
    }
}

fn regulation(dice: &mut Dice, width_pa: f64, flow_mol_s: f64) -> Regulation {
    match dice.below(4) {
        0 => Regulation::Ideal,
        1 => Regulation::Limited {
            most_mol_s: dice.real(0.3, 2.0) * flow_mol_s,
        },
        2 => Regulation::Band {
            width_pa: dice.real(0.3, 1.0) * width_pa,
            flow_mol_s: dice.real(1.5, 5.0) * flow_mol_s,
        },
        _ => Regulation::Proportional {
            gain_mol_s_pa: dice.real(0.5, 3.0) * flow_mol_s / width_pa,
            most_mol_s: if dice.chance(0.5) {
                f64::INFINITY
            } else {
                dice.real(0.5, 2.0) * flow_mol_s
            },
        },
    }
}

fn holds(dice: &mut Dice, out: &mut Case, total_pa: f64) {
    let mut hold = Hold {
        oxygen_by: regulation(dice, 200.0, 1e-3),
        pressure_by: regulation(dice, 300.0, 1e-3),
        ..cases::hold(CABIN, Some(dice.real(18_000.0, 18_550.0)), None)
    };
    if dice.chance(0.7) {
        hold.pressure_pa = Some(total_pa * dice.real(0.985, 0.998));
    }
    hold.oxygen_from = dice.chance(0.6).then_some(0);
    hold.pressure_from = dice.chance(0.6).then_some(1);
    out.holds.push(hold);
}

fn devices(dice: &mut Dice, out: &mut Case) {
    let mut add = |dice: &mut Dice, removal: Removal| {
        out.devices.push(Device {
            serves: CABIN,
            on: dice.chance(0.85),
            removal,
            power_w: dice.real(0.0, 60.0),
            capacity: 1.0,
            cycle: None,
        });
    };
    // The first is the one whose canister is changed.
    let sorbent = Removal::Sorbent {
        flow_m3_s: dice.real(0.004, 0.012),
        capacity_mol: dice.real(4.0, 20.0),
        sharpness: dice.real(4.0, 25.0),
        bypass: dice.real(0.0, 0.1),
        water_per_co2: dice.real(0.0, 1.0),
        heat_j_mol: 89_000.0,
        loaded_mol: dice.real(0.0, 2.0),
        canisters: dice.below(2) as u32,
    };
    add(dice, sorbent);
    if dice.chance(0.7) {
        let zeolite = dice.chance(0.5);
        let bed = SwingBed {
            flow_m3_s: dice.real(0.005, 0.015),
            bed_kg: dice.real(1.0, 6.0),
            bed_k: dice.real(290.0, 310.0),
            co2: if zeolite {
                ZEOLITE_CO2
            } else {
                Isotherm::Langmuir {
                    most_mol_kg: 2.0,
                    half_pa: dice.real(200.0, 900.0),
                }
            },
            water: match dice.below(3) {
                0 => ZEOLITE_WATER,
                1 => Isotherm::Linear { slope_mol_kg_pa: 1e-3 },
                _ => Isotherm::Linear { slope_mol_kg_pa: 0.0 },
            },
            competition_kg_mol: dice.real(0.0, 0.5),
            rate_1_s: [dice.real(5e-4, 3e-3), dice.real(5e-4, 3e-3)],
            desorb_pa: [dice.real(5.0, 60.0), dice.real(5.0, 60.0)],
            half_cycle: seconds(dice.real(400.0, 1500.0)),
            lost_m3: dice.real(0.0, 0.01),
            loaded_mol_kg: [0.1, 0.3, 0.1, 0.2],
            valves: match dice.below(5) {
                0 => Valves::Stuck(dice.below(2)),
                1 => Valves::Isolated(dice.below(2)),
                _ => Valves::Turning,
            },
        };
        add(dice, Removal::SwingBed(bed));
    }
    if dice.chance(0.6) {
        let coil_k = dice.real(278.0, 285.0);
        let removal = Removal::Condenser {
            flow_m3_s: dice.real(0.005, 0.03),
            bypass: dice.real(0.0, 0.4),
            coil_saturation_pa: saturation_pa(coil_k),
            coil_temperature_k: coil_k,
            carry_over: dice.real(0.0, 0.1),
        };
        add(dice, removal);
    }
}

/// What the cabin has beside gas: heat, films, leaks, a relief valve.
fn cabin(dice: &mut Dice, out: &mut Case, total_pa: f64) {
    let cabin = &mut out.compartments[CABIN];
    let wall_k = cabin.temperature_k - dice.real(1.0, 6.0);
    if dice.chance(0.4) {
        let insulation = if dice.chance(0.5) {
            Insulation::Conductance(dice.real(1.0, 6.0))
        } else {
            Insulation::Emittance(dice.real(0.3, 2.0))
        };
        cabin.heat = Some(Heat {
            equipment_w: dice.real(50.0, 400.0),
            wall: dice.chance(0.8).then_some(WallHeat {
                temperature_k: wall_k,
                to_air_w_k: dice.real(30.0, 120.0),
                capacity_j_k: dice.real(5e4, 5e5),
                insulation,
                surroundings_k: dice.real(230.0, 285.0),
            }),
        });
    }
    if dice.chance(0.5) {
        cabin.surfaces.push(Surface {
            kind: SurfaceKind::Wall,
            temperature_k: wall_k,
            saturation_pa: super::laws::saturation_pa(wall_k),
            conductance_mol_s_pa: dice.real(1e-6, 2e-5),
        });
    }
    cabin.leak_m3_s = if dice.chance(0.5) { dice.real(1e-7, 1e-5) } else { 0.0 };
    if dice.chance(0.5) {
        cabin.leak_area_m2 = dice.real(1e-9, 3e-8);
    }
    if dice.chance(0.4) {
        cabin.relief = Some(Relief {
            opens_pa: total_pa * dice.real(1.001, 1.01),
            closes_pa: total_pa * dice.real(0.999, 1.0),
            area_m2: dice.real(1e-6, 1e-5),
        });
    }
}

fn people(dice: &mut Dice, out: &mut Case, vacuum: bool) {
    for p in 0..2 {
        let oxygen = dice.real(2.5e-4, 4e-4);
        let rest = Load {
            sensible_w: 90.0,
            ..load(oxygen, 0.87 * oxygen, dice.real(6e-4, 1.2e-3))
        };
        let work = Load {
            sensible_w: 150.0,
            ..load(3.0 * oxygen, 2.7 * oxygen, dice.real(1e-3, 2e-3))
        };
        let mut who = person(CABIN, vec![steady(rest), steady(work)]);
        who.profiles[1].sweat_lag = dice.chance(0.5);
        who.home = None;
        out.people.push(who);
        if !vacuum {
            continue;
        }
        let compartment = out.compartments.len();
        let temperature_k = dice.real(290.0, 300.0);
        out.compartments
            .push(room(0.05, temperature_k, [60.0, 800.0, 19_000.0, 36_000.0]));
        let tank = out.tanks.len();
        out.tanks.push(Tank {
            gas: Species::Oxygen,
            amount_mol: dice.real(15.0, 40.0),
            residue_mol: 0.2,
            reserve_mol: 2.0,
        });
        out.suits.push(Suit {
            wearer: p,
            compartment,
            above_pa: dice.real(25_000.0, 30_000.0),
            tank: Some(tank),
            supply: dice.chance(0.7).then_some(2),
            ventilation_m3_s: dice.real(1e-3, 3e-3),
            purge_mol_s: dice.real(5e-3, 2e-2),
            leak_m3_s: dice.real(1e-7, 2e-6),
        });
        // The suit's own canister.
        let removal = Removal::FlowThrough {
            flow_m3_s: dice.real(5e-4, 2e-3),
            co2_efficiency: 0.9,
            water_efficiency: 0.5,
        };
        out.devices.push(Device {
            serves: compartment,
            on: true,
            removal,
            power_w: 0.0,
            capacity: 1.0,
            cycle: None,
        });
    }
}

/// A task of both people in a place with their suits worn in one way, after the one before.
fn both(out: &mut Case, place: Place, suit: SuitUse, effort: usize, long: Time) -> usize {
    let earliest = out.plan.tasks.last().map_or(minutes(20.3), |_| Time::ZERO);
    let mut task: Task = cases::task(0, effort, place, earliest, long);
    let index = out.plan.tasks.len();
    task.people = vec![0, 1];
    task.entry = index;
    task.suit = suit;
    if index > 0 {
        task.after = vec![index - 1];
    }
    out.plan.tasks.push(task);
    index
}

fn fill(dice: &mut Dice, to_pa: f64) -> Effect {
    Effect::Fill {
        compartment: LOCK,
        to_pa,
        pace: if dice.chance(0.5) {
            Pace::Over(seconds(dice.real(200.0, 500.0)))
        } else {
            Pace::At(dice.real(0.1, 0.4))
        },
        oxygen: dice.real(0.3, 0.5),
        oxygen_from: dice.chance(0.5).then_some(2),
        diluent_from: None,
    }
}

fn vent(dice: &mut Dice, to_pa: f64) -> Effect {
    Effect::Vent {
        compartment: LOCK,
        to_pa,
        pace: if dice.chance(0.5) {
            Pace::Over(seconds(dice.real(200.0, 700.0)))
        } else {
            Pace::Through(dice.real(3e-5, 2e-4))
        },
    }
}

fn equalise(dice: &mut Dice) -> Effect {
    Effect::Equalise {
        opening: HATCH,
        pace: if dice.chance(0.5) {
            Pace::Over(seconds(dice.real(100.0, 400.0)))
        } else {
            Pace::Through(dice.real(2e-5, 1e-4))
        },
    }
}

fn sortie(dice: &mut Dice, out: &mut Case, total_pa: f64) {
    let lock = Place::Compartment(LOCK);
    let mut long = |low: f64, high: f64| seconds(dice.real(60.0 * low, 60.0 * high));
    let (a, b, c, d, e, f, g) = (
        long(5.0, 15.0),
        long(4.0, 10.0),
        long(8.0, 20.0),
        long(3.0, 6.0),
        long(30.0, 60.0),
        long(3.0, 8.0),
        long(4.0, 9.0),
    );
    let don = both(out, lock, SuitUse::Ventilated, 0, a);
    out.plan.tasks[don].ends = vec![Effect::Close(HATCH)];
    both(out, lock, SuitUse::Purged, 0, b);
    both(out, lock, SuitUse::Closed, 0, c);
    let depress = both(out, lock, SuitUse::Pressurised, 0, d);
    let first = vent(dice, dice.clone().real(8_000.0, 20_000.0));
    out.plan.tasks[depress].ends = vec![first, vent(dice, 0.0)];
    both(out, Place::Outside, SuitUse::Pressurised, 1, e);
    let repress = both(out, lock, SuitUse::Pressurised, 0, f);
    let part = dice.real(0.7, 0.92);
    out.plan.tasks[repress].ends = vec![fill(dice, part * total_pa), equalise(dice), Effect::Open(HATCH)];
    let doff = both(out, lock, SuitUse::Closed, 0, g);
    out.plan.tasks[doff].ends = vec![Effect::Recharge(0)];
    both(out, Place::Compartment(CABIN), SuitUse::Off, 0, minutes(10.0));
}

/// The lock is closed, vented or filled, made equal again, and opened, by people in the cabin.
fn transfers(dice: &mut Dice, out: &mut Case, total_pa: f64) {
    let cabin = Place::Compartment(CABIN);
    let outside: f64 = out.outside.partial_pa.iter().sum();
    let long = seconds(dice.real(600.0, 1500.0));
    let close = both(out, cabin, SuitUse::Off, 0, long);
    out.plan.tasks[close].starts = vec![Effect::Close(HATCH)];
    let mut list = Vec::new();
    let low = (0.3 * total_pa).max(1.02 * outside);
    if low < 0.9 * total_pa {
        let to_pa = dice.real(low, 0.9 * total_pa);
        list.push(vent(dice, to_pa));
        if dice.chance(0.5) {
            let to_pa = total_pa * dice.real(0.91, 0.95);
            list.push(fill(dice, to_pa));
        }
    } else {
        let to_pa = total_pa * dice.real(1.02, 1.1);
        list.push(fill(dice, to_pa));
    }
    list.extend([equalise(dice), Effect::Open(HATCH)]);
    if dice.chance(0.5) {
        out.plan.tasks[close].ends = list;
    } else {
        let work = both(out, cabin, SuitUse::Off, 1, long);
        out.plan.tasks[work].starts = list;
    }
}

/// A fresh canister, and a device that is switched off and on, by whoever is at it last.
fn chores(dice: &mut Dice, out: &mut Case) {
    let cabin = Place::Compartment(CABIN);
    let long = seconds(dice.real(300.0, 900.0));
    let change = both(out, cabin, SuitUse::Off, 0, long);
    out.plan.tasks[change].starts = vec![Effect::ChangeCanister(0)];
    let off = dice.below(out.devices.len().min(3));
    let long = seconds(dice.real(900.0, 1800.0));
    let rest = both(out, cabin, SuitUse::Off, 1, long);
    out.plan.tasks[rest].starts = vec![Effect::SwitchOff(off)];
    out.plan.tasks[rest].ends = vec![Effect::SwitchOn(off)];
}
