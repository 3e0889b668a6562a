//! The plan of a case: tasks expanded to single turns, and what they compete for.

use crate::air::Place;
use crate::crew::Suit;
use crate::units::Time;

/// Everything the timeline needs, as plain numbers.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Every turn of every task (and each person's copy where `each = true`), in file order, then turn, then person.
    /// This order is the order in which ready tasks are tried.
    pub tasks: Vec<Task>,
    /// How many people can use each equipment at a time.
    pub equipment: Vec<u32>,
    /// Space that a person claims in each effort, m3.
    pub effort_space_m3: Vec<f64>,
}

/// One turn of a task.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Index of the `[[tasks]]` entry it comes from.
    pub entry: usize,
    /// Turn of a repeated task, from 1.
    pub turn: u32,
    /// Indices of the people, all at once.
    pub people: Vec<usize>,
    /// Index of the effort.
    pub effort: usize,
    /// Where.
    pub place: Place,
    /// Earliest start.
    pub earliest: Time,
    /// Indices (in `Plan::tasks`) of the turns that must have ended before.
    pub after: Vec<usize>,
    /// How long it takes.
    pub duration: Time,
    /// Indices of the equipment claimed, one unit of each, while it runs.
    pub needs: Vec<usize>,
    /// How its people wear their suits, where they have any.
    pub suit: SuitUse,
    /// Waits until its people's claims fit into the place's usable volume.
    pub needs_space: bool,
    /// Carried out when it starts.
    pub starts: Vec<Effect>,
    /// Carried out when it ends.
    pub ends: Vec<Effect>,
    /// What becomes of it when a response takes one of its people away.
    pub interrupted: Interrupted,
    /// It starts only when a response calls for it (see `upset::Response`), any number of times; who does it is decided then.
    pub on_call: bool,
}

/// What becomes of a task that is interrupted. Its people are off task, and its equipment is free, until it goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Interrupted {
    /// It goes on for what was left of it, as soon as all its people and its equipment are free.
    #[default]
    Resumes,
    /// It starts anew then, with what it does at its start.
    Restarts,
    /// It is over, without what it does at its end.
    Dropped,
}

/// How a suit is worn. Off task people wear it as in their last task.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SuitUse {
    /// Not at all, or with an open visor: its wearer breathes the air of the place.
    #[default]
    Off,
    /// Closed, with air of the place blown through its umbilical.
    Ventilated,
    /// Closed: oxygen keeps it at the pressure around it, and what is too much goes into the place.
    Closed,
    /// The same with a steady flow of oxygen through it.
    Purged,
    /// Closed and above the pressure around it by the suit's own pressure.
    Pressurised,
}

impl SuitUse {
    /// Pressure above that around it at which `suit` is kept while it is worn so, Pa.
    #[must_use]
    pub fn held_above_pa(self, suit: &Suit) -> f64 {
        if self == SuitUse::Pressurised {
            suit.above_pa
        } else {
            0.0
        }
    }
}

/// How fast gas is moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pace {
    /// The pressure changes linearly over this time.
    Over(Time),
    /// Through an orifice of this effective area (area times discharge coefficient), m2: choked or subsonic.
    Through(f64),
    /// At this flow, mol/s.
    At(f64),
}

/// What a task does to the cabin. Indices refer to the case. Effects of one list are carried out one after the other; the
/// first three take time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Effect {
    /// Lets a compartment's gas out until its total pressure is `to_pa`; to 0 it stays open to the vacuum until it is filled.
    Vent {
        /// Index of the compartment.
        compartment: usize,
        /// Pa.
        to_pa: f64,
        /// `Over` or `Through`.
        pace: Pace,
    },
    /// Lets gas into a compartment until its total pressure is `to_pa`.
    Fill {
        /// Index of the compartment.
        compartment: usize,
        /// Pa.
        to_pa: f64,
        /// `Over` or `At`.
        pace: Pace,
        /// Part of the gas let in that is oxygen, by amount; the rest is diluent.
        oxygen: f64,
        /// Index of the tank of the oxygen; none: an unlimited supply.
        oxygen_from: Option<usize>,
        /// Index of the tank of the diluent; likewise.
        diluent_from: Option<usize>,
    },
    /// Lets the pressures on both sides of a closed opening become equal.
    Equalise {
        /// Index of the opening.
        opening: usize,
        /// `Over` or `Through`.
        pace: Pace,
    },
    /// Opens an opening.
    Open(usize),
    /// Closes an opening.
    Close(usize),
    /// Switches a device on.
    SwitchOn(usize),
    /// Switches a device off.
    SwitchOff(usize),
    /// Puts a fresh canister into a device, if one is left.
    ChangeCanister(usize),
    /// Fills a suit's own tank again from its supply, as far as that goes.
    Recharge(usize),
    /// Tasks outside of these people (bits by index) end after at most this time: they come in, with what those tasks do at
    /// their end.
    Recall {
        /// Bit p: person p.
        people: u64,
        /// How long they take, at most.
        within: Time,
    },
    /// Those of these people who are inside wear their suits so, who have one.
    Wear {
        /// Bit p: person p.
        people: u64,
        /// How.
        suit: SuitUse,
    },
    /// Those of these people who are inside breathe from masks, or no longer.
    Mask {
        /// Bit p: person p.
        people: u64,
        /// They do.
        on: bool,
    },
    /// Those of these people who are inside go on at another effort, until their task ends.
    Ease {
        /// Bit p: person p.
        people: u64,
        /// Index of the effort.
        effort: usize,
    },
    /// A fault is repaired, if the attempt succeeds.
    Repair(usize),
}

impl Effect {
    /// Whether it takes time.
    #[must_use]
    pub const fn lasts(&self) -> bool {
        matches!(self, Self::Vent { .. } | Self::Fill { .. } | Self::Equalise { .. })
    }
}
