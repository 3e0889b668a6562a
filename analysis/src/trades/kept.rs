//! A level that keeps the spread of the scenario: multiplied to the level's size, or moved to it.
//!
//! *Scaled*: every value of the spread times level / median. *Shifted*: every place of it plus level - median, its width as it is.
//! So the median becomes the level, and quantile by quantile the same luck gives the same multiple, or the same distance.
//! Truncation goes with it; weights, coefficients of variation and `draw` stay. A shape that starts at 0 (lognormal, gamma,
//! exponential, Weibull) cannot be shifted and stay what it is. A temperature cannot be scaled, since its zero is a matter of the unit.

use breathroom_sim::scenario::Amount;
use breathroom_sim::text::{Node, Spot, Table, Texts, Value, parse as parse_toml};
use breathroom_sim::units::{Dimension, Quantity, Unit, figures, parse};

use super::apply::{Path, Reading, resolved};
use super::written::Written;

/// Figures that a made number has at most: fewer than would show the noise of the arithmetic.
pub(super) const FIGURES: usize = 12;

/// What becomes of the spread that a level meets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Keep {
    /// It goes: the level is all there is.
    Exact,
    /// It is multiplied.
    Scaled,
    /// It is moved.
    Shifted,
}

impl Keep {
    pub const WORDS: [&'static str; 3] = ["exact", "scaled", "shifted"];

    pub fn of(word: &str) -> Option<Self> {
        let at = Self::WORDS.iter().position(|known| *known == word)?;
        Some([Self::Exact, Self::Scaled, Self::Shifted][at])
    }

    fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }
}

/// A number of a dimension as TOML.
pub(super) fn number(value: f64, unit: Unit) -> String {
    if unit.symbol.is_empty() {
        figures(value, FIGURES)
    } else {
        format!("\"{} {}\"", figures(value, FIGURES), unit.symbol)
    }
}

/// The spread of the scenario at a path, and what it amounts to; none where there is nothing to keep.
pub(super) fn met(reading: &Reading<'_>, path: &Path) -> Option<(String, Amount)> {
    let value = resolved(&reading.base.as_ref()?.scenario, &path.text)?;
    value.input?;
    Some((value.written.clone(), value.amount?))
}

/// The spread that stands at a path, brought to a level; none after a fault.
pub(super) fn kept(reading: &mut Reading<'_>, path: &Path, level: &Node, keep: Keep) -> Option<(Written, f64)> {
    let (written, amount) = met(reading, path)?;
    let texts = &mut reading.texts;
    let word = keep.word();
    if matches!(level.value, Value::Table(_) | Value::List(_)) {
        let help = format!("leave out `spread = \"{word}\"`, or give one value");
        texts.fault(
            &level.spot,
            format!("a level that is {word} is one value, not {}", level.kind()),
            help,
        );
        return None;
    }
    let quantity = super::sheet::quantity(texts, level, "levels", amount.dimension)?;
    if quantity.is_per_body_area() != (amount.unit.symbol == "met") {
        let help = format!("write the level in {}", amount.unit.symbol);
        texts.fault(&level.spot, "`met` and W do not mix", help);
        return None;
    }
    let change = match keep {
        Keep::Shifted => Change::Plus(quantity.si - amount.si),
        _ if amount.si == 0.0 => {
            let help = "use spread = \"shifted\"";
            texts.fault(
                &level.spot,
                format!("the median of `{}` is 0 and cannot be scaled", path.text),
                help,
            );
            return None;
        }
        _ => Change::Times(quantity.si / amount.si),
    };
    match changed(&written, amount.dimension, change) {
        Ok(text) => Some((Written::made(text, &level.spot), quantity.si)),
        Err(why) => {
            let help = format!("leave out `spread = \"{word}\"` and write each level as a spread");
            texts.fault(
                &path.spot,
                format!("the spread of `{}` cannot be {word}: {why}", path.text),
                help,
            );
            None
        }
    }
}

/// Tells why spreads of a path cannot be kept in this way, or that there are none.
pub(super) fn fits(reading: &mut Reading<'_>, path: &Path, keep: Keep, spot: &Spot) {
    let Some(base) = &reading.base else { return };
    if keep == Keep::Exact {
        return;
    }
    let found = resolved(&base.scenario, &path.text);
    let amount = found.and_then(|value| value.amount);
    let spread = found.is_some_and(|value| value.input.is_some());
    if keep == Keep::Scaled && amount.is_some_and(|a| a.dimension == Dimension::Temperature) {
        let message = format!("`{}` is a temperature, which cannot be scaled", path.text);
        reading.texts.fault(spot, message, "use spread = \"shifted\"");
    } else if !spread {
        let message = format!(
            "`{}` has no spread in the scenario: there is nothing to keep",
            path.text
        );
        reading.texts.warn(spot, message, "its levels are exact values");
    }
}

/// What happens to every value of a spread, in SI.
#[derive(Clone, Copy, Debug)]
pub(super) enum Change {
    Times(f64),
    Plus(f64),
}

/// A spread as written, with its values changed.
pub(super) fn changed(written: &str, dimension: Dimension, change: Change) -> Result<String, String> {
    let text = format!("x = {written}");
    let mut texts = Texts::new("", &text, &[]);
    let tree = parse_toml(&mut texts, &text).tree;
    let Some(table) = tree
        .get("x")
        .and_then(|e| e.node.table())
        .filter(|_| texts.faults.is_empty())
    else {
        return Err("it is not written on one line, as { normal = [..], within = [..] }".to_owned());
    };
    let parts: Result<Vec<String>, String> = table
        .entries
        .iter()
        .map(|e| Ok(format!("{} = {}", e.key, part(&e.key, &e.node, dimension, change)?)))
        .collect();
    Ok(format!("{{ {} }}", parts?.join(", ")))
}

/// One key of a spread.
fn part(key: &str, node: &Node, dimension: Dimension, change: Change) -> Result<String, String> {
    let moves = matches!(change, Change::Plus(_));
    let all = |list: &[Node]| -> Result<String, String> {
        let values: Result<Vec<String>, String> = list.iter().map(|n| value(n, dimension, change)).collect();
        Ok(format!("[{}]", values?.join(", ")))
    };
    match (key, &node.value) {
        ("weights" | "draw" | "trials", _) => Ok(Written::of(node).text),
        ("data" | "column", _) => Err("it is made of data".to_owned()),
        ("lognormal" | "gamma" | "exponential" | "weibull", _) if moves => Err(format!("a {key} spread starts at 0")),
        ("exponential", _) => value(node, dimension, change),
        ("normal", Value::List(list)) if !moves => match list.as_slice() {
            // Of a temperature the deviation would have no zero point, but that is never scaled.
            [_, _] => all(list),
            _ => Err("it is not understood".to_owned()),
        },
        ("normal" | "lognormal" | "gamma" | "weibull", Value::List(list)) => match list.as_slice() {
            [first, second] => {
                let first = value(first, dimension, change)?;
                Ok(format!("[{first}, {}]", Written::of(second).text))
            }
            _ => Err("it is not understood".to_owned()),
        },
        ("uniform" | "triangular" | "pert" | "choice" | "within", Value::List(list)) => all(list),
        _ => Err(format!("`{key}` is not understood")),
    }
}

fn value(node: &Node, dimension: Dimension, change: Change) -> Result<String, String> {
    let plain = |value: f64| Quantity {
        si: value,
        unit: dimension.si_unit(),
    };
    let quantity = match &node.value {
        Value::Text(text) => parse(text, dimension).map_err(|error| error.message())?,
        Value::Integer(n) => plain(*n as f64),
        Value::Float(x) => plain(*x),
        _ => return Err("it is not understood".to_owned()),
    };
    let si = match change {
        Change::Times(factor) => quantity.si * factor,
        Change::Plus(by) => quantity.si + by,
    };
    Ok(number(quantity.unit.from_si(si), quantity.unit))
}

/// Whether a spread of the scenario at a path is replaced by a value without one.
pub(super) fn replaced(reading: &Reading<'_>, path: &Path, with: &breathroom_sim::scenario::Scenario) -> bool {
    let Some(base) = &reading.base else { return false };
    let before = resolved(&base.scenario, &path.text).is_some_and(|value| value.input.is_some());
    before && resolved(with, &path.text).is_some_and(|value| value.input.is_none())
}

/// The table of a node, for those who only look.
pub(super) fn is_spread(node: &Node) -> bool {
    node.table().is_some_and(|table: &Table| !table.entries.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scaled(written: &str, dimension: Dimension, by: f64) -> String {
        changed(written, dimension, Change::Times(by)).expect("a spread that scales")
    }

    fn shifted(written: &str, dimension: Dimension, by: f64) -> String {
        changed(written, dimension, Change::Plus(by)).expect("a spread that shifts")
    }

    #[test]
    fn what_trials_leave_unsure_stays() {
        assert_eq!(
            scaled("{ gamma = [\"50 min\", \"15 %\"], trials = 6 }", Dimension::Time, 1.2),
            "{ gamma = [\"60 min\", \"15 %\"], trials = 6 }"
        );
        assert!(
            changed(
                "{ gamma = [\"50 min\", \"15 %\"] }",
                Dimension::Time,
                Change::Plus(60.0)
            )
            .is_err()
        );
    }

    #[test]
    fn a_scaled_spread_has_every_value_multiplied() {
        let volume = Dimension::Volume;
        assert_eq!(
            scaled(
                "{ normal = [\"10 m3\", \"0.4 m3\"], within = [\"9 m3\", \"350 ft3\"] }",
                volume,
                0.9
            ),
            "{ normal = [\"9 m3\", \"0.36 m3\"], within = [\"8.1 m3\", \"315 ft3\"] }"
        );
        assert_eq!(
            scaled(
                "{ lognormal = [\"2 h\", \"15 %\"], draw = \"once\" }",
                Dimension::Time,
                1.5
            ),
            "{ lognormal = [\"3 h\", \"15 %\"], draw = \"once\" }"
        );
        assert_eq!(
            scaled(
                "{ choice = [0.5, \"60 %\"], weights = [1, 3] }",
                Dimension::Fraction,
                0.5
            ),
            "{ choice = [0.25, \"30 %\"], weights = [1, 3] }"
        );
        assert_eq!(
            scaled("{ exponential = \"40 h\" }", Dimension::Time, 0.1),
            "{ exponential = \"4 h\" }"
        );
        assert_eq!(
            scaled("{ weibull = [\"40 h\", 2] }", Dimension::Time, 2.0),
            "{ weibull = [\"80 h\", 2] }"
        );
    }

    #[test]
    fn a_shifted_spread_keeps_its_width() {
        assert_eq!(
            shifted(
                "{ normal = [\"20 degC\", \"1 K\"], within = [\"50 degF\", \"30 degC\"] }",
                Dimension::Temperature,
                5.0
            ),
            "{ normal = [\"25 degC\", \"1 K\"], within = [\"59 degF\", \"35 degC\"] }"
        );
        assert_eq!(
            shifted(
                "{ triangular = [\"78 %\", \"86 %\", \"91 %\"] }",
                Dimension::Fraction,
                -0.06
            ),
            "{ triangular = [\"72 %\", \"80 %\", \"85 %\"] }"
        );
    }

    #[test]
    fn what_cannot_be_kept_says_why() {
        let time = Dimension::Time;
        for (written, change, why) in [
            (
                "{ lognormal = [\"2 h\", \"15 %\"] }",
                Change::Plus(1.0),
                "a lognormal spread starts at 0",
            ),
            (
                "{ data = \"a.csv\", column = \"b\" }",
                Change::Times(2.0),
                "it is made of data",
            ),
            (
                "[tasks.a.duration]",
                Change::Times(2.0),
                "it is not written on one line",
            ),
        ] {
            let said = changed(written, time, change).expect_err(written);
            assert!(said.starts_with(why), "{said}");
        }
    }
}
