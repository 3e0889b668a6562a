//! What is legal but deserves a look.

use std::collections::BTreeSet;

use crate::air::{Place, Regulation, Species, TRIPLE_POINT_K};
use crate::removal::Removal;
use crate::units::{figures, show};

use super::blueprint::Blueprint;
use super::read::{CabinSpots, kilopascal};
use super::reader::Reader;
use super::{Names, Origin};
use crate::text::Spot;

/// Part of a set point by which a start may differ from it without a word.
const OFF_SET_POINT: f64 = 0.005;

/// Collects the warnings on the case at the medians.
pub(super) fn collect(r: &mut Reader<'_>, blueprint: &Blueprint, cabin: &CabinSpots, names: &Names) {
    set_points(r, blueprint, cabin, names);
    rooms(r, blueprint, cabin, names);
    coils(r, blueprint, names);
    oxygen(r, blueprint, names);
    memory(r);
}

fn set_points(r: &mut Reader<'_>, blueprint: &Blueprint, cabin: &CabinSpots, names: &Names) {
    let case = &blueprint.template;
    for (n, hold) in case.holds.iter().enumerate() {
        let compartment = &case.compartments[hold.compartment];
        let total = crate::air::total_pa(&compartment.partial_pa);
        let oxygen = compartment.partial_pa[Species::Oxygen as usize];
        let held = [
            ("oxygen", hold.oxygen_pa, hold.oxygen_by, oxygen),
            ("pressure", hold.pressure_pa, hold.pressure_by, total),
        ];
        for (k, (what, set, by, start)) in held.into_iter().enumerate() {
            let Some(set) = set else { continue };
            let below = match by {
                Regulation::Band { width_pa, .. } => width_pa,
                Regulation::Proportional {
                    gain_mol_s_pa,
                    most_mol_s,
                } => most_mol_s / gain_mol_s_pa,
                Regulation::Ideal | Regulation::Limited { .. } => 0.0,
            };
            let slack = OFF_SET_POINT * set;
            if (-slack - below..=slack).contains(&(start - set)) {
                continue;
            }
            let name = &names.compartments[hold.compartment];
            let message = format!(
                "{what} in `{name}` starts at {}, off its set point of {}",
                show(start, kilopascal()),
                show(set, kilopascal())
            );
            let help = if start > set {
                "a hold adds gas but never takes it away: nothing is added until it has fallen"
            } else if by == Regulation::Ideal {
                "the difference is added at once at time zero"
            } else {
                "it is made up as fast as `flow` lets it"
            };
            r.texts.warn(&cabin.holds[n][k], message, help);
        }
    }
}

fn rooms(r: &mut Reader<'_>, blueprint: &Blueprint, cabin: &CabinSpots, names: &Names) {
    for (n, compartment) in blueprint.template.compartments.iter().enumerate() {
        if compartment.usable_m3 > compartment.volume_m3 * (1.0 + 1e-9) {
            let message = format!("people can occupy more of `{}` than it has gas", names.compartments[n]);
            let help =
                "`free_volume` is the gas after equipment and people are taken out: it is rarely the smaller one";
            r.texts.warn(&cabin.compartments[n], message, help);
        }
        let weightless = blueprint
            .parts
            .gravity
            .is_some_and(|g| matches!(g, super::num::Num::Fixed(x) if x <= 0.0));
        if weightless
            && blueprint.parts.compartments[n]
                .walls
                .is_some_and(|w| w.film.is_none() && !w.optimistic)
        {
            let message = format!(
                "no vapour reaches the walls of `{}`: there is no convection without gravity",
                names.compartments[n]
            );
            r.texts.warn(
                &cabin.compartments[n],
                message,
                "give the film that ventilation makes: film = \"3 W/m2/K\"",
            );
        }
    }
}

fn coils(r: &mut Reader<'_>, blueprint: &Blueprint, names: &Names) {
    for (n, device) in blueprint.template.devices.iter().enumerate() {
        if let Removal::Condenser { coil_temperature_k, .. } = device.removal
            && coil_temperature_k < TRIPLE_POINT_K
        {
            let spot = device_spot(r, &names.devices[n], "coil_temperature");
            let message = format!("the coil of `{}` is below freezing", names.devices[n]);
            r.texts
                .warn(&spot, message, "ice is not modelled: it would block the coil");
        }
    }
}

/// Where a device's value stands, from what was noted of it.
fn device_spot(r: &Reader<'_>, name: &str, key: &str) -> Spot {
    let path = format!("removal.{name}.{key}");
    r.spots
        .iter()
        .find(|(p, _)| *p == path)
        .map(|(_, spot)| spot.clone())
        .unwrap_or_default()
}

/// People without an oxygen supply use it up.
fn oxygen(r: &mut Reader<'_>, blueprint: &Blueprint, names: &Names) {
    let case = &blueprint.template;
    let held = || case.holds.iter().filter(|h| h.oxygen_pa.is_some());
    let fed = held().any(|h| h.oxygen_from.is_none());
    let outside = case
        .openings
        .iter()
        .any(|o| o.open && o.between.contains(&Place::Outside));
    if fed || outside || case.people.is_empty() {
        return;
    }
    let spare: f64 = case
        .compartments
        .iter()
        .map(|c| {
            let above = (c.partial_pa[Species::Oxygen as usize] - case.oxygen_floor_pa).max(0.0);
            above * c.volume_m3 / (crate::air::GAS_CONSTANT_J_MOL_K * c.temperature_k)
        })
        .sum();
    let tanks: BTreeSet<usize> = held().filter_map(|h| h.oxygen_from).collect();
    let stored: f64 = tanks
        .iter()
        .map(|t| (case.tanks[*t].amount_mol - case.tanks[*t].residue_mol).max(0.0))
        .sum();
    // Off task, in the first stage: an estimate, and a low one.
    let use_mol_s: f64 = case
        .people
        .iter()
        .filter_map(|p| p.profiles.get(p.idle)?.stages.first().map(|s| s.load.oxygen_mol_s))
        .sum();
    let lasts_s = (spare + stored) / use_mol_s;
    if use_mol_s > 0.0 && lasts_s < case.duration.seconds() {
        let (supply, what, help) = if tanks.is_empty() {
            let help = "add e.g. [control.cabin] with oxygen = { hold = \"18.8 kPa\" }";
            ("no oxygen is supplied", "what is above the floor", help)
        } else {
            let help = "a larger tank, or a shorter run";
            (
                "the oxygen does not last",
                "what is in the tanks and above the floor",
                help,
            )
        };
        let message = format!(
            "{supply}: at rest, {} people use up {what} in {} d",
            names.people.len(),
            figures(lasts_s / 86_400.0, 2)
        );
        r.texts.warn(&Spot::default(), message, help);
    }
}

/// Defaults that rest on memory, in one warning.
fn memory(r: &mut Reader<'_>) {
    let mut list: Vec<String> = Vec::new();
    for value in &r.resolved {
        if let Origin::Default { from_memory: true, .. } = value.origin {
            list.push(value.path.clone());
        }
    }
    if list.is_empty() {
        return;
    }
    let message = format!("{} values rest on sources that were recalled, not re-read", list.len());
    r.texts.warn(
        &Spot::default(),
        message,
        format!("check these, or give your own: {}", list.join(", ")),
    );
}
