//! A case: everything one run needs, as plain SI numbers. No names, no spreads, no text.
//!
//! The same case gives the same bits on any thread, in any order. Indices refer to the vectors of this struct, which are
//! in the order of the scenario file.

use crate::air::{Compartment, Hold, Opening, Outside, Tank};
use crate::crew::{Person, Suit};
use crate::limits::Rule;
use crate::removal::Device;
use crate::timeline::Plan;
use crate::units::Time;
use crate::upset::{Alarm, Fault, Sensor};

/// Plain numbers for one run.
#[derive(Clone, Debug, Default)]
pub struct Case {
    /// Length of the run.
    pub duration: Time,
    /// Spacing of history samples; they are taken only when a trace is asked for, and change no bit of the outcome.
    pub history_every: Time,
    /// At most [`crate::air::MOST`].
    pub compartments: Vec<Compartment>,
    /// The gas around the cabin.
    pub outside: Outside,
    /// Hatches and ducts.
    pub openings: Vec<Opening>,
    /// Removal devices.
    pub devices: Vec<Device>,
    /// What is held where, at most one of each kind in a compartment.
    pub holds: Vec<Hold>,
    /// Stocks of gas.
    pub tanks: Vec<Tank>,
    /// Suits, at most one for each person; each has a compartment of its own among the compartments.
    pub suits: Vec<Suit>,
    /// At most [`crate::air::MOST`].
    pub people: Vec<Person>,
    /// Tasks, equipment and space.
    pub plan: Plan,
    /// What goes wrong.
    pub faults: Vec<Fault>,
    /// What reads the air.
    pub sensors: Vec<Sensor>,
    /// What acts on the readings, and what people then do.
    pub alarms: Vec<Alarm>,
    /// Rules, each on one person or one compartment.
    pub rules: Vec<Rule>,
    /// Breathed oxygen partial pressure under which a run ends as not survivable, Pa.
    pub oxygen_floor_pa: f64,
    /// Time constant with which runoff kept in towels dries into the room, s.
    pub towel_drying_s: f64,
}
