//! Texts as forms: what the page shows of the variants, side by side.

use std::collections::BTreeMap;
use std::sync::Arc;

use breathroom_sim::scenario::keys::{Key, Kind, Need};
use breathroom_sim::scenario::{Diagnostic, Resolved, Scenario, key_takes};
use breathroom_sim::units::figures;
use serde_json::{Value, json};

use super::document::{groups, missing};
use super::outline::{Field, Outline, Part};
use super::sliders::Slider;
use super::state::State;
use super::variant::Variant;

/// Where a fault is told.
#[derive(Debug, PartialEq, Eq)]
enum Place {
    Field(String),
    Part(String),
    Nowhere,
}

/// A fault in its place.
struct Told {
    place: Place,
    line: usize,
    message: String,
    help: String,
}

/// A variant with its values by their paths: a page has hundreds of them.
struct View<'s> {
    variant: &'s Variant,
    fields: BTreeMap<&'s str, &'s Field>,
    /// Values of the text as it stands, if it reads.
    values: BTreeMap<&'s str, &'s Resolved>,
    /// Values as they were read last without a fault.
    good: BTreeMap<&'s str, &'s Resolved>,
    faults: Vec<Told>,
}

impl<'s> View<'s> {
    fn of(variant: &'s Variant) -> Self {
        let fields = variant.reading.outline.parts.iter().flat_map(|part| &part.fields);
        Self {
            variant,
            fields: fields.map(|field| (field.path.as_str(), field)).collect(),
            values: variant.reading.read.as_ref().ok().map_or_else(BTreeMap::new, by_path),
            good: variant.last_good.as_ref().map_or_else(BTreeMap::new, by_path),
            faults: told(variant),
        }
    }

    fn slider(&self, path: &str) -> Option<Slider> {
        let scenario = self.variant.last_good.as_ref()?;
        Slider::of(scenario, self.good.get(path)?, self.fields.get(path)?.key)
    }
}

fn by_path(scenario: &Arc<Scenario>) -> BTreeMap<&str, &Resolved> {
    let values = scenario.resolved.iter().rev();
    values.map(|value| (value.path.as_str(), value)).collect()
}

/// The forms of all variants.
pub(super) fn json(state: &State) -> Value {
    let views: Vec<View<'_>> = state.variants.iter().map(View::of).collect();
    let pins = state.pinned();
    json!({
        "version": state.version,
        "forms": state.forms,
        "name": state.name,
        "runs": state.runs,
        "caution": crate::results::CAUTION,
        "variants": views.iter().zip(["A", "B"]).map(|(view, name)| {
            let variant = view.variant;
            let (undo, redo) = variant.steps();
            json!({
                "name": name,
                "title": variant.last_good.as_ref().map(|scenario| &scenario.title),
                "unsaved": variant.unsaved(),
                "undo": undo,
                "redo": redo,
                "faults": view.faults.iter().map(|fault| json!({
                    "at": match &fault.place {
                        Place::Field(path) | Place::Part(path) => Some(path),
                        Place::Nowhere => None,
                    },
                    "line": fault.line,
                    "message": fault.message,
                    "help": fault.help,
                })).collect::<Vec<_>>(),
                "warnings": variant.runnable().map_or_else(Vec::new, |scenario| {
                    scenario.warnings.iter().map(|warning| warning.message.clone()).collect()
                }),
            })
        }).collect::<Vec<_>>(),
        "parts": parts(&views, &pins),
        "groups": groups().iter().map(|group| json!({
            "path": group.path,
            "named": group.named,
            "meaning": group.section.meaning,
        })).collect::<Vec<_>>(),
        "sliders": pins.iter().filter_map(|path| slider(&views, path)).collect::<Vec<_>>(),
    })
}

/// The parts of A in their order, then those that only B has.
fn parts(views: &[View<'_>], pins: &[String]) -> Vec<Value> {
    let outlines: Vec<&Outline> = views.iter().map(|view| &view.variant.reading.outline).collect();
    let first = outlines[0].parts.iter();
    let more = outlines.iter().skip(1).flat_map(|outline| &outline.parts);
    let more = more.filter(|part| outlines[0].part(&part.path).is_none());
    first
        .chain(more)
        .map(|part| {
            let own: Vec<Option<&Part>> = outlines.iter().map(|outline| outline.part(&part.path)).collect();
            let mut fields: Vec<&Field> = own[0].map_or_else(Vec::new, |part| part.fields.iter().collect());
            for field in own.iter().skip(1).flatten().flat_map(|part| &part.fields) {
                if !fields.iter().any(|known| known.path == field.path) {
                    fields.push(field);
                }
            }
            let of_part = |told: &&Told| told.place == Place::Part(part.path.clone());
            json!({
                "path": part.path,
                "header": part.header,
                "meaning": part.section.meaning,
                "note": part.note,
                "removable": part.lines && !part.path.is_empty(),
                "in": own.iter().map(Option::is_some).collect::<Vec<_>>(),
                "faults": views.iter().map(|view| {
                    view.faults.iter().filter(of_part).map(fault).collect::<Vec<_>>()
                }).collect::<Vec<_>>(),
                "add": own.iter().map(|part| part.map_or_else(Vec::new, addable)).collect::<Vec<_>>(),
                "fields": fields.iter().map(|known| field(views, known, pins)).collect::<Vec<_>>(),
            })
        })
        .collect()
}

fn fault(told: &Told) -> Value {
    json!({ "message": told.message, "help": told.help, "line": told.line })
}

fn addable(part: &Part) -> Vec<Value> {
    let list = missing(part).into_iter();
    list.map(|(name, key)| {
        json!({
            "name": name,
            "meaning": key.meaning,
            "takes": key_takes(key),
            "without": without(key),
        })
    })
    .collect()
}

/// What holds if a key is not there.
fn without(key: &Key) -> String {
    match key.need {
        Need::Required => "it must be there".to_owned(),
        Need::Absent("-") => String::new(),
        Need::Absent(words) => words.to_owned(),
        Need::Default(value, source, memory) => {
            let memory = if memory { ", from memory" } else { "" };
            format!("{} ({source}{memory})", value.trim_matches('"'))
        }
    }
}

/// Words that may stand in a field.
fn words(key: Option<&Key>) -> Vec<&'static str> {
    match key.map(|key| key.kind) {
        Some(Kind::Flag) => vec!["true", "false"],
        Some(Kind::Word(words) | Kind::WordOrTable(words, _) | Kind::Who(words)) => words.to_vec(),
        _ => Vec::new(),
    }
}

fn field(views: &[View<'_>], known: &Field, pins: &[String]) -> Value {
    let cells: Vec<Option<Value>> = views.iter().map(|view| cell(view, &known.path)).collect();
    let text = |cell: &Option<Value>| cell.as_ref().map(|cell| cell["text"].clone());
    let differs = cells.len() > 1 && text(&cells[0]) != text(&cells[1]);
    let movable = views.iter().any(|view| view.slider(&known.path).is_some());
    json!({
        "path": known.path,
        "name": known.name,
        "meaning": known.key.map_or("This key is not known.", |key| key.meaning),
        "takes": known.key.map_or_else(String::new, key_takes),
        "without": known.key.map_or_else(String::new, without),
        "required": known.key.is_some_and(|key| matches!(key.need, Need::Required)),
        "words": words(known.key),
        "note": known.note,
        "editable": known.editable,
        "movable": movable,
        "pinned": pins.contains(&known.path),
        "cells": cells,
        "differs": differs,
    })
}

fn cell(view: &View<'_>, path: &str) -> Option<Value> {
    let field = view.fields.get(path)?;
    let text = match view.variant.document.drafts.get(path) {
        Some((typed, _)) => typed.clone(),
        None => field.text.clone(),
    };
    let at_field = |told: &&Told| matches!(&told.place, Place::Field(of) if of == path);
    Some(json!({
        "text": text,
        "spread": spread(view, path),
        "faults": view.faults.iter().filter(at_field).map(fault).collect::<Vec<_>>(),
    }))
}

/// Of a spread its median and where 90 % of it lie.
fn spread(view: &View<'_>, path: &str) -> Option<String> {
    let scenario = view.variant.reading.read.as_ref().ok()?;
    let value = view.values.get(path)?;
    let (input, amount) = (&scenario.inputs[value.input?], value.amount?);
    let [median, lo, hi] = [amount.si, input.spread.quantile(0.05), input.spread.quantile(0.95)];
    let unit = Some(amount.unit.symbol)
        .filter(|unit| !unit.is_empty())
        .map_or(String::new(), |unit| format!(" {unit}"));
    let short = |si: f64| figures(amount.unit.from_si(si), 4);
    let each = if input.per_turn { ", anew in every turn" } else { "" };
    Some(format!(
        "median {}, 5-95 % {} to {}{unit}{each}",
        short(median),
        short(lo),
        short(hi)
    ))
}

fn slider(views: &[View<'_>], path: &str) -> Option<Value> {
    let each: Vec<Option<Slider>> = views.iter().map(|view| view.slider(path)).collect();
    if each.iter().all(Option::is_none) {
        return None;
    }
    // Both on one range, so that equal places are equal values.
    let ends = each.iter().flatten().map(|slider| slider.range);
    let range = ends.fold([f64::INFINITY, f64::NEG_INFINITY], |all, one| {
        [all[0].min(one[0]), all[1].max(one[1])]
    });
    let key = views.iter().find_map(|view| view.fields.get(path)?.key);
    Some(json!({
        "path": path,
        "meaning": key.map_or("", |key| key.meaning),
        "range": range,
        "cells": each.iter().map(|slider| slider.as_ref().map(Slider::json)).collect::<Vec<_>>(),
    }))
}

/// Everything that is wrong with a variant, each fault in the innermost place that its bytes lie in.
fn told(variant: &Variant) -> Vec<Told> {
    let outline = &variant.reading.outline;
    let drafts = variant.document.drafts.iter().map(|(path, (_, wrong))| Told {
        place: Place::Field(path.clone()),
        line: 0,
        message: wrong.message.clone(),
        help: wrong.help.clone(),
    });
    let mut list: Vec<Told> = drafts.collect();
    if let Err(faults) = &variant.reading.read {
        list.extend(faults.iter().map(|fault| Told {
            place: place(outline, fault),
            line: fault.line,
            message: fault.message.clone(),
            help: fault.help.clone().unwrap_or_default(),
        }));
    }
    list
}

fn place(outline: &Outline, fault: &Diagnostic) -> Place {
    let span = &fault.span;
    let inside = |range: &std::ops::Range<usize>| range.start <= span.start && span.end <= range.end && span.end > 0;
    let fields = outline.parts.iter().flat_map(|part| &part.fields);
    let field = fields
        .filter(|field| inside(&field.whole))
        .min_by_key(|field| field.whole.len());
    if let Some(field) = field {
        return Place::Field(field.path.clone());
    }
    let whole = |part: &Part| {
        part.braces
            .clone()
            .map_or(part.head.clone(), |braces| part.head.start..braces.end)
    };
    let mut parts = outline.parts.iter().filter(|part| !part.path.is_empty());
    if let Some(part) = parts.find(|part| inside(&whole(part))) {
        return Place::Part(part.path.clone());
    }
    // Of a table in braces as a whole: at the first of its keys.
    let fields = outline.parts.iter().flat_map(|part| &part.fields);
    let mut around = fields.filter(|field| field.braces.as_ref().is_some_and(inside));
    around
        .next()
        .map_or(Place::Nowhere, |field| Place::Field(field.path.clone()))
}
