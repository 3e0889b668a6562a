//! A case from the parts of a scenario and the values of its inputs.
//!
//! What no input changes is copied from the case at the medians; only what varies is computed anew. Buffers of the drawn
//! case are used again.

use crate::air::{
    Compartment, Film, GAS_CONSTANT_J_MOL_K, Hold, Opening, Outside, Species, Surface, SurfaceKind, density_kg_m3,
    partials, saturation_pa, wall_conductance_mol_s_pa,
};
use crate::crew::{Body, Person, Profile, Rates, StageSpec, fixed_rates, profile};
use crate::engine::Case;
use crate::limits::{Rule, Statistic};
use crate::removal::{Cycle, Device, Removal};
use crate::timeline::{Plan, Task};
use crate::units::Time;

use super::blueprint::{
    AirNums, Blueprint, CompartmentNums, CycleNums, DeviceNums, EffortNums, Family, LoadNums, Parts, PersonNums,
    RuleNums, WallNums,
};
use super::num::Num;
use super::{Drawn, Input, Luck, Scenario};

/// Time constant with which vapour above saturation at the air temperature turns to mist, s. Assumption: droplets form
/// within seconds where there are nuclei, which a cabin has.
const MIST_S: f64 = 10.0;
/// Time constant of walls at instant equilibrium ("optimistic"), s.
const OPTIMISTIC_S: f64 = 0.1;
/// Part of the walls that a cold spot takes if its area is not given. Assumption.
const COLD_SPOT_PART: f64 = 0.02;

impl Scenario {
    /// Draws one variation.
    #[must_use]
    pub fn draw(&self, luck: &dyn Luck) -> Drawn {
        let mut drawn = Drawn::default();
        self.draw_into(luck, &mut drawn);
        drawn
    }

    /// Draws one variation into buffers that are used again. Whatever the buffers held is replaced.
    pub fn draw_into(&self, luck: &dyn Luck, drawn: &mut Drawn) {
        let blueprint = &self.blueprint;
        drawn.values.clear();
        for (n, input) in self.inputs.iter().enumerate() {
            let once = blueprint.draws.get(n).is_none_or(|draws| *draws == 0);
            drawn.values.push(if once { input.spread.quantile(luck.uniform(n, 0, 0)) } else { 0.0 });
        }
        copy_case(&blueprint.template, &mut drawn.case);
        fill(&blueprint.parts, &mut drawn.case, &drawn.values, false);
        turns(blueprint, &self.inputs, luck, drawn);
        for (value, draws) in drawn.values.iter_mut().zip(&blueprint.draws) {
            if *draws > 1 {
                *value /= f64::from(*draws);
            }
        }
    }
}

/// The blueprint with its case at the medians.
pub(super) fn blueprint(parts: Parts, plan: Plan, rules: Vec<Rule>, inputs: &[Input]) -> Blueprint {
    let medians: Vec<f64> = inputs.iter().map(|i| i.spread.median()).collect();
    let mut draws = vec![0; inputs.len()];
    for turn in &parts.turns {
        let task = &parts.tasks[turn.entry];
        for input in [task.at.input(), task.duration.input()].into_iter().flatten() {
            if inputs[input].per_turn {
                draws[input] += 1;
            }
        }
    }
    let mut case = Case { plan, rules, ..Case::default() };
    case.compartments = parts.compartments.iter().map(|_| empty_compartment()).collect();
    case.openings = parts
        .openings
        .iter()
        .map(|o| Opening { between: o.between, exchange_m3_s: 0.0, open: o.open, opens_within_pa: 0.0 })
        .collect();
    case.devices = parts.devices.iter().map(|d| device(d, &medians)).collect();
    case.holds = parts
        .holds
        .iter()
        .map(|h| Hold { compartment: h.compartment, oxygen_pa: None, pressure_pa: None })
        .collect();
    case.people = parts
        .people
        .iter()
        .map(|p| Person {
            gas_lag_s: 0.0,
            start: p.start,
            home: p.home,
            idle: p.idle,
            profiles: parts.efforts.iter().map(|_| Profile { stages: Vec::new(), sweat_lag: false, towel: false }).collect(),
        })
        .collect();
    fill(&parts, &mut case, &medians, true);
    Blueprint { template: case, parts, draws }
}

/// Computes the values of a case whose structure is there: all of them, or those that an input changes.
fn fill(parts: &Parts, case: &mut Case, values: &[f64], all: bool) {
    let of = |num: Option<Num>, otherwise: f64| num.map_or(otherwise, |n| n.of(values));
    case.duration = Time::from_seconds(of(parts.duration, 0.0));
    case.history_every = Time::from_seconds(parts.history_every_s);
    case.oxygen_floor_pa = of(parts.oxygen_floor, 0.0);
    case.towel_drying_s = of(parts.towel_drying, 3600.0);
    cabin(parts, case, values, all);
    for (n, nums) in parts.openings.iter().enumerate() {
        case.openings[n].exchange_m3_s = nums.exchange.of(values);
        case.openings[n].opens_within_pa = nums.opens_within.of(values);
    }
    for (n, nums) in parts.devices.iter().enumerate() {
        if all || device_varies(nums) {
            fill_device(nums, &mut case.devices[n], values);
        }
    }
    for (n, nums) in parts.holds.iter().enumerate() {
        case.holds[n].oxygen_pa = nums.oxygen.map(|x| x.of(values));
        case.holds[n].pressure_pa = nums.pressure.map(|x| x.of(values));
    }
    if all {
        case.plan.effort_space_m3 = parts.efforts.iter().map(|e| e.space.of(values)).collect();
    } else {
        for (n, effort) in parts.efforts.iter().enumerate() {
            case.plan.effort_space_m3[n] = effort.space.of(values);
        }
    }
    people(parts, case, values, all);
    for (n, nums) in parts.rules.iter().enumerate() {
        if all || nums.limit.varies() || nums.second.is_some_and(Num::varies) {
            rule(*nums, &mut case.rules[n], values);
        }
    }
}

fn cabin(parts: &Parts, case: &mut Case, values: &[f64], all: bool) {
    let Some(common) = parts.air else { return };
    let gravity = parts.gravity.unwrap_or(Num::Fixed(crate::air::EARTH_GRAVITY_M_S2));
    if let Some(outside) = parts.outside
        && (all || outside.varies())
    {
        case.outside = Outside { partial_pa: gas(&outside, values), temperature_k: outside.temperature.of(values) };
    }
    let common_varies = common.varies();
    for (n, nums) in parts.compartments.iter().enumerate() {
        if !(all || compartment_varies(nums) || common_varies || gravity.varies()) {
            continue;
        }
        let compartment = &mut case.compartments[n];
        let t = nums.air.temperature.of(values);
        compartment.volume_m3 = nums.volume.of(values);
        compartment.usable_m3 = nums.usable.of(values);
        compartment.temperature_k = t;
        compartment.partial_pa = gas(&nums.air, values);
        compartment.saturation_pa = saturation_pa(t);
        let leak = nums.leak.of(values);
        compartment.leak_m3_s = if leak > 0.0 {
            leak / density_kg_m3(&gas(&common, values), common.temperature.of(values))
        } else {
            0.0
        };
        surfaces(nums, gravity.of(values), compartment, values);
    }
}

fn compartment_varies(nums: &CompartmentNums) -> bool {
    let walls = nums.walls.is_some_and(|w| {
        w.area.varies() || [w.temperature, w.cold_spot, w.cold_spot_area, w.film].into_iter().flatten().any(Num::varies)
    });
    nums.volume.varies() || nums.usable.varies() || nums.leak.varies() || nums.air.varies() || walls
}

fn empty_compartment() -> Compartment {
    Compartment {
        volume_m3: 0.0,
        usable_m3: 0.0,
        temperature_k: 0.0,
        partial_pa: [0.0; 4],
        saturation_pa: 0.0,
        leak_m3_s: 0.0,
        surfaces: Vec::new(),
    }
}

/// Partial pressures. A draw whose parts exceed the whole (the medians' do not) keeps its vapour and CO2 and fills up
/// with oxygen.
fn gas(air: &AirNums, values: &[f64]) -> [f64; 4] {
    let pressure = air.pressure.of(values);
    let (oxygen, co2) = (air.oxygen.of(values), air.co2.of(values));
    let (humidity, temperature) = (air.humidity.of(values), air.temperature.of(values));
    partials(pressure, oxygen, co2, humidity, temperature).unwrap_or_else(|_| {
        let water = (humidity * saturation_pa(temperature)).min(pressure);
        let co2 = co2.min(pressure - water);
        let mut gas = [0.0; 4];
        gas[Species::Water as usize] = water;
        gas[Species::Co2 as usize] = co2;
        gas[Species::Oxygen as usize] = pressure - water - co2;
        gas
    })
}

/// Walls, cold spot and mist of a compartment whose gas is there.
fn surfaces(nums: &CompartmentNums, gravity: f64, compartment: &mut Compartment, values: &[f64]) {
    compartment.surfaces.clear();
    if let Some(walls) = nums.walls {
        let area = walls.area.of(values);
        let spot_area = walls.cold_spot.map_or(0.0, |_| {
            walls.cold_spot_area.map_or(COLD_SPOT_PART * area, |a| a.of(values)).min(area)
        });
        let wall_k = walls.temperature.map_or(compartment.temperature_k, |t| t.of(values));
        let wall = surface(SurfaceKind::Wall, wall_k, area - spot_area, area, &walls, gravity, compartment, values);
        compartment.surfaces.push(wall);
        if let Some(cold) = walls.cold_spot {
            let cold_k = cold.of(values);
            let spot = surface(SurfaceKind::ColdSpot, cold_k, spot_area, area, &walls, gravity, compartment, values);
            compartment.surfaces.push(spot);
        }
    }
    compartment.surfaces.push(Surface {
        kind: SurfaceKind::Mist,
        temperature_k: compartment.temperature_k,
        saturation_pa: compartment.saturation_pa,
        conductance_mol_s_pa: conductance_of(MIST_S, compartment),
    });
}

#[allow(clippy::too_many_arguments)] // one surface takes all of these, and a struct for them would have one user
fn surface(
    kind: SurfaceKind,
    surface_k: f64,
    area_m2: f64,
    whole_area_m2: f64,
    walls: &WallNums,
    gravity: f64,
    compartment: &Compartment,
    values: &[f64],
) -> Surface {
    let conductance = if walls.optimistic {
        conductance_of(OPTIMISTIC_S, compartment) * area_m2 / whole_area_m2
    } else {
        let film = walls.film.map_or(Film::Natural(gravity), |f| Film::Given(f.of(values)));
        let pressure = crate::air::total_pa(&compartment.partial_pa);
        let oxygen = crate::air::oxygen_fraction(&compartment.partial_pa);
        wall_conductance_mol_s_pa(film, area_m2, pressure, oxygen, compartment.temperature_k, surface_k)
    };
    Surface { kind, temperature_k: surface_k, saturation_pa: saturation_pa(surface_k), conductance_mol_s_pa: conductance }
}

/// Conductance that takes excess vapour out of a compartment with this time constant: V / (R T tau).
fn conductance_of(tau_s: f64, compartment: &Compartment) -> f64 {
    compartment.volume_m3 / (GAS_CONSTANT_J_MOL_K * compartment.temperature_k * tau_s)
}

fn device_varies(nums: &DeviceNums) -> bool {
    let family = match &nums.family {
        Family::FlowThrough { flow, co2, water } => [flow, co2, water].into_iter().any(|n| n.varies()),
        Family::Curve { co2, water, .. } => co2.iter().chain(water).any(|(p, q)| p.varies() || q.varies()),
        Family::Condenser { flow, bypass, coil } => [flow, bypass, coil].into_iter().any(|n| n.varies()),
    };
    family || nums.cycle.as_ref().is_some_and(|c| c.every.varies() || c.factors.iter().any(|f| f.varies()))
}

fn device(nums: &DeviceNums, values: &[f64]) -> Device {
    let removal = match &nums.family {
        Family::FlowThrough { .. } => Removal::FlowThrough { flow_m3_s: 0.0, co2_efficiency: 0.0, water_efficiency: 0.0 },
        Family::Curve { .. } => Removal::Curve { co2: Vec::new(), water: Vec::new() },
        Family::Condenser { .. } => {
            Removal::Condenser { flow_m3_s: 0.0, bypass: 0.0, coil_saturation_pa: 0.0, coil_temperature_k: 0.0 }
        }
    };
    let cycle = nums.cycle.as_ref().map(|_| Cycle { every: Time::ZERO, factors: Vec::new() });
    let mut device = Device { serves: nums.serves, on: nums.on, removal, cycle };
    fill_device(nums, &mut device, values);
    device
}

fn fill_device(nums: &DeviceNums, device: &mut Device, values: &[f64]) {
    let mut highest = 0.0_f64;
    match (&nums.family, &mut device.removal) {
        (Family::FlowThrough { flow, co2, water }, Removal::FlowThrough { flow_m3_s, co2_efficiency, water_efficiency }) => {
            *flow_m3_s = flow.of(values);
            *co2_efficiency = co2.of(values);
            *water_efficiency = water.of(values);
            highest = co2_efficiency.max(*water_efficiency);
        }
        (Family::Curve { co2, water, .. }, Removal::Curve { co2: co2_to, water: water_to }) => {
            points(co2, co2_to, values);
            points(water, water_to, values);
        }
        (Family::Condenser { flow, bypass, coil }, Removal::Condenser { flow_m3_s, bypass: part, coil_saturation_pa, coil_temperature_k }) => {
            *flow_m3_s = flow.of(values);
            *part = bypass.of(values);
            *coil_temperature_k = coil.of(values);
            *coil_saturation_pa = saturation_pa(*coil_temperature_k);
        }
        _ => {}
    }
    if let (Some(from), Some(to)) = (&nums.cycle, &mut device.cycle) {
        cycle(from, to, highest, values);
    }
}

/// Points of a curve; where spreads let two meet or cross, the later pressure is moved up just enough to rise.
fn points(from: &[(Num, Num)], to: &mut Vec<(f64, f64)>, values: &[f64]) {
    to.clear();
    let mut before = 0.0_f64;
    for (pressure, rate) in from {
        let p = pressure.of(values).max(before * (1.0 + 1e-9));
        to.push((p, rate.of(values)));
        before = p;
    }
}

/// Turns; a factor is held to what makes the efficiency one.
fn cycle(from: &CycleNums, to: &mut Cycle, highest: f64, values: &[f64]) {
    to.every = Time::from_seconds(from.every.of(values));
    to.factors.clear();
    for factor in &from.factors {
        let factor = factor.of(values);
        to.factors.push(if factor * highest > 1.0 { 1.0 / highest } else { factor });
    }
}

fn people(parts: &Parts, case: &mut Case, values: &[f64], all: bool) {
    for (n, nums) in parts.people.iter().enumerate() {
        let person = &mut case.people[n];
        person.gas_lag_s = nums.gas_lag.of(values);
        let body_varies = [nums.mass, nums.height, nums.age].into_iter().any(Num::varies) || nums.fitness.is_some_and(Num::varies);
        for (e, effort) in parts.efforts.iter().enumerate() {
            if all || effort_varies(effort, nums, body_varies) {
                person.profiles[e] = profile_of(effort, nums, values);
            }
        }
    }
}

fn effort_varies(effort: &EffortNums, person: &PersonNums, body_varies: bool) -> bool {
    match &effort.load {
        LoadNums::Stages(stages) => {
            stages.iter().any(|s| s.lasts.is_some_and(Num::varies) || s.rates.iter().flatten().any(|n| n.varies()))
        }
        LoadNums::Power(power) | LoadNums::PerArea(power) => {
            power.varies() || body_varies || effort.quotient.unwrap_or(person.quotient).varies()
        }
        LoadNums::Builtin(_) => body_varies || effort.quotient.unwrap_or(person.quotient).varies(),
    }
}

fn profile_of(effort: &EffortNums, person: &PersonNums, values: &[f64]) -> Profile {
    let body = Body {
        mass_kg: person.mass.of(values),
        height_m: person.height.of(values),
        age_y: person.age.of(values),
        sex: person.sex,
        fitness_m3_kg_s: person.fitness.map(|f| f.of(values)),
    };
    let quotient = effort.quotient.unwrap_or(person.quotient).of(values);
    let towel = effort.towel.unwrap_or(person.towel);
    let one = |rates| profile(&[StageSpec { lasts: None, rates }], &body, quotient, towel);
    match &effort.load {
        LoadNums::Builtin(stages) => profile(stages, &body, quotient, towel),
        LoadNums::Power(power) => one(Rates::Power { power_w: power.of(values) }),
        LoadNums::PerArea(power) => one(Rates::PerArea { power_w_m2: power.of(values) }),
        LoadNums::Stages(stages) => {
            let specs: Vec<StageSpec> = stages
                .iter()
                .map(|s| {
                    let [oxygen, co2, vapour, runoff, sensible] = s.rates.map(|rate| rate.map(|n| n.of(values)));
                    StageSpec {
                        lasts: s.lasts.map(|t| Time::from_seconds(t.of(values))),
                        rates: Rates::Fixed(fixed_rates(oxygen, co2, vapour, runoff, sensible)),
                    }
                })
                .collect();
            profile(&specs, &body, quotient, towel)
        }
    }
}

fn rule(nums: RuleNums, rule: &mut Rule, values: &[f64]) {
    rule.limit = nums.limit.of(values);
    let Some(second) = nums.second.map(|n| n.of(values)) else { return };
    match &mut rule.statistic {
        Statistic::Moving { window } => *window = Time::from_seconds(second),
        Statistic::Shift { length } => *length = Time::from_seconds(second),
        Statistic::Allowance { threshold, .. } => *threshold = second,
        Statistic::Instant | Statistic::Mission => {}
    }
}

/// Start and duration of every turn of every task.
fn turns(blueprint: &Blueprint, inputs: &[Input], luck: &dyn Luck, drawn: &mut Drawn) {
    let parts = &blueprint.parts;
    for (n, turn) in parts.turns.iter().enumerate() {
        let nums = &parts.tasks[turn.entry];
        if !(nums.at.varies() || nums.every.varies() || nums.duration.varies()) {
            continue;
        }
        let values = &mut drawn.values;
        let mut value = |num: Num| match num.input() {
            Some(input) if blueprint.draws[input] > 0 => {
                let x = num.kept(inputs[input].spread.quantile(luck.uniform(input, turn.turn, turn.person)));
                values[input] += x;
                x
            }
            _ => num.of(values),
        };
        let at = value(nums.at);
        let every = value(nums.every);
        let duration = value(nums.duration);
        let task = &mut drawn.case.plan.tasks[n];
        task.earliest = Time::from_seconds(at + f64::from(turn.turn - 1) * every);
        task.duration = Time::from_seconds(duration).max(Time(1));
    }
}

/// Copies a case into the buffers of another.
fn copy_case(from: &Case, to: &mut Case) {
    to.duration = from.duration;
    to.history_every = from.history_every;
    to.outside = from.outside;
    to.oxygen_floor_pa = from.oxygen_floor_pa;
    to.towel_drying_s = from.towel_drying_s;
    to.openings.clone_from(&from.openings);
    to.holds.clone_from(&from.holds);
    to.rules.clone_from(&from.rules);
    to.plan.equipment.clone_from(&from.plan.equipment);
    to.plan.effort_space_m3.clone_from(&from.plan.effort_space_m3);
    copy_list(&from.compartments, &mut to.compartments, |a, b| {
        let surfaces = std::mem::take(&mut b.surfaces);
        *b = Compartment { surfaces, ..*a };
        b.surfaces.clone_from(&a.surfaces);
    });
    copy_list(&from.devices, &mut to.devices, copy_device);
    copy_list(&from.people, &mut to.people, |a, b| {
        let profiles = std::mem::take(&mut b.profiles);
        *b = Person { profiles, ..*a };
        copy_list(&a.profiles, &mut b.profiles, |a, b| {
            b.stages.clone_from(&a.stages);
            b.sweat_lag = a.sweat_lag;
            b.towel = a.towel;
        });
    });
    copy_list(&from.plan.tasks, &mut to.plan.tasks, copy_task);
}

/// Copies a list item by item, so that the items' own buffers are used again.
fn copy_list<T: Clone>(from: &[T], to: &mut Vec<T>, copy: impl Fn(&T, &mut T)) {
    to.truncate(from.len());
    for (a, b) in from.iter().zip(to.iter_mut()) {
        copy(a, b);
    }
    to.extend_from_slice(&from[to.len()..]);
}

fn copy_device(a: &Device, b: &mut Device) {
    b.serves = a.serves;
    b.on = a.on;
    match (&a.removal, &mut b.removal) {
        (Removal::Curve { co2, water }, Removal::Curve { co2: co2_to, water: water_to }) => {
            co2_to.clone_from(co2);
            water_to.clone_from(water);
        }
        (from, to) => to.clone_from(from),
    }
    match (&a.cycle, &mut b.cycle) {
        (Some(from), Some(to)) => {
            to.every = from.every;
            to.factors.clone_from(&from.factors);
        }
        (from, to) => to.clone_from(from),
    }
}

fn copy_task(a: &Task, b: &mut Task) {
    b.entry = a.entry;
    b.turn = a.turn;
    b.people.clone_from(&a.people);
    b.effort = a.effort;
    b.place = a.place;
    b.earliest = a.earliest;
    b.after.clone_from(&a.after);
    b.duration = a.duration;
    b.needs.clone_from(&a.needs);
    b.needs_space = a.needs_space;
    b.starts.clone_from(&a.starts);
    b.ends.clone_from(&a.ends);
}
