//! The optional record of a run: evenly spaced samples and a log of what happened.

use crate::air::Place;
use crate::timeline::{Effect, SuitUse};
use crate::units::Time;

/// History and log of one run. Asking for it changes no bit of the outcome.
#[derive(Clone, Debug, Default)]
pub struct Trace {
    /// Samples at multiples of the case's `history_every`, and one at the end of the run.
    pub samples: Vec<Sample>,
    /// What happened, in order.
    pub log: Vec<Entry>,
}

/// One row of the history.
#[derive(Clone, Debug)]
pub struct Sample {
    /// When.
    pub at: Time,
    /// One for each compartment.
    pub compartments: Vec<CompartmentSample>,
    /// One for each person.
    pub people: Vec<PersonSample>,
    /// What each tank holds, kg.
    pub tanks_kg: Vec<f64>,
    /// What each device holds of CO2 and water, kg: in its canister or beds.
    pub devices_kg: Vec<[f64; 2]>,
    /// What each device has taken out of the air since the start, CO2 and water, kg; below 0 for water that a sorbent gives off.
    pub taken_kg: Vec<[f64; 2]>,
    /// What flows through each device now, m3/s at its inlet, with what faults have made of it: 0 while it stands still, `None` where its
    /// law has no flow.
    pub flow_m3_s: Vec<Option<f64>>,
    /// Whether each device runs.
    pub runs: Vec<bool>,
}

/// A compartment at an instant.
#[derive(Clone, Copy, Debug, Default)]
pub struct CompartmentSample {
    /// Partial pressures, Pa, by species.
    pub partial_pa: [f64; 4],
    /// Total pressure, Pa.
    pub pressure_pa: f64,
    /// Relative humidity, a fraction.
    pub humidity: f64,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Liquid on its surfaces and in its towels, kg.
    pub liquid_water_kg: f64,
    /// Space claimed by the people in it, m3.
    pub claimed_m3: f64,
    /// Its coldest surface, K; the air itself where it has none.
    pub coldest_k: f64,
}

/// A person at an instant.
#[derive(Clone, Copy, Debug)]
pub struct PersonSample {
    /// Where.
    pub place: Place,
    /// Index of their effort.
    pub effort: usize,
    /// How they wear their suit.
    pub suit: SuitUse,
    /// Oxygen use now, mol/s.
    pub oxygen_mol_s: f64,
    /// CO2 output now, mol/s.
    pub co2_mol_s: f64,
    /// Vapour output now, mol/s.
    pub vapour_mol_s: f64,
    /// CO2 of the air they breathe, with what washes out slowly of their own, Pa; `None` outside without a suit.
    pub breathed_co2_pa: Option<f64>,
    /// Oxygen of the air they breathe, Pa; `None` outside without a suit.
    pub breathed_oxygen_pa: Option<f64>,
    /// Oxygen of that air once it is saturated at body temperature, Pa.
    pub inspired_oxygen_pa: Option<f64>,
}

/// One line of the log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// When.
    pub at: Time,
    /// What.
    pub event: Event,
}

/// Something that happened. Indices refer to the case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// A task of the plan started.
    TaskStarted(usize),
    /// A task of the plan ended.
    TaskEnded(usize),
    /// A task became ready but could not start: it waits.
    TaskWaits(usize),
    /// A person took up an effort in a place.
    Does {
        /// Index of the person.
        person: usize,
        /// Index of the effort.
        effort: usize,
        /// Where.
        place: Place,
    },
    /// A task's effect was carried out.
    Effect {
        /// Index of the task.
        task: usize,
        /// What.
        effect: Effect,
    },
    /// A rule's limit was first crossed.
    LimitCrossed(usize),
    /// A surface began to collect water.
    FilmBegan {
        /// Index of the compartment.
        compartment: usize,
        /// Index of the surface.
        surface: usize,
    },
    /// A film dried up.
    FilmDried {
        /// Index of the compartment.
        compartment: usize,
        /// Index of the surface.
        surface: usize,
    },
    /// A person's suit is worn in another way.
    SuitWorn {
        /// Index of the person.
        person: usize,
        /// How.
        suit: SuitUse,
    },
    /// A vent, fill or equalisation was done: an index of [`super::Outcome::transfers`].
    TransferEnded(usize),
    /// A tank ran dry.
    TankDry(usize),
    /// A tank went below its reserve.
    TankReserve(usize),
    /// A relief valve opened or closed.
    Relief {
        /// Index of the compartment.
        compartment: usize,
        /// It opened.
        opened: bool,
    },
    /// A device was to get a fresh canister, and there was none.
    NoCanister(usize),
    /// A fault began.
    FaultBegan(usize),
    /// A fault ended, of itself or by repair.
    FaultEnded(usize),
    /// An alarm came on.
    AlarmOn {
        /// Index of the alarm.
        alarm: usize,
        /// At none of the readings that counted was the truth beyond the set point.
        is_false: bool,
    },
    /// An alarm went off.
    AlarmOff(usize),
    /// A task was interrupted.
    TaskInterrupted(usize),
    /// A task that was interrupted goes on.
    TaskResumed(usize),
    /// A task that was interrupted is dropped.
    TaskDropped(usize),
    /// A task outside was told to end.
    TaskRecalled(usize),
    /// An attempt to repair a fault failed.
    RepairFailed(usize),
    /// A person breathes from a mask, or no longer.
    Mask {
        /// Index of the person.
        person: usize,
        /// They do.
        on: bool,
    },
    /// The run ended as not survivable.
    NotSurvivable,
}
