//! What one person takes and gives in one effort, stage by stage.

use crate::units::Time;

/// Steady rates of one person: what the lags tend to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Load {
    /// Oxygen used, mol/s.
    pub oxygen_mol_s: f64,
    /// CO2 given off, mol/s.
    pub co2_mol_s: f64,
    /// Water vapour given off, mol/s.
    pub vapour_mol_s: f64,
    /// Liquid sweat that runs off, mol/s.
    pub runoff_mol_s: f64,
    /// Sensible heat, W.
    pub sensible_w: f64,
    /// Latent heat (vapour and runoff times the heat of evaporation), W.
    pub latent_w: f64,
}

/// A load that holds for a while.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// How long; `None`: until the effort ends (always so for the last stage).
    pub lasts: Option<Time>,
    /// The rates.
    pub load: Load,
}

/// One person's load in one effort. Stages restart whenever the effort is taken up.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// At least one; the last has `lasts: None`.
    pub stages: Vec<Stage>,
    /// Vapour follows with the two-time-constant sweat lag (efforts given by power); tabulated rates do not.
    pub sweat_lag: bool,
    /// Runoff goes into a towel that dries into the room; else it is drained.
    pub towel: bool,
}

impl Profile {
    /// Puts rates in place of those of every stage: oxygen, CO2, vapour, runoff (mol/s), sensible heat (W).
    ///
    /// Vapour that is given steps as any given rate does; the latent heat follows from vapour and runoff.
    pub fn replace(&mut self, rates: [Option<f64>; 5]) {
        let [oxygen, co2, vapour, runoff, sensible] = rates;
        self.sweat_lag &= vapour.is_none();
        for stage in &mut self.stages {
            let load = &mut stage.load;
            load.oxygen_mol_s = oxygen.unwrap_or(load.oxygen_mol_s);
            load.co2_mol_s = co2.unwrap_or(load.co2_mol_s);
            load.vapour_mol_s = vapour.unwrap_or(load.vapour_mol_s);
            load.runoff_mol_s = runoff.unwrap_or(load.runoff_mol_s);
            load.sensible_w = sensible.unwrap_or(load.sensible_w);
            if vapour.is_some() || runoff.is_some() {
                load.latent_w = super::energy::latent_w(load.vapour_mol_s, load.runoff_mol_s);
            }
        }
    }
}
