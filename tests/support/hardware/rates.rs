//! The equations: from a state and a mode to rates.
//!
//! Flows that are not given by the state alone - bulk flow, valves that keep a quantity, suits' regulators, ramps - are
//! unknowns of one small linear system: each has its column (what a unit of it does to the amounts) and its equation (what
//! it must achieve). Nothing else is solved.

use breathroom_sim::air::{Insulation, Place, Regulation, SurfaceKind};
use breathroom_sim::crew::SWEAT_TAU_S;
use breathroom_sim::timeline::SuitUse;

use super::columns::{Solved, Unknown, column, conductance, oxygen_in, solve, unknowns};
use super::laws::{CP, CP_EXCHANGED, EVAPORATION, MASS, R, RADIATION, flow_function, mean};
use super::mode::{How, Mode, Valving, What};
use super::plant::Plant;

/// Rates under construction.
pub struct Rates<'r> {
    pub plant: &'r Plant<'r>,
    pub mode: &'r Mode,
    pub x: &'r [f64],
    pub d: &'r mut [f64],
    /// Heat into the air of each compartment, W.
    pub heat: Vec<f64>,
    size: f64,
}

impl Rates<'_> {
    /// Where the rate of a place's gas is: a compartment's amount, or the book of what leaked.
    fn at(&self, place: Place, species: usize) -> usize {
        match place {
            Place::Compartment(a) => 4 * a + species,
            Place::Outside => self.plant.leaked + species,
        }
    }

    pub fn add(&mut self, place: Place, species: usize, mol_s: f64) {
        let at = self.at(place, species);
        self.d[at] += mol_s;
        self.size += mol_s.abs();
    }

    fn move_gas(&mut self, from: Place, to: Place, species: usize, mol_s: f64) {
        self.add(from, species, -mol_s);
        self.add(to, species, mol_s);
    }

    fn people(&mut self) {
        let (plant, mode, x) = (self.plant, self.mode, self.x);
        for (p, who) in plant.case.people.iter().enumerate() {
            let (at, doing) = (plant.person + 4 * p, &mode.people[p]);
            if who.gas_lag_s > 0.0 {
                self.d[at] = (doing.load.oxygen_mol_s - x[at]) / who.gas_lag_s;
                self.d[at + 1] = (doing.load.co2_mol_s - x[at + 1]) / who.gas_lag_s;
            }
            if doing.sweat_lag {
                for j in 0..2 {
                    self.d[at + 2 + j] = (doing.load.vapour_mol_s - x[at + 2 + j]) / SWEAT_TAU_S[j];
                }
            }
            let Some(a) = plant.breathes(mode, p) else { continue };
            let [oxygen, co2, vapour] = plant.output(&doing.load, doing.sweat_lag, x, p);
            for (species, mol_s) in [(0, co2), (1, vapour), (2, -oxygen)] {
                self.add(Place::Compartment(a), species, mol_s);
                self.d[plant.made + species] += mol_s;
            }
            self.heat[a] += doing.load.sensible_w;
            if doing.towel {
                self.d[plant.towel + a] += doing.load.runoff_mol_s;
                self.d[plant.towelled] += doing.load.runoff_mol_s;
            }
        }
    }

    fn rooms(&mut self) {
        let (plant, mode, x) = (self.plant, self.mode, self.x);
        for (a, c) in plant.case.compartments.iter().enumerate() {
            if plant.inert(mode, a) {
                continue;
            }
            let here = Place::Compartment(a);
            if plant.case.towel_drying_s > 0.0 {
                let dried = x[plant.towel + a] / plant.case.towel_drying_s;
                self.d[plant.towel + a] -= dried;
                self.d[plant.towelled] -= dried;
                self.d[plant.made + 1] += dried;
                self.add(here, 1, dried);
            }
            for s in 0..4 {
                self.move_gas(here, Place::Outside, s, c.leak_m3_s * x[4 * a + s] / c.volume_m3);
            }
            if let Some(heat) = c.heat {
                self.heat[a] += heat.equipment_w;
                if let Some(wall) = heat.wall {
                    let to_air = wall.to_air_w_k * (x[plant.wall + a] - x[plant.air + a]);
                    let out = match wall.insulation {
                        Insulation::Conductance(w_k) => w_k * (x[plant.wall + a] - wall.surroundings_k),
                        Insulation::Emittance(m2) => {
                            RADIATION * m2 * (x[plant.wall + a].powi(4) - wall.surroundings_k.powi(4))
                        }
                    };
                    self.heat[a] += to_air;
                    self.d[plant.wall + a] -= (to_air + out) / wall.capacity_j_k;
                }
            }
        }
        for (k, &(a, number)) in plant.surfaces.iter().enumerate() {
            if !mode.wet[k] || plant.inert(mode, a) {
                continue;
            }
            let c = &plant.case.compartments[a];
            let surface = &c.surfaces[number];
            let mol_s = surface.conductance_mol_s_pa * (plant.partial(x, a, 1) - plant.surface_saturation(x, k));
            self.add(Place::Compartment(a), 1, -mol_s);
            self.d[plant.liquid + k] += mol_s;
            self.d[plant.condensed] += mol_s;
            if let (SurfaceKind::Wall, Some(wall)) = (surface.kind, c.heat.and_then(|h| h.wall)) {
                self.d[plant.wall + a] += EVAPORATION * mol_s / wall.capacity_j_k;
            }
            if surface.kind == SurfaceKind::Mist && c.heat.is_some() {
                self.heat[a] += EVAPORATION * mol_s;
            }
        }
    }

    /// What open openings and the umbilicals of ventilated suits exchange, gas and heat.
    fn exchange(&mut self) {
        let (plant, mode, x) = (self.plant, self.mode, self.x);
        let mut pairs: Vec<([Place; 2], f64)> = Vec::new();
        for (o, opening) in plant.case.openings.iter().enumerate() {
            if mode.open[o] {
                pairs.push((opening.between, opening.exchange_m3_s));
            }
        }
        for (s, suit) in plant.case.suits.iter().enumerate() {
            if let (SuitUse::Ventilated, place) = plant.worn(mode, s) {
                pairs.push(([Place::Compartment(suit.compartment), place], suit.ventilation_m3_s));
            }
        }
        for ([one, other], m3_s) in pairs {
            let ((pa, ta), (pb, tb)) = (plant.gas_at(x, one), plant.gas_at(x, other));
            // A vacuum has no temperature: what leaves has that of the room.
            let (ta, tb) = (if ta > 0.0 { ta } else { tb }, if tb > 0.0 { tb } else { ta });
            let per_pa = m3_s / (R * (ta + tb) / 2.0);
            for s in 0..4 {
                self.move_gas(one, other, s, per_pa * (pa[s] - pb[s]));
            }
            let mean_pa = (pa.iter().sum::<f64>() + pb.iter().sum::<f64>()) / 2.0;
            for (place, difference) in [(one, tb - ta), (other, ta - tb)] {
                if let Place::Compartment(a) = place {
                    self.heat[a] += per_pa * mean_pa * CP_EXCHANGED * difference;
                }
            }
        }
    }

    fn holes(&mut self) {
        let (plant, mode, x) = (self.plant, self.mode, self.x);
        for hole in &mode.holes {
            if hole.one_way && !hole.forward {
                continue;
            }
            let (up, down) = hole.ends();
            let (gas, temperature_k) = plant.gas_at(x, up);
            let total: f64 = gas.iter().sum();
            if total <= 0.0 {
                continue;
            }
            let (ratio, g) = hole.ratio(plant, x);
            let all = hole.area_m2 * total * flow_function(hole.law, g, ratio)
                / (R * temperature_k * mean(&gas, &MASS)).sqrt();
            for s in 0..4 {
                let mol_s = all * gas[s] / total;
                self.add(up, s, -mol_s);
                match (hole.book, down) {
                    (Some(book), Place::Outside) => self.d[book + s] += mol_s,
                    _ => self.add(down, s, mol_s),
                }
                if let Some(slot) = hole.slot {
                    self.d[plant.transfer + 4 * slot + s] += mol_s;
                }
            }
        }
    }

    /// Flows that are what they are: of valves, fills, purges, and the leaks of suits.
    fn steady(&mut self) {
        let (plant, mode, x) = (self.plant, self.mode, self.x);
        for (v, valve) in plant.valves.iter().enumerate() {
            let lacking = valve.set_pa - plant.kept(x, v);
            let mol_s = match (mode.valve[v], valve.by) {
                (Valving::Full, Regulation::Limited { most_mol_s } | Regulation::Proportional { most_mol_s, .. }) => {
                    most_mol_s
                }
                (Valving::Full, Regulation::Band { flow_mol_s, .. }) => flow_mol_s,
                (Valving::Linear, Regulation::Proportional { gain_mol_s_pa, .. }) => gain_mol_s_pa * lacking,
                _ => continue,
            };
            for (at, part) in column(plant, mode, x, Unknown::Valve(v)) {
                self.d[at] += part * mol_s;
            }
            self.size += mol_s.abs();
        }
        for (k, transfer) in mode.transfers.iter().enumerate() {
            if let How::Flow { mol_s } = transfer.how {
                for (at, part) in column(plant, mode, x, Unknown::Ramp(k)) {
                    self.d[at] += part * mol_s;
                }
                self.size += mol_s.abs();
            }
        }
        for (s, suit) in plant.case.suits.iter().enumerate() {
            if !plant.closed(mode, s) {
                continue;
            }
            let (how, place) = plant.worn(mode, s);
            let (a, volume_m3) = (suit.compartment, plant.case.compartments[suit.compartment].volume_m3);
            for species in 0..4 {
                let mol_s = suit.leak_m3_s * x[4 * a + species] / volume_m3;
                self.move_gas(Place::Compartment(a), place, species, mol_s);
            }
            if how == SuitUse::Purged && !plant.suit_source(mode, s).is_some_and(|t| mode.dry[t]) {
                for (at, part) in oxygen_in(plant, mode, s) {
                    self.d[at] += part * suit.purge_mol_s;
                }
                self.size += suit.purge_mol_s;
            }
        }
    }

    /// Rates of the air's temperatures, from the heat gathered so far.
    fn warm(&mut self) {
        for (a, c) in self.plant.case.compartments.iter().enumerate() {
            if c.heat.is_none() || self.mode.vacuum[a] || self.plant.inert(self.mode, a) {
                continue;
            }
            let capacity: f64 = (0..4).map(|s| self.x[4 * a + s] * CP[s]).sum();
            self.d[self.plant.air + a] = self.heat[a] / capacity;
        }
    }

    /// Rate of a place's total pressure, Pa/s, with the rates so far.
    fn slope(&self, place: Place) -> f64 {
        let Place::Compartment(a) = place else { return 0.0 };
        if self.mode.vacuum[a] {
            return 0.0;
        }
        let made: f64 = self.d[4 * a..4 * a + 4].iter().sum();
        let air = self.plant.air + a;
        made / self.plant.capacity(self.x, a) + self.plant.total(self.x, a) * self.d[air] / self.x[air]
    }

    fn oxygen_slope(&self, a: usize) -> f64 {
        let air = self.plant.air + a;
        self.d[4 * a + 2] / self.plant.capacity(self.x, a)
            + self.plant.partial(self.x, a, 2) * self.d[air] / self.x[air]
    }

    /// By how much an unknown's equation is not met, Pa/s.
    fn unmet(&self, unknown: Unknown) -> f64 {
        match unknown {
            Unknown::Potential(m) => {
                self.slope(Place::Compartment(m)) - self.slope(Place::Compartment(self.mode.group[m]))
            }
            Unknown::Valve(v) if self.plant.valves[v].oxygen => self.oxygen_slope(self.plant.valves[v].room),
            Unknown::Valve(v) => self.slope(Place::Compartment(self.plant.valves[v].room)),
            Unknown::Suit(s) => {
                self.slope(Place::Compartment(self.plant.case.suits[s].compartment))
                    - self.slope(self.plant.worn(self.mode, s).1)
            }
            Unknown::Ramp(k) => {
                let transfer = &self.mode.transfers[k];
                let How::Ramp { rate_pa_s, .. } = transfer.how else {
                    panic!("only ramps are unknown")
                };
                let now = match transfer.what {
                    What::Vent { room } | What::Fill { room, .. } => self.slope(Place::Compartment(room)),
                    What::Equalise { between: [one, other] } => self.slope(one) - self.slope(other),
                };
                now - rate_pa_s
            }
        }
    }
}

/// Rates of all states.
pub fn rates(plant: &Plant, mode: &Mode, x: &[f64], d: &mut [f64]) -> Solved {
    d.fill(0.0);
    let mut r = Rates {
        plant,
        mode,
        x,
        d,
        heat: vec![0.0; plant.rooms],
        size: 0.0,
    };
    r.people();
    r.rooms();
    super::devices::devices(&mut r);
    r.exchange();
    r.holes();
    r.steady();
    r.warm();
    let list = unknowns(plant, mode);
    let mut value: Vec<f64> = list.iter().map(|&u| -r.unmet(u)).collect();
    let columns: Vec<Vec<(usize, f64)>> = list.iter().map(|&u| column(plant, mode, x, u)).collect();
    let mut matrix = vec![vec![0.0; list.len()]; list.len()];
    let mut alone = vec![0.0; plant.len];
    for k in 0..list.len() {
        alone.fill(0.0);
        for &(at, part) in &columns[k] {
            alone[at] += part;
        }
        // The equations are linear: what the column alone does to them, with no change of temperature and no ramp.
        let unit = Rates {
            plant,
            mode,
            x,
            d: &mut alone,
            heat: Vec::new(),
            size: 0.0,
        };
        for (e, &u) in list.iter().enumerate() {
            let ramp = match u {
                Unknown::Ramp(k) => match mode.transfers[k].how {
                    How::Ramp { rate_pa_s, .. } => rate_pa_s,
                    _ => 0.0,
                },
                _ => 0.0,
            };
            matrix[e][k] = unit.unmet(u) + ramp;
        }
    }
    solve(&mut matrix, &mut value);
    let mut bulk = vec![0.0; mode.edges.len()];
    for (k, &u) in list.iter().enumerate() {
        for &(at, part) in &columns[k] {
            r.d[at] += value[k] * part;
        }
        if let Unknown::Potential(m) = u {
            for (flow, e) in bulk.iter_mut().zip(&mode.edges) {
                let g = conductance(plant, x, e.a, e.b, e.exchange_m3_s);
                if e.a == m {
                    *flow += g * value[k];
                } else if e.b == m {
                    *flow -= g * value[k];
                }
            }
        } else {
            r.size += value[k].abs();
        }
    }
    let slope = (0..plant.valves.len())
        .map(|v| r.unmet(Unknown::Valve(v)) * plant.capacity(x, plant.valves[v].room))
        .collect();
    let eps = 1e-12 * r.size + 1e-22;
    // What enters a compartment that is open to the vacuum is lost.
    for a in (0..plant.rooms).filter(|&a| mode.vacuum[a]) {
        for s in 0..4 {
            d[plant.vented + s] += d[4 * a + s];
            d[4 * a + s] = 0.0;
        }
    }
    Solved {
        unknowns: list.into_iter().zip(value).collect(),
        bulk,
        slope,
        eps,
    }
}
