//! `[buses]`: what stops together.

use crate::scenario::fields::Fields;
use crate::scenario::keys::BUS;
use crate::scenario::reader::Reader;
use crate::scenario::upset::ChangeNums;
use crate::text::{Node, Value};

use super::targets::{Changeable, find};

/// Reads the buses; each can be "off", and then all that it feeds is.
pub(super) fn read(r: &mut Reader<'_>, root: &Fields<'_>, targets: &[Changeable]) -> Vec<Changeable> {
    let mut list = Vec::new();
    for (entry, table) in root.named(r, "buses") {
        let path = format!("buses.{}", entry.key);
        let fields = Fields::new(r, &BUS, table, &path, &entry.key_spot);
        let mut off = Vec::new();
        for (fed, node) in paths(r, &fields, "feeds") {
            let Some(found) = find(r, targets, fed, &node.spot) else {
                continue;
            };
            match stops(found) {
                Some(changes) => off.extend_from_slice(changes),
                None => {
                    let message = format!("`{fed}` is nothing that a bus feeds");
                    let help = "it feeds devices, fans, openings, sensors and valves of holds: `removal.NAME`, `control.NAME.oxygen`";
                    r.texts.fault(&node.spot, message, help);
                }
            }
        }
        list.push(Changeable {
            path,
            number: None,
            modes: vec![("off", off)],
            reads: None,
        });
    }
    list
}

/// What happens to something that loses its power: it is off; the valve of a hold shuts.
fn stops(found: &Changeable) -> Option<&[ChangeNums]> {
    let mode = |word: &str| found.modes.iter().find(|(w, _)| *w == word);
    let shuts = || mode("shut").filter(|_| found.path.starts_with("control."));
    mode("off").or_else(shuts).map(|(_, changes)| changes.as_slice())
}

/// The paths of a key: one, or a list of them.
pub(super) fn paths<'t>(r: &mut Reader<'_>, fields: &Fields<'t>, name: &str) -> Vec<(&'t str, &'t Node)> {
    let Some(entry) = fields.entry(name) else {
        fields.missing(r, name);
        return Vec::new();
    };
    match &entry.node.value {
        Value::List(items) => {
            if items.is_empty() {
                let help = "name at least one path";
                r.texts.fault(&entry.node.spot, format!("`{name}` is empty"), help);
            }
            fields.names(r, name)
        }
        _ => fields
            .text(r, name)
            .map(|text| (text, &entry.node))
            .into_iter()
            .collect(),
    }
}
