//! Short ways to build cases.

use breathroom_sim::air::{Compartment, GAS_CONSTANT_J_MOL_K, Hold, Opening, Outside, Place, Regulation};
use breathroom_sim::crew::{Load, Person, Profile, Stage};
use breathroom_sim::engine::Case;
use breathroom_sim::limits::{Bound, Quantity, Rule, Statistic, Subject};
use breathroom_sim::removal::{Device, Removal};
use breathroom_sim::timeline::{Plan, SuitUse, Task};
use breathroom_sim::units::Time;

/// Time from hours, to the nanosecond.
#[must_use]
pub fn hours(h: f64) -> Time {
    Time::from_seconds(3600.0 * h)
}

/// Time from minutes, to the nanosecond.
#[must_use]
pub fn minutes(m: f64) -> Time {
    Time::from_seconds(60.0 * m)
}

/// Time from seconds, to the nanosecond.
#[must_use]
pub fn seconds(s: f64) -> Time {
    Time::from_seconds(s)
}

/// Saturation pressure of water, Pa, near enough for cases that take it as a number (Magnus form, WMO 2008).
#[must_use]
pub fn saturation_pa(temperature_k: f64) -> f64 {
    let celsius = temperature_k - 273.15;
    611.2 * (17.62 * celsius / (243.12 + celsius)).exp()
}

/// Pressure of one mole per second for one second in a room, Pa.
#[must_use]
pub fn pa_per_mol(room: &Compartment) -> f64 {
    GAS_CONSTANT_J_MOL_K * room.temperature_k / room.volume_m3
}

/// A room without surfaces and leak; partial pressures in Pa by species.
#[must_use]
pub fn room(volume_m3: f64, temperature_k: f64, partial_pa: [f64; 4]) -> Compartment {
    Compartment {
        volume_m3,
        usable_m3: volume_m3,
        temperature_k,
        partial_pa,
        saturation_pa: saturation_pa(temperature_k),
        ..Compartment::default()
    }
}

/// Air of a 56.5 kPa cabin with 34 % oxygen: 60 Pa of CO2 and 1,200 Pa of vapour.
pub const CABIN_AIR_PA: [f64; 4] = [60.0, 1200.0, 18_802.0, 36_438.0];

/// Rates in mol/s, without heat and runoff.
#[must_use]
pub fn load(oxygen_mol_s: f64, co2_mol_s: f64, vapour_mol_s: f64) -> Load {
    Load {
        oxygen_mol_s,
        co2_mol_s,
        vapour_mol_s,
        ..Load::default()
    }
}

/// A profile of one stage without sweat lag and towel.
#[must_use]
pub fn steady(load: Load) -> Profile {
    Profile {
        stages: vec![Stage { lasts: None, load }],
        sweat_lag: false,
        towel: false,
    }
}

/// A person with one profile for each effort, at home in a compartment, doing effort 0 off task.
#[must_use]
pub fn person(home: usize, profiles: Vec<Profile>) -> Person {
    Person {
        gas_lag_s: 60.0,
        start: Place::Compartment(home),
        home: Some(home),
        tissue_pa: None,
        idle: 0,
        profiles,
    }
}

/// A case of one room; everything else is empty.
#[must_use]
pub fn case(duration: Time, compartments: Vec<Compartment>) -> Case {
    Case {
        duration,
        history_every: minutes(5.0),
        compartments,
        outside: Outside {
            partial_pa: [0.0; 4],
            temperature_k: 293.15,
        },
        oxygen_floor_pa: 100.0,
        towel_drying_s: 7200.0,
        ..Case::default()
    }
}

/// A case of one room with one person who does one thing.
#[must_use]
pub fn alone(duration: Time, room: Compartment, load: Load) -> Case {
    let mut out = case(duration, vec![room]);
    out.people = vec![person(0, vec![steady(load)])];
    out.plan = Plan {
        effort_space_m3: vec![1.0],
        ..Plan::default()
    };
    out
}

/// An open opening between two compartments.
#[must_use]
pub fn opening(a: usize, b: usize, exchange_m3_s: f64) -> Opening {
    let between = [Place::Compartment(a), Place::Compartment(b)];
    Opening {
        between,
        exchange_m3_s,
        open: true,
        opens_within_pa: 20_000.0,
    }
}

/// A flow-through device that is on.
#[must_use]
pub fn flow_through(serves: usize, flow_m3_s: f64, co2_efficiency: f64, water_efficiency: f64) -> Device {
    let removal = Removal::FlowThrough {
        flow_m3_s,
        co2_efficiency,
        water_efficiency,
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

/// A condenser that is on.
#[must_use]
pub fn condenser(serves: usize, flow_m3_s: f64, bypass: f64, coil_temperature_k: f64) -> Device {
    let removal = Removal::Condenser {
        flow_m3_s,
        bypass,
        coil_saturation_pa: saturation_pa(coil_temperature_k),
        coil_temperature_k,
        carry_over: 0.0,
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

/// A hold.
#[must_use]
pub fn hold(compartment: usize, oxygen_pa: Option<f64>, pressure_pa: Option<f64>) -> Hold {
    Hold {
        compartment,
        oxygen_pa,
        oxygen_by: Regulation::Ideal,
        oxygen_from: None,
        pressure_pa,
        pressure_by: Regulation::Ideal,
        pressure_from: None,
    }
}

/// A task of one person at a fixed time.
#[must_use]
pub fn task(person: usize, effort: usize, place: Place, earliest: Time, duration: Time) -> Task {
    Task {
        entry: 0,
        turn: 1,
        people: vec![person],
        effort,
        place,
        earliest,
        after: Vec::new(),
        duration,
        needs: Vec::new(),
        needs_space: false,
        suit: SuitUse::Off,
        starts: Vec::new(),
        ends: Vec::new(),
        interrupted: breathroom_sim::timeline::Interrupted::Resumes,
        on_call: false,
    }
}

/// A rule "at most" on a compartment.
#[must_use]
pub fn at_most(compartment: usize, quantity: Quantity, statistic: Statistic, limit: f64) -> Rule {
    Rule {
        quantity,
        subject: Subject::Compartment(compartment),
        statistic,
        bound: Bound::AtMost,
        limit,
    }
}

/// A rule "at most" on what a person breathes.
#[must_use]
pub fn breathed(person: usize, quantity: Quantity, statistic: Statistic, limit: f64) -> Rule {
    Rule {
        quantity,
        subject: Subject::Person(person),
        statistic,
        bound: Bound::AtMost,
        limit,
    }
}
