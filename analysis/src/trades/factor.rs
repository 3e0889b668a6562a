//! `[factors.NAME]`: what is varied by design, and its levels: values of the scenario, or whole options.

use breathroom_sim::scenario::Amount;
use breathroom_sim::text::{Entry, Table, Texts, Value};
use breathroom_sim::units::Unit;

use super::apply::{Path, Reading};
use super::kept::{self, Keep};
use super::level::{self, Level, level};
use super::options;
use super::range::{self, Range};
use super::sheet::{Sheet, wrong};

const KEYS: &[&str] = &["path", "paths", "levels", "names", "spread", "options", "meaning"];
/// Words that rows use for something else.
const RESERVED: &[&str] = &["name"];

/// Something that is varied by design.
#[derive(Clone, Debug)]
pub struct Factor {
    /// Its name.
    pub name: String,
    /// The unit in which its levels are numbers; none if they are not (options, words, several paths).
    pub unit: Option<Unit>,
    /// What it is, in a sentence.
    pub meaning: String,
    /// Its levels as listed, in file order; those that only a row or a sample has are not here.
    pub levels: Vec<Level>,
    pub(super) kind: Kind,
    /// What its levels amount to (that of one of them), in its unit, if they are numbers.
    pub(super) amount: Option<Amount>,
}

/// What a factor's levels are made of.
#[derive(Clone, Debug)]
pub(super) enum Kind {
    /// Values at paths that change together.
    Values(Values),
    /// Whole options, by name.
    Options,
}

#[derive(Clone, Debug)]
pub(super) struct Values {
    pub paths: Vec<Path>,
    pub keep: Keep,
    pub range: Option<Range>,
}

impl Factor {
    /// What it sets: its paths, or those of all its options.
    pub(super) fn paths(&self) -> Vec<&Path> {
        match &self.kind {
            Kind::Values(values) => values.paths.iter().collect(),
            Kind::Options => self.levels.iter().flat_map(|level| &level.paths).collect(),
        }
    }
}

/// Reads a factor. `sampled`: ranges may be continuous; `listed`: levels may be given by the rows alone.
pub(super) fn read(reading: &mut Reading<'_>, entry: &Entry, sampled: bool, listed: bool) -> Option<Factor> {
    let name = &entry.key;
    let place = format!("factors.{name}");
    let texts = &mut reading.texts;
    if RESERVED.contains(&name.as_str()) || name.trim().is_empty() || name.contains(['[', ']']) {
        let help = "choose another: rows use `name`, formulas use brackets";
        texts.fault(
            &entry.key_spot,
            format!("`{name}` cannot be the name of a factor"),
            help,
        );
    }
    let Some(table) = entry.node.table() else {
        let message = format!("`{place}` is {}, not a table", entry.node.kind());
        texts.fault(&entry.node.spot, message, format!("write a table `[{place}]`"));
        return None;
    };
    let sheet = Sheet::new(texts, table, &place, &entry.key_spot, KEYS);
    let meaning = sheet
        .text(texts, "meaning", "\"Free volume of the cabin.\"")
        .map(str::to_owned);
    let factor = |kind, levels: Vec<Level>, meaning: String| Factor {
        name: name.clone(),
        unit: None,
        meaning,
        levels,
        kind,
        amount: None,
    };
    if let Some(options) = sheet.get("options") {
        for key in ["path", "paths", "levels", "names", "spread"] {
            if let Some(stray) = sheet.get(key) {
                let help = format!("a factor has options or a `path`: remove `{key}`, or make two factors");
                texts.fault(&stray.key_spot, format!("`{key}` does not go with `options`"), help);
            }
        }
        let levels = options::read(reading, options, &place)?;
        return Some(factor(
            Kind::Options,
            levels,
            meaning.unwrap_or_else(|| "Which option.".to_owned()),
        ));
    }
    let paths = paths(texts, &sheet)?;
    let keep = keep(texts, &sheet)?;
    let words: Vec<&str> = paths.iter().map(|path| path.text.as_str()).collect();
    let meaning = meaning.unwrap_or_else(|| format!("{} of the scenario.", words.join(", ")));
    let spread_spot = sheet.spot_of("spread");
    for path in &paths {
        kept::fits(reading, path, keep, &spread_spot);
    }
    let mut values = Values {
        paths,
        keep,
        range: None,
    };
    let levels = levels(reading, &sheet, &mut values, &place, sampled, listed);
    let levels = named(reading, &sheet, levels?)?;
    Some(factor(Kind::Values(values), levels, meaning))
}

fn paths(texts: &mut Texts, sheet: &Sheet<'_>) -> Option<Vec<Path>> {
    let example = "\"compartments.cabin.free_volume\"";
    match (sheet.get("path"), sheet.get("paths")) {
        (Some(_), Some(several)) => {
            texts.fault(
                &several.key_spot,
                "`path` and `paths` in one factor",
                "keep one of the two",
            );
            None
        }
        (Some(one), None) => {
            let text = sheet.text(texts, "path", example)?;
            Some(vec![Path::read(texts, text, &one.node.spot)?])
        }
        (None, Some(_)) => {
            let list = sheet.texts(texts, "paths", &format!("[{example}]"))?;
            let read: Vec<Option<Path>> = list
                .iter()
                .map(|(text, node)| Path::read(texts, text, &node.spot))
                .collect();
            let paths: Vec<Path> = read.into_iter().collect::<Option<_>>()?;
            for (n, path) in paths.iter().enumerate() {
                if paths[..n].iter().any(|other| other.text == path.text) {
                    texts.fault(&path.spot, format!("`{}` is named twice", path.text), "once is enough");
                    return None;
                }
            }
            Some(paths)
        }
        (None, None) => {
            sheet.missing(texts, "path", "a factor has a `path` with `levels`, or `options`");
            None
        }
    }
}

fn keep(texts: &mut Texts, sheet: &Sheet<'_>) -> Option<Keep> {
    if sheet.get("spread").is_none() {
        return Some(Keep::Exact);
    }
    let word = sheet.text(texts, "spread", "\"scaled\"")?;
    let found = Keep::of(word);
    if found.is_none() {
        let help = texts.meant(word, Keep::WORDS.into_iter());
        texts.fault(
            &sheet.spot_of("spread"),
            format!("`{word}` is not a word for `spread`"),
            help,
        );
    }
    found
}

/// The levels of a factor of values; none after a fault that leaves nothing to go on with.
fn levels(
    reading: &mut Reading<'_>,
    sheet: &Sheet<'_>,
    values: &mut Values,
    place: &str,
    sampled: bool,
    listed: bool,
) -> Option<Vec<Level>> {
    let Some(entry) = sheet.get("levels") else {
        if !listed {
            let help = "add e.g. levels = [\"9 m3\", \"10 m3\"]";
            sheet.missing(&mut reading.texts, "levels", help);
            return None;
        }
        return Some(Vec::new());
    };
    let spot = &entry.node.spot;
    match &entry.node.value {
        Value::Table(table) if kept_shape(table) => {
            let help = "write levels = [..], each of them a value, or a range: { from, to, step }";
            reading.texts.fault(spot, "`levels` is a spread here", help);
            None
        }
        Value::Table(table) => {
            let range = range::read(reading, &values.paths, table, &format!("{place}.levels"), spot, sampled)?;
            let ends = range.both_ends();
            let numbers: Vec<Vec<f64>> = range.levels.clone().unwrap_or_else(|| ends.to_vec());
            let mut list = Vec::new();
            for numbers in &numbers {
                // Where one of a range is refused, so are its neighbours: the first is told.
                list.push(level(reading, values, &range.nodes(numbers), spot)?);
            }
            if range.levels.is_none() {
                list.clear();
            }
            values.range = Some(range);
            Some(list)
        }
        Value::List(items) if items.is_empty() => {
            reading.texts.fault(
                spot,
                "`levels` is an empty list",
                "name the levels, or leave the factor out",
            );
            None
        }
        Value::List(items) => {
            let read: Vec<Option<Level>> = items.iter().map(|item| level::value(reading, values, item)).collect();
            let list: Vec<Level> = read.into_iter().collect::<Option<_>>()?;
            for (n, level) in list.iter().enumerate() {
                if list[..n].iter().any(|other| other.is(level)) {
                    let message = format!("the level {} is there already", level.label);
                    reading.texts.fault(&level.spot, message, "each level stands once");
                }
            }
            Some(list)
        }
        _ => wrong(
            &mut reading.texts,
            "levels",
            &entry.node,
            "a list or a range",
            "[\"9 m3\", \"10 m3\"]",
        ),
    }
}

fn kept_shape(table: &Table) -> bool {
    let shapes = ["normal", "uniform", "triangular", "pert", "lognormal", "choice", "data"];
    table.entries.iter().any(|e| shapes.contains(&e.key.as_str()))
}

/// Gives the levels their names, if they have any.
fn named(reading: &mut Reading<'_>, sheet: &Sheet<'_>, mut levels: Vec<Level>) -> Option<Vec<Level>> {
    if sheet.get("names").is_none() {
        return Some(levels);
    }
    let texts = &mut reading.texts;
    let names = sheet.texts(texts, "names", "[\"small\", \"large\"]")?;
    if names.len() != levels.len() && reading.base.is_some() {
        let message = format!("{} names for {} levels", names.len(), levels.len());
        reading
            .texts
            .fault(&sheet.spot_of("names"), message, "one name for each level");
        return None;
    }
    for (n, (name, node)) in names.iter().enumerate() {
        if names[..n].iter().any(|(other, _)| other == name) {
            let message = format!("another level is named `{name}`");
            reading
                .texts
                .fault(&node.spot, message, "give each level a name of its own");
        }
    }
    for (level, (name, _)) in levels.iter_mut().zip(names) {
        name.clone_into(&mut level.label);
    }
    Some(levels)
}
