//! Apparent temperature against the printed chart of the heat index.

use breathroom_sim::air::{apparent_temperature_k, saturation_pa, vapour_for_apparent_temperature};

fn kelvin(fahrenheit: f64) -> f64 {
    (fahrenheit + 459.67) / 1.8
}

/// The National Weather Service's heat index chart, which prints whole degrees (from memory): temperature in degF,
/// humidity in percent, heat index in degF. The regression is printed as within 1.3 degF of the tabulated index.
#[test]
fn the_chart() {
    for (fahrenheit, humidity, index) in [
        (80.0, 40.0, 80.0),
        (84.0, 60.0, 88.0),
        (86.0, 90.0, 105.0),
        (90.0, 50.0, 95.0),
        (90.0, 70.0, 105.0),
        (96.0, 50.0, 108.0),
        (100.0, 40.0, 109.0),
        (100.0, 60.0, 129.0),
        (110.0, 40.0, 136.0),
    ] {
        let vapour = humidity / 100.0 * saturation_pa(kelvin(fahrenheit));
        let value = apparent_temperature_k(kelvin(fahrenheit), vapour) * 1.8 - 459.67;
        assert!(
            (value - index).abs() < 1.3,
            "{fahrenheit} degF, {humidity} %: {value} against {index}"
        );
    }
}

/// 30 CFR part 7 asks for at most 95 degF. By the chart air at 90 degF reaches that at 50 % humidity (from memory).
#[test]
fn a_refuge_at_90_degf() {
    let vapour = vapour_for_apparent_temperature(kelvin(90.0), kelvin(95.0)).expect("reached");
    let humidity = vapour / saturation_pa(kelvin(90.0));
    assert!((humidity - 0.5).abs() < 0.04, "{humidity}");
}

/// Cool air never feels like 95 degF, however moist.
#[test]
fn cool_air_is_never_too_hot() {
    assert_eq!(vapour_for_apparent_temperature(295.15, kelvin(95.0)), None);
}
