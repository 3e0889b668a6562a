//! `[removal]`, kind sorbent.

use crate::removal::Chemistry;
use crate::removal::sorbent::{LITHIUM_HYDROXIDE, SODA_LIME};
use crate::scenario::blueprint::{FlowNums, SorbentNums};
use crate::scenario::fields::Fields;
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::units::{Dimension, figures, show};

use super::{fans, least, most};

/// What is known of a sorbent by its chemistry.
struct Known {
    chemistry: &'static Chemistry,
    /// Words for its uptake by stoichiometry.
    uptake: &'static str,
    /// Part of that which is reached, whose figure it is, and whether that is recalled.
    utilisation: f64,
    source: &'static str,
    from_memory: bool,
}

const LITHIUM: Known = Known {
    chemistry: &LITHIUM_HYDROXIDE,
    uptake: "by stoichiometry, 2 LiOH + CO2",
    utilisation: 0.8,
    source: "assumption: it falls with short residence times and dry air",
    from_memory: false,
};
const LIME: Known = Known {
    chemistry: &SODA_LIME,
    uptake: "by stoichiometry, Ca(OH)2 + CO2, for its whole mass",
    utilisation: 0.5,
    source: "Harvey 2016: 2.64 kg take 2 L/min of CO2 for 202 min",
    from_memory: false,
};

pub(super) fn read(r: &mut Reader<'_>, fields: &Fields<'_>, fan: Option<FlowNums>) -> SorbentNums {
    let flow = fans::flow(r, fields, fan);
    let known = match fields.word(r, "chemistry") {
        Some("lithium-hydroxide") => Some(&LITHIUM),
        Some("soda-lime") => Some(&LIME),
        _ => None,
    };
    let capacity = capacity(r, fields, known);
    let sharpness = fields.number(r, "sharpness");
    let bypass = fields.number(r, "bypass");
    let loaded = fields.number(r, "loaded");
    let [held, room] = [most(r, loaded), capacity.map(|num| least(r, num)).iter().product()];
    if held > room * (1.0 + 1e-9) {
        let kg = Dimension::Mass.si_unit();
        r.texts.fault(
            &fields.spot_of("loaded"),
            format!("a canister cannot hold {} of CO2", show(held, kg)),
            format!("its capacity is {}", show(room, kg)),
        );
    }
    let canisters = fields.whole(r, "canisters").and_then(|n| u32::try_from(n).ok());
    SorbentNums {
        flow,
        capacity,
        sharpness,
        bypass,
        water_per_co2: known.map_or(0.0, |k| k.chemistry.water_per_co2),
        heat_j_mol: known.map_or(0.0, |k| k.chemistry.heat_j_mol),
        loaded,
        canisters: canisters.unwrap_or(0),
    }
}

/// Factors of the capacity: mass, uptake, utilisation; or itself.
fn capacity(r: &mut Reader<'_>, fields: &Fields<'_>, known: Option<&Known>) -> [Num; 3] {
    let one = Num::Fixed(1.0);
    let unknown = Num::Fixed(f64::NAN);
    let factors = ["sorbent", "uptake", "utilisation"];
    if fields.entry("capacity").is_some() {
        let capacity = fields.number(r, "capacity");
        for name in factors {
            if fields.entry(name).is_some() {
                r.texts.fault(
                    &fields.spot_of(name),
                    format!("`{}` has both a `capacity` and `{name}`", fields.path),
                    "the capacity is sorbent times uptake times utilisation: remove one of the two",
                );
            }
        }
        return [capacity, one, one];
    }
    if fields.entry("sorbent").is_none() {
        if !fields.misspelt("sorbent") && !fields.misspelt("capacity") {
            r.texts.fault(
                &fields.spot,
                format!("`{}` does not say how much a canister takes", fields.path),
                "add sorbent = \"2.3 kg\", or the CO2 that it takes in all: capacity = \"1.7 kg\"",
            );
        }
        return [unknown; 3];
    }
    let sorbent = fields.number(r, "sorbent");
    let given = fields.number_if(r, "uptake");
    let utilisation = fields.number_if(r, "utilisation");
    let uptake = match (given, known) {
        (Some(uptake), _) => uptake,
        (None, Some(known)) => {
            let value = known.chemistry.co2_kg_kg;
            let shown = format!("{} kg/kg", figures(value, 4));
            r.assume(fields.path_of("uptake"), &shown, String::new(), known.uptake, false);
            Num::Fixed(value)
        }
        (None, None) => {
            if !fields.misspelt("uptake") {
                r.texts.fault(
                    &fields.spot,
                    format!("`{}` has no `uptake`, and no chemistry that says it", fields.path),
                    "add e.g. uptake = \"0.75 kg/kg\"",
                );
            }
            unknown
        }
    };
    let reached = utilisation.unwrap_or_else(|| {
        let (value, source, memory) = match (given, known) {
            (None, Some(known)) => (known.utilisation, known.source, known.from_memory),
            _ => (1.0, "`uptake` as given is what is reached", false),
        };
        let shown = format!("{} %", figures(100.0 * value, 3));
        r.assume(fields.path_of("utilisation"), &shown, String::new(), source, memory);
        Num::Fixed(value)
    });
    [sorbent, uptake, reached]
}
