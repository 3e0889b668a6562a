//! The parts of a summary about stocks and hardware: tanks, removal devices, suits.

use serde::Serialize;

use super::Gas;

/// What became of a tank. Days are at the mean use over this run; null if nothing was taken out of it.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Tank {
    /// What it holds: "oxygen" or "diluent".
    pub gas: &'static str,
    /// In it at the start.
    pub start_kg: f64,
    /// Taken out of it.
    pub used_kg: f64,
    /// In it at the end, with what it cannot deliver.
    pub left_kg: f64,
    /// Kept for contingencies.
    pub reserve_kg: f64,
    /// What it cannot deliver.
    pub residue_kg: f64,
    /// When it ran dry; null if it did not.
    pub dry_at_h: Option<f64>,
    /// When it first went below its reserve.
    pub reserve_at_h: Option<f64>,
    /// Mean use in a day.
    pub used_kg_per_day: f64,
    /// For how long what is left would last.
    pub days_left: Option<f64>,
    /// For how long until it comes to its reserve (or, without one, to the end of what it can deliver).
    pub days_to_reserve: Option<f64>,
    /// For how long after that: what is left of the reserve.
    pub contingency_days: Option<f64>,
}

/// What became of a removal device.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Device {
    /// CO2 taken out of the air.
    pub co2_removed_kg: f64,
    /// Water taken out of the air; below zero where a sorbent gives off more.
    pub water_removed_kg: f64,
    /// CO2 that it holds at the end: in its canister or beds.
    pub co2_held_kg: f64,
    /// Water that it holds at the end.
    pub water_held_kg: f64,
    /// Canisters taken out, spent or part-used.
    pub canisters_spent: u32,
    /// Fresh canisters left beside the one in place; null if it takes none.
    pub canisters_left: Option<u32>,
    /// For how long these would last at the mean use of canisters over this run; null if none was used.
    pub canister_days_left: Option<f64>,
    /// Turns of its beds.
    pub turns: u32,
    /// Cabin gas lost at its turns.
    pub lost: Gas,
    /// Heat to the air; below zero where a condenser takes more.
    pub heat_mj: f64,
}

/// What a suit did for its wearer.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Suit {
    /// Time worn, from putting it on to taking it off.
    pub worn_h: f64,
    /// Sensible heat of the wearer meanwhile.
    pub sensible_mj: f64,
    /// Latent heat (vapour and sweat).
    pub latent_mj: f64,
    /// Mean of both while worn: what the suit's cooling must take; null if it was not worn.
    pub mean_cooling_w: Option<f64>,
    /// Vapour given off by the wearer.
    pub vapour_kg: f64,
    /// Liquid sweat.
    pub runoff_kg: f64,
    /// Oxygen let in.
    pub oxygen_kg: f64,
}
