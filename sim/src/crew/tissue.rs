//! Diluent in a person's tissue, and how long oxygen must be breathed before a sortie.
//!
//! ```text
//! dp_t/dt = k (p_b - p_t),   k = ln 2 / t_half       p_t(t) = p_b + (p_t0 - p_b) e^(-k t)
//! pre-breathe until p_t = R P:   t = (1/k) ln((p_t0 - p_b) / (R P - p_b))
//! ```
//!
//! `p_t`: partial pressure of diluent in the tissue, `p_b`: of what is breathed, `P`: pressure of the suit, Pa; `R`: the ratio
//! that is allowed; `t_half`: half-time, s.
//!
//! Source: a single compartment with exponential exchange and a half-time of 360 min, as published for planning pre-breathes
//! (NASA reports on exploration atmospheres; from memory).
//!
//! Range: planning between atmospheres of 20 to 105 kPa. Left out: every other tissue, exercise (which shortens a
//! pre-breathe), bubbles once they are there, and how people differ. An aid for planning, no medical advice.

/// Half-time of the tissue, s: 360 min.
pub const TISSUE_HALF_TIME_S: f64 = 21_600.0;

/// Rate of exchange, 1/s.
fn rate_1_s() -> f64 {
    core::f64::consts::LN_2 / TISSUE_HALF_TIME_S
}

/// Partial pressure in the tissue, Pa, after so many seconds of breathing a partial pressure of diluent, Pa.
#[must_use]
pub fn tissue_after_pa(tissue_pa: f64, breathed_pa: f64, seconds: f64) -> f64 {
    breathed_pa + (tissue_pa - breathed_pa) * libm::exp(-rate_1_s() * seconds)
}

/// Time of breathing a partial pressure of diluent, s, until the tissue holds `ratio` times the suit's pressure: 0 if it does
/// not hold more at the start, none if what is breathed holds so much itself that it never falls that far.
#[must_use]
pub fn pre_breathe_s(tissue_pa: f64, breathed_pa: f64, ratio: f64, suit_pa: f64) -> Option<f64> {
    let goal = ratio * suit_pa;
    if tissue_pa <= goal {
        return Some(0.0);
    }
    (goal > breathed_pa).then(|| libm::log((tissue_pa - breathed_pa) / (goal - breathed_pa)) / rate_1_s())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_is_gone_after_the_half_time() {
        assert!((tissue_after_pa(40_000.0, 0.0, TISSUE_HALF_TIME_S) - 20_000.0).abs() < 1e-9);
        assert!((tissue_after_pa(40_000.0, 30_000.0, 2.0 * TISSUE_HALF_TIME_S) - 32_500.0).abs() < 1e-9);
    }

    #[test]
    fn a_pre_breathe_ends_at_the_ratio() {
        let length = pre_breathe_s(79_000.0, 2_000.0, 1.65, 29_600.0).expect("it can be reached");
        assert!((tissue_after_pa(79_000.0, 2_000.0, length) / 29_600.0 - 1.65).abs() < 1e-12);
        // On pure oxygen a tissue at twice the goal takes one half-time.
        let half = pre_breathe_s(80_000.0, 0.0, 1.6, 25_000.0).expect("it can be reached");
        assert!((half - TISSUE_HALF_TIME_S).abs() < 1e-9);
    }

    #[test]
    fn none_is_needed_or_none_is_enough() {
        assert_eq!(pre_breathe_s(36_000.0, 2_000.0, 1.65, 29_600.0), Some(0.0));
        assert_eq!(pre_breathe_s(79_000.0, 50_000.0, 1.65, 29_600.0), None);
    }
}
