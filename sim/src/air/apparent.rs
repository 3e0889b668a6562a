//! Apparent temperature: what warmth and humidity together feel like, as the United States National Weather Service
//! computes its heat index.
//!
//! With `T` the air temperature in degF and `H` the relative humidity in percent, first the simple form
//!
//! ```text
//! A = (T + 61 + 1.2 (T - 68) + 0.094 H) / 2
//! ```
//!
//! and where that reaches 80 degF the regression
//!
//! ```text
//! A = -42.379 + 2.04901523 T + 10.14333127 H - 0.22475541 T H - 6.83783e-3 T^2 - 5.481717e-2 H^2
//!     + 1.22874e-3 T^2 H + 8.5282e-4 T H^2 - 1.99e-6 T^2 H^2
//!     - (13 - H)/4 sqrt((17 - |T - 95|)/17)   where H < 13 and 80 <= T <= 112
//!     + (H - 85)/10 (87 - T)/5                where H > 85 and 80 <= T <= 87
//! ```
//!
//! Source: Rothfusz, "The heat index equation", National Weather Service Technical Attachment SR 90-23 (1990), a
//! regression of Steadman, J. Appl. Meteorol. 18, 861 (1979); the adjustments and the simple form as printed on the
//! Weather Prediction Center's page "The Heat Index Equation". Whether the printed "averaged with the temperature" is
//! the division by 2 above or a further one is not clear from the page; the division above already averages, and is
//! used.
//!
//! Range: 15 to 45 C is checked here; the regression reproduces Steadman's table to 1.3 degF where that exists (about
//! 80 to 110 degF, 40 % and more). Hot and saturated air lies far beyond that table: the number is then large and only
//! its being too large means anything.
//!
//! Rising with humidity: as published the two forms do not meet, and between 80.5 and 82.1 degF the regression starts
//! up to 1.9 degF under the 80 degF at which the simple form hands over. Here the regression is held at 80 degF or
//! above, so the value never falls at the hand-over (it may jump up by 1.6 degF). What is left is a fall of at most
//! 0.003 degF near saturation between 25.4 and 25.5 C.
//!
//! Left out: wind, radiation, clothing, effort. The indoor relation of the same author (shade, light wind) is the one
//! regressed.

use super::saturation::saturation_pa;

/// Where the simple form hands over to the regression, degF.
const HANDOVER_F: f64 = 80.0;

/// Halvings of the vapour pressure range: below the spacing of doubles.
const HALVINGS: usize = 64;

/// Apparent temperature, K, of air at a temperature in K with a vapour pressure in Pa. Vapour above saturation counts
/// as saturated.
#[must_use]
pub fn apparent_temperature_k(temperature_k: f64, vapour_pa: f64) -> f64 {
    let humidity = (100.0 * vapour_pa / saturation_pa(temperature_k)).clamp(0.0, 100.0);
    let t = temperature_k * 1.8 - 459.67;
    let simple = 0.5 * (t + 61.0 + 1.2 * (t - 68.0) + 0.094 * humidity);
    let apparent = if simple < HANDOVER_F {
        simple
    } else {
        regression_f(t, humidity).max(HANDOVER_F)
    };
    (apparent + 459.67) / 1.8
}

/// Rothfusz's regression with its two adjustments, degF.
fn regression_f(t: f64, h: f64) -> f64 {
    let mut apparent = -42.379 + 2.049_015_23 * t + 10.143_331_27 * h
        - 0.224_755_41 * t * h
        - 6.837_83e-3 * t * t
        - 5.481_717e-2 * h * h
        + 1.228_74e-3 * t * t * h
        + 8.528_2e-4 * t * h * h
        - 1.99e-6 * t * t * h * h;
    if h < 13.0 && (80.0..=112.0).contains(&t) {
        apparent -= (13.0 - h) / 4.0 * libm::sqrt((17.0 - (t - 95.0).abs()) / 17.0);
    }
    if h > 85.0 && (80.0..=87.0).contains(&t) {
        apparent += (h - 85.0) / 10.0 * (87.0 - t) / 5.0;
    }
    apparent
}

/// The vapour pressure, Pa, from which on air at this temperature has at least this apparent temperature: 0 if dry air
/// has it already, `None` if saturated air does not reach it. Where the value jumps over the target, the place of the
/// jump.
#[must_use]
pub fn vapour_for_apparent_temperature(temperature_k: f64, apparent_k: f64) -> Option<f64> {
    if apparent_temperature_k(temperature_k, 0.0) >= apparent_k {
        return Some(0.0);
    }
    let mut low = 0.0;
    let mut high = saturation_pa(temperature_k);
    // A NaN does not reach anything.
    let reached = apparent_temperature_k(temperature_k, high) >= apparent_k;
    if !reached {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if apparent_temperature_k(temperature_k, middle) >= apparent_k {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The fall that is left near 25.5 C (0.003 degF), K.
    const LARGEST_FALL_K: f64 = 0.0016;

    #[test]
    fn it_rises_with_humidity() {
        for i in 0..=600 {
            let temperature_k = 288.15 + 0.05 * f64::from(i);
            let saturation = saturation_pa(temperature_k);
            let mut highest = f64::MIN;
            for j in 0..=400 {
                let value = apparent_temperature_k(temperature_k, saturation * f64::from(j) / 400.0);
                assert!(
                    value > highest - LARGEST_FALL_K,
                    "{temperature_k} K, {j}: {value} after {highest}"
                );
                highest = highest.max(value);
            }
        }
    }

    #[test]
    fn the_vapour_pressure_comes_back() {
        for (temperature_k, apparent_k) in [(300.0, 304.0), (303.0, 308.15), (308.0, 320.0), (290.0, 289.9)] {
            let vapour = vapour_for_apparent_temperature(temperature_k, apparent_k).expect("reached");
            assert!((apparent_temperature_k(temperature_k, vapour) - apparent_k).abs() < 1e-9);
        }
        assert_eq!(vapour_for_apparent_temperature(290.0, 308.15), None);
        assert_eq!(vapour_for_apparent_temperature(330.0, 308.15), Some(0.0));
        assert_eq!(vapour_for_apparent_temperature(f64::NAN, 308.15), None);
        assert_eq!(vapour_for_apparent_temperature(300.0, f64::NAN), None);
    }

    #[test]
    fn a_jump_is_found_where_it_is() {
        // 79 degF: the simple form reaches 80 at 72.34 %, where the regression already gives 81.6.
        let temperature_k = (79.0 + 459.67) / 1.8;
        let vapour = vapour_for_apparent_temperature(temperature_k, (81.0 + 459.67) / 1.8).expect("reached");
        assert!((vapour / saturation_pa(temperature_k) - 0.723_404).abs() < 1e-5);
    }
}
