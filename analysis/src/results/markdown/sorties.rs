//! Sorties and transfers of gas; each section only where there are any.

use std::fmt::Write as _;

use super::super::numbers::{clock, kilograms as kg, kilopascals, short};
use super::super::summary::{PerSortie, Summary};
use super::stores::gas;
use super::table;

pub(super) fn sorties(out: &mut String, of: &Summary) {
    let Some(mean) = of.per_sortie else { return };
    out.push_str("## Sorties\n\n");
    let header = [
        "sortie",
        "who",
        "tasks",
        "from",
        "to",
        "for",
        "gas vented",
        "gas let in",
    ];
    let time = |hours: Option<f64>| hours.map_or_else(|| "not back".to_owned(), clock);
    let rows = of.sorties.iter().enumerate().map(|(index, sortie)| {
        vec![
            (index + 1).to_string(),
            sortie.people.join(", "),
            sortie.tasks.join(", "),
            clock(sortie.start_h),
            time(sortie.end_h),
            time(sortie.duration_h),
            gas(&sortie.vented),
            gas(&sortie.filled),
        ]
    });
    table(out, &header, rows);
    // Outside without vents, fills or suits costs nothing that is modelled.
    let nothing = PerSortie {
        sorties: mean.sorties,
        ..PerSortie::default()
    };
    if mean == nothing {
        return;
    }
    let canisters = if mean.suit_canisters > 0.0 {
        format!(", {} canisters of suits", short(mean.suit_canisters))
    } else {
        String::new()
    };
    let _ = writeln!(
        out,
        "On average a sortie cost {} of oxygen and {} of diluent vented; {} of oxygen and {} of diluent were let in by fills, \
         {} of oxygen into suits{canisters}.\n",
        kg(mean.oxygen_vented_kg),
        kg(mean.diluent_vented_kg),
        kg(mean.oxygen_filled_kg),
        kg(mean.diluent_filled_kg),
        kg(mean.oxygen_to_suits_kg),
    );
}

pub(super) fn transfers(out: &mut String, of: &Summary) {
    if of.transfers.is_empty() {
        return;
    }
    out.push_str("## Vents, fills and equalisations\n\n");
    let header = [
        "what", "where", "task", "began", "took", "from", "to", "gas", "complete",
    ];
    let rows = of.transfers.iter().map(|transfer| {
        let complete = match (transfer.short, transfer.ended_h) {
            (true, _) => "**NO**: a tank ran dry",
            (false, None) => "**NO**: the run ended",
            (false, Some(_)) => "yes",
        };
        vec![
            transfer.kind.to_owned(),
            transfer.subject.clone(),
            transfer.task.clone(),
            clock(transfer.began_h),
            transfer.ended_h.map_or_else(
                || "-".to_owned(),
                |ended| format!("{} min", short(60.0 * (ended - transfer.began_h))),
            ),
            kilopascals(transfer.from_pa),
            kilopascals(transfer.to_pa),
            gas(&transfer.gas),
            complete.to_owned(),
        ]
    });
    table(out, &header, rows);
    if of.transfers.iter().any(|transfer| transfer.kind == "equalise") {
        out.push_str("The pressures of an equalisation are differences across its opening.\n\n");
    }
}
