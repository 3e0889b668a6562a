//! What one sensor says.
//!
//! A sensor with a lag follows
//!
//! ```text
//! s(b) = s(a) e^(-(b - a) / lag) + 1/lag integral from a to b of x(t) e^(-(b - t) / lag) dt
//! ```
//!
//! by Gauss's rule of five points in panels no longer than the lag or a minute, with weights that are exact for a steady `x`; what lies
//! more than 45 lags back is forgotten (e^-45 = 3e-20). Noise: the standard normal quantile of `(m + 1/2) / 2^53`, `m` the upper
//! 53 bits of SplitMix64's finaliser (Steele, Lea and Flood 2014, OOPSLA) of the sensor's key and the number of the reading, so no
//! reading's noise depends on which others were looked at.

use libm::{exp, expm1};

use crate::engine::Case;
use crate::engine::course::Course;
use crate::engine::people::GAUSS;
use crate::spread::standard_quantile;
use crate::units::Time;
use crate::upset::SensorNumber;

use super::faults::Faults;

/// Lags after which what was is forgotten.
const FORGOTTEN: f64 = 45.0;
/// Longest panel of the quadrature, s.
const PANEL_S: f64 = 60.0;
/// No reading's noise is beyond so many standard deviations: the quantile of 2^-54 is -8.29.
pub(super) const MOST_NOISE: f64 = 8.3;

/// What a sensor says: reading `number`, at `at`, where its lag has made `lagged` of the quantity. A faulty one has its numbers from the
/// faults.
pub(super) fn reading(
    case: &Case,
    faults: &Faults,
    (index, faulty): (usize, bool),
    lagged: f64,
    at: Time,
    number: u64,
) -> f64 {
    let sensor = &case.sensors[index];
    let mut said = if faulty {
        let of = |which| faults.of_sensor(case, index, which, at);
        let bias = of(SensorNumber::Bias) + of(SensorNumber::Drift);
        of(SensorNumber::Gain) * lagged + bias + sensor.drift_per_s * at.seconds()
    } else {
        sensor.gain * lagged + sensor.bias + sensor.drift_per_s * at.seconds()
    };
    let noise = if faulty {
        faults.of_sensor(case, index, SensorNumber::Noise, at)
    } else {
        sensor.noise
    };
    if let (Some(key), true) = (sensor.noise_key, noise > 0.0) {
        said += noise * standard_quantile(uniform(key, number));
    }
    said.clamp(sensor.range[0], sensor.range[1])
}

/// The state of a first-order lag at `b` that was `state` at `a`, s within the segment.
pub(super) fn lag(state: f64, x: &Course, a: f64, b: f64, lag_s: f64) -> f64 {
    if lag_s <= 0.0 {
        return x.at(b);
    }
    if b <= a {
        return state;
    }
    let from = a.max(b - FORGOTTEN * lag_s);
    let mut state = if from > a { x.at(from) } else { state };
    let panels = libm::ceil((b - from) / lag_s.min(PANEL_S)).max(1.0);
    let length = (b - from) / panels;
    let kept = exp(-length / lag_s);
    for panel in 0..panels as u64 {
        let start = from + panel as f64 * length;
        let (mut sum, mut weights) = (0.0, 0.0);
        for (node, weight) in GAUSS {
            let into = 0.5 * length * (1.0 + node);
            let weight = weight * exp(-(length - into) / lag_s);
            sum += weight * x.at(start + into);
            weights += weight;
        }
        state = state * kept - expm1(-length / lag_s) * sum / weights;
    }
    state
}

/// A number in (0, 1) for a reading.
fn uniform(key: u64, number: u64) -> f64 {
    let bits = mix(key ^ mix(number.wrapping_add(0x9e37_79b9_7f4a_7c15)));
    ((bits >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
}

/// The finaliser of SplitMix64.
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
