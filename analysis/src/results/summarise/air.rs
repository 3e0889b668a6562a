//! Totals, gas at the end and extremes, by name.

use breathroom_sim::air::Species;
use breathroom_sim::engine::{self, Case, Outcome};
use breathroom_sim::removal::Removal;

use super::super::summary::{Balance, Extremes, Gas, StateEnd, Totals};

pub(super) fn totals(case: &Case, outcome: &Outcome) -> Totals {
    let of = &outcome.totals;
    let [leaked, vented, relieved, turn_lost] =
        [of.leaked_kg, of.vented_kg, of.relieved_kg, of.turn_lost_kg].map(Gas::from);
    let lost = [leaked, vented, relieved, turn_lost].map(|gas| gas.water_kg);
    Totals {
        co2_made_kg: of.co2_made_kg,
        co2_removed_kg: of.co2_removed_kg,
        water_made_kg: of.water_made_kg,
        runoff_kg: of.runoff_kg,
        water_removed_kg: of.water_removed_kg,
        water_condensed_kg: of.water_condensed_kg,
        oxygen_used_kg: of.oxygen_used_kg,
        oxygen_supplied_kg: of.oxygen_supplied_kg,
        diluent_supplied_kg: of.diluent_supplied_kg,
        oxygen_filled_kg: of.oxygen_filled_kg,
        diluent_filled_kg: of.diluent_filled_kg,
        oxygen_to_suits_kg: of.oxygen_to_suits_kg,
        sorbent_water_kg: of.sorbent_water_kg,
        water_collected_kg: collected_kg(case, outcome),
        water_overboard_kg: lost.iter().sum::<f64>() + desorbed_kg(case, outcome),
        sensible_mj: of.sensible_mj,
        latent_mj: of.latent_mj,
        leaked,
        vented,
        relieved,
        turn_lost,
    }
}

/// What condensers took out.
fn collected_kg(case: &Case, outcome: &Outcome) -> f64 {
    let condensers = case
        .devices
        .iter()
        .zip(&outcome.devices)
        .filter(|(device, _)| matches!(device.removal, Removal::Condenser { .. }));
    condensers.map(|(_, of)| of.water_kg).sum()
}

/// Water that beds gave off overboard: what they held at the start and took out of the air since, less what they hold.
fn desorbed_kg(case: &Case, outcome: &Outcome) -> f64 {
    let beds = case.devices.iter().zip(&outcome.devices);
    beds.filter_map(|(device, of)| match &device.removal {
        Removal::SwingBed(bed) => {
            let loaded_mol = bed.bed_kg * (bed.loaded_mol_kg[2] + bed.loaded_mol_kg[3]);
            Some(loaded_mol * Species::Water.molar_mass_kg_mol() + of.water_kg - of.water_held_kg)
        }
        _ => None,
    })
    .sum()
}

pub(super) fn state_end(of: &engine::CompartmentEnd) -> StateEnd {
    let partial = |species: Species| of.partial_pa[species as usize];
    StateEnd {
        co2_pa: partial(Species::Co2),
        water_pa: partial(Species::Water),
        oxygen_pa: partial(Species::Oxygen),
        diluent_pa: partial(Species::Diluent),
        pressure_pa: of.pressure_pa,
        humidity: of.humidity,
        temperature_k: of.temperature_k,
        liquid_water_kg: of.liquid_water_kg,
    }
}

pub(super) fn extremes(of: &engine::Extremes) -> Extremes {
    Extremes {
        co2_pa_max: of.co2_pa_max,
        co2_pa_max_at_h: of.co2_pa_max_at.hours(),
        humidity_max: of.humidity_max,
        humidity_max_at_h: of.humidity_max_at.hours(),
        // What rounding leaves of a room without vapour may lie below nothing.
        humidity_min: of.humidity_min.max(0.0),
        humidity_min_at_h: of.humidity_min_at.hours(),
        oxygen_pa_min: of.oxygen_pa_min,
        oxygen_pa_min_at_h: of.oxygen_pa_min_at.hours(),
        oxygen_pa_max: of.oxygen_pa_max,
        oxygen_pa_max_at_h: of.oxygen_pa_max_at.hours(),
        oxygen_fraction_max: of.oxygen_fraction_max,
        oxygen_fraction_max_at_h: if of.oxygen_fraction_max.is_nan() {
            f64::NAN
        } else {
            of.oxygen_fraction_max_at.hours()
        },
        pressure_pa_min: of.pressure_pa_min,
        pressure_pa_min_at_h: of.pressure_pa_min_at.hours(),
        pressure_pa_max: of.pressure_pa_max,
        pressure_pa_max_at_h: of.pressure_pa_max_at.hours(),
        temperature_k_min: of.temperature_k_min,
        temperature_k_min_at_h: of.temperature_k_min_at.hours(),
        temperature_k_max: of.temperature_k_max,
        temperature_k_max_at_h: of.temperature_k_max_at.hours(),
        liquid_water_kg_max: of.liquid_water_kg_max,
        liquid_water_kg_max_at_h: of.liquid_water_kg_max_at.hours(),
    }
}

pub(super) fn balance(of: &engine::Balance) -> Balance {
    Balance {
        carbon: of.carbon,
        oxygen: of.oxygen,
        water: of.water,
        diluent: of.diluent,
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::engine::DeviceOutcome;
    use breathroom_sim::removal::{Device, Isotherm, SwingBed, Valves};
    use breathroom_sim::units::Time;

    use super::*;

    fn device(removal: Removal) -> Device {
        Device {
            serves: 0,
            on: true,
            removal,
            power_w: 0.0,
            capacity: 1.0,
            cycle: None,
        }
    }

    fn took(water_kg: f64, water_held_kg: f64) -> DeviceOutcome {
        DeviceOutcome {
            water_kg,
            water_held_kg,
            ..DeviceOutcome::default()
        }
    }

    /// A coil collects; beds that held 2 mol/kg in 0.5 kg at the start give overboard what they no longer hold; a device
    /// that only takes water out does neither.
    #[test]
    fn water_is_collected_or_goes_overboard_by_what_took_it() {
        let isotherm = Isotherm::Linear { slope_mol_kg_pa: 1e-3 };
        let bed = SwingBed {
            flow_m3_s: 0.01,
            bed_kg: 0.5,
            bed_k: 295.0,
            co2: isotherm,
            water: isotherm,
            competition_kg_mol: 0.0,
            rate_1_s: [1e-3; 2],
            desorb_pa: [0.0; 2],
            half_cycle: Time::from_seconds(600.0),
            lost_m3: 0.0,
            loaded_mol_kg: [0.0, 0.0, 1.5, 0.5],
            valves: Valves::Turning,
        };
        let coil = Removal::Condenser {
            flow_m3_s: 0.02,
            bypass: 0.0,
            coil_saturation_pa: 900.0,
            coil_temperature_k: 278.0,
            carry_over: 0.0,
        };
        let dryer = Removal::FlowThrough {
            flow_m3_s: 0.02,
            co2_efficiency: 0.0,
            water_efficiency: 0.5,
        };
        let case = Case {
            devices: [coil, Removal::SwingBed(bed), dryer].map(device).into(),
            ..Case::default()
        };
        let mut outcome = Outcome {
            devices: vec![took(3.0, 0.0), took(2.0, 0.01), took(7.0, 0.0)],
            ..Outcome::default()
        };
        outcome.totals.vented_kg = [0.0, 0.1, 0.0, 0.0];
        outcome.totals.leaked_kg = [0.0, 0.02, 0.0, 0.0];
        outcome.totals.turn_lost_kg = [5.0, 0.003, 5.0, 5.0];
        outcome.totals.relieved_kg = [0.0, 0.0004, 0.0, 0.0];
        let totals = totals(&case, &outcome);
        assert_eq!(totals.water_collected_kg, 3.0);
        let overboard = 0.1234 + 0.018_015_28 + 2.0 - 0.01;
        assert!((totals.water_overboard_kg - overboard).abs() < 1e-12);
        assert_eq!((totals.turn_lost.co2_kg, totals.vented.water_kg), (5.0, 0.1));
    }
}
