//! Holds an outcome against the reference and lists every disagreement.
//!
//! Tolerances: partial pressures 1e-6 relative or 1e-4 Pa, averages 1e-5, crossings to one second or to what the
//! tolerance of the value makes of the slope there, whichever is more.

use std::fmt::Write as _;

use breathroom_sim::air::Species;
use breathroom_sim::engine::{Case, End, Engine, Outcome, RunError, Trace};
use breathroom_sim::limits::{Quantity, Statistic};

use crate::reference::{Failure, Judged, Reference, Stop, integrate};

/// Relative tolerance of partial pressures and what follows from them.
const RELATIVE: f64 = 1e-6;
/// Absolute tolerance of partial pressures, Pa.
const PRESSURE_PA: f64 = 1e-4;
/// Relative tolerance of averages.
const AVERAGE: f64 = 1e-5;
/// Absolute tolerance of masses, kg: 1e-4 Pa in a cabin of 30 m3.
const MASS_KG: f64 = 3e-8;
/// Tolerance of times, s.
const TIME_S: f64 = 1.0;

/// A list of disagreements.
#[derive(Debug, Default)]
pub struct Differences(String);

impl Differences {
    fn number(&mut self, what: &str, is: f64, should: f64, tolerance: f64) {
        let same = (is.is_nan() && should.is_nan()) || (is - should).abs() <= tolerance;
        if !same {
            let _ = writeln!(
                self.0,
                "{what}: {is} instead of {should} (off {:e}, allowed {tolerance:e})",
                is - should
            );
        }
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
    let mut trace = Trace::default();
    let outcome = Engine::new().run(case, Some(&mut trace));
    match (outcome, integrate(case)) {
        (Ok(outcome), Ok(reference)) => compare(case, &outcome, &trace, &reference),
        (Err(RunError::HatchAgainstPressure { at, opening: is, .. }), Err(Failure::Hatch { opening, at_s }))
            if is == opening && (at.seconds() - at_s).abs() < TIME_S =>
        {
            String::new()
        }
        (outcome, reference) => {
            format!(
                "the engine gave {:?}, the reference {:?}\n",
                outcome.map(|o| o.end),
                reference.map(|r| r.stop)
            )
        }
    }
}

/// The text of all disagreements between an outcome and the reference.
#[must_use]
pub fn compare(case: &Case, outcome: &Outcome, trace: &Trace, reference: &Reference) -> String {
    let mut out = Differences::default();
    ends(&mut out, case, outcome, reference);
    samples(&mut out, trace, reference);
    extremes(&mut out, case, outcome, reference);
    totals(&mut out, case, outcome, reference);
    for r in 0..case.rules.len() {
        rule(&mut out, case, r, outcome, &reference.judge(r));
    }
    let balance = &outcome.balance;
    for (what, value) in [
        ("carbon", balance.carbon),
        ("oxygen", balance.oxygen),
        ("water", balance.water),
        ("diluent", balance.diluent),
    ] {
        out.number(&format!("balance of {what}"), value, 0.0, 1e-9);
    }
    out.0
}

fn partial(out: &mut Differences, what: &str, is: [f64; 4], should: [f64; 4]) {
    for s in Species::ALL {
        let (is, should) = (is[s as usize], should[s as usize]);
        out.number(
            &format!("{what} {s:?} Pa"),
            is,
            should,
            PRESSURE_PA.max(RELATIVE * should.abs()),
        );
    }
}

fn ends(out: &mut Differences, case: &Case, outcome: &Outcome, reference: &Reference) {
    let (same, at) = match (outcome.end, reference.stop) {
        (End::Completed, Stop::Completed) => (true, case.duration),
        (End::OxygenFloor { at, compartment, .. }, Stop::OxygenFloor(a)) => (a == compartment, at),
        (
            End::Exhausted {
                at,
                compartment,
                species,
            },
            Stop::Exhausted(a, s),
        ) => (a == compartment && s == species as usize, at),
        _ => (false, case.duration),
    };
    out.truth(
        &format!("it ended as {:?}, not as {:?}", outcome.end, reference.stop),
        same,
    );
    out.number("time of the end, s", at.seconds(), reference.end_s, TIME_S);
    out.truth(
        "one end state for each compartment",
        outcome.state_end.len() == case.compartments.len(),
    );
    for (a, end) in outcome.state_end.iter().enumerate() {
        let should = reference.end_partial_pa(a);
        partial(out, &format!("end, room {a}"), end.partial_pa, should);
        let liquid = reference.end_liquid_kg(a);
        out.number(
            &format!("end, room {a} liquid kg"),
            end.liquid_water_kg,
            liquid,
            MASS_KG.max(RELATIVE * liquid),
        );
        let total: f64 = should.iter().sum();
        out.number(
            &format!("end, room {a} total Pa"),
            end.pressure_pa,
            total,
            RELATIVE * total,
        );
        let humidity = should[1] / case.compartments[a].saturation_pa;
        out.number(&format!("end, room {a} humidity"), end.humidity, humidity, RELATIVE);
    }
}

fn samples(out: &mut Differences, trace: &Trace, reference: &Reference) {
    out.truth("the history has samples", trace.samples.len() > 1);
    for sample in &trace.samples {
        let t = sample.at.seconds();
        if t >= reference.end_s {
            continue;
        }
        for (a, room) in sample.compartments.iter().enumerate() {
            partial(
                out,
                &format!("{t} s, room {a}"),
                room.partial_pa,
                reference.partial_pa(t, a),
            );
            let liquid = reference.liquid_kg(t, a);
            let tolerance = MASS_KG.max(RELATIVE * liquid);
            out.number(
                &format!("{t} s, room {a} liquid kg"),
                room.liquid_water_kg,
                liquid,
                tolerance,
            );
        }
        for (p, person) in sample.people.iter().enumerate() {
            let should = reference.output_mol_s(t, p);
            let is = [person.oxygen_mol_s, person.co2_mol_s, person.vapour_mol_s];
            for (k, what) in ["oxygen", "co2", "vapour"].into_iter().enumerate() {
                out.number(
                    &format!("{t} s, person {p} {what} mol/s"),
                    is[k],
                    should[k],
                    RELATIVE * should[k] + 1e-12,
                );
            }
            let place = match person.place {
                breathroom_sim::air::Place::Outside => None,
                breathroom_sim::air::Place::Compartment(a) => Some(a),
            };
            out.truth(
                &format!("{t} s, person {p} is in {place:?}"),
                place == reference.place(t, p),
            );
        }
    }
}

fn extremes(out: &mut Differences, case: &Case, outcome: &Outcome, reference: &Reference) {
    for (a, is) in outcome.extremes.iter().enumerate() {
        let mut one = |what: &str, value: f64, should: f64, absolute: f64| {
            out.number(
                &format!("room {a} {what}"),
                value,
                should,
                absolute.max(RELATIVE * should.abs()),
            );
        };
        let humidity = PRESSURE_PA / case.compartments[a].saturation_pa;
        let [_, high] = reference.extremes(a, Quantity::Co2);
        one("highest co2", is.co2_pa_max, high.value, PRESSURE_PA);
        let [low, high] = reference.extremes(a, Quantity::Humidity);
        one("lowest humidity", is.humidity_min, low.value, humidity);
        one("highest humidity", is.humidity_max, high.value, humidity);
        let [low, high] = reference.extremes(a, Quantity::Oxygen);
        one("lowest oxygen", is.oxygen_pa_min, low.value, PRESSURE_PA);
        one("highest oxygen", is.oxygen_pa_max, high.value, PRESSURE_PA);
        let [low, high] = reference.extremes(a, Quantity::Pressure);
        one("lowest pressure", is.pressure_pa_min, low.value, PRESSURE_PA);
        one("highest pressure", is.pressure_pa_max, high.value, PRESSURE_PA);
        let [_, high] = reference.extremes(a, Quantity::LiquidWater);
        one("most liquid", is.liquid_water_kg_max, high.value, MASS_KG);
    }
}

fn totals(out: &mut Differences, case: &Case, outcome: &Outcome, reference: &Reference) {
    let (is, l) = (&outcome.totals, &reference.ledger);
    let [co2, water, oxygen, diluent] = Species::ALL.map(Species::molar_mass_kg_mol);
    let mut one = |what: &str, value: f64, should: f64| {
        out.number(
            &format!("total {what}"),
            value,
            should,
            MASS_KG.max(RELATIVE * should.abs()),
        );
    };
    one("co2 made", is.co2_made_kg, l.co2_made * co2);
    one("co2 removed", is.co2_removed_kg, l.co2_removed * co2);
    one("water made", is.water_made_kg, (l.vapour_made + l.towel_dried) * water);
    one("runoff", is.runoff_kg, l.runoff * water);
    one("water removed", is.water_removed_kg, l.water_removed * water);
    one("water condensed", is.water_condensed_kg, l.condensed * water);
    one("oxygen used", is.oxygen_used_kg, l.oxygen_used * oxygen);
    one("oxygen supplied", is.oxygen_supplied_kg, l.oxygen_supplied * oxygen);
    one("diluent supplied", is.diluent_supplied_kg, l.diluent_supplied * diluent);
    for s in Species::ALL {
        let should = l.leaked[s as usize] * s.molar_mass_kg_mol();
        one(&format!("leaked {s:?}"), is.leaked_kg[s as usize], should);
    }
    // Heat that lags with sweat is not followed by the reference.
    let lagged = case
        .people
        .iter()
        .any(|p| p.profiles.iter().any(|profile| profile.sweat_lag));
    if !lagged {
        one("sensible heat", is.sensible_mj, l.sensible_j * 1e-6);
        one("latent heat", is.latent_mj, l.latent_j * 1e-6);
    }
}

fn rule(out: &mut Differences, case: &Case, r: usize, outcome: &Outcome, should: &Judged) {
    let rule = &case.rules[r];
    let what = format!(
        "rule {r} ({:?}, {:?}, {:?})",
        rule.quantity, rule.subject, rule.statistic
    );
    let is = &outcome.rules[r];
    let absolute = match rule.quantity {
        Quantity::LiquidWater => MASS_KG,
        Quantity::Humidity | Quantity::OxygenFraction => PRESSURE_PA / 2000.0,
        _ => PRESSURE_PA,
    };
    let relative = match rule.statistic {
        Statistic::Instant | Statistic::Allowance { .. } => RELATIVE,
        _ => AVERAGE,
    };
    // A value this far off moves a crossing by so many seconds.
    let near = |value: f64, slope: f64| TIME_S.max(absolute.max(relative * value.abs()) / slope);
    if let Statistic::Allowance { threshold, .. } = rule.statistic {
        let tolerance = near(threshold, should.least_slope) * should.times_beyond.max(1) as f64;
        out.number(&format!("{what} worst, s"), is.worst, should.worst, tolerance);
        out.number(&format!("{what} beyond, s"), is.beyond_s, should.beyond_s, tolerance);
        if (should.worst - rule.limit).abs() > tolerance {
            crossing(
                out,
                &what,
                is.first_crossing.map(|t| t.seconds()),
                should.first_crossing_s,
                tolerance,
            );
        }
        return;
    }
    let tolerance = absolute.max(relative * should.worst.abs());
    out.number(&format!("{what} worst"), is.worst, should.worst, tolerance);
    let judged_at_end = matches!(rule.statistic, Statistic::Mission | Statistic::Shift { .. });
    if judged_at_end || should.worst.is_nan() || (should.worst - rule.limit).abs() < 10.0 * tolerance {
        return;
    }
    let tolerance = near(rule.limit, should.slope);
    crossing(
        out,
        &what,
        is.first_crossing.map(|t| t.seconds()),
        should.first_crossing_s,
        tolerance,
    );
    let tolerance = near(rule.limit, should.least_slope) * 2.0 * should.times_beyond.max(1) as f64;
    out.number(&format!("{what} beyond, s"), is.beyond_s, should.beyond_s, tolerance);
}

fn crossing(out: &mut Differences, what: &str, is: Option<f64>, should: Option<f64>, tolerance: f64) {
    match (is, should) {
        (None, None) => {}
        (Some(is), Some(should)) => out.number(&format!("{what} first crossing, s"), is, should, tolerance),
        _ => out.truth(&format!("{what} first crossing: {is:?} instead of {should:?}"), false),
    }
}
