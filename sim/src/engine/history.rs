//! The record of a run, for those who ask: even samples and first crossings. It evaluates segments and never splits them.

use crate::air::{
    Compartment, MOST, Place, Species, SurfaceKind, dew_point_k, inspired_oxygen_pa, oxygen_fraction, saturation_pa,
};
use crate::crew::{SWEAT_TAU_S, SWEAT_WEIGHTS};
use crate::timeline::Schedule;
use crate::units::Time;
use crate::upset::{DeviceNumber, Target};

use super::Case;
use super::course::Course;
use super::hardware::Hardware;
use super::indices::{CO2, OXYGEN, WATER};
use super::judge::Judge;
use super::mode::{Mode, TAKEN};
use super::people::{Crew, Doing};
use super::state::Stocks;
use super::trace::{CompartmentSample, Entry, Event, PersonSample, Sample, Trace};
use super::upset::number;
use super::view::View;

/// Dew points are told of no less vapour: a dew-point gap is kept of no less.
const LEAST_VAPOUR_PA: f64 = 1e-3;

/// Where the record has got to.
#[derive(Debug, Default)]
pub(crate) struct History {
    next: Time,
    crossed: Vec<bool>,
    /// Tanks that went below their reserve, not yet logged.
    reserves: Vec<(usize, Time)>,
    course: Course,
}

impl History {
    /// Forgets all.
    pub fn reset(&mut self) {
        self.next = Time::ZERO;
        self.crossed.clear();
        self.reserves.clear();
    }

    /// A tank went below its reserve.
    pub fn reserve(&mut self, tank: usize, at: Time) {
        self.reserves.push((tank, at));
    }

    /// Logs the tanks that went below their reserve since the last look.
    pub fn log_reserves(&mut self, trace: &mut Trace) {
        for (tank, at) in self.reserves.drain(..) {
            trace.log.push(Entry {
                at,
                event: Event::TankReserve(tank),
            });
        }
    }

    /// Takes the samples due in `[from, to)`.
    pub fn sample(
        &mut self,
        view: &View,
        (schedule, books): (&Schedule, &Hardware),
        (from, to): (Time, Time),
        trace: &mut Trace,
    ) {
        while self.next < to {
            let t = (self.next - from).seconds();
            let mut p = [[0.0; MOST]; 4];
            view.segment.at(t, &mut p);
            let liquid = |a: usize| liquid_at(view, a, t);
            let rates = |person: usize| rates_at(&view.crew.people[person], view.case, person, t);
            let warm = |a: usize| match view.segment.heat_at(a, t) {
                Some([air_k, humidity, gap_k]) => {
                    [air_k, humidity, gap_k + dew_point_k(p[WATER][a].max(LEAST_VAPOUR_PA))]
                }
                None => [
                    view.stocks.temperature_k[a],
                    p[WATER][a] / view.case.compartments[a].saturation_pa,
                    coldest_k(&view.case.compartments[a], view.stocks.temperature_k[a], None),
                ],
            };
            let mut sample = sample(view.case, view.crew, schedule, self.next, &p, liquid, warm, rates);
            for (tank, spec) in view.case.tanks.iter().enumerate() {
                view.draw(tank, &mut self.course);
                let left = view.stocks.tank_mol[tank] + self.course.integral(t);
                sample.tanks_kg.push(spec.gas.molar_mass_kg_mol() * left);
            }
            for d in 0..view.case.devices.len() {
                let held = view
                    .whole
                    .and_then(|(plumbing, maker)| maker.held_at(plumbing, view.segment, d, t));
                sample
                    .devices_kg
                    .push(held_kg(view.stocks.held_mol(view.case, d, held.as_ref())));
            }
            sample.taken_kg = taken_kg(view, books, t);
            sample.flow_m3_s = flows(view.case, view.mode, t);
            sample.runs.clone_from(&view.mode.on);
            trace.samples.push(sample);
            self.next = self.next + view.case.history_every.max(Time(1));
        }
    }

    /// Logs rules crossed for the first time since the last look.
    pub fn log_crossings(&mut self, judge: &Judge, trace: &mut Trace) {
        for (rule, at) in judge.crossed() {
            if self.crossed.len() <= rule {
                self.crossed.resize(rule + 1, false);
            }
            if !self.crossed[rule] {
                self.crossed[rule] = true;
                trace.log.push(Entry {
                    at,
                    event: Event::LimitCrossed(rule),
                });
            }
        }
    }

    /// The sample at the end of the run.
    pub fn last(
        &mut self,
        case: &Case,
        (stocks, mode): (&Stocks, &Mode),
        crew: &Crew,
        (schedule, books): (&Schedule, &Hardware),
        now: Time,
        trace: &mut Trace,
    ) {
        // Crossings were found after what happened later in their segment was logged.
        trace.log.sort_by_key(|entry| entry.at);
        let rates = |person: usize| rates_at(&crew.people[person], case, person, 0.0);
        let warm = |a: usize| {
            let compartment = &case.compartments[a];
            let saturation = if compartment.heat.is_some() {
                saturation_pa(stocks.temperature_k[a])
            } else {
                compartment.saturation_pa
            };
            [
                stocks.temperature_k[a],
                stocks.p[WATER][a] / saturation,
                coldest_k(compartment, stocks.temperature_k[a], Some(stocks.wall_k[a])),
            ]
        };
        let liquid = |a: usize| stocks.liquid_mol(a);
        let mut sample = sample(case, crew, schedule, now, &stocks.p, liquid, warm, rates);
        for (tank, spec) in case.tanks.iter().enumerate() {
            sample
                .tanks_kg
                .push(spec.gas.molar_mass_kg_mol() * stocks.tank_mol[tank]);
        }
        for d in 0..case.devices.len() {
            sample.devices_kg.push(held_kg(stocks.held_mol(case, d, None)));
        }
        sample.taken_kg = books.devices.iter().map(|book| held_kg(book.taken)).collect();
        sample.flow_m3_s = flows(case, mode, 0.0);
        sample.runs.clone_from(&mode.on);
        trace.samples.push(sample);
    }
}

/// The coldest surface of a compartment whose air has this temperature; its walls follow a heat balance where one is given.
fn coldest_k(compartment: &Compartment, air_k: f64, wall_k: Option<f64>) -> f64 {
    let walls = compartment.surfaces.iter().filter_map(|surface| match surface.kind {
        SurfaceKind::Mist => None,
        SurfaceKind::Wall if compartment.heat.is_some() => wall_k,
        SurfaceKind::Wall | SurfaceKind::ColdSpot => Some(surface.temperature_k),
    });
    walls.fold(air_k, f64::min)
}

/// What each device has taken out of the air since the start, `t` s into the segment, kg of CO2 and of water.
fn taken_kg(view: &View, books: &Hardware, t: f64) -> Vec<[f64; 2]> {
    let mut integral = [[0.0; MOST]; 4];
    view.segment.integral(t, &mut integral);
    let taken = view
        .case
        .devices
        .iter()
        .zip(&books.devices)
        .enumerate()
        .map(|(d, (device, book))| {
            let mut mol = book.taken;
            match view.whole {
                Some((plumbing, maker)) => {
                    if let Some(first) = plumbing.device_tap[d] {
                        for (k, mol) in mol.iter_mut().enumerate() {
                            *mol += maker.amount_to(view.segment, first + k, t);
                        }
                    }
                }
                None => {
                    let (a, factor) = (device.serves, view.mode.factor(view.case, d));
                    for (k, species) in TAKEN.into_iter().enumerate() {
                        if factor != 0.0 {
                            let temperature_k = view.case.compartments[a].temperature_k;
                            let line = device.line(species, view.mode.piece[d][k], temperature_k, factor);
                            mol[k] += line.conductance_mol_s_pa * integral[species as usize][a] - line.offset_mol_s * t;
                        }
                    }
                }
            }
            held_kg(mol)
        });
    taken.collect()
}

fn held_kg(mol: [f64; 2]) -> [f64; 2] {
    [
        Species::Co2.molar_mass_kg_mol() * mol[0],
        Species::Water.molar_mass_kg_mol() * mol[1],
    ]
}

/// What washes out slowly of a person's own CO2 adds to that of the air around them, Pa.
fn washed_out(case: &Case, air: Place, co2_mol_s: f64) -> f64 {
    match air {
        Place::Compartment(a) => case.compartments[a].washout_pa_s_mol * co2_mol_s,
        Place::Outside => 0.0,
    }
}

#[expect(clippy::too_many_arguments, reason = "a sample is of everything")]
fn sample(
    case: &Case,
    crew: &Crew,
    schedule: &Schedule,
    at: Time,
    p: &[[f64; MOST]; 4],
    liquid_mol: impl Fn(usize) -> f64,
    warm: impl Fn(usize) -> [f64; 3],
    rates: impl Fn(usize) -> [f64; 3],
) -> Sample {
    let compartments = (0..case.compartments.len()).map(|a| {
        let partial_pa = [0, 1, 2, 3].map(|i| p[i][a]);
        CompartmentSample {
            partial_pa,
            pressure_pa: partial_pa.iter().sum(),
            humidity: warm(a)[1],
            temperature_k: warm(a)[0],
            liquid_water_kg: Species::Water.molar_mass_kg_mol() * liquid_mol(a).max(0.0),
            claimed_m3: schedule.claimed_m3(a),
            coldest_k: warm(a)[2],
        }
    });
    let people = crew.people.iter().enumerate().map(|(person, doing)| {
        let [oxygen_mol_s, co2_mol_s, vapour_mol_s] = rates(person);
        let breathed = |species: usize| match doing.air {
            Place::Compartment(a) => Some(p[species][a]),
            Place::Outside => None,
        };
        PersonSample {
            place: doing.place,
            effort: doing.effort,
            suit: doing.suit,
            oxygen_mol_s,
            co2_mol_s,
            vapour_mol_s,
            breathed_co2_pa: breathed(CO2).map(|pa| pa + washed_out(case, doing.air, co2_mol_s)),
            breathed_oxygen_pa: breathed(OXYGEN),
            inspired_oxygen_pa: match doing.air {
                Place::Compartment(a) => {
                    let partial_pa = [0, 1, 2, 3].map(|i| p[i][a]);
                    Some(inspired_oxygen_pa(
                        partial_pa.iter().sum(),
                        oxygen_fraction(&partial_pa),
                    ))
                }
                Place::Outside => None,
            },
        }
    });
    Sample {
        at,
        compartments: compartments.collect(),
        people: people.collect(),
        tanks_kg: Vec::new(),
        devices_kg: Vec::new(),
        taken_kg: Vec::new(),
        flow_m3_s: Vec::new(),
        runs: Vec::new(),
    }
}

/// What flows through each device `t` s into a segment, m3/s.
fn flows(case: &Case, mode: &Mode, t: f64) -> Vec<Option<f64>> {
    let flow = |device: usize| {
        let target = Target::Device {
            device,
            number: DeviceNumber::Flow,
        };
        let plain = number(case, target)?;
        let drift = mode.drifts.iter().find(|drift| drift.target == target);
        let now = drift.map_or(plain, |drift| drift.at(t));
        Some(if mode.on[device] { now } else { 0.0 })
    };
    (0..case.devices.len()).map(flow).collect()
}

/// Oxygen use, CO2 and vapour output of a person `t` s into the segment, mol/s.
fn rates_at(doing: &Doing, case: &Case, person: usize, t: f64) -> [f64; 3] {
    let load = doing.target(case, person);
    let t = t - doing.ahead_s;
    let lagged = |rate: f64, target: f64, tau: f64| target + (rate - target) * libm::exp(-t / tau);
    let gas = case.people[person].gas_lag_s;
    let vapour = (0..2)
        .map(|j| SWEAT_WEIGHTS[j] * lagged(doing.sweat[j], load.vapour_mol_s, SWEAT_TAU_S[j]))
        .sum();
    [
        lagged(doing.oxygen, load.oxygen_mol_s, gas),
        lagged(doing.co2, load.co2_mol_s, gas),
        vapour,
    ]
}

/// Liquid of a compartment `t` s into the segment, mol.
fn liquid_at(view: &View, a: usize, t: f64) -> f64 {
    let mut integral = [[0.0; MOST]; 4];
    view.segment.integral(t, &mut integral);
    let mut liquid: f64 = 0.0;
    for (s, surface) in view.case.compartments[a].surfaces.iter().enumerate() {
        liquid += view.stocks.film_mol[a][s];
        if view.mode.wet[a][s] {
            liquid += surface.conductance_mol_s_pa * (integral[WATER][a] - surface.saturation_pa * t);
        }
    }
    let steady = view.crew.runoff_to_towel(view.case, a) * view.case.towel_drying_s;
    liquid + steady + (view.stocks.towel_mol[a] - steady) * libm::exp(-t / view.case.towel_drying_s)
}
