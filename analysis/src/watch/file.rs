//! Files of instruments, in TOML: what is read, and how well.
//!
//! ```toml
//! [instruments.co2]                # its name is that of its column in a file of measurements
//! watches = "cabin.co2"            # PLACE.co2, humidity, oxygen, pressure or temperature; or DEVICE.flow
//! noise = "0.02 mmHg"              # standard deviation of a reading [none]
//! lag = "195 s"                    # time constant [none]
//! every = "30 s"                   # from reading to reading [every row]
//! bias = "0.05 mmHg"               # standard deviation of an offset that is drawn once for a run [none]
//! resolution = "0.01 mmHg"         # smallest step [none]
//! range = ["0 mmHg", "40 mmHg"]    # least and largest reading [no ends]
//! ```
//!
//! Every fault is told with its line, all at once.

use breathroom_sim::scenario::{Diagnostic, Names};
use breathroom_sim::text::{self, Entry, Node, Spot, Table, Texts, Value};
use breathroom_sim::units::{Dimension, parse};

use super::instruments::{Figures, Instrument, Numbers, QUANTITIES, Reads};

/// Most instruments: their indices are kept in one byte, and a page has room for no more.
pub const MOST_INSTRUMENTS: usize = 64;

const NEEDED: &str = "a file of instruments is TOML: [instruments.co2], watches = \"cabin.co2\"";
const KEYS: [&str; 7] = ["watches", "noise", "lag", "every", "bias", "resolution", "range"];

/// The text of such a file.
///
/// # Errors
/// If it is empty or not UTF-8.
pub fn decode<'b>(bytes: &'b [u8], name: &str) -> Result<&'b str, Box<Diagnostic>> {
    text::decode(bytes, name, NEEDED)
}

/// Reads a file of instruments of a scenario with these names.
///
/// # Errors
/// Everything that is wrong with it.
pub fn read(name: &str, content: &str, names: &Names) -> Result<Vec<Instrument>, Vec<Diagnostic>> {
    let mut texts = Texts::new(name, content, &[]);
    let parsed = text::parse(&mut texts, content);
    let mut found = Vec::new();
    let whole = Spot { source: 0, span: 0..0 };
    for entry in parsed.tree.entries.iter().filter(|entry| entry.key != "instruments") {
        let help = texts.meant(&entry.key, ["instruments"].into_iter());
        texts.fault(
            &entry.key_spot,
            format!("unknown key `{}` at the top level", entry.key),
            help,
        );
    }
    match parsed.tree.get("instruments") {
        None if texts.faults.is_empty() => texts.fault(&whole, "there are no instruments", NEEDED),
        None => {}
        Some(entry) => match entry.node.table() {
            None => texts.fault(
                &entry.node.spot,
                format!("`instruments` takes tables, not {}", entry.node.kind()),
                NEEDED,
            ),
            Some(table) if table.entries.is_empty() => {
                texts.fault(&entry.key_spot, "there are no instruments", NEEDED);
            }
            Some(table) => {
                if let Some(beyond) = table.entries.get(MOST_INSTRUMENTS) {
                    texts.fault(
                        &beyond.key_spot,
                        format!("more than {MOST_INSTRUMENTS} instruments"),
                        "leave out those that tell little",
                    );
                }
                for entry in &table.entries {
                    found.extend(instrument(&mut texts, entry, names));
                }
            }
        },
    }
    if texts.faults.is_empty() {
        Ok(found)
    } else {
        texts.faults.sort_by_key(|fault| (fault.span.start, fault.span.end));
        Err(texts.faults)
    }
}

fn instrument(texts: &mut Texts, entry: &Entry, names: &Names) -> Option<Instrument> {
    let name = &entry.key;
    let good = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
    if name.is_empty() || !name.chars().all(good) || name == "time" {
        texts.fault(
            &entry.key_spot,
            format!("an instrument cannot be called `{name}`"),
            "letters, digits, `_` and `-`; `time` is the column of times",
        );
    }
    let Some(table) = entry.node.table() else {
        texts.fault(
            &entry.node.spot,
            format!("`instruments.{name}` is {}, not a table", entry.node.kind()),
            NEEDED,
        );
        return None;
    };
    for entry in table.entries.iter().filter(|entry| !KEYS.contains(&entry.key.as_str())) {
        let help = texts.meant(&entry.key, KEYS.into_iter());
        texts.fault(
            &entry.key_spot,
            format!("unknown key `{}` in `instruments.{name}`", entry.key),
            help,
        );
    }
    let Some(watches) = table.get("watches") else {
        let near = |other: &Entry| !KEYS.contains(&other.key.as_str()) && Texts::near(&other.key, "watches");
        if !table.entries.iter().any(near) {
            texts.fault(
                &entry.key_spot,
                format!("`instruments.{name}` has no `watches`"),
                "what it reads, as in watches = \"cabin.co2\"",
            );
        }
        return None;
    };
    let reads = reads(texts, &watches.node, names)?;
    let (same, difference) = (reads.dimension(), reads.difference());
    let mut number = |key: &str, dimension: Dimension| number(texts, table, key, dimension);
    let figures = Figures {
        noise: number("noise", difference)?,
        lag_s: number("lag", Dimension::Time)?,
        every_s: number("every", Dimension::Time)?,
        bias: number("bias", difference)?,
        resolution: number("resolution", difference)?,
        range: range(texts, table, same)?,
    };
    Some(Instrument {
        name: name.clone(),
        reads,
        numbers: Numbers::Own(figures),
        source: "as given".to_owned(),
    })
}

fn reads(texts: &mut Texts, node: &Node, names: &Names) -> Option<Reads> {
    let Some(words) = node.text() else {
        let help = "write e.g. watches = \"cabin.co2\"";
        texts.fault(&node.spot, format!("`watches` takes text, not {}", node.kind()), help);
        return None;
    };
    let Some((place, quantity)) = words.rsplit_once('.') else {
        texts.fault(
            &node.spot,
            format!("`{words}` is no place and quantity"),
            "write PLACE.QUANTITY, as in \"cabin.co2\" or \"scrubber.flow\"",
        );
        return None;
    };
    if quantity == "flow" {
        if let Some(device) = names.devices.iter().position(|name| name == place) {
            return Some(Reads::Flow(device));
        }
        let help = texts.meant(place, names.devices.iter().map(String::as_str));
        texts.fault(&node.spot, format!("there is no removal device `{place}`"), help);
        return None;
    }
    let found = names.compartments.iter().position(|name| name == place);
    if found.is_none() {
        let rooms = names.compartments.iter().map(String::as_str);
        let help = texts.meant(place, rooms.filter(|name| !name.starts_with("suit:")));
        texts.fault(&node.spot, format!("there is no compartment `{place}`"), help);
    }
    let what = QUANTITIES.iter().find(|(_, word)| *word == quantity);
    if what.is_none() {
        let words = QUANTITIES.iter().map(|(_, word)| *word).chain(["flow"]);
        let help = texts.meant(quantity, words);
        texts.fault(&node.spot, format!("no instrument reads `{quantity}`"), help);
    }
    Some(Reads::Air(what?.0, found?))
}

/// A number that is not below 0; 0 where it is not given. `None` after a fault.
fn number(texts: &mut Texts, table: &Table, key: &str, dimension: Dimension) -> Option<f64> {
    let Some(entry) = table.get(key) else {
        return Some(0.0);
    };
    let value = quantity(texts, key, &entry.node, dimension)?;
    if value < 0.0 {
        texts.fault(&entry.node.spot, format!("`{key}` is below 0"), "0 or more");
        return None;
    }
    Some(value)
}

fn quantity(texts: &mut Texts, key: &str, node: &Node, dimension: Dimension) -> Option<f64> {
    let words = match &node.value {
        Value::Text(words) => words.clone(),
        _ => {
            let unit = dimension.si_unit().symbol;
            texts.fault(
                &node.spot,
                format!("`{key}` takes a number with its unit in quotes, not {}", node.kind()),
                format!("write e.g. {key} = \"1 {unit}\""),
            );
            return None;
        }
    };
    match parse(&words, dimension) {
        Ok(quantity) => Some(quantity.si),
        Err(error) => {
            texts.fault(&node.spot, format!("`{key}`: {}", error.message()), error.help());
            None
        }
    }
}

fn range(texts: &mut Texts, table: &Table, dimension: Dimension) -> Option<[f64; 2]> {
    let Some(entry) = table.get("range") else {
        return Some([f64::NEG_INFINITY, f64::INFINITY]);
    };
    let Value::List(ends) = &entry.node.value else {
        texts.fault(
            &entry.node.spot,
            format!("`range` takes a list of two, not {}", entry.node.kind()),
            "write range = [LEAST, LARGEST]",
        );
        return None;
    };
    let [low, high] = ends.as_slice() else {
        texts.fault(
            &entry.node.spot,
            "`range` has two ends",
            "write range = [LEAST, LARGEST]",
        );
        return None;
    };
    let (low, high) = (
        quantity(texts, "range", low, dimension),
        quantity(texts, "range", high, dimension),
    );
    let (low, high) = (low?, high?);
    if low >= high {
        texts.fault(
            &entry.node.spot,
            "the range is empty",
            "the least first, then the largest",
        );
        return None;
    }
    Some([low, high])
}

#[cfg(test)]
mod tests {
    use breathroom_sim::limits::Quantity;

    use super::*;

    fn names() -> Names {
        Names {
            compartments: vec!["cabin".to_owned(), "suit:lead".to_owned()],
            devices: vec!["scrubber".to_owned()],
            ..Names::default()
        }
    }

    #[test]
    fn a_file_of_instruments_is_read() {
        let text = "[instruments.co2]\nwatches = \"cabin.co2\"\nnoise = \"0.1 mmHg\"\nlag = \"195 s\"\nrange = [\"0 mmHg\", \"40 mmHg\"]\n\
                    [instruments.fan]\nwatches = \"scrubber.flow\"\nbias = \"1 m3/h\"\nevery = \"2 min\"\n";
        let found = read("i.toml", text, &names()).unwrap_or_else(|faults| panic!("{faults:#?}"));
        assert_eq!(found[0].reads, Reads::Air(Quantity::Co2, 0));
        let Numbers::Own(figures) = found[0].numbers else {
            panic!("own figures");
        };
        assert!((figures.noise - 13.3322).abs() < 1e-9 && figures.lag_s == 195.0);
        assert!((figures.range[1] - 40.0 * 133.322).abs() < 1e-9);
        assert_eq!((found[1].name.as_str(), found[1].reads), ("fan", Reads::Flow(0)));
    }

    /// Each with the line and what is said of it.
    #[test]
    fn what_is_wrong_is_told_with_its_line() {
        for (text, line, said) in [
            ("", 1, "there are no instruments"),
            ("[instruments]\n", 1, "there are no instruments"),
            (
                "x = 1\n[instruments.a]\nwatches = \"cabin.co2\"\n",
                1,
                "unknown key `x`",
            ),
            (
                "[instruments.a]\nwatches = \"cabn.co2\"\n",
                2,
                "there is no compartment `cabn`",
            ),
            (
                "[instruments.a]\nwatches = \"cabin.co3\"\n",
                2,
                "no instrument reads `co3`",
            ),
            (
                "[instruments.a]\nwatches = \"fan.flow\"\n",
                2,
                "there is no removal device `fan`",
            ),
            ("[instruments.a]\nwatches = \"cabin\"\n", 2, "no place and quantity"),
            ("[instruments.a]\nnoise = \"1 Pa\"\n", 1, "has no `watches`"),
            (
                "[instruments.a]\nwatches = \"cabin.co2\"\nnoise = \"1 kg\"\n",
                3,
                "`noise`",
            ),
            (
                "[instruments.a]\nwatches = \"cabin.co2\"\nlag = 195\n",
                3,
                "`lag` takes a number with its unit",
            ),
            (
                "[instruments.a]\nwatches = \"cabin.co2\"\nbias = \"-1 Pa\"\n",
                3,
                "`bias` is below 0",
            ),
            (
                "[instruments.a]\nwatches = \"cabin.co2\"\nrange = [\"5 Pa\", \"1 Pa\"]\n",
                3,
                "the range is empty",
            ),
            (
                "[instruments.a]\nwatches = \"cabin.co2\"\nnose = \"1 Pa\"\n",
                3,
                "unknown key `nose`",
            ),
            (
                "[instruments.time]\nwatches = \"cabin.co2\"\n",
                1,
                "cannot be called `time`",
            ),
        ] {
            let faults = read("i.toml", text, &names()).expect_err(text);
            let hit = faults
                .iter()
                .any(|fault| fault.message.contains(said) && (fault.line == line || text.is_empty()));
            assert!(hit, "{text}: {faults:#?}");
        }
        let help = read("i.toml", "[instruments.a]\nwatches = \"cabn.co2\"\n", &names()).expect_err("wrong")[0]
            .help
            .clone();
        assert_eq!(help.as_deref(), Some("did you mean `cabin`?"));
    }
}
