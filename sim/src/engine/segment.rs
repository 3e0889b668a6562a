//! A segment: the solution between two changes of the equations, in closed form plus, where bulk flow makes the mode not
//! affine, a correction from the error-controlled integrator.
//!
//! It offers values, integrals, courses and rigorous ranges; crossings, averages, ledgers and extremes use only these.

use std::borrow::Borrow;

use crate::air::MOST;

use super::basis::{Bases, Key};
use super::course::{Course, Piece, Term};
use super::indices::{DILUENT, LAGS, OXYGEN};
use super::modes::Modes;
use super::poly::Poly;
use super::range::Range;
use super::state::Stocks;
use super::steps::Steps;
use super::system::{Dying, PressureLaw, System};
use super::whole::HeatStep;

/// One step of the correction.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Step {
    /// Start within the segment, s.
    pub from_s: f64,
    /// Length, s.
    pub length_s: f64,
    /// The correction of `[species][mode]`; in a segment that is integrated whole, the partial pressures `[species][compartment]`.
    pub modes: [[Poly; MOST]; 4],
    /// Change of each group's diluent, mol, by the group's first compartment.
    pub diluent: [Poly; MOST],
    /// Bulk inflow of oxygen where it is held, mol/s.
    pub oxygen_inflow: [Poly; MOST],
}

/// A linear function of the state: what a course is made from.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sum {
    /// Constant part.
    pub constant: f64,
    /// Weights of the partial pressures `[species][compartment]`.
    pub p: [[f64; MOST]; 4],
    /// Weights of the total pressures.
    pub pressure: [f64; MOST],
    /// Weights of the bulk inflow of oxygen.
    pub oxygen_inflow: [f64; MOST],
    /// Weights of the sources that die away, of each breathed species and compartment.
    pub dying: [[f64; MOST]; 3],
}

impl Sum {
    /// One partial pressure.
    pub fn partial(species: usize, a: usize) -> Self {
        let mut sum = Self::default();
        sum.p[species][a] = 1.0;
        sum
    }

    /// Adds `weight` times another.
    pub fn add(&mut self, weight: f64, other: &Self) {
        self.constant += weight * other.constant;
        for a in 0..MOST {
            for i in 0..4 {
                self.p[i][a] += weight * other.p[i][a];
            }
            for i in 0..3 {
                self.dying[i][a] += weight * other.dying[i][a];
            }
            self.pressure[a] += weight * other.pressure[a];
            self.oxygen_inflow[a] += weight * other.oxygen_inflow[a];
        }
    }

    /// One total pressure.
    pub fn total(a: usize) -> Self {
        let mut sum = Self::default();
        sum.pressure[a] = 1.0;
        sum
    }
}

/// The solution over one segment.
#[derive(Clone, Debug)]
pub(crate) struct Segment {
    /// Length, s.
    pub length_s: f64,
    /// Number of compartments.
    pub n: usize,
    /// Modes of the four species (the diluent's count only where a pressure is a sum).
    pub modes: [Modes; 4],
    /// How each total pressure is known.
    pub law: [PressureLaw; MOST],
    /// Capacities, mol/Pa.
    pub capacity: [f64; MOST],
    /// First compartment of each compartment's group.
    pub group: [usize; MOST],
    /// Capacity of each group, mol/Pa, by its first compartment.
    pub group_capacity: [f64; MOST],
    /// Diluent of each group at the start, mol, likewise.
    pub diluent: [f64; MOST],
    /// Sources that die away, for valves.
    dying: [Dying; 3],
    /// Compartments in which oxygen is held.
    pub oxygen_held: [bool; MOST],
    /// Steps of the correction; none where the mode is affine.
    pub steps: Steps,
    /// The steps are the solution itself: there is no closed form under them.
    pub whole: bool,
    /// Temperatures and what depends on them, step by step; none where all are fixed.
    pub heat: Vec<HeatStep>,
}

/// Integrals of the partial pressures over a segment, Pa s.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Integrals {
    /// By species and compartment.
    pub p: [[f64; MOST]; 4],
    /// Length of the segment, s.
    pub length_s: f64,
}

impl Default for Segment {
    fn default() -> Self {
        Self {
            length_s: 0.0,
            n: 0,
            modes: [Modes::default(), Modes::default(), Modes::default(), Modes::default()],
            law: [PressureLaw::Sum; MOST],
            capacity: [0.0; MOST],
            group: [0; MOST],
            group_capacity: [0.0; MOST],
            diluent: [0.0; MOST],
            dying: [Dying::default(); 3],
            oxygen_held: [false; MOST],
            steps: Steps::default(),
            whole: false,
            heat: Vec::new(),
        }
    }
}

impl Segment {
    /// Lets go of its steps, and leaves their storage to `heir`: were it kept, every segment's would grow to that of the most
    /// steps it ever had.
    pub fn forget(&mut self, heir: &mut Steps) {
        self.steps.leave_to(heir);
        self.heat = Vec::new();
    }

    /// The closed form from `stocks` under `system`; no correction yet.
    ///
    /// `bulk` is a steady bulk inflow, mol/s, that the closed form takes along; the correction is of what differs from it.
    pub fn begin(
        &mut self,
        system: &System,
        stocks: &Stocks,
        bases: &mut [Bases; 4],
        pattern: usize,
        bulk: &[[f64; MOST]; 3],
    ) {
        let n = system.n;
        self.n = n;
        self.law = system.law;
        self.dying = system.dying;
        self.oxygen_held = system.oxygen_held.map(|held| held.is_some());
        self.steps.clear();
        self.whole = false;
        self.heat.clear();
        for i in 0..4 {
            let mut key = Key {
                pattern,
                sink: system.sink[i],
                held: [false; MOST],
            };
            let mut source = system.source[i];
            if i != DILUENT {
                for a in 0..n {
                    source[a] += bulk[i][a];
                }
            }
            if i == OXYGEN {
                hold_still(system, stocks, &mut key, &mut source);
            }
            let alone = [[0.0; MOST]; MOST];
            let exchange = if i == DILUENT { &alone } else { &system.exchange };
            let place = bases[i].find(n, &key, &system.capacity, exchange);
            let mut dying = system.dying.get(i).copied();
            if let Some(dying) = dying.as_mut().filter(|_| i == OXYGEN) {
                for l in 0..dying.count {
                    for a in 0..n {
                        if key.held[a] {
                            dying.amount[l][a] = 0.0;
                        }
                    }
                }
            }
            self.modes[i].set(
                bases[i].get(place),
                &system.capacity,
                &stocks.p[i],
                &source,
                dying.as_ref(),
            );
        }
        self.capacity = system.capacity;
        self.group = system.group;
        self.group_capacity = [0.0; MOST];
        self.diluent = [0.0; MOST];
        for a in 0..n {
            self.group_capacity[system.group[a]] += system.capacity[a];
            self.diluent[system.group[a]] += system.capacity[a] * stocks.p[DILUENT][a];
        }
    }

    /// A segment without a closed form, to be filled with steps.
    pub fn begin_whole(&mut self, system: &System) {
        self.n = system.n;
        self.whole = true;
        self.law = [PressureLaw::Sum; MOST];
        self.steps.clear();
        self.heat.clear();
        self.dying = [Dying::default(); 3];
        self.oxygen_held = [false; MOST];
        self.capacity = system.capacity;
        self.group = system.group;
        for modes in &mut self.modes {
            modes.be_identity(system.n);
        }
    }

    /// Partial pressures at `t`, Pa.
    pub fn at(&self, t: f64, p: &mut [[f64; MOST]; 4]) {
        for i in 0..4 {
            let mut z = if self.whole { [0.0; MOST] } else { self.modes[i].at(t) };
            if (i != DILUENT || self.whole)
                && let Some((step, theta)) = self.step_at(t)
            {
                for k in 0..self.n.min(MOST) {
                    z[k] += step.modes[i][k].at(theta);
                }
            }
            self.modes[i].pressures(&z, &mut p[i]);
        }
        self.resolve_diluent(p, 1.0, |group| {
            self.diluent[group]
                + self
                    .step_at(t)
                    .map_or(0.0, |(step, theta)| step.diluent[group].at(theta))
        });
    }

    /// Temperature (K), relative humidity and dew-point gap (K) of a compartment at `t`, where there is a heat balance.
    pub fn heat_at(&self, a: usize, t: f64) -> Option<[f64; 3]> {
        let heat = self.heat.get(self.steps.place_at(t)?)?;
        let (_, theta) = self.step_at(t)?;
        (heat.humidity[a] != Poly::default()).then(|| {
            [
                heat.air_k[a].at(theta),
                heat.humidity[a].at(theta),
                heat.dew_point_gap[a].at(theta),
            ]
        })
    }

    /// Integrals of the partial pressures to `t`, Pa s.
    pub fn integral(&self, t: f64, p: &mut [[f64; MOST]; 4]) {
        for i in 0..4 {
            let mut z = if self.whole {
                [0.0; MOST]
            } else {
                self.modes[i].integral(t)
            };
            if i != DILUENT || self.whole {
                for step in self.steps.iter().take_while(|step| step.from_s < t) {
                    let theta = ((t - step.from_s) / step.length_s).min(1.0);
                    for k in 0..self.n.min(MOST) {
                        z[k] += step.length_s * step.modes[i][k].integral(theta);
                    }
                }
            }
            self.modes[i].pressures(&z, &mut p[i]);
        }
        self.resolve_diluent(p, t, |group| {
            let mut diluent = self.diluent[group] * t;
            for step in self.steps.iter().take_while(|step| step.from_s < t) {
                let theta = ((t - step.from_s) / step.length_s).min(1.0);
                diluent += step.length_s * step.diluent[group].integral(theta);
            }
            diluent
        });
    }

    /// The total of the breathed species in a group, mol (or, of integrals, mol s).
    pub fn breathed<const N: usize>(&self, group: usize, p: &[[f64; N]]) -> f64 {
        let mut sum = 0.0;
        for a in (0..self.n.min(N)).filter(|&a| self.group[a] == group) {
            sum += self.capacity[a] * (p[0][a] + p[1][a] + p[2][a]);
        }
        sum
    }

    /// Fills in the diluent where it is what the others leave of a held or shared pressure; `held_for` turns a held
    /// pressure into its integral, `diluent` gives a drifting group's diluent, mol (or mol s).
    fn resolve_diluent(&self, p: &mut [[f64; MOST]; 4], held_for: f64, diluent: impl Fn(usize) -> f64) {
        let mut shared = [0.0; MOST];
        for group in 0..self.n {
            if self.law[group] == PressureLaw::Shared(group) {
                shared[group] = (diluent(group) + self.breathed(group, p)) / self.group_capacity[group];
            }
        }
        for a in 0..self.n.min(MOST) {
            let total = match self.law[a] {
                PressureLaw::Sum => continue,
                PressureLaw::Held(pressure) => pressure * held_for,
                PressureLaw::Shared(group) => shared[group],
            };
            p[DILUENT][a] = total - p[0][a] - p[1][a] - p[2][a];
        }
    }

    /// Integral to `t` of the bulk inflow of oxygen into compartment `a`, where it is held, mol.
    pub fn oxygen_inflow(&self, a: usize, t: f64) -> f64 {
        let mut sum = 0.0;
        for step in self.steps.iter().take_while(|step| step.from_s < t) {
            let theta = ((t - step.from_s) / step.length_s).min(1.0);
            sum += step.length_s * step.oxygen_inflow[a].integral(theta);
        }
        sum
    }

    /// A range that holds the bulk inflow of oxygen into `a` over the segment, mol/s.
    pub fn inflow_range(&self, a: usize) -> Range {
        hull_of(self.steps.iter().map(|step| &step.oxygen_inflow[a]))
    }

    fn step_at(&self, t: f64) -> Option<(&Step, f64)> {
        let step = self.steps.get(self.steps.place_at(t)?)?;
        Some((step, (t - step.from_s) / step.length_s))
    }

    /// Writes the course of a sum.
    pub fn course(&self, sum: &Sum, out: &mut Course) {
        out.clear();
        out.constant = sum.constant;
        if self.whole {
            self.course_of_steps(sum, out);
            return;
        }
        let (p, drift) = self.resolve(sum, out);
        let n = self.n.min(MOST);
        let mut weight = [[0.0; MOST]; 4];
        for i in 0..4 {
            let modes = &self.modes[i];
            if p[i][..n].iter().all(|&w| w == 0.0) {
                continue;
            }
            let mut mu = [0; LAGS];
            for l in 0..modes.lags.min(LAGS) {
                mu[l] = out.rate(modes.mu[l]);
            }
            for k in 0..n {
                let w: f64 = (0..n).map(|a| p[i][a] * modes.to_p[a][k]).sum();
                weight[i][k] = w;
                if w == 0.0 {
                    continue;
                }
                let from = out.dying.len();
                for l in 0..modes.lags.min(LAGS) {
                    let gamma = w * modes.gamma[l][k];
                    if gamma != 0.0 {
                        out.dying.push((mu[l], gamma));
                    }
                }
                let (start, sigma) = (w * modes.start[k], w * modes.sigma[k]);
                let rate = out.rate(modes.lambda[k]);
                out.terms.push(Term {
                    rate,
                    start,
                    sigma,
                    from,
                    to: out.dying.len(),
                });
            }
        }
        for i in 0..3 {
            for l in 0..self.dying[i].count {
                let amount: f64 = (0..n).map(|a| sum.dying[i][a] * self.dying[i].amount[l][a]).sum();
                if amount != 0.0 {
                    out.add_exponential(self.dying[i].mu[l], amount);
                }
            }
        }
        for step in self.steps.iter() {
            let mut poly = Poly::default();
            for a in 0..n {
                for i in 0..3 {
                    if weight[i][a] != 0.0 {
                        poly.add(weight[i][a], &step.modes[i][a]);
                    }
                }
                if drift[a] != 0.0 {
                    poly.add(drift[a], &step.diluent[a]);
                }
                if sum.oxygen_inflow[a] != 0.0 {
                    poly.add(sum.oxygen_inflow[a], &step.oxygen_inflow[a]);
                }
            }
            out.pieces.push(Piece {
                from_s: step.from_s,
                length_s: step.length_s,
                poly,
            });
        }
    }

    /// The same where the steps are the solution itself.
    fn course_of_steps(&self, sum: &Sum, out: &mut Course) {
        for step in self.steps.iter() {
            let mut poly = Poly::default();
            for i in 0..4 {
                for a in 0..self.n.min(MOST) {
                    let weight = sum.p[i][a] + sum.pressure[a];
                    if weight != 0.0 {
                        poly.add(weight, &step.modes[i][a]);
                    }
                }
            }
            out.pieces.push(Piece {
                from_s: step.from_s,
                length_s: step.length_s,
                poly,
            });
        }
    }

    /// Replaces totals and algebraic diluents by what they are made of: weights of partial pressures, and of the change of
    /// each group's diluent.
    fn resolve(&self, sum: &Sum, out: &mut Course) -> ([[f64; MOST]; 4], [f64; MOST]) {
        let mut p = sum.p;
        let mut drift = [0.0; MOST];
        for a in 0..self.n.min(MOST) {
            let (total, diluent) = (sum.pressure[a], sum.p[DILUENT][a]);
            if self.law[a] == PressureLaw::Sum {
                for species in &mut p {
                    species[a] += total;
                }
                continue;
            }
            p[DILUENT][a] = 0.0;
            for species in &mut p[..DILUENT] {
                species[a] -= diluent;
            }
            match self.law[a] {
                PressureLaw::Held(pressure) => out.constant += (total + diluent) * pressure,
                PressureLaw::Shared(group) => drift[group] += (total + diluent) / self.group_capacity[group],
                PressureLaw::Sum => {}
            }
        }
        for group in 0..self.n {
            if drift[group] == 0.0 {
                continue;
            }
            out.constant += drift[group] * self.diluent[group];
            for a in (0..self.n.min(MOST)).filter(|&a| self.group[a] == group) {
                for species in &mut p[..DILUENT] {
                    species[a] += drift[group] * self.capacity[a];
                }
            }
        }
        (p, drift)
    }
}

/// Where oxygen is held its amount stands still, and the rooms next to it see a fixed partial pressure.
fn hold_still(system: &System, stocks: &Stocks, key: &mut Key, source: &mut [f64; MOST]) {
    for c in 0..system.n {
        if system.oxygen_held[c].is_none() {
            continue;
        }
        key.held[c] = true;
        key.sink[c] = 0.0;
        source[c] = 0.0;
        for b in 0..system.n {
            if system.oxygen_held[b].is_none() {
                source[b] += system.exchange[b][c] * stocks.p[OXYGEN][c];
            }
        }
    }
}

/// A range that holds all these polynomials on their steps.
pub(crate) fn hull_of(polys: impl Iterator<Item = impl Borrow<Poly>>) -> Range {
    polys
        .map(|poly| poly.borrow().unit_hull())
        .reduce(Range::join)
        .unwrap_or(Range::point(0.0))
}
