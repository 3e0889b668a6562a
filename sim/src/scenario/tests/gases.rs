//! Gas, surfaces, leaks and devices against arithmetic by hand.

use super::*;
use crate::air::{GAS_CONSTANT_J_MOL_K, Place, SurfaceKind, saturation_pa, total_pa};
use crate::engine::Case;

fn case(text: &str, overrides: &[&str]) -> Case {
    good(text, overrides).draw(&Medians).case
}

#[test]
fn the_air_is_what_was_written() {
    let case = case(SMALL, &[]);
    let cabin = &case.compartments[0];
    let water = 0.45 * saturation_pa(295.15);
    assert!((total_pa(&cabin.partial_pa) - 56_500.0).abs() < 1e-9);
    assert!((cabin.partial_pa[0] - 0.5 * 133.322).abs() < 1e-4);
    assert!((cabin.partial_pa[1] - water).abs() < 1e-9);
    assert!((cabin.partial_pa[2] - 0.34 * (56_500.0 - water)).abs() < 1e-9);
    assert!(total_pa(&case.outside.partial_pa) <= 0.0);
}

#[test]
fn a_compartments_own_air_comes_before_the_common_one() {
    let case = case(
        &with("[compartments.lock]\nfree_volume = \"4 m3\"\nair = { co2 = \"20 mmHg\", temperature = \"18 degC\" }\n"),
        &[],
    );
    let lock = &case.compartments[1];
    assert!((lock.partial_pa[0] - 20.0 * 133.322).abs() < 1e-9);
    assert!((lock.temperature_k - 291.15).abs() < 1e-9);
    assert!((total_pa(&lock.partial_pa) - 56_500.0).abs() < 1e-9);
}

#[test]
fn every_compartment_has_mist_and_walls_if_they_are_given() {
    let bare = case(SMALL, &[]);
    let cabin = &bare.compartments[0];
    assert_eq!(cabin.surfaces.len(), 1);
    let mist = &cabin.surfaces[0];
    assert_eq!(mist.kind, SurfaceKind::Mist);
    let tau = cabin.volume_m3 / (GAS_CONSTANT_J_MOL_K * cabin.temperature_k * mist.conductance_mol_s_pa);
    assert!((tau - 10.0).abs() < 1e-9);
    let set = "compartments.cabin.walls={ area = \"20 m2\", temperature = \"19 degC\", cold_spot = \"14 degC\" }";
    let walled = case(SMALL, &[set]);
    let surfaces = &walled.compartments[0].surfaces;
    assert_eq!(
        surfaces.iter().map(|s| s.kind).collect::<Vec<_>>(),
        [SurfaceKind::Wall, SurfaceKind::ColdSpot, SurfaceKind::Mist]
    );
    // With a given film the conductances go as the areas, 2 % being the cold spot (property changes aside).
    let filmed = case(SMALL, &[set, "compartments.cabin.walls.film=3 W/m2/K"]);
    let surfaces = &filmed.compartments[0].surfaces;
    let ratio = surfaces[1].conductance_mol_s_pa / surfaces[0].conductance_mol_s_pa;
    assert!((ratio / (0.02 / 0.98) - 1.0).abs() < 0.02, "{ratio}");
    let instant = case(
        SMALL,
        &["compartments.cabin.walls={ area = \"20 m2\", equilibrium = \"optimistic\" }"],
    );
    let cabin = &instant.compartments[0];
    let tau = cabin.volume_m3 / (GAS_CONSTANT_J_MOL_K * cabin.temperature_k * cabin.surfaces[0].conductance_mol_s_pa);
    assert!((tau - 0.1).abs() < 1e-12);
}

#[test]
fn a_leak_is_a_volume_of_the_common_air() {
    let case = case(SMALL, &["compartments.cabin.leak=0.05 kg/d"]);
    let cabin = &case.compartments[0];
    // Density by hand: sum of p M / (R T), molar masses in g/mol 44.0095, 18.01528, 31.9988, 28.0134.
    let p = cabin.partial_pa;
    let density =
        (p[0] * 0.044_009_5 + p[1] * 0.018_015_28 + p[2] * 0.031_998_8 + p[3] * 0.028_013_4) / (8.314_462_618 * 295.15);
    assert!((cabin.leak_m3_s * density * 86_400.0 - 0.05).abs() < 1e-12);
}

#[test]
fn devices_tell_how_fast_they_clear_their_room() {
    // The Apollo lunar module's cabin, 235 ft3, with 22.2 ft3/min through a perfect remover: 635 s (derived).
    let text = with(
        "[removal.a]\nkind = \"flow-through\"\nserves = \"cabin\"\nflow = \"22.2 ft3/min\"\nco2_efficiency = 1\n\
         [removal.b]\nkind = \"condenser\"\nserves = \"cabin\"\nflow = \"0.1 m3/s\"\nbypass = \"20 %\"\ncoil_temperature = \"7 degC\"\n\
         [removal.c]\nkind = \"curve\"\nserves = \"cabin\"\non = false\nco2 = [[\"1 kPa\", \"1 mol/s\"]]\n",
    );
    let scenario = good(&text, &["compartments.cabin.free_volume=235 ft3"]);
    let list = scenario.device_summaries(&scenario.draw(&Medians).case);
    assert!((list[0].co2_s.unwrap_or(0.0) - 235.0 / 22.2 * 60.0).abs() < 1e-6);
    assert_eq!((list[0].water_s, list[1].co2_s, list[2].on), (None, None, false));
    let volume = 235.0 * 0.028_316_8;
    assert!((list[1].water_s.unwrap_or(0.0) - volume / 0.08).abs() < 1e-6);
    let flow = GAS_CONSTANT_J_MOL_K * 295.15 / 1000.0;
    assert!((list[2].co2_s.unwrap_or(0.0) - volume / flow).abs() < 1e-9);
}

#[test]
fn efforts_are_those_that_someone_takes_up() {
    let text = with(
        "[efforts.dig]\nlike = \"surface-work\"\npower = \"310 W\"\nspace = \"1.9 m3\"\n[efforts.sleep]\nlike = \"sleep\"\nspace = \"3 m3\"\n\
         [[tasks]]\nid = \"d\"\ncrew = [\"lead\"]\neffort = \"dig\"\nin = \"outside\"\nduration = \"1 h\"\n\
         [[tasks]]\nid = \"s\"\ncrew = [\"lead\"]\neffort = \"sleep\"\nduration = \"1 h\"\n",
    );
    let scenario = good(&text, &[]);
    assert_eq!(scenario.names.efforts, ["sleep", "rest", "dig"]);
    let case = scenario.draw(&Medians).case;
    assert_eq!(case.plan.effort_space_m3, [3.0, 1.2, 1.9]);
    assert_eq!(
        (case.plan.tasks[0].effort, case.plan.tasks[0].place),
        (2, Place::Outside)
    );
    assert_eq!(case.people[0].idle, 1);
    let load = case.people[0].profiles[2].stages[0].load;
    assert!((crate::crew::weir_w(load.oxygen_mol_s, load.co2_mol_s) - 310.0).abs() < 1e-9);
    assert!(case.people[0].profiles[2].sweat_lag && !case.people[0].profiles[0].sweat_lag);
}

#[test]
fn rates_stand_as_they_are_and_towels_are_asked_for() {
    let text = with(
        "[efforts.dummy]\nco2 = \"1.00 kg/d\"\nvapour = \"1.8 kg/d\"\nrunoff_to = \"towel\"\n[[tasks]]\nid = \"t\"\ncrew = [\"lead\"]\n\
         effort = \"dummy\"\nduration = \"1 h\"\n",
    );
    let case = case(&text, &["crew.lead.mass=50 kg"]);
    let profile = &case.people[0].profiles[case.plan.tasks[0].effort];
    let load = profile.stages[0].load;
    assert!((load.co2_mol_s * 0.044_009_5 * 86_400.0 - 1.0).abs() < 1e-12);
    assert!(load.oxygen_mol_s.abs() < 1e-300 && load.sensible_w.abs() < 1e-300);
    assert!(profile.towel && !case.people[0].profiles[case.people[0].idle].towel);
}

#[test]
fn an_effort_like_another_keeps_all_rates_but_its_own() {
    let text = with(
        "[efforts.wet]\nlike = \"nominal\"\nvapour = \"5 kg/d\"\n[efforts.wetter]\nlike = \"wet\"\nrunoff = \"1 kg/d\"\n\
         [[tasks]]\nid = \"t\"\ncrew = [\"lead\"]\neffort = \"wetter\"\nduration = \"1 h\"\n",
    );
    let case = case(&text, &["crew.lead.idle=nominal"]);
    let of = |effort: usize| &case.people[0].profiles[effort];
    let (nominal, wetter) = (of(case.people[0].idle), of(case.plan.tasks[0].effort));
    assert_eq!(nominal.stages.len(), wetter.stages.len());
    for (one, other) in nominal.stages.iter().zip(&wetter.stages) {
        let (one, other) = (&one.load, &other.load);
        assert!(one.co2_mol_s > 0.0 && one.oxygen_mol_s > 0.0);
        assert_eq!(
            (one.co2_mol_s, one.oxygen_mol_s, one.sensible_w),
            (other.co2_mol_s, other.oxygen_mol_s, other.sensible_w)
        );
        let kg_d = |mol_s: f64| mol_s * 0.018_015_28 * 86_400.0;
        assert!((kg_d(other.vapour_mol_s) - 5.0).abs() < 1e-4 && (kg_d(other.runoff_mol_s) - 1.0).abs() < 1e-4);
        assert!(other.latent_w > one.latent_w);
    }
}

#[test]
fn met_goes_with_body_surface() {
    let text = with(
        "[efforts.x]\npower = \"2 met\"\n[[tasks]]\nid = \"t\"\ncrew = [\"lead\", \"second\"]\neffort = \"x\"\nduration = \"1 h\"\n",
    );
    let case = case(&text, &["crew.lead.mass=60 kg", "crew.second.mass=100 kg"]);
    let effort = case.plan.tasks[0].effort;
    for (n, mass) in [60.0_f64, 100.0].into_iter().enumerate() {
        let load = case.people[n].profiles[effort].stages[0].load;
        // DuBois: 0.007184 kg^0.425 cm^0.725.
        let surface = 0.007_184 * mass.powf(0.425) * 178.0_f64.powf(0.725);
        let power = crate::crew::weir_w(load.oxygen_mol_s, load.co2_mol_s);
        assert!((power / (2.0 * 58.2 * surface) - 1.0).abs() < 1e-9);
    }
}
