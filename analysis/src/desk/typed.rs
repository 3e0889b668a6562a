//! What a person types into a field, as TOML; and a value of the file as they read it.

use breathroom_sim::scenario::keys::Kind;
use breathroom_sim::text::{Texts, Value, parse};

/// What is wrong with a text that no value can be made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Wrong {
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

/// A value as a person reads it: text without its quotes where that cannot be misread, all else as written.
pub(super) fn shown(raw: &str, value: &Value) -> String {
    match value {
        Value::Text(text) if !text.contains(['\n', '\r']) && !text.trim_start().starts_with(['[', '{', '"', '\'']) => {
            text.clone()
        }
        _ => raw.to_owned(),
    }
}

/// The TOML that is meant by a text, from what the key takes.
///
/// # Errors
/// If it is neither TOML nor plain text: it opens a bracket or a quote and does not close it.
pub(super) fn to_toml(text: &str, kind: Option<Kind>) -> Result<String, Wrong> {
    let trimmed = text.trim();
    let words = matches!(
        kind,
        Some(Kind::Text | Kind::Id | Kind::Word(_) | Kind::Name(_) | Kind::Who(_))
    );
    if trimmed.starts_with(['[', '{', '"', '\'']) {
        return match value_of(trimmed) {
            Ok(_) => Ok(trimmed.to_owned()),
            // A title may begin with a bracket.
            Err(_) if words && !trimmed.starts_with('"') => Ok(quoted(trimmed)),
            Err(wrong) => Err(wrong),
        };
    }
    if matches!(kind, Some(Kind::Names(_) | Kind::Paths | Kind::TwoPlaces)) {
        let names: Vec<String> = trimmed
            .split(',')
            .map(str::trim)
            .filter(|name| !name.is_empty())
            .map(quoted)
            .collect();
        return Ok(format!("[{}]", names.join(", ")));
    }
    if words {
        return Ok(quoted(trimmed));
    }
    match value_of(trimmed) {
        Ok(Value::Flag(_) | Value::Integer(_) | Value::Float(_)) => Ok(trimmed.to_owned()),
        _ => Ok(quoted(trimmed)),
    }
}

/// One value of TOML, and nothing behind it.
fn value_of(text: &str) -> Result<Value, Wrong> {
    let line = format!("x = {text}\n");
    let mut texts = Texts::new("", &line, &[]);
    let parsed = parse(&mut texts, &line);
    if let Some(fault) = texts.faults.first() {
        return Err(Wrong {
            message: fault.message.replacen("this is not TOML", "this value is not TOML", 1),
            help: fault.help.clone().unwrap_or_default(),
        });
    }
    let mut entries = parsed.tree.entries;
    match (entries.pop(), entries.is_empty()) {
        (Some(entry), true) if entry.node.spot.span == (4..4 + text.len()) => Ok(entry.node.value),
        _ => Err(Wrong {
            message: "this value is not TOML: something stands behind it".to_owned(),
            help: String::new(),
        }),
    }
}

/// A text of TOML in quotes.
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use breathroom_sim::scenario::keys::{AIR, ROOT, TASK};

    use super::*;

    fn kind(section: &'static breathroom_sim::scenario::keys::Section, name: &str) -> Option<Kind> {
        section.key(name).map(|key| key.kind)
    }

    #[test]
    fn a_quantity_is_text_a_spread_a_table_and_a_flag_a_flag() {
        let pressure = kind(&AIR, "pressure");
        assert_eq!(to_toml(" 56.5 kPa ", pressure), Ok("\"56.5 kPa\"".to_owned()));
        let spread = "{ normal = [\"1 kPa\", \"0.1 kPa\"] }";
        assert_eq!(to_toml(spread, pressure), Ok(spread.to_owned()));
        assert_eq!(to_toml("0.34", kind(&AIR, "oxygen")), Ok("0.34".to_owned()));
        assert_eq!(to_toml("true", kind(&TASK, "each")), Ok("true".to_owned()));
        assert_eq!(to_toml("true", kind(&ROOT, "title")), Ok("\"true\"".to_owned()));
        assert_eq!(to_toml("3", kind(&ROOT, "title")), Ok("\"3\"".to_owned()));
        assert_eq!(to_toml("3", kind(&ROOT, "format")), Ok("3".to_owned()));
        assert_eq!(
            to_toml("lead, second", kind(&TASK, "crew")),
            Ok("[\"lead\", \"second\"]".to_owned())
        );
        assert_eq!(to_toml("1979-05-27", pressure), Ok("\"1979-05-27\"".to_owned()));
    }

    #[test]
    fn what_opens_and_does_not_close_is_no_value_but_may_be_a_title() {
        for text in ["{ normal = [", "[1, 2", "\"12 m3", "{ a = 1 } b = 2", "[1]\nx = 2"] {
            let wrong = to_toml(text, kind(&AIR, "pressure")).expect_err(text);
            let known = ["TOML", "quotes", "there already"];
            assert!(known.iter().any(|word| wrong.message.contains(word)), "{wrong:?}");
        }
        assert_eq!(
            to_toml("[draft one", kind(&ROOT, "title")),
            Ok("\"[draft one\"".to_owned())
        );
    }

    #[test]
    fn quotes_and_breaks_are_escaped() {
        assert_eq!(quoted("a \"b\" \\ c\nd\u{1}"), "\"a \\\"b\\\" \\\\ c\\nd\\u0001\"");
    }
}
