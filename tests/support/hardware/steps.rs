//! From one instant to the next: steps, and the ends of modes in time.

use breathroom_sim::units::Time;

use crate::collocation::{self, Fit};

use super::guards::{Guard, Stop, guards, settle, turn};
use super::mode::{How, What};
use super::rates::rates;
use super::run::Run;

/// Points at which a step is searched for the end of its mode.
const SCAN: usize = 32;

type List = Vec<(Guard, f64, f64)>;

/// What ended a stretch.
pub enum Ended {
    Reached,
    /// Something for an instant came about.
    Event,
    Stop(Stop),
}

impl Run<'_> {
    /// The size against which each state's error is measured.
    pub(super) fn scale(&self) -> Vec<f64> {
        let (plant, x) = (&self.plant, &self.x);
        let mut scale: Vec<f64> = x.iter().map(|v| v.abs().max(1.0)).collect();
        for a in 0..plant.rooms {
            for s in 0..4 {
                scale[4 * a + s] = x[4 * a + s].abs().max(1e-3 * plant.amount(x, a)).max(1e-6);
            }
        }
        scale[plant.person..plant.store].fill(1e-3);
        scale
    }

    /// Goes on to `until`, through the ends of modes.
    pub(super) fn advance(&mut self, until: f64) -> Ended {
        let mut at_once = 0;
        let mut list = Vec::new();
        while until - self.t > 1e-9 {
            let left = until - self.t;
            let scale = self.scale();
            let (plant, mode) = (&self.plant, &self.mode);
            let f = |x: &[f64], d: &mut [f64]| {
                rates(plant, mode, x, d);
            };
            let (fit, next) = collocation::step(&f, &self.x, plant.core, &scale, self.guess, left);
            self.guess = next.max(1e-6);
            let cut = self.search(&fit, &mut list);
            let valid = cut.map_or(fit.length_s, |c| c.1);
            self.look(&fit, valid);
            fit.all(valid, &mut self.x);
            self.t = if cut.is_none() && left - fit.length_s < 1e-9 {
                until
            } else {
                self.t + valid
            };
            at_once = if valid > 1e-9 { 0 } else { at_once + 1 };
            let (valve, t) = (&self.mode.valve, self.t);
            assert!(at_once < 200, "modes do not settle at {t} s: {cut:?}, {valve:?}");
            if let Some((guard, _)) = cut {
                self.switches += 1;
                if let Some(ended) = self.leave(guard) {
                    return ended;
                }
            }
        }
        self.t = until;
        Ended::Reached
    }

    pub(super) fn look(&mut self, fit: &Fit, valid: f64) {
        while let Some(&at) = self.looks.last() {
            if at > self.t + valid {
                break;
            }
            let mut x = self.x.clone();
            fit.all(at - self.t, &mut x);
            self.seen.push((at, self.gas(&x)));
            self.looks.pop();
        }
    }

    /// The first condition that fails within a step, and when (seconds into it).
    pub(super) fn search(&self, fit: &Fit, list: &mut List) -> Option<(Guard, f64)> {
        let (plant, mode) = (&self.plant, &self.mode);
        let mut x = vec![0.0; plant.len];
        let mut d = vec![0.0; plant.len];
        let mut look = |t: f64, list: &mut List| {
            fit.all(t, &mut x);
            let solved = rates(plant, mode, &x, &mut d);
            guards(plant, mode, &x, &solved, list);
        };
        let mut rows: Vec<(f64, List)> = Vec::with_capacity(SCAN + 1);
        for i in 0..=SCAN {
            // Closer together near the start, where a mode that was just entered may be left again.
            let u = i as f64 / SCAN as f64;
            let t = fit.length_s * (0.3 * u * u + 0.7 * u);
            look(t, list);
            rows.push((t, list.clone()));
        }
        let mut first: Option<(Guard, f64)> = None;
        for g in 0..rows[0].1.len() {
            let value = |i: usize| rows[i].1[g].1;
            let fails = |i: usize| value(i) < -rows[i].1[g].2;
            let Some(bad) = (0..=SCAN).find(|&i| fails(i)) else {
                continue;
            };
            // Where it passes zero; if it has been a little below from the start, where it passes what is rounding.
            let (good, bound) = match (0..bad).rev().find(|&i| value(i) >= 0.0) {
                Some(good) => (good, 0.0),
                None => (0, -rows[0].1[g].2),
            };
            let (mut low, mut high) = (rows[good].0, rows[bad].0);
            for _ in 0..100 {
                let middle = 0.5 * (low + high);
                look(middle, list);
                if list[g].1 >= bound {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            let at = high;
            if first.is_none_or(|f| at < f.1) {
                first = Some((rows[0].1[g].0, at));
            }
        }
        first
    }

    /// Leaves the mode through a condition that failed.
    pub(super) fn leave(&mut self, guard: Guard) -> Option<Ended> {
        let now = Time::from_seconds_up(self.t - 1e-10);
        match guard {
            Guard::Floor(p) => {
                let a = self.plant.breathes(&self.mode, p).unwrap_or(usize::MAX);
                return Some(Ended::Stop(Stop::OxygenFloor(a, p)));
            }
            Guard::Empty(a, s) => return Some(Ended::Stop(Stop::Exhausted(a, s))),
            Guard::Ramp(k) => panic!("transfer {k} would have to run backward: not for the reference"),
            Guard::Reserve(t) => {
                self.mode.reserve[t] = true;
                self.tanks[t].reserve_at = Some(now);
            }
            Guard::Tank(t) => {
                self.mode.dry[t] = true;
                self.tanks[t].dry_at.get_or_insert(now);
                self.run_dry(now);
                return Some(Ended::Event);
            }
            Guard::Transfer(k) => {
                let transfer = self.mode.transfers[k];
                if let (What::Vent { room }, How::Ramp { until, .. }) = (transfer.what, transfer.how) {
                    // All but nothing has left: the rest of the ramp is spent in a vacuum.
                    self.let_go(room, transfer.slot);
                    self.mode.transfers[k].how = How::Wait { until };
                    self.mode.transfers[k].until_pa = Some((f64::NEG_INFINITY, true));
                } else {
                    self.end_transfer(k, now, false);
                }
                return Some(Ended::Event);
            }
            other => {
                turn(&self.plant, &mut self.mode, &mut self.x, other);
                settle(&self.plant, &mut self.mode, &mut self.x);
            }
        }
        None
    }
}
