//! Holds an outcome of the engine against the reference for real hardware and lists every disagreement.
//!
//! Tolerances: partial pressures 1e-6 relative or 1e-4 Pa; masses and heats 1e-6 relative or what 1e-4 Pa is in a cabin of
//! 30 m3; temperatures 1e-6 relative; times 1 s; balances 1e-9.

use std::fmt::Write as _;

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Case, End, Engine, Outcome, RunError};
use breathroom_sim::timeline::Effect;
use breathroom_sim::units::Time;

use super::laws::{MASS, saturation_pa};
use super::{Failure, Solution, Stop, integrate, kg};

const RELATIVE: f64 = 1e-6;
const PRESSURE_PA: f64 = 1e-4;
const MASS_KG: f64 = 3e-8;
const HEAT_MJ: f64 = 1e-7;
const TIME_S: f64 = 1.0;
const BALANCE: f64 = 1e-9;

/// A list of disagreements.
#[derive(Debug, Default)]
struct Differences(String);

impl Differences {
    fn number(&mut self, what: &str, is: f64, should: f64, absolute: f64) {
        let allowed = absolute.max(RELATIVE * should.abs());
        // A value that is not a number agrees with nothing.
        let same = (is - should).abs() <= allowed;
        if !same {
            let _ = writeln!(
                self.0,
                "{what}: {is} instead of {should} (off {:e}, allowed {allowed:e})",
                is - should
            );
        }
    }

    fn mass(&mut self, what: &str, is: f64, should: f64) {
        self.number(&format!("{what}, kg"), is, should, MASS_KG);
    }

    fn masses(&mut self, what: &str, is: [f64; 4], should_mol: [f64; 4]) {
        for (s, should) in kg(should_mol).into_iter().enumerate() {
            self.mass(&format!("{what}, {:?}", Species::ALL[s]), is[s], should);
        }
    }

    fn time(&mut self, what: &str, is: Option<Time>, should: Option<Time>) {
        let same = match (is, should) {
            (None, None) => true,
            (Some(is), Some(should)) => (is.seconds() - should.seconds()).abs() <= TIME_S,
            _ => false,
        };
        self.truth(&format!("{what}: {is:?} instead of {should:?}"), same);
    }

    fn truth(&mut self, what: &str, same: bool) {
        if !same {
            let _ = writeln!(self.0, "{what}");
        }
    }
}

/// Runs a case on the engine and on the reference; the text of all disagreements, empty if there are none.
#[must_use]
pub fn disagreements(case: &Case) -> String {
    match (Engine::new().run(case, None), integrate(case)) {
        (Ok(outcome), Ok(solution)) => compare(case, &outcome, &solution),
        (Err(RunError::HatchAgainstPressure { at: is, opening, .. }), Err(Failure::Hatch { opening: o, at }))
            if opening == o && (is.seconds() - at.seconds()).abs() <= TIME_S =>
        {
            String::new()
        }
        (
            Err(RunError::Unsuited {
                at: is, compartment, ..
            }),
            Err(Failure::Unsuited { compartment: a, at }),
        ) if compartment == a && (is.seconds() - at.seconds()).abs() <= TIME_S => String::new(),
        (outcome, solution) => {
            let (outcome, solution) = (outcome.map(|o| o.end), solution.map(|s| s.stop));
            format!("the engine gave {outcome:?}, the reference {solution:?}\n")
        }
    }
}

/// The text of all disagreements between an outcome and the reference.
#[must_use]
pub fn compare(case: &Case, outcome: &Outcome, solution: &Solution) -> String {
    let mut out = Differences::default();
    ends(&mut out, case, outcome, solution);
    rooms(&mut out, case, outcome, solution);
    stocks(&mut out, case, outcome, solution);
    devices(&mut out, case, outcome, solution);
    transfers(&mut out, outcome, solution);
    totals(&mut out, outcome, solution);
    for (what, value) in [
        ("carbon", outcome.balance.carbon),
        ("oxygen", outcome.balance.oxygen),
        ("water", outcome.balance.water),
        ("diluent", outcome.balance.diluent),
    ] {
        out.number(&format!("balance of {what}"), value, 0.0, BALANCE);
    }
    out.0
}

fn ends(out: &mut Differences, case: &Case, outcome: &Outcome, solution: &Solution) {
    let (same, at) = match (outcome.end, solution.stop) {
        (End::Completed, Stop::Completed) => (true, case.duration),
        (
            End::OxygenFloor {
                at,
                compartment,
                person,
            },
            Stop::OxygenFloor(a, p),
        ) => (compartment == a && person == p, at),
        (
            End::Exhausted {
                at,
                compartment,
                species,
            },
            Stop::Exhausted(a, s),
        ) => (compartment == a && species as usize == s, at),
        _ => (false, case.duration),
    };
    let text = format!("it ended as {:?}, not as {:?}", outcome.end, solution.stop);
    out.truth(&text, same);
    out.number("time of the end, s", at.seconds(), solution.end_s, TIME_S);
}

fn rooms(out: &mut Differences, case: &Case, outcome: &Outcome, solution: &Solution) {
    out.truth(
        "one end state for each compartment",
        outcome.state_end.len() == solution.end.len(),
    );
    for (a, (is, should)) in outcome.state_end.iter().zip(&solution.end).enumerate() {
        for s in 0..4 {
            let what = format!("end, room {a}, {:?}, Pa", Species::ALL[s]);
            out.number(&what, is.partial_pa[s], should.partial_pa[s], PRESSURE_PA);
        }
        let total: f64 = should.partial_pa.iter().sum();
        out.number(&format!("end, room {a}, total, Pa"), is.pressure_pa, total, PRESSURE_PA);
        let air_k = should.temperature_k[0];
        out.number(&format!("end, room {a}, K"), is.temperature_k, air_k, 0.0);
        out.mass(
            &format!("end, room {a}, liquid"),
            is.liquid_water_kg,
            should.liquid * MASS[1],
        );
        let saturation = match case.compartments[a].heat {
            Some(_) => saturation_pa(air_k),
            None => case.compartments[a].saturation_pa,
        };
        let humidity = should.partial_pa[1] / saturation;
        out.number(
            &format!("end, room {a}, humidity"),
            is.humidity,
            humidity,
            PRESSURE_PA / saturation,
        );
    }
}

fn stocks(out: &mut Differences, case: &Case, outcome: &Outcome, solution: &Solution) {
    let recharged = case.plan.tasks.iter().any(|task| {
        let mut effects = task.starts.iter().chain(&task.ends);
        effects.any(|e| matches!(e, Effect::Recharge(_)))
    });
    out.truth("one outcome for each tank", outcome.tanks.len() == solution.tanks.len());
    for (t, (is, should)) in outcome.tanks.iter().zip(&solution.tanks).enumerate() {
        let tank = &case.tanks[t];
        let per_mol = MASS[tank.gas as usize];
        out.mass(
            &format!("tank {t}, left"),
            is.left_kg,
            (tank.amount_mol - should.used) * per_mol,
        );
        if !recharged {
            out.mass(&format!("tank {t}, used"), is.used_kg, should.used * per_mol);
        }
        out.time(&format!("tank {t} ran dry"), is.dry_at, should.dry_at);
        out.time(&format!("tank {t} under its reserve"), is.reserve_at, should.reserve_at);
    }
    out.truth("one outcome for each suit", outcome.suits.len() == solution.suits.len());
    for (s, (is, should)) in outcome.suits.iter().zip(&solution.suits).enumerate() {
        out.mass(&format!("suit {s}, oxygen"), is.oxygen_kg, should * MASS[2]);
    }
}

fn devices(out: &mut Differences, case: &Case, outcome: &Outcome, solution: &Solution) {
    out.truth(
        "one outcome for each device",
        outcome.devices.len() == solution.devices.len(),
    );
    for (k, (is, should)) in outcome.devices.iter().zip(&solution.devices).enumerate() {
        out.mass(&format!("device {k}, CO2"), is.co2_kg, should.taken[0] * MASS[0]);
        out.mass(&format!("device {k}, water"), is.water_kg, should.taken[1] * MASS[1]);
        out.mass(
            &format!("device {k}, CO2 held"),
            is.co2_held_kg,
            should.held[0] * MASS[0],
        );
        out.mass(
            &format!("device {k}, water held"),
            is.water_held_kg,
            should.held[1] * MASS[1],
        );
        out.masses(&format!("device {k}, lost at turns"), is.lost_kg, should.lost);
        let counts = [(is.canisters_spent, should.spent), (is.turns, should.turns)];
        out.truth(
            &format!("device {k}: canisters and turns {counts:?}"),
            counts.iter().all(|(is, should)| is == should),
        );
        if case.compartments[case.devices[k].serves].heat.is_some() {
            out.number(
                &format!("device {k}, heat, MJ"),
                is.heat_mj,
                should.heat_j * 1e-6,
                HEAT_MJ,
            );
        }
    }
}

fn transfers(out: &mut Differences, outcome: &Outcome, solution: &Solution) {
    out.truth(
        &format!(
            "{} transfers instead of {}",
            outcome.transfers.len(),
            solution.transfers.len()
        ),
        outcome.transfers.len() == solution.transfers.len(),
    );
    for (k, (is, should)) in outcome.transfers.iter().zip(&solution.transfers).enumerate() {
        out.truth(
            &format!("transfer {k} is {:?} of {}", is.kind, is.subject),
            is.kind == should.kind && is.subject == should.subject,
        );
        out.time(&format!("transfer {k} began"), Some(is.began), Some(should.began));
        out.time(&format!("transfer {k} ended"), is.ended, should.ended);
        out.truth(&format!("transfer {k} short: {}", is.short), is.short == should.short);
        // Whether the difference has a sign is for the engine to say.
        out.number(
            &format!("transfer {k} from, Pa"),
            is.from_pa.abs(),
            should.from_pa.abs(),
            PRESSURE_PA,
        );
        if should.ended.is_some() {
            out.number(
                &format!("transfer {k} to, Pa"),
                is.to_pa.abs(),
                should.to_pa.abs(),
                PRESSURE_PA,
            );
        }
        out.masses(&format!("transfer {k}"), is.gas_kg, should.mol);
    }
}

fn totals(out: &mut Differences, outcome: &Outcome, solution: &Solution) {
    let (is, b) = (&outcome.totals, &solution.books);
    let [vented, leaked, relieved, turned] = b.lost;
    out.masses("vented", is.vented_kg, vented);
    out.masses("leaked", is.leaked_kg, leaked);
    out.masses("relieved", is.relieved_kg, relieved);
    out.masses("lost at turns", is.turn_lost_kg, turned);
    let [holds, fills, suits] = b.supplied.map(kg);
    out.mass("oxygen of holds", is.oxygen_supplied_kg, holds[2]);
    out.mass("diluent of holds", is.diluent_supplied_kg, holds[3]);
    out.mass("oxygen of fills", is.oxygen_filled_kg, fills[2]);
    out.mass("diluent of fills", is.diluent_filled_kg, fills[3]);
    out.mass("oxygen to suits", is.oxygen_to_suits_kg, suits[2]);
    out.mass("condensed", is.water_condensed_kg, b.condensed * MASS[1]);
}
