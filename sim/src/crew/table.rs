//! The activity table: what the reference person takes and gives in each stage of the tabulated activities.
//!
//! Rates as printed, kJ/h and 1e-4 kg/min, turned into W and mol/s. The rows are stages: heat and vapour already
//! contain the lag of sweating.
//!
//! Source: NASA SP-2010-3407 (Human Integration Design Handbook) and TP-2015-218570, activity table for a person of 82
//! kg, from memory. What speaks for the recollection: a day of 8 h sleep, 14.5 h nominal, half an hour of exercise and
//! an hour of recovery gives the five totals printed there (0.82 kg O2, 1.04 kg CO2, 1.85 kg vapour, 0.08 kg runoff,
//! 12.0 MJ); every row has the respiratory quotient 0.92; wet heat is vapour and runoff times 2.43 MJ/kg within 0.7 %,
//! but for one row.
//!
//! That row is exercise, 0 to 15 min: the wet heat as recalled, 624 kJ/h, is the next row's sensible heat and probably
//! a slip; its vapour and runoff would give 696 kJ/h. The row is shipped as recalled: the vapour, which is what meets
//! the air, is not touched by it, and the closure of exercise with recovery against Weir's energy (614.8 Wh) does not
//! decide (611.9 Wh as recalled, 616.9 Wh with 696). It is 18 kJ, 0.15 % of a day's heat.
//!
//! Range: one g or none is not told apart; air near 22 C.

use super::Load;
use crate::air::Species;

/// One row, for the reference person.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Sensible heat, kJ/h.
    pub sensible_kj_h: f64,
    /// Wet heat (vapour and runoff), kJ/h.
    pub wet_kj_h: f64,
    /// Vapour, 1e-4 kg/min.
    pub vapour: f64,
    /// Runoff, 1e-4 kg/min.
    pub runoff: f64,
    /// Oxygen used, 1e-4 kg/min.
    pub oxygen: f64,
    /// CO2 given off, 1e-4 kg/min.
    pub co2: f64,
}

impl Row {
    /// In SI.
    #[must_use]
    pub fn load(&self) -> Load {
        let mol_s = |rate: f64, species: Species| rate * 1e-4 / 60.0 / species.molar_mass_kg_mol();
        Load {
            oxygen_mol_s: mol_s(self.oxygen, Species::Oxygen),
            co2_mol_s: mol_s(self.co2, Species::Co2),
            vapour_mol_s: mol_s(self.vapour, Species::Water),
            runoff_mol_s: mol_s(self.runoff, Species::Water),
            sensible_w: self.sensible_kj_h / 3.6,
            latent_w: self.wet_kj_h / 3.6,
        }
    }
}

const fn row(sensible_kj_h: f64, wet_kj_h: f64, vapour: f64, runoff: f64, oxygen: f64, co2: f64) -> Row {
    Row {
        sensible_kj_h,
        wet_kj_h,
        vapour,
        runoff,
        oxygen,
        co2,
    }
}

/// Sleep.
pub const SLEEP: Row = row(224.0, 92.0, 6.30, 0.0, 3.60, 4.55);
/// Nominal activity.
pub const NOMINAL: Row = row(329.0, 171.0, 11.77, 0.0, 5.68, 7.20);
/// Exercise at 75 % of maximal oxygen uptake, first quarter of an hour.
pub const EXERCISE_FIRST: Row = row(514.0, 624.0, 46.16, 1.56, 39.40, 49.85);
/// The same, second quarter of an hour, and on.
pub const EXERCISE_SECOND: Row = row(624.0, 2351.0, 128.42, 33.52, 39.40, 49.85);
/// Recovery from it, four quarters of an hour.
pub const RECOVERY: [Row; 4] = [
    row(568.0, 1437.0, 83.83, 15.16, 5.68, 7.20),
    row(488.0, 589.0, 40.29, 0.36, 5.68, 7.20),
    row(466.0, 399.0, 27.44, 0.0, 5.68, 7.20),
    row(455.0, 296.0, 20.40, 0.0, 5.68, 7.20),
];

/// Part of the maximal oxygen uptake at which the exercise rows stand.
pub const EXERCISE_INTENSITY: f64 = 0.75;
