//! The parts that the second maker knows: valves, groups of joined rooms, regulators, suits, devices, films, orifices.

use crate::air::MOST;
use crate::removal::{Beds, Line, PreparedBed};

/// What a valve does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Gas {
    /// A hold lets this species in; its mode ends where the flow turns.
    Hold(usize),
    /// A fill lets these parts of the species in, and never out.
    Fill([f64; 4]),
    /// A vent lets gas of the compartment out, and never in.
    Vent,
}

/// How gas is let in or out so that a group's pressure goes as prescribed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Valve {
    /// Compartment of the valve.
    pub inlet: usize,
    /// Prescribed rate of change of the group's pressure, Pa/s.
    pub ramp_pa_s: f64,
    /// What goes through it.
    pub gas: Gas,
    /// The tap of its flow, mol/s; of a fill or a vent, the first of four, positive the way it is meant.
    pub tap: usize,
}

/// A group of compartments that share one pressure.
#[derive(Clone, Debug, Default)]
pub(crate) struct Group {
    /// Its compartments.
    pub members: Vec<usize>,
    /// Joins among them.
    pub joins: Vec<Join>,
    /// What prescribes its pressure.
    pub valve: Option<Valve>,
    /// Where its balance is closed: at its valve, or anywhere.
    pub root: usize,
    /// Its joins from the far ends towards the root, if they form a tree; else fewer than there are joins.
    pub branches: Vec<Branch>,
}

/// Most joins of a group that can be kept track of.
pub(crate) const MOST_JOINS: usize = 16;

/// A join of a tree, seen from its far end.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Branch {
    /// The far end.
    pub child: usize,
    /// The end nearer to the root.
    pub parent: usize,
    /// Index of the join.
    pub join: usize,
    /// 1 if the join runs from child to parent, -1 if the other way.
    pub sign: f64,
}

impl Group {
    /// Lays out the joins from the root.
    pub fn grow(&mut self) {
        self.root = self.valve.map_or(self.members[0], |valve| valve.inlet);
        self.branches.clear();
        if self.joins.len() + 1 != self.members.len() {
            return;
        }
        let mut reached = [false; MOST];
        reached[self.root] = true;
        for _ in 0..self.joins.len() {
            for (index, join) in self.joins.iter().enumerate() {
                let (child, parent, sign) = match (reached[join.a], reached[join.b]) {
                    (true, false) => (join.b, join.a, -1.0),
                    (false, true) => (join.a, join.b, 1.0),
                    _ => continue,
                };
                reached[child] = true;
                self.branches.push(Branch {
                    child,
                    parent,
                    join: index,
                    sign,
                });
            }
        }
        self.branches.reverse();
    }
}

/// An open opening between two compartments, or the umbilical of a ventilated suit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Join {
    /// One end.
    pub a: usize,
    /// The other.
    pub b: usize,
    /// Exchange flow, m3/s.
    pub exchange_m3_s: f64,
    /// Which of the drifts it is under, if a fault is changing it.
    pub drift: Option<usize>,
    /// The tap of its bulk flow from `a` to `b`, mol/s.
    pub tap: usize,
}

/// An oxygen hold that flows.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Held {
    /// Its compartment.
    pub compartment: usize,
    /// The tap of its flow.
    pub tap: usize,
}

/// A flow of pure gas that a regulator lets in.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Feed {
    /// Into this compartment.
    pub compartment: usize,
    /// This species.
    pub species: usize,
    /// The tap of its flow.
    pub tap: usize,
    /// How much.
    pub law: FeedLaw,
}

/// How much a feed lets in.
#[derive(Clone, Copy, Debug)]
pub(crate) enum FeedLaw {
    /// mol/s.
    Steady(f64),
    /// In proportion to what oxygen (or the total pressure) lacks: set point, Pa; gain, mol/s/Pa. Its mode ends at the knees.
    Proportional {
        /// Oxygen's partial pressure counts, else the total.
        oxygen: bool,
        /// Pa.
        set_pa: f64,
        /// mol/s/Pa.
        gain: f64,
    },
}

/// What the valves of a suit that is worn closed do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SuitValve {
    /// Oxygen is let in so that its pressure goes with that around it; its mode ends where that flow turns.
    Supplying,
    /// Nothing comes any more, and its pressure is below that at which it lets gas out.
    Closed,
    /// It lets gas out at its pressure; its mode ends where that flow turns.
    Relieving,
}

/// A suit that is worn closed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Worn {
    /// Index of the suit.
    pub suit: usize,
    /// Its compartment.
    pub s: usize,
    /// Place around it; none: a pressure that does not change.
    pub room: Option<usize>,
    /// What its valves do.
    pub valve: SuitValve,
    /// Leak, m3/s.
    pub leak_m3_s: f64,
    /// Steady flow of oxygen, mol/s.
    pub purge_mol_s: f64,
    /// Pressure of the regulator above that around, Pa.
    pub above_pa: f64,
    /// Pressure around where there is no room, Pa.
    pub around_pa: f64,
    /// Where what it loses goes if there is no room around it: the first of four taps.
    pub lost: usize,
    /// The tap of its oxygen.
    pub tap: usize,
    /// The tap of what goes through its valve the way that is meant.
    pub through: usize,
}

/// A device that takes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Taker {
    /// Compartment it serves.
    pub a: usize,
    /// Taps: CO2, water (mol/s), heat (W).
    pub tap: usize,
    /// Power, W.
    pub power_w: f64,
    /// How.
    pub law: TakerLaw,
    /// Which of those that are laid anew at every instant it is, if a fault is changing it.
    pub redo: Option<usize>,
}

/// How a device takes.
#[derive(Clone, Copy, Debug)]
pub(crate) enum TakerLaw {
    /// Lines for CO2 and water, at the temperature `at_k`; their conductances go with 1/T if `by_flow`.
    Lines {
        /// CO2, water.
        lines: [Line; 2],
        /// K.
        at_k: f64,
        /// They come from a flow of gas.
        by_flow: bool,
    },
    /// A condenser's line, with the heat that its coil takes.
    Coil {
        /// Water.
        line: Line,
        /// K.
        at_k: f64,
        /// Flow past the coil, m3/s.
        flow_m3_s: f64,
        /// K.
        coil_k: f64,
        /// It takes nothing where the line gives back: its knee moves, and is no event.
        one_way: bool,
    },
    /// A canister: flow, m3/s, its state, and its numbers.
    Canister {
        /// m3/s.
        flow_m3_s: f64,
        /// Place in the state of what it holds, mol.
        state: usize,
        /// mol.
        capacity_mol: f64,
        /// `N`.
        sharpness: f64,
        /// Vapour for CO2, mol/mol.
        water_per_co2: f64,
        /// J/mol.
        heat_j_mol: f64,
    },
    /// A pair of beds: its numbers, its first of four states, and what each bed does.
    Beds {
        /// The numbers.
        bed: PreparedBed,
        /// Sorbent in each bed, kg.
        bed_kg: f64,
        /// Flow, m3/s.
        flow_m3_s: f64,
        /// Place in the state of the four loadings, mol/kg.
        state: usize,
        /// Which adsorbs and which desorbs.
        beds: Beds,
    },
}

/// Gas through an orifice, or at a pace that pressure does not decide.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Orifice {
    /// From or to this compartment.
    pub a: usize,
    /// To or from this one; none: the outside.
    pub b: Option<usize>,
    /// Effective area, m2.
    pub area_m2: f64,
    /// Which of the drifts it is under, if a fault is changing it.
    pub drift: Option<usize>,
    /// Taps of the four species, mol/s from `a`.
    pub tap: usize,
    /// A second set of taps where the same is counted.
    pub also: Option<usize>,
    /// It lets nothing in: a vent, a relief valve.
    pub one_way: bool,
}

/// A film.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Film {
    /// Its compartment.
    pub a: usize,
    /// mol/s/Pa.
    pub conductance: f64,
    /// Saturation at a fixed temperature, Pa.
    pub saturation_pa: f64,
    /// What its temperature follows.
    pub follows: Follows,
    /// The tap of what condenses, mol/s.
    pub tap: usize,
}

/// What the temperature of a surface follows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Follows {
    /// Nothing.
    Fixed,
    /// The air.
    Air,
    /// The wall.
    Wall,
}

/// Difference of pressure between two groups that falls linearly.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Levelling {
    /// From this compartment; none: the outside.
    pub a: Option<usize>,
    /// To this one.
    pub b: Option<usize>,
    /// Rate of change of `P_a - P_b`, Pa/s.
    pub ramp_pa_s: f64,
    /// Taps of the four species, mol/s from `a`.
    pub tap: usize,
    /// Taps of what is lost outside, if an end is there.
    pub lost: Option<usize>,
}

/// What a hold waits for: once it is past, its mode ends, and steps beyond are not worth taking.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Wait {
    /// The flow of a tap leaves these bounds, mol/s.
    Flow {
        /// The tap.
        tap: usize,
        /// From.
        least: f64,
        /// To.
        most: f64,
    },
    /// Oxygen, or the total pressure, passes a level.
    Pressure {
        /// Of this compartment.
        a: usize,
        /// Oxygen's partial pressure counts, else the total.
        oxygen: bool,
        /// Upwards, else downwards.
        up: bool,
        /// Pa.
        at_pa: f64,
    },
}

/// First taps: species by species.
pub(crate) mod tap {
    /// Lost by leaks and openings to the outside.
    pub const LEAK: usize = 0;
    /// Let out by relief valves.
    pub const RELIEF: usize = 4;
    /// Lost in vents and to the vacuum.
    pub const VENT: usize = 8;
    /// Vapour given off by sorbents.
    pub const SORBENT_WATER: usize = 12;
    /// Where those of this case begin.
    pub const FIRST: usize = 13;
}
