//! What is connected now: the parts, and where everything stands in the state and among the taps. `lay` lays it out.

use crate::air::{MOST, Regulation, Species, SurfaceKind};
use crate::removal::Removal;
use crate::timeline::SuitUse;

use super::super::Case;
use super::super::indices::OXYGEN;
use super::super::mode::{Mode, SURFACES};
use super::super::people::Crew;
use super::super::scene::suit_source;
use super::super::state::Stocks;
use super::super::system::Dying;
use super::super::upset::Drift;
use super::parts::{Feed, Film, Follows, Group, Held, Levelling, Orifice, Taker, TakerLaw, Wait, Worn};
use super::redone::Redone;

/// What is connected now.
#[derive(Clone, Debug, Default)]
pub(crate) struct Plumbing {
    pub n: usize,
    /// `V / R` of each compartment, m3 mol K/J.
    pub per_k: [f64; MOST],
    /// Temperatures where they are fixed, K.
    pub fixed_k: [f64; MOST],
    /// The compartment takes part; else it keeps its gas (a suit not worn).
    pub live: [bool; MOST],
    /// It is open to the vacuum.
    pub void: [bool; MOST],
    /// Place of the air's temperature in the state.
    pub air_state: [Option<usize>; MOST],
    /// Place of the wall's temperature in the state.
    pub wall_state: [Option<usize>; MOST],
    pub groups: Vec<Group>,
    /// By compartment: its group.
    pub group_of: [usize; MOST],
    /// Pressure of the gas outside, Pa.
    pub outside_pa: f64,
    /// Openings to the gas outside: compartment, m3/s, which drift.
    pub outs: Vec<(usize, f64, Option<usize>)>,
    /// Leaks of constant volume, m3/s.
    pub leak_m3_s: [f64; MOST],
    /// Which drifts they are under.
    pub leak_drift: [Option<usize>; MOST],
    /// Numbers that faults are changing.
    pub drifts: Vec<Drift>,
    /// Devices whose law is laid anew at every instant.
    pub redone: Vec<Redone>,
    /// Steady sources of people, mol/s.
    pub source: [[f64; MOST]; 3],
    /// Sources that die away.
    pub dying: [Dying; 3],
    /// Sensible heat of people, W.
    pub people_w: [f64; MOST],
    pub takers: Vec<Taker>,
    pub films: Vec<Film>,
    pub orifices: Vec<Orifice>,
    pub feeds: Vec<Feed>,
    /// Steady fills: compartment, parts of the species, mol/s, first tap.
    pub fills: Vec<(usize, [f64; 4], f64, usize)>,
    pub levellings: Vec<Levelling>,
    pub held: Vec<Held>,
    pub waits: Vec<Wait>,
    pub worn: Vec<Worn>,
    pub oxygen_held: [bool; MOST],
    /// Composition of gas let into a compartment that is still empty.
    pub filled_with: [[f64; 4]; MOST],
    /// Number of states.
    pub size: usize,
    /// Number of taps.
    pub taps: usize,
    /// First tap of each device, hold, suit, transfer, in their orders; `None` where it does nothing.
    pub device_tap: Vec<Option<usize>>,
    pub oxygen_tap: Vec<Option<usize>>,
    pub pressure_tap: Vec<Option<usize>>,
    pub suit_tap: Vec<Option<usize>>,
    pub transfer_tap: Vec<usize>,
    pub film_tap: [[Option<usize>; SURFACES]; MOST],
    /// Place in the state of what each device holds.
    pub held_state: Vec<Option<usize>>,
}

/// Whether the mode has anything that is not affine, so that it must be integrated whole.
pub(crate) fn is_needed(case: &Case, mode: &Mode, crew: &Crew) -> bool {
    let compartment = |a: usize| {
        let compartment = &case.compartments[a];
        compartment.heat.is_some() || compartment.leak_area_m2 > 0.0 || mode.relief[a] || mode.void[a]
    };
    let device = |d: usize| {
        let device = &case.devices[d];
        let beds = matches!(device.removal, Removal::Sorbent { .. } | Removal::SwingBed(_));
        beds && mode.factor(case, d) != 0.0
    };
    let hold = |index: usize| {
        let hold = &case.holds[index];
        let by_oxygen = hold
            .pressure_from
            .is_some_and(|tank| case.tanks[tank].gas == Species::Oxygen);
        let proportional = |by| matches!(by, Regulation::Proportional { .. });
        mode.oxygen_full[index]
            || mode.pressure_full[index]
            || (mode.pressure_works(case, index) && (by_oxygen || proportional(hold.pressure_by)))
            || (mode.oxygen_works(case, index) && proportional(hold.oxygen_by))
    };
    !(mode.transfers.is_empty() && mode.drifts.is_empty())
        || case
            .suits
            .iter()
            .any(|suit| crew.people[suit.wearer].suit != SuitUse::Off)
        || (0..case.compartments.len()).any(compartment)
        || (0..case.devices.len()).any(device)
        || (0..case.holds.len()).any(hold)
}

impl Plumbing {
    /// What a surface's temperature follows.
    pub fn follows(&self, a: usize, kind: SurfaceKind) -> Follows {
        match kind {
            SurfaceKind::Wall if self.wall_state[a].is_some() => Follows::Wall,
            SurfaceKind::Mist if self.air_state[a].is_some() => Follows::Air,
            _ => Follows::Fixed,
        }
    }

    /// Whether flows may turn within a step without an event: in transfers, and through orifices unless to a vacuum, where they are
    /// choked whatever the pressure.
    pub fn is_kinked(&self) -> bool {
        let turns = |orifice: &Orifice| orifice.b.is_some() || self.outside_pa > 0.0;
        !(self.worn.is_empty() && self.feeds.is_empty() && self.transfer_tap.is_empty())
            || self.orifices.iter().any(turns)
            || self.redone.iter().any(|redone| redone.standing.one_way)
    }

    /// Canisters: places in the state of what they hold, and what they can hold, mol.
    pub fn canisters(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.takers.iter().filter_map(|taker| match taker.law {
            TakerLaw::Canister {
                state, capacity_mol, ..
            } => Some((state, capacity_mol)),
            _ => None,
        })
    }

    /// How many states tell what a device holds: one for a canister, four for a pair of beds.
    pub fn held_states(&self, d: usize) -> usize {
        let canister =
            |taker: &Taker| Some(taker.tap) == self.device_tap[d] && matches!(taker.law, TakerLaw::Canister { .. });
        if self.takers.iter().any(canister) { 1 } else { 4 }
    }

    /// The taps of what is drawn from tanks, with their tanks.
    pub fn draws<'a>(
        &'a self,
        case: &'a Case,
        mode: &'a Mode,
        crew: &'a Crew,
    ) -> impl Iterator<Item = (usize, usize)> + 'a {
        let holds = case.holds.iter().enumerate().flat_map(move |(index, hold)| {
            [
                (self.oxygen_tap[index], hold.oxygen_from),
                (self.pressure_tap[index], hold.pressure_from),
            ]
        });
        let fills = mode.transfers.iter().enumerate().flat_map(move |(place, running)| {
            let first = self.transfer_tap[place];
            [OXYGEN, Species::Diluent as usize].map(|species| (Some(first + species), running.source(species)))
        });
        let suits = case.suits.iter().enumerate().map(move |(index, suit)| {
            let place = crew.people[suit.wearer].place;
            (self.suit_tap[index], suit_source(case, mode, index, place))
        });
        holds
            .chain(fills)
            .chain(suits)
            .filter_map(|(tap, tank)| Some((tap?, tank?)))
    }

    /// Capacity of a compartment, mol/Pa.
    pub fn capacity(&self, a: usize, stocks: &Stocks) -> f64 {
        self.per_k[a] / stocks.temperature_k[a]
    }

    /// Temperature of the air, K.
    pub fn air_k(&self, a: usize, y: &[f64]) -> f64 {
        self.air_state[a].map_or(self.fixed_k[a], |state| y[state])
    }
}
