//! When does the present mode end? The first instant at which a multiplier, a film, an inlet pressure or a breathable air
//! runs out, certified by bounds.

use crate::air::{Place, Regulation};
use crate::removal::Line;
use crate::timeline::Effect;

mod exit;
mod surfaces;

pub(crate) use exit::{Exit, Found, Target};

use super::accuracy::band_whole;
use super::course::Course;
use super::indices::OXYGEN;
use super::mode::{Knee, TAKEN, THIN_PA};
use super::range::Range;
use super::search::{Level, Stock, Work, first_above, first_below};
use super::segment::Sum;
use super::state::Stocks;
use super::system::System;
use super::valve::{diluent_flow, oxygen_flow};
use super::view::View;
use super::whole::SuitValve;

/// A valve's flow above minus this has not turned: what rounding leaves of sums of exchange flows, mol/s.
const VALVE_BAND_MOL_S: f64 = 1e-14;

/// Looks for the first exit.
pub(crate) struct Watch<'a> {
    view: View<'a>,
    course: &'a mut Course,
    work: &'a mut Work,
    first: Option<Found>,
}

/// The width within which a valve's flow counts as zero, mol/s: what noise in the pressures makes of it.
pub(crate) fn valve_band(sum: &Sum, system: &System, stocks: &Stocks) -> f64 {
    let mut band = VALVE_BAND_MOL_S;
    for i in 0..4 {
        for a in 0..system.n {
            if sum.p[i][a] != 0.0 {
                band += sum.p[i][a].abs() * system.noise_pa(stocks.p[i][a]);
            }
        }
    }
    band
}

/// The first exit in `(0, length]` of the segment.
pub(crate) fn first_exit<'a>(view: View<'a>, course: &'a mut Course, work: &'a mut Work) -> Option<Found> {
    let mut watch = Watch {
        view,
        course,
        work,
        first: None,
    };
    watch.floors();
    watch.oxygen_holds();
    watch.pressure_holds();
    watch.surfaces();
    watch.devices();
    watch.reliefs();
    watch.transfers();
    watch.thin();
    watch.tanks();
    watch.suits();
    watch.first
}

/// A flow in a segment integrated whole counts as zero within this, mol/s.
pub(crate) const WHOLE_BAND_MOL_S: f64 = 1e-12;
/// A tank with this much less than nothing to deliver has run dry, mol.
const DRY_BAND_MOL: f64 = 1e-9;

/// What a hold holds.
struct Quantity {
    sum: Sum,
    range: Range,
    set_pa: f64,
}

/// The flow of a hold.
#[expect(
    clippy::large_enum_variant,
    reason = "short-lived, and the hot loop allocates nothing"
)]
enum Flow {
    Sum(Sum),
    Tap(usize),
}

/// How a hold goes on.
enum Turn {
    Full,
    Flows(bool),
}

impl Watch<'_> {
    /// Looks no further than the first exit found so far.
    fn horizon(&self) -> f64 {
        self.first.map_or(self.view.segment.length_s, |first| first.t_s)
    }

    fn found(&mut self, t: Option<f64>, exit: Exit) {
        self.found_at(t, exit, None);
    }

    fn found_at(&mut self, t: Option<f64>, exit: Exit, target: Option<Target>) {
        if let Some(t_s) = t
            && self.first.is_none_or(|first| t_s < first.t_s)
        {
            self.first = Some(Found { t_s, exit, target });
        }
    }

    /// A pressure with the width of its noise.
    fn level(&self, pressure: f64) -> Level {
        let band = match self.view.whole {
            Some(_) => band_whole(pressure),
            None => self.view.system.noise_pa(pressure),
        };
        Level { at: pressure, band }
    }

    fn falls(&mut self, sum: &Sum, level: Level, exit: Exit) {
        let horizon = self.horizon();
        self.view.segment.course(sum, self.course);
        let t = first_below(&*self.course, level, 0.0, horizon, self.work);
        let (sum, level) = (*sum, level.at);
        self.found_at(t, exit, Some(Target { sum, level }));
    }

    fn rises(&mut self, sum: &Sum, level: Level, exit: Exit) {
        let horizon = self.horizon();
        self.view.segment.course(sum, self.course);
        let t = first_above(&*self.course, level, 0.0, horizon, self.work);
        let (sum, level) = (*sum, level.at);
        self.found_at(t, exit, Some(Target { sum, level }));
    }

    fn floors(&mut self) {
        let crew = self.view.crew;
        for person in (0..crew.people.len()).filter(|&person| !crew.people[person].masked) {
            let Place::Compartment(a) = crew.people[person].air else {
                continue;
            };
            // Who shares a room shares its end; the first of the file stands for all.
            if self.view.crew.people[..person]
                .iter()
                .any(|other| other.air == Place::Compartment(a) && !other.masked)
            {
                continue;
            }
            if self.view.ranges.p[OXYGEN][a].lo < self.view.case.oxygen_floor_pa {
                let level = Level::new(self.view.case.oxygen_floor_pa);
                self.falls(&Sum::partial(OXYGEN, a), level, Exit::Floor(a, person));
            }
        }
    }

    fn oxygen_holds(&mut self) {
        for (index, hold) in self.view.case.holds.iter().enumerate() {
            let (Some(oxygen), true) = (hold.oxygen_pa, self.view.mode.oxygen_works(self.view.case, index)) else {
                continue;
            };
            let c = hold.compartment;
            let quantity = Quantity {
                sum: Sum::partial(OXYGEN, c),
                range: self.view.ranges.p[OXYGEN][c],
                set_pa: oxygen,
            };
            let mode = self.view.mode;
            let flow = match self.view.whole {
                Some((plumbing, _)) => plumbing.oxygen_tap[index].map(Flow::Tap),
                None => Some(Flow::Sum(oxygen_flow(self.view.system, c))),
            };
            if let Regulation::Proportional { .. } = hold.oxygen_by {
                self.knee(hold.oxygen_by, mode.oxygen_knee[index], &quantity, |to| {
                    Exit::Knee(index, true, to)
                });
                continue;
            }
            let state = (mode.oxygen_flows[index], mode.oxygen_full[index]);
            self.hold(hold.oxygen_by, state, &quantity, flow, |how| match how {
                Turn::Full => Exit::OxygenFull(index),
                Turn::Flows(flows) => Exit::OxygenHold(index, flows),
            });
        }
    }

    fn pressure_holds(&mut self) {
        for group in 0..self.view.system.n {
            if self.view.system.group[group] != group {
                continue;
            }
            let Some(index) = self.view.mode.governing_hold(self.view.case, group) else {
                continue;
            };
            let hold = self.view.case.holds[index];
            let Some(pressure) = hold.pressure_pa else { continue };
            let quantity = Quantity {
                sum: Sum::total(group),
                range: self.view.ranges.pressure[group],
                set_pa: pressure,
            };
            let mode = self.view.mode;
            let flow = match self.view.whole {
                Some((plumbing, _)) => plumbing.pressure_tap[index].map(Flow::Tap),
                None => Some(Flow::Sum(diluent_flow(self.view.system, group))),
            };
            if let Regulation::Proportional { .. } = hold.pressure_by {
                self.knee(hold.pressure_by, mode.pressure_knee[index], &quantity, |to| {
                    Exit::Knee(index, false, to)
                });
                continue;
            }
            let state = (mode.pressure_flows[index], mode.pressure_full[index]);
            self.hold(hold.pressure_by, state, &quantity, flow, |how| match how {
                Turn::Full => Exit::PressureFull(index),
                Turn::Flows(flows) => Exit::PressureHold(index, flows),
            });
        }
    }

    /// Looks for the knees next to that part of a proportional hold's law that holds.
    fn knee(&mut self, by: Regulation, now: Knee, quantity: &Quantity, exit: impl Fn(Knee) -> Exit) {
        for (up, at_pa, to) in now.ways_out(by, quantity.set_pa).into_iter().flatten() {
            let level = self.level(at_pa);
            if up && quantity.range.hi > at_pa {
                self.rises(&quantity.sum, level, exit(to));
            } else if !up && quantity.range.lo < at_pa {
                self.falls(&quantity.sum, level, exit(to));
            }
        }
    }

    /// Looks for the end of a hold's way: flowing (and full), by its regulation.
    fn hold(
        &mut self,
        by: Regulation,
        (flows, full): (bool, bool),
        quantity: &Quantity,
        flow: Option<Flow>,
        exit: impl Fn(Turn) -> Exit,
    ) {
        let set = quantity.set_pa;
        match by {
            Regulation::Proportional { .. } => {}
            _ if full => {
                if quantity.range.hi > set {
                    let back = !matches!(by, Regulation::Band { .. });
                    let level = if back { self.level(set) } else { Level::new(set) };
                    self.rises(&quantity.sum, level, exit(Turn::Flows(back)));
                }
            }
            Regulation::Band { width_pa, .. } => {
                if quantity.range.lo < set - width_pa {
                    self.falls(&quantity.sum, self.level(set - width_pa), exit(Turn::Full));
                }
            }
            _ if flows => {
                let Some(flow) = flow else { return };
                let (range, band) = self.flow_range(&flow);
                if range.lo < -band {
                    self.flow_course(&flow);
                    let horizon = self.horizon();
                    let t = first_below(&*self.course, Level { at: 0.0, band }, 0.0, horizon, self.work);
                    self.found(t, exit(Turn::Flows(false)));
                }
                if let Regulation::Limited { most_mol_s } = by
                    && range.hi > most_mol_s + band
                {
                    self.flow_course(&flow);
                    let (horizon, level) = (self.horizon(), Level { at: most_mol_s, band });
                    let t = first_above(&*self.course, level, 0.0, horizon, self.work);
                    self.found(t, exit(Turn::Full));
                }
            }
            _ => {
                if quantity.range.lo < set {
                    self.falls(&quantity.sum, self.level(set), exit(Turn::Flows(true)));
                }
            }
        }
    }

    /// Writes the course of a flow.
    fn flow_course(&mut self, flow: &Flow) {
        match (flow, self.view.whole) {
            (Flow::Tap(tap), Some((_, maker))) => {
                self.course.clear();
                maker.add_course(self.view.segment, *tap, 1.0, self.course);
            }
            (Flow::Sum(sum), _) => self.view.segment.course(sum, self.course),
            (Flow::Tap(_), None) => self.course.clear(),
        }
    }

    /// A true range of a flow, and the width within which it counts as zero, mol/s.
    fn flow_range(&self, flow: &Flow) -> (Range, f64) {
        match (flow, self.view.whole) {
            (Flow::Tap(tap), Some((_, maker))) => (maker.range(self.view.segment, *tap), WHOLE_BAND_MOL_S),
            (Flow::Sum(sum), _) => (
                self.view.sum_range(sum),
                valve_band(sum, self.view.system, self.view.stocks),
            ),
            (Flow::Tap(_), None) => (Range::point(0.0), 0.0),
        }
    }

    fn reliefs(&mut self) {
        for (a, compartment) in self.view.case.compartments.iter().enumerate() {
            let Some(relief) = compartment.relief else { continue };
            let range = self.view.ranges.pressure[a];
            if self.view.mode.relief[a] {
                if range.lo < relief.closes_pa {
                    self.falls(&Sum::total(a), Level::new(relief.closes_pa), Exit::Relief(a, false));
                }
            } else if range.hi > relief.opens_pa {
                let level = self.level(relief.opens_pa);
                self.rises(&Sum::total(a), level, Exit::Relief(a, true));
            }
        }
    }

    /// Transfers whose end is a pressure.
    fn transfers(&mut self) {
        for (place, running) in self.view.mode.transfers.iter().enumerate() {
            if running.until.is_some() {
                continue;
            }
            let exit = Exit::Transfer(place);
            match running.effect {
                Effect::Vent { compartment, .. } => {
                    self.falls(&Sum::total(compartment), Level::new(running.target_pa), exit);
                }
                Effect::Fill { compartment, .. } => {
                    self.rises(&Sum::total(compartment), Level::new(running.target_pa), exit);
                }
                Effect::Equalise { opening, .. } => {
                    let mut difference = Sum::default();
                    for (place, sign) in self.view.case.openings[opening].between.into_iter().zip([1.0, -1.0]) {
                        match place {
                            Place::Compartment(a) => difference.pressure[a] += sign,
                            Place::Outside => {
                                difference.constant += sign * self.view.case.outside.partial_pa.iter().sum::<f64>();
                            }
                        }
                    }
                    self.falls(&difference, Level::new(running.target_pa), exit);
                    self.rises(&difference, Level::new(-running.target_pa), exit);
                }
                _ => {}
            }
        }
    }

    /// Tanks that run dry: what is left to deliver, less what has flowed, comes to zero.
    fn tanks(&mut self) {
        for (tank, spec) in self.view.case.tanks.iter().enumerate() {
            if self.view.mode.dry[tank] {
                continue;
            }
            let left = self.view.stocks.tank_mol[tank] - spec.residue_mol;
            let most = self.view.most_drawn(tank);
            if left - most * self.view.segment.length_s > DRY_BAND_MOL {
                continue;
            }
            let horizon = self.horizon();
            self.view.draw(tank, self.course);
            let stock = Stock {
                start: left,
                rate: self.course,
            };
            let level = Level {
                at: 0.0,
                band: DRY_BAND_MOL,
            };
            let t = first_below(&stock, level, 0.0, horizon, self.work);
            self.found(t, Exit::TankDry(tank));
        }
    }

    /// Valves of suits.
    fn suits(&mut self) {
        let Some((plumbing, _)) = self.view.whole else { return };
        for worn in &plumbing.worn {
            match worn.valve {
                SuitValve::Supplying | SuitValve::Relieving => {
                    let flow = Flow::Tap(worn.through);
                    let (range, band) = self.flow_range(&flow);
                    if range.lo < -band {
                        self.flow_course(&flow);
                        let (horizon, level) = (self.horizon(), Level { at: 0.0, band });
                        let t = first_below(&*self.course, level, 0.0, horizon, self.work);
                        self.found(t, Exit::SuitRelief(worn.suit, worn.valve == SuitValve::Supplying));
                    }
                }
                SuitValve::Closed => {
                    let mut above = Sum::total(worn.s);
                    match worn.room {
                        Some(a) => above.pressure[a] -= 1.0,
                        None => above.constant -= worn.around_pa,
                    }
                    let band = self.level(self.view.stocks.pressure(worn.s)).band;
                    let at = worn.above_pa;
                    self.rises(&above, Level { at, band }, Exit::SuitRelief(worn.suit, true));
                }
            }
        }
    }

    /// Rooms that are vented or filled, where gas is too thin to ask of fractions.
    fn thin(&mut self) {
        for place in 0..self.view.mode.transfers.len() {
            for a in self.view.mode.transfers[place]
                .ends(self.view.case)
                .into_iter()
                .flatten()
            {
                let level = Level::new(THIN_PA);
                if self.view.mode.thin[a] {
                    self.rises(&Sum::total(a), level, Exit::Thin(a, false));
                } else if self.view.ranges.pressure[a].lo < THIN_PA {
                    self.falls(&Sum::total(a), level, Exit::Thin(a, true));
                }
            }
        }
    }

    fn devices(&mut self) {
        for (d, device) in self.view.case.devices.iter().enumerate() {
            let a = device.serves;
            for (taken, species) in TAKEN.into_iter().enumerate() {
                let pieces = device.pieces(species);
                if pieces < 2 || self.view.mode.coil_drifts(self.view.case, d) {
                    continue;
                }
                let piece = self.view.mode.piece[d][taken];
                let range = self.view.ranges.p[species as usize][a];
                let temperature = self.view.case.compartments[a].temperature_k;
                let from = |piece: usize| -> Line { device.line(species, piece, temperature, 1.0) };
                let sum = Sum::partial(species as usize, a);
                if piece > 0 && range.lo < from(piece).from_pa {
                    let level = self.level(from(piece).from_pa);
                    self.falls(&sum, level, Exit::Piece(d, taken, piece - 1));
                }
                if piece + 1 < pieces && range.hi > from(piece + 1).from_pa {
                    self.rises(
                        &sum,
                        Level::new(from(piece + 1).from_pa),
                        Exit::Piece(d, taken, piece + 1),
                    );
                }
            }
        }
    }
}
