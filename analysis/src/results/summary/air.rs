//! The parts of a summary about the air: what was made, removed and lost, how it ended, and its extremes.

use breathroom_sim::air::Species;
use serde::Serialize;

/// Masses and heat over the run.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Totals {
    /// CO2 given off by people inside.
    pub co2_made_kg: f64,
    /// CO2 taken out by devices.
    pub co2_removed_kg: f64,
    /// Water vapour given off by people inside, towels included.
    pub water_made_kg: f64,
    /// Liquid sweat that ran off.
    pub runoff_kg: f64,
    /// Water taken out by devices.
    pub water_removed_kg: f64,
    /// Water condensed on surfaces, less what evaporated again.
    pub water_condensed_kg: f64,
    /// Oxygen used by people inside.
    pub oxygen_used_kg: f64,
    /// Oxygen added by holds.
    pub oxygen_supplied_kg: f64,
    /// Diluent added by holds.
    pub diluent_supplied_kg: f64,
    /// Oxygen let in by fills.
    pub oxygen_filled_kg: f64,
    /// Diluent let in by fills.
    pub diluent_filled_kg: f64,
    /// Oxygen let into suits.
    pub oxygen_to_suits_kg: f64,
    /// Vapour given off by sorbents.
    pub sorbent_water_kg: f64,
    /// Condensate: water that condensers took out.
    pub water_collected_kg: f64,
    /// Water that is gone for good: in gas lost (vented, relieved, at turns of beds, leaked) and desorbed overboard.
    pub water_overboard_kg: f64,
    /// Sensible heat of people inside.
    pub sensible_mj: f64,
    /// Latent heat of people inside.
    pub latent_mj: f64,
    /// Lost through leaks, and net to outside through openings.
    pub leaked: Gas,
    /// Lost in vents, and while open to the vacuum after them.
    pub vented: Gas,
    /// Let out by relief valves.
    pub relieved: Gas,
    /// Cabin gas lost at turns of beds.
    pub turn_lost: Gas,
}

/// Masses of gas by species.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Gas {
    /// CO2.
    pub co2_kg: f64,
    /// Water vapour.
    pub water_kg: f64,
    /// Oxygen.
    pub oxygen_kg: f64,
    /// Diluent.
    pub diluent_kg: f64,
}

impl Gas {
    /// All of it, kg.
    #[must_use]
    pub fn total_kg(&self) -> f64 {
        self.co2_kg + self.water_kg + self.oxygen_kg + self.diluent_kg
    }

    /// This and more.
    #[must_use]
    pub fn plus(&self, more: &Self) -> Self {
        Self {
            co2_kg: self.co2_kg + more.co2_kg,
            water_kg: self.water_kg + more.water_kg,
            oxygen_kg: self.oxygen_kg + more.oxygen_kg,
            diluent_kg: self.diluent_kg + more.diluent_kg,
        }
    }
}

impl From<[f64; 4]> for Gas {
    /// From kg by [`Species`].
    fn from(by_species: [f64; 4]) -> Self {
        let kg = |species: Species| by_species[species as usize];
        Self {
            co2_kg: kg(Species::Co2),
            water_kg: kg(Species::Water),
            oxygen_kg: kg(Species::Oxygen),
            diluent_kg: kg(Species::Diluent),
        }
    }
}

/// Gas in a compartment at the end.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct StateEnd {
    /// Partial pressure of CO2.
    pub co2_pa: f64,
    /// Of water vapour.
    pub water_pa: f64,
    /// Of oxygen.
    pub oxygen_pa: f64,
    /// Of the diluent.
    pub diluent_pa: f64,
    /// Total pressure.
    pub pressure_pa: f64,
    /// Relative humidity, a fraction.
    pub humidity: f64,
    /// Air temperature.
    pub temperature_k: f64,
    /// Liquid on surfaces and in towels.
    pub liquid_water_kg: f64,
}

/// Extremes of a compartment and when they came.
#[derive(Clone, Copy, Debug, Default, Serialize)]
#[allow(missing_docs)] // each pair is a value and its time; the names say which
pub struct Extremes {
    pub co2_pa_max: f64,
    pub co2_pa_max_at_h: f64,
    pub humidity_max: f64,
    pub humidity_max_at_h: f64,
    pub humidity_min: f64,
    pub humidity_min_at_h: f64,
    pub oxygen_pa_min: f64,
    pub oxygen_pa_min_at_h: f64,
    pub oxygen_pa_max: f64,
    pub oxygen_pa_max_at_h: f64,
    pub oxygen_fraction_max: f64,
    pub oxygen_fraction_max_at_h: f64,
    pub pressure_pa_min: f64,
    pub pressure_pa_min_at_h: f64,
    pub pressure_pa_max: f64,
    pub pressure_pa_max_at_h: f64,
    pub temperature_k_min: f64,
    pub temperature_k_min_at_h: f64,
    pub temperature_k_max: f64,
    pub temperature_k_max_at_h: f64,
    pub liquid_water_kg_max: f64,
    pub liquid_water_kg_max_at_h: f64,
}

/// Residual of each ledger over its throughput.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Balance {
    /// CO2, which carries all carbon here.
    pub carbon: f64,
    /// Oxygen gas.
    pub oxygen: f64,
    /// Water, vapour and liquid.
    pub water: f64,
    /// Diluent.
    pub diluent: f64,
}
