//! What a profile says in sentences.

use breathroom_sim::air::Species;

use super::tables::missing_channels;
use super::{Profile, channel_words};
use crate::results::numbers::{clock, mmhg, short, with_unit};
use crate::results::words::count;

/// The answer.
#[must_use]
pub fn sentences(profile: &Profile) -> Vec<String> {
    let points = &profile.demand.points;
    let most = |of: &dyn Fn(usize) -> f64| (0..points.len()).map(of).fold(0.0_f64, f64::max);
    let on = points.iter().filter(|point| point.on).count();
    let co2 = most(&|at| profile.standard_l_min(points[at].flow_mol_s[0]));
    let total = most(&|at| profile.standard_l_min(points[at].total_mol_s()));
    let piece = if profile.scale == 1.0 {
        String::new()
    } else {
        format!(" (a piece of {} %)", short(100.0 * profile.scale))
    };
    let mut said = vec![format!(
        "For the inlet that {}{piece} has in the run on {}, a bench delivers up to {} of CO2 in up to {} of gas (standard volume at {}), {} of CO2 at the \
         inlet, in {} set points.",
        profile.device,
        profile.run,
        with_unit(co2, "L/min"),
        with_unit(total, "L/min"),
        profile.reference(),
        with_unit(
            mmhg().from_si(most(&|at| points[at].partial_pa(Species::Co2))),
            "mmHg at most"
        ),
        points.len(),
    )];
    let names: Vec<&str> = missing_channels(profile).into_iter().map(channel_words).collect();
    let effect = &profile.effect;
    said.push(if names.is_empty() {
        if profile.is_given {
            "The bench can follow everywhere.".to_owned()
        } else {
            "No bench file was named: nothing is limited.".to_owned()
        }
    } else {
        format!(
            "The bench cannot follow in {} of {}; the largest error of the inlet's CO2 that comes of it is {} at {}, and over the whole test it delivers {} of {} of CO2.",
            count(profile.delivered.misses.len(), "place"),
            names.join(", "),
            with_unit(mmhg().from_si(effect.co2_pa[0]), "mmHg"),
            clock(effect.co2_pa[1] / 3600.0),
            with_unit(effect.co2_mol[1] * Species::Co2.molar_mass_kg_mol(), "kg"),
            with_unit(effect.co2_mol[0] * Species::Co2.molar_mass_kg_mol(), "kg"),
        )
    });
    if on < points.len() {
        said.push(format!("In {} of the set points the device has no flow: it is off, or its suit is not worn; the bench then delivers none.", points.len() - on));
    }
    if profile.scale != 1.0 {
        let sorbent = profile.sorbent_kg.map_or_else(
            || "its active part".to_owned(),
            |kg| {
                format!(
                    "its sorbent ({} of {})",
                    with_unit(kg * profile.scale, "kg"),
                    with_unit(kg, "kg")
                )
            },
        );
        said.push(format!(
            "Similarity: flow and {sorbent} shrink together to {} %, time does not. Inlet partial pressures, temperature, pressure and residence time (flow for \
             mass of sorbent) are those of the whole. Not kept, unless the bed is cut lengthwise: velocity in it, and with it Reynolds number, pressure drop and \
             dispersion; nor heat lost to the wall, edges and headers.",
            short(100.0 * profile.scale),
        ));
    }
    said
}

/// What deserves a look.
#[must_use]
pub fn warnings(profile: &Profile) -> Vec<String> {
    let mut said = Vec::new();
    if profile.takes_turns {
        said.push("The device takes turns of its own: the bench feeds it all the time, and its turns begin at time 0 of the profile.".to_owned());
    }
    if profile.in_suit {
        said.push("The device serves a suit: the gas is that inside it while it is worn.".to_owned());
    }
    if !profile.is_given {
        said.push(format!(
            "Standard volumes are stated for {} and set points are {} apart, since no bench file says otherwise.",
            profile.reference(),
            with_unit(profile.bench.step_s, "s")
        ));
    }
    for fault in &profile.faults {
        said.push(format!(
            "The fault {fault} changes the device's flow; the profile has the flow without it."
        ));
    }
    said.push(
        "Between set points a bench goes in straight lines here; the run on the bench is as well mixed as the cabin."
            .to_owned(),
    );
    said
}
