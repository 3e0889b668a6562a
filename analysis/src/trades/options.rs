//! `[factors.NAME.options."OPTION"]`: a whole option as a named patch of the scenario, with constants of its own.

use std::sync::Arc;

use breathroom_sim::scenario::keys::{Kind, ROOT};
use breathroom_sim::text::{Entry, Table, Texts, Value};

use super::apply::{Path, Reading, Setting};
use super::figure::Figure;
use super::kept;
use super::level::Level;
use super::sheet::Sheet;
use super::written::{Written, strange};

const KEYS: &[&str] = &["figures", "set"];

/// The options of a factor as its levels; none after a fault that leaves nothing to go on with.
pub(super) fn read(reading: &mut Reading<'_>, entry: &Entry, place: &str) -> Option<Vec<Level>> {
    let texts = &mut reading.texts;
    let Some(table) = entry.node.table() else {
        let message = format!("`options` takes tables, not {}", entry.node.kind());
        texts.fault(
            &entry.node.spot,
            message,
            format!("write `[{place}.options.\"as designed\"]`"),
        );
        return None;
    };
    if table.entries.is_empty() {
        let help = format!("add e.g. `[{place}.options.\"as designed\"]`");
        texts.fault(&entry.key_spot, format!("`{place}` has no options"), help);
        return None;
    }
    let read: Vec<Option<Level>> = table.entries.iter().map(|option| one(reading, option, place)).collect();
    read.into_iter().collect()
}

fn one(reading: &mut Reading<'_>, entry: &Entry, place: &str) -> Option<Level> {
    let texts = &mut reading.texts;
    let place = format!("{place}.options.\"{}\"", entry.key);
    if entry.key.trim().is_empty() {
        texts.fault(
            &entry.key_spot,
            "an option without a name",
            "name it: rows and tables show the name",
        );
        return None;
    }
    let Some(table) = entry.node.table() else {
        let message = format!("an option is a table, not {}", entry.node.kind());
        texts.fault(&entry.node.spot, message, format!("write `[{place}]`"));
        return None;
    };
    let sheet = Sheet::new(texts, table, &place, &entry.key_spot, KEYS);
    let figures = match sheet.sub(texts, "figures", "{ mass = \"34 kg\" }") {
        Some(table) => figures(texts, table),
        None => Vec::new(),
    };
    let mut settings = Vec::new();
    if let Some(table) = sheet.sub(texts, "set", "{ \"removal.scrubber.on\" = false }") {
        for setting in &table.entries {
            settings.push(one_setting(texts, setting, &settings));
        }
    }
    let settings: Vec<Setting> = settings.into_iter().collect::<Option<_>>()?;
    let mut level = Level {
        label: entry.key.clone(),
        figures,
        overrides: settings.iter().map(Setting::text).collect(),
        paths: settings.iter().map(|setting| setting.path.clone()).collect(),
        spot: entry.key_spot.clone(),
        ..Level::default()
    };
    if reading.base.is_some() {
        let scenario = reading.alone(&settings, &entry.key_spot)?;
        level.replaced = level
            .paths
            .iter()
            .find(|path| kept::replaced(reading, path, &scenario))
            .cloned();
        level.scenario = Some(Arc::new(scenario));
    }
    Some(level)
}

/// One path and its value.
fn one_setting(texts: &mut Texts, entry: &Entry, before: &[Option<Setting>]) -> Option<Setting> {
    let path = Path::read(texts, &entry.key, &entry.key_spot)?;
    if strange(texts, &entry.node) {
        return None;
    }
    // `removal.coil.on = false` without quotes is a table `removal`, which would take the place of all devices.
    let section = ROOT.key(&path.text).map(|key| key.kind);
    let whole = matches!(
        section,
        Some(Kind::Named(_) | Kind::Families(_) | Kind::ForCompartments(_) | Kind::ForPeople(_) | Kind::Tables(_))
    );
    if whole || (section.is_none() && !path.text.contains('.') && matches!(entry.node.value, Value::Table(_))) {
        let message = format!("`{}` alone would be all of it", path.text);
        texts.fault(
            &entry.key_spot,
            message,
            "write the path in quotes: \"removal.coil.on\" = false",
        );
        return None;
    }
    let twice = before.iter().flatten().any(|other| other.path.text == path.text);
    if twice {
        texts.fault(
            &entry.key_spot,
            format!("`{}` is set twice", path.text),
            "once is enough",
        );
        return None;
    }
    Some(Setting {
        path,
        value: Written::of(&entry.node),
    })
}

fn figures(texts: &mut Texts, table: &Table) -> Vec<Figure> {
    let mut list = Vec::new();
    for entry in &table.entries {
        let node = &entry.node;
        let written = match &node.value {
            Value::Text(text) => text.clone(),
            Value::Integer(n) => n.to_string(),
            Value::Float(x) if x.is_finite() => x.to_string(),
            _ => {
                let message = format!("a figure is a quantity or a number, not {}", node.kind());
                texts.fault(&node.spot, message, format!("write e.g. {} = \"34 kg\"", entry.key));
                continue;
            }
        };
        let figure = Figure {
            name: entry.key.clone(),
            written,
        };
        if !figure.is_quantity() {
            let message = format!("`{}` is no number with a unit that is known here", figure.written);
            let help = "a figure in another unit is a plain number: cost_keur = 12";
            texts.fault(&node.spot, message, help);
        }
        list.push(figure);
    }
    list
}
