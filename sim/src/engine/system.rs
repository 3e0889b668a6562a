//! The equations of one mode: conductances, sources and joins, from case, mode, people and stocks.
//!
//! For species `i` in compartment `a` (capacity `c_a = V_a / (R T_a)`, mol/Pa):
//!
//! ```text
//! c_a p_ia' = sum_b g_ab (p_ib - p_ia) - G_ia p_ia + s_ia + sum_l q_ial e^(-mu_l t) + bulk + holds
//! ```
//!
//! `g_ab = Q / (R (T_a + T_b)/2)` for an opening with exchange flow `Q`: it conserves amounts, equalises partial pressures
//! and pumps no net gas between rooms of different temperature. `G`: devices, leak, exchange with outside, wet surfaces.
//! `s`: people at their targets, outside air, saturation at films and coils. `q`: what people still lag behind, towels that
//! dry. Bulk flow and holds are `bulk`'s and `valve`'s.

use crate::air::{GAS_CONSTANT_J_MOL_K, MOST, Opening, Place};
use crate::crew::{SWEAT_TAU_S, SWEAT_WEIGHTS};

use super::Case;
use super::accuracy::{ON_LEVEL, allowed_along};
use super::indices::{CO2, LAGS, OXYGEN, WATER};
use super::lags::Lost;
use super::mode::{Mode, TAKEN};
use super::people::{Crew, behind};
use super::state::Stocks;

/// Sources of one species that die away.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Dying {
    /// How many rates are in use.
    pub count: usize,
    /// Rates, 1/s.
    pub mu: [f64; LAGS],
    /// `amount[l][a]`, mol/s at the start of the segment.
    pub amount: [[f64; MOST]; LAGS],
}

impl Dying {
    /// Adds `amount e^(-mu t)` in compartment `a`.
    pub fn add(&mut self, mu: f64, a: usize, amount: f64) {
        if amount == 0.0 {
            return;
        }
        let place = (0..self.count).find(|&l| self.mu[l] == mu).unwrap_or_else(|| {
            let fresh = self.count;
            self.count += 1;
            self.mu[fresh] = mu;
            self.amount[fresh] = [0.0; MOST];
            fresh
        });
        self.amount[place][a] += amount;
    }
}

/// A join between two compartments.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Join {
    /// One end.
    pub a: usize,
    /// The other.
    pub b: usize,
    /// Exchange conductance, mol/s/Pa.
    pub conductance: f64,
}

/// How the total pressure of a compartment is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum PressureLaw {
    /// As the sum of four species, each on its own.
    Sum,
    /// It is held: the diluent is what the others leave.
    Held(f64),
    /// Shared by a joined group (named by its first compartment) and drifting: likewise.
    Shared(usize),
}

/// The equations of one mode.
#[derive(Clone, Debug)]
pub(crate) struct System {
    /// Number of compartments.
    pub n: usize,
    /// Capacities, mol/Pa.
    pub capacity: [f64; MOST],
    /// `G[i][a]`, mol/s/Pa.
    pub sink: [[f64; MOST]; 4],
    /// `s[i][a]`, mol/s.
    pub source: [[f64; MOST]; 4],
    /// Dying sources of each species; the diluent has none.
    pub dying: [Dying; 3],
    /// Exchange conductances, mol/s/Pa, symmetric.
    pub exchange: [[f64; MOST]; MOST],
    /// Open joins between compartments.
    pub joins: Vec<Join>,
    /// First compartment of each compartment's group.
    pub group: [usize; MOST],
    /// Size of each group, by its first compartment.
    pub group_size: [usize; MOST],
    /// Oxygen is held here: its partial pressure.
    pub oxygen_held: [Option<f64>; MOST],
    /// How each total pressure is known.
    pub law: [PressureLaw; MOST],
    /// Where the valve that holds a group's pressure lets diluent in, by the group's first compartment.
    pub inlet: [usize; MOST],
}

impl Default for System {
    fn default() -> Self {
        Self {
            n: 0,
            capacity: [0.0; MOST],
            sink: [[0.0; MOST]; 4],
            source: [[0.0; MOST]; 4],
            dying: [Dying::default(); 3],
            exchange: [[0.0; MOST]; MOST],
            joins: Vec::new(),
            group: [0; MOST],
            group_size: [0; MOST],
            oxygen_held: [None; MOST],
            law: [PressureLaw::Sum; MOST],
            inlet: [0; MOST],
        }
    }
}

/// Exchange conductance of an opening, mol/s/Pa: `Q / (R T_mean)`.
pub(crate) fn conductance(case: &Case, opening: &Opening) -> f64 {
    let temperature = |place| match place {
        Place::Compartment(a) => case.compartments[a].temperature_k,
        Place::Outside => case.outside.temperature_k,
    };
    let mean_k = 0.5 * (temperature(opening.between[0]) + temperature(opening.between[1]));
    opening.exchange_m3_s / (GAS_CONSTANT_J_MOL_K * mean_k)
}

/// Adds what people take from and give to the air, and towels to it: steady sources `[species][compartment]`, mol/s, and those that
/// die away.
pub(crate) fn add_people(
    case: &Case,
    crew: &Crew,
    stocks: &Stocks,
    source: &mut [[f64; MOST]],
    dying: &mut [Dying; 3],
) {
    for person in crew.by_size(case) {
        let doing = &crew.people[person];
        let Place::Compartment(a) = doing.air else { continue };
        let load = doing.target(case, person);
        let mu = 1.0 / case.people[person].gas_lag_s;
        source[CO2][a] += load.co2_mol_s;
        source[OXYGEN][a] -= load.oxygen_mol_s;
        dying[CO2].add(mu, a, behind(doing.co2, load.co2_mol_s));
        dying[OXYGEN].add(mu, a, -behind(doing.oxygen, load.oxygen_mol_s));
        source[WATER][a] += load.vapour_mol_s;
        for j in 0..2 {
            let amount = SWEAT_WEIGHTS[j] * behind(doing.sweat[j], load.vapour_mol_s);
            dying[WATER].add(1.0 / SWEAT_TAU_S[j], a, amount);
        }
        if doing.profile(case, person).towel {
            source[WATER][a] += load.runoff_mol_s;
        }
    }
    for a in 0..case.compartments.len() {
        let excess = stocks.towel_mol[a] / case.towel_drying_s - crew.runoff_to_towel(case, a);
        dying[WATER].add(1.0 / case.towel_drying_s, a, excess);
    }
}

impl System {
    /// Writes the equations of the present mode.
    pub fn assemble(&mut self, case: &Case, mode: &Mode, crew: &Crew, stocks: &Stocks) {
        self.n = case.compartments.len();
        self.sink = [[0.0; MOST]; 4];
        self.source = [[0.0; MOST]; 4];
        self.group = mode.group;
        self.group_size = mode.group_size;
        for dying in &mut self.dying {
            dying.count = 0;
        }
        for (a, compartment) in case.compartments.iter().enumerate() {
            let per_volume = 1.0 / (GAS_CONSTANT_J_MOL_K * stocks.temperature_k[a]);
            self.capacity[a] = compartment.volume_m3 * per_volume;
            for sink in &mut self.sink {
                sink[a] = compartment.leak_m3_s * per_volume;
            }
            for (s, surface) in compartment.surfaces.iter().enumerate() {
                if mode.wet[a][s] && !mode.inert[a] {
                    self.sink[WATER][a] += surface.conductance_mol_s_pa;
                    self.source[WATER][a] += surface.conductance_mol_s_pa * surface.saturation_pa;
                }
            }
        }
        self.add_openings(case, mode);
        self.add_devices(case, mode);
        add_people(case, crew, stocks, &mut self.source, &mut self.dying);
        self.add_holds(case, mode);
    }

    fn add_openings(&mut self, case: &Case, mode: &Mode) {
        self.exchange = [[0.0; MOST]; MOST];
        self.joins.clear();
        for (opening, &open) in case.openings.iter().zip(&mode.open) {
            if !open {
                continue;
            }
            let conductance = conductance(case, opening);
            match opening.between {
                [Place::Compartment(a), Place::Compartment(b)] => {
                    self.exchange[a][b] += conductance;
                    self.exchange[b][a] += conductance;
                    self.joins.push(Join { a, b, conductance });
                }
                [Place::Compartment(a), Place::Outside] | [Place::Outside, Place::Compartment(a)] => {
                    for i in 0..4 {
                        self.sink[i][a] += conductance;
                        self.source[i][a] += conductance * case.outside.partial_pa[i];
                    }
                }
                [Place::Outside, Place::Outside] => {}
            }
        }
    }

    fn add_devices(&mut self, case: &Case, mode: &Mode) {
        for (d, device) in case.devices.iter().enumerate() {
            let factor = mode.factor(case, d);
            if factor == 0.0 {
                continue;
            }
            let a = device.serves;
            for (taken, species) in TAKEN.into_iter().enumerate() {
                let line = device.line(
                    species,
                    mode.piece[d][taken],
                    case.compartments[a].temperature_k,
                    factor,
                );
                self.sink[species as usize][a] += line.conductance_mol_s_pa;
                self.source[species as usize][a] += line.offset_mol_s;
            }
        }
    }

    fn add_holds(&mut self, case: &Case, mode: &Mode) {
        self.oxygen_held = [None; MOST];
        for a in 0..self.n {
            self.law[a] = if self.group_size[self.group[a]] == 1 {
                PressureLaw::Sum
            } else {
                PressureLaw::Shared(self.group[a])
            };
        }
        for (index, hold) in case.holds.iter().enumerate() {
            if mode.oxygen_flows[index] {
                self.oxygen_held[hold.compartment] = hold.oxygen_pa;
            }
            if let (true, Some(pressure)) = (mode.pressure_flows[index], hold.pressure_pa) {
                let group = self.group[hold.compartment];
                self.inlet[group] = hold.compartment;
                for a in 0..self.n {
                    if self.group[a] == group {
                        self.law[a] = PressureLaw::Held(pressure);
                    }
                }
            }
        }
    }

    /// The sources of the breathed species, mol/s, at instants at which the dying ones have lost so much.
    pub fn sources_at<const N: usize, const L: usize>(&self, lost: &[Lost; L], out: &mut [[[f64; L]; N]; 3]) {
        for i in 0..3 {
            for a in 0..N {
                out[i][a] = [self.source[i][a]; L];
            }
            let dying = &self.dying[i];
            for d in 0..dying.count.min(LAGS) {
                for a in 0..N {
                    let amount = dying.amount[d][a];
                    if amount != 0.0 {
                        for l in 0..L {
                            out[i][a][l] += amount * (1.0 + lost[l][i][d]);
                        }
                    }
                }
            }
        }
    }

    /// Within this of a value, a partial or total pressure cannot be told from it, Pa: rounding in closed form, the
    /// integrator's allowed error where there is bulk flow. Modes are entered and left only beyond it.
    pub fn noise_pa(&self, p: f64) -> f64 {
        if self.has_bulk() {
            allowed_along(p.abs())
        } else {
            ON_LEVEL * p.abs()
        }
    }

    /// Whether some group of more than one compartment needs bulk flow, so that the mode is not affine.
    pub fn has_bulk(&self) -> bool {
        self.group_size[..self.n].iter().any(|&size| size > 1)
    }
}
