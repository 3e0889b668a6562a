//! The commented starter: a small scenario with every key of the table, those that are not needed as comments.

use std::fmt::Write as _;

use super::keys::{self, Key, Kind, Need, Section};

/// A section as the starter shows it.
struct Shown {
    /// Its header: "[air]".
    header: &'static str,
    section: &'static Section,
    /// Values that stand there, beside the required keys' examples: key, TOML.
    set: &'static [(&'static str, &'static str)],
    /// The whole section is a comment.
    idle: bool,
}

const fn live(header: &'static str, section: &'static Section, set: &'static [(&'static str, &'static str)]) -> Shown {
    Shown {
        header,
        section,
        set,
        idle: false,
    }
}

const fn idle(header: &'static str, section: &'static Section) -> Shown {
    Shown {
        header,
        section,
        set: &[],
        idle: true,
    }
}

fn shown() -> Vec<Shown> {
    vec![
        live("", &keys::ROOT, &[("title", "\"Two crew, one day\"")]),
        idle("[history]", &keys::HISTORY),
        idle("[lags]", &keys::LAGS),
        live("[air]", &keys::AIR, &[]),
        idle("[outside]", &keys::OUTSIDE),
        live(
            "[compartments.cabin]",
            &keys::COMPARTMENT,
            &[("usable_volume", "\"8.6 m3\"")],
        ),
        live(
            "[compartments.lock]",
            &keys::COMPARTMENT,
            &[("free_volume", "\"4.2 m3\"")],
        ),
        live("[openings.hatch]", &keys::OPENING, &[]),
        live(
            "[removal.scrubber]",
            &keys::FLOW_THROUGH,
            &[
                ("flow", "\"0.72 m3/min\""),
                ("co2_efficiency", "{ triangular = [\"78 %\", \"86 %\", \"91 %\"] }"),
                ("water_efficiency", "\"25 %\""),
            ],
        ),
        live(
            "[removal.backup]",
            &keys::CURVE,
            &[
                ("kind", "\"curve\""),
                ("co2", "[[\"2 mmHg\", \"1.1 kg/d\"], [\"4 mmHg\", \"1.6 kg/d\"]]"),
                ("on", "false"),
            ],
        ),
        live(
            "[removal.coil]",
            &keys::CONDENSER,
            &[
                ("kind", "\"condenser\""),
                ("fan", "\"main\""),
                ("fan_part", "\"60 %\""),
                ("bypass", "\"15 %\""),
            ],
        ),
        live("[tanks.oxygen]", &keys::TANK, &[]),
        live(
            "[tanks.nitrogen]",
            &keys::TANK,
            &[("gas", "\"diluent\""), ("amount", "\"9 kg\"")],
        ),
        live(
            "[tanks.suit_oxygen]",
            &keys::TANK,
            &[("gas", "\"oxygen\""), ("amount", "\"0.6 kg\"")],
        ),
        live(
            "[removal.canister]",
            &keys::SORBENT,
            &[
                ("kind", "\"sorbent\""),
                ("flow", "\"0.5 m3/min\""),
                ("sorbent", "\"2.3 kg\""),
                ("on", "false"),
            ],
        ),
        live(
            "[removal.beds]",
            &keys::SWING_BED,
            &[("kind", "\"swing-bed\""), ("flow", "\"0.4 m3/min\""), ("on", "false")],
        ),
        live("[fans.main]", &keys::FAN, &[]),
        live(
            "[control.cabin]",
            &keys::CONTROL,
            &[
                ("oxygen", "{ hold = \"18.8 kPa\", from = \"oxygen\" }"),
                ("pressure", "{ hold = \"56.5 kPa\" }"),
            ],
        ),
        live(
            "[crew.lead]",
            &keys::PERSON,
            &[("mass", "\"71 kg\""), ("height", "\"1.72 m\""), ("sex", "\"female\"")],
        ),
        live("[crew.second]", &keys::PERSON, &[]),
        live("[suits.lead]", &keys::SUIT, &[]),
        live(
            "[efforts.tinkering]",
            &keys::EFFORT,
            &[("like", "\"nominal\""), ("space", "\"1.9 m3\"")],
        ),
        live("[equipment.donning_stand]", &keys::EQUIPMENT, &[("count", "1")]),
        live("[[tasks]]", &keys::TASK, &[("in", "\"cabin\""), ("at", "\"0 h\"")]),
        live(
            "[[tasks]]",
            &keys::TASK,
            &[
                ("id", "\"work\""),
                ("effort", "\"tinkering\""),
                ("in", "\"cabin\""),
                ("after", "[\"sleep\"]"),
                ("duration", "{ lognormal = [\"6 h\", \"15 %\"] }"),
            ],
        ),
        live("[sensors.co2_a]", &keys::SENSOR, &[]),
        live(
            "[[alarms]]",
            &keys::ALARM,
            &[
                ("watches", "\"cabin.co2\""),
                ("above", "\"4 mmHg\""),
                (
                    "response",
                    "{ reaction = { lognormal = [\"6 min\", \"60 %\"] }, takes = \"10 min\", does = [{ switch_on = \"backup\" }] }",
                ),
            ],
        ),
        live("[buses.main]", &keys::BUS, &[]),
        live(
            "[[faults]]",
            &keys::FAULT,
            &[
                ("factor", "{ uniform = [\"30 %\", \"70 %\"] }"),
                ("onset", "{ uniform = [\"10 h\", \"20 h\"] }"),
            ],
        ),
        live("[limits]", &keys::LIMITS, &[("use", "[\"surface-sortie\"]")]),
        live(
            "[[limits.rule]]",
            &keys::RULE,
            &[("average", "\"1 h\""), ("at_most", "\"3 mmHg\"")],
        ),
        idle("[survival]", &keys::SURVIVAL),
        idle("[towels]", &keys::TOWELS),
        live("[[together]]", &keys::TOGETHER, &[]),
    ]
}

/// A commented scenario to start from: it reads without a fault, and each of its commented keys can be taken in.
#[must_use]
pub fn starter() -> String {
    let mut out = String::from(
        "# A scenario to start from. Every key is here once; those that begin with `#` are not needed, and show what could\n\
         # stand there. Numbers carry their unit. Wherever a number stands, a spread may stand instead:\n\
         #   { normal = [mean, sd] }  { uniform = [lo, hi] }  { triangular = [lo, mode, hi] }  { pert = [lo, mode, hi] }\n\
         #   { lognormal = [median, \"15 %\"] }  { exponential = mean }  { weibull = [scale, shape] }\n\
         #   { choice = [a, b], weights = [2, 1] }  { data = \"times.csv\", column = \"x\" }\n\
         # All but the last two may add within = [lo, hi]. `breathroom check FILE` shows how each value was understood.\n\
         # The figures are invented: put your own in.\n",
    );
    let mut told: Vec<*const Section> = Vec::new();
    for part in shown() {
        let mark = if part.idle { "#" } else { "" };
        let first = !told.iter().any(|p| std::ptr::eq(*p, part.section));
        told.push(part.section);
        out.push('\n');
        if !part.header.is_empty() {
            if first {
                for line in wrapped(part.section.meaning, 116) {
                    let _ = writeln!(out, "# {line}");
                }
            }
            let _ = writeln!(out, "{mark}{}", part.header);
        }
        for key in part.section.keys {
            line(&mut out, &part, key, first);
        }
    }
    out
}

fn line(out: &mut String, part: &Shown, key: &Key, first: bool) {
    let set = part
        .set
        .iter()
        .find(|(name, _)| *name == key.name)
        .map(|(_, value)| *value);
    let required = matches!(key.need, Need::Required);
    let has_section = part.header.is_empty()
        && matches!(
            key.kind,
            Kind::Table(_)
                | Kind::Named(_)
                | Kind::ForCompartments(_)
                | Kind::ForPeople(_)
                | Kind::Families(_)
                | Kind::Tables(_)
        );
    if has_section || matches!(key.kind, Kind::Tables(_)) && part.section.path == "limits" {
        return;
    }
    // A section that was shown before is not told again: only what stands there.
    let live = !part.idle && (set.is_some() || required);
    if !live && !first {
        return;
    }
    let mark = if live { "" } else { "#" };
    let text = format!("{mark}{} = {}", key.name, set.unwrap_or(key.example));
    if !first {
        let _ = writeln!(out, "{text}");
        return;
    }
    let absent = match key.need {
        Need::Required => String::new(),
        Need::Absent("-") => String::new(),
        Need::Absent(words) => format!(" Without it: {words}."),
        Need::Default(value, ..) => format!(" Default: {}.", value.trim_matches('"')),
    };
    let words = format!("{}{absent}", key.meaning);
    if let Kind::Table(inner) | Kind::Tables(inner) | Kind::NumberOrTable(.., inner) | Kind::WordOrTable(_, inner) =
        key.kind
    {
        let _ = writeln!(out, "# {words} Its keys:");
        for key in inner.keys {
            let _ = writeln!(out, "#   {}: {}", key.name, key.meaning);
        }
        let _ = writeln!(out, "{text}");
    } else if text.len() + words.len() < 112 {
        let _ = writeln!(out, "{text:40} # {words}");
    } else {
        for piece in wrapped(&words, 116) {
            let _ = writeln!(out, "# {piece}");
        }
        let _ = writeln!(out, "{text}");
    }
}

/// Words in lines of at most so many characters.
pub(super) fn wrapped(words: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let fits = lines
            .last()
            .is_some_and(|l| l.is_empty() || l.chars().count() + 1 + word.chars().count() <= width);
        if !fits {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}
