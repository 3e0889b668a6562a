//! What of a device can be fitted, and what its outlet is for such parameters: the laws of `sim::removal` over a measured inlet.
//!
//! ```text
//! flow-through   d = f e p                  condenser   d = (1 - b) max(0, p - p_sat(coil))
//! sorbent        d = p (1 - b) (1 - X)      swing-bed   d = what the adsorbing bed takes, over Q / (R T)
//! p_out = (p - d) P / (P - sum d)
//! ```
//!
//! `p` inlet partial pressure, Pa; `d` what is taken of it at the inlet's volume, Pa; `f` factor of the device's turn, `e` efficiency; `b`
//! bypass; `X` what a bed passes (`sorbent.rs`); `P` total pressure, Pa: what is taken is missing from the volume too. Without a column
//! of pressure that last factor is left at 1. Turns count from time 0 of the file.
//!
//! A test of a smaller piece, with flow and sorbent in one proportion, is fitted as the whole: `scale` multiplies what the sorbent holds.
//! Left out: a pressure drop (the outlet is read at the inlet's total pressure), water that a coil gives back.

use breathroom_sim::air::saturation_pa;
use breathroom_sim::engine::Case;
use breathroom_sim::removal::{Cycle, Device, Isotherm, Removal};
use breathroom_sim::scenario::Scenario;
use breathroom_sim::units::{Dimension, Unit, parse, unit};

use super::series::Series;
use super::sorbent;
use super::swing;

/// CO2 and water.
pub const CO2: usize = 0;
/// Water.
pub const WATER: usize = 1;

/// How sure a parameter must be to count as identified.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Needed {
    /// Its standard deviation is at most this part of it.
    Relative(f64),
    /// Its standard deviation is at most this.
    Absolute(f64),
}

/// A parameter of a device that data can give.
#[derive(Clone, Debug)]
pub struct Law {
    /// Its key within the device: "co2_efficiency", "rates.co2".
    pub key: &'static str,
    /// What it is.
    pub words: &'static str,
    /// Its value in the scenario, SI; of a spread its median.
    pub given: f64,
    /// Its domain in the scenario, SI.
    pub domain: [f64; 2],
    /// The unit it is written in.
    pub unit: Unit,
    /// Whose outlet gives it: [`CO2`] or [`WATER`].
    pub species: usize,
    /// How sure it must be.
    pub needed: Needed,
    /// What a test must do to give it.
    pub takes: &'static str,
}

/// A device with what is fixed in it.
#[derive(Clone, Debug)]
pub struct Model {
    /// Its family, as `kind` has it.
    pub family: &'static str,
    /// Its parameters; those that are given up first, where data do not give all, stand last.
    pub laws: Vec<Law>,
    /// Columns without which nothing can be fitted.
    pub needs: Vec<&'static str>,
    /// What is assumed, in words.
    pub notes: Vec<String>,
    device: Device,
    /// mol of capacity for each unit of the fitted capacity.
    capacity_mol: f64,
    /// mol/kg/Pa for each mol/kg of a line's loading: CO2 and water.
    slope: [f64; 2],
    scale: f64,
}

const PART: [f64; 2] = [0.0, 1.0];

impl Model {
    /// The model of a device of a scenario, on its medians.
    ///
    /// # Errors
    /// If the family has nothing that a bench test gives.
    pub fn of(scenario: &Scenario, case: &Case, index: usize, scale: f64) -> Result<Self, String> {
        let name = &scenario.names.devices[index];
        let device = case.devices[index].clone();
        let mut model = Self {
            family: "",
            laws: Vec::new(),
            needs: Vec::new(),
            notes: Vec::new(),
            device,
            capacity_mol: 1.0,
            slope: [1.0; 2],
            scale,
        };
        let has = |key: &str| {
            scenario
                .resolved
                .iter()
                .find(|value| value.path == format!("removal.{name}.{key}"))
        };
        let unit_of = |key: &str, dimension: Dimension, usual: &str| {
            let written = has(key).and_then(|value| value.amount).map(|amount| amount.unit);
            written
                .or_else(|| unit(usual, dimension))
                .unwrap_or_else(|| dimension.si_unit())
        };
        let part = |key, words, given, species, takes| Law {
            key,
            words,
            given,
            domain: PART,
            unit: unit_of(key, Dimension::Fraction, "%"),
            species,
            needed: Needed::Absolute(0.1),
            takes,
        };
        match model.device.removal.clone() {
            Removal::FlowThrough {
                co2_efficiency,
                water_efficiency,
                ..
            } => {
                model.family = "flow-through";
                let takes = "an inlet above the sensor's noise";
                model.laws = vec![
                    part("co2_efficiency", "CO2 efficiency", co2_efficiency, CO2, takes),
                    part("water_efficiency", "water efficiency", water_efficiency, WATER, takes),
                ];
                // A turn's factor times the efficiency is at most 1.
                let factors = model
                    .device
                    .cycle
                    .iter()
                    .flat_map(|cycle| cycle.factors.iter().copied());
                let most = factors.fold(1.0, f64::max);
                for law in &mut model.laws {
                    law.domain[1] = 1.0 / most;
                }
                if model.device.cycle.is_some() {
                    model
                        .notes
                        .push("The scenario's turns are followed: the first begins at time 0 of the data.".to_owned());
                }
            }
            Removal::Condenser {
                bypass,
                coil_temperature_k,
                ..
            } => {
                model.family = "condenser";
                model.needs = vec!["water"];
                let coil = Law {
                    key: "coil_temperature",
                    words: "temperature of the coil",
                    given: coil_temperature_k,
                    domain: [200.0, 330.0],
                    unit: unit_of("coil_temperature", Dimension::Temperature, "degC"),
                    species: WATER,
                    needed: Needed::Absolute(2.0),
                    takes: "an inlet at several dew points, all above the coil",
                };
                model.laws = vec![
                    part(
                        "bypass",
                        "bypass of the coil",
                        bypass,
                        WATER,
                        "an inlet dew point above the coil",
                    ),
                    coil,
                ];
            }
            Removal::Sorbent {
                capacity_mol,
                sharpness,
                bypass,
                ..
            } => {
                model.family = "sorbent";
                model.needs = vec!["co2", "flow", "temperature"];
                let molar = breathroom_sim::air::Species::Co2.molar_mass_kg_mol();
                let capacity = if has("capacity").is_some_and(|value| value.amount.is_some()) {
                    model.capacity_mol = 1.0 / molar;
                    Law {
                        key: "capacity",
                        words: "CO2 that a canister takes in all",
                        given: capacity_mol * molar,
                        domain: [1e-3, 1e4],
                        unit: unit_of("capacity", Dimension::Mass, "kg"),
                        species: CO2,
                        needed: Needed::Relative(0.3),
                        takes: "a test that goes on until a good part of the inlet passes",
                    }
                } else {
                    let utilisation = has("utilisation").and_then(|value| match value.amount {
                        Some(amount) => Some(amount.si),
                        None => parse(&value.written, Dimension::Fraction).ok().map(|read| read.si),
                    });
                    let utilisation = utilisation.filter(|part| *part > 0.0).unwrap_or(1.0);
                    model.capacity_mol = capacity_mol / utilisation;
                    Law {
                        domain: [0.01, 1.0],
                        needed: Needed::Relative(0.3),
                        ..part(
                            "utilisation",
                            "part of the uptake that is reached",
                            utilisation,
                            CO2,
                            "a test that goes on until a good part of the inlet passes",
                        )
                    }
                };
                let sharpness = Law {
                    key: "sharpness",
                    words: "sharpness N of the breakthrough",
                    given: sharpness,
                    domain: [0.5, 1000.0],
                    unit: unit_of("sharpness", Dimension::Number, ""),
                    species: CO2,
                    needed: Needed::Relative(0.3),
                    takes: "a test that does not end before breakthrough",
                };
                model.laws = vec![
                    part(
                        "bypass",
                        "bypass of the bed",
                        bypass,
                        CO2,
                        "an outlet above the sensor's noise from the start",
                    ),
                    capacity,
                    sharpness,
                ];
            }
            Removal::SwingBed(bed) => {
                model.family = "swing-bed";
                model.needs = vec!["co2", "flow", "temperature"];
                model.beds(&bed, &has, &unit_of);
                model.notes.push("Turns are counted from time 0 of the data, at which the first bed begins to adsorb, loaded as the scenario says.".to_owned());
                if bed.competition_kg_mol > 0.0 {
                    model.notes.push("Held water hinders CO2 as the scenario says; water is fitted first, and how sure it is does not enter what is said of CO2.".to_owned());
                }
            }
            Removal::Curve { .. } => {
                return Err(format!(
                    "`{name}` is a curve: its points are measured rates, each by itself, and there is no law to fit to a series; write the points into `co2`"
                ));
            }
        }
        Ok(model)
    }

    /// The parameters of a pair of beds.
    fn beds<'r>(
        &mut self,
        bed: &breathroom_sim::removal::SwingBed,
        has: &dyn Fn(&str) -> Option<&'r breathroom_sim::scenario::Resolved>,
        unit_of: &dyn Fn(&str, Dimension, &str) -> Unit,
    ) {
        const KEYS: [[&str; 4]; 2] = [
            [
                "rates.co2",
                "co2_isotherm.most",
                "co2_isotherm.half",
                "co2_isotherm.loading",
            ],
            [
                "rates.water",
                "water_isotherm.most",
                "water_isotherm.half",
                "water_isotherm.loading",
            ],
        ];
        for (species, isotherm) in [(CO2, bed.co2), (WATER, bed.water)] {
            let [rate, most, half, loading] = KEYS[species];
            let law = |key, words, given, domain, unit, takes| Law {
                key,
                words,
                given,
                domain,
                unit,
                species,
                needed: Needed::Relative(0.3),
                takes,
            };
            self.laws.push(law(
                rate,
                if species == CO2 {
                    "rate of approach of CO2"
                } else {
                    "rate of approach of water"
                },
                bed.rate_1_s[species],
                [1e-7, 10.0],
                unit_of(rate, Dimension::PerTime, "1/s"),
                "samples that follow one another faster than a bed fills",
            ));
            let (first, second) = if species == CO2 {
                (
                    "loading with CO2 that no pressure exceeds",
                    "partial pressure of CO2 at half of that",
                )
            } else {
                (
                    "loading with water that no pressure exceeds",
                    "partial pressure of water at half of that",
                )
            };
            let takes = "an inlet at several partial pressures, low ones and high ones";
            match isotherm {
                Isotherm::Langmuir { most_mol_kg, half_pa } => {
                    self.laws.push(law(
                        most,
                        first,
                        most_mol_kg,
                        [1e-6, 50.0],
                        unit_of(most, Dimension::Loading, "mol/kg"),
                        takes,
                    ));
                    self.laws.push(law(
                        half,
                        second,
                        half_pa,
                        [1e-3, 1e7],
                        unit_of(half, Dimension::PartialPressure, "kPa"),
                        takes,
                    ));
                }
                Isotherm::Linear { slope_mol_kg_pa } => {
                    let given = has(loading)
                        .and_then(|value| value.amount)
                        .map_or(1.0, |amount| amount.si);
                    self.slope[species] = slope_mol_kg_pa / given;
                    let words = if species == CO2 {
                        "loading with CO2 at `at`"
                    } else {
                        "loading with water at `at`"
                    };
                    self.laws.push(law(
                        loading,
                        words,
                        given,
                        [1e-6, 50.0],
                        unit_of(loading, Dimension::Loading, "mol/kg"),
                        "beds that come near equilibrium",
                    ));
                }
                Isotherm::Toth { .. } => {
                    let of = if species == CO2 { "CO2" } else { "water" };
                    self.notes
                        .push(format!("The isotherm of {of} is Toth's, as given: it is not fitted."));
                }
            }
        }
    }

    /// The device's turns, if it takes any.
    #[must_use]
    pub fn cycle(&self) -> Option<&Cycle> {
        self.device.cycle.as_ref()
    }

    /// The indices of the parameters that a species' outlet gives.
    #[must_use]
    pub fn of_species(&self, species: usize) -> Vec<usize> {
        (0..self.laws.len())
            .filter(|&index| self.laws[index].species == species)
            .collect()
    }

    /// Partial pressures of CO2 and water at the outlet at each time of a series, Pa; none of what has no inlet.
    #[must_use]
    pub fn outlet(&self, p: &[f64], series: &Series) -> [Option<Vec<f64>>; 2] {
        let taken = self.taken_pa(p, series);
        let of = |species: usize| {
            let inlet = series.inlet_pa[species].as_ref()?;
            let at = |row: usize| {
                let left = inlet[row] - taken[species][row];
                match &series.pressure_pa {
                    Some(pressure) => left * pressure[row] / (pressure[row] - taken[CO2][row] - taken[WATER][row]),
                    None => left,
                }
            };
            Some((0..series.len()).map(at).collect())
        };
        [of(CO2), of(WATER)]
    }

    /// What is taken of CO2 and water, Pa at the inlet's volume, at each time.
    #[must_use]
    pub fn taken_pa(&self, p: &[f64], series: &Series) -> [Vec<f64>; 2] {
        let n = series.len();
        let inlet = |species: usize, row: usize| series.inlet_pa[species].as_ref().map_or(0.0, |list| list[row]);
        match &self.device.removal {
            Removal::FlowThrough { .. } => {
                let of = |species: usize| {
                    (0..n)
                        .map(|row| self.factor(series.time_s[row]) * p[species] * inlet(species, row))
                        .collect()
                };
                [of(CO2), of(WATER)]
            }
            Removal::Condenser { .. } => {
                let saturation = saturation_pa(p[1]);
                let water = (0..n).map(|row| (1.0 - p[0]) * (inlet(WATER, row) - saturation).max(0.0));
                [vec![0.0; n], water.collect()]
            }
            Removal::Sorbent {
                loaded_mol,
                water_per_co2,
                ..
            } => {
                let [bypass, capacity, sharpness] = [p[0], p[1], p[2]];
                let capacity = capacity * self.capacity_mol * self.scale;
                let start = (loaded_mol * self.scale / capacity).min(1.0);
                let carried: Vec<f64> = (0..n).map(|row| series.per_pa(row) * inlet(CO2, row)).collect();
                let met = sorbent::running(&series.time_s, &carried);
                let co2: Vec<f64> = (0..n)
                    .map(|row| {
                        let passes = sorbent::passes(sharpness, start, (1.0 - bypass) * met[row] / capacity);
                        (1.0 - bypass) * (1.0 - passes) * inlet(CO2, row)
                    })
                    .collect();
                let water = co2.iter().map(|taken| -water_per_co2 * taken).collect();
                [co2, water]
            }
            Removal::SwingBed(bed) => {
                let mut bed = *bed;
                bed.bed_kg *= self.scale;
                let mut at = p.iter();
                let mut next = || at.next().copied().unwrap_or_default();
                for species in [CO2, WATER] {
                    bed.rate_1_s[species] = next();
                    let isotherm = if species == CO2 { &mut bed.co2 } else { &mut bed.water };
                    match isotherm {
                        Isotherm::Langmuir { most_mol_kg, half_pa } => {
                            *most_mol_kg = next();
                            *half_pa = next();
                        }
                        Isotherm::Linear { slope_mol_kg_pa } => *slope_mol_kg_pa = self.slope[species] * next(),
                        Isotherm::Toth { .. } => {}
                    }
                }
                swing::taken_pa(&bed, series)
            }
            Removal::Curve { .. } => [vec![0.0; n], vec![0.0; n]],
        }
    }

    /// The factor of the turn at a time.
    fn factor(&self, time_s: f64) -> f64 {
        match &self.device.cycle {
            Some(cycle) if !cycle.factors.is_empty() => {
                // A time that is written with few digits may fall a hair short of its turn.
                let turn = libm::floor(time_s / cycle.every.seconds() + 1e-9) as i64;
                let index = turn.rem_euclid(cycle.factors.len() as i64);
                cycle.factors[usize::try_from(index).unwrap_or(0)]
            }
            _ => 1.0,
        }
    }
}
