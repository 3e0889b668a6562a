//! What people give off at an instant, what faults have made of numbers by then, and the gas around beds: kept for when it is
//! asked for again.

use crate::air::MOST;
use crate::removal::LastGas;

use super::parts::{Taker, TakerLaw};
use super::plumbing::Plumbing;

/// What is kept of the last few instants looked at: the nodes of a step are looked at again and again.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sources {
    known: Vec<Known>,
    oldest: usize,
    now: usize,
}

/// One instant.
#[derive(Clone, Debug)]
struct Known {
    t_s: f64,
    /// What people give off and take, `[species][compartment]`, mol/s.
    people: [[f64; MOST]; 3],
    /// By tap of the beds: the gas around them.
    gas: Vec<(usize, LastGas)>,
    /// What drifts have come to, and the laws of the devices that they change with their power, W.
    values: Vec<f64>,
    laws: Vec<(TakerLaw, f64)>,
}

/// So many instants are kept: the nodes of a step, its start, and where its error is judged.
const KEPT: usize = 8;

impl Sources {
    /// Forgets all: the equations have changed.
    pub fn clear(&mut self) {
        self.known.clear();
        self.oldest = 0;
        self.now = 0;
    }

    /// What people do at an instant, `[species][compartment]`, mol/s.
    pub fn at(&mut self, plumbing: &Plumbing, t_s: f64) -> &[[f64; MOST]; 3] {
        let known = self.known.iter().position(|known| known.t_s.to_bits() == t_s.to_bits());
        self.now = known.unwrap_or_else(|| self.meet(plumbing, t_s));
        &self.known[self.now].people
    }

    /// Works out what people do at an instant; the gas around beds is guessed to be what it was at the last one.
    fn meet(&mut self, plumbing: &Plumbing, t_s: f64) -> usize {
        let mut people = plumbing.source;
        for i in 0..3 {
            let dying = &plumbing.dying[i];
            for l in 0..dying.count {
                let left = libm::exp(-dying.mu[l] * t_s);
                for a in 0..plumbing.n.min(MOST) {
                    people[i][a] += dying.amount[l][a] * left;
                }
            }
        }
        let values: Vec<f64> = plumbing.drifts.iter().map(|drift| drift.at(t_s)).collect();
        let laws = plumbing.redone.iter().map(|redone| redone.at(&values)).collect();
        if self.known.len() < KEPT {
            let gas = self.known.get(self.now).map_or_else(Vec::new, |last| last.gas.clone());
            self.known.push(Known {
                t_s,
                people,
                gas,
                values,
                laws,
            });
            return self.known.len() - 1;
        }
        let place = self.oldest;
        self.oldest = (place + 1) % KEPT;
        if place != self.now {
            let mut gas = std::mem::take(&mut self.known[place].gas);
            gas.clone_from(&self.known[self.now].gas);
            self.known[place].gas = gas;
        }
        let known = &mut self.known[place];
        (known.t_s, known.people) = (t_s, people);
        (known.values, known.laws) = (values, laws);
        place
    }

    /// A number at the instant looked at: what its drift has come to, or as it was laid.
    pub fn drifted(&self, drift: Option<usize>, laid: f64) -> f64 {
        drift.map_or(laid, |drift| self.known[self.now].values[drift])
    }

    /// A device at the instant looked at.
    pub fn redone(&self, laid: &Taker) -> Taker {
        let mut taker = *laid;
        if let Some(redo) = laid.redo {
            (taker.law, taker.power_w) = self.known[self.now].laws[redo];
        }
        taker
    }

    /// The gas around the beds of a tap when they were last looked at, to be kept anew.
    pub fn last_gas(&mut self, tap: usize) -> &mut LastGas {
        let gas = &mut self.known[self.now].gas;
        let place = gas.iter().position(|(own, _)| *own == tap).unwrap_or_else(|| {
            gas.push((tap, LastGas::default()));
            gas.len() - 1
        });
        &mut gas[place].1
    }
}
