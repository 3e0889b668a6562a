//! Tanks, removal devices and suits; each section only where there are any.

use super::super::numbers::{clock, kilograms as kg, percent, short, with_unit};
use super::super::summary::{Device, Gas, Summary};
use super::table;

pub(super) fn tanks(out: &mut String, of: &Summary) {
    if of.tanks.is_empty() {
        return;
    }
    out.push_str("## Tanks\n\n");
    let header = [
        "tank",
        "holds",
        "at the start",
        "used",
        "used a day",
        "left",
        "reserve",
        "below reserve",
        "dry",
        "lasts until reserve",
        "reserve lasts",
    ];
    let time = |at: Option<f64>| at.map_or_else(|| "never".to_owned(), |at| format!("**{}**", clock(at)));
    let rows = of.tanks.iter().map(|(name, tank)| {
        let reserve = |cell: String| {
            if tank.reserve_kg > 0.0 { cell } else { "-".to_owned() }
        };
        vec![
            name.to_owned(),
            tank.gas.to_owned(),
            kg(tank.start_kg),
            format!("{} ({})", kg(tank.used_kg), percent(tank.used_kg / tank.start_kg)),
            kg(tank.used_kg_per_day),
            kg(tank.left_kg),
            reserve(kg(tank.reserve_kg)),
            reserve(time(tank.reserve_at_h)),
            time(tank.dry_at_h),
            days(tank.days_to_reserve),
            reserve(days(tank.contingency_days)),
        ]
    });
    table(out, &header, rows);
    out.push_str(
        "*Left* includes what a tank cannot deliver. *Lasts* counts from the end of the run, at the mean use over the run; \
         `-` where nothing was used or no reserve is kept.\n\n",
    );
    if of.tanks.iter().any(|(_, tank)| tank.used_kg > tank.start_kg) {
        out.push_str("A tank that was recharged may have given more than it held at the start.\n\n");
    }
}

pub(super) fn devices(out: &mut String, of: &Summary) {
    if of.devices.is_empty() {
        return;
    }
    out.push_str("## Removal devices\n\n");
    let with = |has: fn(&Device) -> bool| of.devices.iter().any(|(_, device)| has(device));
    let holds = with(|device| device.co2_held_kg != 0.0 || device.water_held_kg != 0.0);
    let canisters = with(|device| device.canisters_left.is_some());
    let beds = with(|device| device.turns > 0);
    let heat = with(|device| device.heat_mj != 0.0);
    let mut header = vec!["device", "CO2 removed", "water removed"];
    let more: [(bool, &[&str]); 4] = [
        (holds, &["CO2 held at the end", "water held at the end"]),
        (canisters, &["canisters taken out", "fresh ones left", "which last"]),
        (beds, &["turns of its beds", "gas lost at them"]),
        (heat, &["heat to the air"]),
    ];
    for (shown, columns) in more {
        header.extend(columns.iter().filter(|_| shown));
    }
    let rows = of.devices.iter().map(|(name, device)| {
        let mut cells = vec![
            name.to_owned(),
            kg(device.co2_removed_kg),
            water(device.water_removed_kg),
        ];
        if holds {
            cells.extend([kg(device.co2_held_kg), kg(device.water_held_kg)]);
        }
        if canisters {
            match device.canisters_left {
                Some(left) => cells.extend([
                    device.canisters_spent.to_string(),
                    left.to_string(),
                    days(device.canister_days_left),
                ]),
                None => cells.extend(["-", "-", "-"].map(str::to_owned)),
            }
        }
        if beds {
            if device.turns > 0 {
                cells.extend([device.turns.to_string(), gas(&device.lost)]);
            } else {
                cells.extend(["-", "-"].map(str::to_owned));
            }
        }
        if heat {
            cells.push(with_unit(device.heat_mj, "MJ"));
        }
        cells
    });
    table(out, &header, rows);
}

pub(super) fn suits(out: &mut String, of: &Summary) {
    if of.suits.is_empty() {
        return;
    }
    out.push_str("## Suits\n\n");
    let header = [
        "worn by",
        "worn for",
        "sensible heat",
        "latent heat",
        "mean cooling",
        "vapour",
        "sweat",
        "oxygen let in",
    ];
    let rows = of.suits.iter().map(|(person, suit)| {
        vec![
            person.to_owned(),
            clock(suit.worn_h),
            with_unit(suit.sensible_mj, "MJ"),
            with_unit(suit.latent_mj, "MJ"),
            suit.mean_cooling_w
                .map_or_else(|| "-".to_owned(), |w| with_unit(w, "W")),
            kg(suit.vapour_kg),
            kg(suit.runoff_kg),
            kg(suit.oxygen_kg),
        ]
    });
    table(out, &header, rows);
    out.push_str("*Mean cooling*: sensible and latent heat over the time for which the suit was worn.\n\n");
}

/// Sorbents give water off, in place of taking any.
fn water(removed_kg: f64) -> String {
    if removed_kg < 0.0 {
        format!("{} given off", kg(-removed_kg))
    } else {
        kg(removed_kg)
    }
}

fn days(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |days| format!("{} d", short(days)))
}

/// "2.4 kg (0.9 oxygen, 1.5 diluent)".
pub(super) fn gas(of: &Gas) -> String {
    if of.total_kg().abs() < 1e-9 {
        return "none".to_owned();
    }
    format!(
        "{} ({} oxygen, {} diluent)",
        kg(of.total_kg()),
        short(of.oxygen_kg),
        short(of.diluent_kg)
    )
}
