//! Totals, and the extremes of each compartment.

use std::fmt::Write as _;

use super::super::numbers::{self, clock, kilograms, percent, short, with_unit};
use super::super::summary::{Gas, Summary};
use super::table;

pub(super) fn totals(out: &mut String, of: &Summary) {
    out.push_str("## Totals\n\n");
    let t = &of.totals;
    let days = of.per_day.days;
    let row = |what: &str, value: f64, unit: &str| {
        let told = |value: f64| {
            if unit == "kg" {
                kilograms(value)
            } else {
                with_unit(value, unit)
            }
        };
        vec![what.to_owned(), told(value), told(value / days)]
    };
    let kg = |what: &str, value: f64| row(what, value, "kg");
    // Only where there is more than the holds: else it is theirs.
    let in_all = |daily_kg: f64, by_holds: f64| {
        let all = daily_kg * days;
        if (all - by_holds).abs() > 1e-9 { all } else { 0.0 }
    };
    let mut rows = vec![
        kg("CO2 made", t.co2_made_kg),
        kg("CO2 removed", t.co2_removed_kg),
        kg("water vapour made", t.water_made_kg),
        kg("sweat that ran off", t.runoff_kg),
        kg("water removed", t.water_removed_kg),
        kg("water condensed on surfaces", t.water_condensed_kg),
        kg("oxygen used", t.oxygen_used_kg),
        kg("oxygen supplied by holds", t.oxygen_supplied_kg),
        kg("diluent supplied by holds", t.diluent_supplied_kg),
    ];
    let some = [
        ("oxygen let in by fills", t.oxygen_filled_kg, "kg"),
        ("diluent let in by fills", t.diluent_filled_kg, "kg"),
        ("oxygen let into suits", t.oxygen_to_suits_kg, "kg"),
        (
            "oxygen from tanks and supplies in all",
            in_all(of.per_day.oxygen_kg, t.oxygen_supplied_kg),
            "kg",
        ),
        (
            "diluent from tanks and supplies in all",
            in_all(of.per_day.diluent_kg, t.diluent_supplied_kg),
            "kg",
        ),
        ("vapour given off by sorbents", t.sorbent_water_kg, "kg"),
        ("water collected by condensers", t.water_collected_kg, "kg"),
        ("water lost overboard", t.water_overboard_kg, "kg"),
        ("canisters taken out", of.per_day.canisters * days, ""),
    ];
    // Only where there is something: few scenarios have all of these.
    let some = some.into_iter().filter(|(_, value, _)| *value != 0.0);
    rows.extend(some.map(|(what, value, unit)| row(what, value, unit)));
    rows.push(row("sensible heat", t.sensible_mj, "MJ"));
    rows.push(row("latent heat", t.latent_mj, "MJ"));
    table(out, &["what", "over the run", "a day"], rows.into_iter());
    lost(out, of);
    let b = &of.balance;
    let _ = writeln!(
        out,
        "Ledgers close to (share of throughput): carbon {}, oxygen {}, water {}, diluent {}.\n",
        short(b.carbon),
        short(b.oxygen),
        short(b.water),
        short(b.diluent)
    );
}

/// Gas that is gone, by where it went.
fn lost(out: &mut String, of: &Summary) {
    let t = &of.totals;
    let ways = [
        ("leaks and openings to outside", &t.leaked),
        ("vents", &t.vented),
        ("relief valves", &t.relieved),
        ("turns of beds", &t.turn_lost),
    ];
    let rows = ways
        .iter()
        .enumerate()
        .filter(|(index, (_, gas))| *index == 0 || **gas != Gas::default());
    let rows = rows.map(|(_, (way, gas))| {
        let mut cells = vec![(*way).to_owned()];
        let each = [gas.co2_kg, gas.water_kg, gas.oxygen_kg, gas.diluent_kg, gas.total_kg()];
        cells.extend(each.map(kilograms));
        cells
    });
    let header = ["gas lost through", "CO2", "water vapour", "oxygen", "diluent", "in all"];
    table(out, &header, rows);
}

pub(super) fn compartments(out: &mut String, of: &Summary) {
    out.push_str("## Compartments\n\n");
    let (mmhg, kpa, deg_c) = (numbers::mmhg(), numbers::kpa(), numbers::deg_c());
    // Followed only where gas is let in that may raise it.
    let fraction = of.extremes.iter().any(|(_, e)| !e.oxygen_fraction_max.is_nan());
    let mut header = vec!["compartment", "CO2 at most", "humidity", "oxygen"];
    header.extend(fraction.then_some("oxygen of the dry gas at most"));
    header.extend(["pressure", "temperature", "liquid water at most"]);
    let rows = of.extremes.iter().map(|(name, e)| {
        let range = |low: f64, high: f64, unit: &str| format!("{} to {} {unit}", short(low), short(high));
        let mut cells = vec![
            name.to_owned(),
            format!(
                "{} mmHg at {}",
                short(mmhg.from_si(e.co2_pa_max)),
                clock(e.co2_pa_max_at_h)
            ),
            range(100.0 * e.humidity_min, 100.0 * e.humidity_max, "%"),
            range(kpa.from_si(e.oxygen_pa_min), kpa.from_si(e.oxygen_pa_max), "kPa"),
        ];
        cells.extend(fraction.then(|| percent(e.oxygen_fraction_max)));
        cells.extend([
            range(kpa.from_si(e.pressure_pa_min), kpa.from_si(e.pressure_pa_max), "kPa"),
            range(
                deg_c.from_si(e.temperature_k_min),
                deg_c.from_si(e.temperature_k_max),
                "degC",
            ),
            kilograms(e.liquid_water_kg_max),
        ]);
        cells
    });
    table(out, &header, rows);
}
