//! A pair of beds: working capacity in closed form, its limits, and bounds that no device beats.

use breathroom_sim::air::GAS_CONSTANT_J_MOL_K;
use breathroom_sim::removal::{Isotherm, PreparedBed, SwingBed, Valves};
use breathroom_sim::units::Time;

const SLOPE: f64 = 0.003;
const BED_KG: f64 = 8.0;
/// Far more flow than a bed can use, mol/s/Pa: the gas around the bed is the inlet's.
const PLENTY: f64 = 1e6;

fn bed(co2: Isotherm, rate_1_s: f64) -> SwingBed {
    SwingBed {
        flow_m3_s: 0.01,
        bed_kg: BED_KG,
        bed_k: 298.15,
        co2,
        water: Isotherm::ZEOLITE_5A_WATER,
        competition_kg_mol: 0.5,
        rate_1_s: [rate_1_s, 2e-3],
        desorb_pa: [20.0, 5.0],
        half_cycle: Time::from_seconds(3600.0),
        lost_m3: 0.0,
        loaded_mol_kg: [0.0; 4],
        valves: Valves::Turning,
    }
}

fn linear(rate_1_s: f64) -> SwingBed {
    bed(Isotherm::Linear { slope_mol_kg_pa: SLOPE }, rate_1_s)
}

/// Q / (R T) of a flow at 298.15 K.
fn per_pa(flow_m3_s: f64) -> f64 {
    flow_m3_s / (GAS_CONSTANT_J_MOL_K * 298.15)
}

/// Loading of CO2 after a time, `dq/dt = rate(q)`: classic Runge-Kutta in equal steps.
fn after(q: f64, seconds: f64, steps: usize, rate: impl Fn(f64) -> f64) -> f64 {
    let h = seconds / steps as f64;
    (0..steps).fold(q, |q, _| {
        let k1 = rate(q);
        let k2 = rate(q + 0.5 * h * k1);
        let k3 = rate(q + 0.5 * h * k2);
        let k4 = rate(q + h * k3);
        q + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    })
}

/// The swing of loading with CO2 once it repeats, dry, at a constant inlet: adsorbing for `on_s`, desorbing for `off_s`.
fn working_capacity(bed: &PreparedBed, per_pa: f64, p_in: f64, on_s: f64, off_s: f64) -> f64 {
    let steps = 400;
    let (mut low, mut swing) = (0.0, f64::NAN);
    for _ in 0..400 {
        let high = after(low, on_s, steps, |q| {
            bed.uptake_mol_s(per_pa, [p_in, 0.0], [q, 0.0])[0] / BED_KG
        });
        low = after(high, off_s, steps, |q| -bed.release_mol_s([q, 0.0])[0] / BED_KG);
        if (high - low - swing).abs() < 1e-12 * swing {
            break;
        }
        swing = high - low;
    }
    swing
}

/// Derived: exact swing of a periodic linear driving force, as a part of the swing of equilibrium.
fn factor(a: f64, d: f64) -> f64 {
    (-a).exp_m1() * (-d).exp_m1() / -(-(a + d)).exp_m1()
}

/// The closed form at large flow, where it is exact, and its two printed values.
#[test]
fn working_capacity_at_large_flow() {
    assert!((factor(1.0, 1.0) - 0.462_117).abs() < 5e-7);
    assert!((factor(0.5, 2.0) - 0.370_643).abs() < 5e-7);
    let rate = 2e-3;
    let beds = linear(rate).prepared();
    for (a, d) in [(1.0, 1.0), (0.5, 2.0), (3.0, 0.2)] {
        let swing = working_capacity(&beds, PLENTY, 400.0, a / rate, d / rate);
        let expected = SLOPE * (400.0 - 20.0) * factor(a, d);
        assert!((swing / expected - 1.0).abs() < 1e-8, "{a} {d}: {swing} {expected}");
    }
}

/// Derived: with a limited flow the bed approaches the same loading, at k / (1 + m k s R T / Q).
#[test]
fn a_limited_flow_slows_the_approach() {
    let rate = 2e-3;
    let g = per_pa(0.01);
    let slowed = rate / (1.0 + BED_KG * rate * SLOPE / g);
    let swing = working_capacity(&linear(rate).prepared(), g, 400.0, 900.0, 900.0);
    let expected = SLOPE * (400.0 - 20.0) * factor(slowed * 900.0, rate * 900.0);
    assert!((swing / expected - 1.0).abs() < 1e-8, "{swing} {expected}");
}

/// A very fast driving force swings from equilibrium to equilibrium; a very slow one stays half way between and takes
/// what its rate gives from there.
#[test]
fn half_cycles_of_an_hour_and_of_ten_seconds() {
    for co2 in [
        Isotherm::Linear { slope_mol_kg_pa: SLOPE },
        Isotherm::Langmuir {
            most_mol_kg: 3.0,
            half_pa: 1000.0,
        },
        Isotherm::ZEOLITE_5A_CO2,
    ] {
        let rate = 1e-2;
        let beds = bed(co2, rate).prepared();
        let [full, empty] = [400.0, 20.0].map(|p| co2.loading_mol_kg(p, 298.15));
        let hour = working_capacity(&beds, PLENTY, 400.0, 3600.0, 3600.0);
        assert!((hour / (full - empty) - 1.0).abs() < 1e-9, "{co2:?}: {hour}");
        // From half way the rate is k (full - empty) / 2; the swing falls short of it by the third order of k t / 2.
        let ten_seconds = working_capacity(&beds, PLENTY, 400.0, 10.0, 10.0);
        let by_rate = 0.5 * rate * 10.0 * (full - empty);
        assert!(
            (ten_seconds / by_rate - 1.0).abs() < 1e-3,
            "{co2:?}: {ten_seconds} {by_rate}"
        );
        // Ten seconds take more in an hour than one hour does, and never more than the rate allows.
        assert!(360.0 * ten_seconds > 4.0 * hour && ten_seconds < by_rate);
    }
}

/// A bed in equilibrium with its inlet takes nothing, whatever the flow, and one above it gives back.
#[test]
fn a_bed_in_equilibrium_takes_nothing() {
    for co2 in [
        Isotherm::Linear { slope_mol_kg_pa: SLOPE },
        Isotherm::Langmuir {
            most_mol_kg: 3.0,
            half_pa: 1000.0,
        },
        Isotherm::ZEOLITE_5A_CO2,
    ] {
        let bed = bed(co2, 5e-3);
        let water = bed.water.loading_mol_kg(900.0, bed.bed_k);
        let hindered = co2.loading_mol_kg(400.0, bed.bed_k) / (1.0 + bed.competition_kg_mol * water);
        for flow in [1e-4, 0.01, 1.0] {
            let carried = [400.0, 900.0].map(|p| per_pa(flow) * p);
            let taken = bed.uptake_mol_s(per_pa(flow), [400.0, 900.0], [hindered, water]);
            for n in 0..2 {
                assert!(
                    taken[n].abs() < 1e-12 * carried[n].max(BED_KG * 5e-3 * water),
                    "{co2:?}: {taken:?}"
                );
            }
            let taken = bed.uptake_mol_s(per_pa(flow), [400.0, 900.0], [1.1 * hindered, 1.1 * water]);
            assert!(taken[0] < 0.0 && taken[1] < 0.0, "{taken:?}");
        }
        let rest = [20.0, 5.0];
        let water = bed.water.loading_mol_kg(rest[1], bed.bed_k);
        let hindered = co2.loading_mol_kg(rest[0], bed.bed_k) / (1.0 + bed.competition_kg_mol * water);
        let released = bed.release_mol_s([hindered, water]);
        assert!(released.iter().all(|r| r.abs() < 1e-14), "{released:?}");
    }
}

/// No device takes more than its flow carries, and none that has a bed takes more than the bed's rate allows.
#[test]
fn no_bed_beats_its_flow() {
    for co2 in [
        Isotherm::Linear { slope_mol_kg_pa: SLOPE },
        Isotherm::Langmuir {
            most_mol_kg: 3.0,
            half_pa: 1000.0,
        },
        Isotherm::ZEOLITE_5A_CO2,
    ] {
        for rate in [1e-4, 1e-2, 10.0] {
            let bed = bed(co2, rate);
            for flow in [1e-4, 0.01, 1.0] {
                for p in [1e-3, 40.0, 400.0, 5000.0] {
                    let [taken, _] = bed.uptake_mol_s(per_pa(flow), [p, 1200.0], [0.0, 0.0]);
                    let carried = per_pa(flow) * p;
                    let by_rate = BED_KG * rate * co2.loading_mol_kg(p, bed.bed_k);
                    assert!(
                        taken > 0.0 && taken <= carried && taken <= by_rate,
                        "{taken} {carried} {by_rate}"
                    );
                    // Two resistances in a row: never less than both together would give with the steepest isotherm.
                    assert!(
                        taken >= 1.0 / (1.0 / carried + 1.0 / by_rate) * 0.999,
                        "{taken} {carried} {by_rate}"
                    );
                }
            }
        }
    }
}

/// Water on a bed hinders CO2 as the form says, and CO2 does not hinder water.
#[test]
fn held_water_hinders_co2_alone() {
    let bed = linear(5e-3);
    let dry = bed.uptake_mol_s(PLENTY, [400.0, 900.0], [0.0, 0.0]);
    let wet = bed.uptake_mol_s(PLENTY, [400.0, 900.0], [0.0, 2.0]);
    assert!(
        (dry[0] / wet[0] - 2.0).abs() < 1e-9,
        "1 + 0.5 kg/mol x 2 mol/kg: {dry:?} {wet:?}"
    );
    let loaded = bed.uptake_mol_s(PLENTY, [400.0, 900.0], [1.0, 2.0]);
    assert_eq!(loaded[1], wet[1]);
}
