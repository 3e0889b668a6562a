//! How gas exchange and vapour follow a change of effort.
//!
//! ```text
//! gas      x(t) = target + (x(0) - target) e^(-t / tau)
//! vapour   v(t) = target - sum over j of w_j (target - s_j) e^(-t / tau_j)
//! ```
//!
//! `x`: oxygen use or CO2 output, mol/s; `tau`: its time constant, s; `v`: vapour output, mol/s; `s_j`: the two parts'
//! states at the change, mol/s; `w_j`: their weights; `tau_j`: their time constants, s. The states belong to the
//! person and go with them.
//!
//! Sources: gas, 60 s, the upper end of the time constants of oxygen uptake at the onset of exercise (phase 2, 20 to
//! 60 s: Whipp and Wasserman, J. Appl. Physiol. 33, 351 (1972), from memory). Vapour: read off the recovery rows of
//! the NASA activity table (83.83, 40.29, 27.44, 20.40 in quarters of an hour, tending to 11.77, in 1e-4 kg/min): the
//! last three fall by 0.55 a quarter of an hour, which is a time constant of 25 min, and what the first has above that
//! is half of the whole at a time constant of 5 min.
//!
//! Range: the vapour's lag is for efforts given by power: tabulated stages contain theirs and get none on top. The gas
//! lag is for all.
//!
//! Left out: the dead time of sweating at the onset of exercise (1.5 to 3 min), which makes the true rise later than
//! this one.

/// Time constants of the vapour's two parts, s. Derived as the module's header says; an assumption for onsets.
pub const SWEAT_TAU_S: [f64; 2] = [300.0, 1500.0];

/// Weights of the vapour's two parts. Derived as the module's header says; an assumption for onsets.
pub const SWEAT_WEIGHTS: [f64; 2] = [0.5, 0.5];

/// Default time constant of oxygen use and CO2 output, s (phase 2 of uptake kinetics, upper end, from memory).
pub const GAS_LAG_S: f64 = 60.0;

/// The vapour output, mol/s, a time (s) after a change to `target_mol_s` from the states `states_mol_s`.
#[must_use]
pub fn vapour_after(target_mol_s: f64, states_mol_s: [f64; 2], after_s: f64) -> f64 {
    let mut value = target_mol_s;
    for j in 0..2 {
        value -= SWEAT_WEIGHTS[j] * (target_mol_s - states_mol_s[j]) * libm::exp(-after_s / SWEAT_TAU_S[j]);
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_are_a_whole() {
        assert!((SWEAT_WEIGHTS.iter().sum::<f64>() - 1.0).abs() < 1e-15);
    }

    #[test]
    fn it_reproduces_the_recovery_rows() {
        // Means over quarters of an hour of an excess that decays from one value, in 1e-4 kg/min (NASA SP-2010-3407,
        // from memory). The value at the end of exercise is not in the table: the one that fits best.
        let at_the_end = 133.0;
        for (quarter, row) in [83.83, 40.29, 27.44, 20.40].into_iter().enumerate() {
            let start_s = 900.0 * quarter as f64;
            let steps = 900;
            let mut mean = 0.0;
            for k in 0..steps {
                let after_s = start_s + (f64::from(k) + 0.5) * 900.0 / f64::from(steps);
                mean += vapour_after(11.77, [11.77 + at_the_end; 2], after_s) / f64::from(steps);
            }
            assert!(
                (mean / row - 1.0).abs() < 0.03,
                "quarter {quarter}: {mean} against {row}"
            );
        }
    }

    #[test]
    fn it_starts_where_it_was_and_ends_at_the_target() {
        assert!((vapour_after(5.0, [1.0, 2.0], 0.0) - 1.5).abs() < 1e-15);
        assert!((vapour_after(5.0, [1.0, 2.0], 1e6) - 5.0).abs() < 1e-15);
    }
}
