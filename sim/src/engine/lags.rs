//! What dying sources have lost: `e^(-mu t) - 1`, worked out once for all species that share a rate.

use super::indices::LAGS;
use super::system::Dying;

/// What each dying source of each breathed species has lost at an instant, as a share of what it was: from 0 down to -1.
pub(crate) type Lost = [[f64; LAGS]; 3];

/// Which dying sources share a rate.
#[derive(Clone, Debug)]
pub(crate) struct Lags {
    count: usize,
    /// Distinct rates, 1/s.
    mu: [f64; 3 * LAGS],
    used: [usize; 3],
    /// Which of the distinct rates each source has.
    place: [[usize; LAGS]; 3],
}

impl Default for Lags {
    fn default() -> Self {
        Self {
            count: 0,
            mu: [0.0; 3 * LAGS],
            used: [0; 3],
            place: [[0; LAGS]; 3],
        }
    }
}

impl Lags {
    /// Takes up the sources of a segment.
    pub fn set(&mut self, dying: &[Dying; 3]) {
        self.count = 0;
        for (i, dying) in dying.iter().enumerate() {
            self.used[i] = dying.count.min(LAGS);
            for l in 0..self.used[i] {
                let mu = dying.mu[l];
                let known = self.mu[..self.count].iter().position(|&other| other == mu);
                self.place[i][l] = known.unwrap_or_else(|| {
                    self.mu[self.count] = mu;
                    self.count += 1;
                    self.count - 1
                });
            }
        }
    }

    /// Writes what they have lost at instants `t`, s; the places of sources that are not there stay as they are.
    pub fn lost<const L: usize>(&self, t: &[f64; L], out: &mut [Lost; L]) {
        let mut distinct = [0.0; 3 * LAGS];
        for (t, out) in t.iter().zip(out) {
            for (lost, mu) in distinct[..self.count].iter_mut().zip(&self.mu) {
                *lost = libm::expm1(-mu * t);
            }
            for i in 0..3 {
                for l in 0..self.used[i] {
                    out[i][l] = distinct[self.place[i][l]];
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_source_loses_at_its_own_rate() {
        let mut dying = [Dying::default(); 3];
        for (i, mu, amount) in [
            (0, 0.1, 1.0),
            (0, 0.02, 2.0),
            (1, 0.02, 3.0),
            (2, 0.3, 4.0),
            (2, 0.1, 5.0),
        ] {
            dying[i].add(mu, 0, amount);
        }
        let mut lags = Lags::default();
        lags.set(&dying);
        assert_eq!(lags.count, 3);
        let mut lost = [Lost::default()];
        lags.lost(&[7.0], &mut lost);
        for i in 0..3 {
            for l in 0..dying[i].count {
                assert_eq!(lost[0][i][l], libm::expm1(-7.0 * dying[i].mu[l]), "{i} {l}");
            }
        }
    }
}
