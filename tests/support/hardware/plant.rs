//! A case with the places of its states, and what is read off them.
//!
//! State: amounts (mol) by compartment and species; air and wall temperatures (K); liquid (mol) by surface; towel water (mol)
//! by compartment; oxygen use, CO2 output and two parts of vapour output (mol/s) by person; four stores by device (a swing
//! bed's loadings in mol/kg, a canister's CO2 in mol). Then books: pure integrals, nothing depends on them but conditions on
//! tanks.

use breathroom_sim::air::{Place, Regulation, Species, SurfaceKind};
use breathroom_sim::crew::{Load, SWEAT_WEIGHTS};
use breathroom_sim::engine::Case;
use breathroom_sim::removal::Removal;
use breathroom_sim::timeline::{Effect, SuitUse};

use super::laws::{R, saturation_pa};
use super::mode::Mode;

/// One regulated inflow of a hold.
#[derive(Clone, Copy, Debug)]
pub struct Valve {
    pub room: usize,
    /// It keeps the oxygen partial pressure; else the total pressure.
    pub oxygen: bool,
    /// What it lets in.
    pub species: usize,
    pub set_pa: f64,
    pub by: Regulation,
    pub tank: Option<usize>,
}

/// A case with the places of its states.
#[derive(Debug)]
pub struct Plant<'a> {
    pub case: &'a Case,
    pub rooms: usize,
    /// Compartment and number in it of every surface.
    pub surfaces: Vec<(usize, usize)>,
    pub valves: Vec<Valve>,
    /// Suit whose compartment this is.
    pub suit_in: Vec<Option<usize>>,
    pub air: usize,
    pub wall: usize,
    pub liquid: usize,
    pub towel: usize,
    pub person: usize,
    pub store: usize,
    /// Number of states that feed back.
    pub core: usize,
    /// Taken out of each tank.
    pub tank: usize,
    /// Lost in vents, by species; likewise the next three.
    pub vented: usize,
    pub leaked: usize,
    pub relieved: usize,
    pub turned: usize,
    /// Let in by holds, by species; likewise by fills and to suits.
    pub supplied: usize,
    pub filled: usize,
    pub to_suits: usize,
    /// Given off by people (towels included), less what they use, by species; oxygen is negative.
    pub made: usize,
    /// Runoff into towels, less what dried; net condensation.
    pub towelled: usize,
    pub condensed: usize,
    /// By device: CO2 taken, water taken, heat.
    pub device: usize,
    /// Oxygen let into each suit.
    pub suit: usize,
    /// Gas of each transfer, by species.
    pub transfer: usize,
    pub len: usize,
}

impl<'a> Plant<'a> {
    pub fn new(case: &'a Case) -> Self {
        let rooms = case.compartments.len();
        let surfaces: Vec<(usize, usize)> = (0..rooms)
            .flat_map(|a| (0..case.compartments[a].surfaces.len()).map(move |s| (a, s)))
            .collect();
        let mut valves = Vec::new();
        for hold in &case.holds {
            let mut add = |set_pa: Option<f64>, oxygen: bool, by: Regulation, tank: Option<usize>| {
                let gas = match tank {
                    Some(t) => case.tanks[t].gas,
                    None if oxygen => Species::Oxygen,
                    None => Species::Diluent,
                };
                if let Some(set_pa) = set_pa {
                    valves.push(Valve {
                        room: hold.compartment,
                        oxygen,
                        species: gas as usize,
                        set_pa,
                        by,
                        tank,
                    });
                }
            };
            add(hold.oxygen_pa, true, hold.oxygen_by, hold.oxygen_from);
            add(hold.pressure_pa, false, hold.pressure_by, hold.pressure_from);
        }
        let suit_in = (0..rooms)
            .map(|a| case.suits.iter().position(|s| s.compartment == a))
            .collect();
        let lasting: usize = case
            .plan
            .tasks
            .iter()
            .map(|t| t.starts.iter().chain(&t.ends).filter(|e| Effect::lasts(e)).count())
            .sum();
        let mut next = 4 * rooms;
        let mut place = |count: usize| {
            next += count;
            next - count
        };
        let (air, wall) = (place(rooms), place(rooms));
        let (liquid, towel) = (place(surfaces.len()), place(rooms));
        let (person, store) = (place(4 * case.people.len()), place(4 * case.devices.len()));
        let (core, tank) = (place(0), place(case.tanks.len()));
        let [vented, leaked, relieved, turned, supplied, filled, to_suits, made] = [0; 8].map(|_| place(4));
        let (towelled, condensed) = (place(1), place(1));
        let (device, suit) = (place(3 * case.devices.len()), place(case.suits.len()));
        let transfer = place(4 * lasting);
        let len = place(0);
        Self {
            case,
            rooms,
            surfaces,
            valves,
            suit_in,
            air,
            wall,
            liquid,
            towel,
            person,
            store,
            core,
            tank,
            vented,
            leaked,
            relieved,
            turned,
            supplied,
            filled,
            to_suits,
            made,
            towelled,
            condensed,
            device,
            suit,
            transfer,
            len,
        }
    }

    /// The state before anything happens; people's parts follow with their first effort.
    pub fn start(&self) -> Vec<f64> {
        let mut x = vec![0.0; self.len];
        for (a, c) in self.case.compartments.iter().enumerate() {
            x[self.air + a] = c.temperature_k;
            x[self.wall + a] = c.heat.and_then(|h| h.wall).map_or(c.temperature_k, |w| w.temperature_k);
            for s in 0..4 {
                x[4 * a + s] = c.partial_pa[s] * self.capacity(&x, a);
            }
        }
        for (k, device) in self.case.devices.iter().enumerate() {
            let at = self.store + 4 * k;
            match &device.removal {
                Removal::SwingBed(bed) => x[at..at + 4].copy_from_slice(&bed.loaded_mol_kg),
                Removal::Sorbent { loaded_mol, .. } => x[at] = *loaded_mol,
                _ => {}
            }
        }
        x
    }

    /// Amount per pressure of a compartment, mol/Pa.
    pub fn capacity(&self, x: &[f64], a: usize) -> f64 {
        self.case.compartments[a].volume_m3 / (R * x[self.air + a])
    }

    pub fn amount(&self, x: &[f64], a: usize) -> f64 {
        x[4 * a..4 * a + 4].iter().sum()
    }

    /// Partial pressure, Pa.
    pub fn partial(&self, x: &[f64], a: usize, species: usize) -> f64 {
        x[4 * a + species] / self.capacity(x, a)
    }

    /// Total pressure, Pa.
    pub fn total(&self, x: &[f64], a: usize) -> f64 {
        self.amount(x, a) / self.capacity(x, a)
    }

    /// Total pressure of a place, Pa.
    pub fn total_at(&self, x: &[f64], place: Place) -> f64 {
        match place {
            Place::Compartment(a) => self.total(x, a),
            Place::Outside => self.case.outside.partial_pa.iter().sum(),
        }
    }

    /// Partial pressures and temperature of a place.
    pub fn gas_at(&self, x: &[f64], place: Place) -> ([f64; 4], f64) {
        match place {
            Place::Compartment(a) => (std::array::from_fn(|s| self.partial(x, a, s)), x[self.air + a]),
            Place::Outside => (self.case.outside.partial_pa, self.case.outside.temperature_k),
        }
    }

    /// Mole fractions of a place; nothing in a vacuum.
    pub fn composition(&self, x: &[f64], place: Place) -> [f64; 4] {
        let (partial, _) = self.gas_at(x, place);
        let total: f64 = partial.iter().sum();
        partial.map(|p| if total > 0.0 { p / total } else { 0.0 })
    }

    /// What a valve keeps, Pa.
    pub fn kept(&self, x: &[f64], v: usize) -> f64 {
        let valve = &self.valves[v];
        if valve.oxygen {
            self.partial(x, valve.room, 2)
        } else {
            self.total(x, valve.room)
        }
    }

    /// Saturation pressure at a surface: a wall's follows the wall, mist's the air, where there is a heat balance.
    pub fn surface_saturation(&self, x: &[f64], k: usize) -> f64 {
        let (a, number) = self.surfaces[k];
        let c = &self.case.compartments[a];
        let surface = &c.surfaces[number];
        match (surface.kind, c.heat) {
            (SurfaceKind::Wall, Some(heat)) if heat.wall.is_some() => saturation_pa(x[self.wall + a]),
            (SurfaceKind::Mist, Some(_)) => saturation_pa(x[self.air + a]),
            _ => surface.saturation_pa,
        }
    }

    /// What is left in a tank, mol.
    pub fn left(&self, x: &[f64], t: usize) -> f64 {
        self.case.tanks[t].amount_mol - x[self.tank + t]
    }

    /// How a suit is worn, and where.
    pub fn worn(&self, mode: &Mode, s: usize) -> (SuitUse, Place) {
        let who = &mode.people[self.case.suits[s].wearer];
        (who.suit, who.place)
    }

    /// Whether a suit's regulator works.
    pub fn closed(&self, mode: &Mode, s: usize) -> bool {
        !matches!(self.worn(mode, s).0, SuitUse::Off | SuitUse::Ventilated)
    }

    /// The pressure that a closed suit should have, Pa.
    pub fn suit_target(&self, mode: &Mode, x: &[f64], s: usize) -> f64 {
        let (how, place) = self.worn(mode, s);
        let above = if how == SuitUse::Pressurised {
            self.case.suits[s].above_pa
        } else {
            0.0
        };
        self.total_at(x, place) + above
    }

    /// The tank that a closed suit draws on: its supply where there is pressure, else its own; none: unlimited.
    pub fn suit_source(&self, mode: &Mode, s: usize) -> Option<usize> {
        let suit = &self.case.suits[s];
        if mode.umbilical[s] { suit.supply } else { suit.tank }
    }

    /// Whether a compartment is a suit that nobody wears.
    pub fn inert(&self, mode: &Mode, a: usize) -> bool {
        self.suit_in[a].is_some_and(|s| self.worn(mode, s).0 == SuitUse::Off)
    }

    /// Where a person's breath comes from and goes to.
    pub fn breathes(&self, mode: &Mode, p: usize) -> Option<usize> {
        let who = &mode.people[p];
        let suit = self.case.suits.iter().find(|s| s.wearer == p);
        match (suit, who.suit, who.place) {
            (Some(suit), how, _) if how != SuitUse::Off => Some(suit.compartment),
            (_, _, Place::Compartment(a)) => Some(a),
            (_, _, Place::Outside) => None,
        }
    }

    /// Oxygen use, CO2 and vapour output of a person now, mol/s.
    pub fn output(&self, load: &Load, sweat_lag: bool, x: &[f64], p: usize) -> [f64; 3] {
        let at = self.person + 4 * p;
        let vapour = if sweat_lag {
            SWEAT_WEIGHTS[0] * x[at + 2] + SWEAT_WEIGHTS[1] * x[at + 3]
        } else {
            load.vapour_mol_s
        };
        if self.case.people[p].gas_lag_s > 0.0 {
            [x[at], x[at + 1], vapour]
        } else {
            [load.oxygen_mol_s, load.co2_mol_s, vapour]
        }
    }
}
