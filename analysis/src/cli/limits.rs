//! `limits`: the built-in sets of limits, with values, averaging and sources.

use std::path::Path;

use breathroom_sim::limits::{LimitSet, Scope, SetRule, set, sets};
use serde::Serialize;

use super::console::{Console, Ended};
use super::job::Output;
use super::{Code, deliver};
use crate::results::json::to_json;
use crate::results::summary::FORMAT;
use crate::results::{CAUTION, Export, Texts, text};

/// `summary.json` of `limits`.
#[derive(Serialize)]
struct Listed {
    format: u32,
    command: &'static str,
    sets: Vec<ListedSet>,
    caution: &'static str,
}

#[derive(Serialize)]
struct ListedSet {
    name: &'static str,
    title: &'static str,
    about: &'static str,
    rules: Vec<ListedRule>,
}

#[derive(Serialize)]
struct ListedRule {
    id: &'static str,
    words: String,
    scope: &'static str,
    value: &'static str,
    source: &'static str,
    from_memory: bool,
    note: &'static str,
}

/// Lists the sets, or explains one.
///
/// # Errors
/// If there is no such set, or something cannot be written.
pub fn limits(name: Option<&str>, output: &Output, console: &mut Console<'_>) -> Result<Code, Ended> {
    let chosen: Vec<&LimitSet> = match name {
        None => sets().iter().collect(),
        Some(name) => vec![set(name).ok_or_else(|| unknown(name))?],
    };
    let listed = Listed {
        format: FORMAT,
        command: "limits",
        sets: chosen.iter().map(|set| listed(set)).collect(),
        caution: CAUTION,
    };
    let json = to_json(&listed).map_err(|error| deliver::unencoded(&error))?;
    let words = spoken(&chosen);
    if output.out.is_some() {
        let target = deliver::target(output, "limits")?;
        let texts = Texts {
            json: &json,
            markdown: &words,
        };
        let fill = |folder: &Path| Export::new(folder, "limits", "Sets of limits").finish(texts).map(drop);
        target.publish(fill, || console.stopped())?;
    }
    if output.json {
        console.say(&json)?;
    } else if !output.quiet {
        console.say(&words)?;
    }
    Ok(Code::Done)
}

fn unknown(name: &str) -> Ended {
    let names: Vec<&str> = sets().iter().map(|set| set.name).collect();
    Ended::Usage(format!(
        "there is no set of limits `{name}`; there are: {}",
        names.join(", ")
    ))
}

fn listed(set: &LimitSet) -> ListedSet {
    let rule = |rule: &SetRule| ListedRule {
        id: rule.id,
        words: rule.words(),
        scope: scope(rule.scope),
        value: rule.value,
        source: rule.source,
        from_memory: rule.from_memory,
        note: rule.note,
    };
    ListedSet {
        name: set.name,
        title: set.title,
        about: set.about,
        rules: set.rules.iter().map(rule).collect(),
    }
}

fn scope(scope: Scope) -> &'static str {
    match scope {
        Scope::BreathedAir => "the air that each person breathes",
        Scope::EachCompartment => "the air of each compartment",
    }
}

fn spoken(sets: &[&LimitSet]) -> String {
    let mut said = String::new();
    for set in sets {
        said.push_str(&format!("{}: {}\n{}\n\n", set.name, set.title, text::wrap(set.about)));
        for rule in set.rules {
            said.push_str(&format!("  {}\n", rule.id));
            let memory = if rule.from_memory {
                " (from memory: check it against its source)"
            } else {
                ""
            };
            let lines = [
                format!("{} ({})", rule.words(), scope(rule.scope)),
                format!("Source: {}{memory}", rule.source),
                rule.note.to_owned(),
            ];
            for line in lines.iter().filter(|line| !line.is_empty()) {
                said.push_str(&text::indented(line, 4));
            }
        }
        said.push('\n');
    }
    said.push_str("Use a set in a scenario: [limits] use = [\"NAME\"]; a rule of the same id replaces the set's.\n\n");
    said.push_str(&format!("{}\n", text::wrap(CAUTION)));
    said
}
