//! The continuous state between segments: gas, films, towels.

use crate::air::{MOST, Surface, SurfaceKind, saturation_pa};
use crate::removal::Removal;

use super::Case;
use super::mode::SURFACES;

/// What is where at an instant.
#[derive(Clone, Debug)]
pub(crate) struct Stocks {
    /// Partial pressures `[species][compartment]`, Pa.
    pub p: [[f64; MOST]; 4],
    /// Liquid on each surface, mol.
    pub film_mol: [[f64; SURFACES]; MOST],
    /// Liquid in towels, mol.
    pub towel_mol: [f64; MOST],
    /// Air temperatures, K.
    pub temperature_k: [f64; MOST],
    /// Wall temperatures, K, where there is a heat balance.
    pub wall_k: [f64; MOST],
    /// What each tank holds, mol.
    pub tank_mol: Vec<f64>,
    /// What each device holds: a canister's CO2, mol; or CO2 of both beds and water of both, mol/kg.
    pub held: Vec<[f64; 4]>,
    /// Fresh canisters left for each device.
    pub canisters: Vec<u32>,
}

impl Default for Stocks {
    fn default() -> Self {
        Self {
            p: [[0.0; MOST]; 4],
            film_mol: [[0.0; SURFACES]; MOST],
            towel_mol: [0.0; MOST],
            temperature_k: [0.0; MOST],
            wall_k: [0.0; MOST],
            tank_mol: Vec::new(),
            held: Vec::new(),
            canisters: Vec::new(),
        }
    }
}

impl Stocks {
    /// The start of a run.
    pub fn reset(&mut self, case: &Case) {
        let (mut tank_mol, mut held, mut canisters) = (
            std::mem::take(&mut self.tank_mol),
            std::mem::take(&mut self.held),
            std::mem::take(&mut self.canisters),
        );
        tank_mol.clear();
        held.clear();
        canisters.clear();
        *self = Self {
            tank_mol,
            held,
            canisters,
            ..Self::default()
        };
        for (a, compartment) in case.compartments.iter().enumerate() {
            for i in 0..4 {
                self.p[i][a] = compartment.partial_pa[i];
            }
            self.temperature_k[a] = compartment.temperature_k;
            let wall = compartment.heat.as_ref().and_then(|heat| heat.wall);
            self.wall_k[a] = wall.map_or(compartment.temperature_k, |wall| wall.temperature_k);
        }
        self.tank_mol.extend(case.tanks.iter().map(|tank| tank.amount_mol));
        for device in &case.devices {
            let (held, canisters) = match &device.removal {
                Removal::Sorbent {
                    loaded_mol, canisters, ..
                } => ([*loaded_mol, 0.0, 0.0, 0.0], *canisters),
                Removal::SwingBed(bed) => (bed.loaded_mol_kg, 0),
                _ => ([0.0; 4], 0),
            };
            self.held.push(held);
            self.canisters.push(canisters);
        }
    }

    /// Total pressure of a compartment, Pa.
    pub fn pressure(&self, a: usize) -> f64 {
        self.p[0][a] + self.p[1][a] + self.p[2][a] + self.p[3][a]
    }

    /// CO2 and water that a device holds, mol; with `instead` in place of its state.
    pub fn held_mol(&self, case: &Case, d: usize, instead: Option<&[f64; 4]>) -> [f64; 2] {
        let held = instead.unwrap_or(&self.held[d]);
        match &case.devices[d].removal {
            Removal::Sorbent { .. } => [held[0], 0.0],
            Removal::SwingBed(bed) => [bed.bed_kg * (held[0] + held[1]), bed.bed_kg * (held[2] + held[3])],
            _ => [0.0; 2],
        }
    }

    /// Saturation pressure at a surface now, Pa.
    pub fn saturation_pa(&self, case: &Case, a: usize, surface: &Surface) -> f64 {
        let Some(heat) = &case.compartments[a].heat else {
            return surface.saturation_pa;
        };
        match surface.kind {
            SurfaceKind::Wall if heat.wall.is_some() => saturation_pa(self.wall_k[a]),
            SurfaceKind::Mist => saturation_pa(self.temperature_k[a]),
            _ => surface.saturation_pa,
        }
    }

    /// Liquid of a compartment, mol. A film that dries may be a rounding below zero until it has.
    pub fn liquid_mol(&self, a: usize) -> f64 {
        self.film_mol[a].iter().sum::<f64>() + self.towel_mol[a]
    }
}
