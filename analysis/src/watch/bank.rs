//! A bank of fault models: which of them explains the innovations, by how much, and since when.
//!
//! ```text
//! z(t) = a w_mj(t) + white noise                        under fault m since onset j, of severity a
//! A = sum w z / v      B = sum w^2 / v      P = B + 1 / s^2      mu = A / P
//! ll_mj = A^2 / (2 P) - ln(s^2 P) / 2 + ln(2 Phi(mu sqrt P))   (the last for faults that go one way)
//! statistic = ln sum_mj p_mj e^(ll_mj)                  P(m | a fault) = sum_j p_mj e^(ll_mj) / sum of all
//! ```
//!
//! `w_mj` what fault m from onset j on at severity 1 makes of the innovations: the run on the medians with the fault at half severity, less
//! that without, through the instruments and the whitening, doubled; `s` prior deviation of the severity, [`SEVERITY`]; `p` equal over modes and
//! over the onsets so far; `v` how much more than white noise the sum `S^2 = (sum w z)^2 / sum w^2` has in nominal runs, by the age of the
//! onset, at least 1. No units.
//!
//! Source: generalised likelihood ratio of A. S. Willsky and H. L. Jones, IEEE Trans. Autom. Control 21 (1976) 108, with the severity integrated over
//! a normal prior in place of its maximum; `v` as quasi-likelihoods have it (R. W. M. Wedderburn, Biometrika 61 (1974) 439; from memory).
//! Valid as far as a fault's effect is in proportion to its severity and the timeline is near the median one. A probability is among the
//! models of the bank only. Left out: two faults at once; faults that end.

use super::charts::run_length::below;
use super::whiten::Rows;

/// Prior deviation of the severity.
pub const SEVERITY: f64 = 0.5;
/// Ends of the classes of age, in s.
const AGES_S: [f64; 3] = [900.0, 3_600.0, 10_800.0];
/// A likelihood ratio so far below the largest adds nothing.
const NOTHING: f64 = 30.0;

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
    /// By mode and class of age, see above.
    pub excess: Vec<[f64; AGES_S.len() + 1]>,
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

/// Sums of one signature so far.
#[derive(Clone, Copy, Default)]
struct Sums {
    wz: f64,
    ww: f64,
}

impl Bank {
    /// A bank whose excess is not known yet.
    #[must_use]
    pub fn new(both_ways: Vec<bool>, signatures: Vec<Signature>, instruments: usize, step_s: f64) -> Self {
        let modes = both_ways.len();
        Self {
            modes,
            both_ways,
            signatures,
            excess: vec![[1.0; AGES_S.len() + 1]; modes],
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

    /// Adds a row to the sums of all signatures that have begun.
    fn add(&self, z: &[Vec<f64>], row: usize, sums: &mut [Sums]) {
        for (signature, sums) in self.signatures.iter().zip(sums) {
            let Some(from) = row.checked_sub(signature.onset) else {
                continue;
            };
            let at = from * self.instruments;
            let Some(change) = signature.change.get(at..at + self.instruments) else {
                continue;
            };
            for (w, series) in change.iter().zip(z) {
                let z = series[row];
                if z.is_finite() {
                    sums.wz += w * z;
                    sums.ww += w * w;
                }
            }
        }
    }

    /// Learns how much more than white noise nominal innovations hold along each mode.
    pub fn learn(&mut self, nominal: &[Rows]) {
        let mut sum = vec![[[0.0_f64; 2]; AGES_S.len() + 1]; self.modes];
        for z in nominal {
            let mut sums = vec![Sums::default(); self.signatures.len()];
            for row in 0..z.first().map_or(0, Vec::len) {
                self.add(z, row, &mut sums);
                // Neighbouring rows say the same.
                if row % 10 != 0 {
                    continue;
                }
                for (signature, sums) in self.signatures.iter().zip(&sums) {
                    if sums.ww > 0.0 && row > signature.onset {
                        let of = &mut sum[signature.mode][self.age(row - signature.onset)];
                        of[0] += sums.wz * sums.wz / sums.ww;
                        of[1] += 1.0;
                    }
                }
            }
        }
        for (excess, sum) in self.excess.iter_mut().zip(&sum) {
            for (excess, [square, count]) in excess.iter_mut().zip(sum) {
                *excess = (square / f64::max(*count, 1.0)).max(1.0);
            }
        }
    }

    /// Logarithm of the likelihood ratio of a signature, `rows` after its onset.
    fn ratio(&self, signature: &Signature, sums: Sums, rows: usize) -> f64 {
        let v = self.excess[signature.mode][self.age(rows)];
        let precision = sums.ww / v + 1.0 / (SEVERITY * SEVERITY);
        let a = sums.wz / v;
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
        let mut sums = vec![Sums::default(); self.signatures.len()];
        let mut parts = Vec::new();
        for row in 0..rows {
            self.add(z, row, &mut sums);
            let (statistic, shares) = self.weigh(row, &sums, &mut parts);
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
        let mut sums = vec![Sums::default(); self.signatures.len()];
        for row in 0..rows {
            self.add(z, row, &mut sums);
        }
        self.weigh(rows.saturating_sub(1), &sums, &mut Vec::new()).1
    }

    fn weigh(&self, row: usize, sums: &[Sums], parts: &mut Vec<(usize, f64)>) -> (f64, Vec<f64>) {
        let mut shares = vec![0.0; self.modes];
        parts.clear();
        for (signature, &sums) in self.signatures.iter().zip(sums) {
            if row >= signature.onset {
                let ratio = self.ratio(signature, sums, row - signature.onset);
                parts.push((signature.mode, ratio));
            }
        }
        let most = parts.iter().map(|(_, ratio)| *ratio).fold(f64::NEG_INFINITY, f64::max);
        if !most.is_finite() {
            return (0.0, shares);
        }
        for &(mode, ratio) in &*parts {
            if ratio > most - NOTHING {
                shares[mode] += libm::exp(ratio - most);
            }
        }
        let all: f64 = shares.iter().sum();
        shares.iter_mut().for_each(|share| *share /= all);
        (most + libm::log(all / parts.len() as f64), shares)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::noise::Normals;

    /// Two faults: one lifts the first instrument, one ramps both; onsets every 20 rows.
    fn bank() -> Bank {
        let mut signatures = Vec::new();
        for mode in 0..2 {
            for onset in (0..100).step_by(20) {
                let after = |row: usize| row.checked_sub(onset).map_or(0.0, |row| row as f64);
                let rows: Rows = (0..2)
                    .map(|i| {
                        (0..200)
                            .map(|row| match (mode, i) {
                                _ if row < onset => 0.0,
                                (0, 0) => 1.0,
                                (0, _) => 0.0,
                                _ => 0.02 * after(row),
                            })
                            .collect()
                    })
                    .collect();
                signatures.push(Bank::signature(mode, onset, &rows));
            }
        }
        Bank::new(vec![false, true], signatures, 2, 60.0)
    }

    fn noise(run: u64, add: &dyn Fn(usize, usize) -> f64) -> Rows {
        let mut normals = Normals::new(4, "bank", run);
        (0..2)
            .map(|i| (0..200).map(|row| normals.draw() + add(i, row)).collect())
            .collect()
    }

    #[test]
    fn it_names_the_fault_that_is_there_and_is_quiet_without() {
        let bank = bank();
        let lift = |i: usize, row: usize| if i == 0 && row >= 65 { 1.0 } else { 0.0 };
        let ramp = |_: usize, row: usize| if row >= 45 { -0.02 * (row - 45) as f64 } else { 0.0 };
        let mut right = [0; 2];
        for run in 0..40 {
            for (mode, add) in [(0, &lift as &dyn Fn(usize, usize) -> f64), (1, &ramp)] {
                let z = noise(run, add);
                let said = bank.say(&z);
                right[mode] += usize::from(usize::from(said.named[199]) == mode && said.statistic[199] > 3.0);
                let last = bank.posterior(&z, 200);
                assert!((last.iter().sum::<f64>() - 1.0).abs() < 1e-12);
                assert!((last[usize::from(said.named[199])] - f64::from(said.probability[199])).abs() < 1e-6);
            }
        }
        assert!(right.iter().all(|right| *right >= 38), "{right:?}");
        // Of independent residuals the mean likelihood ratio is 1, so it exceeds e^3 in at most 5 % of runs (Markov).
        let loud = (100..300).filter(|&run| bank.say(&noise(run, &|_, _| 0.0)).statistic[199] > 3.0).count();
        assert!(loud <= 18, "{loud}");
    }

    /// One signature, no excess: the statistic against the integral over the severity by quadrature.
    #[test]
    fn the_ratio_is_the_integral_over_the_severity() {
        let rows: Rows = vec![vec![1.5; 10]];
        let signature = Bank::signature(0, 0, &rows);
        let z = vec![(0..10).map(|row| 0.3 * f64::from(row) - 1.0).collect::<Vec<f64>>()];
        for both in [false, true] {
            let bank = Bank::new(vec![both], vec![signature.clone()], 1, 60.0);
            let (mut sum, d) = (0.0, 1e-4);
            let from = if both { -60_000 } else { 0 };
            for k in from..60_000 {
                let a = (f64::from(k) + 0.5) * d;
                let fit: f64 = z[0].iter().map(|z| z * 1.5 * a - 0.5 * (1.5 * a) * (1.5 * a)).sum();
                let prior = libm::exp(-0.5 * (a / SEVERITY).powi(2)) / (SEVERITY * (2.0 * std::f64::consts::PI).sqrt());
                sum += d * prior * if both { 1.0 } else { 2.0 } * libm::exp(fit);
            }
            let said = f64::from(bank.say(&z).statistic[9]);
            assert!((said - libm::log(sum)).abs() < 1e-5, "{both}: {said} {}", libm::log(sum));
        }
    }

    #[test]
    fn what_nominal_runs_hold_more_than_white_noise_is_taken_off() {
        let mut bank = bank();
        let nominal: Vec<Rows> = (0..30).map(|run| noise(run, &|_, _| 0.0)).collect();
        bank.learn(&nominal);
        assert!(bank.excess.iter().flatten().all(|v| (1.0..2.0).contains(v)), "{:?}", bank.excess);
        let walks: Vec<Rows> = (0..30)
            .map(|run| {
                let offset = 2.0 * Normals::new(9, "walk", run).draw();
                noise(run, &|_, _| offset)
            })
            .collect();
        bank.learn(&walks);
        assert!(bank.excess[0][3] > 50.0, "{:?}", bank.excess);
    }
}
