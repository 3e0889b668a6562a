//! A pair of beds over a measured inlet: the engine's law of `sim::removal::swing_bed`, in steps of Runge and Kutta between samples.
//!
//! Between samples the inlet goes in straight lines; a turn falls between two steps. Times are those of the file: at its time 0 the
//! first bed begins to adsorb. A step is at most [`LONGEST_S`] and a fifth of the shorter time constant of the rates.

use breathroom_sim::removal::{PreparedBed, SwingBed};

use super::series::Series;

/// Longest step, s.
const LONGEST_S: f64 = 20.0;

/// What has left the inlet's CO2 and water at each time of a series, Pa at the inlet's volume.
#[must_use]
pub fn taken_pa(bed: &SwingBed, series: &Series) -> [Vec<f64>; 2] {
    let prepared = bed.prepared();
    let fastest = bed.rate_1_s[0].max(bed.rate_1_s[1]);
    let longest = LONGEST_S.min(0.2 / fastest.max(1e-12));
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
                    run.step(turn.max(0.0) as u64, h, &inlets);
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
}
