//! Which equations hold: everything that is constant between two events.

use breathroom_sim::air::Place;
use breathroom_sim::crew::Load;
use breathroom_sim::timeline::SuitUse;
use breathroom_sim::units::Time;

use super::laws::Law;
use super::plant::Plant;

/// What a person does.
#[derive(Clone, Debug)]
pub struct Doing {
    pub place: Place,
    pub suit: SuitUse,
    pub load: Load,
    pub sweat_lag: bool,
    pub towel: bool,
}

/// What a hold's valve does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Valving {
    /// Lets nothing in.
    Rest,
    /// Lets in what keeps its quantity.
    Keep,
    /// Lets in its most (limited, proportional) or its steady flow (band).
    Full,
    /// In proportion to what is lacking.
    Linear,
}

/// What a closed suit's valves do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regulator {
    /// Oxygen comes in as the pressure needs.
    Feed,
    /// Gas goes out into the place.
    Relieve,
    /// It should be fed, and there is nothing to feed it with.
    Starved,
}

/// Two compartments that share one pressure, and what they exchange.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    pub a: usize,
    pub b: usize,
    pub exchange_m3_s: f64,
    /// Bulk flow goes from `a` to `b`.
    pub forward: bool,
}

/// An orifice: which way it flows, and by which law.
#[derive(Clone, Copy, Debug)]
pub struct Hole {
    pub area_m2: f64,
    pub from: Place,
    pub to: Place,
    /// It lets nothing back.
    pub one_way: bool,
    /// Where what arrives at `to` is booked instead, if that is outside.
    pub book: Option<usize>,
    /// The transfer that it is part of.
    pub slot: Option<usize>,
    /// Gas goes from `from` to `to`.
    pub forward: bool,
    pub law: Law,
}

/// What a transfer moves.
#[derive(Clone, Copy, Debug)]
pub enum What {
    Vent {
        room: usize,
    },
    Fill {
        room: usize,
        /// Parts that are oxygen and diluent, with their tanks.
        parts: [(usize, f64, Option<usize>); 2],
    },
    Equalise {
        between: [Place; 2],
    },
}

/// At which rate.
#[derive(Clone, Copy, Debug)]
pub enum How {
    /// The pressure (or difference) changes at this rate, Pa/s, so that it is `to_pa` at a time.
    Ramp { rate_pa_s: f64, to_pa: f64, until: Time },
    /// Through an orifice.
    Hole { area_m2: f64 },
    /// At a steady flow, mol/s.
    Flow { mol_s: f64 },
    /// There is nothing left to move: it goes on until its time is over.
    Wait { until: Time },
}

/// A transfer that goes on.
#[derive(Clone, Copy, Debug)]
pub struct Active {
    /// Its place among all transfers of the run.
    pub slot: usize,
    pub what: What,
    pub how: How,
    /// The pressure (or difference) at which it ends, if it does not end at a time, Pa; and whether it falls to that.
    pub until_pa: Option<(f64, bool)>,
    /// It leaves nothing, and the compartment open to the vacuum.
    pub empties: bool,
}

/// One set of equations.
#[derive(Clone, Debug)]
pub struct Mode {
    pub people: Vec<Doing>,
    pub open: Vec<bool>,
    pub on: Vec<bool>,
    /// Factor of each device's present turn.
    pub factor: Vec<f64>,
    /// Bed whose turn it is, of each device.
    pub bed: Vec<usize>,
    /// Piece of each device's law for CO2 and water: of a condenser 1 while it condenses.
    pub piece: Vec<[usize; 2]>,
    pub wet: Vec<bool>,
    pub valve: Vec<Valving>,
    /// Of each valve: it may work.
    pub acts: Vec<bool>,
    /// Of each suit.
    pub regulator: Vec<Regulator>,
    /// Of each suit: it is fed by its supply, not by its own tank.
    pub umbilical: Vec<bool>,
    /// Of each compartment: its relief valve is open.
    pub relief: Vec<bool>,
    /// Of each compartment: it is open to the vacuum.
    pub vacuum: Vec<bool>,
    /// Of each compartment: its holds rest.
    pub resting: Vec<bool>,
    pub dry: Vec<bool>,
    /// Of each tank: it has been below its reserve.
    pub reserve: Vec<bool>,
    pub transfers: Vec<Active>,
    pub edges: Vec<Edge>,
    /// First member of each compartment's group.
    pub group: Vec<usize>,
    pub holes: Vec<Hole>,
}

impl Mode {
    pub fn new(plant: &Plant) -> Self {
        let case = plant.case;
        let rooms = plant.rooms;
        Self {
            people: case
                .people
                .iter()
                .map(|who| Doing {
                    place: who.start,
                    suit: SuitUse::Off,
                    load: Load::default(),
                    sweat_lag: false,
                    towel: false,
                })
                .collect(),
            open: case.openings.iter().map(|o| o.open).collect(),
            on: case.devices.iter().map(|d| d.on).collect(),
            factor: vec![1.0; case.devices.len()],
            bed: vec![0; case.devices.len()],
            piece: vec![[0; 2]; case.devices.len()],
            wet: vec![false; plant.surfaces.len()],
            valve: vec![Valving::Rest; plant.valves.len()],
            acts: vec![false; plant.valves.len()],
            regulator: vec![Regulator::Relieve; case.suits.len()],
            umbilical: vec![false; case.suits.len()],
            relief: vec![false; rooms],
            vacuum: vec![false; rooms],
            resting: vec![false; rooms],
            dry: vec![false; case.tanks.len()],
            reserve: vec![false; case.tanks.len()],
            transfers: Vec::new(),
            edges: Vec::new(),
            group: (0..rooms).collect(),
            holes: Vec::new(),
        }
    }

    /// The compartments that share a pressure with `a`.
    pub fn members(&self, a: usize) -> Vec<usize> {
        (0..self.group.len())
            .filter(|&b| self.group[b] == self.group[a])
            .collect()
    }

    /// Works out anew which compartments are joined: by open openings and by the umbilicals of ventilated suits. Edges that
    /// stay keep their direction.
    pub fn rewire(&mut self, plant: &Plant) {
        let mut edges = Vec::new();
        for (o, opening) in plant.case.openings.iter().enumerate() {
            if let (true, [Place::Compartment(a), Place::Compartment(b)]) = (self.open[o], opening.between) {
                edges.push((a, b, opening.exchange_m3_s));
            }
        }
        for (s, suit) in plant.case.suits.iter().enumerate() {
            if let (SuitUse::Ventilated, Place::Compartment(b)) = plant.worn(self, s) {
                edges.push((suit.compartment, b, suit.ventilation_m3_s));
            }
        }
        let old = std::mem::take(&mut self.edges);
        self.group = (0..plant.rooms).collect();
        for (a, b, exchange_m3_s) in edges {
            let was = old.iter().find(|e| e.a == a && e.b == b);
            self.edges.push(Edge {
                a,
                b,
                exchange_m3_s,
                forward: was.is_none_or(|e| e.forward),
            });
            let (low, high) = (self.group[a].min(self.group[b]), self.group[a].max(self.group[b]));
            for g in &mut self.group {
                if *g == high {
                    *g = low;
                }
            }
        }
    }

    /// Lists the orifices that are open, with the laws that hold at a state.
    pub fn drill(&mut self, plant: &Plant, x: &[f64]) {
        let mut holes = Vec::new();
        let mut add = |area_m2: f64, ends: [Place; 2], one_way: bool, book: Option<usize>, slot: Option<usize>| {
            holes.push(Hole {
                area_m2,
                from: ends[0],
                to: ends[1],
                one_way,
                book,
                slot,
                forward: true,
                law: Law::Choked,
            });
        };
        for (a, c) in plant.case.compartments.iter().enumerate() {
            if plant.inert(self, a) || self.vacuum[a] {
                continue;
            }
            let out = [Place::Compartment(a), Place::Outside];
            if c.leak_area_m2 > 0.0 {
                add(c.leak_area_m2, out, false, None, None);
            }
            if let (Some(relief), true) = (c.relief, self.relief[a]) {
                add(relief.area_m2, out, true, Some(plant.relieved), None);
            }
        }
        for transfer in &self.transfers {
            let How::Hole { area_m2 } = transfer.how else { continue };
            match transfer.what {
                What::Vent { room } => add(
                    area_m2,
                    [Place::Compartment(room), Place::Outside],
                    true,
                    Some(plant.vented),
                    Some(transfer.slot),
                ),
                What::Equalise { between } => add(area_m2, between, false, None, Some(transfer.slot)),
                What::Fill { .. } => panic!("nothing is filled through an orifice"),
            }
        }
        for hole in &mut holes {
            hole.forward = plant.total_at(x, hole.from) >= plant.total_at(x, hole.to);
            let (ratio, g) = hole.ratio(plant, x);
            hole.law = super::laws::law_at(g, ratio);
        }
        self.holes = holes;
    }
}

impl Hole {
    /// Where its gas comes from and goes to.
    pub fn ends(&self) -> (Place, Place) {
        if self.forward {
            (self.from, self.to)
        } else {
            (self.to, self.from)
        }
    }

    /// Pressure ratio over it, and the heat capacity ratio upstream.
    pub fn ratio(&self, plant: &Plant, x: &[f64]) -> (f64, f64) {
        let (up, down) = self.ends();
        let (gas, _) = plant.gas_at(x, up);
        let total: f64 = gas.iter().sum();
        if total <= 0.0 {
            return (1.0, 1.4);
        }
        (plant.total_at(x, down) / total, super::laws::heat_ratio(&gas))
    }
}
