//! What a pair of beds takes on the mean, once its turns repeat, from air that does not change.
//!
//! ```text
//! mean = m (q_high - q_low) / (half-cycle)
//! ```
//!
//! `q_low` and `q_high` loadings at the beginning and the end of a bed's adsorption, mol/kg, found by going through cycle after cycle
//! from clean beds. For tables that people read, good to three figures: the engine integrates its own way.
//!
//! Source: P. Bogacki and L. F. Shampine, Appl. Math. Lett. 2, 321 (1989), steps of third order with an error of second, from memory.
//! Valid for beds that turn. Beds of which one is shut off take half as much; a bed that adsorbs for ever takes nothing in the end.

use super::swing_bed::{SwingBed, Valves};

/// Error of a step against the loading, and a floor in mol/kg.
const RELATIVE: f64 = 1e-5;
const FLOOR_MOL_KG: f64 = 1e-7;
/// A swing that changes by less than this part from cycle to cycle repeats.
const REPEATS: f64 = 1e-5;
/// Cycles after which what is there is taken as it is.
const MOST_CYCLES: usize = 4000;
/// A bed whose loading would change by less than this part in the time that is left has arrived.
const ARRIVED: f64 = 1e-5;
/// First step times the faster rate.
const FIRST_STEP: f64 = 0.02;
/// Steps of one half-cycle at most.
const MOST_STEPS: usize = 20_000;

impl SwingBed {
    /// CO2 and water taken on the mean from an inlet that does not change, mol/s, once the turns repeat.
    ///
    /// `per_pa` is `Q / (R T)` in mol/s/Pa, `p_in` the inlet's partial pressures in Pa.
    #[must_use]
    pub fn mean_uptake_mol_s(&self, per_pa: f64, p_in: [f64; 2]) -> [f64; 2] {
        let part = match self.valves {
            Valves::Turning => 1.0,
            Valves::Isolated(_) => 0.5,
            Valves::Stuck(_) => return [0.0, 0.0],
        };
        let bed = self.prepared();
        let time_s = self.half_cycle.seconds();
        let adsorbs = |q: [f64; 2]| bed.uptake_mol_s(per_pa, p_in, q).map(|u| u / self.bed_kg);
        let desorbs = |q: [f64; 2]| bed.release_mol_s(q).map(|u| -u / self.bed_kg);
        // Rates only fall from those of the driving force, so that this is short. At `h` of just one over a rate the error estimated
        // vanishes, which a first step must not meet.
        let first_s = FIRST_STEP / self.rate_1_s[0].max(self.rate_1_s[1]);
        let (mut low, mut swing) = ([0.0; 2], [f64::INFINITY; 2]);
        for _ in 0..MOST_CYCLES {
            let high = after(low, time_s, first_s, adsorbs);
            let next = after(high, time_s, first_s, desorbs);
            let now = [high[0] - low[0], high[1] - low[1]];
            let settled = (0..2).all(|n| {
                (now[n] - swing[n]).abs() <= REPEATS * now[n].abs()
                    && (next[n] - low[n]).abs() <= REPEATS * high[n].abs()
            });
            (low, swing) = (next, now);
            if settled {
                break;
            }
        }
        swing.map(|dq| part * dq * self.bed_kg / time_s)
    }
}

/// Loadings after a time, from a first step of this length.
fn after(mut q: [f64; 2], time_s: f64, first_s: f64, rate: impl Fn([f64; 2]) -> [f64; 2]) -> [f64; 2] {
    let along = |q: [f64; 2], h: f64, k: [f64; 2]| [q[0] + h * k[0], q[1] + h * k[1]];
    let mut left = time_s;
    let mut k1 = rate(q);
    let mut h = first_s;
    for _ in 0..MOST_STEPS {
        if left <= 0.0 || (0..2).all(|n| k1[n].abs() * left <= ARRIVED * (q[n].abs() + FLOOR_MOL_KG)) {
            break;
        }
        h = h.min(left);
        let k2 = rate(along(q, 0.5 * h, k1));
        let k3 = rate(along(q, 0.75 * h, k2));
        let end = [0, 1].map(|n| q[n] + h / 9.0 * (2.0 * k1[n] + 3.0 * k2[n] + 4.0 * k3[n]));
        let k4 = rate(end);
        let error = [0, 1].map(|n| h / 72.0 * (-5.0 * k1[n] + 6.0 * k2[n] + 8.0 * k3[n] - 9.0 * k4[n]));
        let worst = (0..2)
            .map(|n| error[n].abs() / (RELATIVE * q[n].abs().max(end[n].abs()) + FLOOR_MOL_KG))
            .fold(0.0, f64::max);
        if worst <= 1.0 {
            left -= h;
            q = end;
            k1 = k4;
        }
        h *= (0.9 / libm::cbrt(worst.max(1e-6))).clamp(0.2, 5.0);
    }
    q
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::removal::Isotherm;
    use crate::units::Time;

    fn linear(rate_1_s: f64, half_s: f64, valves: Valves) -> SwingBed {
        let line = Isotherm::Linear { slope_mol_kg_pa: 0.003 };
        SwingBed {
            flow_m3_s: 0.01,
            bed_kg: 8.0,
            bed_k: 295.0,
            co2: line,
            water: line,
            competition_kg_mol: 0.0,
            rate_1_s: [rate_1_s; 2],
            desorb_pa: [0.0; 2],
            half_cycle: Time::from_seconds(half_s),
            lost_m3: 0.0,
            loaded_mol_kg: [0.0; 4],
            valves,
        }
    }

    /// Derived: a linear driving force at a constant inlet swings by q* (1 - e^-a)^2 / (1 - e^-2a) with plenty of flow.
    #[test]
    fn the_mean_is_that_of_the_closed_form() {
        for (rate, half_s) in [(0.002, 500.0), (0.002, 20.0), (1.0, 3600.0), (1e-5, 600.0)] {
            let taken = linear(rate, half_s, Valves::Turning).mean_uptake_mol_s(1e3, [400.0, 0.0]);
            let a: f64 = rate * half_s;
            let expected = 0.003 * 400.0 * 8.0 / half_s * (0.5 * a).tanh();
            assert!(
                (taken[0] / expected - 1.0).abs() < 2e-3,
                "{rate} {half_s}: {} {expected}",
                taken[0]
            );
            assert_eq!(taken[1], 0.0);
        }
    }

    #[test]
    fn valves_halve_it_or_end_it() {
        let mean = |valves| linear(0.002, 500.0, valves).mean_uptake_mol_s(1e-5, [400.0, 900.0]);
        let whole = mean(Valves::Turning);
        assert_eq!(mean(Valves::Isolated(1)), whole.map(|u| 0.5 * u));
        assert_eq!(mean(Valves::Stuck(0)), [0.0, 0.0]);
    }
}
