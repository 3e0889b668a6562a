//! The parts of a summary about gas moved on purpose and times outside, and what a sortie and a day cost.

use serde::Serialize;

use super::Gas;

/// A vent, a fill or an equalisation.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Transfer {
    /// "vent", "fill" or "equalise".
    pub kind: &'static str,
    /// The task whose effect it is.
    pub task: String,
    /// The compartment; of an equalisation, the opening.
    pub subject: String,
    /// When it began.
    pub began_h: f64,
    /// When it ended; null if the run ended first.
    pub ended_h: Option<f64>,
    /// Total pressure of the compartment when it began; of an equalisation, the difference.
    pub from_pa: f64,
    /// The same when it ended.
    pub to_pa: f64,
    /// Gas lost (vent), let in (fill) or moved.
    pub gas: Gas,
    /// A tank ran dry before it was done.
    pub short: bool,
}

/// A time outside: one turn of a task there, or several that overlap or follow each other without a break.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sortie {
    /// Its tasks.
    pub tasks: Vec<String>,
    /// Who was outside.
    pub people: Vec<String>,
    /// When the first task began.
    pub start_h: f64,
    /// When the last one ended, what its end takes included; null if the run ended first.
    pub end_h: Option<f64>,
    /// From one to the other.
    pub duration_h: Option<f64>,
    /// Gas lost in vents since the sortie before ended (since the start) and until this one did.
    pub vented: Gas,
    /// Gas let in by fills from the start of this sortie to that of the next.
    pub filled: Gas,
}

/// The totals of the run over its sorties.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct PerSortie {
    /// Sorties by which the totals are divided.
    pub sorties: u32,
    /// Oxygen vented.
    pub oxygen_vented_kg: f64,
    /// Diluent vented.
    pub diluent_vented_kg: f64,
    /// Oxygen let in by fills.
    pub oxygen_filled_kg: f64,
    /// Diluent let in by fills.
    pub diluent_filled_kg: f64,
    /// Oxygen let into suits.
    pub oxygen_to_suits_kg: f64,
    /// Canisters taken out of the devices of suits.
    pub suit_canisters: f64,
}

/// The totals of the run over its length in days.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct PerDay {
    /// Days by which the totals are divided.
    pub days: f64,
    /// Oxygen let in: by holds, by fills, into suits.
    pub oxygen_kg: f64,
    /// Diluent let in: by holds and fills.
    pub diluent_kg: f64,
    /// Canisters taken out of devices.
    pub canisters: f64,
    /// Condensate.
    pub water_collected_kg: f64,
    /// Water that is gone for good.
    pub water_overboard_kg: f64,
}
