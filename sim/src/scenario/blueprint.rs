//! What a case is built from: everything of a scenario as numbers that are fixed or drawn.

use std::sync::Arc;

use crate::air::{Place, Species};
use crate::crew::{Builtin, Sex};
use crate::engine::Case;
use crate::removal::{Isotherm, Valves};
use crate::timeline::Effect;

use super::num::Num;
use super::upset::{AlarmNums, FaultNums, SensorNums};

/// Everything a draw needs. Made by [`super::read`]; opaque to the outside.
#[derive(Clone, Debug, Default)]
pub struct Blueprint {
    /// The case at the medians: its structure, and every value that no input changes.
    pub(super) template: Case,
    pub(super) parts: Parts,
    /// How often each input is drawn in a variation; 0 for one drawn once in a variation, with turn 0.
    pub(super) draws: Vec<u32>,
}

/// The parts of a case in terms of [`Num`], in the order of the case's vectors.
#[derive(Clone, Debug, Default)]
pub(super) struct Parts {
    pub duration: Option<Num>,
    pub history_every_s: f64,
    pub gravity: Option<Num>,
    pub oxygen_floor: Option<Num>,
    pub towel_drying: Option<Num>,
    pub air: Option<AirNums>,
    pub outside: Option<AirNums>,
    pub compartments: Vec<CompartmentNums>,
    pub openings: Vec<OpeningNums>,
    pub fans: Vec<FanNums>,
    pub devices: Vec<DeviceNums>,
    pub holds: Vec<HoldNums>,
    pub tanks: Vec<TankNums>,
    /// Their compartments stand after the named ones in `compartments`.
    pub suits: Vec<SuitNums>,
    /// Of the used efforts only, by effort index of the case.
    pub efforts: Vec<EffortNums>,
    pub people: Vec<PersonNums>,
    pub tasks: Vec<TaskNums>,
    /// For each task of the plan: its entry in `tasks`, its turn, its person (their key, or 0).
    pub turns: Vec<TurnOf>,
    pub rules: Vec<RuleNums>,
    /// Those of `[sensors]`, then those that alarms have of their own.
    pub sensors: Vec<SensorNums>,
    pub alarms: Vec<AlarmNums>,
    pub faults: Vec<FaultNums>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct AirNums {
    pub pressure: Num,
    pub oxygen: Num,
    pub co2: Num,
    pub humidity: Num,
    pub temperature: Num,
}

impl AirNums {
    pub fn varies(&self) -> bool {
        [self.pressure, self.oxygen, self.co2, self.humidity, self.temperature]
            .into_iter()
            .any(Num::varies)
    }
}

#[derive(Clone, Copy, Debug)]
pub(super) struct CompartmentNums {
    pub volume: Num,
    pub usable: Num,
    pub air: AirNums,
    pub walls: Option<WallNums>,
    /// kg/s at the pressure of `[air]`.
    pub leak: Num,
    pub leak_area: Option<Num>,
    /// Opens, closes (Pa), area (m2).
    pub relief: Option<[Num; 3]>,
    /// Adds (Pa), at (mol/s).
    pub washout: Option<[Num; 2]>,
    pub heat: Option<HeatNums>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct HeatNums {
    pub equipment: Num,
    /// None: by the area of the walls.
    pub wall_capacity: Option<Num>,
    /// W/K.
    pub insulation: Option<Num>,
    pub emittance: Option<Num>,
    pub surroundings: Option<Num>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct WallNums {
    /// None: at air temperature.
    pub temperature: Option<Num>,
    pub area: Num,
    pub cold_spot: Option<Num>,
    /// None: the usual part of the area.
    pub cold_spot_area: Option<Num>,
    /// None: natural convection.
    pub film: Option<Num>,
    pub optimistic: bool,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct OpeningNums {
    pub between: [Place; 2],
    pub exchange: Num,
    pub open: bool,
    pub opens_within: Num,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct FanNums {
    pub flow: Num,
    pub power: Num,
}

#[derive(Clone, Debug)]
pub(super) struct DeviceNums {
    pub serves: usize,
    pub on: bool,
    pub family: Family,
    /// W, and that of its fan with the part of it that counts with this device.
    pub power: Num,
    pub fan_power: Option<(Num, f64)>,
    pub cycle: Option<CycleNums>,
}

/// A device's own flow, or its fan's and the part of it that it is given.
#[derive(Clone, Copy, Debug)]
pub(super) struct FlowNums {
    /// m3/s.
    pub volume: Num,
    pub part: Option<Num>,
}

impl FlowNums {
    /// m3/s in this variation.
    pub fn of(self, values: &[f64]) -> f64 {
        self.volume.of(values) * self.part.map_or(1.0, |part| part.of(values))
    }

    /// Whether it can differ between variations.
    pub fn varies(self) -> bool {
        self.volume.varies() || self.part.is_some_and(Num::varies)
    }
}

#[derive(Clone, Debug)]
pub(super) enum Family {
    FlowThrough {
        flow: FlowNums,
        co2: Num,
        water: Num,
    },
    Curve {
        co2: Vec<(Num, Num)>,
        water: Vec<(Num, Num)>,
        flow: Option<FlowNums>,
    },
    Condenser {
        flow: FlowNums,
        bypass: Num,
        coil: Num,
        carry_over: Num,
    },
    Sorbent(SorbentNums),
    SwingBed(Box<SwingBedNums>),
}

#[derive(Clone, Copy, Debug)]
pub(super) struct SorbentNums {
    pub flow: FlowNums,
    /// Its product is the capacity, kg of CO2.
    pub capacity: [Num; 3],
    pub sharpness: Num,
    pub bypass: Num,
    pub water_per_co2: f64,
    pub heat_j_mol: f64,
    /// kg of CO2.
    pub loaded: Num,
    pub canisters: u32,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct SwingBedNums {
    pub flow: FlowNums,
    pub bed: Num,
    pub temperature: Num,
    pub co2: IsothermNums,
    pub water: IsothermNums,
    pub competition: Num,
    pub rates: [Num; 2],
    pub desorb: [Num; 2],
    pub half_cycle: Num,
    /// m3 that is there at a turn.
    pub ullage: Num,
    /// Part of that which is saved.
    pub saved: Num,
    /// CO2 of both beds, water of both beds.
    pub loaded: [Num; 4],
    pub valves: Valves,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum IsothermNums {
    BuiltIn(Isotherm),
    /// Most, half.
    Langmuir([Num; 2]),
    /// Loading, at.
    Line([Num; 2]),
    /// a0, b0, e, t0, c.
    Toth([Num; 5]),
}

#[derive(Clone, Debug)]
pub(super) struct CycleNums {
    pub every: Num,
    pub factors: Vec<Num>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct HoldNums {
    pub compartment: usize,
    pub oxygen: Option<SideNums>,
    pub pressure: Option<SideNums>,
}

/// What is held of one quantity, how, and from which tank.
#[derive(Clone, Copy, Debug)]
pub(super) struct SideNums {
    pub hold: Num,
    pub by: ByNums,
    pub from: Option<usize>,
}

/// How gas is let in; flows in mol/s, differences in Pa.
#[derive(Clone, Copy, Debug)]
pub(super) enum ByNums {
    Ideal,
    Limited { flow: Num },
    Band { width: Num, flow: Num },
    Proportional { full_at: Num, flow: Num },
}

#[derive(Clone, Copy, Debug)]
pub(super) struct TankNums {
    pub gas: Species,
    /// kg.
    pub amount: Num,
    pub supply_pressure: Option<Num>,
    /// kg.
    pub reserve: Num,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct SuitNums {
    pub wearer: usize,
    pub pressure: Num,
    pub tank: Option<usize>,
    pub supply: Option<usize>,
    pub ventilation: Num,
    /// mol/s.
    pub purge: Num,
    /// mol/s at the suit's pressure in a vacuum.
    pub leak: Num,
    pub temperature: Num,
}

#[derive(Clone, Debug)]
pub(super) struct EffortNums {
    pub space: Num,
    pub load: LoadNums,
    /// Rates in place of those of the load, in every stage; in the order of [`StageNums::rates`].
    pub instead: [Option<Num>; 5],
    pub quotient: Option<Num>,
    pub towel: Option<bool>,
}

#[derive(Clone, Debug)]
pub(super) enum LoadNums {
    Builtin(&'static Builtin),
    /// W.
    Power(Num),
    /// W/m2 of body surface.
    PerArea(Num),
    Stages(Vec<StageNums>),
    Measured(MeasuredNums),
}

/// A measured series in even steps, and how it becomes power.
#[derive(Clone, Debug)]
pub(super) struct MeasuredNums {
    /// Length, s, and mean of each step: beats/s, mol/s of oxygen, m3 STPD/kg/s, or W.
    pub steps: Arc<Vec<(f64, f64)>>,
    pub kind: SeriesKind,
    /// Of a heart rate: by which relation.
    pub heart: Option<HeartNums>,
    /// Of all powers.
    pub factor: Num,
}

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SeriesKind {
    HeartRate,
    /// Oxygen uptake.
    Uptake,
    /// The same for body mass.
    UptakeForMass,
    Power,
}

/// How a heart rate becomes power; heart rates in 1/s.
#[derive(Clone, Copy, Debug)]
pub(super) enum HeartNums {
    /// The rate at rest.
    Iso8996(Num),
    /// Easy rate and power, hard rate and power.
    Line([Num; 4]),
}

/// Rates of a stage: oxygen, CO2, vapour, runoff (mol/s), sensible heat (W).
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct StageNums {
    pub lasts: Option<Num>,
    pub rates: [Option<Num>; 5],
}

#[derive(Clone, Copy, Debug)]
pub(super) struct PersonNums {
    pub mass: Num,
    pub height: Num,
    pub age: Num,
    pub sex: Sex,
    pub fitness: Option<Num>,
    pub gas_lag: Num,
    pub tissue: Option<Num>,
    pub quotient: Num,
    pub towel: bool,
    pub start: Place,
    pub home: Option<usize>,
    pub idle: usize,
}

#[derive(Clone, Debug)]
pub(super) struct TaskNums {
    pub at: Num,
    pub every: Num,
    pub duration: DurationNums,
    pub starts: Vec<EffectNums>,
    pub ends: Vec<EffectNums>,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum DurationNums {
    /// s.
    Given(Num),
    /// As long as breathing oxygen takes: breaks in s.
    PreBreathe { ratio: Num, breathing: Num, breaks: Num },
}

/// An effect before its numbers are drawn.
#[derive(Clone, Copy, Debug)]
pub(super) enum EffectNums {
    /// One without numbers.
    Plain(Effect),
    Vent {
        compartment: usize,
        to: Num,
        pace: PaceNums,
    },
    Fill {
        compartment: usize,
        to: Num,
        pace: PaceNums,
        oxygen: Num,
        oxygen_from: Option<usize>,
        diluent_from: Option<usize>,
    },
    Equalise {
        opening: usize,
        pace: PaceNums,
    },
    Recall {
        /// Bits of the people.
        people: u64,
        /// s.
        within: Num,
    },
}

#[derive(Clone, Copy, Debug)]
pub(super) enum PaceNums {
    /// s.
    Over(Num),
    /// m2.
    Through(Num),
    /// kg/s.
    At(Num),
}

#[derive(Clone, Copy, Debug)]
pub(super) struct TurnOf {
    pub entry: usize,
    pub turn: u32,
    pub person: u32,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct RuleNums {
    pub limit: Num,
    /// Window or shift, s; or the threshold of an allowance.
    pub second: Option<Num>,
}
