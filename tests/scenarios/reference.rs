//! What is written from the table of keys: the reference page, the starter, the schema.

use std::fs;
use std::path::Path;

use breathroom_sim::scenario::{Diagnostic, Source, json_schema, keys, read, reference_page, starter};

/// The one file that a comment of the starter names.
fn few_files(name: &str) -> Result<Vec<u8>, String> {
    match name {
        "climb.csv" => Ok(b"time [s],heart rate [1/min]\n0,95\n60,120\n".to_vec()),
        _ => Err(format!("no file {name}")),
    }
}

fn faults(text: &str) -> Vec<Diagnostic> {
    read(&Source {
        name: "starter.toml",
        text,
        overrides: &[],
        files: &few_files,
    })
    .err()
    .unwrap_or_default()
}

#[test]
fn the_page_is_the_tables() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/README.md");
    let page = fs::read_to_string(&path).unwrap_or_default();
    if page != reference_page() {
        if std::env::var_os("BLESS").is_some() {
            fs::write(&path, reference_page()).expect("a file that can be written");
        }
        panic!("scenarios/README.md is not what the table of keys says; BLESS=1 writes it");
    }
}

#[test]
fn the_page_of_trade_files_is_their_reference() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/trades/README.md");
    let page = fs::read_to_string(&path).unwrap_or_default();
    if page != breathroom_analysis::trades::REFERENCE {
        if std::env::var_os("BLESS").is_some() {
            fs::write(&path, breathroom_analysis::trades::REFERENCE).expect("a file that can be written");
        }
        panic!("scenarios/trades/README.md is not analysis/src/trades/reference.md; BLESS=1 writes it");
    }
}

#[test]
fn the_starter_reads_and_every_comment_of_it_can_be_taken_in() {
    let text = starter();
    assert_eq!(faults(&text), []);
    // Alternatives that cannot stand beside what is live, and what needs another key beside it.
    let apart = [
        ("[[alarms]]", "sensors"),
        ("[[alarms]]", "votes"),
        ("[[alarms]]", "below"),
        ("[[alarms]]", "clears_above"),
        ("[[faults]]", "adds"),
        ("[[faults]]", "to"),
        ("[[faults]]", "mode"),
        ("[[faults]]", "bed"),
        ("[[faults]]", "reads"),
        ("[[faults]]", "at"),
        ("[[faults]]", "turn"),
        ("[[limits.rule]]", "at_least"),
        ("[[limits.rule]]", "over"),
        ("[compartments.lock]", "leak"),
        ("[removal.scrubber]", "fan"),
        ("[removal.scrubber]", "fan_part"),
        ("[removal.backup]", "fan_part"),
        ("[removal.coil]", "flow"),
        ("[removal.canister]", "fan"),
        ("[removal.canister]", "fan_part"),
        ("[removal.canister]", "capacity"),
        ("[removal.beds]", "fan"),
        ("[removal.beds]", "fan_part"),
        ("[removal.beds]", "saved"),
    ];
    let lines: Vec<&str> = text.lines().collect();
    let mut header = "";
    let mut taken = 0;
    for (n, line) in lines.iter().enumerate() {
        if line.starts_with('[') || line.starts_with("#[") {
            header = line;
        }
        let Some(key) = line
            .strip_prefix('#')
            .filter(|rest| rest.starts_with(|c: char| c.is_ascii_lowercase()))
        else {
            continue;
        };
        let Some((name, _)) = key.split_once(" = ") else {
            continue;
        };
        let mut now: Vec<String> = lines.iter().map(|l| (*l).to_owned()).collect();
        now[n] = key.to_owned();
        if let Some(live) = header.strip_prefix('#') {
            take_in_section(&mut now, n, header, live);
        }
        if ["average", "mean", "shift", "allowed"].contains(&name) {
            for l in &mut now {
                if l.starts_with("average = ") {
                    *l = format!("#{l}");
                }
            }
            now[n] = key.to_owned();
        }
        // The first task cannot wait for itself.
        if apart.contains(&(header, name)) || key.starts_with("after = ") {
            continue;
        }
        taken += 1;
        let found = faults(&(now.join("\n") + "\n"));
        assert_eq!(
            found,
            [],
            "{header} {key}\n{}",
            found.iter().map(Diagnostic::render).collect::<String>()
        );
    }
    assert!(taken > 50, "only {taken} commented keys");
}

/// Uncomments a section's header and what it must have.
fn take_in_section(now: &mut [String], n: usize, header: &str, live: &str) {
    let start = now[..n]
        .iter()
        .rposition(|l| l == header)
        .expect("the header stands before its keys");
    now[start] = live.to_owned();
    for line in &mut now[start + 1..n] {
        if line.starts_with("#pressure = ") {
            *line = line[1..].to_owned();
        }
    }
}

#[test]
fn the_starter_names_every_key() {
    let text = starter();
    for section in keys::sections() {
        for key in section.keys {
            let named = text.contains(&format!("{} = ", key.name)) || text.contains(&format!("{}]", key.name));
            let explained = text.contains(&format!("#   {}: ", key.name)) || text.contains(&format!("[{}.", key.name));
            assert!(named || explained, "{}.{}", section.path, key.name);
        }
    }
}

#[test]
fn the_page_and_the_schema_name_every_key() {
    let page = reference_page();
    let schema: serde_json::Value = serde_json::from_str(&json_schema()).expect("JSON");
    let text = schema.to_string();
    for section in keys::sections() {
        for key in section.keys {
            assert!(
                page.contains(&format!("| `{}` |", key.name)),
                "{}.{}",
                section.path,
                key.name
            );
            assert!(
                text.contains(&format!("\"{}\":", key.name)),
                "{}.{}",
                section.path,
                key.name
            );
        }
    }
    assert_eq!(schema["additionalProperties"], false);
    assert_eq!(
        schema["properties"]["duration"]["allOf"][0]["$ref"],
        "#/definitions/number"
    );
}

/// The starter against the schema, by a checker of the few words that the schema uses.
#[test]
fn the_schema_takes_the_starter_and_refuses_a_wrong_key() {
    let schema: serde_json::Value = serde_json::from_str(&json_schema()).expect("JSON");
    let parse = |text: &str| -> serde_json::Value {
        let value: toml::Value = toml::from_str(text).expect("TOML");
        serde_json::to_value(value).expect("JSON")
    };
    assert_eq!(against(&schema, &schema, &parse(&starter())), Ok(()));
    let wrong = starter().replace("free_volume", "free_volum");
    assert!(against(&schema, &schema, &parse(&wrong)).is_err());
    let wrong = starter().replace("kind = \"condenser\"", "kind = \"curve\"");
    assert!(against(&schema, &schema, &parse(&wrong)).is_err());
    let wrong = starter().replace("duration = \"1 d\"", "duration = true");
    assert!(against(&schema, &schema, &parse(&wrong)).is_err());
}

fn against(root: &serde_json::Value, schema: &serde_json::Value, value: &serde_json::Value) -> Result<(), String> {
    let Some(words) = schema.as_object() else { return Ok(()) };
    for (word, arg) in words {
        let list = arg.as_array().map(Vec::as_slice).unwrap_or_default();
        let passed = |s: &serde_json::Value| against(root, s, value);
        match word.as_str() {
            "$ref" => {
                let pointer = arg.as_str().unwrap_or_default().trim_start_matches('#');
                against(root, root.pointer(pointer).ok_or("a reference to nothing")?, value)?;
            }
            "allOf" => list.iter().try_for_each(passed)?,
            "anyOf" if !list.iter().any(|s| passed(s).is_ok()) => return Err(format!("{value} fits none")),
            "oneOf" if list.iter().filter(|s| passed(s).is_ok()).count() != 1 => {
                return Err(format!("{value} fits not one"));
            }
            "const" if arg != value => return Err(format!("{value} is not {arg}")),
            "enum" if !list.contains(value) => return Err(format!("{value} is not one of {arg}")),
            "type" if !is_type(value, arg.as_str().unwrap_or_default()) => return Err(format!("{value} is no {arg}")),
            "required" => {
                for key in list {
                    if value.is_object() && value.get(key.as_str().unwrap_or_default()).is_none() {
                        return Err(format!("no {key}"));
                    }
                }
            }
            "items" => value
                .as_array()
                .map(Vec::as_slice)
                .unwrap_or_default()
                .iter()
                .try_for_each(|v| against(root, arg, v))?,
            "properties" => {
                for (key, v) in value.as_object().into_iter().flatten() {
                    match arg.get(key) {
                        Some(s) => against(root, s, v)?,
                        None if schema["additionalProperties"] == false => return Err(format!("unknown {key}")),
                        None => {}
                    }
                }
            }
            "additionalProperties" if arg.is_object() => {
                value
                    .as_object()
                    .into_iter()
                    .flatten()
                    .try_for_each(|(_, v)| against(root, arg, v))?;
            }
            _ => {}
        }
    }
    Ok(())
}

fn is_type(value: &serde_json::Value, name: &str) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "integer" => value.is_i64(),
        "number" => value.is_number(),
        "boolean" => value.is_boolean(),
        _ => false,
    }
}
