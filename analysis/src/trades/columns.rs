//! `[columns]` and `[front]`: what is said of each row, and what makes one better than another.

use breathroom_sim::scenario::Scenario;
use breathroom_sim::text::{Entry, Spot, Texts};
use breathroom_sim::units::Dimension;

use crate::study::measure::Measure;

use super::formula::{self, Formula, Known};
use super::sheet::{Sheet, inside, quantity, wrong};
use super::trade::{At, Column, Front, What};

const KINDS: [&str; 4] = ["margin", "beyond", "result", "formula"];
const KEYS: &[&str] = &["margin", "beyond", "result", "formula", "at", "unit", "meaning"];
const FRONT: &[&str] = &["most", "least"];
/// What is beyond any limit.
const ANY: &str = "any";

/// The columns of a trade that names none: of each limit the margin that is kept and the share beyond, then that beyond any.
pub(super) fn usual(scenario: &Scenario) -> Vec<Column> {
    let ids = scenario.limit_ids();
    let of = |id: &&str| Measure::Margin {
        limit: (*id).to_owned(),
        place: None,
    };
    let margins = ids.iter().map(|id| Column {
        name: format!("margin {id}"),
        what: What::Margin {
            measure: of(id),
            at: At::Gate,
        },
    });
    let shares = ids.iter().map(|id| Column {
        name: format!("beyond {id}"),
        what: What::Beyond(of(id)),
    });
    let any = Column {
        name: format!("beyond {ANY}"),
        what: What::Beyond(Measure::Broken),
    };
    margins.chain(shares).chain(std::iter::once(any)).collect()
}

/// Reads the columns; what is wrong is told, and such a column left out.
pub(super) fn read(texts: &mut Texts, entry: &Entry, known: Option<&Known<'_>>) -> Vec<Column> {
    let Some(table) = entry.node.table() else {
        wrong::<()>(
            texts,
            "columns",
            &entry.node,
            "a table",
            "{ co2 = { margin = \"co2-1h\" } }",
        );
        return Vec::new();
    };
    if table.entries.is_empty() {
        texts.fault(
            &entry.key_spot,
            "`columns` is empty",
            "without it, margins and shares beyond limits are shown",
        );
    }
    let mut list: Vec<Column> = Vec::new();
    for column in &table.entries {
        let name = &column.key;
        if name.trim().is_empty() {
            texts.fault(
                &column.key_spot,
                "a column without a name",
                "name it: tables show the name",
            );
        }
        if known.is_some_and(|known| known.factors.iter().any(|factor| factor.name == *name)) {
            let help = "every factor has a column of its own: choose another name";
            texts.fault(
                &column.key_spot,
                format!("the column `{name}` is named like a factor"),
                help,
            );
        }
        if let Some(other) = list
            .iter()
            .find(|other| other.name.trim().eq_ignore_ascii_case(name.trim()))
        {
            let message = format!("the column `{name}` is there already, as `{}`", other.name);
            texts.fault(&column.key_spot, message, "choose another name");
        }
        if let Some(what) = one(texts, column, known) {
            list.push(Column {
                name: name.clone(),
                what,
            });
        }
    }
    list
}

fn one(texts: &mut Texts, entry: &Entry, known: Option<&Known<'_>>) -> Option<What> {
    let place = format!("columns.{}", entry.key);
    let Some(table) = entry.node.table() else {
        return wrong(texts, &entry.key, &entry.node, "a table", "{ margin = \"co2-1h\" }");
    };
    let sheet = Sheet::new(texts, table, &place, &entry.key_spot, KEYS);
    let kinds: Vec<&str> = KINDS.into_iter().filter(|kind| sheet.get(kind).is_some()).collect();
    let kind = match kinds.as_slice() {
        [one] => *one,
        [] => {
            sheet.missing(
                texts,
                "margin",
                "a column has one of `margin`, `beyond`, `result` and `formula`",
            );
            return None;
        }
        [first, second, ..] => {
            let spot = sheet.get(second).map_or(&entry.key_spot, |e| &e.key_spot);
            texts.fault(
                spot,
                format!("`{first}` and `{second}` in one column"),
                "make a column of each",
            );
            return None;
        }
    };
    let goes: &[&str] = match kind {
        "margin" | "result" => &["at"],
        "formula" => &["unit", "meaning"],
        _ => &[],
    };
    for key in ["at", "unit", "meaning"].into_iter().filter(|key| !goes.contains(key)) {
        if let Some(stray) = sheet.get(key) {
            texts.fault(
                &stray.key_spot,
                format!("`{key}` does not go with `{kind}`"),
                "remove it",
            );
        }
    }
    let text = sheet.text(texts, kind, if kind == "margin" { "\"co2-1h\"" } else { "\"any\"" })?;
    let spot = &sheet.get(kind)?.node.spot;
    if kind == "formula" {
        let unit = sheet.text_or_empty(texts, "unit");
        let meaning = sheet.text(texts, "meaning", "\"Dry mass.\"").unwrap_or(text).to_owned();
        let root = formula::read(texts, known, text, spot)?;
        return Some(What::Formula(Formula {
            text: text.to_owned(),
            unit,
            meaning,
            root,
        }));
    }
    let at = at(texts, &sheet, kind);
    let measure = match (kind, text) {
        ("beyond", ANY) => Measure::Broken,
        ("result", _) => Measure::Total(text.to_owned()),
        _ => Measure::margin(text),
    };
    there(texts, known?, &measure, text, spot, kind)?;
    Some(match kind {
        "margin" => What::Margin { measure, at: at? },
        "result" => What::Result { measure, at: at? },
        _ => What::Beyond(measure),
    })
}

/// Tells of a limit or a result that is not there.
fn there(texts: &mut Texts, known: &Known<'_>, measure: &Measure, text: &str, spot: &Spot, kind: &str) -> Option<()> {
    let Err(none) = known.measure(measure) else {
        return Some(());
    };
    let mut there: Vec<&str> = none.there.iter().map(String::as_str).collect();
    if kind == "beyond" {
        there.push(ANY);
    }
    // Of "co2-1h@crew:led" the place is what is not there.
    let wanted = match text.split_once('@') {
        Some((_, place)) if none.what.starts_with("`") => place.trim(),
        Some((limit, _)) => limit.trim(),
        None => text,
    };
    let help = texts.meant(wanted, there.into_iter());
    let at = text.find(wanted).unwrap_or(0);
    let spot = inside(texts, spot, text, at..at + wanted.len());
    texts.fault(&spot, format!("there is no {}", none.what), help);
    None
}

/// Which value of the variations.
fn at(texts: &mut Texts, sheet: &Sheet<'_>, kind: &str) -> Option<At> {
    let Some(entry) = sheet.get("at") else {
        return Some(if kind == "margin" { At::Gate } else { At::Mean });
    };
    let node = &entry.node;
    let help = match kind {
        "margin" => "write \"gate\", \"mean\", or a quantile: \"5 %\"",
        _ => "write \"mean\", or a quantile: \"95 %\"",
    };
    match node.text() {
        Some("gate") if kind == "margin" => return Some(At::Gate),
        Some("gate") => {
            texts.fault(&node.spot, "a gate is for margins", help);
            return None;
        }
        Some("mean") => return Some(At::Mean),
        Some(text)
            if text
                .trim_start()
                .starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => {}
        Some(text) => {
            texts.fault(&node.spot, format!("`{text}` is not a word for `at`"), help);
            return None;
        }
        None => {}
    }
    let share = quantity(texts, node, "at", Dimension::Fraction)?.si;
    if share > 0.0 && share < 1.0 {
        return Some(At::Quantile(share));
    }
    texts.fault(&node.spot, "a quantile lies between 0 % and 100 %, both excluded", help);
    None
}

/// Reads the front over columns of these names; none after a fault.
pub(super) fn front(texts: &mut Texts, entry: &Entry, columns: &[&str]) -> Option<Front> {
    let Some(table) = entry.node.table() else {
        return wrong(
            texts,
            "front",
            &entry.node,
            "a table",
            "{ most = [\"co2\"], least = [\"mass\"] }",
        );
    };
    let sheet = Sheet::new(texts, table, "front", &entry.key_spot, FRONT);
    if FRONT.iter().all(|key| sheet.get(key).is_none()) {
        sheet.missing(
            texts,
            "most",
            "name columns: most = [..] of which more is better, least = [..] of which less is",
        );
        return None;
    }
    let mut taken: Vec<usize> = Vec::new();
    let mut of = |texts: &mut Texts, key: &str| -> Option<Vec<usize>> {
        if sheet.get(key).is_none() {
            return Some(Vec::new());
        }
        let mut list = Vec::new();
        let mut good = true;
        for (name, node) in sheet.texts(texts, key, "[\"co2\"]")? {
            let Some(index) = columns.iter().position(|column| *column == name) else {
                let help = texts.meant(name, columns.iter().copied());
                texts.fault(&node.spot, format!("there is no column `{name}`"), help);
                good = false;
                continue;
            };
            if taken.contains(&index) {
                texts.fault(
                    &node.spot,
                    format!("`{name}` is in the front already"),
                    "once is enough",
                );
                good = false;
                continue;
            }
            taken.push(index);
            list.push(index);
        }
        good.then_some(list)
    };
    let (most, least) = (of(texts, "most"), of(texts, "least"));
    Some(Front {
        most: most?,
        least: least?,
    })
}
