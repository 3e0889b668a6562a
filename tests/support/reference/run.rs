//! The loop: script, steps, cuts where a mode ends.

use breathroom_sim::air::Species;
use breathroom_sim::crew::Load;
use breathroom_sim::engine::Case;
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;

use crate::collocation::{self, Fit};

use super::choose::{Wish, equalise, fill, settle};
use super::guards::{Guard, govern, guards, place};
use super::mode::Mode;
use super::model::{LINES, Ledger, Model, PER_PERSON};
use super::network::Network;
use super::schedule::{Change, script};

/// Points at which a step is searched for the end of its mode.
const SCAN: usize = 40;

/// Conditions of a mode at an instant: each with its value and what of it counts as rounding.
type List = Vec<(Guard, f64, f64)>;

/// How the reference's run ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// At the duration.
    Completed,
    /// Breathed oxygen in this compartment went under the floor.
    OxygenFloor(usize),
    /// A species ran out in this compartment.
    Exhausted(usize, usize),
}

/// Why the reference could not go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Failure {
    /// An opening was to be opened against a pressure.
    Hatch {
        /// Index of the opening.
        opening: usize,
        /// When, s.
        at_s: f64,
    },
}

/// A stretch of the solution.
#[derive(Debug)]
pub struct Piece {
    /// From, s.
    pub from_s: f64,
    /// To, s.
    pub to_s: f64,
    /// Index of the mode.
    pub(super) mode: usize,
    pub(super) fit: Fit,
}

/// The solution of a case.
#[derive(Debug)]
pub struct Reference<'a> {
    pub(super) model: Model<'a>,
    pub(super) modes: Vec<Mode>,
    /// The stretches, in order.
    pub pieces: Vec<Piece>,
    /// How it ended.
    pub stop: Stop,
    /// When, s.
    pub end_s: f64,
    /// What went where.
    pub ledger: Ledger,
    /// Ends of modes that were found in time.
    pub switches: usize,
    pub(super) end: Vec<f64>,
}

struct Run<'a> {
    model: Model<'a>,
    mode: Mode,
    x: Vec<f64>,
    t: f64,
    pieces: Vec<Piece>,
    modes: Vec<Mode>,
    switches: usize,
    guess_s: f64,
}

/// Integrates a case.
///
/// # Errors
/// If a hatch is to be opened against a pressure.
///
/// # Panics
/// If tasks contend for people, or if it cannot find a consistent mode: such a case is not one for the reference.
pub fn integrate(case: &Case) -> Result<Reference<'_>, Failure> {
    let model = Model::new(case);
    let mut run = Run::new(model);
    let script = script(case);
    let mut stop = Stop::Completed;
    for (i, (at, changes)) in script.iter().enumerate() {
        run.t = at.seconds();
        run.apply(changes, *at == Time::ZERO)?;
        let until = script.get(i + 1).map_or(case.duration, |next| next.0).seconds();
        if let Some(early) = run.advance(until) {
            stop = early;
            break;
        }
    }
    let ledger = Ledger::from_lines(&run.x[run.model.core..run.model.core + LINES]);
    Ok(Reference {
        model: run.model,
        modes: run.modes,
        pieces: run.pieces,
        stop,
        end_s: run.t,
        ledger,
        switches: run.switches,
        end: run.x,
    })
}

impl<'a> Run<'a> {
    fn new(model: Model<'a>) -> Self {
        let case = model.case;
        let people = case.people.len();
        let mut x = vec![0.0; model.len];
        for (a, c) in case.compartments.iter().enumerate() {
            for s in 0..4 {
                x[4 * a + s] = c.partial_pa[s] * super::network::capacity_mol_pa(case, a);
            }
        }
        let mode = Mode {
            place: vec![None; people],
            load: vec![Load::default(); people],
            sweat_lag: vec![false; people],
            towel: vec![false; people],
            open: case.openings.iter().map(|o| o.open).collect(),
            on: case.devices.iter().map(|d| d.on).collect(),
            factor: vec![1.0; case.devices.len()],
            condensing: vec![false; case.devices.len()],
            piece: vec![[0; 2]; case.devices.len()],
            wet: vec![false; model.surfaces.len()],
            governs: vec![false; model.valves.len()],
            valve: vec![false; model.valves.len()],
            network: Network::default(),
            forward: Vec::new(),
        };
        let mut run = Self {
            model,
            mode,
            x,
            t: 0.0,
            pieces: Vec::new(),
            modes: Vec::new(),
            switches: 0,
            guess_s: 1.0,
        };
        run.rewire();
        run
    }

    fn rewire(&mut self) {
        self.mode.network = Network::new(self.model.case, &self.mode.open);
        self.mode.forward = vec![true; self.mode.network.edges.len()];
        govern(&self.model, &mut self.mode);
    }

    fn apply(&mut self, changes: &[Change], first: bool) -> Result<(), Failure> {
        if first {
            equalise(&self.model, &mut self.mode, &mut self.x);
        }
        for change in changes {
            match *change {
                Change::Load {
                    person,
                    place,
                    load,
                    sweat_lag,
                    towel,
                } => {
                    self.mode.place[person] = match place {
                        breathroom_sim::air::Place::Outside => None,
                        breathroom_sim::air::Place::Compartment(a) => Some(a),
                    };
                    self.mode.load[person] = load;
                    self.mode.sweat_lag[person] = sweat_lag;
                    self.mode.towel[person] = towel;
                    let at = self.model.person + PER_PERSON * person;
                    if first || self.model.case.people[person].gas_lag_s <= 0.0 {
                        self.x[at] = load.oxygen_mol_s;
                        self.x[at + 1] = load.co2_mol_s;
                    }
                    if first || !sweat_lag {
                        self.x[at + 2..at + PER_PERSON].fill(load.vapour_mol_s);
                    }
                }
                Change::Factor { device, factor } => self.mode.factor[device] = factor,
                Change::Effect(Effect::SwitchOn(d)) => self.mode.on[d] = true,
                Change::Effect(Effect::SwitchOff(d)) => self.mode.on[d] = false,
                Change::Effect(Effect::Close(o)) => {
                    self.mode.open[o] = false;
                    self.rewire();
                }
                Change::Effect(Effect::Open(o)) => self.open(o)?,
                Change::Effect(other) => panic!("this reference has no {other:?}"),
            }
        }
        fill(&self.model, &mut self.mode, &mut self.x);
        place(&self.model, &mut self.mode, &self.x);
        settle(&self.model, &mut self.mode, &self.x, Wish::None);
        Ok(())
    }

    fn open(&mut self, o: usize) -> Result<(), Failure> {
        if self.mode.open[o] {
            return Ok(());
        }
        let opening = &self.model.case.openings[o];
        let total = |place| match place {
            breathroom_sim::air::Place::Outside => self.model.case.outside.partial_pa.iter().sum(),
            breathroom_sim::air::Place::Compartment(a) => self.model.total_pa(&self.x, a),
        };
        let apart: f64 = total(opening.between[0]) - total(opening.between[1]);
        if apart.abs() > opening.opens_within_pa {
            return Err(Failure::Hatch {
                opening: o,
                at_s: self.t,
            });
        }
        self.mode.open[o] = true;
        self.rewire();
        equalise(&self.model, &mut self.mode, &mut self.x);
        Ok(())
    }

    /// The size against which each state's error is measured.
    fn scale(&self) -> Vec<f64> {
        let (model, x) = (&self.model, &self.x);
        let mut scale = vec![1.0; model.len];
        for a in 0..model.case.compartments.len() {
            let all: f64 = x[4 * a..4 * a + 4].iter().sum();
            for s in 0..4 {
                scale[4 * a + s] = x[4 * a + s].abs().max(1e-3 * all).max(1e-6);
            }
        }
        for s in &mut scale[model.person..model.core] {
            *s = 1e-3;
        }
        for i in model.core..model.len {
            scale[i] = x[i].abs().max(1.0);
        }
        for (r, rule) in model.case.rules.iter().enumerate() {
            let a = match rule.subject {
                breathroom_sim::limits::Subject::Compartment(a) => Some(a),
                breathroom_sim::limits::Subject::Tank(_) => None,
                breathroom_sim::limits::Subject::Person(p) => self.mode.place[p],
            };
            if let (Some(a), true) = (a, super::model::linear(rule.quantity)) {
                let now = model.quantity(x, a, rule.quantity).abs();
                scale[model.integral + r] = (100.0 * now).max(x[model.integral + r].abs()).max(1.0);
            }
        }
        scale
    }

    /// Goes on to `until`, through the ends of modes; `Some` if the run ends before.
    fn advance(&mut self, until: f64) -> Option<Stop> {
        let mut at_once = 0;
        let mut list = Vec::new();
        self.modes.push(self.mode.clone());
        while until - self.t > 1e-9 {
            let left = until - self.t;
            let scale = self.scale();
            let (model, mode) = (&self.model, &self.mode);
            let f = |x: &[f64], d: &mut [f64]| {
                model.rates(mode, x, d);
            };
            let (fit, next) = collocation::step(&f, &self.x, model.core, &scale, self.guess_s, left);
            self.guess_s = next.max(1e-6);
            let length = fit.length_s;
            let cut = self.search(&fit, &mut list);
            let valid = cut.map_or(length, |c| c.1);
            fit.all(valid, &mut self.x);
            let from = self.t;
            self.t = if cut.is_none() && left - length < 1e-9 {
                until
            } else {
                self.t + valid
            };
            at_once = if valid > 1e-9 { 0 } else { at_once + 1 };
            assert!(
                at_once < 100,
                "the reference's modes do not settle at {} s: {cut:?}",
                self.t
            );
            if self.t > from {
                self.pieces.push(Piece {
                    from_s: from,
                    to_s: self.t,
                    mode: self.modes.len() - 1,
                    fit,
                });
            }
            if let Some((guard, _)) = cut {
                self.switches += 1;
                if let Some(stop) = self.leave(guard) {
                    return Some(stop);
                }
                self.modes.push(self.mode.clone());
            }
        }
        self.t = until;
        None
    }

    /// The first condition that fails within a step, and when (seconds into it).
    fn search(&self, fit: &Fit, list: &mut List) -> Option<(Guard, f64)> {
        let (model, mode) = (&self.model, &self.mode);
        let mut x = vec![0.0; model.len];
        let mut d = vec![0.0; model.len];
        let mut look = |t: f64, list: &mut List| {
            fit.all(t, &mut x[..model.core]);
            let flows = model.rates(mode, &x, &mut d);
            guards(model, mode, &x, &flows, list);
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
            let guard = rows[0].1[g].0;
            let value = |i: usize| rows[i].1[g].1;
            let mut failed = (0..=SCAN).find(|&i| value(i) < -rows[i].1[g].2).map(|i| (i, rows[i].0));
            // A dip between two points that both look fine.
            for i in 1..SCAN {
                let (a, b, c) = (value(i - 1), value(i), value(i + 1));
                if failed.is_some_and(|f| f.0 <= i) || b > a || b > c || b > (a - b) + (c - b) {
                    continue;
                }
                let mut at = |t: f64| {
                    look(t, list);
                    list[g].1
                };
                let lowest = lowest(rows[i - 1].0, rows[i + 1].0, &mut at);
                if lowest.1 < -rows[i].1[g].2 {
                    failed = Some((i, lowest.0));
                }
            }
            let Some((index, bad)) = failed else { continue };
            let good = (0..index.min(SCAN)).rev().find(|&i| value(i) >= 0.0 && rows[i].0 < bad);
            let at = match good {
                None => 0.0,
                Some(i) => {
                    let (mut low, mut high) = (rows[i].0, bad);
                    for _ in 0..200 {
                        let middle = 0.5 * (low + high);
                        look(middle, list);
                        if list[g].1 >= 0.0 {
                            low = middle;
                        } else {
                            high = middle;
                        }
                    }
                    // A value that starts at its bound and only sinks has its sign change at the start.
                    0.5 * (low + high)
                }
            };
            if first.is_none_or(|f| at < f.1) {
                first = Some((guard, at));
            }
        }
        first
    }

    /// Leaves the mode through a condition that failed; `Some` if that ends the run.
    fn leave(&mut self, guard: Guard) -> Option<Stop> {
        let mut wish = Wish::None;
        let mode = &mut self.mode;
        match guard {
            Guard::Condense(d) => mode.condensing[d] = !mode.condensing[d],
            Guard::Piece(d, which, true) => mode.piece[d][which] += 1,
            Guard::Piece(d, which, false) => mode.piece[d][which] -= 1,
            Guard::Film(k) => {
                if mode.wet[k] {
                    self.x[self.model.liquid + k] = 0.0;
                }
                mode.wet[k] = !mode.wet[k];
            }
            Guard::Valve(v) => wish = if mode.valve[v] { Wish::Closed(v) } else { Wish::Open(v) },
            Guard::Edge(e) => mode.forward[e] = !mode.forward[e],
            Guard::Floor(a) => return Some(Stop::OxygenFloor(a)),
            Guard::Empty(a, s) => return Some(Stop::Exhausted(a, s)),
        }
        settle(&self.model, &mut self.mode, &self.x, wish);
        None
    }
}

/// Lowest value of a function on an interval where it has one minimum, by golden section.
pub fn lowest(mut a: f64, mut b: f64, f: &mut dyn FnMut(f64) -> f64) -> (f64, f64) {
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut c, mut d) = (b - golden * (b - a), a + golden * (b - a));
    let (mut fc, mut fd) = (f(c), f(d));
    for _ in 0..45 {
        if fc < fd {
            (b, d, fd) = (d, c, fc);
            c = b - golden * (b - a);
            fc = f(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + golden * (b - a);
            fd = f(d);
        }
    }
    if fc < fd { (c, fc) } else { (d, fd) }
}

impl Reference<'_> {
    /// The piece that holds at `t_s` seconds (the later one where two meet), and the state.
    pub(super) fn at(&self, t_s: f64) -> (&Piece, Vec<f64>) {
        let k = self.pieces.partition_point(|p| p.from_s <= t_s).max(1) - 1;
        let piece = &self.pieces[k];
        let mut x = vec![0.0; self.model.len];
        piece
            .fit
            .all((t_s - piece.from_s).min(piece.to_s - piece.from_s), &mut x);
        (piece, x)
    }

    /// Partial pressures of a compartment at `t_s` seconds, Pa, by species.
    #[must_use]
    pub fn partial_pa(&self, t_s: f64, compartment: usize) -> [f64; 4] {
        let (_, x) = self.at(t_s);
        Species::ALL.map(|s| self.model.partial_pa(&x, compartment, s as usize))
    }

    /// Liquid in a compartment at `t_s` seconds, kg.
    #[must_use]
    pub fn liquid_kg(&self, t_s: f64, compartment: usize) -> f64 {
        self.model.liquid_kg(&self.at(t_s).1, compartment)
    }

    /// A person's oxygen use, CO2 and vapour output at `t_s` seconds, mol/s.
    #[must_use]
    pub fn output_mol_s(&self, t_s: f64, person: usize) -> [f64; 3] {
        let (piece, x) = self.at(t_s);
        self.model.output(&self.modes[piece.mode], &x, person)
    }

    /// Compartment of a person at `t_s` seconds; none outside.
    #[must_use]
    pub fn place(&self, t_s: f64, person: usize) -> Option<usize> {
        self.modes[self.at(t_s).0.mode].place[person]
    }

    /// Partial pressures of a compartment at the end, Pa.
    #[must_use]
    pub fn end_partial_pa(&self, compartment: usize) -> [f64; 4] {
        Species::ALL.map(|s| self.model.partial_pa(&self.end, compartment, s as usize))
    }

    /// Liquid of a compartment at the end, kg.
    #[must_use]
    pub fn end_liquid_kg(&self, compartment: usize) -> f64 {
        self.model.liquid_kg(&self.end, compartment)
    }
}
