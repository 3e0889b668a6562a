//! What is connected now, and where everything stands in the state and among the taps.

use crate::air::{GAS_CONSTANT_J_MOL_K, MOST, Place, Regulation, Species, SurfaceKind};
use crate::crew::{SWEAT_TAU_S, SWEAT_WEIGHTS};
use crate::removal::{Beds, Line, PreparedBed, Removal};
use crate::timeline::{Effect, Pace, SuitUse};

use super::super::Case;
use super::super::indices::{CO2, OXYGEN, WATER};
use super::super::mode::{Mode, SURFACES, TAKEN};
use super::super::people::{Crew, behind};
use super::super::scene::suit_source;
use super::super::state::Stocks;
use super::super::system::Dying;
use super::super::transfer::pressure_of;

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
    fn grow(&mut self) {
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
    /// In proportion to what oxygen (or the total pressure) lacks: set point, Pa; gain, mol/s/Pa; most, mol/s.
    Proportional {
        /// Oxygen's partial pressure counts, else the total.
        oxygen: bool,
        /// Pa.
        set_pa: f64,
        /// mol/s/Pa.
        gain: f64,
        /// mol/s.
        most: f64,
    },
}

/// A suit that is worn closed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Worn {
    /// Its compartment.
    pub s: usize,
    /// Place around it; none: a pressure that does not change.
    pub room: Option<usize>,
    /// It is regulated: else (tank dry) it only leaks.
    pub supplied: bool,
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
    /// Openings to the gas outside: compartment, m3/s.
    pub outs: Vec<(usize, f64)>,
    /// Leaks of constant volume, m3/s.
    pub leak_m3_s: [f64; MOST],
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
    !mode.transfers.is_empty()
        || case
            .suits
            .iter()
            .any(|suit| crew.people[suit.wearer].suit != SuitUse::Off)
        || (0..case.compartments.len()).any(compartment)
        || (0..case.devices.len()).any(device)
        || (0..case.holds.len()).any(hold)
}

impl Plumbing {
    /// Lays out the present mode.
    pub fn lay(case: &Case, mode: &Mode, crew: &Crew, stocks: &Stocks) -> Self {
        let n = case.compartments.len();
        let mut out = Self {
            n,
            taps: tap::FIRST,
            live: [true; MOST],
            void: mode.void,
            ..Self::default()
        };
        for (a, compartment) in case.compartments.iter().enumerate() {
            out.per_k[a] = compartment.volume_m3 / GAS_CONSTANT_J_MOL_K;
            out.fixed_k[a] = stocks.temperature_k[a];
            out.leak_m3_s[a] = compartment.leak_m3_s;
        }
        for a in 0..n {
            out.live[a] = !mode.inert[a];
        }
        out.size = 4 * n;
        out.lay_states(case);
        out.lay_people(case, crew, stocks);
        out.lay_groups(case, mode, crew);
        out.lay_devices(case, mode);
        out.lay_films(case, mode);
        out.lay_orifices(case, mode);
        out.lay_holds(case, mode);
        out.lay_suits(case, mode, crew, stocks);
        out.lay_transfers(case, mode);
        for group in &mut out.groups {
            group.grow();
        }
        out
    }

    fn taps(&mut self, count: usize) -> usize {
        self.taps += count;
        self.taps - count
    }

    fn states(&mut self, count: usize) -> usize {
        self.size += count;
        self.size - count
    }

    fn lay_states(&mut self, case: &Case) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            if let (Some(heat), true) = (&compartment.heat, self.live[a]) {
                self.air_state[a] = Some(self.states(1));
                if heat.wall.is_some() {
                    self.wall_state[a] = Some(self.states(1));
                }
            }
        }
    }

    fn lay_people(&mut self, case: &Case, crew: &Crew, stocks: &Stocks) {
        for person in crew.by_size(case) {
            let doing = &crew.people[person];
            let Place::Compartment(a) = doing.air else { continue };
            let load = doing.target(case, person);
            let mu = 1.0 / case.people[person].gas_lag_s;
            self.source[CO2][a] += load.co2_mol_s;
            self.source[OXYGEN][a] -= load.oxygen_mol_s;
            self.dying[CO2].add(mu, a, behind(doing.co2, load.co2_mol_s));
            self.dying[OXYGEN].add(mu, a, -behind(doing.oxygen, load.oxygen_mol_s));
            self.source[WATER][a] += load.vapour_mol_s;
            for j in 0..2 {
                let amount = SWEAT_WEIGHTS[j] * behind(doing.sweat[j], load.vapour_mol_s);
                self.dying[WATER].add(1.0 / SWEAT_TAU_S[j], a, amount);
            }
            if doing.profile(case, person).towel {
                self.source[WATER][a] += load.runoff_mol_s;
            }
            self.people_w[a] += load.sensible_w;
        }
        for a in 0..self.n {
            let excess = stocks.towel_mol[a] / case.towel_drying_s - crew.runoff_to_towel(case, a);
            self.dying[WATER].add(1.0 / case.towel_drying_s, a, excess);
        }
    }

    fn lay_groups(&mut self, case: &Case, mode: &Mode, crew: &Crew) {
        let mut joins = Vec::new();
        for (opening, &open) in case.openings.iter().zip(&mode.open) {
            match opening.between {
                [Place::Compartment(a), Place::Compartment(b)] if open => joins.push(Join {
                    a,
                    b,
                    exchange_m3_s: opening.exchange_m3_s,
                }),
                [Place::Compartment(a), Place::Outside] | [Place::Outside, Place::Compartment(a)] if open => {
                    self.outs.push((a, opening.exchange_m3_s));
                }
                _ => {}
            }
        }
        for suit in &case.suits {
            let doing = &crew.people[suit.wearer];
            if let (SuitUse::Ventilated, Place::Compartment(a)) = (doing.suit, doing.place) {
                joins.push(Join {
                    a,
                    b: suit.compartment,
                    exchange_m3_s: suit.ventilation_m3_s,
                });
            }
        }
        let mut group: [usize; MOST] = std::array::from_fn(|a| a);
        for _ in 0..self.n {
            for join in &joins {
                let low = group[join.a].min(group[join.b]);
                (group[join.a], group[join.b]) = (low, low);
            }
        }
        for first in (0..self.n).filter(|&a| group[a] == a && self.live[a] && !self.void[a]) {
            let members: Vec<usize> = (0..self.n).filter(|&a| group[a] == first).collect();
            for &a in &members {
                self.group_of[a] = self.groups.len();
            }
            self.groups.push(Group {
                members,
                joins: joins.iter().filter(|join| group[join.a] == first).copied().collect(),
                ..Group::default()
            });
        }
    }

    fn lay_devices(&mut self, case: &Case, mode: &Mode) {
        for (d, device) in case.devices.iter().enumerate() {
            self.device_tap.push(None);
            self.held_state.push(None);
            let a = device.serves;
            if mode.factor(case, d) == 0.0 || self.void[a] {
                continue;
            }
            let factor = mode.factor(case, d);
            let tap = self.taps(3);
            let at_k = case.compartments[a].temperature_k;
            let line = |taken: usize| device.line(TAKEN[taken], mode.piece[d][taken], at_k, factor);
            let law = match &device.removal {
                Removal::FlowThrough { .. } | Removal::Curve { .. } => TakerLaw::Lines {
                    lines: [line(0), line(1)],
                    at_k,
                    by_flow: matches!(device.removal, Removal::FlowThrough { .. }),
                },
                Removal::Condenser {
                    flow_m3_s,
                    bypass,
                    coil_temperature_k,
                    ..
                } => TakerLaw::Coil {
                    line: line(1),
                    at_k,
                    flow_m3_s: factor * flow_m3_s * (1.0 - bypass),
                    coil_k: *coil_temperature_k,
                },
                Removal::Sorbent {
                    flow_m3_s,
                    capacity_mol,
                    sharpness,
                    bypass,
                    water_per_co2,
                    heat_j_mol,
                    ..
                } => {
                    let state = self.states(1);
                    self.held_state[d] = Some(state);
                    TakerLaw::Canister {
                        flow_m3_s: factor * flow_m3_s * (1.0 - bypass),
                        state,
                        capacity_mol: *capacity_mol,
                        sharpness: *sharpness,
                        water_per_co2: *water_per_co2,
                        heat_j_mol: *heat_j_mol,
                    }
                }
                Removal::SwingBed(bed) => {
                    let state = self.states(4);
                    self.held_state[d] = Some(state);
                    TakerLaw::Beds {
                        bed: bed.prepared(),
                        bed_kg: bed.bed_kg,
                        flow_m3_s: factor * bed.flow_m3_s,
                        state,
                        beds: bed.at_turn(mode.beds_turn[d]),
                    }
                }
            };
            self.device_tap[d] = Some(tap);
            self.takers.push(Taker {
                a,
                tap,
                power_w: device.power_w,
                law,
            });
        }
    }

    fn lay_films(&mut self, case: &Case, mode: &Mode) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            for (s, surface) in compartment.surfaces.iter().enumerate().take(SURFACES) {
                if !mode.wet[a][s] || !self.live[a] {
                    continue;
                }
                let tap = self.taps(1);
                self.film_tap[a][s] = Some(tap);
                self.films.push(Film {
                    a,
                    conductance: surface.conductance_mol_s_pa,
                    saturation_pa: surface.saturation_pa,
                    follows: self.follows(a, surface.kind),
                    tap,
                });
            }
        }
    }

    /// What a surface's temperature follows.
    pub fn follows(&self, a: usize, kind: SurfaceKind) -> Follows {
        match kind {
            SurfaceKind::Wall if self.wall_state[a].is_some() => Follows::Wall,
            SurfaceKind::Mist if self.air_state[a].is_some() => Follows::Air,
            _ => Follows::Fixed,
        }
    }

    fn lay_orifices(&mut self, case: &Case, mode: &Mode) {
        for (a, compartment) in case.compartments.iter().enumerate() {
            if self.void[a] || !self.live[a] {
                continue;
            }
            let mut orifice = |area_m2: f64, tap: usize| {
                self.orifices.push(Orifice {
                    a,
                    b: None,
                    area_m2,
                    tap,
                    also: None,
                    one_way: tap == tap::RELIEF,
                });
            };
            if compartment.leak_area_m2 > 0.0 {
                orifice(compartment.leak_area_m2, tap::LEAK);
            }
            if let (Some(relief), true) = (compartment.relief, mode.relief[a]) {
                orifice(relief.area_m2, tap::RELIEF);
            }
        }
    }

    fn lay_holds(&mut self, case: &Case, mode: &Mode) {
        self.oxygen_tap.resize(case.holds.len(), None);
        self.pressure_tap.resize(case.holds.len(), None);
        for (index, hold) in case.holds.iter().enumerate() {
            let c = hold.compartment;
            if let (Some(set_pa), true) = (hold.oxygen_pa, mode.oxygen_works(case, index)) {
                if mode.oxygen_flows[index] && !mode.oxygen_full[index] {
                    let tap = self.taps(1);
                    self.oxygen_tap[index] = Some(tap);
                    self.oxygen_held[c] = true;
                    self.held.push(Held { compartment: c, tap });
                } else if let Some(law) = feed_law(hold.oxygen_by, mode.oxygen_full[index], true, set_pa) {
                    let tap = self.taps(1);
                    self.oxygen_tap[index] = Some(tap);
                    self.feeds.push(Feed {
                        compartment: c,
                        species: OXYGEN,
                        tap,
                        law,
                    });
                }
            }
            let governs = mode.governing_hold(case, mode.group[c]) == Some(index);
            if let (Some(set_pa), true) = (hold.pressure_pa, governs) {
                let gas = hold.pressure_from.map_or(Species::Diluent, |tank| case.tanks[tank].gas) as usize;
                if mode.pressure_flows[index] && !mode.pressure_full[index] {
                    let tap = self.taps(1);
                    self.pressure_tap[index] = Some(tap);
                    self.groups[self.group_of[c]].valve = Some(Valve {
                        inlet: c,
                        ramp_pa_s: 0.0,
                        gas: Gas::Hold(gas),
                        tap,
                    });
                } else if let Some(law) = feed_law(hold.pressure_by, mode.pressure_full[index], false, set_pa) {
                    let tap = self.taps(1);
                    self.pressure_tap[index] = Some(tap);
                    self.feeds.push(Feed {
                        compartment: c,
                        species: gas,
                        tap,
                        law,
                    });
                }
            }
        }
    }

    fn lay_suits(&mut self, case: &Case, mode: &Mode, crew: &Crew, stocks: &Stocks) {
        for (index, suit) in case.suits.iter().enumerate() {
            let doing = &crew.people[suit.wearer];
            if matches!(doing.suit, SuitUse::Off | SuitUse::Ventilated) {
                self.suit_tap.push(None);
                continue;
            }
            let room = match doing.place {
                Place::Compartment(a) if !self.void[a] => Some(a),
                _ => None,
            };
            let tank = suit_source(case, mode, index, doing.place);
            let own = self.taps(1);
            self.suit_tap.push(Some(own));
            let supplied = tank.is_none_or(|tank| !mode.dry[tank]);
            self.worn.push(Worn {
                s: suit.compartment,
                room,
                supplied,
                leak_m3_s: suit.leak_m3_s,
                purge_mol_s: if doing.suit == SuitUse::Purged && supplied {
                    suit.purge_mol_s
                } else {
                    0.0
                },
                above_pa: if doing.suit == SuitUse::Pressurised {
                    suit.above_pa
                } else {
                    0.0
                },
                around_pa: pressure_of(case, stocks, doing.place),
                lost: match doing.place {
                    Place::Outside => tap::LEAK,
                    Place::Compartment(_) => tap::VENT,
                },
                tap: own,
            });
        }
    }

    fn lay_transfers(&mut self, case: &Case, mode: &Mode) {
        for running in &mode.transfers {
            let first = self.taps(4);
            self.transfer_tap.push(first);
            match running.effect {
                Effect::Vent {
                    compartment,
                    pace: Pace::Through(area_m2),
                    ..
                } => self.orifices.push(Orifice {
                    a: compartment,
                    b: None,
                    area_m2,
                    tap: first,
                    also: Some(tap::VENT),
                    one_way: true,
                }),
                Effect::Vent { compartment, .. } => {
                    self.groups[self.group_of[compartment]].valve = Some(Valve {
                        inlet: compartment,
                        ramp_pa_s: running.ramp_pa_s,
                        gas: Gas::Vent,
                        tap: first,
                    });
                }
                Effect::Fill {
                    compartment,
                    pace,
                    oxygen,
                    ..
                } => {
                    let mut parts = [0.0; 4];
                    parts[OXYGEN] = oxygen;
                    parts[Species::Diluent as usize] = 1.0 - oxygen;
                    for &a in &self.groups[self.group_of[compartment]].members {
                        self.filled_with[a] = parts;
                    }
                    match pace {
                        Pace::At(flow) => self.fills.push((compartment, parts, flow, first)),
                        _ => {
                            self.groups[self.group_of[compartment]].valve = Some(Valve {
                                inlet: compartment,
                                ramp_pa_s: running.ramp_pa_s,
                                gas: Gas::Fill(parts),
                                tap: first,
                            });
                        }
                    }
                }
                Effect::Equalise { opening, pace } => {
                    let [a, b] = case.openings[opening].between.map(|place| match place {
                        Place::Compartment(a) => Some(a),
                        Place::Outside => None,
                    });
                    if let Pace::Through(area_m2) = pace {
                        let (a, b) = match (a, b) {
                            (Some(a), b) => (a, b),
                            (None, Some(b)) => (b, None),
                            (None, None) => continue,
                        };
                        self.orifices.push(Orifice {
                            a,
                            b,
                            area_m2,
                            tap: first,
                            also: b.is_none().then_some(tap::LEAK),
                            one_way: false,
                        });
                    } else {
                        self.levellings.push(Levelling {
                            a,
                            b,
                            ramp_pa_s: running.ramp_pa_s,
                            tap: first,
                            lost: (a.is_none() || b.is_none()).then_some(tap::LEAK),
                        });
                    }
                }
                _ => {}
            }
        }
    }

    /// Whether flows may turn or come to their most within a step: through suits' valves, regulators, orifices.
    pub fn is_kinked(&self) -> bool {
        !(self.worn.is_empty() && self.feeds.is_empty() && self.orifices.is_empty() && self.transfer_tap.is_empty())
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

/// What a regulator that does not hold lets in, if anything.
fn feed_law(by: Regulation, full: bool, oxygen: bool, set_pa: f64) -> Option<FeedLaw> {
    match by {
        Regulation::Limited { most_mol_s } if full => Some(FeedLaw::Steady(most_mol_s)),
        Regulation::Band { flow_mol_s, .. } if full => Some(FeedLaw::Steady(flow_mol_s)),
        Regulation::Proportional {
            gain_mol_s_pa,
            most_mol_s,
        } => Some(FeedLaw::Proportional {
            oxygen,
            set_pa,
            gain: gain_mol_s_pa,
            most: most_mol_s,
        }),
        _ => None,
    }
}
