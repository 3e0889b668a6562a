//! Checks across sections: whether what was read can be a cabin.

use crate::air::{GAS_CONSTANT_J_MOL_K, Place, total_pa};
use crate::engine::Case;
use crate::scenario::Names;
use crate::scenario::blueprint::{Blueprint, Family, FlowNums, Parts};
use crate::scenario::num::Num;
use crate::scenario::reader::Reader;
use crate::units::show;

use super::cabin::CabinSpots;
use super::removal::DeviceSpots;
use super::{kilopascal, median, most};

/// Pressure ratio below which the flow of air through a leak is choked, so that it depends on the pressure inside alone
/// (2/(gamma + 1))^(gamma/(gamma - 1)) for gamma = 1.4, textbook.
const CHOKED: f64 = 0.528;

/// Checks that need no case.
pub(super) fn parts(r: &mut Reader<'_>, parts: &Parts, cabin: &CabinSpots, devices: &DeviceSpots) {
    leaks(r, parts, cabin);
    for (n, device) in parts.devices.iter().enumerate() {
        if let Family::Curve {
            co2,
            water,
            flow: Some(flow),
        } = &device.family
        {
            let temperature = parts
                .compartments
                .get(device.serves)
                .map(|c| median(r, c.air.temperature));
            for (species, points) in [("CO2", co2), ("water", water)] {
                carried(r, points, *flow, temperature, species, &devices[n]);
            }
        }
    }
    let twice = parts
        .holds
        .iter()
        .enumerate()
        .find(|(n, h)| parts.holds[..*n].iter().any(|o| o.compartment == h.compartment));
    if let Some((n, _)) = twice
        && r.texts.faults.is_empty()
    {
        r.texts.fault(
            &cabin.holds[n][0],
            "this compartment is controlled twice",
            "merge the two",
        );
    }
}

/// A leak is a choked flow; one into a gas of its own is an opening's business.
fn leaks(r: &mut Reader<'_>, parts: &Parts, cabin: &CabinSpots) {
    let Some(outside) = parts.outside else { return };
    let around = median(r, outside.pressure);
    for (n, compartment) in parts.compartments.iter().enumerate() {
        let by_fault = parts.faults.iter().any(|fault| fault.leaks(n));
        if most(r, compartment.leak) <= 0.0 && !by_fault {
            continue;
        }
        if around > CHOKED * median(r, compartment.air.pressure) {
            let message = format!("a leak against {} outside is not choked", show(around, kilopascal()));
            r.texts.fault(
                &cabin.leaks[n],
                message,
                if by_fault {
                    "let the fault act on `leak_area`, which is right at any pressure"
                } else {
                    "use an opening between this compartment and \"outside\""
                },
            );
        }
    }
}

/// No point of a curve may take more than its flow carries.
fn carried(
    r: &mut Reader<'_>,
    points: &[(Num, Num)],
    flow: FlowNums,
    temperature: Option<f64>,
    species: &str,
    spot: &crate::text::Spot,
) {
    let Some(temperature) = temperature else { return };
    for (n, (pressure, rate)) in points.iter().enumerate() {
        let volume = median(r, flow.volume) * flow.part.map_or(1.0, |part| median(r, part));
        let carried = volume * median(r, *pressure) / (GAS_CONSTANT_J_MOL_K * temperature);
        let rate = median(r, *rate);
        if rate > carried * (1.0 + 1e-9) {
            let part = 100.0 * rate / carried;
            let message = format!(
                "point {} of its {species} curve takes {part:.0} % of what the flow carries",
                n + 1
            );
            r.texts.fault(
                spot,
                message,
                "no device takes more than all: a larger flow, a smaller rate, or a higher pressure",
            );
        }
    }
}

/// Checks on the case at the medians.
pub(super) fn case(r: &mut Reader<'_>, blueprint: &Blueprint, cabin: &CabinSpots, names: &Names) {
    let case = &blueprint.template;
    for (n, opening) in case.openings.iter().enumerate() {
        if !opening.open {
            continue;
        }
        let [a, b] = opening.between.map(|place| pressure_pa(case, place));
        if (a - b).abs() > opening.opens_within_pa {
            let [from, to] = opening.between.map(|place| name(names, place));
            let message = format!(
                "`{}` is open between {from} at {} and {to} at {}",
                names.openings[n],
                show(a, kilopascal()),
                show(b, kilopascal())
            );
            let help = "an open hatch has one pressure on both sides: close it, or give both the same pressure";
            r.texts.fault(&cabin.openings[n], message, help);
        }
    }
    let finite = case.compartments.iter().all(|c| {
        c.partial_pa.iter().all(|p| p.is_finite() && *p >= 0.0)
            && [c.volume_m3, c.usable_m3, c.saturation_pa, c.leak_m3_s]
                .iter()
                .all(|x| x.is_finite())
            && c.surfaces.iter().all(|s| s.conductance_mol_s_pa.is_finite())
    });
    if !finite {
        r.texts.fault(
            &cabin.compartments[0],
            "these values do not make a gas",
            "check pressure, temperature and humidity",
        );
    }
}

/// Total pressure of a place at the start, Pa.
pub(in crate::scenario) fn pressure_pa(case: &Case, place: Place) -> f64 {
    match place {
        Place::Outside => total_pa(&case.outside.partial_pa),
        Place::Compartment(n) => total_pa(&case.compartments[n].partial_pa),
    }
}

fn name(names: &Names, place: Place) -> String {
    match place {
        Place::Outside => "outside".to_owned(),
        Place::Compartment(n) => format!("`{}`", names.compartments[n]),
    }
}
