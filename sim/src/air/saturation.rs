//! Saturation pressure of water, its slope, and its inverse: the dew or frost point.
//!
//! Over water, from the triple point up: with `theta = T + n9 / (T - n10)` and `beta = (p / 1 MPa)^(1/4)`,
//!
//! ```text
//! beta^2 (theta^2 + n1 theta + n2) + beta (n3 theta^2 + n4 theta + n5) + (n6 theta^2 + n7 theta + n8) = 0
//! ```
//!
//! solved for `beta` (forward) or for `theta`, then `T` (backward). Over ice, below the triple point, with
//! `theta = T / 273.16 K`: `ln(p / 611.657 Pa) = (a1 theta^b1 + a2 theta^b2 + a3 theta^b3) / theta`.
//!
//! `T` is the temperature, K; `p` the saturation pressure, Pa.
//!
//! Sources: IAPWS R7-97(2012), Industrial Formulation 1997, equations 29 to 31 and table 34 (water); IAPWS
//! R14-08(2011), equation 6 (ice Ih), the same as Wagner, Riethmann, Feistel and Harvey, J. Phys. Chem. Ref. Data 40,
//! 043103 (2011).
//!
//! Range: 50 K to 647.096 K. Outside it the temperature is taken at the nearest end. The two curves meet at the triple
//! point to better than 1e-6.
//!
//! Left out: the enhancement of the saturation pressure by the carrier gas (at most 0.5 % at 101 kPa), supercooled
//! water, and curved or salty surfaces.

/// Temperature of the triple point, K (IAPWS R14-08).
pub const TRIPLE_POINT_K: f64 = 273.16;

/// Pressure of the triple point, Pa (IAPWS R14-08).
const TRIPLE_POINT_PA: f64 = 611.657;

/// Temperature of the critical point, K (IAPWS R7-97).
const CRITICAL_K: f64 = 647.096;

/// Lowest temperature of the ice curve, K (IAPWS R14-08).
const COLDEST_K: f64 = 50.0;

/// Reference pressure of the water curve, Pa.
const WATER_REFERENCE_PA: f64 = 1.0e6;

/// Coefficients n1 to n10 of the water curve (IAPWS R7-97, table 34).
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Coefficients of the ice curve (IAPWS R14-08, table 2).
const ICE_A: [f64; 3] = [-0.212_144_006e2, 0.273_203_819e2, -0.610_598_130e1];

/// Exponents of the ice curve (IAPWS R14-08, table 2).
const ICE_B: [f64; 3] = [0.333_333_333e-2, 0.120_666_667e1, 0.170_333_333e1];

/// Steps after which the search for a frost point stops. Newton on `ln p` over `1 / T` meets 1e-13 in at most 6.
const MOST_STEPS: usize = 60;

/// Saturation pressure at a temperature in K, Pa: over water from 273.16 K up, over ice below.
#[must_use]
pub fn saturation_pa(temperature_k: f64) -> f64 {
    saturation_and_slope(temperature_k).0
}

/// Slope of the saturation pressure with temperature, Pa/K.
#[must_use]
pub fn saturation_slope_pa_k(temperature_k: f64) -> f64 {
    saturation_and_slope(temperature_k).1
}

/// Dew point (frost point below 273.16 K) of a vapour pressure in Pa, K: the inverse of [`saturation_pa`].
///
/// A pressure of zero or less gives the low end of the range, 50 K.
#[must_use]
pub fn dew_point_k(vapour_pa: f64) -> f64 {
    if vapour_pa.is_nan() {
        vapour_pa
    } else if vapour_pa <= 0.0 {
        COLDEST_K
    } else if vapour_pa >= over_water(TRIPLE_POINT_K).0 {
        dew_point_over_water_k(vapour_pa)
    } else {
        frost_point_k(vapour_pa)
    }
}

fn saturation_and_slope(temperature_k: f64) -> (f64, f64) {
    let t = temperature_k.clamp(COLDEST_K, CRITICAL_K);
    if t >= TRIPLE_POINT_K {
        over_water(t)
    } else {
        over_ice(t)
    }
}

/// Equation 30 of IAPWS R7-97; the slope from differentiating its equation 29.
fn over_water(t: f64) -> (f64, f64) {
    let theta = t + N[8] / (t - N[9]);
    let a = (theta + N[0]) * theta + N[1];
    let b = (N[2] * theta + N[3]) * theta + N[4];
    let c = (N[5] * theta + N[6]) * theta + N[7];
    let beta = 2.0 * c / (-b + libm::sqrt(b * b - 4.0 * a * c));
    let by_theta =
        beta * beta * (2.0 * theta + N[0]) + beta * (2.0 * N[2] * theta + N[3]) + (2.0 * N[5] * theta + N[6]);
    let by_beta = 2.0 * beta * a + b;
    let theta_by_t = 1.0 - N[8] / ((t - N[9]) * (t - N[9]));
    let beta3 = beta * beta * beta;
    let slope = -4.0 * beta3 * by_theta / by_beta * theta_by_t;
    (WATER_REFERENCE_PA * beta3 * beta, WATER_REFERENCE_PA * slope)
}

/// Equation 6 of IAPWS R14-08 and its derivative.
fn over_ice(t: f64) -> (f64, f64) {
    let theta = t / TRIPLE_POINT_K;
    let mut log_ratio = 0.0;
    let mut log_slope = 0.0;
    for i in 0..3 {
        let term = ICE_A[i] * libm::pow(theta, ICE_B[i] - 1.0);
        log_ratio += term;
        log_slope += (ICE_B[i] - 1.0) * term / t;
    }
    let p = TRIPLE_POINT_PA * libm::exp(log_ratio);
    (p, p * log_slope)
}

/// Equation 31 of IAPWS R7-97, then two Newton steps that take out its rounding.
fn dew_point_over_water_k(vapour_pa: f64) -> f64 {
    let beta = libm::sqrt(libm::sqrt(vapour_pa / WATER_REFERENCE_PA));
    let e = (beta + N[2]) * beta + N[5];
    let f = (N[0] * beta + N[3]) * beta + N[6];
    let g = (N[1] * beta + N[4]) * beta + N[7];
    let d = 2.0 * g / (-f - libm::sqrt(f * f - 4.0 * e * g));
    let sum = N[9] + d;
    let mut t = 0.5 * (sum - libm::sqrt(sum * sum - 4.0 * (N[8] + N[9] * d)));
    for _ in 0..2 {
        let (p, slope) = over_water(t.clamp(TRIPLE_POINT_K, CRITICAL_K));
        t += (vapour_pa - p) / slope;
    }
    t.clamp(TRIPLE_POINT_K, CRITICAL_K)
}

/// Newton on `ln p` against `1 / T`, in which the curve is nearly straight, kept inside a bracket.
fn frost_point_k(vapour_pa: f64) -> f64 {
    let target = libm::log(vapour_pa);
    let (mut low, mut high) = (COLDEST_K, TRIPLE_POINT_K);
    let mut t = TRIPLE_POINT_K;
    for _ in 0..MOST_STEPS {
        let (p, slope) = over_ice(t);
        let miss = target - libm::log(p);
        if miss > 0.0 {
            low = t;
        } else {
            high = t;
        }
        // d(ln p) / d(1/T) = -T^2 slope / p
        let inverse = 1.0 / t - miss * p / (slope * t * t);
        let newton = 1.0 / inverse;
        let next = if newton > low && newton < high {
            newton
        } else {
            0.5 * (low + high)
        };
        if (next - t).abs() <= 1e-13 * t {
            return next;
        }
        t = next;
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curves_meet_at_the_triple_point() {
        let gap = over_water(TRIPLE_POINT_K).0 / over_ice(TRIPLE_POINT_K).0 - 1.0;
        assert!(gap.abs() < 1e-6, "{gap}");
    }

    #[test]
    fn the_slope_is_the_derivative() {
        let mut t = 233.0;
        while t < 340.0 {
            if (t - TRIPLE_POINT_K).abs() > 0.1 {
                let step = 1e-3;
                let difference = (saturation_pa(t + step) - saturation_pa(t - step)) / (2.0 * step);
                let relative = saturation_slope_pa_k(t) / difference - 1.0;
                assert!(relative.abs() < 1e-7, "{t}: {relative}");
            }
            t += 1.7;
        }
    }

    #[test]
    fn the_dew_point_is_the_inverse() {
        let mut t = 60.0;
        while t < 640.0 {
            let back = dew_point_k(saturation_pa(t));
            assert!((back - t).abs() < 1e-10 * t, "{t}: {back}");
            t += 0.37;
        }
        assert!((dew_point_k(saturation_pa(TRIPLE_POINT_K)) - TRIPLE_POINT_K).abs() < 1e-6);
    }

    #[test]
    fn nonsense_gives_an_end_of_the_range() {
        assert!((dew_point_k(0.0) - COLDEST_K).abs() < 1e-9);
        assert!((dew_point_k(-1.0) - COLDEST_K).abs() < 1e-9);
        assert!((dew_point_k(1e-300) - COLDEST_K).abs() < 1e-6);
        assert!((dew_point_k(1e12) - CRITICAL_K).abs() < 1e-6);
        assert!(dew_point_k(f64::NAN).is_nan());
        assert!(saturation_pa(-5.0) >= 0.0);
        assert!(saturation_pa(1e9).is_finite());
        assert!(saturation_pa(f64::NAN).is_nan());
    }
}
