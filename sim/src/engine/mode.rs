//! The mode: everything discrete that decides which equations hold, stored and changed only by events.
//!
//! A hold flows or rests, a surface is wet or dry, a device works on one piece of its law, a hatch is open or shut. A mode is
//! left when the number that keeps it (the valve's flow, the film, the inlet pressure) reaches its end; it is never worked
//! out again from a sign, so a value that sits on its set point cannot flutter.

use crate::air::{MOST, Place, Regulation, Relief, Species};
use crate::removal::{Removal, Valves};

use crate::timeline::SuitUse;

use super::Case;
use super::transfer::Running;
use super::upset::Drift;
use crate::upset::{Broken, Target};

/// Most surfaces of one compartment: wall, cold spot, mist.
pub(crate) const SURFACES: usize = 3;

/// In gas thinner than this nobody asks for fractions, Pa.
pub(crate) const THIN_PA: f64 = 1000.0;

/// The part of a proportional hold's law that holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Knee {
    /// At the set point and above: nothing.
    #[default]
    Rests,
    /// Below: in proportion to what is lacking.
    Follows,
    /// Where that is more than it can: all it can.
    Most,
}

/// How a part of a law is left: upwards or downwards, past which pressure, Pa, and to which part.
type WayOut = (bool, f64, Knee);

impl Knee {
    /// How this part of a proportional law with this set point is left.
    pub fn ways_out(self, by: Regulation, set_pa: f64) -> [Option<WayOut>; 2] {
        let low = lowest_followed(by, set_pa);
        match self {
            Self::Rests => [Some((false, set_pa, Self::Follows)), None],
            Self::Follows => [Some((true, set_pa, Self::Rests)), Some((false, low, Self::Most))],
            Self::Most => [Some((true, low, Self::Follows)), None],
        }
    }

    /// The part that holds at `is_pa`: this one where two meet.
    pub fn at(self, by: Regulation, is_pa: f64, set_pa: f64) -> Self {
        let near = 1e-9 * set_pa;
        let past = |way: WayOut| {
            if way.0 {
                is_pa > way.1 + near
            } else {
                is_pa < way.1 - near
            }
        };
        if !self.ways_out(by, set_pa).into_iter().flatten().any(past) {
            self
        } else if is_pa >= set_pa {
            Self::Rests
        } else if is_pa >= lowest_followed(by, set_pa) {
            Self::Follows
        } else {
            Self::Most
        }
    }
}

/// The pressure down to which a proportional hold follows, Pa.
fn lowest_followed(by: Regulation, set_pa: f64) -> f64 {
    match by {
        Regulation::Proportional {
            gain_mol_s_pa,
            most_mol_s,
        } => set_pa - most_mol_s / gain_mol_s_pa,
        _ => set_pa,
    }
}

/// The discrete state of a run.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mode {
    /// Openings open.
    pub open: Vec<bool>,
    /// Changes whenever an opening moves: the number of the exchange pattern.
    pub pattern: usize,
    /// Patterns met so far, so that the same pattern has the same number.
    patterns: Vec<Vec<bool>>,
    /// How many of them this run has met; the others are storage.
    known_patterns: usize,
    /// Devices on.
    pub on: Vec<bool>,
    /// Devices switched on, whether they can or not.
    pub wanted: Vec<bool>,
    /// Devices that stand still for a fault.
    pub failed: Vec<bool>,
    /// Openings that a fault keeps as they are.
    pub stuck: Vec<bool>,
    /// Valves of holds (oxygen, total pressure) that a fault keeps shut.
    pub shut_valves: Vec<[bool; 2]>,
    /// Devices that have got a fresh canister at this instant.
    pub fresh: Vec<usize>,
    /// What is broken.
    pub broken: Vec<Broken>,
    /// The valves of beds, and relief valves, as they would be.
    pub plain_valves: Vec<Option<Valves>>,
    /// See `plain_valves`.
    pub plain_relief: [Option<Relief>; MOST],
    /// Numbers that faults are changing: the mode is integrated whole.
    pub drifts: Vec<Drift>,
    /// Turn of each device's cycle.
    pub turn: Vec<usize>,
    /// Piece of each device's law, for CO2 and for water.
    pub piece: Vec<[usize; 2]>,
    /// Surfaces with a film.
    pub wet: [[bool; SURFACES]; MOST],
    /// Oxygen holds that flow, by index of the hold.
    pub oxygen_flows: Vec<bool>,
    /// Pressure holds that flow, by index of the hold; at most one in a joined group.
    pub pressure_flows: Vec<bool>,
    /// Oxygen holds that let in all they can (a limited one at its most, a band that is on), by index of the hold.
    pub oxygen_full: Vec<bool>,
    /// The same of pressure holds.
    pub pressure_full: Vec<bool>,
    /// Parts of the laws of proportional holds of oxygen, by index of the hold.
    pub oxygen_knee: Vec<Knee>,
    /// The same of the pressure.
    pub pressure_knee: Vec<Knee>,
    /// Compartments of suits that nobody wears: their gas and films keep as they are, their devices rest.
    pub inert: [bool; MOST],
    /// Compartments with gas too thin to ask of: under [`THIN_PA`].
    pub thin: [bool; MOST],
    /// Compartments that a vent has left open to the vacuum.
    pub void: [bool; MOST],
    /// Compartments whose holds rest: from the beginning of a vent until gas has been let in again.
    pub shut_off: [bool; MOST],
    /// Relief valves open.
    pub relief: [bool; MOST],
    /// Tanks that are dry.
    pub dry: Vec<bool>,
    /// Suits that let gas out rather than oxygen in, by index of the suit.
    pub suit_relieves: Vec<bool>,
    /// Vents, fills and equalisations that are under way.
    pub transfers: Vec<Running>,
    /// Number of the half-cycle of each pair of beds.
    pub beds_turn: Vec<u64>,
    /// The first compartment of each compartment's joined group.
    pub group: [usize; MOST],
    /// Number of compartments in the group, by its first compartment.
    pub group_size: [usize; MOST],
}

impl Mode {
    /// The mode at the start of a run, holds at rest and surfaces dry.
    pub fn reset(&mut self, case: &Case) {
        self.open.clear();
        self.open.extend(case.openings.iter().map(|o| o.open));
        self.on.clear();
        self.on.extend(case.devices.iter().map(|d| d.on));
        self.turn.clear();
        self.turn.resize(case.devices.len(), 0);
        self.piece.clear();
        self.piece.resize(case.devices.len(), [0, 0]);
        self.wet = [[false; SURFACES]; MOST];
        self.oxygen_flows.clear();
        self.oxygen_flows.resize(case.holds.len(), false);
        self.pressure_flows.clear();
        self.pressure_flows.resize(case.holds.len(), false);
        self.oxygen_full.clear();
        self.oxygen_full.resize(case.holds.len(), false);
        self.pressure_full.clear();
        self.pressure_full.resize(case.holds.len(), false);
        for knees in [&mut self.oxygen_knee, &mut self.pressure_knee] {
            knees.clear();
            knees.resize(case.holds.len(), Knee::Rests);
        }
        self.void = [false; MOST];
        self.thin = [false; MOST];
        self.inert = [false; MOST];
        for suit in &case.suits {
            self.inert[suit.compartment] = true;
        }
        self.shut_off = [false; MOST];
        self.relief = [false; MOST];
        self.dry.clear();
        self.dry
            .extend(case.tanks.iter().map(|tank| tank.amount_mol <= tank.residue_mol));
        self.suit_relieves.clear();
        self.suit_relieves.resize(case.suits.len(), false);
        self.transfers.clear();
        self.wanted.clone_from(&self.on);
        self.failed.clear();
        self.failed.resize(case.devices.len(), false);
        self.stuck.clear();
        self.stuck.resize(case.openings.len(), false);
        self.shut_valves.clear();
        self.shut_valves.resize(case.holds.len(), [false; 2]);
        self.broken.clear();
        self.fresh.clear();
        self.plain_valves.clear();
        self.plain_valves.resize(case.devices.len(), None);
        self.plain_relief = [None; MOST];
        self.drifts.clear();
        self.beds_turn.clear();
        self.beds_turn.resize(case.devices.len(), 0);
        self.known_patterns = 0;
        self.regroup(case);
    }

    /// A person wears their suit in another way.
    pub fn wear(&mut self, case: &Case, person: usize, suit: SuitUse) {
        let inert = suit == SuitUse::Off;
        for own in case.suits.iter().filter(|own| own.wearer == person) {
            // Mist stays where it is while a suit is only worn in another way.
            if self.inert[own.compartment] != inert {
                self.inert[own.compartment] = inert;
                self.wet[own.compartment] = [false; SURFACES];
            }
        }
    }

    /// Factor of a device's present turn; 0 while it is off.
    pub fn factor(&self, case: &Case, device: usize) -> f64 {
        if !self.on[device] || self.inert[case.devices[device].serves] {
            return 0.0;
        }
        case.devices[device].capacity * self.turn_factor(case, device)
    }

    /// Factor of a device's present turn alone.
    pub fn turn_factor(&self, case: &Case, device: usize) -> f64 {
        let cycle = case.devices[device].cycle.as_ref();
        cycle.map_or(1.0, |cycle| cycle.factors[self.turn[device]])
    }

    /// Switches a device; it follows unless a fault keeps it still.
    pub fn switch(&mut self, device: usize, on: bool) {
        self.wanted[device] = on;
        self.on[device] = on && !self.failed[device];
    }

    /// Whether a fault is changing a number of a device.
    pub fn device_drifts(&self, device: usize) -> bool {
        let own = |drift: &Drift| matches!(drift.target, Target::Device { device: other, .. } if other == device);
        self.drifts.iter().any(own)
    }

    /// Whether that is a condenser, whose knee moves then.
    pub fn coil_drifts(&self, case: &Case, device: usize) -> bool {
        matches!(case.devices[device].removal, Removal::Condenser { .. }) && self.device_drifts(device)
    }

    /// Works out the joined groups and the pattern's number after an opening has moved.
    pub fn regroup(&mut self, case: &Case) {
        let n = case.compartments.len();
        for a in 0..n {
            self.group[a] = a;
        }
        // Few compartments: sweep until nothing changes.
        let mut changed = true;
        while changed {
            changed = false;
            for (opening, &open) in case.openings.iter().zip(&self.open) {
                if let (true, [Place::Compartment(a), Place::Compartment(b)]) = (open, opening.between) {
                    let low = self.group[a].min(self.group[b]);
                    changed |= self.group[a] != low || self.group[b] != low;
                    self.group[a] = low;
                    self.group[b] = low;
                }
            }
        }
        self.group_size = [0; MOST];
        for a in 0..n {
            self.group_size[self.group[a]] += 1;
        }
        let known = &self.patterns[..self.known_patterns];
        self.pattern = known.iter().position(|p| *p == self.open).unwrap_or_else(|| {
            if self.known_patterns == self.patterns.len() {
                self.patterns.push(Vec::new());
            }
            self.patterns[self.known_patterns].clone_from(&self.open);
            self.known_patterns += 1;
            self.known_patterns - 1
        });
    }

    /// Whether holds rest in a compartment: it, or one that is joined to it, is shut off.
    fn is_shut_off(&self, case: &Case, a: usize) -> bool {
        (0..case.compartments.len()).any(|b| self.shut_off[b] && self.group[b] == self.group[a])
    }

    /// Whether an oxygen hold can let gas in: its compartment is not shut off, and its tank is not dry.
    pub fn oxygen_works(&self, case: &Case, index: usize) -> bool {
        let hold = &case.holds[index];
        hold.oxygen_pa.is_some()
            && !self.shut_valves[index][0]
            && !self.is_shut_off(case, hold.compartment)
            && hold.oxygen_from.is_none_or(|tank| !self.dry[tank])
    }

    /// The same of a pressure hold.
    pub fn pressure_works(&self, case: &Case, index: usize) -> bool {
        let hold = &case.holds[index];
        hold.pressure_pa.is_some()
            && !self.shut_valves[index][1]
            && !self.is_shut_off(case, hold.compartment)
            && hold.pressure_from.is_none_or(|tank| !self.dry[tank])
    }

    /// A number that tells apart the equations of segments that are integrated whole, as far as they come again: by what is open,
    /// which devices are on and in which turn.
    pub fn number(&self) -> u64 {
        let mut number = self.pattern as u64;
        for (on, turn) in self.on.iter().zip(&self.beds_turn) {
            number = number * 4 + u64::from(*on) * 2 + turn % 2;
        }
        number
    }

    /// The hold that governs a group's total pressure: the highest, the first of equals.
    pub fn governing_hold(&self, case: &Case, group: usize) -> Option<usize> {
        let mut best: Option<(usize, f64)> = None;
        for (index, hold) in case.holds.iter().enumerate() {
            if let Some(pressure) = hold.pressure_pa
                && self.pressure_works(case, index)
                && self.group[hold.compartment] == group
                && best.is_none_or(|(_, p)| pressure > p)
            {
                best = Some((index, pressure));
            }
        }
        best.map(|(index, _)| index)
    }
}

/// The species that devices take, in the order of `Mode::piece`.
pub(crate) const TAKEN: [Species; 2] = [Species::Co2, Species::Water];
