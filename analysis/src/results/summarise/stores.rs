//! Tanks, removal devices and suits, by name, and how long stocks would last at the mean use of the run.

use breathroom_sim::air::Tank as CaseTank;
use breathroom_sim::engine::{Case, DeviceOutcome, Outcome, SuitOutcome, TankOutcome};
use breathroom_sim::removal::{Device as CaseDevice, Removal};
use breathroom_sim::scenario::Names;
use breathroom_sim::units::Time;

use super::super::ordered::Ordered;
use super::super::summary::{Device, Suit, Tank};
use super::super::words;

pub(super) fn tanks(case: &Case, outcome: &Outcome, names: &Names, days: f64) -> Ordered<Tank> {
    let each = case.tanks.iter().zip(&outcome.tanks).enumerate();
    each.map(|(index, (tank, of))| (words::tank(names, index).to_owned(), self::tank(tank, of, days)))
        .collect()
}

fn tank(tank: &CaseTank, of: &TankOutcome, days: f64) -> Tank {
    let kg = |mol: f64| mol * tank.gas.molar_mass_kg_mol();
    let (reserve_kg, residue_kg) = (kg(tank.reserve_mol), kg(tank.residue_mol));
    let daily_kg = of.used_kg / days;
    let lasts = |kg: f64| (of.used_kg > 0.0 && days > 0.0).then(|| kg.max(0.0) / daily_kg);
    Tank {
        gas: words::species(tank.gas),
        start_kg: kg(tank.amount_mol),
        used_kg: of.used_kg,
        left_kg: of.left_kg,
        reserve_kg,
        residue_kg,
        dry_at_h: of.dry_at.map(Time::hours),
        reserve_at_h: of.reserve_at.map(Time::hours).filter(|_| reserve_kg > 0.0),
        used_kg_per_day: daily_kg,
        days_left: lasts(of.left_kg - residue_kg),
        days_to_reserve: lasts(of.left_kg - reserve_kg.max(residue_kg)),
        contingency_days: lasts(of.left_kg.min(reserve_kg) - residue_kg),
    }
}

pub(super) fn devices(case: &Case, outcome: &Outcome, names: &Names, days: f64) -> Ordered<Device> {
    let each = case.devices.iter().zip(&outcome.devices).enumerate();
    each.map(|(index, (device, of))| (words::device(names, index).to_owned(), self::device(device, of, days)))
        .collect()
}

fn device(device: &CaseDevice, of: &DeviceOutcome, days: f64) -> Device {
    let canisters_left = match device.removal {
        Removal::Sorbent { canisters, .. } => Some(canisters.saturating_sub(of.canisters_spent)),
        _ => None,
    };
    let spent = f64::from(of.canisters_spent);
    Device {
        co2_removed_kg: of.co2_kg,
        water_removed_kg: of.water_kg,
        co2_held_kg: of.co2_held_kg,
        water_held_kg: of.water_held_kg,
        canisters_spent: of.canisters_spent,
        canisters_left,
        canister_days_left: canisters_left
            .filter(|_| spent > 0.0 && days > 0.0)
            .map(|left| f64::from(left) * days / spent),
        turns: of.turns,
        lost: of.lost_kg.into(),
        heat_mj: of.heat_mj,
    }
}

pub(super) fn suits(case: &Case, outcome: &Outcome, names: &Names) -> Ordered<Suit> {
    let each = case.suits.iter().zip(&outcome.suits);
    each.map(|(suit, of)| (words::person(names, suit.wearer).to_owned(), self::suit(of)))
        .collect()
}

fn suit(of: &SuitOutcome) -> Suit {
    Suit {
        worn_h: of.worn_s / 3600.0,
        sensible_mj: of.sensible_mj,
        latent_mj: of.latent_mj,
        mean_cooling_w: (of.worn_s > 0.0).then(|| 1e6 * (of.sensible_mj + of.latent_mj) / of.worn_s),
        vapour_kg: of.vapour_kg,
        runoff_kg: of.runoff_kg,
        oxygen_kg: of.oxygen_kg,
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::air::Species;

    use super::*;

    const OXYGEN_KG_MOL: f64 = 0.031_998_8;

    /// 20 kg, of which 2 cannot be had and 5 are the reserve.
    fn of_20_kg(used_kg: f64, left_kg: f64) -> Tank {
        let mol = |kg: f64| kg / OXYGEN_KG_MOL;
        let case = CaseTank {
            gas: Species::Oxygen,
            amount_mol: mol(20.0),
            residue_mol: mol(2.0),
            reserve_mol: mol(5.0),
        };
        let of = TankOutcome {
            used_kg,
            left_kg,
            ..TankOutcome::default()
        };
        tank(&case, &of, 3.0)
    }

    fn is(value: Option<f64>, expected: f64) {
        assert!((value.expect("a number") - expected).abs() < 1e-12, "{value:?}");
    }

    #[test]
    fn days_are_of_what_can_be_had_at_the_mean_use_of_the_run() {
        let tank = of_20_kg(6.0, 14.0);
        assert_eq!((tank.gas, tank.used_kg_per_day), ("oxygen", 2.0));
        assert!((tank.start_kg - 20.0).abs() < 1e-12);
        is(tank.days_left, 6.0);
        is(tank.days_to_reserve, 4.5);
        is(tank.contingency_days, 1.5);
    }

    #[test]
    fn below_the_reserve_what_is_left_of_it_counts_and_an_empty_tank_lasts_no_time() {
        let tank = of_20_kg(15.6, 4.4);
        is(tank.days_to_reserve, 0.0);
        is(tank.contingency_days, 2.4 / 5.2);
        is(tank.days_left, 2.4 / 5.2);
        is(of_20_kg(18.0, 2.0).days_left, 0.0);
    }

    #[test]
    fn a_tank_that_is_not_used_lasts_no_known_time() {
        let tank = of_20_kg(0.0, 20.0);
        assert_eq!(
            (tank.days_left, tank.days_to_reserve, tank.contingency_days),
            (None, None, None)
        );
    }

    #[test]
    fn canisters_left_last_as_those_spent_did_and_only_devices_that_take_them_have_any() {
        let sorbent = |canisters| CaseDevice {
            serves: 0,
            on: true,
            removal: Removal::Sorbent {
                flow_m3_s: 0.01,
                capacity_mol: 10.0,
                sharpness: 8.0,
                bypass: 0.0,
                water_per_co2: 1.0,
                heat_j_mol: 0.0,
                loaded_mol: 0.0,
                canisters,
            },
            power_w: 0.0,
            capacity: 1.0,
            cycle: None,
        };
        let of = DeviceOutcome {
            canisters_spent: 4,
            ..DeviceOutcome::default()
        };
        let shown = device(&sorbent(10), &of, 2.0);
        assert_eq!((shown.canisters_left, shown.canister_days_left), (Some(6), Some(3.0)));
        let unused = device(&sorbent(3), &DeviceOutcome::default(), 2.0);
        assert_eq!((unused.canisters_left, unused.canister_days_left), (Some(3), None));
        let coil = CaseDevice {
            removal: Removal::Curve {
                co2: Vec::new(),
                water: Vec::new(),
            },
            ..sorbent(0)
        };
        assert_eq!(device(&coil, &of, 2.0).canisters_left, None);
    }

    #[test]
    fn a_suit_must_cool_the_mean_of_both_heats() {
        let of = SuitOutcome {
            worn_s: 20_000.0,
            sensible_mj: 3.0,
            latent_mj: 1.0,
            ..SuitOutcome::default()
        };
        is(suit(&of).mean_cooling_w, 200.0);
        assert_eq!(suit(&SuitOutcome::default()).mean_cooling_w, None);
    }
}
