//! What a bench is to deliver to a device: the gas that flows through it in a run.
//!
//! ```text
//! n' = Q P / (R T)        n'_i = Q p_i / (R T)        scaled: n'_i f, sorbent m f
//! ```
//!
//! `Q` actual volume flow at the inlet, m3/s; `P` total and `p_i` partial pressures there, Pa; `T` temperature, K; `R` 8.314462618 J/mol/K; `f`
//! the size of the tested piece.
//!
//! A device that is off, that a fault stops, or whose suit is not worn gets no flow. One that takes turns is fed all the time: its turns are
//! its own. Similarity of a piece: inlet partial pressures, total pressure, temperature and residence time (flow for mass of sorbent) are those
//! of the whole, so flow and sorbent shrink together and time does not. Not kept: velocity in the bed and with it Reynolds number, pressure
//! drop and axial dispersion, unless the bed is cut lengthwise; heat lost to the wall; what happens at edges and headers.
//! Left out: a fault that changes a device's flow.

use breathroom_sim::air::{GAS_CONSTANT_J_MOL_K, Species};
use breathroom_sim::engine::{Case, Event, Trace};
use breathroom_sim::timeline::{Effect, SuitUse};
use breathroom_sim::units::Time;
use breathroom_sim::upset::{Broken, Change, DeviceNumber, Target};

/// What is wanted at an instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// s from the start.
    pub time_s: f64,
    /// The device has flow.
    pub on: bool,
    /// By species, mol/s; 0 while off.
    pub flow_mol_s: [f64; 4],
    /// K.
    pub temperature_k: f64,
    /// Pa.
    pub pressure_pa: f64,
}

impl Point {
    /// Partial pressure of a species in what flows, Pa; 0 without flow.
    #[must_use]
    pub fn partial_pa(&self, species: Species) -> f64 {
        let total = self.total_mol_s();
        if total > 0.0 {
            self.pressure_pa * self.flow_mol_s[species as usize] / total
        } else {
            0.0
        }
    }

    /// All of the flow, mol/s.
    #[must_use]
    pub fn total_mol_s(&self) -> f64 {
        self.flow_mol_s.iter().sum()
    }

    /// Actual volume, m3/s.
    #[must_use]
    pub fn flow_m3_s(&self) -> f64 {
        self.total_mol_s() * GAS_CONSTANT_J_MOL_K * self.temperature_k / self.pressure_pa
    }
}

/// What is wanted over a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// In order of time.
    pub points: Vec<Point>,
    /// Faults of the device that are not followed, by index.
    pub faults: Vec<usize>,
}

/// When a device is switched, and to what.
fn switched(case: &Case, trace: &Trace, device: usize) -> Vec<(Time, bool)> {
    let mut list = vec![(Time::ZERO, case.devices[device].on)];
    let mut wanted = case.devices[device].on;
    let mut stopped = 0_u32;
    let stops = |fault: usize| {
        let change = |change: &Change| matches!(change, Change::Broken(Broken::DeviceOff(of)) if *of == device);
        case.faults
            .get(fault)
            .is_some_and(|fault| fault.changes.iter().any(change))
    };
    for entry in &trace.log {
        match entry.event {
            Event::Effect {
                effect: Effect::SwitchOn(of),
                ..
            } if of == device => wanted = true,
            Event::Effect {
                effect: Effect::SwitchOff(of),
                ..
            } if of == device => wanted = false,
            Event::FaultBegan(fault) if stops(fault) => stopped += 1,
            Event::FaultEnded(fault) if stops(fault) => stopped = stopped.saturating_sub(1),
            _ => continue,
        }
        list.push((entry.at, wanted && stopped == 0));
    }
    list
}

/// What a device's inlet asks of a bench; `scale` is the size of the tested piece. None of a device without a flow.
#[must_use]
pub fn demand(case: &Case, trace: &Trace, device: usize, scale: f64) -> Option<Demand> {
    let of = &case.devices[device];
    let flow = of.flow_m3_s()?;
    let switched = switched(case, trace, device);
    let wearer = case
        .suits
        .iter()
        .find(|suit| suit.compartment == of.serves)
        .map(|suit| suit.wearer);
    let mut points: Vec<Point> = Vec::new();
    for sample in &trace.samples {
        let air = &sample.compartments[of.serves];
        let at = switched.partition_point(|(at, _)| *at <= sample.at);
        let worn = wearer.is_none_or(|person| sample.people[person].suit != SuitUse::Off);
        let on = switched[at.max(1) - 1].1 && worn && air.pressure_pa > 0.0;
        let per_pa = if on {
            scale * flow / (GAS_CONSTANT_J_MOL_K * air.temperature_k)
        } else {
            0.0
        };
        points.push(Point {
            time_s: sample.at.0 as f64 / 1e9,
            on,
            flow_mol_s: air.partial_pa.map(|p| per_pa * p.max(0.0)),
            temperature_k: air.temperature_k,
            pressure_pa: air.pressure_pa,
        });
    }
    let follows_not = |change: &Change| {
        let flow = DeviceNumber::Flow;
        matches!(change, Change::Number { target: Target::Device { device: of, number }, .. } if *of == device && *number == flow)
    };
    let faults = (0..case.faults.len()).filter(|&fault| case.faults[fault].changes.iter().any(follows_not));
    Some(Demand {
        faults: faults.collect(),
        points,
    })
}
