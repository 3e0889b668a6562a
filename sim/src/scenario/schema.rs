//! A JSON Schema of the scenario file (draft-07, which common TOML editors take), from the table of keys.
//!
//! It says which keys there are, of which type, with which words, and what they mean. It cannot say what a unit must be: a
//! number with a dimension is text that starts like a number, or a spread.

use std::fmt::Write as _;

use super::keys::{Key, Kind, Need, ROOT, Section};
use crate::units::Dimension;

/// The schema, as JSON.
#[must_use]
pub fn json_schema() -> String {
    let mut out = String::from(
        "{\n\"$schema\": \"http://json-schema.org/draft-07/schema#\",\n\"title\": \"Breathroom scenario, format 1\",\n\"definitions\": ",
    );
    out.push_str(DEFINITIONS);
    out.push_str(",\n");
    out.push_str(object(&ROOT, None).trim_start_matches('{'));
    out.push('\n');
    out
}

const DEFINITIONS: &str = r##"{
"quantity": { "type": "string", "pattern": "^\\s*[+-]?(\\d|\\.\\d)" },
"value": { "anyOf": [ { "$ref": "#/definitions/quantity" }, { "type": "number" } ] },
"pair": { "type": "array", "items": { "$ref": "#/definitions/value" }, "minItems": 2, "maxItems": 2 },
"triple": { "type": "array", "items": { "$ref": "#/definitions/value" }, "minItems": 3, "maxItems": 3 },
"spread": { "type": "object", "additionalProperties": false, "properties": {
"normal": { "$ref": "#/definitions/pair", "description": "[mean, sd]" },
"uniform": { "$ref": "#/definitions/pair", "description": "[lo, hi]" },
"triangular": { "$ref": "#/definitions/triple", "description": "[lo, mode, hi]" },
"pert": { "$ref": "#/definitions/triple", "description": "[lo, mode, hi]" },
"lognormal": { "$ref": "#/definitions/pair", "description": "[median, coefficient of variation]" },
"gamma": { "$ref": "#/definitions/pair", "description": "[mean, coefficient of variation]" },
"exponential": { "$ref": "#/definitions/value", "description": "mean" },
"weibull": { "$ref": "#/definitions/pair", "description": "[scale, shape]" },
"choice": { "type": "array", "items": { "$ref": "#/definitions/value" }, "minItems": 1 },
"weights": { "type": "array", "items": { "type": "number" }, "minItems": 1 },
"data": { "type": "string" },
"column": { "type": "string" },
"within": { "$ref": "#/definitions/pair", "description": "[lo, hi]: truncated, not clipped" },
"trials": { "type": "integer", "minimum": 3, "description": "the numbers are estimates from so many observations" },
"draw": { "enum": ["once"] } },
"oneOf": [ { "required": ["normal"] }, { "required": ["uniform"] }, { "required": ["triangular"] }, { "required": ["pert"] }, { "required": ["lognormal"] }, { "required": ["gamma"] }, { "required": ["exponential"] }, { "required": ["weibull"] }, { "required": ["choice"] }, { "required": ["data", "column"] } ] },
"number": { "anyOf": [ { "$ref": "#/definitions/quantity" }, { "$ref": "#/definitions/spread" } ] },
"plain": { "anyOf": [ { "$ref": "#/definitions/value" }, { "$ref": "#/definitions/spread" } ] }
}"##;

/// The schema of a table. `kind`: the family of a removal device.
fn object(section: &Section, kind: Option<&str>) -> String {
    let mut out = String::from("{\"type\": \"object\", \"additionalProperties\": false");
    if !section.path.is_empty() {
        let _ = write!(out, ", \"description\": {}", quoted(section.meaning));
    }
    out.push_str(", \"properties\": {");
    for (n, key) in section.keys.iter().enumerate() {
        let joint = if n == 0 { "\n" } else { ",\n" };
        let body = match (kind, key.name) {
            (Some(kind), "kind") => format!(
                "{{\"const\": {}, \"description\": {}}}",
                quoted(kind),
                quoted(key.meaning)
            ),
            _ => property(key),
        };
        let _ = write!(out, "{joint}{}: {body}", quoted(key.name));
    }
    out.push_str(" }");
    let required: Vec<String> = section
        .keys
        .iter()
        .filter(|k| matches!(k.need, Need::Required))
        .map(|k| quoted(k.name))
        .collect();
    if !required.is_empty() {
        let _ = write!(out, ", \"required\": [{}]", required.join(", "));
    }
    out.push('}');
    out
}

/// The schema of what stands behind a key.
fn property(key: &Key) -> String {
    let words = match key.need {
        Need::Required | Need::Absent("-") => key.meaning.to_owned(),
        Need::Absent(absent) => format!("{} Without it: {absent}.", key.meaning),
        Need::Default(value, ..) => format!("{} Default: {}.", key.meaning, value.trim_matches('"')),
    };
    let description = quoted(&words);
    let with = |body: &str| format!("{{{body}, \"description\": {description}}}");
    match key.kind {
        Kind::Number(dimension, _) => with(&format!(
            "\"allOf\": [{{\"$ref\": \"#/definitions/{}\"}}]",
            number(dimension)
        )),
        Kind::NumberOrTable(dimension, _, section) => with(&format!(
            "\"anyOf\": [{{\"$ref\": \"#/definitions/{}\"}}, {}]",
            number(dimension),
            object(section, None)
        )),
        Kind::NumberOrName(dimension, ..) => with(&format!(
            "\"anyOf\": [{{\"$ref\": \"#/definitions/{}\"}}, {{\"type\": \"string\", \"minLength\": 1}}]",
            number(dimension)
        )),
        Kind::WordOrTable(list, section) => with(&format!(
            "\"anyOf\": [{{\"enum\": [{}]}}, {}]",
            list.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(", "),
            object(section, None)
        )),
        Kind::Who(_) | Kind::PathOrPaths => with(
            "\"anyOf\": [{\"type\": \"string\", \"minLength\": 1}, {\"type\": \"array\", \"minItems\": 1, \"items\": {\"type\": \
             \"string\"}}]",
        ),
        Kind::Fixed(..) => with("\"allOf\": [{\"$ref\": \"#/definitions/quantity\"}]"),
        Kind::Numbers(..) => {
            with("\"type\": \"array\", \"minItems\": 1, \"items\": {\"$ref\": \"#/definitions/plain\"}")
        }
        Kind::Points(_) => with(
            "\"type\": \"array\", \"minItems\": 1, \"items\": {\"type\": \"array\", \"minItems\": 2, \"maxItems\": 2, \"items\": \
             {\"$ref\": \"#/definitions/number\"}}",
        ),
        Kind::Whole(lo, hi) => with(&format!("\"type\": \"integer\", \"minimum\": {lo}, \"maximum\": {hi}")),
        Kind::Flag => with("\"type\": \"boolean\""),
        Kind::Text | Kind::Id | Kind::Name(_) => with("\"type\": \"string\", \"minLength\": 1"),
        Kind::Word(list) => with(&format!(
            "\"enum\": [{}]",
            list.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(", ")
        )),
        Kind::Names(_) => with("\"type\": \"array\", \"items\": {\"type\": \"string\"}"),
        Kind::TwoPlaces => {
            with("\"type\": \"array\", \"minItems\": 2, \"maxItems\": 2, \"items\": {\"type\": \"string\"}")
        }
        Kind::Paths => with("\"type\": \"array\", \"minItems\": 2, \"items\": {\"type\": \"string\"}"),
        Kind::Correlations => with(
            "\"anyOf\": [{\"$ref\": \"#/definitions/value\"}, {\"type\": \"array\", \"minItems\": 2, \"items\": {\"type\": \
             \"array\", \"minItems\": 2, \"items\": {\"$ref\": \"#/definitions/value\"}}}]",
        ),
        Kind::Table(section) => object(section, None),
        Kind::Named(section) | Kind::ForCompartments(section) | Kind::ForPeople(section) => with(&format!(
            "\"type\": \"object\", \"additionalProperties\": {}",
            object(section, None)
        )),
        Kind::Families(families) => {
            let list: Vec<String> = families
                .iter()
                .map(|(name, section)| object(section, Some(name)))
                .collect();
            with(&format!(
                "\"type\": \"object\", \"additionalProperties\": {{\"oneOf\": [{}]}}",
                list.join(",\n")
            ))
        }
        Kind::Tables(section) => with(&format!("\"type\": \"array\", \"items\": {}", object(section, None))),
    }
}

/// Which definition a number takes. A rule's number has the dimension of its quantity, which may be plain.
fn number(dimension: Dimension) -> &'static str {
    if dimension.is_plain() { "plain" } else { "number" }
}

/// A JSON string.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            c if c < ' ' => {
                let _ = write!(out, "\\u{:04x}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
