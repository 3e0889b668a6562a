//! A pair of beds over a measured inlet: the engine's law of `sim::removal::swing_bed`, integrated between samples.
//!
//! ```text
//! h k <= 1/5     Runge and Kutta, order 4
//! else           q(t + h) = q + h f (1 - e^-z) / z,   z = -h df/dq        (exponential Euler of Rosenbrock's kind, order 2)
//! ```
//!
//! `q` loading of a bed with a species, mol/kg, `f` its rate, mol/kg/s; `k` the larger rate of approach, 1/s; `h` step, s: at most `LONGEST_S`
//! and a fifth of `1/k`, but no shorter than `SHORTEST_S`. A search tries rates that no bed has: the second form takes them without
//! ever shorter steps. Between samples the inlet goes in straight lines; a turn falls between two steps. Times are those of the file:
//! at its time 0 the first bed begins to adsorb.
//!
//! Source of the second form: D. A. Pope, Commun. ACM 6, 491 (1963) (from memory).

use breathroom_sim::removal::{PreparedBed, SwingBed};

use super::series::Series;

/// Longest step, s.
const LONGEST_S: f64 = 20.0;
/// Shortest step of Runge and Kutta's method, and all steps of the other, s.
const SHORTEST_S: f64 = 4.0;

/// What has left the inlet's CO2 and water at each time of a series, Pa at the inlet's volume.
#[must_use]
pub fn taken_pa(bed: &SwingBed, series: &Series) -> [Vec<f64>; 2] {
    let prepared = bed.prepared();
    let fastest = bed.rate_1_s[0].max(bed.rate_1_s[1]);
    let wanted = 0.2 / fastest.max(1e-12);
    let (longest, is_stiff) = (wanted.clamp(SHORTEST_S, LONGEST_S), wanted < SHORTEST_S);
    let half = bed.half_cycle.seconds();
    let [c0, c1, w0, w1] = bed.loaded_mol_kg;
    let mut run = Run {
        bed,
        prepared,
        held: [[c0, w0], [c1, w1]],
    };
    let mut taken = [Vec::with_capacity(series.len()), Vec::with_capacity(series.len())];
    for row in 0..series.len() {
        if row > 0 {
            let (from, to) = (series.time_s[row - 1], series.time_s[row]);
            let mut at = from;
            while at < to {
                let turn = libm::floor(at / half * (1.0 + 1e-12) + 1e-9);
                let next_turn = (turn + 1.0) * half;
                let end = to.min(next_turn.max(at + 1e-6));
                let steps = libm::ceil((end - at) / longest).max(1.0);
                let h = (end - at) / steps;
                for step in 0..steps as u64 {
                    let share = |t: f64| (t - from) / (to - from);
                    let t = at + h * step as f64;
                    let inlets = [t, t + h / 2.0, t + h].map(|t| series.inlet_between(row - 1, share(t)));
                    if is_stiff {
                        run.stiff_step(turn.max(0.0) as u64, h, &inlets[1]);
                    } else {
                        run.step(turn.max(0.0) as u64, h, &inlets);
                    }
                }
                at = end;
            }
        }
        let inlet = series.inlet_between(row, 0.0);
        let turn = libm::floor(series.time_s[row] / half * (1.0 + 1e-12) + 1e-9).max(0.0) as u64;
        let uptake = run.uptake(turn, &inlet, &run.held);
        for (list, uptake) in taken.iter_mut().zip(uptake) {
            list.push(if inlet.per_pa > 0.0 { uptake / inlet.per_pa } else { 0.0 });
        }
    }
    taken
}

/// The inlet at an instant.
#[derive(Clone, Copy, Debug)]
pub struct Inlet {
    /// `Q / (R T)`, mol/s/Pa.
    pub per_pa: f64,
    /// CO2 and water, Pa.
    pub partial_pa: [f64; 2],
}

struct Run<'a> {
    bed: &'a SwingBed,
    prepared: PreparedBed,
    /// CO2 and water of both beds, mol/kg.
    held: [[f64; 2]; 2],
}

impl Run<'_> {
    fn uptake(&self, turn: u64, inlet: &Inlet, held: &[[f64; 2]; 2]) -> [f64; 2] {
        match self.bed.at_turn(turn).adsorbs {
            Some(bed) => self.prepared.uptake_mol_s(inlet.per_pa, inlet.partial_pa, held[bed]),
            None => [0.0; 2],
        }
    }

    fn slope(&self, turn: u64, inlet: &Inlet, held: &[[f64; 2]; 2]) -> [[f64; 2]; 2] {
        let mut slope = [[0.0; 2]; 2];
        let beds = self.bed.at_turn(turn);
        if let Some(bed) = beds.adsorbs {
            slope[bed] = self.uptake(turn, inlet, held).map(|rate| rate / self.bed.bed_kg);
        }
        if let Some(bed) = beds.desorbs {
            slope[bed] = self
                .prepared
                .release_mol_s(held[bed])
                .map(|rate| -rate / self.bed.bed_kg);
        }
        slope
    }

    fn step(&mut self, turn: u64, h: f64, inlets: &[Inlet; 3]) {
        let ahead = |from: &[[f64; 2]; 2], slope: &[[f64; 2]; 2], h: f64| {
            let mut to = *from;
            for bed in 0..2 {
                for of in 0..2 {
                    to[bed][of] += h * slope[bed][of];
                }
            }
            to
        };
        let from = self.held;
        let k1 = self.slope(turn, &inlets[0], &from);
        let k2 = self.slope(turn, &inlets[1], &ahead(&from, &k1, h / 2.0));
        let k3 = self.slope(turn, &inlets[1], &ahead(&from, &k2, h / 2.0));
        let k4 = self.slope(turn, &inlets[2], &ahead(&from, &k3, h));
        for bed in 0..2 {
            for of in 0..2 {
                self.held[bed][of] += h / 6.0 * (k1[bed][of] + 2.0 * (k2[bed][of] + k3[bed][of]) + k4[bed][of]);
            }
        }
    }

    fn stiff_step(&mut self, turn: u64, h: f64, inlet: &Inlet) {
        let rate = self.slope(turn, inlet, &self.held);
        for of in 0..2 {
            let mut moved = self.held;
            let by = moved.map(|held| 1e-6 * (1.0 + held[of].abs()));
            for bed in 0..2 {
                moved[bed][of] += by[bed];
            }
            let other = self.slope(turn, inlet, &moved);
            for bed in 0..2 {
                let z = (-h * (other[bed][of] - rate[bed][of]) / by[bed]).max(0.0);
                let part = if z > 1e-9 { -libm::expm1(-z) / z } else { 1.0 };
                self.held[bed][of] += h * part * rate[bed][of];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use breathroom_sim::removal::{Isotherm, Valves};
    use breathroom_sim::units::Time;

    use super::*;

    fn beds(rate_1_s: f64) -> SwingBed {
        SwingBed {
            flow_m3_s: 0.02,
            bed_kg: 1.4,
            bed_k: 295.0,
            co2: Isotherm::Langmuir {
                most_mol_kg: 2.0,
                half_pa: 600.0,
            },
            water: Isotherm::Linear { slope_mol_kg_pa: 6e-4 },
            competition_kg_mol: 0.0,
            rate_1_s: [rate_1_s; 2],
            desorb_pa: [6.0, 30.0],
            half_cycle: Time::from_seconds(390.0),
            lost_m3: 0.0,
            loaded_mol_kg: [0.0; 4],
            valves: Valves::Turning,
        }
    }

    fn series(step_s: f64, rows: usize) -> Series {
        Series {
            time_s: (0..rows).map(|row| step_s * row as f64).collect(),
            inlet_pa: [Some(vec![300.0; rows]), Some(vec![900.0; rows])],
            flow_m3_s: Some(vec![0.02; rows]),
            temperature_k: Some(vec![295.0; rows]),
            ..Series::default()
        }
    }

    /// Steps follow samples where these are closer: the answer must not depend on them, slow beds and fast ones.
    #[test]
    fn the_answer_does_not_depend_on_the_steps() {
        for (rate, tolerance) in [(0.005, 1e-6), (0.03, 1e-6), (0.2, 3e-3), (1.0, 3e-3)] {
            let fine = taken_pa(&beds(rate), &series(0.5, 3601));
            let coarse = taken_pa(&beds(rate), &series(60.0, 31));
            for of in 0..2 {
                for row in 0..31 {
                    let (a, b) = (coarse[of][row], fine[of][row * 120]);
                    assert!((a - b).abs() < tolerance * 300.0, "{rate} {of} {row}: {a} {b}");
                }
            }
        }
    }

    /// The periodic working capacity in closed form, at a constant inlet and an isotherm that is a line: `dq = (qa - qd) (1 - e^-a)
    /// (1 - e^-d) / (1 - e^-(a + d))`, with a flow so large that the gas around the bed is the inlet.
    #[test]
    fn a_pair_of_beds_comes_to_its_periodic_working_capacity() {
        let mut pair = beds(1.0 / 390.0);
        pair.co2 = Isotherm::Linear { slope_mol_kg_pa: 1e-3 };
        let mut test = series(5.0, 2400);
        test.flow_m3_s = Some(vec![5e5; 2400]);
        let taken = taken_pa(&pair, &test);
        // The first sample after 30 turns: a bed that has desorbed to `low`, `low - qd = (low + swing - qd) e^-1`.
        let from = 30 * 78;
        let (qa, qd, kept) = (0.3, 0.006, libm::exp(-1.0));
        let swing = (qa - qd) * 0.462_117;
        let low = qd + swing * kept / (1.0 - kept);
        let first = taken[0][from] * test.per_pa(0);
        let wanted = (qa - low) / 390.0 * pair.bed_kg;
        assert!((first / wanted - 1.0).abs() < 1e-5, "{first} {wanted}");
    }
}
