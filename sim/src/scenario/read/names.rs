//! The names in a file, collected before anything refers to them.

use crate::air::MOST;
use crate::crew::BUILTINS;
use crate::scenario::fields::Fields;
use crate::scenario::known::Index;
use crate::scenario::reader::Reader;
use crate::text::{Spot, Table, Value};

/// Most openings, devices, efforts of the file and kinds of equipment: far beyond any cabin.
const MANY: usize = 100;

/// Collects every name; a name that cannot be one, or one too many, is reported.
pub(super) fn collect(r: &mut Reader<'_>, root: &Fields<'_>) {
    for name in BUILTINS {
        r.known.efforts.add(name.name);
    }
    for set in crate::limits::sets() {
        r.known.limit_sets.add(set.name);
    }
    r.known.compartments = section(r, root, "compartments", "compartments", MOST);
    r.known.openings = section(r, root, "openings", "openings", MANY);
    r.known.devices = section(r, root, "removal", "removal devices", MANY);
    r.known.device_kinds = kinds(root);
    r.known.tanks = section(r, root, "tanks", "tanks", MANY);
    r.known.fans = fans(r, root);
    r.known.people = section(r, root, "crew", "people", MOST);
    suits(r, root);
    let efforts = section(r, root, "efforts", "efforts", MANY);
    for name in &efforts.list {
        r.known.efforts.add(name);
    }
    r.known.equipment = section(r, root, "equipment", "kinds of equipment", MANY);
    r.known.sensors = section(r, root, "sensors", "sensors", MANY);
    r.known.buses = section(r, root, "buses", "buses", MANY);
    r.known.tasks = listed(r, root, "tasks", "task", usize::MAX);
    r.known.faults = listed(r, root, "faults", "fault", MANY);
    r.known.alarms = listed(r, root, "alarms", "alarm", MANY);
}

fn section(r: &mut Reader<'_>, root: &Fields<'_>, name: &str, words: &str, most: usize) -> Index {
    let mut index = Index::default();
    let Some(entry) = root.entry(name) else { return index };
    let Some(table) = entry.node.table() else { return index };
    for (n, item) in table.entries.iter().enumerate() {
        if n == most {
            let message = format!("{} {words}: at most {most} can be simulated", table.entries.len());
            r.texts.fault(&item.key_spot, message, "merge some of them");
        }
        proper(r, &item.key, &item.key_spot);
        if name == "compartments" && ["outside", "crew", "compartments"].contains(&item.key.as_str()) {
            let message = format!("a compartment cannot be called `{}`", item.key);
            r.texts
                .fault(&item.key_spot, message, "that word has a meaning of its own");
        }
        index.add(&item.key);
    }
    index
}

/// The kind of each device as written; empty where there is none.
fn kinds(root: &Fields<'_>) -> Vec<String> {
    let table = root.entry("removal").and_then(|e| e.node.table());
    let entries = table.map_or(&[][..], |t| &t.entries[..]);
    let kind = |t: &Table| t.get("kind").and_then(|e| e.node.text()).map(str::to_owned);
    entries
        .iter()
        .map(|e| e.node.table().and_then(kind).unwrap_or_default())
        .collect()
}

/// Suits go by their people, and share the number of bodies of gas with the compartments.
fn suits(r: &mut Reader<'_>, root: &Fields<'_>) {
    let Some(table) = root.entry("suits").and_then(|e| e.node.table()) else {
        return;
    };
    let rooms = r.known.compartments.list.len();
    for (n, item) in table.entries.iter().enumerate() {
        r.known.suits.add(&item.key);
        if rooms <= MOST && rooms + n == MOST {
            let message = format!(
                "{rooms} compartments and {} suits: at most {MOST} bodies of gas can be simulated",
                table.entries.len()
            );
            r.texts.fault(
                &item.key_spot,
                message,
                "merge some of the compartments, or leave a suit out",
            );
        }
    }
}

/// Fans, which are switched by the same words as devices and so share no name with them.
fn fans(r: &mut Reader<'_>, root: &Fields<'_>) -> Index {
    let fans = section(r, root, "fans", "fans", MANY);
    let table = root.entry("fans").and_then(|e| e.node.table());
    for item in table.map_or(&[][..], |t| &t.entries[..]) {
        if r.known.devices.get(&item.key).is_some() {
            let message = format!("there is a removal device `{}` too", item.key);
            r.texts.fault(
                &item.key_spot,
                message,
                "give the fan a name of its own: both are switched by name",
            );
        }
    }
    fans
}

/// The ids of a list of tables.
fn listed(r: &mut Reader<'_>, root: &Fields<'_>, name: &str, word: &str, most: usize) -> Index {
    let mut index = Index::default();
    let Some(entry) = root.entry(name) else { return index };
    let Value::List(items) = &entry.node.value else {
        return index;
    };
    for (n, item) in items.iter().enumerate() {
        if n == most {
            let message = format!("{} {name}: at most {most} can be simulated", items.len());
            r.texts.fault(&item.spot, message, "leave some of them out");
        }
        let Some(id) = item.table().and_then(|t| t.get("id")) else {
            continue;
        };
        let Some(text) = id.node.text() else { continue };
        if proper(r, text, &id.node.spot) && !index.add(text) {
            r.texts.fault(
                &id.node.spot,
                format!("there is another {word} `{text}`"),
                format!("give each {word} an id of its own"),
            );
        }
    }
    index
}

/// Whether a text can be a name: letters, digits, `_` and `-`.
pub(super) fn proper(r: &mut Reader<'_>, name: &str, spot: &Spot) -> bool {
    let good = !name.is_empty()
        && name.chars().count() <= 60
        && name.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-');
    if !good {
        let message = format!("`{}` cannot be a name", name.escape_debug());
        r.texts.fault(
            spot,
            message,
            "a name has letters, digits, `_` and `-`, at most 60 of them",
        );
    }
    good
}
