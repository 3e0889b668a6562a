//! A bank of fault models: which of them explains the innovations, by how much, and since when.
//!
//! ```text
//! z(t) = a w_mj(t) + white noise                        under fault m since onset j, of severity a
//! A = sum_i (sum w z) / v_i      B = sum_i (sum w^2) / v_i      P = B + 1 / s^2      mu = A / P
//! ll_mj = A^2 / (2 P) - ln(s^2 P) / 2 + ln(2 Phi(mu sqrt P))   (the last for faults that go one way)
//! statistic = ln sum_mj p_mj e^(ll_mj)                  P(m | a fault) = sum_j p_mj e^(ll_mj) / sum of all
//! ```
//!
//! Onsets are of two kinds. A few over the run are followed to its end. A fault that shows at once (a step of a sensor or of a flow is nearly all
//! in one innovation) is tried from every row as well, with the signature of the nearest of the few, for its first [`FRESH`] rows; what it has
//! gathered by then it keeps.
//!
//! `w_mj` what fault m from onset j on at severity 1 makes of the innovations: the run on the medians with the fault at half severity, less
//! that without, through the instruments and the whitening, doubled; `s` prior deviation of the severity, [`SEVERITY`]; `p` equal over modes, over both
//! kinds of onset and over the onsets so far of each; `v_i` how much more than white noise the sums of instrument i, `S^2 = (sum w z)^2 / sum w^2`, have in nominal runs,
//! by the mode and the age of the onset, at least 1: what nominal runs do to one instrument takes no weight from the others. No units.
//!
//! Source: generalised likelihood ratio of A. S. Willsky and H. L. Jones, IEEE Trans. Autom. Control 21 (1976) 108, with the severity integrated over
//! a normal prior in place of its maximum; `v` as quasi-likelihoods have it (R. W. M. Wedderburn, Biometrika 61 (1974) 439; from memory).
//! Valid as far as a fault's effect is in proportion to its severity and the timeline is near the median one. A probability is among the
//! models of the bank only. Left out: two faults at once; faults that end.

use std::collections::VecDeque;

use super::charts::run_length::below;
use super::whiten::Rows;

/// Prior deviation of the severity.
pub const SEVERITY: f64 = 0.5;
/// Rows for which an onset at any row is followed.
pub const FRESH: usize = 30;
/// A mode of which so much of the information lies in its first [`FRESH`] rows shows at once.
const SHARP: f64 = 0.1;
/// Ends of the classes of age, in s.
const AGES_S: [f64; 3] = [900.0, 3_600.0, 10_800.0];

/// A fault from an onset on.
#[derive(Clone, Debug, PartialEq)]
pub struct Signature {
    /// Index of its mode in the bank.
    pub mode: usize,
    /// First row.
    pub onset: usize,
    /// Row by row from the onset: what severity 1 adds to each instrument's innovation.
    pub change: Vec<f64>,
}

/// Fault models.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bank {
    /// How many modes it knows.
    pub modes: usize,
    /// Modes that may go both ways.
    pub both_ways: Vec<bool>,
    /// By mode and onset.
    pub signatures: Vec<Signature>,
    /// By mode; in each by class of age and instrument, see above.
    pub excess: Vec<Vec<f64>>,
    /// Modes that are tried from every row: their signatures by index, in order of onset.
    sharp: Vec<(usize, Vec<usize>)>,
    instruments: usize,
    step_s: f64,
}

/// What the bank says, row by row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    /// Logarithm of how much likelier some fault is than none.
    pub statistic: Vec<f32>,
    /// The likeliest mode.
    pub named: Vec<u8>,
    /// Its probability, if there is a fault.
    pub probability: Vec<f32>,
}

/// Sums of one signature so far, by instrument: of w z and of w w.
type Sums = [[f64; 2]];

fn add(sums: &mut Sums, change: &[f64], z: &[Vec<f64>], row: usize) {
    for ((w, series), sums) in change.iter().zip(z).zip(sums) {
        let z = series[row];
        if z.is_finite() {
            sums[0] += w * z;
            sums[1] += w * w;
        }
    }
}

/// A sum of exponentials, as its largest and the rest relative to that.
#[derive(Clone, Copy)]
struct LogSum {
    most: f64,
    sum: f64,
}

impl LogSum {
    const NOTHING: Self = Self {
        most: f64::NEG_INFINITY,
        sum: 0.0,
    };

    fn add(&mut self, log: f64) {
        if log > self.most {
            self.sum = self.sum * libm::exp(self.most - log) + 1.0;
            self.most = log;
        } else if log > self.most - 40.0 {
            self.sum += libm::exp(log - self.most);
        }
    }

    fn log(self) -> f64 {
        if self.sum > 0.0 {
            self.most + libm::log(self.sum)
        } else {
            f64::NEG_INFINITY
        }
    }
}

/// An onset at some row of late.
struct Fresh {
    onset: usize,
    /// Index of the signature that it is tried with.
    signature: usize,
    sums: Vec<[f64; 2]>,
}

/// Where the bank has got to in a run.
struct State {
    /// Signature by signature.
    sums: Vec<[f64; 2]>,
    /// By sharp mode, the onsets of the last rows, oldest first.
    fresh: Vec<VecDeque<Fresh>>,
    /// By sharp mode, what older onsets have gathered.
    kept: Vec<LogSum>,
}

impl Bank {
    /// A bank whose excess is not known yet.
    #[must_use]
    pub fn new(both_ways: Vec<bool>, signatures: Vec<Signature>, instruments: usize, step_s: f64) -> Self {
        let modes = both_ways.len();
        let squares = |signature: &Signature, rows: usize| -> f64 {
            signature.change.iter().take(rows * instruments).map(|w| w * w).sum()
        };
        let mut sharp = Vec::new();
        for mode in 0..modes {
            let own: Vec<usize> = (0..signatures.len())
                .filter(|&at| signatures[at].mode == mode)
                .collect();
            let all = |rows: usize| own.iter().map(|&at| squares(&signatures[at], rows)).sum::<f64>();
            if all(FRESH) > SHARP * all(usize::MAX / instruments.max(1)) {
                sharp.push((mode, own));
            }
        }
        Self {
            modes,
            both_ways,
            signatures,
            excess: vec![vec![1.0; (AGES_S.len() + 1) * instruments]; modes],
            sharp,
            instruments,
            step_s,
        }
    }

    /// A signature from innovations row by row.
    #[must_use]
    pub fn signature(mode: usize, onset: usize, rows: &Rows) -> Signature {
        let length = rows.first().map_or(0, Vec::len);
        let change = (onset..length).flat_map(|row| rows.iter().map(move |series| series[row]));
        Signature {
            mode,
            onset,
            change: change.collect(),
        }
    }

    fn age(&self, rows: usize) -> usize {
        let s = rows as f64 * self.step_s;
        AGES_S.iter().filter(|&&end| s > end).count()
    }

    fn start(&self) -> State {
        State {
            sums: vec![[0.0; 2]; self.signatures.len() * self.instruments],
            fresh: self.sharp.iter().map(|_| VecDeque::new()).collect(),
            kept: vec![LogSum::NOTHING; self.sharp.len()],
        }
    }

    /// Adds a row to the sums of all signatures that have begun.
    fn add(&self, z: &[Vec<f64>], row: usize, state: &mut State) {
        self.add_few(z, row, &mut state.sums);
        for (index, (_, own)) in self.sharp.iter().enumerate() {
            let fresh = &mut state.fresh[index];
            if fresh.len() == FRESH
                && let Some(old) = fresh.pop_front()
            {
                state.kept[index].add(self.ratio(&self.signatures[old.signature], &old.sums, FRESH));
            }
            fresh.push_back(Fresh {
                onset: row,
                signature: self.nearest(own, row),
                sums: vec![[0.0; 2]; self.instruments],
            });
            for one in fresh {
                if let Some(change) = self.change(&self.signatures[one.signature], row - one.onset) {
                    add(&mut one.sums, change, z, row);
                }
            }
        }
    }

    /// The same of those that are followed to the end alone.
    fn add_few(&self, z: &[Vec<f64>], row: usize, sums: &mut [[f64; 2]]) {
        for (signature, sums) in self
            .signatures
            .iter()
            .zip(sums.chunks_exact_mut(self.instruments.max(1)))
        {
            if let Some(change) = row
                .checked_sub(signature.onset)
                .and_then(|age| self.change(signature, age))
            {
                add(sums, change, z, row);
            }
        }
    }

    /// Of the signatures of a mode that with the nearest onset.
    fn nearest(&self, own: &[usize], onset: usize) -> usize {
        let after = own
            .partition_point(|&at| self.signatures[at].onset < onset)
            .min(own.len() - 1);
        let before = after.saturating_sub(1);
        let apart = |place: usize| self.signatures[own[place]].onset.abs_diff(onset);
        if apart(before) <= apart(after) {
            own[before]
        } else {
            own[after]
        }
    }

    fn change<'s>(&self, signature: &'s Signature, age: usize) -> Option<&'s [f64]> {
        let at = age * self.instruments;
        signature.change.get(at..at + self.instruments)
    }

    /// Learns how much more than white noise nominal innovations hold along each mode.
    pub fn learn(&mut self, nominal: &[Rows]) {
        let mut sum = vec![vec![[0.0_f64; 2]; (AGES_S.len() + 1) * self.instruments]; self.modes];
        for z in nominal {
            let mut sums = self.start().sums;
            for row in 0..z.first().map_or(0, Vec::len) {
                self.add_few(z, row, &mut sums);
                // Neighbouring rows say the same.
                if row % 10 != 0 {
                    continue;
                }
                for (signature, sums) in self.signatures.iter().zip(sums.chunks_exact(self.instruments.max(1))) {
                    let Some(age) = row.checked_sub(signature.onset) else {
                        continue;
                    };
                    let class = self.age(age) * self.instruments;
                    for (i, [wz, ww]) in sums.iter().enumerate() {
                        if *ww > 0.0 {
                            let of = &mut sum[signature.mode][class + i];
                            of[0] += wz * wz / ww;
                            of[1] += 1.0;
                        }
                    }
                }
            }
        }
        for (excess, [square, count]) in self.excess.iter_mut().flatten().zip(sum.iter().flatten()) {
            *excess = (square / f64::max(*count, 1.0)).max(1.0);
        }
    }

    /// Logarithm of the likelihood ratio of a signature, `rows` after its onset.
    fn ratio(&self, signature: &Signature, sums: &Sums, rows: usize) -> f64 {
        let class = self.age(rows) * self.instruments;
        let excess = &self.excess[signature.mode][class..class + self.instruments];
        let (mut a, mut precision) = (0.0, 1.0 / (SEVERITY * SEVERITY));
        for ([wz, ww], v) in sums.iter().zip(excess) {
            a += wz / v;
            precision += ww / v;
        }
        let both = 0.5 * a * a / precision - 0.5 * libm::log(SEVERITY * SEVERITY * precision);
        if self.both_ways[signature.mode] {
            both
        } else {
            let share = below(a / precision.sqrt()).max(1e-300);
            both + libm::log(2.0 * share)
        }
    }

    /// What it says of innovations, row by row.
    #[must_use]
    pub fn say(&self, z: &[Vec<f64>]) -> Said {
        let rows = z.first().map_or(0, Vec::len);
        let mut said = Said::default();
        let mut state = self.start();
        for row in 0..rows {
            self.add(z, row, &mut state);
            let (statistic, shares) = self.weigh(row, &state);
            let best = (0..self.modes).max_by(|&a, &b| shares[a].total_cmp(&shares[b]).then(b.cmp(&a)));
            said.statistic.push(statistic as f32);
            said.named.push(best.unwrap_or(0) as u8);
            said.probability.push(best.map_or(0.0, |best| shares[best] as f32));
        }
        said
    }

    /// The probability of each mode, if there is a fault, after the last of so many rows.
    #[must_use]
    pub fn posterior(&self, z: &[Vec<f64>], rows: usize) -> Vec<f64> {
        let mut state = self.start();
        for row in 0..rows {
            self.add(z, row, &mut state);
        }
        self.weigh(rows.saturating_sub(1), &state).1
    }

    /// The statistic after a row, and each mode's share of it.
    fn weigh(&self, row: usize, state: &State) -> (f64, Vec<f64>) {
        let mut begun = vec![0.0_f64; self.modes];
        let mut few = vec![LogSum::NOTHING; self.modes];
        let all_sums = state.sums.chunks_exact(self.instruments.max(1));
        for (signature, sums) in self.signatures.iter().zip(all_sums) {
            if row >= signature.onset {
                begun[signature.mode] += 1.0;
                few[signature.mode].add(self.ratio(signature, sums, row - signature.onset));
            }
        }
        let mut logs: Vec<f64> = few
            .iter()
            .zip(&begun)
            .map(|(sum, begun)| sum.log() - libm::log(begun.max(1.0)))
            .collect();
        for (index, (mode, _)) in self.sharp.iter().enumerate() {
            let mut all = state.kept[index];
            for one in &state.fresh[index] {
                all.add(self.ratio(&self.signatures[one.signature], &one.sums, row - one.onset));
            }
            // Half of the mode's weight is for each kind of onset.
            let mut both = LogSum::NOTHING;
            both.add(logs[*mode]);
            both.add(all.log() - libm::log(row as f64 + 1.0));
            logs[*mode] = both.log() - std::f64::consts::LN_2;
        }
        let mut all = LogSum::NOTHING;
        for &log in &logs {
            if log > f64::NEG_INFINITY {
                all.add(log);
            }
        }
        let total = all.log();
        if total == f64::NEG_INFINITY {
            return (0.0, vec![0.0; self.modes]);
        }
        let shares = logs.iter().map(|log| libm::exp(log - total)).collect();
        (total - libm::log(self.modes as f64), shares)
    }
}

#[cfg(test)]
#[path = "bank_tests.rs"]
mod tests;
