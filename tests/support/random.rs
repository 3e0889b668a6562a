//! Random cases from a seed: rooms, hatches that open and close, people at work, devices, films, holds, leaks.
//!
//! Ranges are those of small cabins, and within what the reference integrates quickly (no rates far above 1/s). The tasks
//! of one person never overlap and need nothing that others claim.

use breathroom_sim::air::{Opening, Outside, Place, Surface, SurfaceKind};
use breathroom_sim::crew::{Load, Person, Profile, Stage};
use breathroom_sim::engine::Case;
use breathroom_sim::limits::{Bound, Quantity, Rule, Statistic, Subject};
use breathroom_sim::removal::{Cycle, Device, Removal};
use breathroom_sim::timeline::{Effect, Plan};
use breathroom_sim::units::Time;

use crate::cases::{self, hours, minutes, room, saturation_pa};

/// Steele, Lea and Flood 2014 (SplitMix64): enough for making cases.
#[derive(Clone, Debug)]
pub struct Dice(u64);

impl Dice {
    /// Dice that always roll the same for one seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Between two numbers.
    pub fn real(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// Below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// True with a probability.
    pub fn chance(&mut self, p: f64) -> bool {
        self.real(0.0, 1.0) < p
    }
}

/// What may be in a random case.
#[derive(Clone, Copy, Debug)]
pub struct Allow {
    /// Removal by curves, which are not affine.
    pub curves: bool,
    /// Surfaces with films.
    pub films: bool,
    /// Holds of oxygen and pressure.
    pub holds: bool,
    /// An opening to outside air.
    pub outside: bool,
}

/// A random case with everything allowed.
#[must_use]
pub fn case(seed: u64) -> Case {
    with(
        seed,
        Allow {
            curves: true,
            films: true,
            holds: true,
            outside: true,
        },
    )
}

/// A random case.
#[must_use]
pub fn with(seed: u64, allow: Allow) -> Case {
    let mut dice = Dice::new(seed);
    let total_pa = if dice.chance(0.5) { 56_500.0 } else { 101_325.0 };
    let count = 1 + dice.below(4);
    let mut out = cases::case(hours(dice.real(3.0, 9.0)), Vec::new());
    for _ in 0..count {
        let temperature_k = dice.real(291.0, 300.0);
        let (co2, vapour) = (
            dice.real(30.0, 600.0),
            dice.real(0.3, 0.7) * saturation_pa(temperature_k),
        );
        let oxygen = dice.real(18_500.0, 21_000.0);
        let air = [co2, vapour, oxygen, total_pa - co2 - vapour - oxygen];
        let mut place = room(dice.real(2.0, 30.0), temperature_k, air);
        place.leak_m3_s = if dice.chance(0.6) { dice.real(1e-7, 3e-5) } else { 0.0 };
        if allow.films {
            surfaces(&mut dice, &mut place);
        }
        out.compartments.push(place);
    }
    openings(&mut dice, &mut out, allow, total_pa);
    devices(&mut dice, &mut out, allow);
    if allow.holds {
        for a in 0..count {
            if dice.chance(0.5) {
                let oxygen = dice.chance(0.7).then(|| dice.real(17_500.0, 18_490.0));
                let pressure = dice.chance(0.7).then(|| total_pa * dice.real(0.99, 0.999));
                out.holds.push(cases::hold(a, oxygen, pressure));
            }
        }
    }
    people(&mut dice, &mut out);
    tasks(&mut dice, &mut out);
    rules(&mut dice, &mut out);
    out.towel_drying_s = dice.real(3600.0, 9000.0);
    out
}

fn surfaces(dice: &mut Dice, place: &mut breathroom_sim::air::Compartment) {
    for kind in [SurfaceKind::Wall, SurfaceKind::ColdSpot, SurfaceKind::Mist] {
        if !dice.chance(0.5) {
            continue;
        }
        let colder = match kind {
            SurfaceKind::Wall => dice.real(1.0, 6.0),
            SurfaceKind::ColdSpot => dice.real(5.0, 12.0),
            SurfaceKind::Mist => 0.0,
        };
        let temperature_k = place.temperature_k - colder;
        place.surfaces.push(Surface {
            kind,
            temperature_k,
            saturation_pa: saturation_pa(temperature_k),
            conductance_mol_s_pa: dice.real(1e-6, 3e-5) * if kind == SurfaceKind::Mist { 10.0 } else { 1.0 },
        });
    }
}

fn openings(dice: &mut Dice, out: &mut Case, allow: Allow, total_pa: f64) {
    let count = out.compartments.len();
    let add = |out: &mut Case, dice: &mut Dice, a: Place, b: Place| {
        let between = if dice.chance(0.5) { [a, b] } else { [b, a] };
        let exchange_m3_s = dice.real(0.2, 4.0) / 60.0;
        out.openings.push(Opening {
            between,
            exchange_m3_s,
            open: dice.chance(0.6),
            opens_within_pa: 20_000.0,
        });
    };
    for b in 1..count {
        let a = dice.below(b);
        add(out, dice, Place::Compartment(a), Place::Compartment(b));
    }
    if count > 2 && dice.chance(0.4) {
        add(out, dice, Place::Compartment(0), Place::Compartment(count - 1));
    }
    let temperature_k = dice.real(285.0, 300.0);
    let air = [45.0, 900.0, 0.2095 * total_pa, 0.7905 * total_pa - 945.0];
    out.outside = Outside {
        partial_pa: air,
        temperature_k,
    };
    if allow.outside && dice.chance(0.2) {
        let a = dice.below(count);
        add(out, dice, Place::Outside, Place::Compartment(a));
    }
}

fn devices(dice: &mut Dice, out: &mut Case, allow: Allow) {
    for _ in 0..dice.below(4) {
        let serves = dice.below(out.compartments.len());
        let mut device = match dice.below(if allow.curves { 3 } else { 2 }) {
            0 => cases::flow_through(serves, dice.real(0.002, 0.02), dice.real(0.5, 1.0), dice.real(0.0, 0.5)),
            1 => {
                let coil = dice.real(278.0, 287.0);
                cases::condenser(serves, dice.real(0.005, 0.04), dice.real(0.0, 0.5), coil)
            }
            _ => {
                let mut curve = |knee: f64, rate: f64| {
                    let (a, b) = (dice.real(0.2, 0.9) * knee, dice.real(1.0, 3.0) * knee);
                    vec![(a, dice.real(0.3, 0.8) * rate), (b, dice.real(0.8, 1.2) * rate)]
                };
                let removal = Removal::Curve {
                    co2: curve(300.0, 5e-4),
                    water: curve(1500.0, 4e-4),
                };
                Device {
                    serves,
                    on: true,
                    power_w: 0.0,
                    capacity: 1.0,
                    removal,
                    cycle: None,
                }
            }
        };
        device.on = dice.chance(0.7);
        if dice.chance(0.4) {
            let factors = (0..2 + dice.below(2)).map(|_| dice.real(0.5, 1.0)).collect();
            device.cycle = Some(Cycle {
                every: minutes(dice.real(6.0, 40.0)),
                factors,
            });
        }
        out.devices.push(device);
    }
}

fn profile(dice: &mut Dice, effort: usize) -> Profile {
    // Rest, light work, hard work.
    let oxygen = [3e-4, 6e-4, 1.8e-3][effort] * dice.real(0.7, 1.4);
    let mut stage = |lasts: Option<Time>| {
        let load = Load {
            oxygen_mol_s: oxygen,
            co2_mol_s: oxygen * dice.real(0.75, 1.0),
            vapour_mol_s: oxygen * dice.real(1.0, 3.5),
            runoff_mol_s: if effort == 2 { dice.real(0.0, 1e-3) } else { 0.0 },
            sensible_w: dice.real(60.0, 170.0),
            latent_w: dice.real(20.0, 500.0),
        };
        Stage { lasts, load }
    };
    let mut stages = Vec::new();
    for minutes in [15.0, 10.0] {
        if stage(None).load.sensible_w > 110.0 {
            stages.push(stage(Some(cases::minutes(minutes))));
        }
    }
    stages.push(stage(None));
    Profile {
        stages,
        sweat_lag: dice.chance(0.5),
        towel: dice.chance(0.5),
    }
}

fn people(dice: &mut Dice, out: &mut Case) {
    for _ in 0..1 + dice.below(4) {
        let home = dice.below(out.compartments.len());
        out.people.push(Person {
            gas_lag_s: dice.real(40.0, 120.0),
            start: Place::Compartment(home),
            home: dice.chance(0.5).then_some(home),
            tissue_pa: None,
            idle: 0,
            profiles: (0..3).map(|effort| profile(dice, effort)).collect(),
        });
    }
}

fn tasks(dice: &mut Dice, out: &mut Case) {
    let mut plan = Plan {
        effort_space_m3: vec![1.0, 1.5, 2.0],
        ..Plan::default()
    };
    let places = out.compartments.len();
    let mut shut: Vec<bool> = out.openings.iter().map(|o| !o.open).collect();
    for p in 0..out.people.len() {
        let mut at = if dice.chance(0.3) {
            Time::ZERO
        } else {
            hours(dice.real(0.0, 2.0))
        };
        while at < out.duration {
            let long = hours(dice.real(0.1, 2.0));
            let place = if dice.chance(0.1) {
                Place::Outside
            } else {
                Place::Compartment(dice.below(places))
            };
            let mut task = cases::task(p, dice.below(3), place, at, long);
            task.entry = plan.tasks.len();
            // The first person works the hatches, the last the devices, so that their order in time is clear.
            if p == 0 && !out.openings.is_empty() && dice.chance(0.7) {
                let o = dice.below(out.openings.len());
                let toggle = |shut: bool| if shut { Effect::Open(o) } else { Effect::Close(o) };
                task.starts.push(toggle(shut[o]));
                shut[o] = !shut[o];
                if dice.chance(0.5) {
                    task.ends.push(toggle(shut[o]));
                    shut[o] = !shut[o];
                }
            }
            if p + 1 == out.people.len() && !out.devices.is_empty() && dice.chance(0.5) {
                let d = dice.below(out.devices.len());
                task.starts.push(if dice.chance(0.5) {
                    Effect::SwitchOn(d)
                } else {
                    Effect::SwitchOff(d)
                });
                task.ends.push(if dice.chance(0.7) {
                    Effect::SwitchOn(d)
                } else {
                    Effect::SwitchOff(d)
                });
            }
            plan.tasks.push(task);
            let pause = if dice.chance(0.4) {
                Time::ZERO
            } else {
                hours(dice.real(0.05, 1.0))
            };
            at = at + long + pause;
        }
    }
    out.plan = plan;
}

fn rules(dice: &mut Dice, out: &mut Case) {
    let mut add = |quantity, subject, statistic, bound, limit| {
        out.rules.push(Rule {
            quantity,
            subject,
            statistic,
            bound,
            limit,
        });
    };
    for a in 0..out.compartments.len() {
        let here = Subject::Compartment(a);
        add(
            Quantity::Co2,
            here,
            Statistic::Instant,
            Bound::AtMost,
            dice.real(200.0, 1500.0),
        );
        let window = minutes(dice.real(20.0, 120.0));
        add(
            Quantity::Co2,
            here,
            Statistic::Moving { window },
            Bound::AtMost,
            dice.real(200.0, 1500.0),
        );
        let wet = Statistic::Allowance {
            threshold: dice.real(0.5, 0.9),
            each: dice.chance(0.5),
        };
        add(Quantity::Humidity, here, wet, Bound::AtMost, dice.real(600.0, 7200.0));
        add(
            Quantity::Oxygen,
            here,
            Statistic::Instant,
            Bound::AtLeast,
            dice.real(16_000.0, 19_000.0),
        );
        add(Quantity::Pressure, here, Statistic::Mission, Bound::AtLeast, 56_000.0);
        add(
            Quantity::OxygenFraction,
            here,
            Statistic::Instant,
            Bound::AtMost,
            dice.real(0.2, 0.36),
        );
        add(
            Quantity::InspiredOxygen,
            here,
            Statistic::Instant,
            Bound::AtLeast,
            dice.real(15_000.0, 18_500.0),
        );
        add(
            Quantity::LiquidWater,
            here,
            Statistic::Instant,
            Bound::AtMost,
            dice.real(0.001, 0.2),
        );
    }
    for p in 0..out.people.len() {
        let them = Subject::Person(p);
        let window = minutes(dice.real(20.0, 120.0));
        add(
            Quantity::Co2,
            them,
            Statistic::Moving { window },
            Bound::AtMost,
            dice.real(200.0, 1500.0),
        );
        add(
            Quantity::Co2,
            them,
            Statistic::Instant,
            Bound::AtMost,
            dice.real(200.0, 1500.0),
        );
        add(
            Quantity::Humidity,
            them,
            Statistic::Moving { window },
            Bound::AtLeast,
            dice.real(0.2, 0.6),
        );
        add(
            Quantity::Co2,
            them,
            Statistic::Shift { length: hours(8.0) },
            Bound::AtMost,
            dice.real(100.0, 1500.0),
        );
        add(
            Quantity::Co2,
            them,
            Statistic::Mission,
            Bound::AtMost,
            dice.real(100.0, 1500.0),
        );
        let dry = Statistic::Allowance {
            threshold: dice.real(0.3, 0.6),
            each: false,
        };
        add(Quantity::Humidity, them, dry, Bound::AtLeast, dice.real(600.0, 7200.0));
    }
}
