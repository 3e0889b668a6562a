//! What a fit says in sentences, and what about it deserves a look.

use super::{Told, outlet, outlet_unit, why};
use crate::fits::device::Status;
use crate::fits::device::nuisance::Nuisance;
use crate::fits::device::part::Part;
use crate::results::numbers::{short, with_unit};
use breathroom_sim::units::figures;

/// How many times its noise a residual may be before it is told.
const MORE_THAN_NOISE: f64 = 1.3;
/// Share of samples in the band below which a foretold test is told as missed.
const LEAST_INSIDE: f64 = 0.85;

/// The answer.
#[must_use]
pub fn sentences(told: &Told) -> Vec<String> {
    let mut said = Vec::new();
    for of in &told.fit.estimates {
        let law = told.law(of.law);
        let given = with_unit(law.unit.from_si(law.given), law.unit.symbol);
        match &of.status {
            Status::Fitted | Status::AtEdge => {
                let [lo, hi] = of.interval_95.map(|end| figures(law.unit.from_si(end), 4));
                said.push(format!(
                    "The {} is {} {}(95 % interval {lo} to {hi}); the scenario had {given}.",
                    law.words,
                    figures(law.unit.from_si(of.value), 4),
                    if law.unit.symbol.is_empty() {
                        String::new()
                    } else {
                        format!("{} ", law.unit.symbol)
                    },
                ));
            }
            Status::Held(held) => said.push(format!(
                "The {} is not identified by this test: {}. It takes {}. It stays at {given}.",
                law.words,
                why(told, of.law, held),
                law.takes
            )),
            Status::NoData => {}
        }
    }
    for test in &told.held_out {
        for found in &test.outlets {
            let unit = outlet_unit(&test.series, found.species);
            let removed = found.removed_kg.map_or_else(String::new, |[measured, foretold]| {
                format!(
                    "; the mass removed is foretold as {} for {} measured, {} % off",
                    with_unit(foretold, "kg"),
                    with_unit(measured, "kg"),
                    short(100.0 * (foretold / measured - 1.0))
                )
            });
            said.push(format!(
                "Held out, `{}` of {} is foretold with an rmse of {} and a bias of {}; {} % of its samples lie in the stated 95 % band{removed}.",
                outlet(found.species),
                test.file,
                with_unit(found.rmse_pa / unit.factor, unit.symbol),
                with_unit(found.bias_pa / unit.factor, unit.symbol),
                short(100.0 * found.inside),
            ));
        }
    }
    for part in &told.fit.parts {
        said.extend(sensor(told, part));
    }
    if told.written.is_empty() {
        said.push("Nothing was written into the scenario.".to_owned());
    } else if let Some(into) = &told.into {
        let lines: Vec<String> = told
            .written
            .iter()
            .map(|written| format!("`{}` (line {})", written.path, written.line))
            .collect();
        said.push(format!("Written into {into}: {}.", lines.join(", ")));
    }
    said.push(
        "The spreads say how well this one test of one piece knows its parameters; how pieces, days and conditions differ is not in them."
            .to_owned(),
    );
    said
}

/// What was found of the sensor.
fn sensor(told: &Told, part: &Part) -> Vec<String> {
    let unit = told.unit(part);
    let list = part.nuisance.iter().enumerate().map(|(n, of)| {
        let value = part.fitted.estimate[part.free.len() + n];
        let shown = match of {
            Nuisance::Baseline => with_unit(value / unit.factor, unit.symbol),
            Nuisance::Drift => with_unit(3600.0 * value / unit.factor, &format!("{}/h", unit.symbol)),
            Nuisance::Clock => with_unit(value, "s"),
        };
        format!(
            "Beside it, for `{}`, the {} came out as {shown}.",
            outlet(part.species),
            of.words()
        )
    });
    list.collect()
}

/// What deserves a look.
#[must_use]
pub fn warnings(told: &Told) -> Vec<String> {
    let mut said: Vec<String> = told.model.notes.clone();
    said.extend(told.series.notes.iter().cloned());
    for part in &told.fit.parts {
        let name = outlet(part.species);
        let unit = told.unit(part);
        for (why, n) in &part.samples.left {
            said.push(format!("{n} samples of `{name}` were left out: {why}."));
        }
        for of in &part.dropped {
            said.push(format!(
                "The {} was asked for and is not identified by `{name}`: it cannot be told from the device's parameters, or lies beyond a quarter of the record. It was left out.",
                of.words()
            ));
        }
        let (sd, noise) = (part.residual_sd_pa(), part.noise_pa);
        if sd > MORE_THAN_NOISE * noise {
            said.push(format!(
                "Residuals of `{name}` ({}) are more than the sensor's noise ({}), and follow one another (lag 1: {}): the model misses something. \
                 {} samples count as {} independent ones, and the spreads are wider for it by a factor of {}.",
                with_unit(sd / unit.factor, unit.symbol),
                with_unit(noise / unit.factor, unit.symbol),
                short(part.order.lag_1),
                part.samples.rows.len(),
                short(part.order.effective),
                short(libm::sqrt(part.order.tau)),
            ));
        }
        if !part.fitted.at_rest {
            said.push(format!(
                "The search for the parameters of `{name}` did not come to rest."
            ));
        }
    }
    for of in &told.fit.estimates {
        let law = told.law(of.law);
        if of.status == Status::AtEdge {
            said.push(format!(
                "`{}` lies on the edge of its domain, {}.",
                law.key,
                with_unit(law.unit.from_si(of.value), law.unit.symbol)
            ));
        }
    }
    for test in &told.held_out {
        for found in test.outlets.iter().filter(|found| found.inside < LEAST_INSIDE) {
            said.push(format!(
                "Only {} % of the samples of {} lie in the band that is to hold 95 %: what this test differs by from the fitted one is more than the spreads say. \
                 Widen them, or fit a model that follows it.",
                short(100.0 * found.inside),
                test.file
            ));
        }
    }
    said.extend(told.left.iter().cloned());
    if told.scale != 1.0 {
        said.push(format!("The tested piece is taken as {} % of the device, in flow and in sorbent alike: residence time is that of the whole; velocity and heat lost to the wall are not.", short(100.0 * told.scale)));
    }
    said
}
