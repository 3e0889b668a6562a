//! How many independent values residuals amount to that follow one another.
//!
//! ```text
//! tau = 1 + 2 sum rho_k        n_eff = n / tau        covariance = s^2 tau (J^T J)^-1        s^2 = S / (n - p tau)
//! ```
//!
//! `rho_k` autocorrelation at lag `k`; `n` residuals; `p` parameters; `S` sum of their squares. The sum ends with the last pair
//! `rho_2j + rho_2j+1` before the first that is not above 0, since true pairs are, and noise of later lags only adds up.
//! For a process of order one with `rho_k = rho^k`, tau is `(1 + rho) / (1 - rho)`.
//!
//! Source: M. S. Bartlett, J. R. Stat. Soc. Suppl. 8, 27 (1946); G. V. Bayley and J. M. Hammersley, the same volume, 184; where the sum ends
//! after C. J. Geyer, Statist. Sci. 7, 473 (1992) (all from memory). Exact for the mean of a stationary series; for parameters whose
//! derivatives change slowly against the correlation it is right, for others it errs to the safe side. Never below 1: what
//! follows one another too evenly makes nothing surer here. Left out: gaps between residuals, which are taken as neighbours.

/// What the order of residuals says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Autocorrelation {
    /// Autocorrelation at lag 1.
    pub lag_1: f64,
    /// How many residuals are worth one: 1 or more.
    pub tau: f64,
    /// How many independent ones they amount to.
    pub effective: f64,
}

/// The autocorrelation of residuals in their order.
#[must_use]
pub fn autocorrelation(residuals: &[f64]) -> Autocorrelation {
    let n = residuals.len();
    let count = n as f64;
    let mean = residuals.iter().sum::<f64>() / count.max(1.0);
    let square: f64 = residuals.iter().map(|r| (r - mean) * (r - mean)).sum();
    if n < 4 || square <= 0.0 {
        return Autocorrelation {
            lag_1: 0.0,
            tau: 1.0,
            effective: count,
        };
    }
    let at = |lag: usize| {
        let pairs = residuals.iter().zip(&residuals[lag..]);
        pairs.map(|(a, b)| (a - mean) * (b - mean)).sum::<f64>() / square
    };
    let mut tau = -1.0;
    let mut lag = 0;
    while lag + 1 < n / 2 {
        let pair = if lag == 0 { 1.0 } else { at(lag) } + at(lag + 1);
        if pair <= 0.0 {
            break;
        }
        tau += 2.0 * pair;
        lag += 2;
    }
    let tau = tau.clamp(1.0, count / 2.0);
    Autocorrelation {
        lag_1: at(1),
        tau,
        effective: count / tau,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fits::noise::Noise;

    #[test]
    fn a_process_of_order_one_is_worth_what_its_formula_says() {
        for (rho, tolerance) in [(0.0, 0.15), (0.5, 0.1), (0.9, 0.12)] {
            let noise = Noise::new(7);
            let mut last = 0.0;
            let series: Vec<f64> = (0..40_000)
                .map(|i| {
                    last = rho * last + libm::sqrt(1.0 - rho * rho) * noise.normal("x", i);
                    last
                })
                .collect();
            let found = autocorrelation(&series);
            let wanted = (1.0 + rho) / (1.0 - rho);
            assert!((found.lag_1 - rho).abs() < 0.02, "{found:?}");
            assert!((found.tau / wanted - 1.0).abs() < tolerance, "{rho}: {found:?}");
        }
    }

    #[test]
    fn what_alternates_makes_nothing_surer() {
        let series: Vec<f64> = (0..100).map(|i| if i % 2 == 0 { 1.0 } else { -1.0 }).collect();
        let found = autocorrelation(&series);
        assert!(found.lag_1 < -0.9);
        assert_eq!(found.tau, 1.0);
        assert_eq!(autocorrelation(&[0.0; 50]).effective, 50.0);
    }
}
