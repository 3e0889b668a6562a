//! Tanks, regulators, holes and valves, heat: against arithmetic by hand.

use super::*;
use crate::air::{Heat, Insulation, Regulation, Relief, Species, WallHeat};
use crate::engine::Case;

const OXYGEN: f64 = 0.031_998_8;
const NITROGEN: f64 = 0.028_013_4;

fn case(text: &str, overrides: &[&str]) -> Case {
    good(text, overrides).draw(&Medians).case
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-12 * b.abs(), "{a} is not {b}");
}

/// The small scenario with two tanks.
fn tanks() -> String {
    with(
        "[tanks.oxygen]\ngas = \"oxygen\"\namount = \"24 kg\"\nsupply_pressure = \"5.65 MPa\"\nreserve = \"2 kg\"\n\
         [tanks.nitrogen]\ngas = \"diluent\"\namount = \"9 kg\"\n",
    )
}

#[test]
fn a_tank_is_amounts_and_what_cannot_be_had_of_it() {
    let scenario = good(&tanks(), &[]);
    assert_eq!(scenario.names.tanks, ["oxygen", "nitrogen"]);
    let tanks = scenario.draw(&Medians).case.tanks;
    assert_eq!((tanks[0].gas, tanks[1].gas), (Species::Oxygen, Species::Diluent));
    close(tanks[0].amount_mol, 24.0 / OXYGEN);
    // 56.5 kPa of 5.65 MPa is a hundredth.
    close(tanks[0].residue_mol, 0.24 / OXYGEN);
    close(tanks[0].reserve_mol, 2.0 / OXYGEN);
    close(tanks[1].amount_mol, 9.0 / NITROGEN);
    assert!(tanks[1].residue_mol <= 0.0 && tanks[1].reserve_mol <= 0.0);
}

#[test]
fn a_spread_of_the_air_reaches_what_cannot_be_had() {
    let scenario = good(&tanks(), &["air.pressure={ uniform = [\"50 kPa\", \"60 kPa\"] }"]);
    let left = |u| scenario.draw(&draws::Constant(u)).case.tanks[0].residue_mol;
    close(left(0.1), 24.0 / OXYGEN * 51.0 / 5650.0);
    close(left(0.9), 24.0 / OXYGEN * 59.0 / 5650.0);
}

#[test]
fn what_is_held_comes_from_a_tank_in_one_of_four_ways() {
    let ideal = case(&tanks(), &["control.cabin.oxygen.from=oxygen"]).holds[0];
    assert_eq!((ideal.oxygen_from, ideal.oxygen_by), (Some(0), Regulation::Ideal));
    assert_eq!((ideal.pressure_pa, ideal.pressure_from), (None, None));
    let most = case(&tanks(), &["control.cabin.oxygen.flow=0.72 kg/h"]).holds[0];
    let flow = 0.72 / 3600.0 / OXYGEN;
    let Regulation::Limited { most_mol_s } = most.oxygen_by else {
        panic!("{:?}", most.oxygen_by)
    };
    close(most_mol_s, flow);
    assert_eq!(most.oxygen_from, None);
    let band = case(
        &tanks(),
        &["control.cabin.oxygen={ hold = \"18.8 kPa\", flow = \"0.72 kg/h\", band = \"0.4 kPa\" }"],
    );
    let Regulation::Band { width_pa, flow_mol_s } = band.holds[0].oxygen_by else {
        panic!("{:?}", band.holds[0].oxygen_by)
    };
    close(width_pa, 400.0);
    close(flow_mol_s, flow);
    let proportional = case(
        &tanks(),
        &["control.cabin.oxygen={ hold = \"18.8 kPa\", flow = \"0.72 kg/h\", full_at = \"0.4 kPa\" }"],
    );
    let Regulation::Proportional {
        gain_mol_s_pa,
        most_mol_s,
    } = proportional.holds[0].oxygen_by
    else {
        panic!("{:?}", proportional.holds[0].oxygen_by)
    };
    close(most_mol_s, flow);
    close(gain_mol_s_pa, flow / 400.0);
}

#[test]
fn the_gas_of_a_pressure_hold_is_that_of_its_tank() {
    let most = |from: &str| {
        let set = format!("control.cabin.pressure={{ hold = \"56.5 kPa\", flow = \"1 kg/h\"{from} }}");
        let hold = case(&tanks(), &[&set]).holds[0];
        let Regulation::Limited { most_mol_s } = hold.pressure_by else {
            panic!("{:?}", hold.pressure_by)
        };
        (hold.pressure_from, most_mol_s * 3600.0)
    };
    for (from, tank, molar_mass) in [
        ("", None, NITROGEN),
        (", from = \"nitrogen\"", Some(1), NITROGEN),
        (", from = \"oxygen\"", Some(0), OXYGEN),
    ] {
        let (found, flow) = most(from);
        assert_eq!(found, tank);
        close(flow, 1.0 / molar_mass);
    }
}

#[test]
fn a_regulator_may_start_where_it_works() {
    let warned = |regulator: &str| {
        let set = format!("control.cabin.pressure={{ hold = \"56.8 kPa\"{regulator} }}");
        let scenario = good(SMALL, &[&set]);
        scenario
            .warnings
            .iter()
            .any(|w| w.message.contains("off its set point"))
    };
    assert!(warned(""));
    assert!(!warned(", flow = \"1 kg/h\", band = \"0.4 kPa\""));
    assert!(!warned(", flow = \"1 kg/h\", full_at = \"0.4 kPa\""));
}

#[test]
fn holes_valves_and_washout_are_in_si() {
    let cabin = &case(
        SMALL,
        &[
            "compartments.cabin.leak_area=0.8 mm2",
            "compartments.cabin.relief={ opens = \"107 kPa\", closes = \"105 kPa\", area = \"1 cm2\" }",
            "compartments.cabin.washout={ adds = \"1.2 mmHg\", at = \"1 mol/h\" }",
        ],
    )
    .compartments[0];
    close(cabin.leak_area_m2, 0.8e-6);
    assert_eq!(
        cabin.relief,
        Some(Relief {
            opens_pa: 107_000.0,
            closes_pa: 105_000.0,
            area_m2: 1e-4
        })
    );
    close(cabin.washout_pa_s_mol, 1.2 * 133.322 * 3600.0);
    let bare = &case(SMALL, &[]).compartments[0];
    assert!(bare.leak_area_m2 <= 0.0 && bare.washout_pa_s_mol <= 0.0);
    assert_eq!((bare.relief, bare.heat), (None, None));
}

#[test]
fn a_heat_balance_has_its_walls() {
    let walls = "compartments.cabin.walls={ area = \"26 m2\", temperature = \"19 degC\", film = \"3 W/m2/K\" }";
    let heat = |more: &str| {
        let set = format!("compartments.cabin.heat={{ equipment = \"150 W\"{more} }}");
        case(SMALL, &[walls, &set]).compartments[0].heat
    };
    let wall = WallHeat {
        temperature_k: 292.15,
        to_air_w_k: 78.0,
        capacity_j_k: 130_000.0,
        insulation: Insulation::Conductance(0.0),
        surroundings_k: 292.15,
    };
    assert_eq!(
        heat(""),
        Some(Heat {
            equipment_w: 150.0,
            wall: Some(wall)
        })
    );
    let insulated = heat(", wall_capacity = \"120 kJ/K\", insulation = \"25 W/K\", surroundings = \"250 K\"");
    assert_eq!(
        insulated.and_then(|h| h.wall),
        Some(WallHeat {
            capacity_j_k: 120_000.0,
            insulation: Insulation::Conductance(25.0),
            surroundings_k: 250.0,
            ..wall
        })
    );
    let radiating = heat(", emittance = 0.05, surroundings = \"250 K\"");
    assert_eq!(
        radiating.and_then(|h| h.wall).map(|w| w.insulation),
        Some(Insulation::Emittance(0.05 * 26.0))
    );
    let bare = case(SMALL, &["compartments.cabin.heat={ equipment = \"150 W\" }"]).compartments[0].heat;
    assert_eq!(bare.map(|h| h.wall), Some(None));
}

#[test]
fn a_wall_without_a_film_has_natural_convection() {
    let film = |gravity: &str| {
        let wall = case(
            SMALL,
            &[
                "compartments.cabin.walls={ area = \"20 m2\", temperature = \"18 degC\" }",
                "compartments.cabin.heat={ equipment = \"150 W\" }",
                &format!("gravity={gravity}"),
            ],
        )
        .compartments[0]
            .heat
            .and_then(|h| h.wall);
        wall.map_or(f64::NAN, |w| w.to_air_w_k / 20.0)
    };
    // By hand: 0.13 k (g dT rho^2 cp / (T mu k))^(1/3) with k 0.0257, mu 1.86e-5, rho 0.681, cp 995, dT 4, T 293.15: the
    // bracket is 1.29e8, its cube root 505, the whole 1.69 W/m2/K.
    let earth = film("9.80665 m/s2");
    assert!((earth - 1.69).abs() < 0.02, "{earth}");
    assert!((film("1.2258 m/s2") / earth - 0.5).abs() < 1e-4);
}

#[test]
fn an_atmosphere_that_is_drawn_reaches_the_film() {
    let scenario = good(
        SMALL,
        &[
            "compartments.cabin.walls={ area = \"20 m2\", temperature = \"18 degC\" }",
            "compartments.cabin.heat={ equipment = { uniform = [\"100 W\", \"200 W\"] } }",
        ],
    );
    let of = |u| {
        scenario.draw(&draws::Constant(u)).case.compartments[0]
            .heat
            .map(|h| h.equipment_w)
    };
    assert_eq!((of(0.25), of(0.75)), (Some(125.0), Some(175.0)));
}

#[test]
fn wrong_hardware_is_told() {
    for (set, message) in [
        (
            "tanks.oxygen.reserve=30 kg",
            "the reserve of `tanks.oxygen` is more than there is in it",
        ),
        (
            "tanks.oxygen.supply_pressure=50 kPa",
            "nothing comes out of `tanks.oxygen`: its pressure is not above the 56.5 kPa of [air]",
        ),
        (
            "control.cabin.oxygen.from=nitrogen",
            "`nitrogen` holds diluent, where oxygen is needed",
        ),
        ("control.cabin.oxygen.from=helium", "there is no tank `helium`"),
        (
            "control.cabin.oxygen.band=0.4 kPa",
            "`control.cabin.oxygen` has `band` without `flow`",
        ),
        (
            "control.cabin.oxygen={ hold = \"18.8 kPa\", flow = \"1 kg/h\", band = \"19 kPa\" }",
            "`band` is not smaller than what is held",
        ),
        (
            "control.cabin.oxygen={ hold = \"18.8 kPa\", flow = \"1 kg/h\", band = \"1 kPa\", full_at = \"1 kPa\" }",
            "`control.cabin.oxygen` has both `band` and `full_at`",
        ),
        (
            "compartments.cabin.relief={ opens = \"60 kPa\", closes = \"60 kPa\", area = \"1 cm2\" }",
            "the valve of `compartments.cabin.relief` closes where it has not opened yet",
        ),
        (
            "compartments.cabin.heat={ insulation = \"25 W/K\" }",
            "`insulation` is of walls, and `compartments.cabin` has none",
        ),
    ] {
        assert_eq!(bad(&tanks(), &[set]), [message], "{set}");
    }
    let walls = "compartments.cabin.walls={ area = \"20 m2\" }";
    for (heat, message) in [
        (
            "insulation = \"25 W/K\"",
            "`compartments.cabin.heat` does not say what is around the walls",
        ),
        (
            "surroundings = \"250 K\"",
            "no heat passes between the walls and these surroundings",
        ),
        (
            "insulation = \"25 W/K\", emittance = 0.1, surroundings = \"250 K\"",
            "`compartments.cabin.heat` has both `insulation` and `emittance`",
        ),
    ] {
        assert_eq!(
            bad(SMALL, &[walls, &format!("compartments.cabin.heat={{ {heat} }}")]),
            [message]
        );
    }
}
