//! Saturation pressure and dew point against published values.

use breathroom_sim::air::{dew_point_k, relative_humidity, saturation_pa, vapour_pressure_pa};

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value / expected - 1.0).abs() <= relative, "{value} against {expected}");
}

/// IAPWS R7-97(2012), table 35: 300 K printed as 0.353658941e-2 MPa; 273.16 K is the triple point; the others derived
/// from its equation 30.
#[test]
fn water_by_the_industrial_formulation() {
    close(saturation_pa(300.0), 3_536.589_41, 1e-8);
    close(saturation_pa(273.16), 611.657, 1e-6);
    for (celsius, pa) in [(5.0, 872.575), (20.0, 2339.215), (25.0, 3169.747), (35.0, 5628.620)] {
        close(saturation_pa(celsius + 273.15), pa, 1e-6);
    }
}

/// IAPWS R7-97(2012), table 35: 500 K and 600 K, 2.63889776 MPa and 12.3443146 MPa (from memory): far out of our
/// range, but they hold every coefficient.
#[test]
fn water_far_above_the_cabin() {
    close(saturation_pa(500.0), 2.638_897_76e6, 1e-8);
    close(saturation_pa(600.0), 12.344_314_6e6, 1e-8);
}

/// IAPWS R7-97(2012), table 36, backward equation: 0.1 MPa, 1 MPa, 10 MPa give 372.755919, 453.035632, 584.149488 K
/// (from memory).
#[test]
fn dew_points_by_the_industrial_formulation() {
    close(dew_point_k(0.1e6), 372.755_919, 2e-9);
    close(dew_point_k(1.0e6), 453.035_632, 2e-9);
    close(dew_point_k(10.0e6), 584.149_488, 2e-9);
}

/// IAPWS R14-08(2011), table 3, verification value: 8.94735 Pa of sublimation pressure at 230 K (from memory).
#[test]
fn ice_by_the_sublimation_release() {
    close(saturation_pa(230.0), 8.947_35, 1e-6);
}

/// ASHRAE Handbook of Fundamentals 2017, chapter 1, table 3, as printed in open test suites of psychrometric
/// libraries.
#[test]
fn ice_and_water_by_the_handbook() {
    for (celsius, pa) in [
        (-20.0, 103.24),
        (-5.0, 401.74),
        (5.0, 872.6),
        (25.0, 3169.7),
        (50.0, 12_351.3),
    ] {
        close(saturation_pa(celsius + 273.15), pa, 3e-4);
    }
}

/// Wagner and Pruss, J. Phys. Chem. Ref. Data 31, 387 (2002), the scientific formulation's own saturation equation
/// (2.5), coefficients from memory; it shares nothing with the industrial one. Agreement asked for: 0.01 % from 0.01
/// to 60 C.
#[test]
fn water_by_the_scientific_formulation() {
    const A: [(f64, f64); 6] = [
        (-7.859_517_83, 1.0),
        (1.844_082_59, 1.5),
        (-11.786_649_7, 3.0),
        (22.680_741_1, 3.5),
        (-15.961_871_9, 4.0),
        (1.801_225_02, 7.5),
    ];
    let reference = |t: f64| {
        let theta: f64 = 1.0 - t / 647.096;
        let sum: f64 = A.iter().map(|(a, power)| a * theta.powf(*power)).sum();
        22.064e6 * (647.096 / t * sum).exp()
    };
    let mut celsius = 0.01;
    while celsius <= 60.0 {
        close(saturation_pa(celsius + 273.15), reference(celsius + 273.15), 1e-4);
        celsius += 0.5;
    }
}

/// ASHRAE Handbook of Fundamentals, psychrometric chart: 25 C and 50 % have their dew point at 13.86 C.
#[test]
fn a_dew_point_of_the_chart() {
    let dew = dew_point_k(vapour_pressure_pa(0.5, 298.15));
    assert!((dew - 273.15 - 13.86).abs() < 0.02, "{dew}");
}

/// Derived: temperature and humidity to dew point and back is the identity.
#[test]
fn humidity_survives_the_dew_point() {
    for i in 0..=60 {
        let temperature_k = 258.15 + f64::from(i);
        for humidity in [1e-4, 0.01, 0.05, 0.2, 0.5, 0.75, 0.95, 1.0] {
            let dew = dew_point_k(vapour_pressure_pa(humidity, temperature_k));
            let back = relative_humidity(saturation_pa(dew), temperature_k);
            // Between the ends of the two curves at the triple point lies a gap of parts in 1e8 that no temperature
            // has.
            if (dew - 273.16).abs() > 1e-5 {
                assert!((back - humidity).abs() < 1e-9, "{temperature_k} K, {humidity}: {back}");
            }
        }
    }
}
